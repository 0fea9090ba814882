"""Desk and book together: a lesson of the desk is entered into the book, and its record keeps up with it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import select

from chalkwing.book import Book, adding, following, ledger, lessons
from chalkwing.book.adding import Entry as Entering
from chalkwing.book.course import course_from, course_in_force
from chalkwing.book.following import Line
from chalkwing.book.judgings import Basis, log_of
from chalkwing.book.judgings import Settings as Limits
from chalkwing.book.tables import Airplane, Correction, Note, Recording
from chalkwing.book.tables import Lesson as Record
from chalkwing.book.vault import Kept
from chalkwing.errors import RefusedRequest
from chalkwing.maneuvers import standards
from chalkwing.web.journal import Entry
from chalkwing.web.shelf import Lesson, Shelf, StoredFile, shown_name, write_whole

OF_THE_BOOK = "book:"
"""Before a registration, where an airplane of the book is chosen instead of a built-in sheet."""


class Records:
    """What the desk asks of the book and tells it."""

    def __init__(self, book: Book, shelf: Shelf) -> None:
        self.book = book
        self._shelf = shelf

    def booked(self) -> set[str]:
        """The digests of all recordings that the book names and has not erased."""
        with self.book.reading() as session:
            return set(session.scalars(select(Recording.sha256).where(Recording.erased.is_(None))))

    def of(self, lesson: Lesson) -> int | None:
        """The number of a lesson's record; None while it is not in the book."""
        with self.book.reading() as session:
            found = following.record_at(session, lesson.id)
            return None if found is None else found.id

    def allow(self, number: int, table: Mapping[str, Any]) -> None:
        """Refuse a change of a signed record that does not say why."""
        with self.book.reading() as session:
            found = lessons.lesson(session, number)
            if lessons.signed(found) and not str(table.get("why") or "").strip():
                raise RefusedRequest(
                    f"its record is signed (version {found.version}).",
                    status=409,
                    where="why",
                    next_step="Say why it is changed: that makes a new version; the signed one is kept.",
                )

    def read_as(self, number: int, lesson: Lesson) -> Lesson:
        """The lesson read as its record is: the book may have been told otherwise since."""
        with self.book.reading() as session:
            log = log_of(lessons.in_force(lessons.lesson(session, number)))
        return replace(lesson, column_map=log.column_map, zone=log.zone)

    def prepared(self, lesson: Lesson, entry: Entering) -> Lesson:
        """The lesson as the book wants it judged: by its airplane's sheet, to the limits of its stage."""
        with self.book.reading() as session:
            airplane = adding.checked(session, entry)
            course = course_in_force(session)
            sheet = (self._sheet(airplane) if airplane else None) or lesson.airplane
        if entry.unit is not None and course is not None:
            course.unit(entry.unit)
        text = course.text if course is not None and entry.unit is not None else None
        return replace(lesson, airplane=sheet, unit=entry.unit, course=text)

    def airplanes(self) -> dict[str, str]:
        """The school's airplanes that have a sheet: by registration, the sheet's name or where it lies."""
        with self.book.reading() as session:
            every = session.scalars(select(Airplane).order_by(Airplane.registration))
            found = {each.registration: self._sheet(each) for each in every}
        return {registration: sheet for registration, sheet in found.items() if sheet is not None}

    def _sheet(self, airplane: Airplane) -> str | None:
        """A built-in sheet's name, or where the school's own lies."""
        if airplane.sheet_text is None:
            return airplane.sheet
        folder = self._shelf.folder / "sheets"
        folder.mkdir(exist_ok=True, mode=0o700)
        path = folder / f"{ledger.digest(airplane.sheet_text)[:16]}.toml"
        if not path.is_file():
            write_whole(path, airplane.sheet_text)
        return str(path)

    def enter(
        self, lesson: Lesson, entry: Entering, entries: Sequence[Entry], document: Path, *, who: str
    ) -> int:
        """Enter a lesson as it is judged now; its record's number."""
        kept = [
            (Kept(file.sha256, file.size, self._shelf.recording_path(file)), file.name)
            for file in lesson.files
        ]
        told = json.loads(document.read_text(encoding="utf-8"))
        added = adding.enter(self.book, kept, entry, document=told, basis=_basis(lesson), who=who)
        with self.book.writing() as session:
            found = lessons.lesson(session, added.number)
            if found.desk is None:
                following.join(session, found, lesson.id, _lines(entries), who=who)
        return added.number

    def follow(self, number: int, lesson: Lesson, entries: Sequence[Entry], document: Path | None) -> None:
        """Tell the record of the newest change; ``document`` is the lesson judged with it if that differs."""
        told = None if document is None else json.loads(document.read_text(encoding="utf-8"))
        with self.book.writing() as session:
            found = lessons.lesson(session, number)
            following.follow(session, found, _lines(entries), document=told, basis=_basis(lesson))

    def on_desk(self, number: int, *, who: str) -> Lesson:
        """The lesson of the desk that goes along with a record; laid there if it is not yet."""
        with self.book.writing() as session:
            record = lessons.lesson(session, number)
            there = None if record.desk is None else self._there(record.desk)
            if there is not None:
                return there
            lesson = self._laid(record, course_in_force(session) if record.unit else None)
            record.desk = lesson.id
            ledger.enter(
                session, who=who, act="opened", subject=f"lesson {number}", content={"desk": lesson.id}
            )
        return lesson

    def _there(self, desk: str) -> Lesson | None:
        try:
            return self._shelf.lesson(desk)
        except RefusedRequest:
            return None

    def _laid(self, record: Record, course: Any) -> Lesson:
        files = []
        for each in record.recordings:
            if not self.book.vault.holds(each.sha256):
                raise RefusedRequest(
                    "its recording is no longer kept.",
                    where=each.recording.name,
                    next_step="What was judged of it stays in the book.",
                )
            files.append(StoredFile(each.sha256, shown_name(each.recording.name), each.recording.size))
        judging = lessons.in_force(record)
        judged_by, log = judging.standard, log_of(judging)
        known = course is not None and any(unit.name == record.unit for unit in course.units)
        lesson = self._shelf.put(
            files,
            airplane=self._sheet(record.airplane) if record.airplane else None,
            standard=judged_by if judged_by in standards() else "commercial",
            unit=record.unit if known else None,
            course=course.text if known else None,
            column_map=log.column_map,
            zone=log.zone,
        )
        self._retell(record, lesson)
        return lesson

    def _retell(self, record: Record, lesson: Lesson) -> None:
        """Write what the record holds into the journal of its new place, and who flew as labels."""
        rows: list[Correction | Note] = [*record.corrections, *record.notes]
        for row in rows:
            row.line = None
        standing = sorted((row for row in rows if row.undone is None), key=lambda row: row.made)
        for number, row in enumerate(standing, start=1):
            row.line = number
        flown = [
            (each.kind, each.start_s, each.flown_by)
            for each in lessons.in_force(record).maneuvers
            if each.flown_by != "unknown"
        ]
        tables = [_told(row) for row in standing] + labels(flown, by="the book", when=_when(record.added))
        lines = "".join(json.dumps(table, ensure_ascii=False) + "\n" for table in tables)
        if lines:
            write_whole(self._shelf.journal_path(lesson), lines)


def _told(row: Correction | Note) -> dict[str, Any]:
    """A row of the record as the line of a journal."""
    said = {"by": row.who, "when": _when(row.made)}
    if isinstance(row, Note):
        return {"act": "note", "at_s": row.moment_s or 0.0, "text": row.text, **said}
    return {**json.loads(row.text), **said, **({"why": row.why} if row.why else {})}


def _when(instant: datetime) -> str:
    return f"{instant:%Y-%m-%dT%H:%M:%SZ}"


def labels(flown: Sequence[tuple[str, float, str]], *, by: str, when: str) -> list[dict[str, Any]]:
    """Lines that say who flew: kind, start [s], and by whom."""
    return [
        {"act": "label", "kind": kind, "at_s": round(at, 1), "flown_by": who, "by": by, "when": when}
        for kind, at, who in flown
    ]


def _lines(entries: Sequence[Entry]) -> list[Line]:
    return [Line(each.id, each.table, each.stands) for each in entries]


def _basis(lesson: Lesson) -> Basis:
    course = None if lesson.course is None else course_from(lesson.course, where="the course outline")
    overlay = Path(lesson.overlay) if lesson.overlay else None
    unit = lesson.unit if course is not None else None
    return Limits(lesson.standard, overlay).basis(unit, course, log=lesson.log)
