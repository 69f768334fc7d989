"""Releases of joints, never changed or deleted."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.create_table(
        "release",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("joint_id", sa.Integer(), nullable=False),
        sa.Column("setting", sa.Text(), nullable=False),
        sa.Column("evidence", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("released_by", sa.String(length=200), nullable=False),
        sa.Column("released_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_release_shop_id")),
        sa.ForeignKeyConstraint(["joint_id"], ["joint.id"], name=op.f("fk_release_joint_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_release")),
    )
    op.create_index("ix_release_joint", "release", ["joint_id", "released_at"])
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER release_no_{verb.lower()} BEFORE {verb} ON release "
                "BEGIN SELECT RAISE(ABORT, 'release is never changed or deleted'); END"
            )
        return
    op.execute(
        "CREATE TRIGGER release_no_change BEFORE UPDATE OR DELETE ON release "
        "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
    )
