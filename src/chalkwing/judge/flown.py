"""One occurrence as joint draws: every quantity that definitions name, over the window around it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.find.occurrence import Occurrence
from chalkwing.judge.ground_reference import GroundPlace
from chalkwing.judge.kernels import sample
from chalkwing.maneuvers.vocabulary import QUANTITIES
from chalkwing.motion.motion import Motion, Origin
from chalkwing.units import STANDARD_GRAVITY, Floats, wrap_angle

LEAD = 16.0
"""Seconds drawn before the occurrence: the entry is looked at 10 s back from an edge that may shift."""
TAIL = 9.0
"""Seconds drawn after it: a rollout may end later than the finder thought."""


SEA_LEVEL_DENSITY = 1.225
JUST_BEFORE = 1.5
"""Seconds before a break at which the bank is that of the stall's entry."""
LOOK_BACK = 1.0
"""Seconds before a break over which the stall speed is read."""
RATE_OVER = 4.0
"""Seconds over which a rate of roll or of pitch is taken: one row a second shows no quicker change."""
_NEED_SHEET = frozenset(
    ("margin_over_stall", "margin_over_accelerated_stall", "stall_speed_over_sheet", "over_maneuvering_speed")
)


def mean_over(signal: Floats, before: float, after: float, interval: float) -> Floats:
    """The mean of each draw from ``before`` seconds before each place to ``after`` seconds after it."""
    back, ahead = round(before / interval), round(after / interval)
    total = np.concatenate([np.zeros((len(signal), 1)), np.cumsum(signal, axis=1)], axis=1)
    count = signal.shape[1]
    first = np.clip(np.arange(count) - back, 0, count - 1)
    last = np.clip(np.arange(count) + ahead, 0, count - 1)
    return np.asarray((total[:, last + 1] - total[:, first]) / (last + 1 - first))


def moments(values: Floats) -> tuple[float, float]:
    """Mean and standard deviation of the finite values; ``nan`` where there is none."""
    finite = values[np.isfinite(values)]
    if len(finite) == 0:
        return float("nan"), float("nan")
    return float(finite.mean()), float(finite.std())


class Terrain(Protocol):
    """The ground under a flight."""

    @property
    def height_sd(self) -> float:
        """Standard deviation of the terrain's height [m]."""
        ...

    def height(self, *, latitude: Floats, longitude: Floats) -> Floats:
        """Height of the ground above mean sea level [m] at places [rad]; ``nan`` where it is not known."""
        ...


class OnGround(Protocol):
    """What an occurrence is flown by on the ground, and what follows from it in every draw."""

    @property
    def places(self) -> tuple[GroundPlace, ...]:
        """Where it is."""
        ...

    @property
    def given(self) -> bool:
        """Whether a user gave it."""
        ...

    def lacks(self, flown: Flown, name: str, part: int) -> str | None:
        """Why quantity ``name`` does not exist for a part; None where it does."""
        ...

    def signal(self, flown: Flown, name: str, part: int) -> Floats:
        """Quantity ``name`` of a part [SI], (draws, times)."""
        ...

    def fitted(self, flown: Flown, name: str, part: int) -> Floats:
        """The figure ``name`` fitted to a part as a whole [SI], (draws,)."""
        ...

    def fewer(self, count: int) -> OnGround:
        """The same with only the first ``count`` draws."""
        ...


GROUND_QUANTITIES = frozenset(each.name for each in QUANTITIES.values() if each.needs == "ground")

_TURNED: dict[str, str] = {
    "heading": "heading_true",
    "bank_into_turn": "bank",
    "turn_rate_into_turn": "turn_rate",
    "roll_rate_into_turn": "roll_rate",
}
"""Quantities of the Motion whose sign is counted toward the turn."""

_SOURCES: dict[str, tuple[str, ...]] = {
    **{name: (source,) for name, source in _TURNED.items()},
    "heading_change": ("heading_true",),
    "altitude_change": ("altitude",),
    "airspeed_change": ("airspeed",),
    "height_above_ground": ("geometric_altitude", "latitude", "longitude"),
    "margin_over_stall": ("calibrated_airspeed",),
    "margin_over_accelerated_stall": ("calibrated_airspeed", "load_factor"),
    "turns_flown": ("heading_true",),
    "tailwind": ("wind_north", "wind_east", "heading_true"),
    "wind_correction": ("heading_true", "track"),
    "stall_speed_1g": ("calibrated_airspeed", "load_factor"),
    "stall_speed_over_sheet": ("calibrated_airspeed", "load_factor"),
    "over_maneuvering_speed": ("calibrated_airspeed",),
    "over_climb_speed": ("calibrated_airspeed",),
    "wing_drop": ("bank",),
}
"""Quantities of the Motion from which a definition's quantity is made, where it is not one itself."""

_ALWAYS = (
    "heading_true", "heading_magnetic", "bank", "turn_rate", "true_airspeed",
    "airspeed", "altitude", "pitch",
)  # fmt: skip


def sources(name: str) -> tuple[str, ...]:
    """The quantities of a Motion that the definition's quantity ``name`` is made from."""
    return _SOURCES.get(name, (name,))


@dataclass(frozen=True)
class Flown:
    """The draws of one occurrence. Arrays are (draws, times); places are in steps from ``start`` [s].

    ``signs`` holds +1 for each part that turns right, -1 left. ``points[part][name]`` are the places of the
    definition's points, (draws,), filled by `chalkwing.judge.points`; ``ground`` what the maneuver goes by
    on the ground, where it does.
    """

    motion: Motion
    occurrence: Occurrence
    start: float
    interval: float
    values: dict[str, Floats]
    signs: tuple[int, ...]
    sheet: AirplaneSheet | None
    terrain: Floats | None
    points: tuple[dict[str, Floats], ...] = ()
    ground: OnGround | None = None
    mass: float | None = None
    made: dict[tuple[str, int], Floats] = field(default_factory=dict, repr=False)

    @property
    def count(self) -> int:
        """How many draws there are."""
        return int(self.values["bank"].shape[0])

    def place(self, time: float) -> float:
        """The place of a time [s]."""
        return (time - self.start) / self.interval

    def time(self, places: Floats) -> Floats:
        """The times [s] of places."""
        return np.asarray(self.start + self.interval * places)

    def holds(self, name: str) -> bool:
        """Whether quantity ``name`` can be had from this Motion, sheet and terrain.

        What needs a place on the ground is asked of each part: see `OnGround.lacks`.
        """
        if name in GROUND_QUANTITIES:
            return True
        if name == "height_above_ground" and self.terrain is None:
            return False
        if name in _NEED_SHEET and self.sheet is None:
            return False
        if name == "over_climb_speed" and (self.sheet is None or not self.sheet.handbook.climbs):
            return False
        return all(source in self.values for source in sources(name))

    def origin(self, name: str) -> Origin:
        """Measured only if everything that quantity ``name`` is made from was measured."""
        if name in GROUND_QUANTITIES:
            return "derived"
        origins = {self.motion.origins.get(source, "derived") for source in sources(name)}
        return "measured" if origins == {"measured"} else "derived"

    @property
    def day_mass(self) -> float:
        """The mass [kg] that was given, else the sheet's; only where there is a sheet."""
        assert self.sheet is not None  # holds() was asked first
        return self.sheet.mass if self.mass is None else self.mass

    @property
    def level_stall_speed(self) -> float:
        """The sheet's calibrated 1 g stall speed at the day's mass, clean [m/s]."""
        assert self.sheet is not None  # holds() was asked first
        return self.sheet.speed_at_mass(self.sheet.stall_speed, self.day_mass)

    def signal(self, name: str, part: int) -> Floats:
        """The definition's quantity ``name`` [SI], its sign counted toward the turn of ``part``."""
        key = (name, part)
        if key not in self.made:
            self.made[key] = self._make(name, part)
        return self.made[key]

    def _make(self, name: str, part: int) -> Floats:
        if name in GROUND_QUANTITIES and self.ground is not None:
            return self.ground.signal(self, name, part)
        source = _TURNED.get(name)
        if source is not None:
            return self.signs[part] * self._steadied(source)
        maker = _MAKERS.get(name)
        return self._steadied(name) if maker is None else maker(self, part)

    def _steadied(self, name: str) -> Floats:
        """A quantity of the Motion, rates of roll and pitch taken over `RATE_OVER`."""
        if name not in ("roll_rate", "pitch_rate"):
            return self.values[name]
        return mean_over(self.values[name], 0.5 * RATE_OVER, 0.5 * RATE_OVER, self.interval)

    def at(self, name: str, part: int, places: Floats) -> Floats:
        """Each draw's value of ``name`` at its own place.

        Where the quantity is one of the Motion's seen from the turn, only the places asked for are turned.
        """
        if name == "heading_change":
            return self.at("heading", part, places) - self.heading_begun(part)
        source = _TURNED.get(name)
        if source is not None:
            return self.signs[part] * sample(self.values[source], places)
        return sample(self.signal(name, part), places)

    def heading_begun(self, part: int) -> Floats:
        """The heading at which ``part`` begins, in every draw, its sign counted toward its turn [rad]."""
        return self.at("heading", part, self.points[part]["turn_starts"])

    def fewer(self, count: int) -> Flown:
        """The same with only the first ``count`` draws: enough for the mean and sd of a fact."""
        if count >= self.count:
            return self
        return replace(
            self,
            values={name: np.ascontiguousarray(values[:count]) for name, values in self.values.items()},
            points=tuple({name: at[:count] for name, at in part.items()} for part in self.points),
            made={},
            ground=None if self.ground is None else self.ground.fewer(count),
            terrain=None if self.terrain is None else self.terrain[:count],
        )


def _from_entry(source: str) -> Callable[[Flown, int], Floats]:
    def change(flown: Flown, part: int) -> Floats:
        entry = flown.at(source, part, flown.points[0]["turn_starts"])
        return flown.values[source] - entry[:, None]

    return change


def _heading_change(flown: Flown, part: int) -> Floats:
    return flown.signal("heading", part) - flown.heading_begun(part)[:, None]


def _height_above_ground(flown: Flown, part: int) -> Floats:
    assert flown.terrain is not None  # holds() was asked first
    return flown.values["geometric_altitude"] - flown.terrain


def _margin(flown: Flown, part: int) -> Floats:
    return flown.values["calibrated_airspeed"] - flown.level_stall_speed


def _accelerated_margin(flown: Flown, part: int) -> Floats:
    stall = flown.level_stall_speed * np.sqrt(np.maximum(flown.values["load_factor"], 0.0))
    return np.asarray(flown.values["calibrated_airspeed"] - stall)


def _tailwind(flown: Flown, part: int) -> Floats:
    heading, values = flown.values["heading_true"], flown.values
    return np.asarray(values["wind_north"] * np.cos(heading) + values["wind_east"] * np.sin(heading))


def _wind_correction(flown: Flown, part: int) -> Floats:
    return np.asarray(wrap_angle(flown.values["heading_true"] - flown.values["track"]))


def calibrated_by_sheet(flown: Flown) -> Floats:
    """Calibrated airspeed [m/s]: an indicated one that was recorded is put through the sheet's table."""
    measured = flown.motion.origins.get("indicated_airspeed") == "measured"
    if measured and corrects(flown.sheet) and "indicated_airspeed" in flown.values:
        assert flown.sheet is not None  # it corrects
        return np.asarray(flown.sheet.calibrated(flown.values["indicated_airspeed"]))
    return flown.values["calibrated_airspeed"]


def corrects(sheet: AirplaneSheet | None) -> bool:
    """Whether there is a sheet with an airspeed correction."""
    return sheet is not None and bool(sheet.indicated_to_calibrated)


def _stall_speed(flown: Flown, part: int) -> Floats:
    """V/sqrt(n), the mean of the second before: once the wing has let go, the load tells nothing more."""
    speed = calibrated_by_sheet(flown) / np.sqrt(np.maximum(flown.values["load_factor"], 0.3))
    return mean_over(speed, LOOK_BACK, 0.0, flown.interval)


def _wing_drop(flown: Flown, part: int) -> Floats:
    """Bank beyond the range from level to that just before the break, zero until then.

    Rolling level from a turn is no wing drop; a break placed a little late has part of the drop behind it.
    """
    bank = flown.values["bank"]
    until = flown.points[part]["breaks"] - JUST_BEFORE / flown.interval
    begun = flown.at("bank", part, until)[:, None]
    beyond = bank - np.clip(bank, np.minimum(begun, 0.0), np.maximum(begun, 0.0))
    return np.where(np.arange(bank.shape[1]) > until[:, None], beyond, 0.0)


def _stall_over_sheet(flown: Flown, part: int) -> Floats:
    return _stall_speed(flown, part) - flown.level_stall_speed


def _over_maneuvering(flown: Flown, part: int) -> Floats:
    assert flown.sheet is not None  # holds() was asked first
    return flown.values["calibrated_airspeed"] - flown.sheet.maneuvering_speed_at(flown.day_mass)


def _over_climb(flown: Flown, part: int) -> Floats:
    """Over the airspeed of the manual's climbs; calibrated and equivalent hardly differ at such heights."""
    assert flown.sheet is not None  # holds() was asked first
    climbs = flown.sheet.handbook.climbs
    speed = np.mean([row.true_airspeed * np.sqrt(row.density / SEA_LEVEL_DENSITY) for row in climbs])
    return np.asarray(flown.values["calibrated_airspeed"] - speed)


_MAKERS: dict[str, Callable[[Flown, int], Floats]] = {
    "tailwind": _tailwind,
    "wind_correction": _wind_correction,
    "heading_change": _heading_change,
    "altitude_change": _from_entry("altitude"),
    "airspeed_change": _from_entry("airspeed"),
    "height_above_ground": _height_above_ground,
    "margin_over_stall": _margin,
    "margin_over_accelerated_stall": _accelerated_margin,
    "stall_speed_1g": _stall_speed,
    "wing_drop": _wing_drop,
    "stall_speed_over_sheet": _stall_over_sheet,
    "over_maneuvering_speed": _over_maneuvering,
    "over_climb_speed": _over_climb,
}


def turning_bank(flown: Flown, part: int) -> Floats:
    """The bank by which the edges of a turn are found, into the turn [rad].

    Measured bank is used as it is. A derived bank carries the doubt of a steady slip, which would move the
    edges though the turn itself is well known; the bank that a coordinated turn of the same rate needs
    (tan(bank) = V * turn rate / g) has no such doubt.
    """
    if flown.motion.origins.get("bank") == "measured" or "turn_rate" not in flown.values:
        return flown.signal("bank_into_turn", part)
    turning = flown.values["true_airspeed"] * flown.values["turn_rate"] / STANDARD_GRAVITY
    return np.asarray(flown.signs[part] * np.arctan(turning))


def draw(
    motion: Motion,
    occurrence: Occurrence,
    names: Sequence[str],
    *,
    count: int,
    seed: int,
    sheet: AirplaneSheet | None,
    terrain: Terrain | None,
    mass: float | None = None,
    tail: float = TAIL,
) -> Flown:
    """Joint draws over the occurrence, its lead and its tail, of what ``names`` need and the Motion holds."""
    wanted = {*_ALWAYS, *(source for name in names for source in sources(name))}
    drawn = motion.draws(
        start=occurrence.start - LEAD,
        end=occurrence.end + tail,
        count=count,
        seed=seed,
        names=sorted(name for name in wanted if name in motion),
    )
    values = {name: np.ascontiguousarray(rows) for name, rows in drawn.values.items()}
    return Flown(
        motion=motion,
        occurrence=occurrence,
        start=float(drawn.time[0]),
        interval=motion.interval,
        values=values,
        signs=tuple(-1 if part.direction == "left" else 1 for part in occurrence.parts),
        sheet=sheet,
        terrain=_terrain(values, terrain, seed),
        mass=mass,
    )


def _terrain(values: dict[str, Floats], terrain: Terrain | None, seed: int) -> Floats | None:
    """Ground height under the mean path, with one unknown offset per draw; meters sideways matter less."""
    if terrain is None or "latitude" not in values or "geometric_altitude" not in values:
        return None
    ground = terrain.height(
        latitude=values["latitude"].mean(axis=0), longitude=values["longitude"].mean(axis=0)
    )
    offset = np.random.default_rng([seed, 1]).normal(0.0, terrain.height_sd, len(values["latitude"]))
    return np.asarray(ground[None, :] + offset[:, None])
