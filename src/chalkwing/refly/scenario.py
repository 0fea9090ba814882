"""A built-in lesson, flown by our own equations, of which everything is known: the truth of the demo.

The school, the people, the airplane and the island on which the field lies are invented; the figures of the
airplane are those of no type. The shape of each maneuver follows the handbook's description
(FAA-H-8083-3C, ch. 10); one steep turn and one lazy eight are flown with a fault, on purpose.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from chalkwing.dynamics import PointMass
from chalkwing.refly.atmosphere import Day, WindLayer
from chalkwing.refly.figures import (
    FLOWN_WELL,
    PRACTICE_HEIGHT,
    FlownManeuver,
    chandelle,
    clearing_turns,
    climb_to_the_practice_area,
    descend,
    lazy_eight,
    plain_turn,
    steep_turn,
    straight,
)
from chalkwing.refly.flying import State
from chalkwing.refly.hand import Hand
from chalkwing.units import Floats, deg_to_rad, kt_to_mps

SCHOOL = "Saltmarsh Flying School, Tarn Island"
FIELD = "Hollin Field"
STUDENT, INSTRUCTOR = "Ida Renwick", "Tomas Vell"
REGISTRATION = "Q4-LARK"
"""No country was given the prefix Q, so no airplane can carry it."""
LATITUDE, LONGITUDE = deg_to_rad(41.2), deg_to_rad(-41.7)
"""Open ocean: the island is on no chart."""

TERN = PointMass(
    mass=1040.0,
    wing_area=16.2,
    zero_lift_drag=0.036,
    induced_drag=0.066,
    lift_slope=4.6,
    zero_lift_angle=-0.035,
    max_lift=1.55,
    torque_thrust=2900.0,
    propeller_drag_area=0.25,
)
"""The Tern 180: a four-seat trainer of our own."""

DAY = Day(
    altimeter_setting=101700.0,
    isa_deviation=8.0,
    wind=(
        WindLayer(0.0, deg_to_rad(235.0), kt_to_mps(9.0)),
        WindLayer(900.0, deg_to_rad(240.0), kt_to_mps(14.0)),
        WindLayer(1600.0, deg_to_rad(255.0), kt_to_mps(18.0)),
    ),
)


@dataclass(frozen=True)
class Lesson:
    """The truth: ``values[name]`` on ``time`` [s] (20 a second), the maneuvers, the airplane and the day."""

    time: Floats
    values: dict[str, Floats]
    maneuvers: tuple[FlownManeuver, ...]
    airplane: PointMass
    day: Day


def fly_lesson(seed: int = 0, *, rounds: int = 1) -> Lesson:
    """The whole lesson, about 15 minutes; ``seed`` sets how the hand wanders, not what is flown.

    ``rounds`` flies it that many times over without landing.
    """
    start = State(0.0, 0.0, PRACTICE_HEIGHT - 150.0, kt_to_mps(85.0), deg_to_rad(4.0), deg_to_rad(300.0))
    hand = Hand(start, airplane=TERN, column=DAY.column(), seed=seed, roughness=deg_to_rad(0.8))
    maneuvers = [maneuver for _ in range(rounds) for maneuver in _one_round(hand)]
    time, values = hand.flown()
    return Lesson(time, values, tuple(maneuvers), TERN, DAY)


def _one_round(hand: Hand) -> Iterator[FlownManeuver]:
    climb_to_the_practice_area(hand)
    yield clearing_turns(hand)
    straight(hand, 25.0)
    yield steep_turn(hand, "right", sinking=0.0, past=6.0, remark=FLOWN_WELL)
    straight(hand, 12.0)
    creeping = "bank creeps up, the nose drops, rolled out late"
    yield steep_turn(hand, "left", sinking=3.2, past=21.0, remark=creeping)
    straight(hand, 40.0, to_height=PRACTICE_HEIGHT)
    plain_turn(hand, "left", 120.0, 20.0)
    straight(hand, 40.0, to_height=PRACTICE_HEIGHT)
    yield lazy_eight(hand, lowered=(1.0, 1.0), remark=FLOWN_WELL)
    straight(hand, 40.0, to_height=PRACTICE_HEIGHT)
    not_lowered = "nose not lowered enough in the second half"
    yield lazy_eight(hand, lowered=(1.0, 0.05), remark=not_lowered)
    straight(hand, 45.0, to_height=PRACTICE_HEIGHT)
    yield chandelle(hand, "left")
    straight(hand, 50.0)
    descend(hand)
