"""The airplane models flown: those of JSBSim's collection that hold together as light piston airplanes."""

from __future__ import annotations

from dataclasses import dataclass

from chalkwing.units import DEGREE, KNOT


@dataclass(frozen=True)
class Airplane:
    """What the generator must know to fly a model; airspeeds are calibrated [m/s].

    ``roll_power`` and ``pitch_power`` [rad/s per unit of control] are the rates 0.6 s after a step at
    ``entry_speed``; the pilots scale their gains by them as a person gets the feel of it. ``load`` is
    the range of mass [kg] put on the front seats, ``fuel`` of the tanks' fill as a fraction;
    ``excess_per_throttle`` [m/s] is the rate of energy height that all of the throttle's travel would add.
    """

    name: str
    model: str
    entry_speed: float
    cruise_speed: float
    climb_speed: float
    stall_speed: float
    approach_speed: float
    roll_power: float
    pitch_power: float
    load: tuple[float, float]
    fuel: tuple[float, float]
    excess_per_throttle: float


def _airplane(
    name: str,
    model: str,
    speeds: tuple[float, ...],
    powers: tuple[float, float],
    load: tuple[float, float],
    excess: float,
) -> Airplane:
    entry, cruise, climb, stall, approach = (speed * KNOT for speed in speeds)
    return Airplane(
        name,
        model,
        entry,
        cruise,
        climb,
        stall,
        approach,
        powers[0] * DEGREE,
        powers[1] * DEGREE,
        load,
        (0.3, 0.9),
        excess,
    )


AIRPLANES: dict[str, Airplane] = {
    airplane.name: airplane
    for airplane in (
        _airplane("c172p", "c172p", (95, 100, 75, 54, 70), (60, 38), (120, 340), 17.0),
        _airplane("c172r", "c172r", (97, 102, 77, 56, 72), (61, 32), (60, 250), 14.0),
        _airplane("c182", "c182", (105, 115, 85, 57, 75), (32, 42), (120, 400), 16.0),
        _airplane("c310", "c310", (135, 145, 110, 73, 105), (23, 7), (100, 400), 36.0),
        _airplane("j3cub", "J3Cub", (67, 68, 52, 35, 50), (77, 18), (60, 100), 7.0),
    )
}
"""The models by name. Speeds are the generator's choice for each model, not a manual's figures."""

CRITICAL_ANGLE = {"c172p": 0.28, "c172r": 0.28, "c182": 0.28, "c310": 0.244, "j3cub": 0.24}
"""Angle of attack [rad] beyond which lift falls, read from each model's own lift table; that of the J-3 lies
between 0.22 and 0.26 by Reynolds number."""
