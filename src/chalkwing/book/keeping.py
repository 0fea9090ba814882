"""Keeping a book: backup, restore, how long what is kept, and erasing a raw recording.

Nothing is ever deleted by itself. A signed record outlives the recording it was judged from: the law wants
the record, while a recording is personal data and may have a shorter life.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.book import Book, open_book
from chalkwing.book.columns import now
from chalkwing.book.course import Course
from chalkwing.book.judgings import Progress
from chalkwing.book.place import FILE, place_of
from chalkwing.book.tables import LessonRecording, Person, Recording
from chalkwing.errors import BookTrouble

YEAR = timedelta(days=365.25)
ABOUT = "about.json"


@dataclass(frozen=True)
class Retention:
    """How long records are kept after the event that ends a training, and raw recordings after they were
    added.

    Three years after the end is the longest of 14 CFR 61.189 (instructors), 14 CFR 141.101 (1 year) and
    ORA.ATO.120 (3 years); some states ask for five. A school sets its own.
    """

    record_years: float = 3.0
    recording_days: float = 365.0

    def record_until(self, student: Person) -> datetime | None:
        """Until when the record of a student must be kept; None while the training goes on."""
        return None if student.left is None else student.left + self.record_years * YEAR

    def recording_until(self, recording: Recording) -> datetime:
        """Until when the school keeps a raw recording, by its own rule."""
        return recording.added + timedelta(days=self.recording_days)


def retention_of(course: Course | None) -> Retention:
    """How long what is kept, by the course in force."""
    if course is None:
        return Retention()
    return Retention(course.rules.record_years, course.rules.recording_days)


def due(session: Session, retention: Retention) -> Iterator[str]:
    """What has been kept for as long as the school's rule asks, in words. Nothing is removed by itself."""
    today = now()
    for student in session.scalars(select(Person).where(Person.student).order_by(Person.name)):
        until = retention.record_until(student)
        if until is not None and until < today:
            yield f"the record of {student.name} had to be kept until {until:%Y-%m-%d}"
    kept = select(Recording).where(Recording.erased.is_(None)).order_by(Recording.added)
    for recording in session.scalars(kept):
        until = retention.recording_until(recording)
        if until < today:
            yield f"recording {recording.sha256[:12]} ({recording.name}) was kept until {until:%Y-%m-%d}"


def erase(book: Book, sha256: str, *, who: str, why: str) -> Recording:
    """Erase the bytes of a recording, by its digest or the beginning of it. What was judged of it stays."""
    if not why.strip():
        raise BookTrouble("erasing a recording needs a reason.", next_step="Say it with --why.")
    with book.writing() as session:
        recording = _recording(session, sha256)
        recording.erased, recording.erased_by, recording.erased_why = now(), who, why
        lessons = session.scalars(
            select(LessonRecording.lesson_id).where(LessonRecording.sha256 == recording.sha256)
        )
        content = {"sha256": recording.sha256, "why": why, "lessons": sorted(lessons)}
        ledger.enter(
            session, who=who, act="erased", subject=f"recording {recording.sha256[:12]}", content=content
        )
    # The database first: a kill between the two leaves a file too many, which the next `sweep` removes, never
    # a record that claims to have what is gone.
    sweep(book)
    return recording


def _recording(session: Session, sha256: str) -> Recording:
    found = list(session.scalars(select(Recording).where(Recording.sha256.startswith(sha256)).limit(2)))
    if len(sha256) < 6 or len(found) != 1:
        raise BookTrouble(
            f"{sha256!r} names {'several recordings' if len(found) > 1 else 'no recording'}.",
            next_step="Give at least six digits of its digest, as `chalkwing book show LESSON` tells it.",
        )
    if found[0].erased is not None:
        raise BookTrouble(f"it was erased on {found[0].erased:%Y-%m-%d}.", where=found[0].name)
    return found[0]


def sweep(book: Book) -> int:
    """Remove what killed processes left: unfinished copies older than a day, and bytes that were erased."""
    count = 0
    yesterday = (now() - timedelta(days=1)).timestamp()
    for path in list(book.vault.leftovers()):
        if path.stat().st_mtime < yesterday:
            path.unlink(missing_ok=True)
            count += 1
    with book.reading() as session:
        erased = set(session.scalars(select(Recording.sha256).where(Recording.erased.is_not(None))))
    for sha256 in erased & set(book.vault.everything()):
        book.vault.erase(sha256)
        count += 1
    return count


def backup(book: Book, goal: Path, *, progress: Progress | None = None) -> str:
    """Write an embedded book, database and recordings, into one zip file; the ledger's last seal is given
    back.

    The database is copied as of one instant while others go on writing. Recordings only ever come to be, so
    those that the copy names are there.
    """
    if not book.place.embedded:
        raise BookTrouble(
            "a book on PostgreSQL is backed up with the server's own tools.",
            where=str(book.place),
            next_step="Use pg_dump, and copy the folder of recordings.",
        )
    with book.reading() as session:
        seal = ledger.last_seal(session)
    with tempfile.TemporaryDirectory(prefix="chalkwing-", dir=goal.parent) as folder:
        copy, part = Path(folder) / FILE, Path(folder) / goal.name
        _copy_database(book.place.database, copy)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.write(copy, FILE)
            kept = sorted(book.vault.everything())
            for place, digest in enumerate(kept):
                if progress is not None:
                    progress("recordings", place / len(kept))
                archive.write(book.vault.path(digest), f"recordings/{digest[:2]}/{digest}")
            archive.writestr(ABOUT, json.dumps({"made": now().isoformat(), "last_seal": seal}))
        part.replace(goal)
    return seal


def _copy_database(source: Path, goal: Path) -> None:
    read, write = sqlite3.connect(source), sqlite3.connect(goal)
    try:
        read.backup(write)
    finally:
        write.close()
        read.close()


def restore(archive: Path, where: str | Path | None = None) -> Book:
    """Unpack a backup into a new book at ``where``; never over one that is there."""
    place = place_of(where)
    if not place.embedded:
        raise BookTrouble(
            "a backup is restored into a folder.", where=str(place), next_step="Name one with --book."
        )
    if place.folder.exists() and any(place.folder.iterdir()):
        raise BookTrouble(
            "there is something here already; a restore never writes over it.",
            where=str(place),
            next_step="Name another folder with --book, or move this one away.",
        )
    place.folder.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="chalkwing-", dir=place.folder.parent) as folder:
        fresh = Path(folder) / "book"
        _unpack(archive, fresh)
        if place.folder.exists():
            place.folder.rmdir()
        shutil.move(fresh, place.folder)
    return open_book(place.folder, create=False)


def _unpack(archive: Path, goal: Path) -> None:
    try:
        with zipfile.ZipFile(archive) as packed:
            names = set(packed.namelist())
            if FILE not in names or ABOUT not in names:
                raise BookTrouble("this is no backup of a book.", where=archive.name)
            packed.extractall(goal)
    except zipfile.BadZipFile as error:
        raise BookTrouble(
            "this is no backup, or it is damaged.", where=archive.name, next_step="Take another."
        ) from error
    (goal / ABOUT).unlink()
