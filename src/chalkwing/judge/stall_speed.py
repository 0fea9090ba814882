"""The day's stall speed: from the breaks of a flight, with its sd, beside the airplane sheet's.

What is estimated is the slowest calibrated airspeed in the seconds before the break, brought to 1 g with
the load factor: where the wing gave its most lift.

    V1g = V / sqrt(n)          [PHAK] ch. 5: the stall speed goes with the root of the load factor.

In an impending stall the pilot recovers before the wing lets go: the break is then the recovery, and its
speed lies above the stall speed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.judge.flown import Flown
from chalkwing.judge.kernels import LOWEST, WHEN_LOWEST, window_statistics
from chalkwing.judge.made import corrects
from chalkwing.judge.over_draws import mean_over, moments
from chalkwing.units import KNOT, Floats

Configuration = Literal["clean", "flaps", "unknown"]

POSITION_ERROR = 3.5 * KNOT
"""How wrong an airspeed indicator may read near the stall without the manual's correction [m/s]. Common
practice, no source: manuals of light singles print from 2 to 8 kt there."""
TABLE_ERROR = 1.0 * KNOT
"""Of a manual's correction near the stall [m/s], printed to a knot or two. Common practice, no source."""
DERIVED_ERROR = 3.0 * KNOT
"""Of an airspeed that was not recorded but reconstructed, near the stall [m/s], beyond what draws show: lift
curve and polar are strained there. Held to simulated stalls (docs/decisions/0018)."""
SHEET_ERROR = 1.0 * KNOT
"""Of a handbook's stall speed [m/s]: printed to a knot, at one loading. Common practice, no source."""
MASS_ERROR = 0.03
"""Of the day's mass as given (share): what people and fuel weigh. Common practice, no source."""
SLOW_WINDOW = 3.0
"""Seconds over which an airspeed must have been flown to be one that the wing bears."""
BEFORE = 3.0
"""Seconds before the break in which the slowest is looked for; a wing lets go before it shows."""
LEAST_OWN = 0.2 * KNOT
"""No single stall is known better than this beside what it shares with the others [m/s]."""
FLAPS = 0.02
"""Share of full flap from which flaps count as out."""


@dataclass(frozen=True)
class BreakSpeed:
    """One stall's speed at the break, calibrated and brought to 1 g [m/s].

    ``common_sd`` is the part of ``sd`` that all stalls of the flight share: the airspeed's own error.
    """

    time: float
    value: float
    sd: float
    common_sd: float
    configuration: Configuration


@dataclass(frozen=True)
class DayStallSpeed:
    """The stall speed of one flight in one configuration, calibrated, 1 g [m/s].

    ``value`` and ``sd`` of ``count`` stalls, None where only slow flight was flown; ``spread`` is the sd
    between them, None with fewer than three. ``flown`` is the slowest airspeed that slow flight bore, brought
    to 1 g: the stall speed lies below it. ``sheet`` is the sheet's at ``mass`` [kg] and ``difference`` the
    value less that; None without a sheet or a figure for the configuration.
    """

    configuration: Configuration
    value: float | None
    sd: float | None
    count: int
    spread: float | None
    flown: float | None
    flown_sd: float | None
    sheet: float | None
    difference: float | None
    difference_sd: float | None
    mass: float | None
    note: str


def break_speed(flown: Flown) -> BreakSpeed | None:
    """The speed at the break of one stall; None where most draws have no break."""
    breaks = flown.points[0]["breaks"]
    begin = breaks - BEFORE / flown.interval
    values = window_statistics(flown.signal("stall_speed_1g", 0), begin, breaks, 0.0)[:, LOWEST]
    if np.mean(np.isfinite(values)) < 0.5:
        return None
    value, scatter = moments(values)
    drawn_common = moments(_slow_error(flown, breaks))[1]
    common = float(np.hypot(drawn_common, _unseen(flown)))
    own = float(np.sqrt(max(scatter**2 - drawn_common**2, LEAST_OWN**2)))
    time = float(np.nanmedian(flown.time(breaks)))
    return BreakSpeed(time, value, float(np.hypot(own, common)), common, _configuration(flown, time))


def slowest_flown(flown: Flown) -> BreakSpeed | None:
    """The slowest airspeed that slow flight bore for ``SLOW_WINDOW``; None where it was not slow."""
    places = flown.points[0]
    speed = mean_over(flown.signal("stall_speed_1g", 0), SLOW_WINDOW, 0.0, flown.interval)
    found = window_statistics(speed, places["slowed"], places["turn_stops"], 0.0)
    slowest, when = found[:, LOWEST], found[:, WHEN_LOWEST]
    if np.mean(np.isfinite(slowest)) < 0.5:
        return None
    value, scatter = moments(slowest)
    time = float(np.nanmedian(flown.time(when)))
    common = _unseen(flown)
    return BreakSpeed(time, value, float(np.hypot(scatter, common)), common, _configuration(flown, time))


def _slow_error(flown: Flown, breaks: Floats) -> Floats:
    """The airspeed's error that lasts: that of the mean over ten seconds before the middle of the breaks."""
    speed = mean_over(flown.values["calibrated_airspeed"], 10.0, 0.0, flown.interval)
    return speed[:, int(np.clip(np.nanmedian(breaks), 0, speed.shape[1] - 1))]


def _unseen(flown: Flown) -> float:
    """The error of the airspeed near the stall that no draw shows."""
    if flown.motion.origins.get("airspeed") != "measured":
        return DERIVED_ERROR
    if flown.motion.origins.get("indicated_airspeed") != "measured":
        return TABLE_ERROR
    return TABLE_ERROR if corrects(flown.sheet) else POSITION_ERROR


def _configuration(flown: Flown, time: float) -> Configuration:
    times, values = flown.motion.recording.samples("flaps")
    if not len(times):
        return "unknown"
    return "flaps" if float(np.interp(time, times, values)) > FLAPS else "clean"


def day_stall_speeds(
    breaks: Sequence[BreakSpeed],
    slow: Sequence[BreakSpeed] = (),
    *,
    sheet: AirplaneSheet | None = None,
    mass: float | None = None,
) -> tuple[DayStallSpeed, ...]:
    """The stalls and slow flight of one flight together, one result for each configuration flown.

    Each stall counts by its own doubt and by how much stalls differ (moments of the weighted residuals, as in
    random-effects pooling); the airspeed's error, common to all, does not shrink with their number.
    """
    kinds = sorted({one.configuration for one in (*breaks, *slow)})
    return tuple(
        _of_day(
            [one for one in breaks if one.configuration == kind],
            [one for one in slow if one.configuration == kind],
            kind,
            sheet,
            mass,
        )
        for kind in kinds
    )


def _of_day(
    breaks: Sequence[BreakSpeed], slow: Sequence[BreakSpeed], kind: Configuration,
    sheet: AirplaneSheet | None, mass: float | None,
) -> DayStallSpeed:  # fmt: skip
    value, sd = _pooled(breaks) if breaks else (None, None)
    borne = min(slow, key=lambda one: one.value) if slow else None
    day = None if sheet is None else (sheet.mass if mass is None else mass)
    printed = _printed(sheet, kind)
    expected = None if printed is None or sheet is None or day is None else sheet.speed_at_mass(printed, day)
    difference = None if expected is None or value is None else value - expected
    return DayStallSpeed(
        configuration=kind,
        value=value,
        sd=sd,
        count=len(breaks),
        spread=float(np.std([one.value for one in breaks], ddof=1)) if len(breaks) >= 3 else None,
        flown=None if borne is None else borne.value,
        flown_sd=None if borne is None else borne.sd,
        sheet=expected,
        difference=difference,
        difference_sd=None if difference is None else _difference_sd(sd or 0.0, expected or 0.0),
        mass=day,
        note=_note(kind, len(breaks)),
    )


def _difference_sd(sd: float, expected: float) -> float:
    """A speed goes with the root of the mass: half of its share of error."""
    return float(np.sqrt(sd**2 + SHEET_ERROR**2 + (0.5 * MASS_ERROR * expected) ** 2))


def _pooled(breaks: Sequence[BreakSpeed]) -> tuple[float, float]:
    """Value and sd of several stalls as one."""
    values = np.array([one.value for one in breaks])
    common = min(one.common_sd for one in breaks)
    own = np.array([max(one.sd**2 - common**2, LEAST_OWN**2) for one in breaks])
    weights = 1.0 / (own + _between(values, own))
    value = float(np.sum(weights * values) / np.sum(weights))
    return value, float(np.hypot(common, np.sqrt(1.0 / np.sum(weights))))


def _between(values: Floats, own: Floats) -> float:
    """The variance between stalls beyond their own doubt, by the moments of the weighted residuals."""
    if len(values) < 2:
        return 0.0
    weights = 1.0 / own
    middle = np.sum(weights * values) / np.sum(weights)
    excess = np.sum(weights * (values - middle) ** 2) - (len(values) - 1)
    scale = np.sum(weights) - np.sum(weights**2) / np.sum(weights)
    return float(max(excess / scale, 0.0))


def _printed(sheet: AirplaneSheet | None, kind: Configuration) -> float | None:
    """The sheet's figure; flaps that were not recorded are taken as up, and the note says so."""
    if sheet is None:
        return None
    return sheet.stall_speed_landing if kind == "flaps" else sheet.stall_speed


def _note(kind: Configuration, count: int) -> str:
    said = []
    if count:
        pooled = "" if count == 1 else f", {count} stalls pooled"
        said.append(
            f"slowest calibrated airspeed before the break, brought to 1 g by the load factor{pooled}; where "
            "recovery began before the wing let go it lies above the stall speed"
        )
    else:
        said.append("no stall was flown: the stall speed lies below the slowest airspeed flown")
    if kind == "unknown":
        said.append("flaps were not recorded and are taken as up")
    if kind == "flaps":
        said.append("flaps were out: compared with the sheet's landing configuration")
    return "; ".join(said)
