"""``chalkwing serve``: the pages, on this machine."""

from __future__ import annotations

from pathlib import Path

import click

from chalkwing.cli.refusal import Refused

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
@click.option("--school", is_flag=True, help="For a school: everybody signs in, and sees what is theirs.")
@click.option(
    "--address",
    metavar="URL",
    help="With --school: how browsers reach it, such as https://record.hollin-field.example.",
)
@click.option("--open", "show", is_flag=True, help="Open a browser on it.")
def serve(
    host: str,
    port: int,
    folder: Path | None,
    place: str | None,
    files: Path | None,
    school: bool,
    address: str | None,
    show: bool,
) -> None:
    """Serve the pages on this machine until stopped with Ctrl+C.

    Nothing leaves the machine, and nobody else can reach it, unless another address than the usual one is
    given with --host; there is no log-in.

    With --school people sign in with accounts of the book (`chalkwing book account`): students see their own
    record, instructors their students', the chief all. Put a proxy with TLS before it: docs/server.md.

    \b
    Examples: chalkwing serve --open
              chalkwing serve --school --book /srv/chalkwing --address https://record.hollin-field.example
    """
    from chalkwing.web.serving import in_a_school, run
    from chalkwing.web.settings import Settings, usual_book, usual_folder

    if address is not None and not school:
        raise Refused("--address belongs to --school: without accounts the pages stay on this machine.")
    if school and host not in LOOPBACK and address is None:
        raise Refused("a school on a network needs --address; https:// where a proxy gives it TLS.")
    if school and address is not None and not address.startswith("https://"):
        click.echo("Passwords and records travel readable to all on the way: use https.", err=True)
    if host not in LOOPBACK and not school:
        click.echo(f"Whoever can reach {host} can see and change every lesson: there is no log-in.", err=True)
    if place is not None and "://" not in place and not Path(place).absolute().parent.is_dir():
        # A new book begins in a new folder; where even the folder above is not there, the name is mistyped.
        raise Refused(f"--book {place}: there is no folder {Path(place).absolute().parent}. Check the name.")
    # A folder of one's own brings its own book along, unless another is named.
    book = place or (None if folder else usual_book())
    settings = Settings(folder=folder or usual_folder(), book=book, book_files=files)
    if school:
        settings = in_a_school(settings, address)
    run(settings, host=host, port=port, show=show, say=lambda text: click.echo(text, err=True))
