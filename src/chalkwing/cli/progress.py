"""Progress of long work, on stderr, only where a person watches."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[str, float], None]
"""Called with what is being done and the fraction done."""

FIRST_RUN = "First run of this version: its numeric kernels are compiled, once; that takes a minute or two."
"""Why the line stands still for so long."""


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
        said = False

        def tell(what: str, fraction: float) -> None:
            nonlocal said
            if not said and _compiles_first():
                bar.console.print(FIRST_RUN)
                said = True
            bar.update(line, description=what, completed=fraction)

        yield tell


def _compiles_first() -> bool:
    """Whether kernels are in use and none was there compiled; asks without loading them."""
    compiled = sys.modules.get("chalkwing.compiled")
    return compiled is not None and bool(compiled.fresh)
