"""A flown schedule against closed formulas, energy, and another integrator."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from chalkwing.dynamics import (
    PointMass,
    air_heading_rate,
    angle_of_attack,
    angle_of_attack_for,
    drag,
    lift_coefficient,
    load_factor,
    load_factor_for,
    path_bank,
    path_bank_for,
    specific_excess_thrust,
    state_rates,
    thrust,
)
from chalkwing.errors import OutsideModel
from chalkwing.refly import AirColumn, Schedule, State, fly
from chalkwing.units import STANDARD_GRAVITY, deg_to_rad

AIRPLANE = PointMass(1000.0, 16.0, 0.035, 0.06, 4.7, -0.03, 1.6, 2900.0, 0.25)
CALM = AirColumn(np.array([0.0, 3000.0]), np.array([1.2, 1.2]), np.zeros(2), np.zeros(2))
SHEARED = AirColumn(
    np.array([0.0, 1000.0, 3000.0]),
    np.array([1.2, 1.1, 0.9]),
    np.array([0.0, -6.0, -10.0]),
    np.array([1.0, 4.0, 4.0]),
)
START = State(north=0.0, east=0.0, height=900.0, true_airspeed=55.0, path_angle=0.0, air_heading=1.0)


def held(duration, *, bank=0.0, vertical=0.0, throttle=0.7, kind="pitch"):
    two = np.ones(2)
    return Schedule(
        at=np.array([0.0, duration]),
        bank=bank * two,
        vertical=vertical * two,
        throttle=throttle * two,
        vertical_kind=kind,
    )


@pytest.mark.parametrize("kind", ["load_factor", "pitch"])
def test_agrees_with_another_integrator(kind):
    # The same physics integrated by scipy's DOP853 at rtol 1e-10: what differs is our stepping, compiled
    # kernel and schedule. Ten seconds of 20 Hz Runge-Kutta in shear leave below a millimeter.
    bank, vertical = 0.6, {"load_factor": 1.25, "pitch": 0.06}[kind]
    flown = fly(START, held(10.0, bank=bank, vertical=vertical, kind=kind), airplane=AIRPLANE, column=SHEARED)

    def rates(_, y):
        density = np.interp(y[2], SHEARED.height, SHEARED.density)
        if kind == "pitch":
            rolled = path_bank(y[4], vertical, bank)
            factor = load_factor(AIRPLANE, angle_of_attack_for(y[4], vertical, rolled), density, y[3])
        else:
            factor = vertical
            attack = angle_of_attack(AIRPLANE, lift_coefficient(AIRPLANE, factor, density, y[3]))
            rolled = path_bank_for(y[4], attack, bank)
        excess = specific_excess_thrust(AIRPLANE, 0.7, factor, density, y[3])
        wind = [np.interp(y[2], SHEARED.height, w) for w in (SHEARED.wind_north, SHEARED.wind_east)]
        below = y[2] < 1000.0
        gradient = (-6e-3, 3e-3) if below else (-2e-3, 0.0)
        return state_rates(y[3], y[4], y[5], rolled, factor, excess, *wind, *gradient)

    start = [0.0, 0.0, 900.0, 55.0, 0.0, 1.0]
    other = solve_ivp(rates, (0.0, 10.0), start, method="DOP853", rtol=1e-10, atol=1e-10).y[:, -1]
    ours = [flown.end.north, flown.end.east, flown.end.height, flown.end.true_airspeed]
    assert ours == pytest.approx(other[:4], abs=1e-3)
    assert [flown.end.path_angle, flown.end.air_heading] == pytest.approx(other[4:], abs=1e-6)


def test_energy_balance():
    # d(h + V^2/2g)/dt = (T - D) V / W in still air: integrated along the flight by the trapezoid rule at
    # 20 Hz, whose own error here is below 0.01 m.
    flown = fly(START, held(40.0, bank=0.4, vertical=0.10), airplane=AIRPLANE, column=CALM)
    speed, factor = flown["true_airspeed"], flown["load_factor"]
    pull = thrust(AIRPLANE, 0.7 * np.ones_like(speed), 1.2 * np.ones_like(speed), speed)
    excess = pull - drag(AIRPLANE, factor, 1.2 * np.ones_like(speed), speed)
    power = excess * speed / (AIRPLANE.mass * STANDARD_GRAVITY)
    energy = flown["geometric_altitude"] + speed**2 / (2 * STANDARD_GRAVITY)
    gained = np.trapezoid(power, flown.time)
    assert energy[-1] - energy[0] == pytest.approx(gained, abs=0.01)
    assert abs(gained) > 5.0


def test_steady_level_turn_has_the_rate_of_the_formula():
    flown = fly(
        START,
        held(60.0, bank=deg_to_rad(45.0), vertical=0.0, throttle=0.75, kind="path_angle"),
        airplane=AIRPLANE,
        column=CALM,
    )
    tail = flown.time > 50.0
    speed = float(flown["true_airspeed"][tail].mean())
    rate = np.polyfit(flown.time[tail], flown["air_heading"][tail], 1)[0]
    factor = load_factor_for(speed, 0.0, deg_to_rad(45.0), 0.0)
    # Bank about the velocity and the attitude's bank differ by 1 - cos(angle of attack), below 0.5 %.
    assert rate == pytest.approx(air_heading_rate(speed, 0.0, deg_to_rad(45.0), factor), rel=0.01)
    assert np.ptp(flown["geometric_altitude"]) < 0.5


def test_glide_angle_is_drag_over_lift():
    # With thrust - drag = -D' and a steady path, tan(path angle) = -D'/L.
    flown = fly(START, held(120.0, vertical=-0.02, throttle=0.0), airplane=AIRPLANE, column=CALM)
    speed, climb = flown.end.true_airspeed, flown.end.path_angle
    factor = float(flown["load_factor"][-1])
    resisting = drag(AIRPLANE, factor, 1.2, speed) - thrust(AIRPLANE, 0.0, 1.2, speed)
    lift = factor * AIRPLANE.mass * STANDARD_GRAVITY
    assert np.tan(climb) == pytest.approx(-resisting / lift, rel=1e-3)
    assert -0.2 < climb < -0.05


def test_pitch_and_bank_are_what_was_scheduled():
    at = np.array([0.0, 4.0, 8.0])
    schedule = Schedule(
        at=at, bank=np.array([0.0, 0.5, 0.2]), vertical=np.array([0.03, 0.12, 0.0]), throttle=0.7 + 0 * at
    )
    flown = fly(START, schedule, airplane=AIRPLANE, column=SHEARED)
    assert flown["bank"] == pytest.approx(np.interp(flown.time, at, schedule.bank), abs=1e-9)
    assert flown["pitch"] == pytest.approx(np.interp(flown.time, at, schedule.vertical), abs=1e-9)


def test_a_schedule_over_heading_change_mirrors_left_and_right():
    at = deg_to_rad(np.array([0.0, 90.0, 180.0]))
    flown = {}
    for direction, sign in (("right", 1.0), ("left", -1.0)):
        schedule = Schedule(
            at=at,
            bank=sign * np.array([0.1, 0.5, 0.1]),
            vertical=np.array([0.03, 0.02, 0.0]),
            throttle=0.7 + 0 * at,
            over="heading_change",
            direction=direction,
        )
        north = State(0.0, 0.0, 900.0, 55.0, 0.0, 0.0)
        flown[direction] = fly(north, schedule, airplane=AIRPLANE, column=CALM)
    right, left = flown["right"], flown["left"]
    turned = right["heading_true"] - right["heading_true"][0]
    assert turned[-1] == pytest.approx(np.pi, abs=deg_to_rad(1.0))
    assert right["bank"][np.argmin(np.abs(turned - np.pi / 2))] == pytest.approx(0.5, abs=0.01)
    assert left["position_east"] == pytest.approx(-right["position_east"], abs=1e-6)
    assert left["geometric_altitude"] == pytest.approx(right["geometric_altitude"], abs=1e-6)


def test_steady_wind_moves_the_path_and_nothing_else():
    windy = CALM._replace(wind_north=np.array([5.0, 5.0]), wind_east=np.array([-3.0, -3.0]))
    calm_flight = fly(START, held(20.0, bank=0.3, vertical=0.05), airplane=AIRPLANE, column=CALM)
    windy_flight = fly(START, held(20.0, bank=0.3, vertical=0.05), airplane=AIRPLANE, column=windy)
    assert windy_flight["true_airspeed"] == pytest.approx(calm_flight["true_airspeed"])
    assert windy_flight.end.north - calm_flight.end.north == pytest.approx(100.0)
    assert windy_flight.end.east - calm_flight.end.east == pytest.approx(-60.0)


def test_a_pull_beyond_the_wing_is_refused_with_its_numbers():
    with pytest.raises(OutsideModel, match="more lift than the wing gives") as refusal:
        fly(START, held(5.0, vertical=5.0, kind="load_factor"), airplane=AIRPLANE, column=CALM)
    assert "the largest is 1.60" in str(refusal.value)


def test_a_turn_that_never_comes_is_refused():
    at = np.array([0.0, 3.0])
    level = Schedule(
        at=at,
        bank=0 * at,
        vertical=0 * at,
        throttle=0.6 + 0 * at,
        over="heading_change",
        vertical_kind="path_angle",
    )
    with pytest.raises(OutsideModel, match="never gets to its last heading change"):
        fly(START, level, airplane=AIRPLANE, column=CALM)


@pytest.mark.parametrize("at", [[0.0, 1.0, 1.0], [1.0, 2.0, 3.0]])
def test_a_faulty_schedule_is_refused(at):
    three = np.zeros(3)
    with pytest.raises(OutsideModel, match="rise strictly"):
        Schedule(at=np.array(at), bank=three, vertical=three, throttle=three)
