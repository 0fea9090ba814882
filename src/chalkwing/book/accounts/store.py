"""Accounts made, invited, closed and opened again; every change of one is a line of the log."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from chalkwing.book import people
from chalkwing.book.accounts import audit
from chalkwing.book.accounts.passwords import Hasher, refuse_weak
from chalkwing.book.accounts.tables import Account, Invitation, SignIn
from chalkwing.book.columns import now
from chalkwing.book.tables import Person
from chalkwing.errors import BookTrouble


@dataclass(frozen=True)
class Doer:
    """Who changes accounts, and from which address."""

    name: str
    address: str = audit.COMMAND


def folded(name: str) -> str:
    """A name as it is looked up: single spaces, capitals or not.

    >>> folded("  Mina   ORLO ")
    'mina orlo'
    """
    return " ".join(name.split()).casefold()


def digest(secret: str) -> str:
    """What is kept of a link or a cookie: 256 random bits need no salt and no slow hash."""
    return hashlib.sha256(secret.encode()).hexdigest()


def fresh_secret() -> str:
    """A secret for a link or a cookie."""
    return secrets.token_urlsafe(32)


def of_person(session: Session, person: Person) -> Account | None:
    """The account of a person, open or closed."""
    return session.scalars(select(Account).where(Account.person_id == person.id)).first()


def by_number(session: Session, number: int) -> Account:
    """The account with this number."""
    found = session.get(Account, number)
    if found is None:
        raise BookTrouble(f"there is no account {number}.")
    return found


def named(session: Session, name: str) -> Account:
    """The account of the person called ``name``, who must have one."""
    person = people.person(session, name)
    found = of_person(session, person)
    if found is None:
        raise BookTrouble(
            f"{person.name} has no account.",
            next_step=f'Make one with: chalkwing book account "{person.name}"',
        )
    return found


def made_for(session: Session, person: Person, *, by: Doer) -> Account:
    """The account of a person, made if there is none; nobody can sign in to it before a password is set."""
    found = of_person(session, person)
    if found is not None:
        return found
    name = folded(person.name)
    if session.scalars(select(Account.id).where(Account.name == name)).first() is not None:
        raise BookTrouble(
            f"somebody else signs in as {person.name!r}, told apart by capitals only.",
            next_step="Enter the person under a name that differs.",
        )
    account = Account(person=person, name=name)
    session.add(account)
    session.flush()
    _log(session, account, "account made", by)
    return account


def set_password(session: Session, account: Account, password: str, *, hasher: Hasher, by: Doer) -> None:
    """Set a password: every browser signed in before is signed out, every open invitation is void."""
    refuse_weak(password, name=account.person.name)
    account.password, account.changed = hasher.hash(password), now()
    sign_out_everywhere(session, account)
    _void_invitations(session, account)
    _log(session, account, "password set", by)


def sign_out_everywhere(session: Session, account: Account) -> None:
    """End every sign-in of an account."""
    session.execute(
        update(SignIn)
        .where(SignIn.account_id == account.id, SignIn.ended.is_(None))
        .values(ended=now())
        .execution_options(synchronize_session="fetch")
    )


def invite(session: Session, account: Account, *, lasts: timedelta, by: Doer) -> str:
    """The secret of a link by which a person sets a password once; links given before are void."""
    if account.closed is not None:
        raise BookTrouble(
            f"the account of {account.person.name} is closed.", next_step="Open it again first."
        )
    _void_invitations(session, account)
    secret = fresh_secret()
    session.add(Invitation(account_id=account.id, digest=digest(secret), who=by.name, ends=now() + lasts))
    _log(session, account, "invited", by)
    return secret


def invited(session: Session, secret: str) -> Account:
    """Whose invitation this is; a used, old or unknown one is refused, and all in the same words."""
    found = session.scalars(
        select(Invitation).where(Invitation.digest == digest(secret)).with_for_update()
    ).first()
    if found is None or found.used is not None or found.ends <= now() or found.account.closed is not None:
        raise BookTrouble(
            "this link works no more: it was used, or it is too old.",
            next_step="Ask the chief instructor for another.",
        )
    return found.account


def accept(session: Session, secret: str, password: str, *, hasher: Hasher, address: str) -> Account:
    """Set the password of whoever was invited; the link works no more after it."""
    account = invited(session, secret)
    set_password(session, account, password, hasher=hasher, by=Doer(account.person.name, address))
    return account


def _void_invitations(session: Session, account: Account) -> None:
    session.execute(
        update(Invitation)
        .where(Invitation.account_id == account.id, Invitation.used.is_(None))
        .values(used=now())
        .execution_options(synchronize_session="fetch")
    )


def close(session: Session, account: Account, *, by: Doer) -> None:
    """Close an account: signed out everywhere at once, and nobody signs in to it. The record stays."""
    if account.closed is not None:
        raise BookTrouble(f"the account of {account.person.name} is closed already.")
    if account.person.chief and _open_chiefs(session) == 1 and account.password is not None:
        raise BookTrouble(
            f"{account.person.name} is the only chief instructor who can sign in.",
            next_step="Make an account for another chief first.",
        )
    account.closed = now()
    sign_out_everywhere(session, account)
    _void_invitations(session, account)
    _log(session, account, "account closed", by)


def reopen(session: Session, account: Account, *, by: Doer) -> None:
    """Open a closed account again, with the password it had."""
    if account.closed is None:
        raise BookTrouble(f"the account of {account.person.name} is open.")
    account.closed = None
    _log(session, account, "account reopened", by)


def _open_chiefs(session: Session) -> int:
    return (
        session.scalar(
            select(func.count(Account.id))
            .join(Person, Person.id == Account.person_id)
            .where(Person.chief, Account.closed.is_(None), Account.password.is_not(None))
        )
        or 0
    )


def _log(session: Session, account: Account, act: str, by: Doer) -> None:
    audit.enter(session, who=by.name, act=act, subject=account.person.name, address=by.address)


@dataclass(frozen=True)
class AccountLine:
    """One account in a list; times in UTC."""

    account: int
    person: int
    name: str
    roles: tuple[str, ...]
    state: str
    """``open``, ``invited`` (no password yet), ``link expired`` or ``closed``."""
    last_seen: str | None


def account_lines(session: Session) -> list[AccountLine]:
    """All accounts, by name."""
    seen = dict(
        session.execute(select(SignIn.account_id, func.max(SignIn.seen)).group_by(SignIn.account_id)).all()
    )
    waiting = set(
        session.scalars(
            select(Invitation.account_id).where(Invitation.used.is_(None), Invitation.ends > now())
        )
    )
    found = session.scalars(select(Account).join(Account.person).order_by(Person.name))
    return [
        AccountLine(
            account=each.id,
            person=each.person_id,
            name=each.person.name,
            roles=each.person.roles,
            state=_state(each, waiting=each.id in waiting),
            last_seen=_iso(seen.get(each.id)),
        )
        for each in found
    ]


def _state(account: Account, *, waiting: bool) -> str:
    if account.closed is not None:
        return "closed"
    if account.password is not None:
        return "open"
    return "invited" if waiting else "link expired"


def _iso(instant: datetime | None) -> str | None:
    return None if instant is None else instant.isoformat()
