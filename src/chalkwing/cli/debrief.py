"""``chalkwing debrief``: a recorded flight held against the standard."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from chalkwing.cli.brief_values import ALTITUDE_FT, MASS_LB, SPEED_KT, Measured, Plain
from chalkwing.cli.corrections import correction_options, given_corrections, refuse_before, refuse_unfit, save
from chalkwing.cli.handout import IN_A_FILE, chosen_form, handout_options, write_handout
from chalkwing.cli.opening import only_what_pages_know, open_pages
from chalkwing.cli.options import definitions_option, recording_options, standard_options
from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused


@click.command(short_help="What was flown, and what of the standard was met.")
@recording_options
@standard_options
@definitions_option
@click.option(
    "--assigned-altitude",
    type=Plain("ft", *ALTITUDE_FT),
    metavar="FT",
    help="Altitude assigned; else that at entry.",
)
@click.option(
    "--assigned-airspeed",
    type=Plain("kt", *SPEED_KT),
    metavar="KT",
    help="Airspeed assigned; else that at entry.",
)
@click.option(
    "--assigned-heading",
    type=Plain("°", 0, 360),
    metavar="DEG",
    help="Magnetic heading assigned; else that at entry.",
)
@click.option(
    "--assigned-bank",
    type=Plain("°", 1, 90),
    metavar="DEG",
    help="Bank assigned; else the standard's figure.",
)
@click.option(
    "--mass",
    type=Measured("mass", within=MASS_LB),
    metavar="MASS",
    help="For the plan beside each point, such as 2300lb or 1040kg; else the sheet's.",
)
@click.option(
    "--terrain",
    type=Measured("length", bare="ft", within=ALTITUDE_FT),
    metavar="FT",
    help="Elevation of the ground under the maneuvers: makes heights above it elements.",
)
@correction_options
@click.option("--only", multiple=True, metavar="KIND", help="Show only maneuvers of this kind; repeatable.")
@click.option(
    "--from",
    "begin",
    metavar="TIME",
    help="Show what lies after it: 10:42, or from the first row 12min or 245s.",
)
@click.option("--to", "end", metavar="TIME", help="Show what lies before it.")
@click.option("--reference/--no-reference", default=True, help="Show the plan, given --airplane.")
@click.option("--facts/--no-facts", default=True, help="Show values for which nothing is published.")
@click.option("--open", "show", is_flag=True, help="Open the lesson's pages in a browser instead.")
@handout_options
def debrief(
    files: tuple[Path, ...],
    airplane: str | None,
    ignore: tuple[str, ...],
    column_map: Path | None,
    zone: str | None,
    standard: str,
    overlay: Path | None,
    folders: tuple[Path, ...],
    assigned_altitude: float | None,
    assigned_airspeed: float | None,
    assigned_heading: float | None,
    assigned_bank: float | None,
    mass: float | None,
    terrain: float | None,
    only: tuple[str, ...],
    begin: str | None,
    end: str | None,
    reference: bool,
    facts: bool,
    show: bool,
    form: str | None,
    output: Path | None,
    overwrite: bool,
    paper: str,
    **given: Any,
) -> None:
    """Tell what was flown in FILE... and which elements of the standard were met, with what certainty.

    Several files of one flight, from one recorder or two, are joined. Any delimited log, GPX, IGC, NMEA, KML
    or ADS-B recording will do, gzip or zip of one too.

    \b
    Examples: chalkwing debrief lesson.csv
              chalkwing debrief lesson.gpx --airplane four-seat-160 --format json
              chalkwing debrief lesson.csv --airplane four-seat-160 -o lesson.pdf
              chalkwing debrief lesson.csv --flown-by "10:42 instructor" --mark "10:44 rudder"
              chalkwing debrief lesson.csv --open
    """
    if show:
        only_what_pages_know()
        open_pages(
            files, airplane=airplane, standard=standard, overlay=overlay, column_map=column_map, zone=zone
        )
        return
    form = chosen_form(form, output, overwrite=overwrite)
    refuse_before(given, overwrite=overwrite)
    from chalkwing.cli.console import page_console
    from chalkwing.cli.selecting import known_kinds, selected
    from chalkwing.cli.text import print_debrief
    from chalkwing.judge import Assigned, LevelGround
    from chalkwing.trunk import debriefed
    from chalkwing.units import DEGREE, FOOT, KNOT

    def asked(value: float | None, unit: float) -> float | None:
        return None if value is None else value * unit

    assigned = Assigned(
        altitude=asked(assigned_altitude, FOOT),
        airspeed=asked(assigned_airspeed, KNOT),
        heading=asked(assigned_heading, DEGREE),
        bank=asked(assigned_bank, DEGREE),
    )
    corrections, from_file = given_corrections(given)
    kinds = known_kinds(only, folders)
    with shown_progress() as progress:
        found = debriefed(
            *files,
            airplane=airplane,
            ignore=ignore,
            column_map=column_map,
            zone=zone,
            standard=standard,
            overlay=overlay,
            definition_folders=folders,
            assigned=assigned,
            corrections=corrections,
            terrain=None if terrain is None else LevelGround(terrain),
            mass=mass,
            reference=reference,
            progress=progress,
        )
        refuse_unfit(found.debrief, from_file)
        keep = found.corrections
        found_in_all = len(found.attempts)
        found = selected(found, kinds=kinds, start=begin, end=end, zone=corrections.zone)
        left_out = found_in_all - len(found.attempts)
        if form in IN_A_FILE and left_out and not found.attempts:
            raise Refused(
                "none of the maneuvers found is left to print. Choose other --only, --from or --to."
            )
        if output is not None:
            progress("drawing", 1.0)
            written = write_handout(found, form, output, paper=paper)
    # Said once the progress line is gone: it would stand at the end of that line.
    if output is not None:
        click.echo(written, err=True)
    elif form == "json":
        click.echo(found.debrief.to_json())
    else:
        print_debrief(page_console(), found.debrief, facts=facts, zone=corrections.zone, left_out=left_out)
    save(keep, given["save_corrections"])
