"""The compiled kernels against the same laws stepped in plain Python, and against solvers of their own."""

from __future__ import annotations

import math

import numpy as np
import pytest

from chalkwing.airplane import load_sheet
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.errors import OutsideModel
from chalkwing.reference import laws
from chalkwing.reference.air_path import Phase, fly_phases
from chalkwing.reference.law_numbers import AirState, Linear, holding_throttle
from chalkwing.reference.pylon_kernel import LowAir, held_on_pylon, rolled
from chalkwing.reference.situation import Situation
from chalkwing.reference.throttle import throttle_for_excess
from chalkwing.units import DEGREE, KNOT

WINDY = Conditions(winds=(WindLevel(0.0, 4.2, 10 * KNOT), WindLevel(1500.0, 4.9, 22 * KNOT)))


def _situation(sheet: str) -> Situation:
    known = load_sheet(sheet)
    return Situation(known, known.mass, WINDY, 1000.0, entry_heading=0.7)


def _phases(situation: Situation) -> list[Phase]:
    """Every way to bank, to rise and to end, one after the other."""
    plane, bank = situation.airplane, 35.0 * DEGREE
    glide = laws.SpeedLaw(situation, 38.0)
    gained = laws.SpeedLaw(situation, 45.0, speed_lag=4.0, path_lag=4.0, least=-1.2, most=1.2)
    circle = glide.around(260.0, 1.0)
    course = 0.7 + 1.5 * math.pi
    out = laws.easing(bank, heading=course + 0.4, angle=0.5)
    level_out = laws.level_law(plane, laws.rolling_out(bank, 0.3), 0.0, path_lag=1.5, pull=1.35)
    nose = laws.until_nose_is(Linear(constant=-0.7 - 9.0, air_heading=1.0), bank)
    return [
        Phase(
            "the roll-in",
            glide.along(laws.ramp(1.3, 0.26)),
            laws.until_bank_is(Linear(time=0.26), circle.banking),
        ),
        Phase("the circle", circle, laws.until(Linear(constant=-0.7 - math.pi, air_heading=1.0))),
        Phase("the turn", glide.along(laws.held(bank)), laws.until_lead_to(course, bank=bank, rate=0.26)),
        Phase("the roll-out", glide.along(out), laws.until_bank_is(Linear(constant=0.5 * DEGREE), out)),
        Phase("a leg", glide.along(laws.following(course, most=0.17, lag=2.0)), laws.after(6.0)),
        Phase("a dive", gained.along(laws.held(bank)), laws.until(Linear(constant=-350.0, height=-1.0))),
        Phase(
            "leveling",
            level_out,
            laws.until(Linear(constant=0.005, path_angle=1.0), Linear(constant=-2.1, time=1.0)),
        ),
        Phase("a level turn", laws.level_law(plane, laws.held(bank)), nose),
    ]


@pytest.mark.parametrize("sheet", ["four-seat-160", "light-twin"])
def test_the_compiled_flight_is_the_plain_one(sheet):
    situation = _situation(sheet)
    start = AirState(0.0, 0.0, 0.0, 42.0, -0.08, 0.7)
    phases = _phases(situation)
    quick, plain = (fly_phases(situation, start, phases, step=0.25, compiled=way) for way in (True, False))
    assert len(quick.time) == len(plain.time)
    # Events are located to a millionth of a step by each; speeds of 45 m/s make 1e-5 m of that.
    np.testing.assert_allclose(quick.time, plain.time, atol=1e-5)
    np.testing.assert_allclose(quick.states, plain.states, atol=5e-4)
    np.testing.assert_allclose(quick.controls, plain.controls, atol=1e-4)


def test_the_throttle_of_one_instant_is_that_of_the_solver_for_arrays():
    for sheet in ("four-seat-160", "four-seat-200", "light-twin"):
        plane = _situation(sheet).airplane
        for load in (0.2, 1.0, 2.5, 5.0):
            for speed in (25.0, 45.0, 75.0):
                wanted = throttle_for_excess(plane, excess=0.0, load=load, density=1.0, speed=speed)
                assert holding_throttle(plane, load, 1.0, speed) == pytest.approx(float(wanted), abs=1e-9)


@pytest.mark.parametrize("compiled", [True, False])
def test_what_cannot_be_flown_and_what_never_ends_is_said_by_both(compiled):
    situation = _situation("four-seat-160")
    start = AirState(0.0, 0.0, 0.0, 42.0, 0.0, 0.7)
    glide = laws.SpeedLaw(situation, 38.0).along(laws.held(0.0))
    never = Phase("the glide", glide, laws.until(Linear(constant=-1.0)), longest=5.0)
    with pytest.raises(OutsideModel, match="the glide is not over after 5 s"):
        fly_phases(situation, start, [never], compiled=compiled)
    slow = laws.level_law(situation.airplane, laws.held(0.0), 0.0)
    with pytest.raises(OutsideModel, match="the stop cannot be flown so"):
        fly_phases(situation, start, [Phase("the stop", slow, never.until)], compiled=compiled)


def test_a_turn_on_a_pylon_and_the_roll_beside_it_are_compiled_as_they_are_written():
    plane = _situation("four-seat-160").airplane
    air, wind = LowAir(1.15, -1e-4, 300.0), (-8.0, 0.0)
    heading = np.linspace(-2.4, 2.4, 60)
    asked = (heading, 0.02 * np.sin(heading), (420.0, 52.0), wind, 0.7, plane, air)
    held, rows = held_on_pylon(*asked)
    assert held
    np.testing.assert_allclose(rows, held_on_pylon.py_func(*asked)[1], rtol=1e-9, atol=1e-9)
    start = np.array([300.0, -250.0, 290.0, 52.0, 2.4])
    rolling = (start, np.linspace(0.0, 2.5, 14), (0.6, 0.02, -0.008, 1.0), wind, 0.7, plane, air)
    np.testing.assert_allclose(rolled(*rolling), rolled.py_func(*rolling), rtol=1e-9)


def test_a_pylon_that_cannot_be_held_is_told_from_one_that_can():
    plane = _situation("four-seat-160").airplane
    heading = np.linspace(-2.4, 2.4, 60)
    asked = (heading, 0.0 * heading, (420.0, 52.0), (-70.0, 0.0), 0.7, plane, LowAir(1.15, -1e-4, 300.0))
    assert not held_on_pylon(*asked)[0]
