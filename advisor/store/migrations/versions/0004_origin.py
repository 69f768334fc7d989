"""Where a coupon came from: empty for one written down at the bench."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.add_column(
        "coupon_revision",
        sa.Column("origin", sa.String(length=200), nullable=False, server_default=""),
    )
