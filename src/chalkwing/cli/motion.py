"""``chalkwing motion``: the reconstructed flight as a table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import overwrite_option, recording_options
from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused
from chalkwing.files import whole_file

if TYPE_CHECKING:
    import polars as pl

_SUFFIXES = (".csv", ".parquet")


@click.command(short_help="The reconstructed flight as a table.")
@recording_options
@click.option(
    "-o",
    "--output",
    "output",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="OUT.csv|OUT.parquet",
    help="Where to write; without it the table goes to standard output as CSV.",
)
@overwrite_option
def motion(
    files: tuple[Path, ...],
    airplane: str | None,
    ignore: tuple[str, ...],
    column_map: Path | None,
    zone: str | None,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Export the reconstructed flight of FILE..., four rows a second, each value with its sd.

    Columns carry their unit in the name; docs/quantities.md explains each.

    \b
    Example: chalkwing motion lesson.csv -o lesson-motion.parquet
    """
    if output is not None:
        if output.suffix.lower() not in _SUFFIXES:
            raise Refused(f"{output}: the name must end in {' or '.join(_SUFFIXES)}.")
        refuse_unwritable(output, overwrite=overwrite)
    from chalkwing.cli.motion_columns import motion_table
    from chalkwing.trunk import reconstructions

    with shown_progress() as progress:
        found = reconstructions(
            *files, airplane=airplane, ignore=ignore, column_map=column_map, zone=zone, progress=progress
        )
    table = motion_table([(each.motion, each.shift) for each in found.flights])
    if output is None:
        click.echo(table.write_csv(), nl=False)
        return
    with whole_file(output) as temporary:
        _write(table, temporary, suffix=output.suffix.lower())
    click.echo(f"{output}: {table.height} rows, {table.width} columns.", err=True)


def _write(table: pl.DataFrame, path: Path, *, suffix: str) -> None:
    if suffix == ".parquet":
        table.write_parquet(path)
    else:
        table.write_csv(path)
