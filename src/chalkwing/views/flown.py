"""What was flown, part by part, from a Motion: best values, their joint doubt, and the raw rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.motion import Motion
from chalkwing.motion.motion import Draws
from chalkwing.units import DEGREE, FOOT, Floats
from chalkwing.views.quantities import SHOWN, Shown
from chalkwing.views.traces import Mark, Samples, Trace

DRAWS = 100
"""Joint draws behind a band: its width is known to 7 %."""
_BEFORE_ENTRY = 5.0
"""Seconds before the entry over which level attitude is the mean."""


@dataclass(frozen=True)
class Stretch:
    """One part's time [s of the recording] and its sign: +1 turning right."""

    start: float
    end: float
    sign: int


@dataclass(frozen=True)
class Flight:
    """A Motion around one maneuver, with joint draws and what its entry was [SI]."""

    motion: Motion
    draws: Draws
    start: float
    level_pitch: float

    @classmethod
    def around(cls, motion: Motion, start: float, end: float) -> Flight:
        """Draws from a little before ``start`` to a little after ``end`` [s]."""
        names = sorted({each.source for each in SHOWN if each.source in motion} | {"path_angle"})
        drawn = motion.draws(
            start=start - _BEFORE_ENTRY, end=end + motion.interval, count=DRAWS, seed=0, names=names
        )
        return cls(motion, drawn, start, level_pitch(motion, start))

    def known(self) -> list[Shown]:
        """The quantities that this Motion holds and that are not empty."""
        return [
            each
            for each in SHOWN
            if each.source in self.motion and bool(np.isfinite(self.motion[each.source]).all())
        ]

    def values(self, shown: Shown, times: Floats, sign: int) -> Floats:
        """Best values in the pilot unit at times [s]."""
        si = np.interp(times, self.motion.time, self.motion[shown.source])
        return self._told(shown, si, sign)

    def sds(self, shown: Shown, times: Floats) -> Floats:
        """Joint sd in the pilot unit: changes from entry, and pitch from level, carry only their own."""
        rows = self.draws[shown.source]
        entry = int(np.argmin(np.abs(self.draws.time - self.start)))
        if shown.from_entry:
            rows = rows - rows[:, [entry]]
        if shown.name == "pitch_from_level_deg":
            before = slice(0, entry + 1)
            level = rows[:, before] - self.draws["path_angle"][:, before]
            rows = rows - level.mean(axis=1)[:, None]
        spread: Floats = np.interp(times, self.draws.time, rows.std(axis=0)) / shown.scale
        return spread

    def samples(self, shown: Shown, part: Stretch) -> Samples | None:
        """The raw rows within a part; None where the file does not hold this quantity."""
        found = self._recorded(shown)
        if found is None:
            return None
        times, si = found
        inside = (times >= part.start) & (times <= part.end) & np.isfinite(si)
        if not inside.any():
            return None
        turned = self.heading_change(times[inside], part)
        return Samples(times[inside] - self.start, turned, self._told(shown, si[inside], part.sign))

    def heading_change(self, times: Floats, part: Stretch) -> Floats:
        """Of the nose [deg] in the direction of the part's turn, from where the part began."""
        motion = self.motion
        heading = np.interp(times, motion.time, motion["heading_true"])
        turned: Floats = part.sign * (heading - motion.at("heading_true", part.start)) / DEGREE
        return turned

    def _told(self, shown: Shown, si: Floats, sign: int) -> Floats:
        if shown.turned:
            si = sign * si
        if shown.from_entry:
            si = si - self.motion.at(shown.source, self.start)
        if shown.name == "pitch_from_level_deg":
            si = si - self.level_pitch
        return np.asarray(si / shown.scale)

    def _recorded(self, shown: Shown) -> tuple[Floats, Floats] | None:
        motion, recording = self.motion, self.motion.recording
        channels: tuple[str, ...] = shown.channels
        if shown.name == "airspeed_kt":
            channels = (f"{motion.airspeed_kind}_airspeed",)
        if shown.name == "altitude_change_ft":
            channels = ("pressure_altitude" if motion.altitude_kind == "altimeter" else "geometric_altitude",)
        for channel in channels:
            if channel in recording:
                return recording.samples(channel)
        if shown.name == "altitude_change_ft" and "altimeter_altitude" in recording:
            # The altimeter's setting shifts all its readings alike: laid on the estimate by their median.
            times, si = recording.samples("altimeter_altitude")
            near = np.abs(times - self.start) < 300.0
            estimate = np.interp(times, motion.time, motion[shown.source])
            return (times, si - float(np.median((si - estimate)[near]))) if near.any() else None
        return None


def level_pitch(motion: Motion, start: float) -> float:
    """The attitude [rad] that held level before the entry: pitch less path angle, the mean over 5 s."""
    last = motion.index(start)
    first = max(0, motion.index(start - _BEFORE_ENTRY))
    before = slice(first, last + 1)
    return float(np.mean(motion["pitch"][before] - motion["path_angle"][before]))


def flown_traces(flight: Flight, parts: Sequence[Stretch], marks: Sequence[tuple[Mark, ...]]) -> list[Trace]:
    """One trace a part, the nose running on from where the part before left it."""
    places = _places(flight.motion, flight.start)
    traces: list[Trace] = []
    start_deg, sense = 0.0, 1
    for k, part in enumerate(parts):
        times = _times(flight.motion, part)
        turned = flight.heading_change(times, part)
        if k and part.sign != parts[k - 1].sign:
            start_deg, sense = traces[-1].nose_of(float(traces[-1].heading_change_deg[-1])), -sense
        elif k:
            start_deg = 0.0 if sense == 1 else start_deg
        known = flight.known()
        raw = {each.name: flight.samples(each, part) for each in known}
        traces.append(
            Trace(
                part=k + 1,
                role="flown",
                time_s=times - flight.start,
                heading_change_deg=turned,
                values={each.name: flight.values(each, times, part.sign) for each in known}
                | {name: np.interp(times, flight.motion.time, column) for name, column in places.items()},
                marks=marks[k],
                start_deg=start_deg,
                sense=sense,
                sds={each.name: flight.sds(each, times) for each in known},
                samples={name: rows for name, rows in raw.items() if rows is not None},
            )
        )
    return traces


def whole_path(flight: Flight, parts: Sequence[Stretch]) -> dict[str, Floats]:
    """The places from the first part's start to the last one's end [ft]."""
    times = _times(flight.motion, Stretch(parts[0].start, parts[-1].end, 1))
    places = _places(flight.motion, flight.start)
    return {name: np.interp(times, flight.motion.time, column) for name, column in places.items()}


def _times(motion: Motion, part: Stretch) -> Floats:
    """The grid inside a part, and its very ends [s]."""
    inside = motion.time[(motion.time > part.start) & (motion.time < part.end)]
    return np.concatenate([[part.start], inside, [part.end]])


def _places(motion: Motion, start: float) -> Mapping[str, Floats]:
    """Over the ground and through the air from the entry [ft], on the Motion's grid."""
    found: dict[str, Floats] = {}
    for axis in ("north", "east"):
        over_ground = motion[f"position_{axis}"]
        steps = 0.5 * (motion[f"wind_{axis}"][1:] + motion[f"wind_{axis}"][:-1]) * np.diff(motion.time)
        drift = np.concatenate([[0.0], np.cumsum(steps)])
        for name, column in (("ground", over_ground), ("air", over_ground - drift)):
            found[f"{name}_{axis}_ft"] = (column - np.interp(start, motion.time, column)) / FOOT
    return found
