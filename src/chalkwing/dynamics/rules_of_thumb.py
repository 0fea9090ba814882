"""Pilots' arithmetic: the handbooks' rules, to be shown beside the exact figures and never in their place.

SI in and out like everywhere; the rounded constants are the rules' own, in the units of their sources. Exact
counterparts are in ``turning`` and ``air``. Scalars or arrays, ``nan`` in is ``nan`` out.
"""

from __future__ import annotations

import numpy as np

from chalkwing.units import DEGREE, FOOT, KNOT, MILE, Q, mps_to_kt, require_within

PIVOTAL_KNOTS = 11.3
PIVOTAL_MILES_PER_HOUR = 15.0
RADIUS_CONSTANT = 11.26
DENSITY_FEET_PER_CELSIUS = 120.0
"""Feet of density altitude a degree off standard, as most handbooks say; 118.6 is also printed."""
CERTIFICATED_CROSSWIND_SHARE = 0.2


def pivotal_altitude_rule(ground_speed: Q | float) -> Q:
    """Pivotal altitude [m above the pylon] as groundspeed in knots, squared, over 11.3, in feet.

    ``ground_speed`` is in m/s. Right in still air; with 20 kt behind 90 it is about 190 ft high. Source:
    [AFH] ch. 7, p. 7-15.

    >>> round(float(pivotal_altitude_rule(51.444)) / 0.3048)
    885
    """
    height: Q = np.square(np.divide(ground_speed, KNOT)) / PIVOTAL_KNOTS * FOOT
    return height


def pivotal_altitude_rule_mph(ground_speed: Q | float) -> Q:
    """The same rule in miles per hour: squared, over 15, in feet; m/s in, meters out. [AFH] ch. 7."""
    height: Q = np.square(np.divide(ground_speed, MILE / 3600.0)) / PIVOTAL_MILES_PER_HOUR * FOOT
    return height


def turn_radius_rule(*, true_airspeed: Q | float, bank: Q | float) -> Q:
    """Turn radius [m] with the handbook's rounded constant: knots squared over 11.26 tan(bank), in feet.

    The exact constant is 11.294, so that this is 0.3 % large. Source: [PHAK] ch. 5, from memory.
    """
    require_within("bank", bank, -1.57, 1.57, "rad", hint="Was it in degrees?")
    radius: Q = np.square(np.divide(true_airspeed, KNOT)) / (RADIUS_CONSTANT * np.tan(np.abs(bank))) * FOOT
    return radius


def standard_rate_bank_rule(true_airspeed: Q) -> Q:
    """Bank [rad] for a standard-rate turn as knots over ten plus seven, in degrees.

    Common practice, no source. At 80 kt it says 15° where 12.4° is exact.
    """
    bank: Q = (mps_to_kt(true_airspeed) / 10.0 + 7.0) * DEGREE
    return bank


def roll_out_lead_rule(bank: Q | float) -> Q:
    """How far before the heading [rad] to begin the roll-out: half the bank. [AFH] ch. 10, p. 10-3."""
    require_within("bank", bank, -1.57, 1.57, "rad", hint="Was it in degrees?")
    lead: Q = np.multiply(np.abs(bank), 0.5)
    return lead


def density_altitude_rule(
    *,
    pressure_altitude: Q | float,
    isa_deviation: Q | float,
    feet_per_celsius: float = DENSITY_FEET_PER_CELSIUS,
) -> Q:
    """Density altitude [m] as pressure altitude [m] plus so many feet a degree above standard [K].

    Source: [PHAK] ch. 11 gives 120 ft; 118.6 ft is found as well. ``air.density_altitude`` is exact.
    """
    require_within("ISA deviation", isa_deviation, -80.0, 80.0, "K")
    altitude: Q = pressure_altitude + np.multiply(isa_deviation, feet_per_celsius * FOOT)
    return altitude


def certificated_crosswind(stall_speed_landing: Q | float) -> Q:
    """The crosswind [m/s] in which a type must at least be shown controllable: 0.2 of VSO. [AFH] ch. 9.

    A figure of certification, not a limit, and no judgement of the pilot's.
    """
    speed: Q = np.multiply(stall_speed_landing, CERTIFICATED_CROSSWIND_SHARE)
    return speed
