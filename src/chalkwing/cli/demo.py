"""``chalkwing demo``: an invented school; and a lesson of which everything is known, beside its truth."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import format_option
from chalkwing.cli.progress import shown_progress
from chalkwing.files import whole_file

if TYPE_CHECKING:
    from rich.console import Console

    from chalkwing.cli.truths import Compared
    from chalkwing.debriefs import Debrief
    from chalkwing.refly.scenario import Lesson


@click.group(invoke_without_command=True, short_help="An invented school, opened; or one lesson.")
@click.option(
    "--keep",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="Keep the school in this new folder; else it goes away in the end.",
)
@click.option("--browser/--no-browser", default=True, show_default=True, help="Open a browser on it.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Where it is served; a free one.")
@format_option
@click.pass_context
def demo(context: click.Context, keep: Path | None, browser: bool, port: int, form: str) -> None:
    """Build an invented school in a throw-away book, and open it in the pages.

    Five instructors, four students and thirty lessons, each truly flown, recorded, found and judged, and a
    common set that the instructors marked. At a terminal it is served until stopped with Ctrl+C, on this
    machine only; elsewhere it says what is in it.

    \b
    Examples: chalkwing demo
              chalkwing demo lesson --recorder track
    """
    if context.invoked_subcommand is not None:
        return
    from chalkwing.cli.demo_school import show_school

    show_school(keep=keep, browser=browser, port=port, form=form)


@demo.command(short_help="A built-in lesson, debriefed beside its truth.")
@click.option(
    "--recorder",
    type=click.Choice(["avionics", "track"]),
    default="avionics",
    show_default=True,
    help="Recorded by a panel with attitude and airspeed, or as a bare satellite track.",
)
@click.option("--seed", type=int, default=0, show_default=True, help="Another hand, another set of errors.")
@click.option(
    "--keep",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Save the recording too, to try the other commands on.",
)
@click.option("--overwrite", is_flag=True, help="Replace the kept file if it exists.")
@format_option
def lesson(
    recorder: Literal["avionics", "track"], seed: int, keep: Path | None, overwrite: bool, form: str
) -> None:
    """Fly a built-in lesson, record it, debrief the recording, and show the debrief beside the truth.

    School, people, airplane and airfield are invented.

    \b
    Example: chalkwing demo lesson --recorder track --keep lesson.gpx
    """
    if keep is not None:
        refuse_unwritable(keep, overwrite=overwrite)
    from chalkwing.cli.truths import compare
    from chalkwing.refly.recorder import record
    from chalkwing.refly.scenario import fly_lesson
    from chalkwing.trunk import debrief

    with shown_progress() as progress:
        progress("flying the lesson", 0.0)
        flown = fly_lesson(seed)
        name, text = record(flown, recorder, seed=seed)
        if keep is not None:
            with whole_file(keep) as temporary:
                temporary.write_text(text, encoding="utf-8")
        with tempfile.TemporaryDirectory(prefix="chalkwing-") as folder:
            path = Path(folder) / name
            path.write_text(text, encoding="utf-8")
            found = debrief(path, progress=progress)
    compared = compare(found, flown)
    if form == "json":
        click.echo(_as_json(found, compared))
    else:
        _print(found, compared, flown, recorder=recorder)
    if keep is not None:
        click.echo(f"The recording is in {keep}; try: chalkwing debrief {keep}", err=True)


def _as_json(found: Debrief, compared: Compared) -> str:
    from chalkwing.debriefs import as_plain

    return json.dumps(
        {"debrief": json.loads(found.to_json()), "truth": as_plain(compared.maneuvers)},
        indent=2,
        ensure_ascii=False,
        allow_nan=False,
    )


def _print(found: Debrief, compared: Compared, lesson: Lesson, *, recorder: str) -> None:
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import print_debrief

    console = page_console()
    _introduce(console, lesson, recorder)
    print_debrief(console, found, truths=compared.by_place, facts=False)
    console.print()
    _sum_up(console, compared)


def _introduce(console: Console, lesson: Lesson, recorder: str) -> None:
    from chalkwing.refly import scenario
    from chalkwing.words import lasting

    what = {
        "avionics": "a panel that logs attitude and airspeed once a second",
        "track": "a pocket receiver that logs its position once a second",
    }[recorder]
    console.print(
        f"A lesson of our own, so that its truth is known. {scenario.SCHOOL}: {scenario.STUDENT} flies "
        f"{lasting(float(lesson.time[-1]))} over {scenario.FIELD} in the Tern 180 {scenario.REGISTRATION} "
        f"with {scenario.INSTRUCTOR}; all invented. Two maneuvers have a fault, on purpose. The recorder is "
        f"{what}, with the errors that such a thing has. What follows is the debrief of that file; "
        'the column "truly" is what was really flown.\n'
    )


def _sum_up(console: Console, compared: Compared) -> None:
    for line in compared.said():
        console.print(line)
