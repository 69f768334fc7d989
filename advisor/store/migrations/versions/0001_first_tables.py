"""first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

#: Rows of these tables are never updated or deleted.
APPEND_ONLY = (
    "coupon",
    "coupon_revision",
    "interface_result",
    "rules",
    "machine_event",
    "change_log",
)


def refuse_changes(table: str) -> None:
    """Let the database itself refuse to update or delete rows of a table."""
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} is never changed or deleted'); END"
            )
        return
    op.execute(
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '% is never changed or deleted', TG_TABLE_NAME; END $$"
    )
    op.execute(
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
        "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
    )


def upgrade() -> None:
    op.create_table(
        "shop",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("is_demo", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop")),
    )
    op.create_table(
        "adhesive",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("name_key", sa.String(length=200), nullable=False),
        sa.Column("work_low_min", sa.Float(), nullable=False),
        sa.Column("work_high_min", sa.Float(), nullable=False),
        sa.Column("clamp_low_min", sa.Float(), nullable=False),
        sa.Column("clamp_high_min", sa.Float(), nullable=False),
        sa.Column("cure_low_min", sa.Float(), nullable=False),
        sa.Column("cure_high_min", sa.Float(), nullable=False),
        sa.Column("label_degC", sa.Float(), nullable=False),
        sa.Column("note", sa.String(length=2000), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_adhesive_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_adhesive")),
        sa.UniqueConstraint("shop_id", "name_key", name=op.f("uq_adhesive_shop_id")),
    )
    op.create_table(
        "change_log",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.String(length=200), nullable=False),
        sa.Column("what", sa.String(length=1000), nullable=False),
        sa.Column("before", sa.Text(), nullable=True),
        sa.Column("after", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_change_log_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_change_log")),
    )
    op.create_table(
        "coupon",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_coupon_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_coupon")),
        sa.UniqueConstraint("shop_id", "number", name=op.f("uq_coupon_shop_id")),
    )
    op.create_table(
        "job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=200), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_job_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.UniqueConstraint("shop_id", "number", name=op.f("uq_job_shop_id")),
    )
    op.create_table(
        "machine",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("name_key", sa.String(length=200), nullable=False),
        sa.Column("largest_current_kA", sa.Float(), nullable=False),
        sa.Column("smallest_current_kA", sa.Float(), nullable=False),
        sa.Column("largest_force_kN", sa.Float(), nullable=False),
        sa.Column("smallest_force_kN", sa.Float(), nullable=False),
        sa.Column("mains_hz", sa.Float(), nullable=False),
        sa.Column("is_inverter", sa.Boolean(), nullable=False),
        sa.Column("force_kN_per_bar", sa.Float(), nullable=True),
        sa.Column("force_offset_kN", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_machine_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_machine")),
        sa.UniqueConstraint("shop_id", "name_key", name=op.f("uq_machine_shop_id")),
    )
    op.create_table(
        "preference",
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("who", sa.String(length=200), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_preference_shop_id")),
        sa.PrimaryKeyConstraint("shop_id", "who", "name", name=op.f("pk_preference")),
    )
    op.create_table(
        "rules",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.String(length=200), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_rules_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rules")),
    )
    op.create_table(
        "stack",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("fingerprint", sa.String(length=64), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("title", sa.String(length=1000), nullable=False),
        sa.Column("sheets", sa.Integer(), nullable=False),
        sa.Column("adhesive_state", sa.String(length=20), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_stack_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stack")),
        sa.UniqueConstraint("shop_id", "fingerprint", name=op.f("uq_stack_shop_id")),
    )
    op.create_table(
        "welder",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("name_key", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_welder_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_welder")),
        sa.UniqueConstraint("shop_id", "name_key", name=op.f("uq_welder_shop_id")),
    )
    op.create_table(
        "coupon_revision",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("coupon_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("welder_id", sa.Integer(), nullable=False),
        sa.Column("machine_id", sa.Integer(), nullable=False),
        sa.Column("stack_id", sa.Integer(), nullable=False),
        sa.Column("turned_over", sa.Boolean(), nullable=False),
        sa.Column("job", sa.String(length=200), nullable=False),
        sa.Column("cap_shape", sa.String(length=20), nullable=False),
        sa.Column("face_mm", sa.Float(), nullable=False),
        sa.Column("cap_material", sa.String(length=200), nullable=False),
        sa.Column("welds_since_dressing", sa.Integer(), nullable=True),
        sa.Column("current_kA", sa.Float(), nullable=False),
        sa.Column("weld_ms", sa.Float(), nullable=False),
        sa.Column("force_kN", sa.Float(), nullable=False),
        sa.Column("squeeze_ms", sa.Float(), nullable=False),
        sa.Column("hold_ms", sa.Float(), nullable=False),
        sa.Column("pause_ms", sa.Float(), nullable=False),
        sa.Column("pre_current_kA", sa.Float(), nullable=False),
        sa.Column("pre_ms", sa.Float(), nullable=False),
        sa.Column("pulses", sa.Integer(), nullable=False),
        sa.Column("test", sa.String(length=20), nullable=False),
        sa.Column("expulsion", sa.Boolean(), nullable=False),
        sa.Column("edge_weld", sa.Boolean(), nullable=False),
        sa.Column("cracks", sa.Boolean(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("outcome", sa.String(length=10), nullable=False),
        sa.Column("reasons", sa.Text(), nullable=False),
        sa.Column("rules_id", sa.Integer(), nullable=False),
        sa.Column("voided", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.String(length=200), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["coupon_id"], ["coupon.id"], name=op.f("fk_coupon_revision_coupon_id")
        ),
        sa.ForeignKeyConstraint(
            ["machine_id"], ["machine.id"], name=op.f("fk_coupon_revision_machine_id")
        ),
        sa.ForeignKeyConstraint(
            ["rules_id"], ["rules.id"], name=op.f("fk_coupon_revision_rules_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_coupon_revision_shop_id")),
        sa.ForeignKeyConstraint(
            ["stack_id"], ["stack.id"], name=op.f("fk_coupon_revision_stack_id")
        ),
        sa.ForeignKeyConstraint(
            ["welder_id"], ["welder.id"], name=op.f("fk_coupon_revision_welder_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_coupon_revision")),
        sa.UniqueConstraint("coupon_id", "revision", name=op.f("uq_coupon_revision_coupon_id")),
    )
    with op.batch_alter_table("coupon_revision", schema=None) as batch_op:
        batch_op.create_index(
            "ix_revision_counts",
            [
                "shop_id",
                "made_at",
                "welder_id",
                "machine_id",
                "stack_id",
                "outcome",
                "coupon_id",
                "revision",
            ],
            unique=False,
        )
        batch_op.create_index("ix_revision_job", ["shop_id", "job"], unique=False)
        batch_op.create_index(
            "ix_revision_machine", ["shop_id", "machine_id", "made_at"], unique=False
        )

    op.create_table(
        "joint",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("stack_id", sa.Integer(), nullable=False),
        sa.Column("turned_over", sa.Boolean(), nullable=False),
        sa.Column("machine_id", sa.Integer(), nullable=False),
        sa.Column("setting", sa.Text(), nullable=True),
        sa.Column("welds", sa.Integer(), nullable=True),
        sa.Column("pitch_mm", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_joint_job_id")),
        sa.ForeignKeyConstraint(["machine_id"], ["machine.id"], name=op.f("fk_joint_machine_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_joint_shop_id")),
        sa.ForeignKeyConstraint(["stack_id"], ["stack.id"], name=op.f("fk_joint_stack_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_joint")),
    )
    with op.batch_alter_table("joint", schema=None) as batch_op:
        batch_op.create_index("ix_joint_job", ["job_id"], unique=False)

    op.create_table(
        "machine_event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("machine_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("cap_shape", sa.String(length=20), nullable=True),
        sa.Column("face_mm", sa.Float(), nullable=True),
        sa.Column("cap_material", sa.String(length=200), nullable=True),
        sa.Column("note", sa.String(length=2000), nullable=False),
        sa.Column("recorded_by", sa.String(length=200), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["machine_id"], ["machine.id"], name=op.f("fk_machine_event_machine_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_machine_event_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_machine_event")),
    )
    with op.batch_alter_table("machine_event", schema=None) as batch_op:
        batch_op.create_index("ix_machine_event_machine", ["machine_id", "at"], unique=False)

    op.create_table(
        "interface_result",
        sa.Column("coupon_revision_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("smallest_mm", sa.Float(), nullable=True),
        sa.Column("largest_mm", sa.Float(), nullable=True),
        sa.Column("failure", sa.String(length=30), nullable=True),
        sa.ForeignKeyConstraint(
            ["coupon_revision_id"],
            ["coupon_revision.id"],
            name=op.f("fk_interface_result_coupon_revision_id"),
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_interface_result_shop_id")),
        sa.PrimaryKeyConstraint("coupon_revision_id", "position", name=op.f("pk_interface_result")),
    )
    for table in APPEND_ONLY:
        refuse_changes(table)
