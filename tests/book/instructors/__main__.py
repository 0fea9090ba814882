"""What is told of simulated instructors against the truth, as a table for docs/accuracy.md."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click
from tests.book.instructors.coverage import PLANS, Covered, covered
from tests.book.putting import put

BEGIN, END = "<!-- instructors: begin -->", "<!-- instructors: end -->"
FIRST_SEED = 5000
"""Seeds below were looked at while the statistics were made."""


def page(found: Sequence[Covered], schools: int) -> str:
    rows = "\n".join(
        f"| {each.plan.said} | {100 * each.held:.1f} % | {each.width:.2f} | {each.called}, "
        f"{100 * each.called_wrongly:.0f} % wrongly | {_seen(each)} | {100 * each.alpha_held:.1f} % | "
        f"{each.alpha_width:.2f} |"
        for each in found
    )
    return f"""{BEGIN}
## Instructors on a common set

{schools} simulated schools a row, seeds {FIRST_SEED} and above, nothing chosen by them. The instructors have
a known leniency and noise [steps of a scale of four]; the truth is how far an instructor's expected marks lie
above the others'. Held: the share of true values inside the 90 % interval of leniency (asked: about 90 %),
and of alphas over 3000 further maneuvers inside the 95 % interval of alpha. Called lenient or strict: how
many, and the share of them who lie less than 0.2 steps that way in truth. Seen: the share called so of those
who lie 0.75 steps or more away.

| school | leniency held | width | called | seen | alpha held | width |
| --- | --- | --- | --- | --- | --- | --- |
{rows}

`python -m tests.book.instructors --schools {schools} --write docs/accuracy.md`
{END}"""


def _seen(each: Covered) -> str:
    return f"{100 * each.seen:.0f} % of {each.far}" if each.far else "none so far off"


@click.command()
@click.option("--schools", default=400, show_default=True)
@click.option("--write", type=click.Path(path_type=Path, exists=True))
def main(schools: int, write: Path | None) -> None:
    told = page([covered(plan, range(FIRST_SEED, FIRST_SEED + schools)) for plan in PLANS], schools)
    if write is None:
        click.echo(told)
        return
    put(write, told, begin=BEGIN, end=END)


if __name__ == "__main__":
    main()
