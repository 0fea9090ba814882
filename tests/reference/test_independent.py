"""Every solved control history, integrated by other equations and another integrator, ends where it should.

The bounds are the ones the solution is held to: 1 ft, 0.1 kt, 0.1°.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.reference import attitudes

from chalkwing.airplane import load_sheet
from chalkwing.conditions import Conditions
from chalkwing.reference import Reference, solve
from chalkwing.reference.what_if import situation_of
from chalkwing.units import deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, mps_to_kt, rad_to_deg

WARM = Conditions(isa_deviation=20.0)
CASES = [
    ("lazy_eight", "four-seat-160", "right", {}),
    ("lazy_eight", "two-seat-100", "left", {"maximum_bank": deg_to_rad(15.0)}),
    ("lazy_eight", "four-seat-200", "right", {"maximum_bank": deg_to_rad(60.0)}),
    ("lazy_eight", "four-seat-160", "left", {"nose_up": deg_to_rad(8.0), "maximum_bank": deg_to_rad(45.0)}),
    ("chandelle", "four-seat-160", "right", {}),
    ("chandelle", "four-seat-200", "left", {"bank": deg_to_rad(20.0)}),
]


def flown_again(reference: Reference) -> tuple[attitudes.End, float]:
    """The first turn under Newton's law, and its true airspeed at entry."""
    situation, schedule = situation_of(reference), reference.schedule.schedule
    inside = reference["part"] == 1.0
    side = 1.0 if reference.direction == "right" else -1.0
    entry, level = float(reference["true_airspeed"][0]), float(reference["pitch"][0])
    seed = reference.schedule.seed

    def attitude(time: float) -> tuple[float, float, float]:
        at = np.array([time])
        if seed is not None:  # the optimizer's own parabolas, not the knots they were sampled at
            bank, pitch = (float(each[0]) for each in seed.attitude(at))
        else:
            knots = schedule.times.ravel()
            bank = float(np.interp(time, knots, schedule.bank_into_turn.ravel()))
            pitch = level + float(np.interp(time, knots, schedule.pitch_above_level.ravel()))
        throttle = float(np.interp(time, schedule.times.ravel(), schedule.throttle.ravel()))
        return side * bank, pitch, throttle

    corners = seed.node_times if seed is not None else np.concatenate(([0.0], schedule.ends))
    assert corners[-1] == pytest.approx(reference.time[inside][-1], abs=1e-6)
    end = attitudes.fly(
        situation.airplane,
        lambda height: float(situation.density(height)),
        attitude,
        times=corners,
        airspeed=entry,
        heading=0.0,
    )
    return end, entry


@pytest.mark.parametrize(("kind", "sheet", "direction", "settings"), CASES)
def test_newtons_law_ends_where_the_solution_does(kind, sheet, direction, settings):
    reference = solve(
        kind,
        sheet=load_sheet(sheet),
        conditions=WARM,
        entry_altitude=ft_to_m(4000.0),
        direction=direction,
        **settings,
    )
    end, entry = flown_again(reference)
    last = np.flatnonzero(reference["part"] == 1.0)[-1]
    side = 1.0 if direction == "right" else -1.0
    # Against what the Reference says, and for the eight against entry itself.
    assert m_to_ft(end.height - reference["height_change"][last]) == pytest.approx(0.0, abs=1.0)
    assert mps_to_kt(end.airspeed - reference["true_airspeed"][last]) == pytest.approx(0.0, abs=0.1)
    assert rad_to_deg(side * end.heading) == pytest.approx(180.0, abs=0.1)
    if kind == "lazy_eight":
        assert m_to_ft(end.height) == pytest.approx(0.0, abs=1.0)
        assert mps_to_kt(end.airspeed - entry) == pytest.approx(0.0, abs=0.1)


def test_the_judge_sees_a_wrong_history():
    reference = solve("lazy_eight", sheet=load_sheet("four-seat-160"))
    situation, seed = situation_of(reference), reference.schedule.seed
    end = attitudes.fly(
        situation.airplane,
        lambda height: float(situation.density(height)),
        lambda t: (*(float(each[0]) for each in seed.attitude(np.array([t]))), seed.throttle + 0.01),
        times=seed.node_times,
        airspeed=seed.task.entry_speed,
        heading=0.0,
    )
    assert abs(m_to_ft(end.height)) > 3.0


def test_level_flight_of_the_judge_is_level():
    sheet = load_sheet("four-seat-160")
    situation = situation_of(solve("lazy_eight", sheet=sheet))
    speed = kt_to_mps(95.0)
    pitch, throttle = situation.level_attack(speed), situation.level_throttle(speed)
    end = attitudes.fly(
        situation.airplane,
        lambda _: float(situation.density()),
        lambda _: (0.0, pitch, throttle),
        times=np.array([0.0, 60.0]),
        airspeed=speed,
        heading=0.0,
    )
    assert m_to_ft(end.height) == pytest.approx(0.0, abs=0.1)
    assert mps_to_kt(end.airspeed - speed) == pytest.approx(0.0, abs=0.01)
