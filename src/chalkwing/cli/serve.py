"""``chalkwing serve``: the pages, on this machine."""

from __future__ import annotations

from pathlib import Path

import click

LOOPBACK = ("127.0.0.1", "localhost", "::1")


@click.command(short_help="The pages: take recordings in, look at lessons.")
@click.option("--host", default=LOOPBACK[0], show_default=True, help="Address to listen at.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8765, show_default=True, help="0 takes a free one."
)
@click.option(
    "--folder",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="Where lessons are kept; else a folder of your own.",
)
@click.option("--open", "show", is_flag=True, help="Open a browser on it.")
def serve(host: str, port: int, folder: Path | None, show: bool) -> None:
    """Serve the pages on this machine until stopped with Ctrl+C.

    Nothing leaves the machine, and nobody else can reach it, unless another address than the usual one is
    given with --host; there is no log-in.

    \b
    Example: chalkwing serve --open
    """
    from chalkwing.web.serving import run
    from chalkwing.web.settings import Settings, usual_folder

    if host not in LOOPBACK:
        click.echo(f"Whoever can reach {host} can see and change every lesson: there is no log-in.", err=True)
    settings = Settings(folder=folder or usual_folder())
    run(settings, host=host, port=port, show=show, say=lambda text: click.echo(text, err=True))
