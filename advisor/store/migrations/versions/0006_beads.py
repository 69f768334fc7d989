"""The bead to lay and the beads that set the bond line, where the label says."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    op.add_column("adhesive", sa.Column("bead_mm", sa.Float(), nullable=True))
    op.add_column("adhesive", sa.Column("bond_line_mm", sa.Float(), nullable=True))
