"""People and airplanes of the school. Nobody is entered by a slip of the pen: names are looked up."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.columns import now
from chalkwing.book.tables import Airplane, Lesson, Person
from chalkwing.errors import BookTrouble
from chalkwing.nearest import did_you_mean

Role = Literal["student", "instructor", "chief"]
Ending = Literal["graduated", "ended", "moved"]
ROLES: tuple[Role, ...] = ("student", "instructor", "chief")


def enroll(
    session: Session,
    name: str,
    *,
    roles: Collection[Role],
    who: str,
    certificate: str | None = None,
    recency: str | None = None,
) -> Person:
    """Enter a person, or give one who is there further roles or another certificate."""
    name = _tidy(name)
    if not name:
        raise BookTrouble("a person needs a name.", next_step="Write it in quotes.")
    person = session.scalars(select(Person).where(Person.name == name)).first()
    if person is None:
        person = Person(name=name)
        session.add(person)
    for role in roles:
        setattr(person, role, True)
    person.certificate = certificate or person.certificate
    person.recency = recency or person.recency
    session.flush()
    told = {"roles": list(person.roles), "certificate": person.certificate, "recency": person.recency}
    ledger.enter(
        session, who=who, act="enrolled", subject=f"person {person.id}", content={"name": name, **told}
    )
    return person


def _tidy(name: str) -> str:
    """A name with single spaces, so that a slip of the space bar makes no second person."""
    return " ".join(name.split())


def is_known(session: Session, name: str) -> bool:
    """Whether somebody of this name is in the book."""
    return session.scalars(select(Person.id).where(Person.name == _tidy(name))).first() is not None


def leave(session: Session, person: Person, *, how: Ending, when: datetime | None, who: str) -> None:
    """Note that a student graduated, ended or moved: how long records are kept counts from then."""
    if when is not None and when > now():
        raise BookTrouble(
            f"{when:%Y-%m-%d} has not come yet.",
            where=person.name,
            next_step="Enter the end of the training on its day, or after it.",
        )
    person.left, person.left_as = when or now(), how
    content = {"left": person.left.isoformat(), "as": how}
    ledger.enter(session, who=who, act="left", subject=f"person {person.id}", content=content)


def resume(session: Session, person: Person, *, who: str) -> None:
    """Note that a student trains again, or that the end was noted by mistake: no retention runs."""
    if person.left is None:
        raise BookTrouble(f"{person.name} is in training.", next_step="There is no end to take back.")
    content = {"left": person.left.isoformat(), "as": person.left_as}
    person.left, person.left_as = None, None
    ledger.enter(session, who=who, act="resumed", subject=f"person {person.id}", content=content)


def correct(
    session: Session,
    person: Person,
    *,
    roles: Collection[Role],
    certificate: str | None,
    recency: str | None,
    who: str,
) -> None:
    """Put roles and certificate as they shall be; what was signed keeps the certificate of its day."""
    _refuse_to_orphan(session, person, roles)
    for role in ROLES:
        setattr(person, role, role in roles)
    person.certificate, person.recency = certificate, recency
    session.flush()
    told = {"roles": list(person.roles), "certificate": certificate, "recency": recency}
    ledger.enter(session, who=who, act="corrected", subject=f"person {person.id}", content=told)


def _refuse_to_orphan(session: Session, person: Person, roles: Collection[Role]) -> None:
    """A record belongs to a student: who has one stays a student of the book."""
    taken = select(Lesson.id).where(Lesson.student_id == person.id).limit(1)
    if "student" not in roles and session.scalar(taken) is not None:
        raise BookTrouble(
            f"{person.name} has lessons in the book as a student.",
            next_step="Note how the training ended instead; the record stays.",
        )


def person(session: Session, name: str, *, role: Role | None = None) -> Person:
    """The person called ``name``, who must have ``role``; an unknown name is refused with the likely ones."""
    found = session.scalars(select(Person).where(Person.name == _tidy(name))).first()
    if found is None:
        wanted = select(Person.name) if role is None else select(Person.name).where(getattr(Person, role))
        raise BookTrouble(
            f"nobody called {name!r} is in the book.",
            next_step=_known(name, list(session.scalars(wanted.order_by(Person.name))))
            + f' Enter a new one with: chalkwing book person "{name}" --{role or "student"}',
        )
    if role is not None and not getattr(found, role):
        raise BookTrouble(
            f"{found.name} is in the book as {' and '.join(found.roles) or 'nothing yet'}, not as {role}.",
            next_step=f'Add it with: chalkwing book person "{found.name}" --{role}',
        )
    return found


def by_number(session: Session, number: int) -> Person:
    """The person with this number in the book."""
    found = session.get(Person, number)
    if found is None:
        raise BookTrouble(f"nobody has the number {number} in the book.")
    return found


def airplane(session: Session, registration: str) -> Airplane:
    """The airplane with this registration; one that is not known is refused with the likely ones."""
    found = session.scalars(select(Airplane).where(Airplane.registration == registration)).first()
    if found is None:
        known = list(session.scalars(select(Airplane.registration).order_by(Airplane.registration)))
        raise BookTrouble(
            f"no airplane {registration!r} is in the book.",
            next_step=_known(registration, known)
            + f" Enter it with: chalkwing book airplane {registration} --sheet SHEET",
        )
    return found


def enter_airplane(
    session: Session, registration: str, *, sheet: str | None, sheet_text: str | None, who: str
) -> Airplane:
    """Enter an airplane, or give one that is there another sheet."""
    found = session.scalars(select(Airplane).where(Airplane.registration == registration)).first()
    if found is None:
        found = Airplane(registration=registration)
        session.add(found)
    found.sheet, found.sheet_text = sheet, sheet_text
    session.flush()
    content = {"registration": registration, "sheet": sheet, "text": ledger.digest(sheet_text or "")}
    ledger.enter(session, who=who, act="airplane", subject=f"airplane {found.id}", content=content)
    return found


def _known(name: str, known: list[str]) -> str:
    if not known:
        return "There is none yet."
    near = did_you_mean(name, known)
    return f"D{near[1:]}" if near else f"Known: {', '.join(known[:12])}."
