"""One occurrence as joint draws: every quantity that definitions name, over the window around it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.find.occurrence import Occurrence
from chalkwing.judge.ground_reference import GroundPlace
from chalkwing.judge.kernels import sample
from chalkwing.judge.made import MAKERS, NEED_SHEET, TURNED, sources
from chalkwing.judge.over_draws import mean_over
from chalkwing.maneuvers.vocabulary import QUANTITIES
from chalkwing.motion.motion import Motion, Origin
from chalkwing.units import Floats

RATE_OVER = 4.0
"""Seconds over which a rate of roll or of pitch is taken: one row a second shows no quicker change."""
GROUND_QUANTITIES = frozenset(each.name for each in QUANTITIES.values() if each.needs == "ground")


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
        if name in NEED_SHEET and self.sheet is None:
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
        source = TURNED.get(name)
        if source is not None:
            return self.signs[part] * self._steadied(source)
        maker = MAKERS.get(name)
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
        source = TURNED.get(name)
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
