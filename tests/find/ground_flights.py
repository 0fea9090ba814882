"""Flights drawn over the ground in a known wind, as Motions for the finder."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from tests.find.kinematics import INTERVAL
from tests.judge.ground_flights import Pilot, circle_law, landed

from chalkwing.motion.motion import Motion
from chalkwing.units import DEGREE, FOOT

FIELD = 300.0
"""Altitude of the runway that a flight may begin on [m]."""
RUN = (20.0, 2.0)
"""Seconds of a takeoff roll, and its acceleration [m/s²]."""


def pilot(*, wind: tuple[float, float] = (0.0, 0.0), height_ft: float = 800.0, speed: float = 48.0) -> Pilot:
    """In level flight at a height above the runway, for a while already."""
    flying = Pilot(wind=wind, speed=speed, altitude=FIELD + height_ft * FOOT)
    flying.straight(60.0)
    return flying


def circle(flying: Pilot, times: float, *, radius: float, sink: float = 0.0) -> Pilot:
    """Right turns round a circle held over the ground."""
    held = circle_law(radius)
    flying.turn("right", held, angle=times * 2.0 * np.pi, height=lambda now: now.altitude - sink * 0.05)
    return flying


def steady(flying: Pilot, degrees: float, *, bank: float = 30.0) -> Pilot:
    """A level turn at a constant bank, right positive."""
    side = "right" if degrees > 0 else "left"
    flying.turn(side, lambda _: bank * DEGREE, angle=abs(degrees) * DEGREE)
    return flying


def half_circles(flying: Pilot, count: int, *, radius: float) -> Pilot:
    """Half circles over the ground from crossing to crossing, turns alternating, wind taken into account."""
    for half in range(count):
        flying.turn("right" if half % 2 == 0 else "left", circle_law(radius), angle=np.pi)
    return flying


def motion(flying: Pilot, *, after: float = 60.0, takeoff: bool = False) -> Motion:
    """The flight as a Motion; with ``takeoff`` it begins with a run along the runway."""
    flying.straight(after)
    made, _, _ = landed(flying, "drawn", edges=[("right", 0.0, 1.0)])
    values = dict(made.values)
    values["specific_energy_rate"] = np.gradient(values["specific_energy"], INTERVAL)
    if takeoff:
        count = round(RUN[0] / INTERVAL)
        rolling = np.arange(count) * INTERVAL * RUN[1]
        for name in ("airspeed", "true_airspeed", "calibrated_airspeed"):
            values[name] = np.concatenate([rolling, values[name][count:]])
        for name in ("altitude", "geometric_altitude"):
            climb = np.linspace(FIELD, values[name][2 * count], count)
            values[name] = np.concatenate([np.full(count, FIELD), climb, values[name][2 * count :]])
    sds = {name: np.zeros(len(made.time)) for name in values}
    sds |= {name: np.full(len(made.time), 0.7) for name in ("wind_north", "wind_east")}
    return replace(made, values=values, sds=sds, origins=dict.fromkeys(values, "measured"))
