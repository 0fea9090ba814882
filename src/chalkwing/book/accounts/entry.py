"""Signing in and out: a password is looked at, a browser gets a cookie, and guessing becomes slow.

A try is counted before its password is looked at, so that many tries at once gain nothing; what succeeds
takes the count away again. The count lies in the database: several processes share it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sqlalchemy import delete, select, text
from sqlalchemy.orm import Session

from chalkwing.book.accounts import audit
from chalkwing.book.accounts.passwords import Cost, Hasher
from chalkwing.book.accounts.store import digest, folded, fresh_secret
from chalkwing.book.accounts.tables import Account, RefusedTry, SignIn
from chalkwing.book.book import Book
from chalkwing.book.columns import now
from chalkwing.errors import RefusedRequest

_LOCK = 0x63776C68
"""The number of the lock by which those who sign in on PostgreSQL are counted one after the other."""
_FORGOTTEN = timedelta(days=1)


@dataclass(frozen=True)
class Rules:
    """How long what lasts, and how many tries go before waiting begins.

    Waiting doubles with every further try, from two seconds up to ``longest_wait``.
    """

    cost: Cost = field(default_factory=Cost)
    idle: timedelta = timedelta(hours=2)
    lasts: timedelta = timedelta(hours=12)
    invitation: timedelta = timedelta(days=3)
    free_tries: int = 5
    free_tries_of_address: int = 20
    longest_wait: timedelta = timedelta(minutes=15)


@dataclass(frozen=True)
class Viewer:
    """Who is signed in: a person of the book, with the roles that the book gives at this moment."""

    person: int
    name: str
    roles: frozenset[str]
    account: int
    sign_in: int

    @property
    def chief(self) -> bool:
        """Whether this is a chief instructor, who sees everything."""
        return "chief" in self.roles

    @property
    def instructor(self) -> bool:
        """Whether this is an instructor."""
        return "instructor" in self.roles

    @property
    def student_only(self) -> bool:
        """Whether this is a student and nothing more: verdicts, marks and labels are not theirs to set."""
        return not (self.chief or self.instructor)


def sign_in(
    book: Book, *, name: str, password: str, address: str, rules: Rules, hasher: Hasher
) -> tuple[str, Viewer]:
    """The secret for the browser's cookie, and who it is.

    Raises `RefusedRequest`: in the same words, and after about the same time, for a name that is not known, a
    closed account and a wrong password; with the seconds to wait where too many tries were made.
    """
    keys = _keys(name, address, rules)
    with book.writing() as session:
        wait = _counted(session, keys, rules.longest_wait)
        if wait > 0:
            audit.enter(
                session, who=audit.NOBODY, act="sign-in put off", subject=name, address=address,
                told={"seconds": wait},
            )  # fmt: skip
    if wait > 0:
        raise too_soon(wait)
    with book.reading() as session:
        account = session.scalars(select(Account).where(Account.name == folded(name))).first()
        usable = account is not None and account.closed is None
        hashed = account.password if account is not None and usable else None
    right = hasher.fits(hashed, password)
    renewed = hasher.hash(password) if right and hashed is not None and hasher.is_old(hashed) else None
    with book.writing() as session:
        # Looked up again: it may have been closed, or its password changed, in between.
        account = session.scalars(select(Account).where(Account.name == folded(name))).first()
        if not right or account is None or account.closed is not None or account.password != hashed:
            audit.enter(session, who=audit.NOBODY, act="sign-in refused", subject=name, address=address)
            signed_in = None
        else:
            account.password = renewed or account.password
            _forget(session, keys)
            signed_in = _begun(session, account, address)
    if signed_in is None:
        raise RefusedRequest(
            "name and password do not go together.",
            status=401,
            next_step="Write your name as it stands in the book; the chief instructor can give a new link.",
        )
    return signed_in


def begin(session: Session, account: Account, *, address: str) -> tuple[str, Viewer]:
    """Sign in whoever has just set a password by an invitation."""
    return _begun(session, account, address)


def _begun(session: Session, account: Account, address: str) -> tuple[str, Viewer]:
    secret = fresh_secret()
    begun = SignIn(account_id=account.id, digest=digest(secret), address=address[:64])
    session.add(begun)
    session.flush()
    audit.enter(
        session, who=account.person.name, act="signed in", subject=account.person.name, address=address
    )
    return secret, _viewer(account, begun)


def too_soon(seconds: int) -> RefusedRequest:
    """The refusal of a try that came before its time."""
    said = f"{seconds} seconds" if seconds < 120 else f"{-(-seconds // 60)} minutes"
    return RefusedRequest(
        "too many tries did not succeed.",
        status=429,
        next_step=f"Wait {said}, then try again; each further try makes it longer.",
    )


def _keys(name: str, address: str, rules: Rules) -> dict[str, int]:
    """What a try is counted by, and how many tries of it are free. Names are not kept, only digests."""
    return {
        f"name:{digest(folded(name))}": rules.free_tries,
        f"address:{digest(address)}": rules.free_tries_of_address,
    }


def _counted(session: Session, keys: dict[str, int], longest: timedelta) -> int:
    """Count a try; the seconds to wait where it comes too soon, and then it is not looked at."""
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
    instant = now()
    rows = {row.key: row for row in session.scalars(select(RefusedTry).where(RefusedTry.key.in_(keys)))}
    wait = max((_left(row.until, instant) for row in rows.values()), default=0)
    if wait > 0:
        return wait
    for key, free in keys.items():
        row = rows.get(key)
        if row is None:
            row = RefusedTry(key=key, count=0, last=instant, until=instant)
            session.add(row)
        elif row.last < instant - _FORGOTTEN:
            row.count = 0
        row.count += 1
        row.last = instant
        row.until = instant + waiting(row.count, free, longest)
    return 0


def waiting(count: int, free: int, longest: timedelta) -> timedelta:
    """How long the next try must wait after ``count`` that failed.

    >>> [waiting(k, 5, timedelta(minutes=15)).total_seconds() for k in (4, 5, 6, 9, 40)]
    [0.0, 2.0, 4.0, 32.0, 900.0]
    """
    if count < free:
        return timedelta(0)
    return min(timedelta(seconds=2 ** min(count - free + 1, 20)), longest)


def _left(until: datetime, instant: datetime) -> int:
    return max(0, int((until - instant).total_seconds()))


def _forget(session: Session, keys: dict[str, int]) -> None:
    """Take back what succeeded: all tries of the name, and this one of the address, whose others stay."""
    name, address = keys
    session.execute(delete(RefusedTry).where(RefusedTry.key == name))
    row = session.get(RefusedTry, address)
    if row is not None:
        row.count, row.until = max(0, row.count - 1), now()


def viewer(session: Session, secret: str, rules: Rules) -> Viewer | None:
    """Who is signed in with this cookie; None where nobody is, or it was too long ago."""
    instant = now()
    found = session.scalars(
        select(SignIn).where(
            SignIn.digest == digest(secret),
            SignIn.ended.is_(None),
            SignIn.seen > instant - rules.idle,
            SignIn.begun > instant - rules.lasts,
        )
    ).first()
    if found is None or found.account.closed is not None:
        return None
    return _viewer(found.account, found)


def _viewer(account: Account, begun: SignIn) -> Viewer:
    person = account.person
    return Viewer(
        person=person.id,
        name=person.name,
        roles=frozenset(person.roles),
        account=account.id,
        sign_in=begun.id,
    )


def touch(session: Session, number: int) -> None:
    """Note that a sign-in is in use."""
    found = session.get(SignIn, number)
    if found is not None:
        found.seen = now()


def sign_out(session: Session, one: Viewer, *, address: str) -> None:
    """End a sign-in."""
    found = session.get(SignIn, one.sign_in)
    if found is not None and found.ended is None:
        found.ended = now()
    audit.enter(session, who=one.name, act="signed out", subject=one.name, address=address)
