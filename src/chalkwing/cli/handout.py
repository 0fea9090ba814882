"""A debrief to hand out: the options that ask for it on paper, and writing it whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import F, overwrite_option
from chalkwing.files import whole_file

if TYPE_CHECKING:
    from chalkwing.trunk import Debriefed

IN_A_FILE = ("pdf", "html")
_BY_SUFFIX = {".pdf": "pdf", ".html": "html", ".json": "json"}


def handout_options(command: F) -> F:
    """``--format``, ``-o``, ``--paper`` and ``--overwrite``."""
    for decorate in (
        click.option(
            "--paper",
            type=click.Choice(["a4", "letter"]),
            default="a4",
            show_default=True,
            help="Size of the printed debrief.",
        ),
        overwrite_option,
        click.option(
            "-o",
            "--output",
            type=click.Path(dir_okay=False, path_type=Path),
            metavar="OUT",
            help="Where to write: needed for a PDF or HTML.",
        ),
        click.option(
            "--format",
            "form",
            type=click.Choice(["text", "json", "pdf", "html"]),
            default=None,
            help="To read, for machines, to print, or a page to hand out; text unless -o names another.",
        ),
    ):
        command = decorate(command)
    return command


def chosen_form(form: str | None, output: Path | None, *, overwrite: bool) -> str:
    """The form asked for, or that of the file's name; refuses what cannot be written."""
    chosen = form or ("text" if output is None else _BY_SUFFIX.get(output.suffix.lower(), "text"))
    if chosen in IN_A_FILE and output is None:
        raise click.UsageError(f"--format {chosen} needs -o OUT, the file to write.")
    if output is not None:
        if chosen == "text":
            raise click.UsageError(
                f"-o {output}: a name that ends in .pdf, .html or .json, or --format with it."
            )
        refuse_unwritable(output, overwrite=overwrite)
    return chosen


def write_handout(found: Debriefed, form: str, output: Path, *, paper: str) -> str:
    """Write the debrief to ``output``; what to say of it."""
    if form == "json":
        content = (found.debrief.to_json() + "\n").encode()
    else:
        from chalkwing.paper import debrief_html, debrief_pdf

        content = debrief_pdf(found, paper=paper) if form == "pdf" else debrief_html(found)
    with whole_file(output) as temporary:
        temporary.write_bytes(content)
    told = {"pdf": _pages(len(found.attempts)), "html": "one file, to be opened in any browser"}
    return f"{output}: {told.get(form, form)}."


def _pages(maneuvers: int) -> str:
    return f"{maneuvers + 1} pages: the lesson and {maneuvers} maneuver{'' if maneuvers == 1 else 's'}"
