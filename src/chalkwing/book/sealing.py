"""Signing a lesson's record, and finding out whether anything that was signed has changed since.

A sign-off keeps the whole record to the letter, its digest goes into the ledger, and the ledger's lines seal
each other. A change of the tables behind chalkwing's back therefore shows in one of four ways: the record is
no longer what was signed, the signed document is not what the ledger sealed, a line of the ledger is broken,
or a recording is not what its name says. What it cannot show is a book replaced whole: for that, keep the
last seal that `verify` prints somewhere else.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.book import Book
from chalkwing.book.columns import now
from chalkwing.book.common.proving import mark_faults
from chalkwing.book.judgings import Progress, log_of
from chalkwing.book.lessons import in_force, signed
from chalkwing.book.tables import Judging, LedgerLine, Lesson, Maneuver, Person, Recording, SignOff
from chalkwing.errors import BookTrouble

STATEMENT = "I gave this training and reviewed this record."


def record_of(found: Lesson) -> dict[str, Any]:
    """All that a sign-off seals of a lesson, in plain values."""
    return {
        "lesson": found.id,
        "version": found.version,
        "student": found.student.name,
        "instructor": found.instructor.name if found.instructor else None,
        "airplane": found.airplane.registration if found.airplane else None,
        "unit": found.unit,
        "flown": found.flown.isoformat() if found.flown else None,
        "duration_s": found.duration_s,
        "recordings": [each.sha256 for each in found.recordings],
        "judging": _judging(in_force(found)),
        "corrections": [
            [each.text, each.who, each.why, each.made.isoformat()]
            for each in found.corrections
            if each.undone is None
        ],
        "marks": [
            [each.instructor.name, each.kind, each.start_s, each.element, each.scale, each.step, each.blind]
            for each in found.marks
        ],
        "notes": [
            [each.who, each.moment_s, each.text, each.made.isoformat()]
            for each in found.notes
            if each.undone is None
        ],
    }


def _judging(judging: Judging) -> dict[str, Any]:
    return {
        "made": judging.made.isoformat(),
        "code": judging.code,
        "standard": judging.standard_title,
        "prints": [judging.standard_print, judging.definitions_print, judging.sheet_print],
        "document": ledger.digest(judging.document.hex()),
        # Left out where nothing was said: records sealed before it could be said hold as they are.
        **log_of(judging).told,
        "maneuvers": [_maneuver(each) for each in judging.maneuvers],
    }


def _maneuver(flown: Maneuver) -> dict[str, Any]:
    return {
        "kind": flown.kind,
        "direction": flown.direction,
        "start_s": flown.start_s,
        "end_s": flown.end_s,
        "status": flown.status,
        "flown_by": flown.flown_by,
        "elements": [
            [e.name, e.part, e.value, e.sd, e.unit, e.low, e.high, e.verdict, e.document, e.edition, e.task]
            for e in flown.elements
        ],
    }


def sign(session: Session, found: Lesson, instructor: Person) -> SignOff:
    """Sign the lesson as it now stands.

    Raises `BookTrouble` if this version is signed already, or the instructor's certificate number is not in
    the book (14 CFR 61.51(h)(2) and 61.189(a) ask for a signature with the certificate's number).
    """
    if signed(found):
        raise BookTrouble(f"version {found.version} is signed already.", where=f"lesson {found.id}")
    if not instructor.certificate:
        raise BookTrouble(
            f"the certificate number of {instructor.name} is not in the book.",
            next_step=f'Enter it: chalkwing book person "{instructor.name}" --certificate NUMBER',
        )
    signature = {
        "statement": STATEMENT,
        "instructor": instructor.name,
        "certificate": instructor.certificate,
        "recency": instructor.recency,
        "signed": now().isoformat(),
    }
    document = ledger.canonical({"record": record_of(found), "signature": signature})
    made = SignOff(
        lesson_id=found.id,
        version=found.version,
        instructor=instructor,
        certificate=instructor.certificate,
        recency=instructor.recency,
        document=document,
        sha256=ledger.digest(document),
    )
    found.sign_offs.append(made)
    session.flush()
    ledger.enter(
        session,
        who=instructor.name,
        act="signed",
        subject=f"lesson {found.id}",
        content={"version": found.version, "sha256": made.sha256},
    )
    return made


def faults(book: Book, *, progress: Progress | None = None) -> Iterator[str]:
    """Everything in the book that is not as it was sealed, in words; nothing if all of it holds."""
    with book.reading() as session:
        yield from ledger.broken_lines(session)
        yield from _told_but_missing(session)
        yield from mark_faults(session)
        for number, found in enumerate(session.scalars(select(Lesson).order_by(Lesson.id))):
            if progress is not None and number % 50 == 0:
                progress("signatures", 0.0)
            for signature in found.sign_offs:
                yield from _signature(found, signature)
        recordings = list(session.scalars(select(Recording).order_by(Recording.sha256)))
        for place, recording in enumerate(recordings):
            if progress is not None:
                progress("recordings", place / len(recordings))
            yield from _recording(book, recording)


def _told_but_missing(session: Session) -> Iterator[str]:
    """Lessons and signatures that the ledger tells of and the tables no longer hold."""
    told = select(LedgerLine).where(
        LedgerLine.act.in_(("added", "signed")), LedgerLine.subject.like("lesson %")
    )
    for line in session.scalars(told.order_by(LedgerLine.number)):
        number = int(line.subject.removeprefix("lesson "))
        found = session.get(Lesson, number)
        if found is None:
            yield f"lesson {number}: the ledger tells of it, but it is gone"
        elif line.act == "signed":
            content = json.loads(line.content)
            kept = next((each for each in found.sign_offs if each.version == content["version"]), None)
            if kept is None:
                yield f"lesson {number}: the signature of version {content['version']} is gone"
            elif kept.sha256 != content["sha256"]:
                yield f"lesson {number}: the signed version {content['version']} is not what was sealed"


def _signature(found: Lesson, signature: SignOff) -> Iterator[str]:
    if ledger.digest(signature.document) != signature.sha256:
        yield f"lesson {found.id}: the signed document of version {signature.version} has been changed"
    elif signature.version == found.version:
        sealed = json.loads(signature.document)["record"]
        if ledger.canonical(sealed) != ledger.canonical(record_of(found)):
            changed = [key for key, value in record_of(found).items() if sealed.get(key) != value]
            yield f"lesson {found.id}: changed since it was signed ({', '.join(changed)})"


def _recording(book: Book, recording: Recording) -> Iterator[str]:
    if recording.erased is None and not book.vault.sound(recording.sha256):
        state = "is not what was recorded" if book.vault.holds(recording.sha256) else "is missing"
        yield f"recording {recording.sha256[:12]} ({recording.name}): its file {state}"
