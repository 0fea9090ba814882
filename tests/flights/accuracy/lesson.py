"""One simulated lesson laid on a recording's clock, and the truth as a Motion of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl
from tests.flights.recorders import first_row
from tests.flights.truth import TruthFlight, load

from chalkwing.motion.motion import AltitudeKind, Motion
from chalkwing.recordings import Recording
from chalkwing.units import Floats

GRID = 0.25
TURN_OF = {"lazy_eight": 2 * np.pi, "chandelle": np.pi, "steep_turn": 2 * np.pi}
"""All the turning of a complete maneuver [rad]."""


@dataclass(frozen=True)
class Lesson:
    """The truth of one lesson; its table has 20 rows a second."""

    folder: Path
    flight: TruthFlight

    @property
    def name(self) -> str:
        return self.folder.name

    @property
    def airplane(self) -> str:
        return str(self.flight.facts["airplane"])

    @property
    def time(self) -> Floats:
        return np.asarray(self.flight.table["time"].to_numpy())

    def at(self, column: str, times: Floats) -> Floats:
        """A column of the truth at ``times`` [s of the truth's own clock]."""
        return np.asarray(np.interp(times, self.time, self.flight.table[column].to_numpy()))


def lesson_in(folder: Path) -> Lesson:
    return Lesson(folder, load(folder))


def clock_shift(lesson: Lesson, recording: Recording, file: str) -> float:
    """Seconds to add to the recording's clock to get the truth's: known from how ``file`` was made.

    A recorder that is late as a whole counts as wrong by so much, though nobody on board could tell.
    """
    row = first_row(lesson.flight, Path(file).stem, lesson.flight.seed)
    return row - float(recording.time[0])


@dataclass(frozen=True)
class Certain:
    """A posterior without any doubt: every draw is the truth."""

    values: Mapping[str, Floats]

    def draw(self, first: int, last: int, *, count: int, seed: int) -> Mapping[str, Floats]:
        return {name: np.tile(row[first : last + 1], (count, 1)) for name, row in self.values.items()}


def _over_ground(lesson: Lesson, time: Floats) -> dict[str, Floats]:
    """Place, ground velocity, wind and path of the truth, as a Motion names them."""
    straight = ("latitude", "longitude", "geometric_altitude", "angle_of_attack")
    north, east, down = (lesson.at(f"velocity_{axis}", time) for axis in ("north", "east", "down"))
    speed = np.hypot(north, east)
    step = time[1] - time[0]
    return {
        **{name: lesson.at(name, time) for name in straight},
        "velocity_north": north,
        "velocity_east": east,
        "vertical_speed": -down,
        "ground_speed": speed,
        "track": np.unwrap(np.arctan2(east, north)),
        "position_north": np.cumsum(north) * step,
        "position_east": np.cumsum(east) * step,
        "path_angle": np.arctan2(-down, np.maximum(speed, 1.0)),
        "wind_north": lesson.at("wind_mean_north", time),
        "wind_east": lesson.at("wind_mean_east", time),
    }


def truth_motion(lesson: Lesson, altitude_kind: AltitudeKind) -> Motion:
    """The truth on a Motion's grid and on its own clock, so that the judge can be asked what is true."""
    time = np.arange(0.0, lesson.time[-1], GRID)
    altitude = "pressure_altitude" if altitude_kind == "altimeter" else "geometric_altitude"
    straight = ("bank", "pitch", "heading_true", "true_airspeed", "calibrated_airspeed", "load_factor")
    values = {name: lesson.at(name, time) for name in straight}
    values["altitude"] = lesson.at(altitude, time)
    values["airspeed"] = values["calibrated_airspeed"]
    # The table's are those about the body's axes; a Motion's are how fast these angles change.
    for rate, angle in (("turn_rate", "heading_true"), ("roll_rate", "bank"), ("pitch_rate", "pitch")):
        values[rate] = np.gradient(values[angle], time)
    values |= _over_ground(lesson, time)
    return Motion(
        time=time,
        values=values,
        sds={name: np.zeros(len(time)) for name in values},
        origins=dict.fromkeys(values, "measured"),
        airspeed_kind="calibrated",
        altitude_kind=altitude_kind,
        in_gap=np.zeros(len(time), dtype=np.bool_),
        recording=Recording(pl.DataFrame({"time": time}), {}, "truth", "none", "", len(time)),
        posterior=Certain(values),
    )
