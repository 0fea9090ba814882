"""Agreement of instructors on a common set: what it says, and when it says nothing."""

from __future__ import annotations

import numpy as np
import pytest
from tests.book.instructors.coverage import PLANS, alpha_by_coincidences, covered
from tests.book.instructors.simulate import Plan, school

from chalkwing.book.agreement import LEAST_MANEUVERS, Sheet, agreement
from chalkwing.units import Floats


def sheet(marks: Floats) -> Sheet:
    instructors = tuple(f"instructor {row}" for row in range(len(marks)))
    return Sheet(instructors, tuple(f"maneuver {column}" for column in range(marks.shape[1])), marks, steps=4)


def test_alpha_is_the_one_of_the_published_example() -> None:
    # Krippendorff, "Computing Krippendorff's Alpha-Reliability" (2011), example C: four observers, twelve
    # units, marks 1 to 5 with gaps; nominal 0.743, ordinal 0.815 (from memory, as the library's own
    # documentation has it).
    nan = np.nan
    marks = np.array(
        [
            [1, 2, 3, 3, 2, 1, 4, 1, 2, nan, nan, nan],
            [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, nan, 3],
            [nan, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, nan],
            [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, nan],
        ]
    )
    told = agreement(sheet(marks))
    assert told.alpha == pytest.approx(0.815, abs=0.001)
    assert told.low is not None
    assert told.high is not None
    assert told.low < 0.815 < told.high
    # Eleven units have two marks or more; observers differ on the second, the sixth and the eighth.
    assert told.said == "Disagreed on 3 of 11 maneuvers."


def test_small_numbers_say_too_few() -> None:
    assert "too few maneuvers" in agreement(sheet(np.ones((3, LEAST_MANEUVERS - 1)))).said
    alone = np.full((3, 20), np.nan)
    alone[0] = 1.0
    assert "too few instructors" in agreement(sheet(alone)).said


def test_all_marks_alike_have_no_alpha_and_no_leniency() -> None:
    told = agreement(sheet(np.full((3, 10), 2.0)))
    assert told.said == "Disagreed on 0 of 10 maneuvers."
    assert told.alpha is None
    assert all("like the others" in each.said for each in told.leniency)


@pytest.mark.parametrize(("shift", "word"), [(1.0, "above"), (-1.0, "below")])
def test_a_lenient_instructor_is_seen_on_a_common_set(shift: float, word: str) -> None:
    rng = np.random.default_rng(4)
    marks = np.tile(rng.integers(1, 4, 20).astype(float), (5, 1)) + rng.choice([0, 0, 0, 1, -1], (5, 20))
    marks[2] += shift
    told = agreement(sheet(marks))
    assert word in told.leniency[2].said
    others = [each for row, each in enumerate(told.leniency) if row != 2]
    assert all("like the others" in each.said for each in others)


def test_chance_alone_makes_nobody_lenient() -> None:
    # 40 schools of five who mark alike but for noise: of 200 instructors hardly one may be called lenient or
    # strict. Half a step and an interval without zero are needed at once, so 1 % is generous.
    rng = np.random.default_rng(5)
    called = 0
    for _ in range(40):
        marks = np.tile(rng.integers(1, 4, 12).astype(float), (5, 1)) + rng.choice([0, 0, 1, -1], (5, 12))
        called += sum("like the others" not in each.said for each in agreement(sheet(marks)).leniency)
    assert called <= 2


def test_few_marks_are_drawn_toward_the_others() -> None:
    rng = np.random.default_rng(6)
    marks = np.tile(rng.integers(1, 4, 24).astype(float), (4, 1)) + rng.choice([0, 0, 1, -1], (4, 24))
    marks[1, 4:] = np.nan
    marks[1, :4] += 1.0
    told = {each.instructor: each for each in agreement(sheet(marks)).leniency}
    few = told["instructor 1"]
    raw = np.nanmean(marks[1] - np.delete(marks, 1, axis=0).mean(axis=0))
    assert few.marks == 4
    assert abs(few.above) < abs(raw)


def test_alpha_is_the_one_counted_from_coincidences() -> None:
    # The library against a count written for this test, on schools with and without gaps.
    for seed in range(20):
        one = school(Plan(5, 15, 0.4, 0.6, missing=0.2 * (seed % 2)), seed)
        assert agreement(one.sheet).alpha == pytest.approx(alpha_by_coincidences(one.sheet.marks), abs=1e-9)


def test_intervals_of_a_sample_of_schools_hold_the_truth() -> None:
    # 60 schools of five: 300 leniencies, whose share has an error of 1.7 points at 90 % were they
    # independent; within a school they are not (they add up to zero), so 2 sd of the number of schools,
    # 8 points, are allowed. Sixty alphas at 95 %: two sd are 6 points.
    found = covered(Plan(5, 20, 0.4, 0.6), range(60))
    assert abs(found.held - 0.90) < 0.08
    assert found.alpha_held > 0.89
    # Never so wide that they say nothing.
    assert found.width < 0.6
    assert found.called_wrongly < 0.05


SMALLEST = pytest.mark.xfail(
    strict=True, reason="with 8 maneuvers the 95 % interval of alpha holds 87.5 % of true alphas"
)


@pytest.mark.accuracy
@pytest.mark.parametrize(
    "plan",
    [
        pytest.param(each, marks=SMALLEST if each.maneuvers < 12 else (), id=each.said.replace(" ", "-"))
        for each in PLANS
    ],
)
def test_intervals_hold_the_truth(plan: Plan) -> None:
    found = covered(plan, range(5000, 5400))
    assert found.held > 0.86
    assert found.alpha_held > 0.88
    assert found.called_wrongly < 0.05


def test_of_an_instructor_with_hardly_a_mark_nothing_is_said() -> None:
    one = school(Plan(4, 12, 0.4, 0.6), 3)
    marks = one.sheet.marks.copy()
    marks[2, 2:] = np.nan
    told = agreement(sheet(marks))
    assert [each.instructor for each in told.leniency] == ["instructor 0", "instructor 1", "instructor 3"]
