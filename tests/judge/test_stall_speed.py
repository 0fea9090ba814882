"""The day's stall speed: brought to 1 g, pooled with its doubt, and compared with the handbook's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from tests.judge.spells import STALL_SPEED, fly_stall, stall
from tests.judge.synthetic import Error

from chalkwing.airplane.loading import load_sheet
from chalkwing.judge import BreakSpeed, day_stall_speeds, judge
from chalkwing.judge.stall_speed import DERIVED_ERROR, POSITION_ERROR, TABLE_ERROR
from chalkwing.maneuvers import definition, standard
from chalkwing.units import DEGREE, KNOT

PUBLISHED = Path(__file__).parents[1] / "published"


def brought_to_1_g(bank: float) -> float:
    """The stall speed [kt] that the judge reads of a stall in a level turn; the true one is 50 kt at 1 g."""
    load = 1.0 / np.cos(bank * DEGREE)
    flight = fly_stall(stall(bank=bank, load=load), kind="accelerated_stall")
    found = judge(flight.motion, flight.occurrence, definition("accelerated_stall"), standard("commercial"))
    assert found.break_speed is not None
    return found.break_speed.value / KNOT


def multipliers() -> list[tuple[float, float]]:
    rows = pl.read_csv(PUBLISHED / "stall_speed.csv", comment_prefix="#", infer_schema=False)
    rows = rows.filter(pl.col("quantity") == "stall_speed_multiplier")
    banks = [float(given.removeprefix("bank_deg=")) for given in rows["inputs"]]
    chosen = [(bank, float(told)) for bank, told in zip(banks, rows["expected"], strict=True)]
    return [(bank, told) for bank, told in chosen if bank in (0.0, 20.0, 30.0, 45.0, 60.0)]


@pytest.mark.parametrize(("bank", "multiplier"), multipliers())
def test_a_stall_in_a_turn_is_brought_to_1_g_by_the_published_multiplier(
    bank: float, multiplier: float
) -> None:
    # tests/published/stall_speed.csv: it goes with the root of the load factor (FAA-H-8083-25 ch. 5).
    flown = STALL_SPEED / KNOT * multiplier
    # It is read as the mean of a second, in which the speed falls by a knot: half a knot slow of the break.
    assert flown / brought_to_1_g(bank) == pytest.approx(multiplier, rel=0.02)


def of(value: float, sd: float, common: float, configuration: str = "clean") -> BreakSpeed:
    return BreakSpeed(0.0, value * KNOT, sd * KNOT, common * KNOT, configuration)  # type: ignore[arg-type]


def test_the_airspeeds_own_error_does_not_shrink_with_the_number_of_stalls() -> None:
    (one,) = day_stall_speeds([of(50.0, 2.0, 1.5)])
    (many,) = day_stall_speeds([of(50.0, 2.0, 1.5)] * 100)
    assert one.sd == pytest.approx(2.0 * KNOT)
    assert many.sd == pytest.approx(1.5 * KNOT, rel=0.01)


def test_stalls_that_differ_widen_the_doubt_of_their_mean() -> None:
    alike, apart = (
        day_stall_speeds([of(50.0 - d, 1.0, 0.5), of(50.0, 1.0, 0.5), of(50.0 + d, 1.0, 0.5)])[0]
        for d in (0.1, 6.0)
    )
    assert alike.sd is not None
    assert apart.sd is not None
    assert apart.sd > 2.5 * alike.sd
    assert apart.value == pytest.approx(50.0 * KNOT)
    assert apart.spread == pytest.approx(6.0 * KNOT)


def test_the_better_known_stall_counts_for_more() -> None:
    (day,) = day_stall_speeds([of(50.0, 0.5, 0.1), of(52.0, 2.0, 0.1)])
    assert day.value is not None
    assert 50.0 < day.value / KNOT < 50.5


def test_it_is_compared_with_the_sheet_at_the_days_mass() -> None:
    sheet = load_sheet("two-seat-100")
    light = 0.81 * sheet.mass
    (day,) = day_stall_speeds([of(50.0, 1.0, 0.5)], sheet=sheet, mass=light)
    # [PHAK] ch. 5: the stall speed goes with the root of the weight; 0.9 of it at 0.81 of the mass.
    assert day.sheet == pytest.approx(0.9 * sheet.stall_speed)
    assert day.difference == pytest.approx(50.0 * KNOT - 0.9 * sheet.stall_speed)
    assert day.difference_sd is not None
    assert day.sd is not None
    assert day.difference_sd > day.sd
    assert "above the stall speed" in day.note


def test_flaps_are_compared_with_the_landing_figure_and_never_pooled_with_a_clean_wing() -> None:
    sheet = load_sheet("two-seat-100")
    found = day_stall_speeds([of(50.0, 1.0, 0.5), of(44.0, 1.0, 0.5, "flaps")], sheet=sheet)
    assert [day.configuration for day in found] == ["clean", "flaps"]
    assert found[1].sheet == sheet.stall_speed_landing


def test_without_a_stall_only_what_slow_flight_bore_is_told() -> None:
    (day,) = day_stall_speeds([], [of(55.0, 1.0, 0.5), of(53.0, 1.0, 0.5)])
    assert (day.value, day.count, day.difference) == (None, 0, None)
    assert day.flown == pytest.approx(53.0 * KNOT)
    assert "no stall was flown" in day.note


def test_an_indicator_without_the_manuals_correction_is_not_trusted_near_the_stall() -> None:
    one = stall()
    plain = fly_stall(one)
    count = len(plain.motion.time)
    recorded = fly_stall(one, extra={"indicated_airspeed": np.full(count, 50.0 * KNOT)})
    kind, held = definition("power_off_stall"), standard("commercial")
    found = judge(recorded.motion, recorded.occurrence, kind, held).break_speed
    assert found is not None
    assert found.common_sd >= POSITION_ERROR
    calibrated = judge(plain.motion, plain.occurrence, kind, held).break_speed
    assert calibrated is not None
    assert calibrated.common_sd == pytest.approx(TABLE_ERROR, rel=0.05)
    derived = replace(plain.motion, origins=dict.fromkeys(plain.motion.values, "derived"))
    other = judge(derived, plain.occurrence, kind, held).break_speed
    assert other is not None
    assert other.common_sd == pytest.approx(DERIVED_ERROR, rel=0.05)


def test_its_interval_holds_the_truth() -> None:
    # Errors as a panel's: the airspeed's zero is common to a flight, the rest each stall's own.
    errors = {
        "calibrated_airspeed": Error(1.5 * KNOT, 0.5 * KNOT, 5.0),
        "load_factor": Error(0.01, 0.02, 2.0),
        "vertical_speed": Error(0.0, 0.2, 3.0),
        "pitch": Error(0.5 * DEGREE, 0.3 * DEGREE, 2.0),
    }
    kind, held = definition("power_off_stall"), standard("commercial")
    inside = []
    for seed in range(30):
        flight = fly_stall(stall(), errors=errors, seed=seed, border_error=seed % 3 - 1.0)
        found = judge(flight.motion, flight.occurrence, kind, held, seed=seed, draws=100).break_speed
        assert found is not None
        # The mean of the last second before the break is half a knot faster than the break itself.
        inside.append(abs(found.value - STALL_SPEED - 0.5 * KNOT) <= 1.96 * found.sd)
    assert 0.8 <= float(np.mean(inside)) <= 1.0
