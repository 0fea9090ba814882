"""What a flown lesson is truly worth: the values that a judge of its recording should find.

Computed straight from the flown states, without estimator, finder or judge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from chalkwing import air
from chalkwing.refly.figures import FlownManeuver, FlownPart
from chalkwing.refly.scenario import Lesson
from chalkwing.units import Floats, m_to_ft, mps_to_kt, rad_to_deg

AltitudeKind = Literal["altimeter", "geometric"]
_TARGET_BANK = 50.0


@dataclass(frozen=True)
class TrueValue:
    """The true value of an element (its id as in a debrief) in its pilot unit; ``half`` counts from 1."""

    id: str
    half: int | None
    value: float


def true_values(
    lesson: Lesson, maneuver: FlownManeuver, *, altitude_kind: AltitudeKind
) -> tuple[TrueValue, ...]:
    """The true values of the published elements of ``maneuver``.

    ``altitude_kind`` says whether altitude changes are those of the altimeter or geometric: on a warm day
    the two differ by a few percent.
    """
    truth = _Truth(lesson, altitude_kind)
    if maneuver.kind == "clearing_turns":
        return ()
    if maneuver.kind == "steep_turn":
        return tuple(truth.held(maneuver.parts[0]))
    halves = enumerate(maneuver.parts, start=1)
    if maneuver.kind == "chandelle":
        return tuple(truth.heading(part, turned=180.0) for _, part in halves)
    found: list[TrueValue] = []
    for number, part in halves:
        found += truth.at_180(number, part, entry=maneuver.start)
    return tuple(found)


class _Truth:
    def __init__(self, lesson: Lesson, altitude_kind: AltitudeKind) -> None:
        height = lesson.values["geometric_altitude"]
        pressure = lesson.day.pressure_altitude(height)
        calibrated = air.calibrated_from_true(
            true_airspeed=lesson.values["true_airspeed"],
            pressure_altitude=pressure,
            isa_deviation=lesson.day.isa_deviation,
        )
        self.time = lesson.time
        self.altitude_ft: Floats = m_to_ft(pressure if altitude_kind == "altimeter" else height)
        self.airspeed_kt: Floats = mps_to_kt(calibrated)
        self.heading_deg: Floats = rad_to_deg(lesson.values["heading_true"])
        self.bank_deg: Floats = rad_to_deg(lesson.values["bank"])

    def at(self, values: Floats, time: float) -> float:
        return float(np.interp(time, self.time, values))

    def change(self, values: Floats, start: float, end: float) -> float:
        return self.at(values, end) - self.at(values, start)

    def heading(self, part: FlownPart, *, turned: float) -> TrueValue:
        """Heading past the reference in the direction of the turn."""
        change = self.change(self.heading_deg, part.start, part.end)
        past = abs(change) - turned
        return TrueValue("heading_at_180" if turned == 180.0 else "rollout_heading", None, past)

    def at_180(self, half: int, part: FlownPart, *, entry: float) -> Iterator[TrueValue]:
        yield TrueValue("altitude_at_180", half, self.change(self.altitude_ft, entry, part.end))
        yield TrueValue("airspeed_at_180", half, self.change(self.airspeed_kt, entry, part.end))
        # Against the entry heading or its reciprocal, so the first half's miss counts in the second.
        turn = self.change(self.heading_deg, entry, part.end)
        sign = 1.0 if part.side == "right" else -1.0
        reference = 180.0 if half == 1 else 0.0
        yield TrueValue("heading_at_180", half, sign * turn - reference)

    def held(self, part: FlownPart) -> Iterator[TrueValue]:
        """Worst deviations while the bank was held."""
        first, last = part.held or (part.start, part.end)
        into = np.abs(self.bank_deg)
        window = (self.time >= first) & (self.time <= last)
        for name, values, reference in (
            ("altitude", self.altitude_ft, self.at(self.altitude_ft, part.start)),
            ("airspeed", self.airspeed_kt, self.at(self.airspeed_kt, part.start)),
            ("bank", into, _TARGET_BANK),
        ):
            off = values[window] - reference
            yield TrueValue(name, None, float(off[np.argmax(np.abs(off))]))
        yield self.heading(part, turned=360.0)
