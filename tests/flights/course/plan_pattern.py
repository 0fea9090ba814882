"""Pattern work at a field nearby, drawn at random."""

from __future__ import annotations

import math

from tests.flights.course.aims import G
from tests.flights.course.goals import (
    PowerOff180,
)
from tests.flights.course.pattern import (
    GLIDE,
    Circuit,
    ClimbOut,
    Ending,
    Join,
    Landing,
    RollOut,
    Runway,
    TakeOff,
)
from tests.flights.course.plan import Goals, Lesson, wind_toward
from tests.flights.course.wheels import ON_WHEELS, TOUCHES

from chalkwing.units import DEGREE, FOOT

TWINS = ("c310",)  # nobody glides a twin to a spot


def pattern_work(plan: Lesson) -> Goals:
    """One to three ways down at a field nearby, the last to a full stop where the model can."""
    rng, wheels = plan.rng, plan.airplane.name in ON_WHEELS
    yield from plan.to_height(900, 1500)
    runway = field_nearby(plan)
    height = float(rng.uniform(850, 1050)) * FOOT * (0.8 if plan.airplane.name == "j3cub" else 1.0)
    count = int(rng.choice([1, 2, 3], p=[0.4, 0.4, 0.2]))
    for number in range(count):
        if number == 0:
            before = float(rng.uniform(500, 900))
            yield Join(runway, height, 0.9 * plan.airplane.cruise_speed, before=before)
        last = number + 1 == count
        ending: Ending = "full_stop" if last else "touch_and_go"
        touches = plan.airplane.name in TOUCHES or (wheels and last)
        if not touches or rng.random() < 0.15:
            ending = "go_around"
        yield from way_down(
            plan, runway, ending, power_off=bool(rng.random() < 0.55) and plan.airplane.name not in TWINS
        )
        if ending == "full_stop":
            yield RollOut(runway.track, 2.0, float(rng.uniform(15, 40)))
            return
        if ending == "touch_and_go":
            yield RollOut(runway.track, 0.75 * plan.airplane.stall_speed, 0.0)
            yield TakeOff(runway.track, 0.0)
        if not last:
            bank = float(rng.uniform(18, 28)) * DEGREE
            speed = 0.85 * plan.airplane.cruise_speed
            yield Circuit(runway, height, speed, bank, float(rng.uniform(300, 700)))
    yield ClimbOut(runway.track, plan.height() + 120.0)


def field_nearby(plan: Lesson) -> Runway:
    """A field whose downwind leg lies ahead of the airplane, its runway into the wind, give or take."""
    rng, seen, airplane = plan.rng, plan.hand.sight.seen(), plan.airplane
    track = wind_toward(plan) + math.pi + float(rng.normal(0, 20)) * DEGREE
    side = plan.sign()
    # Two turns with 22 degrees of bank fit in, and the glide from abeam still reaches round.
    tight = 1.9 * (1.12 * airplane.approach_speed) ** 2 / (G * math.tan(0.38))
    width = min(float(rng.uniform(0.95, 1.35)) * tight, 110 * GLIDE[airplane.name])
    before, beside = float(rng.uniform(2500, 4500)), float(rng.uniform(-600, 1200))
    across = track + side * math.pi / 2
    north = seen.north - before * math.cos(track) - (width + beside) * math.cos(across)
    east = seen.east - before * math.sin(track) - (width + beside) * math.sin(across)
    return Runway(north, east, track, side, width)


def way_down(plan: Lesson, runway: Runway, ending: Ending, *, power_off: bool) -> Goals:
    rng, airplane = plan.rng, plan.airplane
    if not power_off:
        yield Landing(
            runway,
            airspeed=airplane.approach_speed * float(rng.uniform(0.97, 1.1)),
            bank=float(rng.uniform(18, 28)) * DEGREE,
            late=float(rng.uniform(0, 8)),
            power=float(rng.uniform(0.2, 0.35)),
            ending=ending,
        )
        return
    yield PowerOff180(
        side=runway.side,
        runway_north=runway.north,
        runway_east=runway.east,
        runway_track=runway.track,
        width=runway.width,
        abeam_error=float(rng.normal(0, 60)),
        airspeed=airplane.approach_speed * float(rng.uniform(0.98, 1.08)),
        bank=float(rng.uniform(22, 34)) * DEGREE,
        judgement=float(rng.normal(1.0, 0.07)),
        square=bool(rng.random() < 0.4),
        goes_around=ending == "go_around",
        go_around_height=float(rng.uniform(8, 45)),
        flare_error=float(rng.normal(0, 0.4)),
        break_off=plan.break_off((0.6, 1.2)) if ending == "go_around" else None,
    )
