"""Common sets: recorded maneuvers without names that every instructor marks, and what they tell."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

import click

from chalkwing.cli.book.options import book_options, opened, tell, who_option
from chalkwing.cli.options import format_option, split_names
from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy.orm import Session

    from chalkwing.book.common.results import Reader


@click.group(short_help="Common sets: do all instructors judge alike?")
def common() -> None:
    """Make and read common sets: recorded maneuvers without names that every instructor marks blind.

    A set is made of maneuvers of the book. Everybody marks it in an order of their own, on the pages or with
    `mark`; what was measured is told to those who have finished, and to all once the set is closed.

    \b
    Example: chalkwing book common make "Spring meeting" --count 20
             chalkwing book common show
             chalkwing book common close 1
    """


@common.command(short_help="Make a set of maneuvers of the book.")
@click.argument("name")
@click.option(
    "--count", type=click.IntRange(1), help="How many maneuvers, spread from clean to far off.  [default: 20]"
)
@click.option(
    "--kinds", callback=split_names, metavar="KIND,...", help="Of which kinds; all unless some are named."
)
@click.option(
    "--pick",
    "picks",
    multiple=True,
    metavar="LESSON:MANEUVER",
    help="A maneuver, numbered as `chalkwing book show` does; given again and again instead of --count.",
)
@click.option("--seed", type=int, help="Makes the same choice and order again; else a new one each time.")
@who_option
@book_options
@format_option
def make(
    name: str,
    count: int | None,
    kinds: tuple[str, ...],
    picks: tuple[str, ...],
    seed: int | None,
    who: str,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Make a common set called NAME of maneuvers whose recordings are kept.

    The recordings are read again, for the pictures that are marked. Names, dates and places are left out.

    \b
    Examples: chalkwing book common make "Spring meeting" --count 20 --kinds lazy_eight,chandelle
              chalkwing book common make "Three eights" --pick 4:2 --pick 7:1 --pick 9:3
    """
    from chalkwing.book.common import choosing, making

    if picks and (count is not None or kinds):
        raise Refused("--pick names each maneuver: leave --count and --kinds out.")
    grain = secrets.randbelow(2**31) if seed is None else seed
    with opened(place, folder) as book:
        with book.reading() as session:
            there = choosing.candidates(book, session)
        if picks:
            chosen = choosing.picked(there, [_pick(each) for each in picks])
        else:
            chosen = choosing.spread(there, count=count or 20, kinds=kinds, seed=grain)
        with shown_progress() as progress:
            made = making.make(book, chosen, name=name, who=who, seed=grain, progress=progress)
    if form == "json":
        tell({"set": made.number, "maneuvers": made.maneuvers, "left": list(made.left), "seed": grain})
        return
    for each in made.left:
        click.echo(f"Left out: {each}")
    click.echo(f"Common set {made.number}, {name}: {made.maneuvers} maneuvers. Instructors mark it at:")
    click.echo(f"  chalkwing serve, then /book/common/{made.number}")


def _pick(said: str) -> tuple[int, int]:
    lesson, _, number = said.partition(":")
    if not (lesson.isdigit() and number.isdigit()):
        raise Refused(f"--pick {said}: a maneuver is picked as LESSON:MANEUVER, such as 12:3.")
    return int(lesson), int(number)


@common.command(short_help="The sets, or what one of them tells.")
@click.argument("number", type=int, required=False, metavar="[SET]")
@click.option("--as", "reader", metavar="NAME", help="Who reads: the own marks stand beside those of all.")
@click.option("--names", is_flag=True, help="With all names; for a chief, who says so with --as.")
@book_options
@format_option
def show(
    number: int | None, reader: str | None, names: bool, place: str | None, folder: Path | None, form: str
) -> None:
    """List the common sets and the change over months, or tell how alike SET was marked.

    \b
    Examples: chalkwing book common show
              chalkwing book common show 1 --as "Per Askell"
              chalkwing book common show 1 --as "Runa Vik" --names
    """
    from chalkwing.book.common import making, over_time, results
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import common as text
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        if number is None:
            lines = results.set_lines(session)
            then = over_time.over_time(session, _reader(session, reader, names))
            if form == "json":
                tell({"sets": as_plain(lines), "over_time": as_plain(then)})
            else:
                text.print_sets(page_console(), lines, then)
            return
        found = making.common_set(session, number)
        told = results.result(session, found, _reader(session, reader, names))
    if form == "json":
        tell(as_plain(told))
    else:
        text.print_result(page_console(), told)


def _reader(session: Session, name: str | None, names: bool) -> Reader:
    from chalkwing.book import people
    from chalkwing.book.common.results import Reader

    return Reader(None if name is None else people.person(session, name), names=names)


@common.command(short_help="Print a set for the standardization meeting.")
@click.argument("number", type=int, metavar="SET")
@click.option("-o", "--output", type=click.Path(dir_okay=False), required=True, metavar="FILE.pdf")
@click.option("--as", "reader", metavar="NAME", help="Who prints it; needed while the set is open.")
@click.option("--names", is_flag=True, help="With all names; for a chief, who says so with --as.")
@click.option(
    "--most", type=click.IntRange(0), default=6, show_default=True, help="Maneuvers with a page of their own."
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@book_options
@format_option
def pack(
    number: int,
    output: str,
    reader: str | None,
    names: bool,
    most: int,
    paper: str,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Print SET as a pack for the meeting: plain words, then a page each for the maneuvers most differed on.

    Each page has what was flown, the marks, what was measured, and questions to talk over. There are no names
    in it unless they are asked for.

    \b
    Example: chalkwing book common pack 1 -o pack.pdf
    """
    from pathlib import Path as File

    from chalkwing.book.common import making, results
    from chalkwing.files import whole_file
    from chalkwing.paper.pack import pack_pdf

    with opened(place, folder) as book, book.reading() as session:
        found = making.common_set(session, number)
        told = results.result(session, found, _reader(session, reader, names))
        chosen = {each.number for each in told.most_different[:most]}
        shown = {each.place: each.shown for each in found.maneuvers if each.place in chosen}
    made = pack_pdf(told, shown, paper=paper, most=most)
    with whole_file(File(output)) as part:
        part.write_bytes(made)
    if form == "json":
        tell({"file": str(output), "maneuvers": sorted(chosen)})
        return
    pages = "page" if len(chosen) == 1 else "pages"
    click.echo(f"Written: {output}, with {len(chosen)} maneuver {pages}.")


@common.command(short_help="Mark a maneuver of a set.")
@click.argument("number", type=int, metavar="SET")
@click.argument("maneuver", type=int)
@click.argument("step")
@click.option("--instructor", required=True, metavar="NAME", help="Who marks.")
@click.option(
    "--element", "elements", multiple=True, metavar="ELEMENT=STEP", help="A mark for one element as well."
)
@book_options
@format_option
def mark(
    number: int,
    maneuver: int,
    step: str,
    instructor: str,
    elements: tuple[str, ...],
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Mark MANEUVER of SET, as the instructor's own page counts it, with STEP, a word of the set's scale.

    For marks given on paper; the pages show what was flown beside the scale. A mark stays as it was given.

    \b
    Example: chalkwing book common mark 1 7 alone --instructor "Per Askell" --element altitude_at_180=helped
    """
    from chalkwing.book import people
    from chalkwing.book.common import making, marking

    with opened(place, folder) as book, book.writing() as session:
        found = making.common_set(session, number)
        one = people.person(session, instructor, role="instructor")
        order = marking.order_of(found, one)
        if not 1 <= maneuver <= len(order):
            raise Refused(f"the set has maneuvers 1 to {len(order)}, not {maneuver}.")
        marking.mark(
            session,
            found,
            order[maneuver - 1].place,
            instructor=one,
            step=step,
            elements=dict(_element(each) for each in elements),
        )
        rest = len(order) - len(marking.marks_by(session, found, one))
    if form == "json":
        tell({"set": number, "maneuver": maneuver, "step": step, "to_mark": rest, "of": len(order)})
        return
    click.echo(f"Set {number}, maneuver {maneuver}: {step}. {rest} of {len(order)} to mark.")


def _element(said: str) -> tuple[str, str]:
    name, equals, step = said.partition("=")
    if not (name and equals and step):
        raise Refused(f"--element {said}: it is written ELEMENT=STEP.")
    return name.strip(), step.strip()


@common.command(short_help="Close a set.")
@click.argument("number", type=int, metavar="SET")
@who_option
@book_options
@format_option
def close(number: int, who: str, place: str | None, folder: Path | None, form: str) -> None:
    """Close SET: nobody can mark any more, and what was measured may be read by all."""
    from chalkwing.book.common import making, marking

    with opened(place, folder) as book, book.writing() as session:
        found = making.common_set(session, number)
        marking.close(session, found, who=who)
        name = found.name
    if form == "json":
        tell({"set": number, "name": name, "closed": True})
        return
    click.echo(f"Closed: {name}. Read it: chalkwing book common show {number}")
