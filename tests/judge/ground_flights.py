"""Flights over the ground of known truth: a point of mass in a steady wind, flown by a bank and a height law.

Nothing of the judge or the planner is used: heading by tan(bank) = V * turn rate / g, place by adding up the
velocity, in steps of a twentieth of a second. The airplane's nose points along its flight through the air, so
that its wing line is square to it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from tests.judge.synthetic import INTERVAL, Error, Scattered, recording

from chalkwing.earth import LocalFrame
from chalkwing.find.occurrence import Direction, Occurrence, Part
from chalkwing.motion.motion import Motion
from chalkwing.units import STANDARD_GRAVITY, Floats

STEP = 0.05
ROLL = 4.0
"""Seconds of every roll-in and rollout."""
FRAME = LocalFrame(latitude=0.8, longitude=0.1)


@dataclass
class Pilot:
    """A flight being flown. ``wind`` is the velocity of the air (north, east) [m/s]."""

    wind: tuple[float, float] = (0.0, 0.0)
    speed: float = 50.0
    altitude: float = 400.0
    heading: float = 0.0
    north: float = 0.0
    east: float = 0.0
    rows: list[tuple[float, ...]] = field(default_factory=list)
    edges: list[tuple[Direction, float, float]] = field(default_factory=list)

    @property
    def now(self) -> float:
        """The time [s]."""
        return len(self.rows) * STEP

    @property
    def velocity(self) -> tuple[float, float]:
        """Over the ground, north and east [m/s]."""
        return (
            self.speed * np.cos(self.heading) + self.wind[0],
            self.speed * np.sin(self.heading) + self.wind[1],
        )

    @property
    def track(self) -> float:
        """[rad]"""
        return float(np.arctan2(self.velocity[1], self.velocity[0]))

    def step(self, bank: float, altitude: float | None = None) -> None:
        """Fly a twentieth of a second at this bank [rad, right positive]."""
        before = self.altitude
        self.rows.append((self.north, self.east, self.heading, self.altitude, bank, self.speed))
        turn = STANDARD_GRAVITY * np.tan(bank) / self.speed * STEP
        self.heading += 0.5 * turn
        north, east = self.velocity
        self.north, self.east = self.north + north * STEP, self.east + east * STEP
        self.heading += 0.5 * turn
        self.altitude = before if altitude is None else altitude

    def straight(self, seconds: float, *, altitude: Callable[[float], float] | None = None) -> None:
        """Wings level."""
        for k in range(round(seconds / STEP)):
            self.step(0.0, None if altitude is None else altitude(k * STEP))

    def turn(
        self,
        direction: Direction,
        law: Callable[[Pilot], float],
        *,
        angle: float,
        height: Callable[[Pilot], float] | None = None,
        mark: bool = True,
    ) -> None:
        """Turn through ``angle`` of heading [rad], rolling in and out; ``law`` gives the bank [rad].

        The rollout begins where its half of the roll will bring the heading round.
        """
        side = 1.0 if direction == "right" else -1.0
        began, first, rolled = self.now, self.heading, 0.0
        while True:
            bank = law(self)
            lead = 0.5 * ROLL * STANDARD_GRAVITY * np.tan(bank) / self.speed
            if side * (self.heading - first) >= angle - lead:
                break
            rolled = min(rolled + STEP / ROLL, 1.0)
            self.step(side * bank * _smooth(rolled), None if height is None else height(self))
        while rolled > 0.0:
            rolled -= STEP / ROLL
            self.step(side * law(self) * _smooth(max(rolled, 0.0)), None if height is None else height(self))
        if mark:
            self.edges.append((direction, began, self.now))


def _smooth(share: float) -> float:
    return share * share * (3.0 - 2.0 * share)


def circle_law(radius: float) -> Callable[[Pilot], float]:
    """The bank that holds a circle of this radius over the ground [m], in any wind.

    The ground velocity G turns at a rate |G|/R; its change is the turn of the airspeed V alone, at a right
    angle to V. The component across G: V * rate * cos(drift) = G²/R.
    """

    def bank(pilot: Pilot) -> float:
        north, east = pilot.velocity
        ground = float(np.hypot(north, east))
        cosine = (north * np.cos(pilot.heading) + east * np.sin(pilot.heading)) / ground
        return float(np.arctan(ground**2 / (radius * STANDARD_GRAVITY * cosine)))

    return bank


def wing_on(pilot: Pilot, pylon: tuple[float, float, float], side: float) -> float:
    """The bank [rad] whose wing line is as far depressed as the pylon abeam (north, east, height [m])."""
    north, east = pylon[0] - pilot.north, pylon[1] - pilot.east
    abeam = side * (east * np.cos(pilot.heading) - north * np.sin(pilot.heading))
    return float(np.arctan2(pilot.altitude - pylon[2], max(abeam, 1.0)))


def quantities(pilot: Pilot) -> dict[str, Floats]:
    """Everything the judge may ask, on the grid of the Motions."""
    rows = np.array(pilot.rows)[:: round(INTERVAL / STEP)]
    north, east, heading, altitude, bank, speed = (np.ascontiguousarray(column) for column in rows.T)
    climb = np.gradient(altitude, INTERVAL)
    ground_north = speed * np.cos(heading) + pilot.wind[0]
    ground_east = speed * np.sin(heading) + pilot.wind[1]
    latitude, longitude = FRAME.to_earth(north, east)
    flat = np.ones(len(north))
    return {
        "position_north": north,
        "position_east": east,
        "latitude": np.asarray(latitude),
        "longitude": np.asarray(longitude),
        "geometric_altitude": altitude,
        "altitude": altitude.copy(),
        "heading_true": heading,
        "heading_magnetic": heading.copy(),
        "bank": bank,
        "pitch": np.arcsin(np.clip(climb / speed, -0.9, 0.9)),
        "path_angle": np.arcsin(np.clip(climb / speed, -0.9, 0.9)),
        "true_airspeed": speed,
        "airspeed": speed.copy(),
        "calibrated_airspeed": speed.copy(),
        "turn_rate": np.gradient(heading, INTERVAL),
        "roll_rate": np.gradient(bank, INTERVAL),
        "pitch_rate": 0.0 * flat,
        "vertical_speed": climb,
        "load_factor": 1.0 / np.cos(bank),
        "specific_energy": altitude + speed**2 / (2.0 * STANDARD_GRAVITY),
        "ground_speed": np.hypot(ground_north, ground_east),
        "track": np.unwrap(np.arctan2(ground_east, ground_north)),
        "wind_north": pilot.wind[0] * flat,
        "wind_east": pilot.wind[1] * flat,
    }


def landed(
    pilot: Pilot,
    kind: str,
    *,
    errors: Mapping[str, Error] | None = None,
    seed: int | None = None,
    edges: list[tuple[Direction, float, float]] | None = None,
    edge_error: float = 0.0,
) -> tuple[Motion, Occurrence, dict[str, Floats]]:
    """The flight as a Motion, what was flown in it, and the truth; see `recorded`."""
    truth = quantities(pilot)
    motion, occurrence = recorded(
        truth, edges or pilot.edges, kind, errors=errors, seed=seed, edge_error=edge_error
    )
    return motion, occurrence, truth


def recorded(
    truth: Mapping[str, Floats],
    edges: list[tuple[Direction, float, float]],
    kind: str,
    *,
    errors: Mapping[str, Error] | None = None,
    unseen: Mapping[str, Error] | None = None,
    seed: int | None = None,
    edge_error: float = 0.0,
) -> tuple[Motion, Occurrence]:
    """Quantities on the grid of 0.25 s as a Motion, and what was flown between ``edges`` [s].

    With ``seed`` the Motion's values are the truth plus one sample of ``errors``, as an estimate's would be,
    and one of ``unseen``, of which the draws know nothing.
    """
    time = np.arange(len(truth["bank"])) * INTERVAL
    reported, errors = dict(truth), errors or {}
    if seed is not None:
        rng = np.random.default_rng([seed, 7])
        for made in (errors, unseen or {}):
            for name, error in made.items():
                reported[name] = reported[name] + error.drawn(1, len(time), rng)[0]
        reported["latitude"], reported["longitude"] = (
            np.asarray(each) for each in FRAME.to_earth(reported["position_north"], reported["position_east"])
        )
    motion = Motion(
        time=time,
        values=reported,
        sds={name: np.full(len(time), errors[name].sd if name in errors else 0.0) for name in reported},
        origins=dict.fromkeys(reported, "measured"),
        airspeed_kind="indicated",
        altitude_kind="altimeter",
        in_gap=np.zeros(len(time), dtype=bool),
        recording=recording(),
        posterior=Scattered(reported, errors),
    )
    parts = tuple(
        Part(direction, start + edge_error, end + edge_error, 0.5, 0.5) for direction, start, end in edges
    )
    occurrence = Occurrence(
        kind=kind, direction=parts[0].direction, start=parts[0].start, end=parts[-1].end, start_sd=0.5,
        end_sd=0.5, probability=1.0, status="complete", parts=parts,
    )  # fmt: skip
    return motion, occurrence


def revolutions(pilot: Pilot) -> list[tuple[Direction, float, float]]:
    """The one turn flown, cut where the heading has come round."""
    direction, start, end = pilot.edges[0]
    heading = np.abs(np.array([row[2] for row in pilot.rows]) - pilot.rows[round(start / STEP)][2])
    count = round(float(heading[-1]) / (2.0 * np.pi))
    inner = [float(np.argmax(heading >= turn * 2.0 * np.pi) * STEP) for turn in range(1, count)]
    return [(direction, first, last) for first, last in pairwise([start, *inner, end])]
