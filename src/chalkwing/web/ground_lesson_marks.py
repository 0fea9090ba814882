"""What a planned maneuver is flown by on the ground, where its plan shows it: read from the path itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from chalkwing.reference import Reference
from chalkwing.units import FOOT, Floats
from chalkwing.views.ground import GroundMark
from chalkwing.views.traces import Trace

_BEYOND = 0.2
"""How far a line is drawn past the path, as a share of its length."""
_ON_PYLON = 0.2, 0.7
"""Between these shares of a part the wing lies well on the pylon."""


def planned_marks(reference: Reference, plan: Sequence[Trace]) -> tuple[GroundMark, ...]:
    """The point, line or pylons of a plan, in feet from the entry; empty for what is flown by none."""
    match reference.kind:
        case "turns_around_a_point" | "steep_spiral":
            return (_mark("point", plan, _center(plan)),)
        case "s_turns":
            return (_line(plan),)
        case "eights_on_pylons":
            return tuple(_mark("pylon", (trace,), _pylon(reference, trace.part)) for trace in plan)
        case _:
            return ()


def _mark(what: str, parts: Sequence[Trace], place: tuple[float, float]) -> GroundMark:
    return GroundMark(what, tuple(trace.part for trace in parts), (place,))


def _path(trace: Trace) -> tuple[Floats, Floats]:
    return trace.values["ground_north_ft"], trace.values["ground_east_ft"]


def _center(plan: Sequence[Trace]) -> tuple[float, float]:
    """The middle of a path that is a circle over the ground, its rolls left out (least squares)."""
    rows = [_steady(trace) for trace in plan]
    north = np.concatenate([_path(trace)[0][kept] for trace, kept in zip(plan, rows, strict=True)])
    east = np.concatenate([_path(trace)[1][kept] for trace, kept in zip(plan, rows, strict=True)])
    unknowns = np.column_stack((2.0 * north, 2.0 * east, np.ones_like(north)))
    found, *_ = np.linalg.lstsq(unknowns, north**2 + east**2, rcond=None)
    return float(found[0]), float(found[1])


def _steady(trace: Trace) -> npt.NDArray[np.intp]:
    """The rows a quarter of a turn from both ends at least."""
    turned = trace.heading_change_deg
    kept: npt.NDArray[np.intp] = np.flatnonzero((turned > 90.0) & (turned < turned[-1] - 90.0))
    return kept


def _line(plan: Sequence[Trace]) -> GroundMark:
    """The line that every half begins and ends on, drawn a little beyond."""
    first = [float(axis[0]) for axis in _path(plan[0])]
    last = [float(axis[-1]) for axis in _path(plan[-1])]
    run = [_BEYOND * (b - a) for a, b in zip(first, last, strict=True)]
    ends = (
        (first[0] - run[0], first[1] - run[1]),
        (last[0] + run[0], last[1] + run[1]),
    )
    return GroundMark("line", tuple(trace.part for trace in plan), ends)


def _pylon(reference: Reference, part: int) -> tuple[float, float]:
    """Where the sight lines of a turn meet: each at a right angle to the motion through the air.

    With the pylon so far (north, east) and so deep (h) from the airplane: n Vn + e Ve - h Vup = 0.
    """
    rows = np.flatnonzero(reference["part"] == part)
    first, last = (int(share * len(rows)) for share in _ON_PYLON)
    rows = rows[first:last]
    north, east, up = (
        np.gradient(reference[name][rows], reference.time[rows])
        for name in ("air_north", "air_east", "height_change")
    )
    height = reference["height_change"][rows] + reference.fact("entry_height")
    wanted = reference["ground_north"][rows] * north + reference["ground_east"][rows] * east + height * up
    found, *_ = np.linalg.lstsq(np.column_stack((north, east)), wanted, rcond=None)
    return float(found[0]) / FOOT, float(found[1]) / FOOT
