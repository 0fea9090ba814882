"""``chalkwing debrief --open``: the lesson in a browser instead of on the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click
from click.core import ParameterSource

from chalkwing.cli.refusal import Refused

_KNOWN = {"files", "airplane", "standard", "overlay", "column_map", "zone", "show"}
"""What a lesson's pages take from the command line."""


def only_what_pages_know() -> None:
    """Refuse options that the pages would leave out in silence."""
    context = click.get_current_context()
    given = [
        option.opts[0]
        for option in context.command.params
        if option.name not in _KNOWN
        and option.name is not None
        and context.get_parameter_source(option.name) is ParameterSource.COMMANDLINE
    ]
    if given:
        raise Refused(f"--open shows the pages, which do not take {', '.join(given)}. Leave it out.")


def open_pages(
    files: Sequence[Path],
    *,
    airplane: str | None,
    standard: str,
    overlay: Path | None,
    column_map: Path | None,
    zone: str | None,
) -> None:
    """Take the files in as a lesson and serve the pages, with a browser on it, until stopped."""
    from chalkwing.airplane import load_sheet
    from chalkwing.book.log_settings import log_settings
    from chalkwing.maneuvers import standard as standard_for
    from chalkwing.web.serving import opened, run
    from chalkwing.web.settings import Settings, usual_book

    # What is faulty is refused here, before a server stands.
    if airplane is not None:
        load_sheet(airplane)
    standard_for(standard, school=overlay)
    log = log_settings(column_map=column_map, zone=zone)
    settings = Settings(book=usual_book())
    path = opened(
        settings,
        files,
        airplane=airplane,
        standard=standard,
        overlay=overlay,
        zone=log.zone,
        column_map=log.column_map,
    )
    run(
        settings,
        host="127.0.0.1",
        port=0,
        show=True,
        say=lambda text: click.echo(text, err=True),
        path=path,
    )
