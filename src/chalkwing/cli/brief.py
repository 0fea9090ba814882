"""``chalkwing brief``: a maneuver planned for one airplane and day, to read, to print or for a program."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chalkwing.cli.brief_day import day_given, day_options
from chalkwing.cli.brief_settings import Assignment
from chalkwing.cli.brief_values import ALTITUDE_FT, MASS_LB, SPEED_KT, Measured
from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import overwrite_option, standard_options
from chalkwing.cli.progress import shown_progress
from chalkwing.files import whole_file

if TYPE_CHECKING:
    from chalkwing.briefing import Briefing

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_FEET = Measured("length", bare="ft")
_ALTITUDE = Measured("length", bare="ft", within=ALTITUDE_FT)
_ONE_CARD: tuple[str, ...] = (
    "airplane",
    "mass",
    "line",
    "entry_altitude",
    "entry_speed",
    "max_bank",
    "nose_up",
    "floor",
    "student",
    "instructor",
    "registration",
    "date",
)


@click.command(short_help="A maneuver planned for one airplane and day; the kneeboard card.")
@click.argument("maneuvers", nargs=-1, metavar="[MANEUVER]...")
@click.option(
    "--airplane", metavar="SHEET", help="Airplane sheet: a TOML file, or the name of a built-in one."
)
@click.option(
    "--mass",
    type=Measured("mass", within=MASS_LB),
    metavar="MASS",
    help="Such as 2300lb or 1040kg; else the sheet's.",
)
@day_options
@click.option(
    "--line", type=click.FloatRange(0, 360), metavar="HEADING", help="Entry heading along the line, magnetic."
)
@click.option(
    "--side",
    type=click.Choice(["left", "right"]),
    default="right",
    show_default=True,
    help="Of the first turn.",
)
@click.option(
    "--entry-altitude",
    type=_ALTITUDE,
    metavar="FT",
    help="As the altimeter shows it; else found from the floor.",
)
@click.option(
    "--entry-speed",
    type=Measured("speed", bare="kt", within=SPEED_KT),
    metavar="KT",
    help="Calibrated; else VA or as the maneuver asks.",
)
@click.option("--max-bank", type=click.FloatRange(1, 90), metavar="DEG", help="Steepest bank.")
@click.option(
    "--nose-up",
    type=click.FloatRange(0, 60),
    metavar="DEG",
    help="Highest nose-up pitch, where there is a choice.",
)
@click.option(
    "--set",
    "assigned",
    type=Assignment(),
    multiple=True,
    metavar="NAME=VALUE",
    help="Any other setting, such as turns=4 or radius=900ft; a bare number is degrees, kt, ft or s.",
)
@click.option("--solo", is_flag=True, help="The school's floor for solo flight, not the dual one.")
@click.option(
    "--floor", type=_FEET, metavar="FT", help="Floor above the highest terrain, in place of the school's."
)
@click.option("--school", type=_FILE, metavar="SCHOOL.toml", help="The school's checklist, calls and floors.")
@standard_options
@click.option("--student", metavar="NAME", default="", help="Written on the card.")
@click.option("--instructor", metavar="NAME", default="", help="Written on the card.")
@click.option("--registration", metavar="REG", default="", help="Written on the card.")
@click.option("--date", metavar="DATE", default="", help="Written on the card.")
@click.option(
    "--morning", type=_FILE, metavar="FILE", help="Many cards at once, from a TOML or CSV file of lessons."
)
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "json", "pdf"]),
    default=None,
    help="To read, for a program, or the card; text unless -o names a .pdf or .json.",
)
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), metavar="OUT", help="Where to write."
)
@overwrite_option
@click.option(
    "--paper",
    type=click.Choice(["a5", "half-letter"]),
    default="a5",
    show_default=True,
    help="Size of the card.",
)
def brief(
    maneuvers: tuple[str, ...],
    morning: Path | None,
    form: str | None,
    output: Path | None,
    overwrite: bool,
    paper: str,
    **options: Any,
) -> None:
    """Plan each MANEUVER for this airplane, weight and day: numbers, margins, what-if and the kneeboard card.

    Names are as `chalkwing maneuvers` lists them: lazy_eight, chandelle, steep_turn, ...; one that cannot be
    briefed is answered with those that can.

    \b
    Examples: chalkwing brief lazy_eight --airplane four-seat-160 --wind 270/15 --line 340
              chalkwing brief chandelle --airplane sheet.toml --format pdf -o card.pdf
              chalkwing brief --morning monday.csv --conditions monday.toml -o monday.pdf
    """
    form = _form(form, output)
    _refuse_impossible(maneuvers, morning, form, output, options)
    if output is not None:
        refuse_unwritable(output, overwrite=overwrite)
    with shown_progress() as progress:
        progress("planning", 0.2)
        made = _morning(morning, options) if morning is not None else _each(maneuvers, options)
        progress("drawing", 0.8)
        if form == "pdf":
            assert output is not None
            _write_pdf(made, output, paper)
    # Said once the progress line is gone: it would stand at the end of that line.
    if form == "pdf":
        cards = "1 card" if len(made) == 1 else f"{len(made)} cards"
        click.echo(f"{output}: {cards}, {2 * len(made)} pages.", err=True)
    elif form == "json":
        _write_json(made, output)
    elif form == "text":
        _print(made)


def _form(form: str | None, output: Path | None) -> str:
    if form is not None or output is None:
        return form or "text"
    return {".pdf": "pdf", ".json": "json"}.get(output.suffix.lower(), "text")


def _refuse_impossible(
    maneuvers: tuple[str, ...], morning: Path | None, form: str, output: Path | None, options: dict[str, Any]
) -> None:
    """What can be refused before anything is loaded."""
    if morning is None and not maneuvers:
        raise click.UsageError(
            "Name a maneuver, such as lazy_eight (`chalkwing maneuvers` lists them), or give --morning "
            "with a file of lessons."
        )
    if morning is None and options["airplane"] is None:
        raise click.UsageError(
            "Missing option '--airplane': a sheet's file or the name of a built-in one, such as "
            "four-seat-160 (`chalkwing airplanes` lists them)."
        )
    if morning is not None:
        _refuse_beside_morning(maneuvers, options)
    if form == "pdf" and output is None:
        raise click.UsageError("A card needs a place: add -o card.pdf.")
    if form == "text" and output is not None:
        raise click.UsageError("-o goes with --format json or pdf; send text to a file with > instead.")


def _refuse_beside_morning(maneuvers: tuple[str, ...], options: dict[str, Any]) -> None:
    """The file says whose, what and how; options for one card would be ignored in silence."""
    given = [name for name in _ONE_CARD if options[name] not in (None, "")]
    given += ["set"] if options["assigned"] else []
    given += ["solo"] if options["solo"] else []
    if maneuvers:
        raise click.UsageError("With --morning the file names the maneuvers; name none here.")
    if given:
        names = ", ".join("--" + name.replace("_", "-") for name in given)
        raise click.UsageError(f"{names}: with --morning this stands in the file.")


def _each(maneuvers: tuple[str, ...], options: dict[str, Any]) -> tuple[Briefing, ...]:
    from chalkwing.briefing import Lesson
    from chalkwing.briefing import brief as plan
    from chalkwing.units import DEGREE

    def asked(name: str) -> float | None:
        return None if options[name] is None else options[name] * DEGREE

    lesson = Lesson(*(options[name] for name in ("student", "instructor", "registration", "date")))
    day = day_given(options)
    return tuple(
        plan(
            _kind(name),
            airplane=options["airplane"],
            mass=options["mass"],
            conditions=day,
            direction=options["side"],
            line=asked("line"),
            entry_altitude=options["entry_altitude"],
            solo=options["solo"],
            floor=options["floor"],
            airspace=options["airspace"],
            night=options["night"],
            lesson=lesson,
            school=options["school"],
            standard=options["standard"],
            overlay=options["overlay"],
            maximum_bank=asked("max_bank"),
            nose_up=asked("nose_up"),
            entry_speed=options["entry_speed"],
            **dict(options["assigned"]),
        )
        for name in maneuvers
    )


def _morning(path: Path, options: dict[str, Any]) -> tuple[Briefing, ...]:
    from chalkwing.briefing import brief_morning, read_morning, read_school

    morning = read_morning(path)
    day = day_given(options, base=morning.day)
    school = read_school(options["school"]) if options["school"] is not None else None
    return brief_morning(
        morning,
        day=day,
        school=school,
        standard=options["standard"],
        overlay=options["overlay"],
        airspace=options["airspace"],
        night=options["night"],
    )


def _kind(name: str) -> str:
    """``Lazy-Eight`` is lazy_eight: only the letters matter."""
    return name.strip().lower().replace("-", "_").replace(" ", "_")


# --- Out ----------------------------------------------------------------------------------------------------


def _write_pdf(made: tuple[Briefing, ...], output: Path, paper: str) -> None:
    from chalkwing.paper import card_pdf

    content = card_pdf(made, paper=paper)
    with whole_file(output) as temporary:
        temporary.write_bytes(content)


def _write_json(made: tuple[Briefing, ...], output: Path | None) -> None:
    from chalkwing.briefing import briefings_json

    text = made[0].to_json() if len(made) == 1 else briefings_json(made)
    if output is None:
        click.echo(text)
        return
    with whole_file(output) as temporary:
        temporary.write_text(text + "\n", encoding="utf-8")


def _print(made: tuple[Briefing, ...]) -> None:
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text.briefing import print_briefing

    console = page_console()
    for briefing in made:
        print_briefing(console, briefing)
