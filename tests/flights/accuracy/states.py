"""How far the reconstructed quantities lie from the truth, and whether their intervals hold it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from tests.flights.accuracy.lesson import Lesson

from chalkwing.motion import Motion
from chalkwing.units import DEGREE, FOOT, KNOT, Floats, wrap_angle

Flags = npt.NDArray[np.bool_]
LONG_GAP = 3.0
TWO_SIDED = 1.959964
"""Standard deviations either side that hold 95 % of a normal error."""
TURNING = 1.0 * DEGREE
"""Rate of turn [rad/s] from which turning counts toward the first 360 degrees."""
QUANTITIES: dict[str, tuple[str, float]] = {
    "bank": ("deg", DEGREE),
    "pitch": ("deg", DEGREE),
    "calibrated_airspeed": ("kt", KNOT),
    "heading_true": ("deg", DEGREE),
    "vertical_speed": ("kt", KNOT),
    "load_factor": ("g", 1.0),
}
"""Quantities compared within maneuvers, their pilot unit and its SI value."""
EIGHT = {"altitude": ("ft", FOOT), "calibrated_airspeed": ("kt", KNOT), "heading_true": ("deg", DEGREE)}


def tally(error: Floats, sd: Floats) -> dict[str, float]:
    """Sums from which RMS, bias, coverage and sharpness of any union of flights follow."""
    return {
        "n": len(error),
        "sum": float(np.sum(error)),
        "squares": float(np.sum(error**2)),
        "sd": float(np.sum(sd)),
        "held": int(np.sum(np.abs(error) <= TWO_SIDED * sd)),
    }


@dataclass(frozen=True)
class Compared:
    """One flight's Motion beside the truth; ``times`` is its grid on the truth's clock."""

    lesson: Lesson
    motion: Motion
    shift: float

    @property
    def times(self) -> Floats:
        return self.motion.time + self.shift

    def truth(self, name: str) -> Floats:
        if name == "vertical_speed":
            return -self.lesson.at("velocity_down", self.times)
        return self.lesson.at(name, self.times)

    def error(self, name: str, unit: float) -> Floats:
        off = self.motion[name] - self.truth(name)
        return (wrap_angle(off) if name == "heading_true" else off) / unit

    def in_maneuvers(self) -> Flags:
        inside = np.zeros(len(self.times), dtype=np.bool_)
        for maneuver in self.lesson.flight.maneuvers:
            inside |= (self.times >= maneuver.start) & (self.times <= maneuver.end)
        return inside

    def in_long_gaps(self) -> Flags:
        """True between two recorded positions more than ``LONG_GAP`` apart."""
        recorded = self.motion.recording.samples("latitude")[0]
        after = np.clip(np.searchsorted(recorded, self.motion.time), 1, len(recorded) - 1)
        return np.asarray(recorded[after] - recorded[after - 1] > LONG_GAP)

    def has_turned(self) -> Flags:
        """True once a full circle of turning, either way, has been flown."""
        heading = self.truth("heading_true")
        change = np.abs(np.diff(heading, prepend=heading[0]))
        change[change < TURNING * self.motion.interval] = 0.0
        return np.asarray(np.cumsum(change) > 2 * np.pi)

    def tallies(self) -> dict[str, dict[str, float]]:
        inside, hidden = self.in_maneuvers(), self.in_long_gaps()
        found = {}
        for name, (_, unit) in QUANTITIES.items():
            error, sd = self.error(name, unit), self.motion.sds[name] / unit
            found[name] = tally(error[inside & ~hidden], sd[inside & ~hidden])
            found[f"{name} in gaps"] = tally(error[inside & hidden], sd[inside & hidden])
        return found | self._wind()

    def _wind(self) -> dict[str, dict[str, float]]:
        """Each component for coverage, and the vector, whose 'sd' is the root of both variances."""
        known = self.has_turned()
        off, sds = [], []
        for axis in ("north", "east"):
            truth = self.lesson.at(f"wind_mean_{axis}", self.times)
            off.append((self.motion[f"wind_{axis}"] - truth)[known] / KNOT)
            sds.append(self.motion.sds[f"wind_{axis}"][known] / KNOT)
        return {
            "wind components": tally(np.concatenate(off), np.concatenate(sds)),
            "wind vector": tally(np.hypot(*off), np.hypot(*sds)),
        }

    def eights(self) -> list[dict[str, object]]:
        """Exit minus entry of every complete lazy eight at its true times: error and sd of each quantity."""
        found = []
        hidden = self.in_long_gaps()
        for maneuver in self.lesson.flight.maneuvers:
            begin, end = maneuver.start - self.shift, maneuver.end - self.shift
            inside = self.motion.start <= begin and end <= self.motion.end
            if maneuver.kind == "lazy_eight" and maneuver.status == "complete" and inside:
                in_gap = bool(hidden[self.motion.index(begin)] or hidden[self.motion.index(end)])
                found.append({"in_gap": in_gap, "start": maneuver.start, **self._change(begin, end)})
        return found

    def _change(self, begin: float, end: float) -> dict[str, tuple[float, float]]:
        drawn = self.motion.draws(start=begin - 0.5, end=end + 0.5, count=200, names=list(EIGHT))
        pressure = self.motion.altitude_kind == "altimeter"
        columns = {"altitude": "pressure_altitude" if pressure else "geometric_altitude"}
        found = {}
        for name, (_, unit) in EIGHT.items():
            ends = np.array([begin, end])
            true = np.diff(self.lesson.at(columns.get(name, name), ends + self.shift))[0]
            told = self.motion.at(name, end) - self.motion.at(name, begin)
            changes = [np.diff(np.interp(ends, drawn.time, row))[0] for row in drawn[name]]
            off = wrap_angle(told - true) if name == "heading_true" else told - true
            found[name] = (float(off / unit), float(np.std(changes) / unit))
        return found
