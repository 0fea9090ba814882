"""A view as plain columns for a page's script: what the cursor tells, and where the airplane is.

    {"start_s", "duration_s", "clock", "entry", "parts", "columns", "plan", "points", "quantities"}

``columns`` share one length; ``parts`` say which rows are theirs. Values are rounded to what can be seen; the
numbers that are written beside points and in tables come from the debrief itself.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from chalkwing.units import Floats
from chalkwing.views.quantities import PLACES
from chalkwing.views.traces import Trace
from chalkwing.views.view import ManeuverView

_DECIMALS = {
    "airspeed_kt": 1,
    "altitude_change_ft": 1,
    "specific_energy_change_ft": 0,
    "power_percent": 0,
    "load_factor_g": 3,
    "lateral_load_g": 3,
    **dict.fromkeys(PLACES, 0),
}
_PLAN_ROWS = 240


def view_data(view: ManeuverView, *, start_utc: str | None) -> dict[str, Any]:
    """Plain lists and numbers; every column of ``columns`` has one row per quarter second or so."""
    first = 1 if view.directions[0] == "right" else -1
    return {
        "start_s": round(view.start_s, 3),
        "clock": start_utc,
        "against": view.against,
        "first_turn": first,
        "entry": {name: round(value, 2) for name, value in view.entry.items()},
        **traces_data(view.flown, view.planned, first=first),
        "ground": [
            {"what": mark.what, "parts": list(mark.parts), "ends": [list(end) for end in mark.ends]}
            for mark in view.ground
        ],
    }


def traces_data(flown: tuple[Trace, ...], planned: tuple[Trace, ...], *, first: int) -> dict[str, Any]:
    """Columns, parts and points of what the cursor follows, and columns of the plan beside it.

    ``first`` is +1 where the first part turns right, else -1.
    """
    return {
        "duration_s": round(float(flown[-1].time_s[-1]), 3),
        "parts": _parts(flown),
        "columns": _columns(flown, first),
        "plan": [_planned(trace) for trace in planned],
        "points": [
            {"part": trace.part, "name": mark.said, "time_s": round(mark.time_s, 2)}
            for trace in flown
            for mark in trace.marks
        ],
    }


def _parts(flown: tuple[Trace, ...]) -> list[dict[str, int]]:
    found, row = [], 0
    for trace in flown:
        rows = len(trace.time_s)
        found.append({"part": trace.part, "first": row, "last": row + rows - 1, "sense": trace.sense})
        row += rows
    return found


def _columns(flown: tuple[Trace, ...], first: int) -> dict[str, list[float]]:
    """Each column over all parts; ``bank_deg`` and ``nose_right_deg`` count to the right, as seen."""
    names = [name for name in flown[0].values if all(name in trace.values for trace in flown)]
    columns = {name: np.concatenate([trace.values[name] for trace in flown]) for name in names}
    columns["time_s"] = np.concatenate([trace.time_s for trace in flown])
    columns["heading_change_deg"] = np.concatenate([trace.heading_change_deg for trace in flown])
    columns["nose_deg"] = np.concatenate([trace.nose_deg for trace in flown])
    turned = np.concatenate([trace.sense * trace.values["bank_into_turn_deg"] for trace in flown])
    columns["bank_deg"] = first * turned
    columns["nose_right_deg"] = first * columns["nose_deg"]
    return {name: _rounded(name, column) for name, column in columns.items()}


def _planned(trace: Trace) -> dict[str, Any]:
    step = max(1, -(-len(trace.time_s) // _PLAN_ROWS))
    columns = {
        "time_s": trace.time_s,
        "heading_change_deg": trace.heading_change_deg,
        "nose_deg": trace.nose_deg,
        **trace.values,
    }
    return {
        "part": trace.part,
        "columns": {name: _rounded(name, column[::step]) for name, column in columns.items()},
    }


def _rounded(name: str, column: Floats) -> list[float]:
    # Adding zero takes the sign off a negative zero.
    return [float(value) + 0.0 for value in np.round(column, _DECIMALS.get(name, 2))]
