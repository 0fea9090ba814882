"""Ordinary flying full of baits: what looks like a maneuver of the course, or a piece of one, but is none.

Of the errands of the older ordinary flights (``tests.flights.lessons``) these are baits here too:
``cruise``, ``three_sixty``, ``holding``, ``climb``, ``descend``, ``spiral`` (with power, at 500 ft/min,
about no point). Three are not. ``slow`` flies level at 1.2 times the stall speed for a minute or two: that
is slow flight. ``s_turns`` and ``turns`` may turn 90 degrees one way and at once 90 the other: those are
clearing turns. Their like here turns 30 to 65 or 110 to 150 degrees, or keeps straight for half a minute in
between.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from tests.flights.course.pattern import Circuit, ClimbOut, Glide, Join, Landing, RollOut, TakeOff
from tests.flights.course.plan import Goals, Lesson
from tests.flights.course.plan_pattern import field_nearby
from tests.flights.course.wheels import TOUCHES
from tests.flights.goals import Leg

from chalkwing.units import DEGREE, FOOT

LONG = 1500.0
"""So long do the baits of one flight go on [s], before the pattern."""


class Ordinary(Lesson):
    """A flight without any maneuver of the course."""

    def goals(self) -> Goals:
        """Takeoff, baits for half an hour, pattern work."""
        yield from self.departure()
        while self.simulator.state.time < LONG:  # type: ignore[attr-defined]  # filled by the engine
            name = str(self.rng.choice(list(BAITS)))
            yield from BAITS[name](self)
            if self.rng.random() < 0.4:
                yield self.straight(10, 60)
        yield from circuits(self)

    def leg(
        self, label: str, airspeed: float | None = None, *, seconds: tuple[float, float] = (20, 50)
    ) -> Leg:
        """Straight and level under a bait's name."""
        return self.straight(*seconds, airspeed, label)

    def bend(self, label: str, degrees: float, bank: float, airspeed: float | None = None) -> Leg:
        """A level turn under a bait's name; ``duration`` only bounds how long it may take."""
        return replace(self.turn(degrees, bank, airspeed, label), duration=200.0)


def hold(plan: Ordinary) -> Goals:
    """Racetracks: 180 degrees, a minute, 180 degrees, a minute."""
    sign, speed = plan.sign(), 0.9 * plan.airplane.cruise_speed
    for _ in range(int(plan.rng.integers(1, 4))):
        for _ in range(2):
            yield plan.bend("hold", sign * 180, plan.rng.uniform(15, 25), speed)
            yield plan.leg("hold", speed, seconds=(40, 65))


def procedure_turn(plan: Ordinary) -> Goals:
    """45 degrees off, a minute, 180 back, and 45 to intercept."""
    sign, speed = plan.sign(), 0.9 * plan.airplane.cruise_speed
    bank = plan.rng.uniform(15, 25)
    yield plan.bend("procedure_turn", sign * 45, bank, speed)
    yield plan.leg("procedure_turn", speed, seconds=(45, 60))
    yield plan.bend("procedure_turn", -sign * 180, bank, speed)
    yield plan.leg("procedure_turn", speed, seconds=(30, 60))
    yield plan.bend("procedure_turn", -sign * 45, bank, speed)


def orbit(plan: Ordinary) -> Goals:
    """Level circles at 26 to 29 degrees that drift with the wind, well above ground reference."""
    yield from plan.to_height(1500, 3500)
    turns = float(plan.rng.choice([1, 1, 2, 3]))
    yield plan.bend("orbit", plan.sign() * 360 * turns, plan.rng.uniform(26, 29))


def climbing_turn(plan: Ordinary) -> Goals:
    yield from plan.climb_to(
        plan.altitude + plan.rng.uniform(400, 900) * FOOT, plan.sign() * plan.rng.uniform(60, 300)
    )


def descending_turn(plan: Ordinary) -> Goals:
    if plan.height() > 2200 * FOOT:
        yield from plan.descend_to(
            plan.altitude - plan.rng.uniform(400, 900) * FOOT, plan.sign() * plan.rng.uniform(60, 400)
        )


def spiral_down(plan: Ordinary) -> Goals:
    """Down with power and at cruise speed, one and a half to two times round."""
    if plan.height() < 2600 * FOOT:
        return
    plan.altitude -= float(plan.rng.uniform(800, 1200)) * FOOT
    turn = plan.sign() * float(plan.rng.uniform(300, 720)) * DEGREE
    bank = float(plan.rng.uniform(20, 33)) * DEGREE
    speed = plan.airplane.cruise_speed
    yield Leg("spiral_down", plan.altitude, speed, 200.0, turn=turn, bank=bank, vertical="descend")
    plan.altitude = float(plan.simulator.state.altimeter)  # type: ignore[attr-defined]


def survey(plan: Ordinary) -> Goals:
    """Parallel lines with 180 degrees one way and the other."""
    sign, bank = plan.sign(), plan.rng.uniform(18, 30)
    for k in range(int(plan.rng.integers(3, 6))):
        yield plan.leg("survey", seconds=(50, 120))
        yield plan.bend("survey", sign * (-1) ** k * 180, bank)


def circling(plan: Ordinary) -> Goals:
    """Round and round as in a thermal: slow, 25 to 40 degrees, center shifted now and then."""
    sign, speed = plan.sign(), float(plan.rng.uniform(1.45, 1.7)) * plan.airplane.stall_speed
    yield from plan.to_height(1500, 3500)
    for _ in range(int(plan.rng.integers(2, 5))):
        plan.altitude += float(plan.rng.normal(60, 40)) * FOOT
        yield plan.bend("circling", sign * plan.rng.uniform(300, 800), plan.rng.uniform(25, 36), speed)
        if plan.rng.random() < 0.6:
            yield plan.leg("circling", speed, seconds=(3, 8))


def slow_cruise(plan: Ordinary) -> Goals:
    """Slower than usual, as behind other traffic: 1.45 to 1.7 times the stall speed."""
    speed = float(plan.rng.uniform(1.45, 1.7)) * plan.airplane.stall_speed
    yield plan.leg("slow_cruise", speed, seconds=(90, 240))
    if plan.rng.random() < 0.5:
        yield plan.bend("slow_cruise", plan.sign() * plan.rng.uniform(30, 65), 15, speed)


def speed_change(plan: Ordinary) -> Goals:
    """Down to approach speed and up again."""
    slow = float(plan.rng.uniform(1.0, 1.1)) * plan.airplane.approach_speed
    yield plan.leg("speed_change", slow, seconds=(25, 50))
    yield plan.leg("speed_change", seconds=(25, 50))


def glide(plan: Ordinary) -> Goals:
    """Idle and best glide straight ahead or with a gentle turn, then power again."""
    if plan.height() < 2200 * FOOT:
        return
    turn = float(plan.rng.choice([0.0, plan.sign() * plan.rng.uniform(30, 120)])) * DEGREE
    speed = plan.airplane.approach_speed * float(plan.rng.uniform(1.0, 1.2))
    yield Glide(
        float(plan.rng.uniform(400, 1000)) * FOOT, speed, turn, float(plan.rng.uniform(12, 24)) * DEGREE
    )
    plan.altitude = float(plan.simulator.state.altimeter)  # type: ignore[attr-defined]
    yield plan.leg("glide", seconds=(15, 30))


def curves(plan: Ordinary) -> Goals:
    """Turns one way and the other, of no round figure."""
    sign, wide = plan.sign(), plan.rng.random() < 0.5
    for k in range(int(plan.rng.integers(2, 5))):
        degrees = plan.rng.uniform(110, 150) if wide else plan.rng.uniform(30, 65)
        yield plan.bend("curves", sign * (-1) ** k * degrees, plan.rng.uniform(15, 33))


def box(plan: Ordinary) -> Goals:
    """Four 90s with long legs, at height and with no field inside: a way round weather or airspace."""
    sign = plan.sign()
    yield from plan.to_height(2000, 4000)
    for _ in range(int(plan.rng.integers(3, 5))):
        yield plan.bend("box", sign * 90, plan.rng.uniform(15, 25))
        yield plan.leg("box", seconds=(50, 140))


def circuits(plan: Ordinary) -> Goals:
    """Two to four circuits with power, some close in and nearly idle, some ending in a go-around."""
    rng, airplane, wheels = plan.rng, plan.airplane, plan.airplane.name in TOUCHES
    yield from plan.to_height(900, 1500)
    runway = field_nearby(plan)
    height = float(rng.uniform(850, 1050)) * FOOT
    yield Join(runway, height, 0.9 * airplane.cruise_speed, before=float(rng.uniform(500, 900)))
    count = int(rng.integers(2, 5))
    for number in range(count):
        touches = wheels and rng.random() < 0.7
        idle = rng.random() < 0.4
        yield Landing(
            runway,
            airspeed=airplane.approach_speed * float(rng.uniform(0.97, 1.15)),
            bank=float(rng.uniform(18, 30)) * DEGREE,
            late=float(rng.uniform(0, 3) if idle else rng.uniform(0, 10)),
            power=float(rng.uniform(0.12, 0.2) if idle else rng.uniform(0.2, 0.4)),
            ending="touch_and_go" if touches else "go_around",
        )
        if touches:
            if number + 1 == count:
                yield RollOut(runway.track, 2.0, 20.0)
                return
            yield RollOut(runway.track, 0.75 * airplane.stall_speed, 0.0)
            yield TakeOff(runway.track, 0.0)
        if number + 1 < count:
            bank, speed = float(rng.uniform(18, 28)) * DEGREE, 0.85 * airplane.cruise_speed
            yield Circuit(runway, height, speed, bank, float(rng.uniform(300, 700)))
    yield ClimbOut(runway.track, plan.height() + 120.0)


BAITS: dict[str, Callable[[Ordinary], Goals]] = {
    "hold": hold,
    "procedure_turn": procedure_turn,
    "orbit": orbit,
    "climbing_turn": climbing_turn,
    "descending_turn": descending_turn,
    "spiral_down": spiral_down,
    "survey": survey,
    "circling": circling,
    "slow_cruise": slow_cruise,
    "speed_change": speed_change,
    "glide": glide,
    "curves": curves,
    "box": box,
}
"""By name; pattern work at the end of every flight comes on top."""
