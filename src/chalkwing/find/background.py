"""Ordinary flying, described broadly: how often a quantity falls in a range when no maneuver is flown.

A definition says in which ranges a maneuver's legs lie. What such a finding is worth depends on how often
ordinary flying lies there too: 45 degrees of bank says much, a level pitch says nothing. Each quantity is
given a logistic distribution, whose tails are heavy enough that no single value settles anything.

The figures are what a light airplane's ordinary turns look like (banks near 18 degrees, climbs and descents
of some 500 ft/min, speed changing by a knot every few seconds). They are common practice, no source, and were
set before any flight was looked at: they are not tuned, and the finder needs them only to within a factor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT, Floats


@dataclass(frozen=True)
class Ordinary:
    """A quantity in ordinary turning flight: its usual value and spread (logistic scale).

    ``wander`` [per s] is the spread of its rate of change; changes grow until they reach the spread.
    """

    usual: float
    spread: float
    wander: float

    def change_spread(self, seconds: Floats) -> Floats:
        """Spread of the change over ``seconds``."""
        moved = self.wander * np.maximum(seconds, 1e-3)
        return np.asarray(1.0 / np.sqrt(1.0 / moved**2 + 0.5 / self.spread**2))

    def change_by_roll(self, name: str, seconds: Floats) -> Floats:
        """What rolling in or out alone changes over a leg of ``seconds``: every turn begins and ends level.

        An ordinary turn takes `ROLL_TIME` to roll in. The least-squares line through a ramp of that length
        and a flat rest rises, over the whole leg, by about three times the ramp's share of it.
        """
        if name not in ROLLED:
            return np.zeros(len(seconds))
        return np.asarray(self.usual * np.minimum(1.0, 3.0 * ROLL_TIME / np.maximum(seconds, 1e-3)))


ROLL_TIME = 3.0
"""Time to roll in or out of an ordinary turn [s]."""

ROLLED = frozenset({"bank_into_turn", "turn_rate_into_turn"})
"""Quantities that are nothing with level wings and something in a turn."""

_FREE = np.inf
"""Spread of what has no usual value, such as altitude: its changes grow without end."""

ORDINARY: dict[str, Ordinary] = {
    "bank_into_turn": Ordinary(18.0 * DEGREE, 3.0 * DEGREE, 0.5 * DEGREE),
    "bank": Ordinary(0.0, 9.0 * DEGREE, 1.0 * DEGREE),
    "roll_rate_into_turn": Ordinary(0.0, 1.5 * DEGREE, 1.0 * DEGREE),
    "turn_rate_into_turn": Ordinary(3.5 * DEGREE, 1.0 * DEGREE, 0.2 * DEGREE),
    "heading": Ordinary(0.0, _FREE, 2.0 * DEGREE),
    "pitch": Ordinary(3.0 * DEGREE, 2.5 * DEGREE, 0.25 * DEGREE),
    "pitch_rate": Ordinary(0.0, 0.5 * DEGREE, 0.5 * DEGREE),
    "path_angle": Ordinary(0.0, 2.0 * DEGREE, 0.2 * DEGREE),
    "vertical_speed": Ordinary(0.0, 300.0 * FOOT_PER_MINUTE, 30.0 * FOOT_PER_MINUTE),
    "climb_or_sink": Ordinary(300.0 * FOOT_PER_MINUTE, 150.0 * FOOT_PER_MINUTE, 30.0 * FOOT_PER_MINUTE),
    "load_factor": Ordinary(1.05, 0.05, 0.02),
    "lateral_load": Ordinary(0.0, 0.03, 0.02),
    "altitude": Ordinary(0.0, _FREE, 300.0 * FOOT_PER_MINUTE),
    "altitude_change": Ordinary(0.0, _FREE, 300.0 * FOOT_PER_MINUTE),
    "airspeed_change": Ordinary(0.0, 8.0 * KNOT, 0.3 * KNOT),
    "specific_energy": Ordinary(0.0, _FREE, 350.0 * FOOT_PER_MINUTE),
    "energy_angle": Ordinary(0.0, 2.0 * DEGREE, 0.2 * DEGREE),
    "power_setting": Ordinary(0.7, 0.12, 0.02),
    "height_above_own_ground": Ordinary(2300.0 * FOOT, 900.0 * FOOT, 300.0 * FOOT_PER_MINUTE),
    "specific_energy_rate": Ordinary(0.0, 350.0 * FOOT_PER_MINUTE, 30.0 * FOOT_PER_MINUTE),
}

BANKED = Ordinary(8.0 * DEGREE, 7.0 * DEGREE, 1.0 * DEGREE)
"""Bank to whichever side it is, of any stretch of flying, turn or not (common practice, no source)."""

TURN_THROUGH = (60.0 * DEGREE, 0.6)
"""Median and logarithmic spread of how far an ordinary turn goes."""

TIME_THROUGH = (3.5 * DEGREE, 0.3)
"""Usual rate of turn [rad/s], and logarithmic spread of the time that a given heading change takes."""


_SPEEDS = frozenset({"airspeed", "true_airspeed", "airspeed_over_cruise", "airspeed_over_slow"})


def ordinary(name: str, *, cruise: float, slow: float) -> Ordinary | None:
    """How ``name`` behaves in ordinary flying; speeds scale with this flight's own ``cruise`` and ``slow``
    [m/s]."""
    if name in _SPEEDS:
        unit = {"airspeed_over_cruise": cruise, "airspeed_over_slow": slow}.get(name, 1.0)
        wander = ORDINARY["airspeed_change"].wander / unit
        return Ordinary(0.92 * cruise / unit, 0.08 * cruise / unit, wander)
    return ORDINARY.get(name)


def share(low: Floats | float, high: Floats | float, usual: Floats | float, spread: Floats) -> Floats:
    """Probability of ordinary flying between ``low`` and ``high``; either may be infinite."""
    return np.asarray(expit((high - usual) / spread) - expit((low - usual) / spread))
