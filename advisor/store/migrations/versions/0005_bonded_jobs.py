"""Preparation checks, the welder maker's recommendations, and templates of joints."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.create_table(
        "preparation_check",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("answer", sa.String(length=20), nullable=False),
        sa.Column("measured", sa.Float(), nullable=True),
        sa.Column("recorded_by", sa.String(length=200), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_preparation_check_shop_id")),
        sa.ForeignKeyConstraint(
            ["joint_id"], ["joint.id"], name=op.f("fk_preparation_check_joint_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_preparation_check")),
    )
    op.create_index("ix_preparation_check_joint", "preparation_check", ["joint_id"])
    op.create_table(
        "maker_recommendation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("machine_id", sa.Integer(), nullable=False),
        sa.Column("stack_id", sa.Integer(), nullable=False),
        sa.Column("document", sa.String(length=200), nullable=False),
        sa.Column("page", sa.String(length=200), nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.String(length=200), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["shop_id"], ["shop.id"], name=op.f("fk_maker_recommendation_shop_id")
        ),
        sa.ForeignKeyConstraint(
            ["machine_id"], ["machine.id"], name=op.f("fk_maker_recommendation_machine_id")
        ),
        sa.ForeignKeyConstraint(
            ["stack_id"], ["stack.id"], name=op.f("fk_maker_recommendation_stack_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_maker_recommendation")),
    )
    op.create_index(
        "ix_maker_recommendation_stack", "maker_recommendation", ["machine_id", "stack_id"]
    )
    op.create_table(
        "joint_template",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("name_key", sa.String(length=200), nullable=False),
        sa.Column("stack_id", sa.Integer(), nullable=False),
        sa.Column("turned_over", sa.Boolean(), nullable=False),
        sa.Column("machine_id", sa.Integer(), nullable=False),
        sa.Column("welds", sa.Integer(), nullable=True),
        sa.Column("pitch_mm", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_joint_template_shop_id")),
        sa.ForeignKeyConstraint(
            ["stack_id"], ["stack.id"], name=op.f("fk_joint_template_stack_id")
        ),
        sa.ForeignKeyConstraint(
            ["machine_id"], ["machine.id"], name=op.f("fk_joint_template_machine_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_joint_template")),
        sa.UniqueConstraint("shop_id", "name_key", name=op.f("uq_joint_template_shop_id")),
    )
    for table in ("preparation_check", "maker_recommendation"):
        if op.get_bind().dialect.name == "sqlite":
            for verb in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is never changed or deleted'); END"
                )
        else:
            op.execute(
                f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
                "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
            )
