"""What the standard will hold the flight to, for the card: limits of elements, then figures of the task."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from chalkwing.briefing.report import LimitReport
from chalkwing.maneuvers import Definition, Standard
from chalkwing.maneuvers.standards import Task, read_standard

_UNITS = ("ft_agl", "ft", "kt", "deg", "pct", "turns")
_WORDS = {
    "bank_nominal_deg": "Bank (about)",
    "bank_nominal_max_deg": "Steepest bank (about)",
    "bank_target_deg": "Bank (about)",
    "bank_max_deg": "Bank",
    "floor_agl_ft": "Height above ground",
    "floor_agl_multi_ft": "Height above ground (multi-engine)",
    "min_turns": "Turns",
    "turn_deg": "Turn",
    "min_power_pct": "Power",
    "bank_assigned_max_deg": "Bank to be assigned",
    "min_agl_ft": "Height above ground",
    "max_agl_ft": "Height above ground",
    "bank_min_deg": "Bank",
}
_AT_LEAST = ("floor_", "min_", "bank_min_")


def limit_reports(
    standard: Standard, definition: Definition | None, kind: str, *, engines: int
) -> tuple[LimitReport, ...]:
    """The limits of a maneuver in a standard: a school's own in place of the published where it set one."""
    task = standard.task(kind) or _undefined(standard.name).get(kind)
    held: list[LimitReport] = []
    told: set[str] = set()
    for measure in definition.measures if definition is not None else ():
        limit = standard.limit(kind, measure)
        if limit is not None:
            told.add(measure.limit.name if measure.limit is not None else measure.id)
            said = (measure.title, limit.band, measure.unit, limit.document, limit.edition, limit.task)
            held.append(LimitReport(*said))
    if task is None:
        return tuple(held)
    if definition is None:
        held += _tolerances(standard, task)
    return (*held, *_figures(standard, task, told | _other_engines(task, engines)))


@cache
def _undefined(name: str) -> Mapping[str, Task]:
    """Tasks of maneuvers that have no definition yet, by maneuver; see the files in ``published``."""
    path = Path(__file__).parent / "published" / f"{name}.toml"
    return read_standard(path).tasks if path.is_file() else {}


def _other_engines(task: Task, engines: int) -> set[str]:
    """The floor that is not this airplane's, where the task has one for either class."""
    both = {"floor_agl_ft", "floor_agl_multi_ft"}
    if not both <= task.limits.keys():
        return set()
    return {"floor_agl_multi_ft" if engines == 1 else "floor_agl_ft"}


def _tolerances(standard: Standard, task: Task) -> list[LimitReport]:
    """The tolerances of a task whose maneuver has no definition, titled by their keys."""
    return [
        LimitReport(_title(key), band, _unit(key), standard.document, standard.edition, task.task)
        for key, band in task.tolerance.items()
    ]


def _figures(standard: Standard, task: Task, told: set[str]) -> list[LimitReport]:
    """The absolute figures that the task names, where no element has said them."""
    found = []
    for key, value in task.limits.items():
        if key in told:
            continue
        if key.startswith(_AT_LEAST):
            band: tuple[float | None, float | None] = (value, None)
        elif "max" in key and "nominal" not in key:
            band = (None, value)
        else:
            band = (value, value)
        other = task.documents.get(key)
        document, edition, code = (
            (other, "", None) if other else (standard.document, standard.edition, task.task)
        )
        found.append(LimitReport(_WORDS.get(key, _title(key)), band, _unit(key), document, edition, code))
    return found


def _unit(key: str) -> str:
    unit = next((unit for unit in _UNITS if key.endswith(f"_{unit}")), "")
    return {"ft_agl": "ft", "pct": "percent", "turns": "1", "": "1"}.get(unit, unit)


def _title(key: str) -> str:
    words = re.sub(rf"_({'|'.join(_UNITS)})$", "", key).replace("_", " ").replace("agl", "above ground")
    return words.capitalize()
