"""Records that go along with a lesson of the pages."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from chalkwing.book.columns import Utc

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Apply this step."""
    op.add_column("lesson", sa.Column("desk", sa.String(length=16), nullable=True))
    op.create_index(op.f("ix_lesson_desk"), "lesson", ["desk"])
    op.add_column("correction", sa.Column("line", sa.Integer(), nullable=True))
    op.add_column("note", sa.Column("line", sa.Integer(), nullable=True))
    op.add_column("note", sa.Column("undone", Utc(), nullable=True))
