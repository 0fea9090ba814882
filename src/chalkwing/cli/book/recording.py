"""Adding to a lesson's record: who flew, notes, signatures, judging anew."""

from __future__ import annotations

from pathlib import Path
from typing import cast

import click

from chalkwing.cli.book.options import book_options, opened, tell, who_option, why_option
from chalkwing.cli.options import format_option, log_options, standard_options
from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused


@click.command(short_help="Say who flew which maneuvers.")
@click.argument("lesson", type=int)
@click.argument("maneuvers", nargs=-1, type=int, required=True, metavar="MANEUVER...")
@click.option(
    "--flown-by",
    required=True,
    type=click.Choice(["student", "instructor", "shared", "unknown"]),
    help="Only what the student flew enters the student's progress.",
)
@who_option
@why_option
@book_options
@format_option
def label(
    lesson: int,
    maneuvers: tuple[int, ...],
    flown_by: str,
    who: str,
    why: str | None,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Say who flew MANEUVER... of LESSON, numbered as `chalkwing book show` does.

    \b
    Example: chalkwing book label 12 1 2 5 --flown-by student
    """
    from chalkwing.book import lessons

    with opened(place, folder) as book, book.writing() as session:
        found = lessons.lesson(session, lesson)
        lessons.label(session, found, maneuvers, cast("lessons.FlownBy", flown_by), who=who, why=why)
    if form == "json":
        tell({"lesson": lesson, "maneuvers": list(maneuvers), "flown_by": flown_by})
        return
    click.echo(f"Lesson {lesson}, {_listed(maneuvers)}: flown by {flown_by}.")


def _listed(numbers: tuple[int, ...]) -> str:
    return f"maneuver{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


@click.command(short_help="Write a note on a lesson.")
@click.argument("lesson", type=int)
@click.argument("text")
@click.option("--at", "minutes", type=float, metavar="MIN", help="The moment, in minutes of the recording.")
@who_option
@why_option
@book_options
@format_option
def note(
    lesson: int,
    text: str,
    minutes: float | None,
    who: str,
    why: str | None,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Write TEXT on LESSON.

    \b
    Example: chalkwing book note 12 "more right rudder over the top" --at 24.5
    """
    from chalkwing.book import lessons

    moment = None if minutes is None else 60.0 * minutes
    with opened(place, folder) as book, book.writing() as session:
        lessons.note(session, lessons.lesson(session, lesson), text, who=who, moment=moment, why=why)
    if form == "json":
        tell({"lesson": lesson, "moment_s": moment, "text": text})
        return
    click.echo(f"Noted on lesson {lesson}.")


@click.command(short_help="Sign a lesson's record.")
@click.argument("lesson", type=int)
@click.option("--instructor", required=True, metavar="NAME", help="Who signs.")
@book_options
@format_option
def sign(lesson: int, instructor: str, place: str | None, folder: Path | None, form: str) -> None:
    """Sign LESSON as it now stands: its record is sealed, and a change after it makes a new version.

    \b
    Example: chalkwing book sign 12 --instructor "Per Askell"
    """
    from chalkwing.book import lessons, people, sealing

    with opened(place, folder) as book, book.writing() as session:
        found = lessons.lesson(session, lesson)
        signed = sealing.sign(session, found, people.person(session, instructor, role="instructor"))
        version, seal = signed.version, signed.sha256
    if form == "json":
        tell({"lesson": lesson, "version": version, "instructor": instructor, "sha256": seal})
        return
    click.echo(f"Lesson {lesson}, version {version}: signed by {instructor}. Seal {seal[:16]}.")


@click.command("judge-again", short_help="Judge kept recordings by today's standard or program.")
@click.argument("chosen", nargs=-1, type=int, metavar="[LESSON...]")
@log_options
@standard_options
@who_option
@why_option
@book_options
@format_option
def judge_again(
    chosen: tuple[int, ...],
    column_map: Path | None,
    zone: str | None,
    standard: str,
    overlay: Path | None,
    who: str,
    why: str | None,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Judge LESSON... anew, or every lesson that was judged by other limits, definitions or another version.

    The old judgement stays beside the new one. Lessons whose recordings were erased, and signed ones when no
    reason is given, are left alone and named. Files are read as they were before; with --columns or --zone
    those of each LESSON named are read by these from now on.

    \b
    Examples: chalkwing book judge-again --why "new edition of the standard"
              chalkwing book judge-again 12 --zone +02:00 --why "the log keeps local time"
    """
    if (column_map or zone) and not chosen:
        raise Refused(
            "--columns and --zone hold for the logs of one recorder. Name the lessons that it made."
        )
    from chalkwing.book import rejudging
    from chalkwing.book.judgings import Settings
    from chalkwing.book.log_settings import log_settings
    from chalkwing.debriefs import as_plain

    settings = Settings(standard=standard, overlay=overlay)
    log = log_settings(column_map=column_map, zone=zone)
    with opened(place, folder) as book, shown_progress() as progress:
        outcome = rejudging.judge_again(
            book, chosen, settings=settings, log=log, who=who, why=why, progress=progress
        )
    if form == "json":
        tell(as_plain(outcome))
        return
    for change in outcome.changes:
        click.echo(f"Lesson {change.lesson}: {change.said}")
    for left in outcome.left:
        click.echo(f"Left alone: {left}")
    click.echo(f"{outcome.judged} judged anew, {len(outcome.left)} left alone.")
