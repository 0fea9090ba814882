"""Accounts of the school's server: made, listed, closed; who teaches whom; the log."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from chalkwing.cli.book.options import book_options, opened, tell, who_option
from chalkwing.cli.options import format_option


@click.command(short_help="Make an account, or set its password.")
@click.argument("name")
@click.option("--chief", is_flag=True, help="Enter the person as a chief instructor too, if not yet one.")
@click.option("--password-stdin", is_flag=True, help="Read the password from standard input: its first line.")
@click.option("--close", "act", flag_value="close", help="Close it: signed out everywhere, no way in.")
@click.option("--reopen", "act", flag_value="reopen", help="Open a closed one again.")
@who_option
@book_options
@format_option
def account(
    name: str,
    chief: bool,
    password_stdin: bool,
    act: str | None,
    who: str,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Make an account for the person called NAME in the book, or set another password for it.

    The password is asked without being shown. Whoever was signed in with the old one is signed out.

    \b
    Examples: chalkwing book account "Runa Vik" --chief
              chalkwing book account "Mina Orlo" --close
    """
    from chalkwing.book import people
    from chalkwing.book.accounts import store
    from chalkwing.book.accounts.passwords import Cost, Hasher

    by = store.Doer(who)
    with opened(place, folder, create=chief) as book:
        if act is not None:
            with book.writing() as session:
                change = store.close if act == "close" else store.reopen
                change(session, store.named(session, name), by=by)
            if form == "json":
                tell({"name": name, "state": "closed" if act == "close" else "open"})
                return
            click.echo(f"{name}: {'closed' if act == 'close' else 'open again'}.")
            return
        if not chief:
            with book.reading() as session:
                people.person(session, name)
        password = _password(from_stdin=password_stdin)
        with book.writing() as session:
            if chief and not (people.is_known(session, name) and people.person(session, name).chief):
                people.enroll(session, name, roles=["chief"], who=who)
            found = store.made_for(session, people.person(session, name), by=by)
            store.set_password(session, found, password, hasher=Hasher(Cost()), by=by)
    if form == "json":
        tell({"name": name, "state": "open"})
        return
    click.echo(f"{name} can sign in now. Start the server with: chalkwing serve --school")


def _password(*, from_stdin: bool) -> str:
    if from_stdin:
        return sys.stdin.readline().rstrip("\r\n")
    asked: str = click.prompt(
        "Password (15 letters or more)", hide_input=True, confirmation_prompt="Once more", err=True
    )
    return asked


@click.command(short_help="Everybody's accounts.")
@book_options
@format_option
def accounts(place: str | None, folder: Path | None, form: str) -> None:
    """List the accounts of the school's server: who, which roles, open or closed, last seen."""
    from chalkwing.book.accounts import store
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        lines = store.account_lines(session)
    if form == "json":
        tell(as_plain(lines))
        return
    for line in lines:
        seen = f"last seen {line.last_seen[:16].replace('T', ' ')} UTC" if line.last_seen else "never seen"
        click.echo(f"{line.name} ({', '.join(line.roles)}): {line.state}, {seen}")
    if not lines:
        click.echo('There is none yet. Make one: chalkwing book account "NAME" --chief')


@click.command(short_help="Say which instructor teaches a student.")
@click.argument("student")
@click.argument("instructor")
@click.option("--end", is_flag=True, help="No more; lessons given stay in sight.")
@who_option
@book_options
@format_option
def assign(
    student: str,
    instructor: str,
    end: bool,
    who: str,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Assign INSTRUCTOR to STUDENT, whose record the instructor then sees on the school's server.

    \b
    Example: chalkwing book assign "Mina Orlo" "Per Askell"
    """
    from chalkwing.book import assignments, people

    with opened(place, folder) as book, book.writing() as session:
        pair = (
            people.person(session, student, role="student"),
            people.person(session, instructor, role="instructor"),
        )
        (assignments.end if end else assignments.assign)(session, *pair, who=who)
    if form == "json":
        tell({"student": student, "instructor": instructor, "teaches": not end})
        return
    click.echo(f"{instructor} {'no longer teaches' if end else 'teaches'} {student}.")


@click.command(short_help="The log of the school's server.")
@click.option("--newest", type=click.IntRange(1), default=50, show_default=True, help="How many lines.")
@click.option("--of", "of", metavar="NAME", help="Only what this person did.")
@book_options
@format_option
def log(newest: int, of: str | None, place: str | None, folder: Path | None, form: str) -> None:
    """Tell who signed in, was refused, looked at another person's record or changed what."""
    from chalkwing.book.accounts import audit
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        lines = audit.lines(session, newest=newest, who=of)
    if form == "json":
        tell(as_plain(lines))
        return
    for line in lines:
        when = line.made[:19].replace("T", " ")
        click.echo(f"{when}  {line.who}  {line.act}: {line.subject}  ({line.address})")
