"""Accounts, who is signed in, the log of it, and which instructor teaches whom."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from chalkwing.book.columns import Utc

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Apply this step."""
    op.create_table(
        "audit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.Column("who", sa.String(length=120), nullable=False),
        sa.Column("act", sa.String(length=40), nullable=False),
        sa.Column("subject", sa.String(length=200), nullable=False),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.Column("told", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
    )
    with op.batch_alter_table("audit", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_audit_made"), ["made"], unique=False)
        batch_op.create_index(batch_op.f("ix_audit_who"), ["who"], unique=False)

    op.create_table(
        "refused_try",
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("last", Utc(), nullable=False),
        sa.Column("until", Utc(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_refused_try")),
    )
    op.create_table(
        "account",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("password", sa.String(length=255), nullable=True),
        sa.Column("made", Utc(), nullable=False),
        sa.Column("changed", Utc(), nullable=True),
        sa.Column("closed", Utc(), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_account_person_id_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_account")),
        sa.UniqueConstraint("name", name=op.f("uq_account_name")),
        sa.UniqueConstraint("person_id", name=op.f("uq_account_person_id")),
    )
    op.create_table(
        "assignment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=False),
        sa.Column("instructor_id", sa.Integer(), nullable=False),
        sa.Column("begun", Utc(), nullable=False),
        sa.Column("ended", Utc(), nullable=True),
        sa.ForeignKeyConstraint(
            ["instructor_id"], ["person.id"], name=op.f("fk_assignment_instructor_id_person")
        ),
        sa.ForeignKeyConstraint(["student_id"], ["person.id"], name=op.f("fk_assignment_student_id_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assignment")),
    )
    with op.batch_alter_table("assignment", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_assignment_instructor_id"), ["instructor_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_assignment_student_id"), ["student_id"], unique=False)

    op.create_table(
        "upload",
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_upload_person_id_person")),
        sa.PrimaryKeyConstraint("person_id", "sha256", name=op.f("pk_upload")),
    )
    op.create_table(
        "invitation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("who", sa.String(length=120), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.Column("ends", Utc(), nullable=False),
        sa.Column("used", Utc(), nullable=True),
        sa.ForeignKeyConstraint(
            ["account_id"], ["account.id"], name=op.f("fk_invitation_account_id_account")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_invitation")),
        sa.UniqueConstraint("digest", name=op.f("uq_invitation_digest")),
    )
    with op.batch_alter_table("invitation", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_invitation_account_id"), ["account_id"], unique=False)

    op.create_table(
        "sign_in",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account_id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("begun", Utc(), nullable=False),
        sa.Column("seen", Utc(), nullable=False),
        sa.Column("ended", Utc(), nullable=True),
        sa.Column("address", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_sign_in_account_id_account")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in")),
        sa.UniqueConstraint("digest", name=op.f("uq_sign_in_digest")),
    )
    with op.batch_alter_table("sign_in", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sign_in_account_id"), ["account_id"], unique=False)
