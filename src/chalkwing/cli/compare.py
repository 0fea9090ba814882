"""``chalkwing compare``: attempts at one maneuver over each other, on paper."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import (
    definitions_option,
    overwrite_option,
    recording_options,
    standard_options,
)
from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused
from chalkwing.files import whole_file

if TYPE_CHECKING:
    from chalkwing.trunk import Debriefed
    from chalkwing.views.comparing import Attempt


@click.command(short_help="Attempts at a maneuver over each other, to print.")
@recording_options
@standard_options
@definitions_option
@click.option("--kind", required=True, metavar="KIND", help="The maneuver, such as chandelle.")
@click.option(
    "--attempt",
    "chosen",
    multiple=True,
    metavar="FILE:N",
    help="Only that one: the number of a maneuver in its lesson, from 1; repeatable, in this order.",
)
@click.option(
    "-o",
    "--output",
    required=True,
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="OUT.pdf",
    help="Where to write.",
)
@overwrite_option
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Of the sheets."
)
def compare(
    files: tuple[Path, ...],
    airplane: str | None,
    ignore: tuple[str, ...],
    column_map: Path | None,
    zone: str | None,
    standard: str,
    overlay: Path | None,
    folders: tuple[Path, ...],
    kind: str,
    chosen: tuple[str, ...],
    output: Path,
    overwrite: bool,
    paper: str,
) -> None:
    """Lay the attempts at one maneuver in FILE... over each other and write a PDF.

    Each file is a lesson of its own. Two attempts lie over each other in one picture, the second as a double
    line; three to six stand side by side at one scale.

    \b
    Examples: chalkwing compare may.csv june.csv --kind chandelle -o chandelles.pdf
              chalkwing compare may.csv june.csv --kind lazy_eight \\
                  --attempt may.csv:3 --attempt june.csv:2 -o eights.pdf
    """
    if output.suffix.lower() != ".pdf":
        raise click.UsageError(f"-o {output}: it is a PDF; choose a name that ends in .pdf.")
    refuse_unwritable(output, overwrite=overwrite)
    from chalkwing.cli.selecting import known_kinds
    from chalkwing.paper.comparing_print import comparing_pdf
    from chalkwing.trunk import debriefed

    (wanted,) = known_kinds((kind,), folders)
    with shown_progress() as progress:
        lessons = [
            debriefed(
                path,
                airplane=airplane,
                ignore=ignore,
                column_map=column_map,
                zone=zone,
                standard=standard,
                overlay=overlay,
                definition_folders=folders,
                reference=False,
                progress=progress,
            )
            for path in files
        ]
        attempts = _attempts(files, lessons, wanted, chosen)
        progress("drawing", 1.0)
        made = comparing_pdf(attempts, paper=paper, about=" · ".join(path.name for path in files))
    with whole_file(output) as temporary:
        temporary.write_bytes(made)
    click.echo(f"{output}: {len(attempts)} attempts.", err=True)


def _attempts(
    files: Sequence[Path], lessons: Sequence[Debriefed], kind: str, chosen: Sequence[str]
) -> list[Attempt]:
    """The attempts at a kind in all lessons, or those chosen; told apart by their names."""
    from chalkwing.paper.comparing import FEWEST, MOST
    from chalkwing.views import views_of
    from chalkwing.views.comparing import Attempt, names_of, when_said
    from chalkwing.views.story import story_of

    names = [path.name for path in files]
    called = [str(path) if names.count(path.name) > 1 else path.name for path in files]
    found = {
        f"{name}:{view.report.number}": (view, when_said(story_of(lesson).start_utc, view, name))
        for name, lesson in zip(called, lessons, strict=True)
        for view in views_of(lesson)
        if view.report.kind == kind
    }
    told = "; ".join(f"{name} at {when}" for name, (_, when) in found.items()) or "none"
    unknown = [name for name in chosen if name not in found]
    if unknown:
        raise Refused(f"--attempt {unknown[0]}: there is no such {kind}. Found: {told}.")
    kept = [found[name] for name in chosen or found]
    if not FEWEST <= len(kept) <= MOST:
        advice = "Give more recordings." if len(found) < FEWEST else "Name those meant with --attempt."
        raise Refused(
            f"{FEWEST} to {MOST} attempts at the {kind.replace('_', ' ')} can be laid over each other, not "
            f"{len(kept)}. Found: {told}. {advice}"
        )
    views = [view for view, _ in kept]
    said = names_of(views, [when for _, when in kept], [view.report.number for view in views])
    return [Attempt(name, view) for name, view in zip(said, views, strict=True)]
