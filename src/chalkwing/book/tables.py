"""The tables of the book. Times [s], values in pilot units as judged, because a limit is written in them.

    person --- lesson --- lesson_recording --- recording (a file beside the database)
                 |--- judging --- maneuver --- element
                 |--- correction, mark, note
                 |--- sign_off
    ledger: every change of a record, each line sealed by the one before it

A lesson is judged anew when a standard or the program changes: every judging stays, the newest is the one in
force. Nothing here is ever deleted but the bytes of a recording, by a person who says why.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, LargeBinary, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from chalkwing.book.columns import Table, Utc, now

DIGEST = String(64)
"""A SHA-256 in hexadecimal."""


class Person(Table):
    """Someone of the school. ``student``, ``instructor``, ``chief``: one person may be several of them."""

    __tablename__ = "person"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120), unique=True)
    student: Mapped[bool] = mapped_column(default=False)
    instructor: Mapped[bool] = mapped_column(default=False)
    chief: Mapped[bool] = mapped_column(default=False)
    certificate: Mapped[str | None] = mapped_column(String(60), default=None)
    recency: Mapped[str | None] = mapped_column(String(60), default=None)
    """What the school keeps beside the certificate's number: its expiry, or recent experience."""
    enrolled: Mapped[datetime] = mapped_column(Utc, default=now)
    left: Mapped[datetime | None] = mapped_column(Utc, default=None)
    """When a student graduated, ended or moved: retention counts from here."""
    left_as: Mapped[str | None] = mapped_column(String(20), default=None)

    @property
    def roles(self) -> tuple[str, ...]:
        """The roles that this person has."""
        return tuple(role for role in ROLES if getattr(self, role))


ROLES = ("student", "instructor", "chief")


class Airplane(Table):
    """An airplane of the school and the sheet it is judged with: a built-in name, or a text."""

    __tablename__ = "airplane"

    id: Mapped[int] = mapped_column(primary_key=True)
    registration: Mapped[str] = mapped_column(String(20), unique=True)
    sheet: Mapped[str | None] = mapped_column(String(80), default=None)
    sheet_text: Mapped[str | None] = mapped_column(Text, default=None)


class Recording(Table):
    """One recorded file, known by what is in it. Its bytes lie beside the database until erased."""

    __tablename__ = "recording"

    sha256: Mapped[str] = mapped_column(DIGEST, primary_key=True)
    name: Mapped[str] = mapped_column(String(255))
    size: Mapped[int]
    added: Mapped[datetime] = mapped_column(Utc, default=now)
    erased: Mapped[datetime | None] = mapped_column(Utc, default=None)
    erased_by: Mapped[str | None] = mapped_column(String(120), default=None)
    erased_why: Mapped[str | None] = mapped_column(Text, default=None)


class Lesson(Table):
    """One lesson of one student. ``version`` grows with every change after a sign-off."""

    __tablename__ = "lesson"

    id: Mapped[int] = mapped_column(primary_key=True)
    student_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    instructor_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"), index=True)
    airplane_id: Mapped[int | None] = mapped_column(ForeignKey("airplane.id"))
    unit: Mapped[str | None] = mapped_column(String(80), default=None)
    """The lesson of the course outline that it was."""
    flown: Mapped[datetime | None] = mapped_column(Utc, index=True, default=None)
    """When the recording began; None where it does not say."""
    duration_s: Mapped[float]
    key: Mapped[str] = mapped_column(DIGEST, unique=True)
    """What makes it this lesson: the student and the recordings. The same again is the same lesson."""
    added: Mapped[datetime] = mapped_column(Utc, default=now)
    version: Mapped[int] = mapped_column(default=1)
    desk: Mapped[str | None] = mapped_column(String(16), index=True, default=None)
    """The lesson of the pages that this record goes along with; None where it was added otherwise."""

    student: Mapped[Person] = relationship(foreign_keys=[student_id])
    instructor: Mapped[Person | None] = relationship(foreign_keys=[instructor_id])
    airplane: Mapped[Airplane | None] = relationship()
    recordings: Mapped[list[LessonRecording]] = relationship(order_by="LessonRecording.place")
    judgings: Mapped[list[Judging]] = relationship(order_by="Judging.id")
    corrections: Mapped[list[Correction]] = relationship(order_by="Correction.id")
    marks: Mapped[list[Mark]] = relationship(order_by="Mark.id")
    notes: Mapped[list[Note]] = relationship(order_by="Note.id")
    sign_offs: Mapped[list[SignOff]] = relationship(order_by="SignOff.id")


class CourseText(Table):
    """A course outline as the school wrote it; the newest is the one in force, older ones stay."""

    __tablename__ = "course"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    text: Mapped[str] = mapped_column(Text)
    entered: Mapped[datetime] = mapped_column(Utc, default=now)


class LessonRecording(Table):
    """A recording of a lesson; a lesson may have those of two recorders, a recording may be two students'."""

    __tablename__ = "lesson_recording"

    lesson_id: Mapped[int] = mapped_column(ForeignKey("lesson.id"), primary_key=True)
    sha256: Mapped[str] = mapped_column(ForeignKey("recording.sha256"), primary_key=True, index=True)
    place: Mapped[int]

    recording: Mapped[Recording] = relationship()


class Judging(Table):
    """One judgement of a whole lesson, and all that it came from. ``document`` is its debrief, compressed.

    It is read from the database only where it is asked for: a handover goes through dozens of judgings.
    """

    __tablename__ = "judging"

    id: Mapped[int] = mapped_column(primary_key=True)
    lesson_id: Mapped[int] = mapped_column(ForeignKey("lesson.id"), index=True)
    made: Mapped[datetime] = mapped_column(Utc, default=now)
    in_force: Mapped[bool] = mapped_column(default=True)
    code: Mapped[str] = mapped_column(String(40))
    standard: Mapped[str] = mapped_column(String(80))
    standard_title: Mapped[str] = mapped_column(String(200))
    standard_print: Mapped[str] = mapped_column(DIGEST)
    definitions_print: Mapped[str] = mapped_column(DIGEST)
    sheet_print: Mapped[str | None] = mapped_column(DIGEST, default=None)
    column_map: Mapped[str | None] = mapped_column(Text, default=None)
    """A person's word on what the columns of its logs hold, to the letter; judging anew reads them so."""
    zone: Mapped[str | None] = mapped_column(String(64), default=None)
    """Where its logs' local times are kept, if a person said so."""
    document: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)

    maneuvers: Mapped[list[Maneuver]] = relationship(order_by="Maneuver.place")

    __table_args__ = (Index("ix_judging_in_force", "lesson_id", "in_force"),)


class Maneuver(Table):
    """One maneuver of a judging. Only those that the student flew enter progress."""

    __tablename__ = "maneuver"

    id: Mapped[int] = mapped_column(primary_key=True)
    judging_id: Mapped[int] = mapped_column(ForeignKey("judging.id"), index=True)
    place: Mapped[int]
    kind: Mapped[str] = mapped_column(String(60), index=True)
    title: Mapped[str] = mapped_column(String(120))
    direction: Mapped[str] = mapped_column(String(10))
    start_s: Mapped[float]
    end_s: Mapped[float]
    status: Mapped[str] = mapped_column(String(20))
    probability: Mapped[float]
    flown_by: Mapped[str] = mapped_column(String(20))

    elements: Mapped[list[Element]] = relationship(order_by="Element.id")


class Element(Table):
    """One element that has a published or school's limit, as judged."""

    __tablename__ = "element"

    id: Mapped[int] = mapped_column(primary_key=True)
    maneuver_id: Mapped[int] = mapped_column(ForeignKey("maneuver.id"), index=True)
    name: Mapped[str] = mapped_column(String(60))
    title: Mapped[str] = mapped_column(String(160))
    part: Mapped[int | None]
    unit: Mapped[str] = mapped_column(String(20))
    value: Mapped[float | None]
    sd: Mapped[float | None]
    low: Mapped[float | None]
    high: Mapped[float | None]
    probability_met: Mapped[float | None]
    verdict: Mapped[str] = mapped_column(String(20))
    document: Mapped[str | None] = mapped_column(String(80))
    edition: Mapped[str | None] = mapped_column(String(80))
    task: Mapped[str | None] = mapped_column(String(40))


class Correction(Table):
    """A person's correction of what was found, or a verdict of the instructor's own: its table as JSON."""

    __tablename__ = "correction"

    id: Mapped[int] = mapped_column(primary_key=True)
    lesson_id: Mapped[int] = mapped_column(ForeignKey("lesson.id"), index=True)
    text: Mapped[str] = mapped_column(Text)
    who: Mapped[str] = mapped_column(String(120))
    why: Mapped[str | None] = mapped_column(Text)
    made: Mapped[datetime] = mapped_column(Utc, default=now)
    undone: Mapped[datetime | None] = mapped_column(Utc, default=None)
    line: Mapped[int | None] = mapped_column(default=None)
    """The line of the desk's journal that it came from."""


class Mark(Table):
    """An instructor's mark on the school's own scale, for a maneuver as a whole or one element of it."""

    __tablename__ = "mark"

    id: Mapped[int] = mapped_column(primary_key=True)
    lesson_id: Mapped[int] = mapped_column(ForeignKey("lesson.id"), index=True)
    instructor_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    kind: Mapped[str] = mapped_column(String(60))
    start_s: Mapped[float]
    element: Mapped[str | None] = mapped_column(String(60), default=None)
    scale: Mapped[str] = mapped_column(String(60))
    step: Mapped[str] = mapped_column(String(60))
    blind: Mapped[bool] = mapped_column(default=False)
    """Given before the computed verdict was seen."""
    made: Mapped[datetime] = mapped_column(Utc, default=now)

    instructor: Mapped[Person] = relationship()


class Note(Table):
    """Words on a lesson, on a maneuver (by its start) or on a moment."""

    __tablename__ = "note"

    id: Mapped[int] = mapped_column(primary_key=True)
    lesson_id: Mapped[int] = mapped_column(ForeignKey("lesson.id"), index=True)
    moment_s: Mapped[float | None]
    text: Mapped[str] = mapped_column(Text)
    who: Mapped[str] = mapped_column(String(120))
    made: Mapped[datetime] = mapped_column(Utc, default=now)
    undone: Mapped[datetime | None] = mapped_column(Utc, default=None)
    line: Mapped[int | None] = mapped_column(default=None)
    """The line of the desk's journal that it came from."""


class SignOff(Table):
    """A signature that seals one version of a record; ``document`` is what was signed, to the letter."""

    __tablename__ = "sign_off"

    id: Mapped[int] = mapped_column(primary_key=True)
    lesson_id: Mapped[int] = mapped_column(ForeignKey("lesson.id"), index=True)
    version: Mapped[int]
    instructor_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    certificate: Mapped[str] = mapped_column(String(60))
    recency: Mapped[str | None] = mapped_column(String(60))
    signed: Mapped[datetime] = mapped_column(Utc, default=now)
    document: Mapped[str] = mapped_column(Text, deferred=True)
    sha256: Mapped[str] = mapped_column(DIGEST)

    instructor: Mapped[Person] = relationship()

    __table_args__ = (UniqueConstraint("lesson_id", "version"),)


class LedgerLine(Table):
    """One line of the ledger: who did what to which record, sealed by the line before it."""

    __tablename__ = "ledger"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    made: Mapped[datetime] = mapped_column(Utc)
    who: Mapped[str] = mapped_column(String(120))
    act: Mapped[str] = mapped_column(String(40))
    subject: Mapped[str] = mapped_column(String(80))
    content: Mapped[str] = mapped_column(Text)
    before: Mapped[str] = mapped_column(DIGEST)
    seal: Mapped[str] = mapped_column(DIGEST, unique=True)
