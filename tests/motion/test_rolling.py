"""An airplane that turns round on its runway and goes again: one flight, and no wing carries it there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.motion.known import PLACE, RADIUS, LevelFlight, Truth, summed
from tests.motion.recorder import PANEL, record

from chalkwing.motion.estimate import reconstruct
from chalkwing.units import DEGREE

LANDS, STOPS, GOES, FLIES = 175.0, 192.0, 216.0, 233.0
ROLLS_AT = 8.5


@pytest.fixture(scope="module")
def landing() -> Truth:
    """Level turns; between them it slows down, turns round on its wheels and is off again."""
    flight = replace(LevelFlight(), turns=((60, 96, 45), (280, 330, -20)), wind=(6.0, -4.0))
    truth = flight.truth()
    time, values = truth.time, dict(truth.values)
    turned = np.interp(time, [STOPS + 2, GOES - 2], [0.0, 2.0 * np.pi])
    nose = values["heading_true"] + turned
    wheels = np.interp(time, [LANDS, STOPS, GOES, FLIES], [0.0, 1.0, 1.0, 0.0])
    north = (1.0 - wheels) * values["velocity_north"] + wheels * ROLLS_AT * np.cos(nose)
    east = (1.0 - wheels) * values["velocity_east"] + wheels * ROLLS_AT * np.sin(nose)
    speed = np.hypot(north - flight.wind[0], east - flight.wind[1])
    shown = speed * values["indicated_airspeed"] / flight.airspeed
    values |= {
        "velocity_north": north,
        "velocity_east": east,
        "latitude": PLACE[0] + summed(north) / RADIUS,
        "longitude": PLACE[1] + summed(east) / (RADIUS * np.cos(PLACE[0])),
        "true_airspeed": speed,
        "indicated_airspeed": shown,
        "heading_true": nose,
    }
    return Truth(time, values)


def test_a_turn_on_the_wheels_leaves_the_flying_before_and_after_it_as_it_was(landing: Truth) -> None:
    motion = reconstruct(record(landing, PANEL, seed=3))
    flying = (motion.time < 165.0) | (motion.time > 240.0)
    bank = motion["bank"] - landing.at("bank", motion.time)
    speed = motion["true_airspeed"] - landing.at("true_airspeed", motion.time)
    assert np.sqrt(np.mean(bank[flying] ** 2)) < 1.0 * DEGREE
    assert np.sqrt(np.mean(speed[flying] ** 2)) < 1.0
    # What the forces say the energy gains is what height and speed show: the estimate hangs together.
    shown = np.gradient(motion["specific_energy"], motion.time)
    assert np.sqrt(np.mean((motion["specific_energy_rate"] - shown)[flying] ** 2)) < 0.5
