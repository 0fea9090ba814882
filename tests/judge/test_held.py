"""Held limits: which excursions make them not met, one-sided bands, and the worst side."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.judge.held import Held, hold
from chalkwing.judge.holding import merged
from chalkwing.judge.verdict import why_held
from chalkwing.maneuvers.standards import Band, HeldRules
from chalkwing.units import Floats

INTERVAL = 0.25
TIME = np.arange(0.0, 40.0, INTERVAL)


def excursion(start: float, seconds: float, by: float, *, limit: float = 100.0) -> Floats:
    """Outside ``limit`` for exactly ``seconds`` from ``start``, with steep sides."""
    ramp = 0.5 * limit / abs(by)  # crosses the limit this long (times 1 s) after leaving the base
    rise = np.minimum(TIME - start + 2.0 * ramp, start + seconds + 2.0 * ramp - TIME)
    return np.asarray(np.clip(rise, 0.0, 1.0) * by)


def judged(deviation: Floats, *, band: Band = (-100.0, 100.0), rules: HeldRules | None = None) -> Held:
    end = np.array([len(TIME) - 1.0])
    return hold(
        np.ascontiguousarray(deviation[None, :]),
        np.zeros(1),
        end,
        interval=INTERVAL,
        band=band,
        rules=rules or HeldRules(),
    )


def met(deviation: Floats, **keywords: object) -> bool:
    return bool(judged(deviation, **keywords).met[0])  # type: ignore[arg-type]


def test_inside_throughout_is_met_without_excursions() -> None:
    held = judged(np.full(len(TIME), 99.0))
    assert held.met.all()
    assert held.excursions() is None


@pytest.mark.parametrize(("seconds", "expected"), [(3.0, True), (4.5, True), (5.5, False), (9.0, False)])
def test_a_brief_corrected_excursion_is_met_and_a_sustained_one_is_not(
    seconds: float, expected: bool
) -> None:
    # Common practice, no source: sustained is over 5 s.
    held = judged(excursion(10.0, seconds, 120.0))
    assert held.met[0] == expected
    shown = held.excursions()
    assert shown is not None
    assert shown.count == 1
    assert shown.longest == pytest.approx(seconds, abs=0.05)
    assert shown.worst == pytest.approx(120.0)


def test_three_brief_excursions_are_not_met_and_two_are() -> None:
    two = excursion(5.0, 2.0, 120.0) - excursion(15.0, 2.0, 120.0)
    assert met(two)
    assert not met(two + excursion(25.0, 2.0, 120.0))


def test_beyond_one_and_a_half_times_the_limit_is_not_met_however_brief() -> None:
    assert met(excursion(10.0, 1.0, 149.0))
    assert not met(excursion(10.0, 1.0, 151.0))
    assert not met(-excursion(10.0, 1.0, 151.0))


def test_uncorrected_when_the_rollout_begins_is_not_met() -> None:
    assert not met(excursion(37.0, 60.0, 120.0))
    assert met(excursion(33.0, 3.0, 120.0))


def test_a_school_sets_its_own_rules() -> None:
    deviation = excursion(10.0, 4.0, 120.0)
    assert met(deviation)
    assert not met(deviation, rules=HeldRules(sustained=3.0))
    assert not met(deviation, rules=HeldRules(repeated=1))
    assert not met(deviation, rules=HeldRules(gross=1.1))


def test_a_one_sided_band_stays_one_sided() -> None:
    # FAA-S-ACS-7B, CA.VII.A: +5/-0 kt. Four knots fast is inside; four knots slow for long is outside.
    fast, slow = np.full(len(TIME), 4.0), np.full(len(TIME), -4.0)
    assert met(fast, band=(0.0, 5.0))
    assert not met(slow, band=(0.0, 5.0))
    assert met(slow, band=(-5.0, 0.0))
    assert met(-1e6 * np.ones(len(TIME)), band=(None, 5.0))


def test_a_bound_of_zero_leaves_room_before_gross() -> None:
    brief_slow = -excursion(10.0, 2.0, 2.0, limit=0.5)
    assert met(brief_slow + 0.4, band=(0.0, 5.0))


def test_the_worst_deviation_keeps_one_side_over_all_draws() -> None:
    # Each draw swings +90 and -92 or so; a mean over each draw's larger side would be nearly zero.
    rng = np.random.default_rng(3)
    swing = 90.0 * np.sin(TIME / 3.0) + rng.normal(0.0, 5.0, (400, 1))
    end = np.full(400, len(TIME) - 1.0)
    held = hold(swing, np.zeros(400), end, interval=INTERVAL, band=(-100.0, 100.0), rules=HeldRules())
    assert abs(held.worst.mean()) > 85.0
    assert len(set(np.sign(held.worst))) == 1


def test_a_window_that_was_never_flown_is_not_known() -> None:
    held = hold(
        np.zeros((3, 50)), np.full(3, np.nan), np.full(3, 40.0),
        interval=INTERVAL, band=(-1.0, 1.0), rules=HeldRules(),
    )  # fmt: skip
    assert not held.known.any()
    assert held.excursions() is None


def test_both_sides_are_told_of_what_stayed_inside() -> None:
    held = judged(np.where(TIME < 20.0, 60.0, -40.0))
    assert held.between() == (-40.0, 60.0)
    assert held.worst[0] == 60.0
    words = why_held(held, "ft", (-100.0, 100.0), HeldRules(), "met")
    assert words == "never outside; between -40 ft and 60 ft"


def test_a_single_bound_tells_of_its_own_side_only() -> None:
    held = judged(np.where(TIME < 20.0, 60.0, -400.0), band=(None, 100.0))
    assert why_held(held, "ft", (None, 100.0), HeldRules(), "met") == "never outside; 60 ft at most"


def test_several_stretches_go_as_far_as_the_furthest_of_them() -> None:
    # One climbs 60 ft, the other sinks 80: neither alone tells both.
    up, down = judged(np.full(len(TIME), 60.0)), judged(np.full(len(TIME), -80.0))
    both = merged([up, down], HeldRules())
    assert both.between() == (-80.0, 60.0)
    assert both.worst[0] == -80.0
    never = judged(np.full(len(TIME), np.nan))
    assert merged([up, never], HeldRules()).between() == (60.0, 60.0)


def test_what_was_never_flown_went_to_neither_side() -> None:
    held = hold(
        np.zeros((3, 50)), np.full(3, np.nan), np.full(3, 40.0),
        interval=INTERVAL, band=(-1.0, 1.0), rules=HeldRules(),
    )  # fmt: skip
    assert held.between() is None
    assert np.isnan(held.worst).all()
