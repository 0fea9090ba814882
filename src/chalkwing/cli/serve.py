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
@click.option(
    "--book",
    "place",
    metavar="PLACE",
    help="The book that lessons are entered into: a folder or a postgresql:// address; else your own.",
)
@click.option(
    "--files",
    type=click.Path(file_okay=False, path_type=Path),
    metavar="FOLDER",
    help="Where the recordings of a book on PostgreSQL lie.",
)
@click.option("--open", "show", is_flag=True, help="Open a browser on it.")
def serve(
    host: str, port: int, folder: Path | None, place: str | None, files: Path | None, show: bool
) -> None:
    """Serve the pages on this machine until stopped with Ctrl+C.

    Nothing leaves the machine, and nobody else can reach it, unless another address than the usual one is
    given with --host; there is no log-in.

    \b
    Example: chalkwing serve --open
    """
    from chalkwing.web.serving import run
    from chalkwing.web.settings import Settings, usual_book, usual_folder

    if host not in LOOPBACK:
        click.echo(f"Whoever can reach {host} can see and change every lesson: there is no log-in.", err=True)
    # A folder of one's own brings its own book along, unless another is named.
    book = place or (None if folder else usual_book())
    settings = Settings(folder=folder or usual_folder(), book=book, book_files=files)
    run(settings, host=host, port=port, show=show, say=lambda text: click.echo(text, err=True))
