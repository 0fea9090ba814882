"""Progress of long work, on stderr, only where a person watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[str, float], None]
"""Called with what is being done and the fraction done."""


@contextmanager
def shown_progress() -> Iterator[Progress]:
    """A progress line on a terminal that goes away when the work is done; silent elsewhere."""
    if not sys.stderr.isatty():
        yield lambda what, fraction: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (
        TextColumn("{task.description}"),
        BarColumn(bar_width=24),
        TextColumn("{task.percentage:>3.0f} %"),
    )
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        line = bar.add_task("", total=1.0)
        yield lambda what, fraction: bar.update(line, description=what, completed=fraction)
