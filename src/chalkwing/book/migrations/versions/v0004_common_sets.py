"""Common sets: maneuvers that every instructor marks."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from chalkwing.book.columns import Utc

revision = "0004"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Apply this step."""
    op.create_table(
        "common_set",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("scale", sa.Text(), nullable=False),
        sa.Column("seed", sa.Integer(), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.Column("made_by", sa.String(length=120), nullable=False),
        sa.Column("closed", Utc(), nullable=True),
        sa.Column("closed_by", sa.String(length=120), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_common_set")),
    )
    op.create_table(
        "common_maneuver",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("set_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("maneuver_id", sa.Integer(), nullable=False),
        sa.Column("shown", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["set_id"], ["common_set.id"], name=op.f("fk_common_maneuver_set_id_common_set")
        ),
        sa.ForeignKeyConstraint(
            ["maneuver_id"], ["maneuver.id"], name=op.f("fk_common_maneuver_maneuver_id_maneuver")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_common_maneuver")),
        sa.UniqueConstraint("set_id", "place", name=op.f("uq_common_maneuver_set_id_place")),
    )
    op.create_index(op.f("ix_common_maneuver_set_id"), "common_maneuver", ["set_id"])
    op.create_index(op.f("ix_common_maneuver_maneuver_id"), "common_maneuver", ["maneuver_id"])
    op.create_table(
        "common_mark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("maneuver_id", sa.Integer(), nullable=False),
        sa.Column("instructor_id", sa.Integer(), nullable=False),
        sa.Column("element", sa.String(length=60), nullable=False),
        sa.Column("step", sa.String(length=60), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.ForeignKeyConstraint(
            ["maneuver_id"], ["common_maneuver.id"], name=op.f("fk_common_mark_maneuver_id_common_maneuver")
        ),
        sa.ForeignKeyConstraint(
            ["instructor_id"], ["person.id"], name=op.f("fk_common_mark_instructor_id_person")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_common_mark")),
        sa.UniqueConstraint(
            "maneuver_id",
            "instructor_id",
            "element",
            name=op.f("uq_common_mark_maneuver_id_instructor_id_element"),
        ),
    )
    op.create_index(op.f("ix_common_mark_maneuver_id"), "common_mark", ["maneuver_id"])
    op.create_index(op.f("ix_common_mark_instructor_id"), "common_mark", ["instructor_id"])
