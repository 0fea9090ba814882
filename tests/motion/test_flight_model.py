"""The estimator's physics in one knot against closed forms and against the house's equations of motion."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing import dynamics
from chalkwing.motion import layout as at
from chalkwing.motion.flight_model import outputs
from chalkwing.units import STANDARD_GRAVITY as G
from chalkwing.units import Floats

GLIDE, GLIDE_DRAG, REFERENCE, LOADING = 36.0, 0.09, 50.0, 130.0
PLANE = np.array([GLIDE, GLIDE_DRAG, REFERENCE, LOADING])
DENSITY = 0.87


def shown(z: Floats, density: float = DENSITY) -> Floats:
    out = np.empty(at.OUTPUTS)
    outputs(z, density, PLANE, out)
    return out


def flying(**given: float) -> Floats:
    """Inputs of straight level flight north at 50 m/s with thrust for it, but for what is ``given``."""
    z = np.zeros(at.INPUTS)
    z[at.IN_V_NORTH] = 50.0
    z[at.IN_ZERO_LIFT] = 0.02
    for name, value in given.items():
        z[getattr(at, f"IN_{name.upper()}")] = value
    return z


@pytest.fixture(scope="module")
def many() -> list[Floats]:
    """Attitudes of performance maneuvers and beyond: bank to 70 degrees, paths to 25, no slip."""
    rng = np.random.default_rng(4)
    found = []
    for _ in range(200):
        speed, heading, path = rng.uniform(30, 70), rng.uniform(-np.pi, np.pi), rng.uniform(-0.44, 0.44)
        found.append(
            flying(
                v_north=speed * np.cos(path) * np.cos(heading),
                v_east=speed * np.cos(path) * np.sin(heading),
                v_up=speed * np.sin(path),
                roll=rng.uniform(-1.22, 1.22),
                excess=rng.normal(0, 0.2),
                thrust=rng.uniform(0, 0.3),
                parasite=rng.normal(0, 0.2),
                induced=rng.normal(0, 0.2),
                lapse=rng.normal(0, 0.2),
                lift_slope=rng.normal(0, 0.1),
            )
        )
    return found


def described(z: Floats) -> tuple[float, float, float, float, float]:
    """True airspeed, path angle, air heading, lift over weight, bank about the path."""
    level = np.hypot(z[at.IN_V_NORTH], z[at.IN_V_EAST])
    path = float(np.arctan2(z[at.IN_V_UP], level))
    load = np.cos(path) / max(np.cos(z[at.IN_ROLL]), 0.25) + z[at.IN_EXCESS]
    heading = float(np.arctan2(z[at.IN_V_EAST], z[at.IN_V_NORTH]))
    return float(np.hypot(level, z[at.IN_V_UP])), path, heading, float(load), float(z[at.IN_ROLL])


def test_attitude_is_that_of_the_equations_of_motion(many: list[Floats]) -> None:
    # The square root under the horizontal speed is kept from zero by 1 mm/s: 2e-10 of 50 m/s.
    for z in many:
        out = shown(z)
        _, path, heading, _, roll = described(z)
        attack = out[at.OUT_ATTACK]
        assert out[at.OUT_PITCH] == pytest.approx(dynamics.pitch_attitude(path, attack, roll), abs=1e-8)
        assert out[at.OUT_BANK] == pytest.approx(dynamics.bank_attitude(path, attack, roll), abs=1e-8)
        off = out[at.OUT_HEADING] - heading - dynamics.nose_offset(path, attack, roll)
        assert np.sin(off) == pytest.approx(0.0, abs=1e-8)
        assert np.cos(off) > 0


def test_acceleration_is_that_of_the_equations_of_motion(many: list[Floats]) -> None:
    for z in many:
        out = shown(z)
        speed, path, heading, load, roll = described(z)
        acceleration = out[at.OUT_A_NORTH : at.OUT_A_UP + 1]
        ahead = np.array([np.cos(path) * np.cos(heading), np.cos(path) * np.sin(heading), np.sin(path)])
        excess = float(acceleration @ ahead) + G * np.sin(path)  # thrust minus drag over mass
        *_, speeding, pitching, turning = dynamics.state_rates(
            speed, path, heading, roll, load, excess, 0.0, 0.0, 0.0, 0.0
        )
        upward = np.array([-np.sin(path) * np.cos(heading), -np.sin(path) * np.sin(heading), np.cos(path)])
        rightward = np.array([-np.sin(heading), np.cos(heading), 0.0])
        expected = (
            speeding * ahead + speed * pitching * upward + speed * np.cos(path) * turning * rightward
        )  # fmt: skip
        assert acceleration == pytest.approx(expected, abs=1e-6)


def test_the_accelerometer_feels_lift_and_drag_across_the_floor(many: list[Floats]) -> None:
    # Acceleration less gravity, resolved along the body's upward axis: the axis is path's up, rolled, then
    # tilted by the angle of attack.
    for z in many:
        out = shown(z)
        _, path, heading, _, roll = described(z)
        attack = out[at.OUT_ATTACK]
        ahead = np.array([np.cos(path) * np.cos(heading), np.cos(path) * np.sin(heading), np.sin(path)])
        upward = np.array([-np.sin(path) * np.cos(heading), -np.sin(path) * np.sin(heading), np.cos(path)])
        right = np.array([-np.sin(heading), np.cos(heading), 0.0])
        floor = np.cos(attack) * (np.cos(roll) * upward + np.sin(roll) * right) - np.sin(attack) * ahead
        felt = (out[at.OUT_A_NORTH : at.OUT_A_UP + 1] + np.array([0.0, 0.0, G])) @ floor / G
        assert out[at.OUT_LOAD] == pytest.approx(felt, abs=1e-7)


@pytest.mark.parametrize("bank_deg", [-60, -45, -20, 20, 30, 50, 60])
def test_a_level_coordinated_turn_has_the_bank_of_the_handbook(bank_deg: float) -> None:
    # [PHAK] ch. 5: tan(bank) = V x turn rate / g, load factor 1 / cos(bank).
    roll = np.radians(bank_deg)
    out = shown(flying(roll=roll))
    rate = out[at.OUT_A_EAST] / 50.0
    assert np.tan(roll) == pytest.approx(50.0 * rate / G, rel=1e-7)
    assert out[at.OUT_A_UP] == pytest.approx(0.0, abs=1e-6)
    along = out[at.OUT_A_NORTH] / G
    attack = out[at.OUT_ATTACK]
    assert out[at.OUT_LOAD] == pytest.approx(np.cos(attack) / np.cos(roll) - along * np.sin(attack), rel=1e-7)


def test_wings_level_without_slip_the_nose_lies_above_the_path_and_nowhere_else() -> None:
    out = shown(flying(v_up=4.0))
    assert out[at.OUT_BANK] == pytest.approx(0.0, abs=1e-12)
    assert out[at.OUT_HEADING] == pytest.approx(0.0, abs=1e-12)
    assert out[at.OUT_PITCH] == pytest.approx(np.arctan2(4.0, 50.0) + out[at.OUT_ATTACK], abs=1e-8)


def test_air_from_the_right_finds_the_nose_left_of_the_path() -> None:
    assert shown(flying(slip=0.05))[at.OUT_HEADING] == pytest.approx(-0.05, abs=1e-12)
    # A force toward the right goes with air from the left: the nose right of the path.
    assert shown(flying(side=0.02))[at.OUT_HEADING] > 0.005


def test_a_held_slip_needs_bank_to_fly_straight() -> None:
    # Weight and lift in balance sideways: sin(bank) = -side load, when nothing turns.
    side = 0.05
    roll = -np.arcsin(side)
    trim = np.cos(roll) - 1.0 / np.cos(roll)  # lift is the weight's part along it
    out = shown(flying(roll=roll, side=side, excess=trim))
    assert out[at.OUT_A_EAST] == pytest.approx(0.0, abs=1e-6)
    assert out[at.OUT_A_UP] == pytest.approx(0.0, abs=1e-6)


def test_drag_is_least_at_best_glide_and_thrust_is_as_told_at_its_reference() -> None:
    def along(equivalent: float, **given: float) -> float:
        return float(shown(flying(v_north=equivalent / np.sqrt(DENSITY), **given))[at.OUT_A_NORTH]) / G

    assert along(GLIDE) == pytest.approx(-GLIDE_DRAG, rel=1e-6)
    assert along(0.9 * GLIDE) < along(GLIDE) > along(1.1 * GLIDE)
    assert along(REFERENCE, thrust=0.2) - along(REFERENCE) == pytest.approx(0.2, rel=1e-6)


def test_left_is_the_mirror_of_right(many: list[Floats]) -> None:
    odd_in = [at.IN_V_EAST, at.IN_ROLL, at.IN_SIDE, at.IN_SLIP]
    odd_out = [at.OUT_BANK, at.OUT_HEADING, at.OUT_A_EAST]
    for z in many:
        z = z.copy()
        z[at.IN_SIDE], z[at.IN_SLIP] = 0.03, -0.05
        mirror = z.copy()
        mirror[odd_in] *= -1
        expected = shown(z)
        expected[odd_out] *= -1
        assert shown(mirror) == pytest.approx(expected, abs=1e-12)
