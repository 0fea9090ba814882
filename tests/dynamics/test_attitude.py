"""Attitude from path, angle of attack and bank, against rotations composed by an independent library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from chalkwing.dynamics import (
    angle_of_attack_for,
    bank_attitude,
    nose_offset,
    path_bank,
    path_bank_for,
    pitch_attitude,
)

RNG = np.random.default_rng(7)
PATH, ATTACK, ROLLED = RNG.uniform(-0.5, 0.5, 200), RNG.uniform(-0.05, 0.25, 200), RNG.uniform(-1.3, 1.3, 200)


def test_attitude_equals_the_product_of_rotations():
    # Velocity axes: heading, path angle, bank about the velocity; then the angle of attack about the wing.
    # scipy's intrinsic "ZYX" is the aeronautical heading-pitch-bank sequence in north-east-down axes.
    velocity = Rotation.from_euler("ZYX", np.column_stack([np.zeros(200), PATH, ROLLED]))
    body = velocity * Rotation.from_euler("Y", ATTACK[:, None])
    heading, pitch, bank = body.as_euler("ZYX").T
    assert pitch_attitude(PATH, ATTACK, ROLLED) == pytest.approx(pitch, abs=1e-12)
    assert bank_attitude(PATH, ATTACK, ROLLED) == pytest.approx(bank, abs=1e-12)
    assert nose_offset(PATH, ATTACK, ROLLED) == pytest.approx(heading, abs=1e-12)


def test_inverses_come_back():
    pitch, bank = pitch_attitude(PATH, ATTACK, ROLLED), bank_attitude(PATH, ATTACK, ROLLED)
    assert path_bank(PATH, pitch, bank) == pytest.approx(ROLLED, abs=1e-9)
    assert path_bank_for(PATH, ATTACK, bank) == pytest.approx(ROLLED, abs=1e-9)
    assert angle_of_attack_for(PATH, pitch, ROLLED) == pytest.approx(ATTACK, abs=1e-9)


def test_wings_level_pitch_is_path_plus_attack_and_the_nose_points_along():
    assert pitch_attitude(0.1, 0.08, 0.0) == pytest.approx(0.18)
    assert bank_attitude(0.1, 0.08, 0.0) == 0.0
    assert nose_offset(0.1, 0.08, 0.0) == 0.0


def test_a_nose_above_the_path_shows_more_bank_in_a_climb_and_less_in_a_descent():
    # In a climb with bank 45 about the velocity, sin(bank) cos(pitch) = sin 45 cos(path): the nose above the
    # path makes the attitude's bank the larger of the two; below the path the smaller.
    assert bank_attitude(0.2, 0.15, np.pi / 4) > np.pi / 4
    assert bank_attitude(-0.2, 0.15, np.pi / 4) < np.pi / 4


def test_a_pitch_that_no_angle_of_attack_gives_is_nan():
    with np.errstate(invalid="ignore"):
        assert np.isnan(angle_of_attack_for(0.0, 1.0, np.radians(60.0)))
