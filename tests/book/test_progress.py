"""The chance on the next try: what it says, when it says nothing, and how often it comes true."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom
from sklearn.linear_model import LogisticRegression
from tests.book.cohorts.reliability import foretell
from tests.book.cohorts.simulate import cohort
from tests.book.school import INSTRUCTOR, STUDENT, WHO, add_lesson, document, element, maneuver, recording

from chalkwing.book import Book, lessons, people
from chalkwing.book.adding import Entry, add
from chalkwing.book.progress import model
from chalkwing.book.progress.attempts import Attempts, attempts_of_school, who_tried_last
from chalkwing.book.progress.chance import NEXT, chance_of, chances, how_many
from chalkwing.book.progress.kept import POOL, Kept, pool_of
from chalkwing.book.progress.pooling import SCHOOL, SLOPE_SHARE, Tries, peak_of


def test_a_sample_of_chances_comes_true() -> None:
    # 40 schools, 320 chances: a tenth of 100 chances has an error of 5 points itself (1 sd), so all are
    # pooled: the mean said must lie within three of its own standard errors, 8 points, of the mean that came.
    found = foretell(range(40))
    assert abs(found.chance.mean() - found.came.mean()) < 3 * np.sqrt(0.25 / len(found.came))
    low, high = found.chance < 0.35, found.chance > 0.65
    assert found.came[high].mean() - found.came[low].mean() > 0.3  # it tells the ready from the unready


@pytest.mark.accuracy
def test_chances_come_true_within_five_points_in_every_tenth() -> None:
    assert foretell(range(10_000, 10_500)).worst <= 0.05


def test_with_few_tries_the_school_speaks_and_with_many_the_student() -> None:
    school = np.repeat(np.arange(6), 10)
    number = np.tile(np.arange(1, 11), 6)
    success = (school < 5).astype(float)  # five who always succeed and one who never does
    fitted = model.fit(school, number, success)
    always, never = (float(fitted.chance(who, np.array([11])).mean()) for who in (0, 5))
    stranger = float(fitted.chance(99, np.array([1])).mean())
    assert never < 0.25 < stranger < always
    newcomer = model.fit(np.append(school, 6), np.append(number, 1), np.append(success, 0.0))
    assert float(newcomer.chance(6, np.array([2])).mean()) > never + 0.15  # one failure is not ten


def test_the_peak_is_that_of_a_library_with_a_ridge(monkeypatch: pytest.MonkeyPatch) -> None:
    # The library holds coefficients to zero alone, so nothing is believed of the school here but a spread.
    monkeypatch.setattr("chalkwing.book.progress.pooling.TYPICAL", np.zeros(2))
    # scikit-learn's logistic regression, on the same columns as a dense matrix; a try in doubt stands twice.
    school, spread = cohort(7), 0.8
    success = np.where(school.number == 2, 0.3, school.success)
    found = peak_of(Tries.of(school.student, school.number, success), np.array([0.4, spread]))
    practice, whose = np.log2(school.number), np.eye(8)[school.student]
    rows = np.hstack(
        [
            SCHOOL * np.column_stack([np.ones(len(practice)), practice]),
            spread * whose,
            spread * SLOPE_SHARE * whose * practice[:, None],
        ]
    )
    outcome = np.repeat([1.0, 0.0], len(rows))
    weight, twice = np.concatenate([success, 1.0 - success]), np.vstack([rows, rows])
    library = LogisticRegression(C=1.0, fit_intercept=False, tol=1e-9, max_iter=5000)
    expected = library.fit(twice, outcome, sample_weight=weight).coef_[0]
    np.testing.assert_allclose(found.at_school[1], expected[:2], atol=2e-4)
    np.testing.assert_allclose(found.at_students[1].T.ravel(), expected[2:], atol=2e-4)


def test_practice_helps_where_it_helped() -> None:
    student = np.repeat(np.arange(4), 12)
    number = np.tile(np.arange(1, 13), 4)
    fitted = model.fit(student, number, (number > 6).astype(float))
    drawn = fitted.chance(0, np.array([1, 4, 12])).mean(axis=0)
    assert drawn[0] < drawn[1] < drawn[2]


def test_how_many_of_the_next_is_the_binomial_where_all_are_alike() -> None:
    np.testing.assert_allclose(how_many(np.full((3, NEXT), 0.7)), binom.pmf(np.arange(NEXT + 1), NEXT, 0.7))


def test_doubt_about_the_student_widens_how_many() -> None:
    sure = how_many(np.full((2, NEXT), 0.5))
    unsure = how_many(np.repeat([[0.1], [0.9]], NEXT, axis=1))
    assert unsure[0] + unsure[-1] > sure[0] + sure[-1]


def tries(count: int, met: float, *, student: int = 1) -> Attempts:
    table = np.full((count, 2), met)
    return Attempts(
        "lazy_eight",
        ("altitude_at_180", "heading_at_180"),
        np.full(count, student),
        np.arange(1, count + 1),
        table,
    )


def test_few_tries_say_nothing() -> None:
    told = chance_of(tries(3, 1.0), 1)
    assert told.chance is None
    assert told.of_next == ()
    assert told.reason is not None
    assert "too few" in told.reason


def test_doubt_is_no_success_and_no_failure() -> None:
    # As much as successes and failures in turn, which lie between all of the one and all of the other.
    doubtful, in_turn = chance_of(tries(30, 0.5), 1), tries(30, 0.0)
    in_turn.met[1::2] = 1.0
    assert doubtful.chance == pytest.approx(chance_of(in_turn, 1).chance, abs=0.03)
    never, always = (chance_of(tries(30, met), 1).chance for met in (0.0, 1.0))
    assert never is not None
    assert always is not None
    assert doubtful.chance is not None
    assert never + 0.3 < doubtful.chance < always - 0.3


def test_only_the_student_s_own_complete_tries_count(book: Book, tmp_path: Path) -> None:
    for day in range(1, 15):
        found = document(maneuver(100.0, 40.0), maneuver(300.0, 160.0))
        found["maneuvers"][1]["flown_by"] = "instructor"
        found["maneuvers"].append({**maneuver(500.0, 30.0), "status": "broken_off"})
        entry = Entry(student=STUDENT, instructor=INSTRUCTOR, flown_by="student")
        files = [recording(tmp_path, content=str(day))]
        add(book, files, entry, who=WHO, judge=lambda paths, found=found, **_: found)
    with book.reading() as session:
        tried = attempts_of_school(session)["lazy_eight"]
        (told,) = chances(session, people.person(session, STUDENT))
    assert tried.number.tolist() == list(range(1, 15))
    assert tried.all_met.tolist() == [1.0] * 14
    assert (told.tries, told.met) == (14, 14)
    assert told.chance is not None
    assert told.chance > 0.7
    assert [each.element for each in told.limiting] == ["altitude_at_180"]


def test_the_part_least_likely_met_decides_for_the_element(book: Book, tmp_path: Path) -> None:
    one = maneuver(100.0, 0.0)
    one["elements"] = [
        element("altitude_at_180", altitude, (-100.0, 100.0), part)
        for part, altitude in ((1, 20.0), (2, 150.0))
    ]
    entry = Entry(student=STUDENT, flown_by="student")
    add(book, [recording(tmp_path)], entry, who=WHO, judge=lambda paths, **_: document(one))
    with book.reading() as session:
        assert attempts_of_school(session)["lazy_eight"].met.tolist() == [[0.0]]


def test_simulated_students_get_better() -> None:
    schools = [cohort(seed) for seed in range(30)]
    early = np.concatenate([each.success[each.number <= 2] for each in schools]).mean()
    late = np.concatenate([each.success[each.number >= 8] for each in schools]).mean()
    assert late > early + 0.2


def test_a_fit_that_is_kept_says_the_same_and_is_made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = of_school(students=4, each=8)
    anew, kept = chance_of(tried, 1), Kept()
    assert chance_of(tried, 1, kept=kept) == anew
    monkeypatch.setattr(model, "fit", None)  # nothing is fitted from here on
    assert chance_of(tried, 1, kept=kept) == anew


def test_tries_that_are_kept_are_read_again_after_a_change(book: Book, tmp_path: Path) -> None:
    kept = Kept()
    with book.reading() as session:
        one = people.person(session, STUDENT).id
        assert kept.tries(session, one) == {}
    add_lesson(book, tmp_path)
    with book.reading() as session:
        read = kept.tries(session, one)
        assert len(read["lazy_eight"]) == 2
        school = kept._school
    with book.writing() as session:
        lessons.note(session, lessons.lesson(session, 1), "less rudder", who=WHO)
    with book.reading() as session:
        kept.tries(session, one)
        assert kept._school is school  # a note leaves attempts as they were
    with book.writing() as session:
        lessons.label(session, lessons.lesson(session, 1), [1], "instructor", who=WHO)
    with book.reading() as session:
        assert len(kept.tries(session, one)["lazy_eight"]) == 1


def test_a_student_is_pooled_with_those_who_tried_last(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("chalkwing.book.progress.kept.POOL", 2)
    with book.writing() as session:
        others = [people.enroll(session, f"Other {k}", roles=["student"], who=WHO).id for k in range(4)]
    for place, name in enumerate(["Other 0", STUDENT, "Other 1", "Other 0", "Other 2"]):
        entry = Entry(student=name, instructor=INSTRUCTOR, flown_by="student")
        # The last try of one who tried another maneuver alone counts there, and not here.
        found = document(maneuver(100.0, 40.0), maneuver(300.0, 160.0))
        found["recordings"][0]["start_utc"] = f"2026-05-0{place + 1}T09:00:00Z"
        files = [recording(tmp_path, content=str(place))]
        add(book, files, entry, who=WHO, judge=lambda paths, found=found, **_: found)
    with book.reading() as session:
        own = people.person(session, STUDENT).id
        assert who_tried_last(session) == {"lazy_eight": [others[2], others[0], others[1], own]}
        kept = Kept()
        outside, inside = (kept.tries(session, one)["lazy_eight"] for one in (own, others[0]))
    assert sorted(outside.student) == sorted([own] * 2 + [others[2]] * 2 + [others[0]] * 4)
    assert set(inside.student) == {others[0], others[2]}
    assert outside.of(own).number.tolist() == [1, 2]


def test_tries_of_further_students_join_where_elements_differ() -> None:
    one = Attempts("lazy_eight", ("a", "b"), np.array([1]), np.array([1]), np.array([[1.0, 0.0]]))
    other = Attempts("lazy_eight", ("b", "c"), np.array([2]), np.array([1]), np.array([[0.5, 1.0]]))
    both = one.and_those(other)
    assert both.elements == ("a", "b", "c")
    np.testing.assert_array_equal(both.met, [[1.0, 0.0, np.nan], [np.nan, 0.5, 1.0]])


def test_a_small_school_is_pooled_whole_and_of_a_large_one_the_last() -> None:
    assert pool_of([3, 1, 2], 1) == {1, 2, 3}
    assert pool_of(range(POOL + 9), POOL + 5) == {*range(POOL), POOL + 5}


def of_school(*, students: int, each: int) -> Attempts:
    """Students one after the other, who meet the one element at every second try."""
    number = np.tile(np.arange(1, each + 1), students)
    met = (number % 2 == 0).astype(float)[:, None]
    return Attempts("lazy_eight", ("altitude",), np.repeat(np.arange(students), each), number, met)
