"""The options by which an instructor corrects what was found, and what they come to."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import F
from chalkwing.cli.refusal import Refused
from chalkwing.files import whole_file

if TYPE_CHECKING:
    from chalkwing.debriefs import Debrief
    from chalkwing.find.corrections import Corrections

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)

_PHRASES: tuple[tuple[str, str, str], ...] = (
    ("mark", "'TIME WORDS'", "A mark made in flight, such as '10:42 rudder'."),
    ("ground", "'TIME point=LAT,LON'", "What it was flown by: point, pylons, line or field, places with ;."),
    (
        "assign",
        "'[TIME] bank=50 ...'",
        "Assigned altitude, airspeed, heading, bank; of one maneuver, or all.",
    ),
    ("flown-by", "'[TIME] WHO [NAME]'", "student, instructor or shared; for all, a maneuver, or a stretch."),
    ("add", "'KIND TIME-TIME'", "A maneuver that was not found."),
    ("trim", "'TIME TIME-TIME'", "Another start, end or both for the maneuver at that time."),
    ("rename", "'TIME KIND'", "The maneuver at that time is one of another kind."),
    ("drop", "'TIME'", "The maneuver at that time is none."),
)


def correction_options(command: F) -> F:
    """A file of corrections, and one option for each that can be said in a line."""
    decorators = [
        click.option(
            "--save-corrections",
            type=click.Path(dir_okay=False, path_type=Path),
            metavar="OUT.toml",
            help="Keep all corrections of this run in a file; --overwrite replaces it.",
        ),
        click.option(
            "--clock",
            metavar="ZONE",
            help="Where the times you give, and those told, are kept: UTC, +02:00, a zone name.",
        ),
        click.option("--why", metavar="TEXT", help="Why: kept beside each correction given here."),
        click.option("--by", metavar="NAME", help="Who corrects: kept beside each correction given here."),
        *(
            click.option(
                f"--{name}", f"phrase_{name.replace('-', '_')}", multiple=True, metavar=form, help=said
            )
            for name, form, said in _PHRASES
        ),
        click.option(
            "--corrections",
            "corrections_file",
            type=_FILE,
            metavar="FILE.toml",
            help="A file of corrections; docs/corrections.md shows its form.",
        ),
    ]
    for decorate in decorators:
        command = decorate(command)
    return command


def given_corrections(options: Mapping[str, Any]) -> tuple[Corrections, int]:
    """All corrections given, the file's first, and how many of them came from the file."""
    from datetime import UTC, datetime

    from chalkwing.find.corrections import Correction, Corrections, read_corrections
    from chalkwing.find.corrections.moments import read_zone
    from chalkwing.find.corrections.phrases import PHRASES, read_phrase

    made = read_corrections(options["corrections_file"]) if options["corrections_file"] else Corrections()
    clock = options["clock"]
    if clock is not None:
        if read_zone(clock) is None:
            raise Refused(f"--clock: {clock!r} is no zone. Write UTC, +02:00 or a zone's name.")
        if made.zone not in (None, clock):
            raise Refused(
                f"--clock: the file of corrections keeps its times in {made.zone}. Leave --clock out, "
                "or give that zone."
            )
        made = Corrections(made.entries, made.recording, clock)
    typed = [
        Correction(
            read_phrase(act, text),
            by=options["by"] or "command line",
            when=datetime.now(UTC).replace(microsecond=0),
            why=options["why"],
        )
        for act in PHRASES
        for text in options[f"phrase_{act.replace('-', '_')}"]
    ]
    return made.and_then(*typed), len(made)


def refuse_before(options: Mapping[str, Any], *, overwrite: bool) -> None:
    """What can be refused before the long work: a file that may not be written."""
    if options["save_corrections"] is not None:
        refuse_unwritable(options["save_corrections"], overwrite=overwrite)


def refuse_unfit(told: Debrief, from_file: int) -> None:
    """What was just typed and fits nothing is refused; what an older file says is told in the debrief."""
    for correction in told.corrections[from_file:]:
        if not correction.fits:
            raise Refused(f"{correction.said}: {correction.reason} Give a time inside the one that is meant.")


def save(corrections: Corrections, path: Path | None) -> None:
    """Write the corrections, whole or not at all."""
    if path is None:
        return
    from chalkwing.find.corrections import corrections_text

    with whole_file(path) as temporary:
        temporary.write_text(corrections_text(corrections), encoding="utf-8")
    click.echo(f"{path}: {len(corrections)} corrections.", err=True)
