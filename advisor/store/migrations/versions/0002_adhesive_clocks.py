"""Adhesive clocks and their temperature readings."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "adhesive_clock",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("adhesive_id", sa.Integer(), nullable=False),
        sa.Column("used_for", sa.String(length=200), nullable=False),
        sa.Column("mixed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("started_by", sa.String(length=200), nullable=False),
        sa.Column("stopped_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("stopped_by", sa.String(length=200), nullable=True),
        sa.ForeignKeyConstraint(
            ["adhesive_id"], ["adhesive.id"], name=op.f("fk_adhesive_clock_adhesive_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_adhesive_clock_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_adhesive_clock")),
    )
    op.create_index("ix_adhesive_clock_running", "adhesive_clock", ["shop_id", "stopped_at"])
    op.create_table(
        "clock_reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shop_id", sa.Integer(), nullable=False),
        sa.Column("adhesive_clock_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("degC", sa.Float(), nullable=False),
        sa.Column("recorded_by", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(
            ["adhesive_clock_id"],
            ["adhesive_clock.id"],
            name=op.f("fk_clock_reading_adhesive_clock_id"),
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_clock_reading_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clock_reading")),
    )
    op.create_index("ix_clock_reading_clock", "clock_reading", ["adhesive_clock_id", "at"])
