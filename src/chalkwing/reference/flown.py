"""From re-flown turns to the time histories of a Reference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.reference.situation import Situation
from chalkwing.refly import Flown, State
from chalkwing.units import STANDARD_GRAVITY, Floats


@dataclass(frozen=True)
class FlownPart:
    """One turn as flown through still air, from ``start`` [s] on; ``side`` is +1 right, -1 left."""

    flown: Flown
    side: float
    start: float = 0.0

    @property
    def end(self) -> float:
        """When it ended [s]."""
        return self.start + float(self.flown.time[-1])


def level_start(situation: Situation, true_airspeed: float) -> State:
    """Level flight at entry, at the entry heading."""
    return State(0.0, 0.0, 0.0, true_airspeed, 0.0, situation.entry_heading)


def histories(situation: Situation, parts: Sequence[FlownPart]) -> tuple[Floats, dict[str, Floats]]:
    """Time and all of ``VALUES`` over the parts, which join at their ends.

    The parts are flown in the air mass; the path over the ground adds the wind at each height.
    """
    time = np.concatenate([part.start + part.flown.time for part in parts])
    raw = {name: np.concatenate([part.flown[name] for part in parts]) for name in parts[0].flown.values}
    height, speed = raw["geometric_altitude"], raw["true_airspeed"]
    energy = height + speed**2 / (2.0 * STANDARD_GRAVITY)
    ground_north, ground_east = _over_ground(situation, time, raw)
    values = {
        "part": np.repeat(np.arange(1.0, len(parts) + 1.0), [len(part.flown.time) for part in parts]),
        "heading_change": np.concatenate([_turned(part) for part in parts]),
        "heading_true": np.unwrap(raw["heading_true"]),
        "bank_into_turn": np.concatenate([part.side * part.flown["bank"] for part in parts]),
        "pitch": raw["pitch"],
        "path_angle": raw["path_angle"],
        "true_airspeed": speed,
        "calibrated_airspeed": np.asarray(situation.calibrated_from_true(speed, height)),
        "altitude_change": height / situation.stretch,
        "height_change": height,
        "load_factor": raw["load_factor"],
        "throttle": raw["throttle"],
        "angle_of_attack": raw["angle_of_attack"],
        "roll_rate": np.concatenate([part.side * _rate(part.flown, "bank") for part in parts]),
        "pitch_rate": np.concatenate([_rate(part.flown, "pitch") for part in parts]),
        "air_north": raw["position_north"],
        "air_east": raw["position_east"],
        "ground_north": ground_north,
        "ground_east": ground_east,
        "specific_energy": energy - energy[0],
    }
    return time, values


def _turned(part: FlownPart) -> Floats:
    nose = np.unwrap(part.flown["heading_true"])
    turned: Floats = part.side * (nose - nose[0])
    return turned


def _rate(flown: Flown, name: str) -> Floats:
    rate: Floats = np.gradient(flown[name], flown.time)
    return rate


def _over_ground(situation: Situation, time: Floats, raw: dict[str, Floats]) -> tuple[Floats, Floats]:
    steps = np.diff(time)
    moved = []
    for name, wind in zip(
        ("position_north", "position_east"), situation.wind(raw["geometric_altitude"]), strict=True
    ):
        blown = np.concatenate(([0.0], np.cumsum(0.5 * (wind[1:] + wind[:-1]) * steps)))
        moved.append(raw[name] + blown)
    return moved[0], moved[1]
