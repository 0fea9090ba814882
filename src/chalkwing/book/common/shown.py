"""What is shown of a maneuver of a common set: what an instructor in the airplane would have seen, no more.

Left out are the plan, limits, doubts, raw rows and the numbers written at the points, which would tell the
computed verdict or were on no instrument; and the place, the compass, the altitude and the time, which would
tell whose flight it was. Paths are turned so that the entry heading is up. Everything is in pilot units.
"""

from __future__ import annotations

import json
import math
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from chalkwing.book.lessons import NEAR
from chalkwing.book.log_settings import AS_WRITTEN, LogSettings
from chalkwing.debriefs import ManeuverReport
from chalkwing.errors import ChalkwingError
from chalkwing.units import Floats
from chalkwing.views import ManeuverView, Mark, Trace, WindThen
from chalkwing.views.ground import GroundMark

_SEEN = (
    "bank_into_turn_deg",
    "pitch_from_level_deg",
    "airspeed_kt",
    "altitude_change_ft",
    "load_factor_g",
    "lateral_load_g",
    "power_percent",
)
"""What instruments, the horizon, the seat and the ball told in the airplane."""
_PLACES = (("ground_north_ft", "ground_east_ft"), ("air_north_ft", "air_east_ft"))
_EVERY_S = 0.2
"""Finer steps cannot be seen in a picture."""
_DECIMALS = 2


@dataclass(frozen=True)
class Order:
    """A lesson's recordings, and which of its maneuvers (kind, start [s]) are to be shown.

    ``airplane`` is a built-in sheet's name, ``sheet_text`` the school's own sheet; ``corrections`` the tables
    of those that stand; ``log`` how the recordings are read.
    """

    lesson: int
    files: tuple[tuple[Path, str], ...]
    airplane: str | None
    sheet_text: str | None
    corrections: tuple[Mapping[str, Any], ...]
    maneuvers: tuple[tuple[str, float], ...]
    log: LogSettings = AS_WRITTEN


def shown_of(order: Order, *, tell: Any) -> list[bytes | None]:
    """What is shown of each maneuver of an order; None for one that is not found in its recording any more.

    Raises `ChalkwingError` where the recordings cannot be read or reconstructed.
    """
    import tempfile

    from chalkwing.find.corrections import corrections_from
    from chalkwing.trunk import debriefed
    from chalkwing.views import view_of

    tables = {"schema": 1, "correction": [dict(each) for each in order.corrections]}
    with tempfile.TemporaryDirectory(prefix="chalkwing-") as folder:
        found = debriefed(
            *_under_their_names(order.files, Path(folder)),
            airplane=_sheet(order, Path(folder)),
            column_map=order.log.map_in(Path(folder)),
            zone=order.log.zone,
            corrections=corrections_from(tables, where=f"the corrections of lesson {order.lesson}"),
            reference=False,
            progress=tell,
        )
    shown: list[bytes | None] = []
    for kind, start_s in order.maneuvers:
        attempts = [
            each
            for each in found.attempts
            if each.report.kind == kind and abs(each.report.start_s - start_s) <= NEAR
        ]
        nearest = min(attempts, key=lambda each: abs(each.report.start_s - start_s), default=None)
        shown.append(None if nearest is None else packed(view_of(nearest, standard=found.standard)))
    return shown


def _under_their_names(files: Sequence[tuple[Path, str]], folder: Path) -> list[Path]:
    """A reader may go by a file's ending, which the vault does not keep."""
    paths = []
    for place, (path, name) in enumerate(files):
        if not path.is_file():
            raise ChalkwingError("its recording is no longer kept.", where=name)
        under = folder / str(place) / Path(name).name
        under.parent.mkdir()
        under.symlink_to(path)
        paths.append(under)
    return paths


def _sheet(order: Order, folder: Path) -> Path | str | None:
    if order.sheet_text is None:
        return order.airplane
    path = folder / "sheet.toml"
    path.write_text(order.sheet_text, encoding="utf-8")
    return path


# --- Keeping it ---------------------------------------------------------------------------------------------


def packed(view: ManeuverView) -> bytes:
    """What is shown of a maneuver, as the table keeps it."""
    told = {
        "schema": 1,
        "kind": view.report.kind,
        "title": view.report.title,
        "direction": view.report.direction,
        "against": view.against,
        "span_deg": view.span_deg,
        "directions": list(view.directions),
        "speed_name": view.speed_name,
        "altitude_name": view.altitude_name,
        "entry_airspeed_kt": round(view.entry["airspeed_kt"]),
        "wind": [
            round((view.wind.from_deg_true - view.entry["heading_true_deg"]) % 360.0),
            round(view.wind.speed_kt),
        ],
        "flown": [_trace(trace, view.entry["heading_true_deg"]) for trace in view.flown],
        "whole": _turned(view.whole, view.entry["heading_true_deg"]),
        "ground": [_ground(mark, view.entry["heading_true_deg"]) for mark in view.ground],
    }
    return zlib.compress(json.dumps(told, separators=(",", ":"), allow_nan=False).encode(), 9)


def _trace(trace: Trace, up_deg: float) -> dict[str, Any]:
    kept = _kept(trace.time_s)
    columns = {name: trace.values[name][kept] for name in _SEEN if name in trace.values}
    places = _turned({name: column[kept] for name, column in trace.values.items()}, up_deg)
    return {
        "part": trace.part,
        "start_deg": round(trace.start_deg, _DECIMALS),
        "sense": trace.sense,
        "time_s": _rounded(trace.time_s[kept]),
        "heading_change_deg": _rounded(trace.heading_change_deg[kept]),
        "values": {name: _rounded(column) for name, column in columns.items()} | places,
        "marks": [
            [
                mark.name,
                round(mark.heading_change_deg, _DECIMALS),
                round(mark.time_s, _DECIMALS),
                {name: round(value, _DECIMALS) for name, value in mark.values.items()},
            ]
            for mark in trace.marks
        ],
    }


def _kept(time_s: Floats) -> Any:
    """Rows at even steps, and the last one."""
    step = max(1, round(_EVERY_S / float(np.median(np.diff(time_s))))) if len(time_s) > 2 else 1
    return np.unique(np.append(np.arange(0, len(time_s), step), len(time_s) - 1))


def _turned(values: Mapping[str, Floats], up_deg: float) -> dict[str, list[float]]:
    """Places from the entry, turned so that "north" is the entry heading."""
    up = math.radians(up_deg)
    found: dict[str, list[float]] = {}
    for north, east in _PLACES:
        if north in values:
            ahead = values[north] * math.cos(up) + values[east] * math.sin(up)
            right = values[east] * math.cos(up) - values[north] * math.sin(up)
            found[north], found[east] = _rounded(ahead), _rounded(right)
    return found


def _ground(mark: GroundMark, up_deg: float) -> dict[str, Any]:
    up = math.radians(up_deg)
    ends = [
        [
            round(n * math.cos(up) + e * math.sin(up), 1),
            round(e * math.cos(up) - n * math.sin(up), 1),
        ]
        for n, e in mark.ends
    ]
    return {"what": mark.what, "parts": list(mark.parts), "ends": ends}


def _rounded(values: Floats) -> list[float]:
    return [round(float(value), _DECIMALS) for value in values]


# --- Taking it out again ------------------------------------------------------------------------------------


def view_from(shown: bytes) -> ManeuverView:
    """The view that pictures are drawn from: no limits, no plan, no doubt, nothing told at the points."""
    told = json.loads(zlib.decompress(shown))
    return ManeuverView(
        report=_bare(told),
        against=told["against"],
        span_deg=told["span_deg"],
        start_s=0.0,
        flown=tuple(_trace_from(each) for each in told["flown"]),
        planned=(),
        limits=(),
        directions=tuple(told["directions"]),
        speed_name=told["speed_name"],
        plan_speed_name=None,
        altitude_name=told["altitude_name"],
        level_pitch_deg=0.0,
        entry={"airspeed_kt": told["entry_airspeed_kt"], "heading_true_deg": 0.0},
        wind=WindThen(*told["wind"]),
        whole={name: np.array(column) for name, column in told["whole"].items()},
        ground=tuple(
            GroundMark(
                each["what"],
                tuple(each["parts"]),
                tuple((end[0], end[1]) for end in each["ends"]),
            )
            for each in told["ground"]
        ),
    )


def _trace_from(told: Mapping[str, Any]) -> Trace:
    return Trace(
        part=told["part"],
        role="flown",
        time_s=np.array(told["time_s"]),
        heading_change_deg=np.array(told["heading_change_deg"]),
        values={name: np.array(column) for name, column in told["values"].items()},
        marks=tuple(
            Mark(name, turned, values, told=False, time_s=time_s)
            for name, turned, time_s, values in told["marks"]
        ),
        start_deg=told["start_deg"],
        sense=told["sense"],
    )


def _bare(told: Mapping[str, Any]) -> ManeuverReport:
    """A report that names the maneuver and says nothing of how it was judged."""
    return ManeuverReport(
        kind=told["kind"],
        title=told["title"],
        flight=1,
        direction=told["direction"],
        start_s=0.0,
        end_s=float(told["flown"][-1]["time_s"][-1]),
        start_s_sd=0.0,
        end_s_sd=0.0,
        probability=1.0,
        status="complete",
        flown_by="unknown",
        corrected=False,
        points=(),
        elements=(),
    )
