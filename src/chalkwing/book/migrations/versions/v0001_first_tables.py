"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from chalkwing.book.columns import Utc

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Apply this step."""
    op.create_table(
        "airplane",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("registration", sa.String(length=20), nullable=False),
        sa.Column("sheet", sa.String(length=80), nullable=True),
        sa.Column("sheet_text", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_airplane")),
        sa.UniqueConstraint("registration", name=op.f("uq_airplane_registration")),
    )
    op.create_table(
        "course",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_course")),
    )
    op.create_table(
        "ledger",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.Column("who", sa.String(length=120), nullable=False),
        sa.Column("act", sa.String(length=40), nullable=False),
        sa.Column("subject", sa.String(length=80), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("before", sa.String(length=64), nullable=False),
        sa.Column("seal", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_ledger")),
        sa.UniqueConstraint("seal", name=op.f("uq_ledger_seal")),
    )
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("student", sa.Boolean(), nullable=False),
        sa.Column("instructor", sa.Boolean(), nullable=False),
        sa.Column("chief", sa.Boolean(), nullable=False),
        sa.Column("certificate", sa.String(length=60), nullable=True),
        sa.Column("recency", sa.String(length=60), nullable=True),
        sa.Column("enrolled", Utc(), nullable=False),
        sa.Column("left", Utc(), nullable=True),
        sa.Column("left_as", sa.String(length=20), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("name", name=op.f("uq_person_name")),
    )
    op.create_table(
        "recording",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=255), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("added", Utc(), nullable=False),
        sa.Column("erased", Utc(), nullable=True),
        sa.Column("erased_by", sa.String(length=120), nullable=True),
        sa.Column("erased_why", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_recording")),
    )
    op.create_table(
        "lesson",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("student_id", sa.Integer(), nullable=False),
        sa.Column("instructor_id", sa.Integer(), nullable=True),
        sa.Column("airplane_id", sa.Integer(), nullable=True),
        sa.Column("unit", sa.String(length=80), nullable=True),
        sa.Column("flown", Utc(), nullable=True),
        sa.Column("duration_s", sa.Double(), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("added", Utc(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["airplane_id"], ["airplane.id"], name=op.f("fk_lesson_airplane_id_airplane")
        ),
        sa.ForeignKeyConstraint(
            ["instructor_id"], ["person.id"], name=op.f("fk_lesson_instructor_id_person")
        ),
        sa.ForeignKeyConstraint(["student_id"], ["person.id"], name=op.f("fk_lesson_student_id_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lesson")),
        sa.UniqueConstraint("key", name=op.f("uq_lesson_key")),
    )
    with op.batch_alter_table("lesson", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lesson_flown"), ["flown"], unique=False)
        batch_op.create_index(batch_op.f("ix_lesson_instructor_id"), ["instructor_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lesson_student_id"), ["student_id"], unique=False)

    op.create_table(
        "correction",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lesson_id", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("who", sa.String(length=120), nullable=False),
        sa.Column("why", sa.Text(), nullable=True),
        sa.Column("made", Utc(), nullable=False),
        sa.Column("undone", Utc(), nullable=True),
        sa.ForeignKeyConstraint(["lesson_id"], ["lesson.id"], name=op.f("fk_correction_lesson_id_lesson")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_correction")),
    )
    with op.batch_alter_table("correction", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_correction_lesson_id"), ["lesson_id"], unique=False)

    op.create_table(
        "judging",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lesson_id", sa.Integer(), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.Column("in_force", sa.Boolean(), nullable=False),
        sa.Column("code", sa.String(length=40), nullable=False),
        sa.Column("standard", sa.String(length=80), nullable=False),
        sa.Column("standard_title", sa.String(length=200), nullable=False),
        sa.Column("standard_print", sa.String(length=64), nullable=False),
        sa.Column("definitions_print", sa.String(length=64), nullable=False),
        sa.Column("sheet_print", sa.String(length=64), nullable=True),
        sa.Column("document", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["lesson_id"], ["lesson.id"], name=op.f("fk_judging_lesson_id_lesson")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_judging")),
    )
    with op.batch_alter_table("judging", schema=None) as batch_op:
        batch_op.create_index("ix_judging_in_force", ["lesson_id", "in_force"], unique=False)
        batch_op.create_index(batch_op.f("ix_judging_lesson_id"), ["lesson_id"], unique=False)

    op.create_table(
        "lesson_recording",
        sa.Column("lesson_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["lesson_id"], ["lesson.id"], name=op.f("fk_lesson_recording_lesson_id_lesson")
        ),
        sa.ForeignKeyConstraint(
            ["sha256"], ["recording.sha256"], name=op.f("fk_lesson_recording_sha256_recording")
        ),
        sa.PrimaryKeyConstraint("lesson_id", "sha256", name=op.f("pk_lesson_recording")),
    )
    with op.batch_alter_table("lesson_recording", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lesson_recording_sha256"), ["sha256"], unique=False)

    op.create_table(
        "mark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lesson_id", sa.Integer(), nullable=False),
        sa.Column("instructor_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=60), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=False),
        sa.Column("element", sa.String(length=60), nullable=True),
        sa.Column("scale", sa.String(length=60), nullable=False),
        sa.Column("step", sa.String(length=60), nullable=False),
        sa.Column("blind", sa.Boolean(), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.ForeignKeyConstraint(["instructor_id"], ["person.id"], name=op.f("fk_mark_instructor_id_person")),
        sa.ForeignKeyConstraint(["lesson_id"], ["lesson.id"], name=op.f("fk_mark_lesson_id_lesson")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mark")),
    )
    with op.batch_alter_table("mark", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_mark_instructor_id"), ["instructor_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_mark_lesson_id"), ["lesson_id"], unique=False)

    op.create_table(
        "note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lesson_id", sa.Integer(), nullable=False),
        sa.Column("moment_s", sa.Double(), nullable=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("who", sa.String(length=120), nullable=False),
        sa.Column("made", Utc(), nullable=False),
        sa.ForeignKeyConstraint(["lesson_id"], ["lesson.id"], name=op.f("fk_note_lesson_id_lesson")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_note")),
    )
    with op.batch_alter_table("note", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_note_lesson_id"), ["lesson_id"], unique=False)

    op.create_table(
        "sign_off",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lesson_id", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("instructor_id", sa.Integer(), nullable=False),
        sa.Column("certificate", sa.String(length=60), nullable=False),
        sa.Column("recency", sa.String(length=60), nullable=True),
        sa.Column("signed", Utc(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(
            ["instructor_id"], ["person.id"], name=op.f("fk_sign_off_instructor_id_person")
        ),
        sa.ForeignKeyConstraint(["lesson_id"], ["lesson.id"], name=op.f("fk_sign_off_lesson_id_lesson")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_off")),
        sa.UniqueConstraint("lesson_id", "version", name=op.f("uq_sign_off_lesson_id_version")),
    )
    with op.batch_alter_table("sign_off", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sign_off_lesson_id"), ["lesson_id"], unique=False)

    op.create_table(
        "maneuver",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("judging_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=60), nullable=False),
        sa.Column("title", sa.String(length=120), nullable=False),
        sa.Column("direction", sa.String(length=10), nullable=False),
        sa.Column("start_s", sa.Double(), nullable=False),
        sa.Column("end_s", sa.Double(), nullable=False),
        sa.Column("status", sa.String(length=20), nullable=False),
        sa.Column("probability", sa.Double(), nullable=False),
        sa.Column("flown_by", sa.String(length=20), nullable=False),
        sa.ForeignKeyConstraint(["judging_id"], ["judging.id"], name=op.f("fk_maneuver_judging_id_judging")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_maneuver")),
    )
    with op.batch_alter_table("maneuver", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_maneuver_judging_id"), ["judging_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_maneuver_kind"), ["kind"], unique=False)

    op.create_table(
        "element",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("maneuver_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("title", sa.String(length=160), nullable=False),
        sa.Column("part", sa.Integer(), nullable=True),
        sa.Column("unit", sa.String(length=20), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("sd", sa.Double(), nullable=True),
        sa.Column("low", sa.Double(), nullable=True),
        sa.Column("high", sa.Double(), nullable=True),
        sa.Column("probability_met", sa.Double(), nullable=True),
        sa.Column("verdict", sa.String(length=20), nullable=False),
        sa.Column("document", sa.String(length=80), nullable=True),
        sa.Column("edition", sa.String(length=80), nullable=True),
        sa.Column("task", sa.String(length=40), nullable=True),
        sa.ForeignKeyConstraint(
            ["maneuver_id"], ["maneuver.id"], name=op.f("fk_element_maneuver_id_maneuver")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_element")),
    )
    with op.batch_alter_table("element", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_element_maneuver_id"), ["maneuver_id"], unique=False)
