"""What the finder looks at: the Motion's quantities by the names definitions use, summed for quick legs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.find.scales import SLOWEST_FLIGHT, OwnScale, Scales, brought_to_one_g
from chalkwing.find.turns import Ints
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

_SOURCES: dict[str, str] = {
    "bank_into_turn": "bank",
    "turn_rate_into_turn": "turn_rate",
    "roll_rate_into_turn": "roll_rate",
    "heading": "heading_true",
    "altitude_change": "altitude",
    "airspeed_change": "airspeed",
}
"""Where a definition's quantity is another quantity of the Motion, seen from a turn or from the entry."""

TURNED = frozenset({"bank_into_turn", "turn_rate_into_turn", "roll_rate_into_turn", "heading"})
"""Quantities whose sign counts toward the turn."""

FROM_ENTRY = frozenset({"altitude_change", "airspeed_change"})
"""Quantities counted from entry; the finder takes each part's own: how far a half drifts is judged later."""

_SHOW_POWER = ("throttle", "power", "manifold_pressure", "engine_speed")
"""Channels that show power, the plainest first. Engine speed goes with airspeed too."""

_POWER_PERCENTILES = (1.0, 98.0)
"""Of a channel's values over the flight: idle, and the most."""

_POWER_MOVES = 0.25
"""Of the most: a channel that moves less never showed idle."""

_POWER_SD = 0.1
"""How roughly such a channel, put on this scale, is power."""


_GROUND_SD = 10.0
"""How far the ground that is rolled on may lie from the one found [m]: runways slope, altimeters lag."""


@dataclass(frozen=True)
class Quantity:
    """One quantity over the flight, with sums from which any leg's mean and slope follow at once."""

    values: Floats
    sds: Floats
    sums: Floats
    moments: Floats
    variances: Floats
    center: float

    @classmethod
    def of(cls, values: Floats, sds: Floats) -> Quantity:
        """Sum up ``values``, about their mean so that the sums keep their precision."""
        center = float(np.mean(values))
        level = values - center
        return cls(
            values=values,
            sds=sds,
            sums=_summed(level),
            moments=_summed(level * np.arange(len(level))),
            variances=_summed(sds**2),
            center=center,
        )

    def mean(self, first: Ints, last: Ints) -> Floats:
        """Mean over grid points ``first`` to ``last`` inclusive."""
        return np.asarray(self.center + (self.sums[last + 1] - self.sums[first]) / (last + 1 - first))

    def sd(self, first: Ints, last: Ints) -> Floats:
        """Root mean square of the sd over the points: errors of neighbors hardly average out."""
        return np.asarray(np.sqrt((self.variances[last + 1] - self.variances[first]) / (last + 1 - first)))

    def slope(self, first: Ints, last: Ints) -> Floats:
        """Least-squares change per grid step over the points; 0 where there is only one."""
        count = (last + 1 - first).astype(float)
        middle = 0.5 * (first + last)
        moment = self.moments[last + 1] - self.moments[first]
        moment = moment - middle * (self.sums[last + 1] - self.sums[first])
        spread = count * (count**2 - 1.0) / 12.0
        return np.asarray(np.where(spread > 0, moment / np.maximum(spread, 1.0), 0.0))


def _summed(values: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(values)])


@dataclass(frozen=True)
class Signals:
    """The flight as the finder sees it, on the Motion's grid.

    ``unseen`` counts the grid points in gaps of the recording, summed up: shape (n + 1,).
    """

    time: Floats
    interval: float
    bank: Floats
    heading: Floats
    scales: Scales
    flying: npt.NDArray[np.bool_]
    quantities: Mapping[str, Quantity]
    unseen: Floats

    def __contains__(self, name: object) -> bool:
        return name in self.quantities

    @property
    def cruise(self) -> float:
        """What this flight cruises at [m/s]."""
        return self.scales.cruise

    def seen_share(self, first: Ints, last: Ints) -> Floats:
        """How much of each stretch, ``first`` to ``last`` inclusive, was recorded."""
        return np.asarray(1.0 - (self.unseen[last + 1] - self.unseen[first]) / (last + 1 - first))

    def index(self, time: Floats) -> Ints:
        """The grid points nearest to ``time``."""
        nearest = np.rint((time - self.time[0]) / self.interval).astype(np.int64)
        return np.asarray(np.minimum(np.maximum(nearest, 0), len(self.time) - 1))

    def point(self, time: float) -> int:
        """The grid point nearest to one instant: `index` without the cost of an array."""
        return min(max(round((time - float(self.time[0])) / self.interval), 0), len(self.time) - 1)


def signals(motion: Motion, names: frozenset[str], scale: OwnScale) -> Signals:
    """The quantities ``names`` of the definitions, as far as this Motion holds them, on its own ``scale``.

    What it does not hold (the ball, say) is left out: a definition may ask for it, and its absence is no
    evidence either way.
    """
    held: dict[str, Quantity] = {}
    for name in sorted(names):
        source = _SOURCES.get(name, name)
        made = _SCALED[name](motion, scale) if name in _SCALED else None
        if made is not None:
            held[name] = Quantity.of(*made)
        elif source in motion:
            held[name] = Quantity.of(motion[source], motion.sds[source])
    return Signals(
        time=motion.time,
        interval=motion.interval,
        bank=motion["bank"],
        heading=motion["heading_true"],
        scales=scale.speeds,
        flying=scale.flying,
        quantities=held,
        unseen=_summed(motion.in_gap.astype(float)),
    )


def _over_slow(motion: Motion, own: OwnScale) -> tuple[Floats, Floats]:
    """The airspeed brought to one g over the slowest this airplane flies, and its sd."""
    load = np.maximum(motion["load_factor"], 0.3)
    over = brought_to_one_g(motion["airspeed"], motion["load_factor"], motion.interval) / own.speeds.slow
    speed_doubt = motion.sds["airspeed"] / np.maximum(motion["airspeed"], 1.0)
    doubt = np.sqrt(speed_doubt**2 + (0.5 * motion.sds["load_factor"] / load) ** 2 + own.speeds.slow_sd**2)
    return over, np.asarray(over * doubt)


def _over_cruise(motion: Motion, own: OwnScale) -> tuple[Floats, Floats]:
    """The airspeed over the flight's cruise speed, and its sd."""
    over = motion["airspeed"] / own.speeds.cruise
    return over, np.hypot(motion.sds["airspeed"] / own.speeds.cruise, over * own.speeds.cruise_sd)


def energy_angle(motion: Motion, cruise: float) -> tuple[Floats, Floats]:
    """The angle at which energy height is gained along the path through the air [rad], and its sd.

    At a steady speed it is that of the climb; ``cruise`` [m/s] keeps a standstill from dividing by nothing.
    """
    speed = np.maximum(motion["airspeed"], SLOWEST_FLIGHT * cruise)
    rate, sd = motion["specific_energy_rate"], motion.sds["specific_energy_rate"]
    return np.arctan(rate / speed), np.asarray(sd / speed)


def _climb_or_sink(motion: Motion, own: OwnScale) -> tuple[Floats, Floats]:
    """The vertical speed, up or down alike, and its sd."""
    return np.abs(motion["vertical_speed"]), motion.sds["vertical_speed"]


def _power_setting(motion: Motion, own: OwnScale) -> tuple[Floats, Floats] | None:
    """Whatever shows power, from idle (0) to this flight's most (1), and its sd; None where nothing does."""
    for name in _SHOW_POWER:
        time, values = motion.recording.samples(name)
        if len(values) >= 2:
            idle, most = np.percentile(values, _POWER_PERCENTILES)
            if most - idle > _POWER_MOVES * abs(most):
                setting = (np.interp(motion.time, time, values) - idle) / (most - idle)
                return np.clip(setting, -0.2, 1.2), np.full(len(motion.time), _POWER_SD)
    return None


def _above_own_ground(motion: Motion, own: OwnScale) -> tuple[Floats, Floats] | None:
    """The height above the flight's own ground, and its sd; None where it shows none."""
    if not np.isfinite(own.ground):
        return None
    return motion["altitude"] - own.ground, np.hypot(motion.sds["altitude"], _GROUND_SD)


_SCALED: dict[str, Callable[[Motion, OwnScale], tuple[Floats, Floats] | None]] = {
    "airspeed_over_slow": _over_slow,
    "airspeed_over_cruise": _over_cruise,
    "energy_angle": lambda motion, own: energy_angle(motion, own.speeds.cruise),
    "climb_or_sink": _climb_or_sink,
    "power_setting": _power_setting,
    "height_above_own_ground": _above_own_ground,
}
"""Quantities on the flight's own scale: how each is made, with its sd; None where it cannot be."""
