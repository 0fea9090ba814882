"""The tables of accounts. Of every secret only a digest is kept.

person --- account --- invitation (a link that works once)
              |------- sign_in (one browser of one person)
person --- assignment (which instructor teaches which student), upload (who handed a recording in)
refused_try: by name and by address, so that several processes count together
audit: who signed in, was refused, looked at or changed what
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from chalkwing.book.columns import Table, Utc, now
from chalkwing.book.tables import DIGEST, Person


class Account(Table):
    """The account of a person of the book. ``name`` is the person's name as it is looked up."""

    __tablename__ = "account"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), unique=True)
    name: Mapped[str] = mapped_column(String(120), unique=True)
    password: Mapped[str | None] = mapped_column(String(255), default=None)
    """An argon2id hash with its salt and cost; None until an invitation is used."""
    made: Mapped[datetime] = mapped_column(Utc, default=now)
    changed: Mapped[datetime | None] = mapped_column(Utc, default=None)
    """When the password was set."""
    closed: Mapped[datetime | None] = mapped_column(Utc, default=None)

    person: Mapped[Person] = relationship()


class Invitation(Table):
    """A link by which a person sets a password, once, before ``ends``."""

    __tablename__ = "invitation"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id"), index=True)
    digest: Mapped[str] = mapped_column(DIGEST, unique=True)
    who: Mapped[str] = mapped_column(String(120))
    made: Mapped[datetime] = mapped_column(Utc, default=now)
    ends: Mapped[datetime] = mapped_column(Utc)
    used: Mapped[datetime | None] = mapped_column(Utc, default=None)

    account: Mapped[Account] = relationship()


class SignIn(Table):
    """One browser in which a person is signed in, known by the digest of its cookie."""

    __tablename__ = "sign_in"

    id: Mapped[int] = mapped_column(primary_key=True)
    account_id: Mapped[int] = mapped_column(ForeignKey("account.id"), index=True)
    digest: Mapped[str] = mapped_column(DIGEST, unique=True)
    begun: Mapped[datetime] = mapped_column(Utc, default=now)
    seen: Mapped[datetime] = mapped_column(Utc, default=now)
    ended: Mapped[datetime | None] = mapped_column(Utc, default=None)
    address: Mapped[str] = mapped_column(String(64))

    account: Mapped[Account] = relationship()


class RefusedTry(Table):
    """Tries to sign in that failed, by what they were made with: a name (its digest) or an address."""

    __tablename__ = "refused_try"

    key: Mapped[str] = mapped_column(String(80), primary_key=True)
    count: Mapped[int]
    last: Mapped[datetime] = mapped_column(Utc)
    until: Mapped[datetime] = mapped_column(Utc)
    """Before this no other try is looked at."""


class AuditLine(Table):
    """One line of the log: who did what, from which address."""

    __tablename__ = "audit"

    id: Mapped[int] = mapped_column(primary_key=True)
    made: Mapped[datetime] = mapped_column(Utc, default=now, index=True)
    who: Mapped[str] = mapped_column(String(120), index=True)
    act: Mapped[str] = mapped_column(String(40))
    subject: Mapped[str] = mapped_column(String(200))
    address: Mapped[str] = mapped_column(String(64))
    told: Mapped[str | None] = mapped_column(Text, default=None)


class Assignment(Table):
    """An instructor who teaches a student; ended ones stay."""

    __tablename__ = "assignment"

    id: Mapped[int] = mapped_column(primary_key=True)
    student_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    instructor_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    begun: Mapped[datetime] = mapped_column(Utc, default=now)
    ended: Mapped[datetime | None] = mapped_column(Utc, default=None)

    student: Mapped[Person] = relationship(foreign_keys=[student_id])
    instructor: Mapped[Person] = relationship(foreign_keys=[instructor_id])


class Upload(Table):
    """Who handed a recording in through the pages: nobody makes a lesson of what others sent."""

    __tablename__ = "upload"

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    sha256: Mapped[str] = mapped_column(DIGEST, primary_key=True)
    made: Mapped[datetime] = mapped_column(Utc, default=now)
