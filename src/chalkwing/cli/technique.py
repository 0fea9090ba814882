"""``chalkwing technique``: the booklet of a school's technique notes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import definitions_option, overwrite_option, standard_options
from chalkwing.cli.progress import Progress, shown_progress
from chalkwing.files import whole_file

if TYPE_CHECKING:
    from chalkwing.briefing.technique import TechniqueNotes

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command(short_help="Technique notes: how the school flies each maneuver, with its airplanes' numbers.")
@click.option(
    "--school",
    type=_FILE,
    metavar="SCHOOL.toml",
    help="The school's airplanes, days and words (docs/school_file.md); an example unless given.",
)
@click.option(
    "--maneuver", "maneuvers", multiple=True, metavar="NAME", help="Only this one; repeatable. Else all."
)
@click.option(
    "--airplane", "airplanes", multiple=True, metavar="REG", help="Only this one of the school's; repeatable."
)
@standard_options
@definitions_option
@click.option(
    "--format",
    "form",
    type=click.Choice(["pdf", "json"]),
    default=None,
    help="The booklet, or all its numbers for a program; pdf unless -o names a .json.",
)
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), metavar="OUT", help="Where to write."
)
@overwrite_option
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Of the sheets.",
)
def technique(
    school: Path | None,
    maneuvers: tuple[str, ...],
    airplanes: tuple[str, ...],
    standard: str,
    overlay: Path | None,
    folders: tuple[Path, ...],
    form: str | None,
    output: Path | None,
    overwrite: bool,
    paper: str,
) -> None:
    """Write the booklet from which a school's instructors teach alike.

    For each maneuver: purpose, entry and clearing as the school wrote them, technique stretch by stretch, the
    standard with document and edition, common errors with how they show and what helps; then the numbers of
    each of the school's airplanes, light and heavy, on each of its days, with pictures.

    \b
    Examples: chalkwing technique --school hollin.toml -o notes.pdf
              chalkwing technique --school hollin.toml --maneuver lazy_eight --airplane X-HOLL -o eights.pdf
    """
    chosen = form or ("json" if output is not None and output.suffix.lower() == ".json" else "pdf")
    if chosen == "pdf" and output is None:
        raise click.UsageError("A booklet needs a place: add -o notes.pdf.")
    if output is not None and form is None and output.suffix.lower() not in (".pdf", ".json"):
        raise click.UsageError(f"-o {output}: a name that ends in .pdf or .json, or --format with it.")
    if output is not None:
        refuse_unwritable(output, overwrite=overwrite)
    with shown_progress() as progress:
        notes = _notes(
            school,
            tuple(name.strip().lower().replace("-", "_").replace(" ", "_") for name in maneuvers),
            airplanes,
            standard,
            overlay,
            folders,
            lambda what, share: progress(what, 0.9 * share),
        )
        progress("drawing", 0.92)
        made = _made(notes, chosen, paper)
    if output is None:
        click.echo(made.decode())
        return
    with whole_file(output) as place:
        place.write_bytes(made)
    click.echo(f"Wrote {output}: {len(notes.chapters)} maneuvers.", err=True)


def _notes(
    school: Path | None,
    kinds: tuple[str, ...],
    airplanes: tuple[str, ...],
    standard: str,
    overlay: Path | None,
    folders: tuple[Path, ...],
    tell: Progress,
) -> TechniqueNotes:
    from chalkwing.briefing import read_school
    from chalkwing.briefing.school import generic_school
    from chalkwing.briefing.technique import technique_notes

    return technique_notes(
        read_school(school) if school is not None else generic_school(),
        kinds=kinds,
        registrations=airplanes,
        held_to=standard,
        overlay=overlay,
        definition_folders=folders,
        tell=tell,
    )


def _made(notes: TechniqueNotes, form: str, paper: str) -> bytes:
    if form == "json":
        return notes.to_json().encode()
    from chalkwing.paper.technique import technique_pdf

    return technique_pdf(notes, paper=paper)
