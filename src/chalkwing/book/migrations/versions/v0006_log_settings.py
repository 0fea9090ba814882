"""How the logs of a lesson were read: a column map and a zone beside what it was judged by."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Apply this step."""
    op.add_column("judging", sa.Column("column_map", sa.Text(), nullable=True))
    op.add_column("judging", sa.Column("zone", sa.String(length=64), nullable=True))
