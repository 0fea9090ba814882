"""The finder on flights drawn by hand, where what was flown is known exactly."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest
from tests.find.fake_estimator import AVIONICS, PERFECT, TRACK_ONLY, Quality, motion
from tests.find.kinematics import Flown, Sketch, mirrored

from chalkwing.errors import OutsideModel
from chalkwing.find import Occurrence, can_find, find
from chalkwing.find.finder import explain, flight_seen
from chalkwing.maneuvers import Definition, definition, definitions
from chalkwing.units import Floats

Bools = npt.NDArray[np.bool_]
KNOWN = tuple(definition(kind) for kind in ("lazy_eight", "chandelle", "steep_turn"))
EVERYTHING = tuple(each for each in definitions().values() if can_find(each))


def found(sketch: Sketch, quality: Quality = PERFECT, *, seed: int = 0) -> tuple[Occurrence, ...]:
    return find(motion(sketch.table(), quality, seed=seed), KNOWN)


def kinds(sketch: Sketch, quality: Quality = PERFECT, *, seed: int = 0) -> list[str]:
    return [one.kind for one in found(sketch, quality, seed=seed)]


def lesson() -> Sketch:
    """A lesson with every maneuver of the course's first three, and ordinary turns between."""
    sketch = Sketch().level(60)
    sketch.turn(90, bank=25).level(10).turn(-90, bank=25).level(20)
    sketch.lazy_eight(1).lazy_eight(1).level(40)
    sketch.chandelle(-1).level(60)
    sketch.turn(360, bank=45, kind="steep_turn").level(8)
    sketch.turn(-360, bank=45, kind="steep_turn").level(60)
    return sketch.turn(180, bank=22, climb=4, speed=40.0).level(40).turn(-360, bank=28).level(60)


def assert_matches(one: Occurrence, flown: Flown, *, within: float) -> None:
    assert one.kind == flown.kind
    assert one.direction == ("right" if flown.direction > 0 else "left")
    assert one.start == pytest.approx(flown.start, abs=within)
    assert one.end == pytest.approx(flown.end, abs=within)
    for part, passage in zip(one.parts, flown.passages, strict=False):
        assert part.end == pytest.approx(passage, abs=within)


def test_a_chandelle_after_an_eight_is_not_lost_to_an_eight_that_has_no_room():
    # The eight's last half and the chandelle look like an eight themselves; the eight before has that half.
    sketch = Sketch().level(45).lazy_eight(1).level(30).lazy_eight(1).level(30).chandelle(1).level(60)
    assert kinds(sketch) == ["lazy_eight", "lazy_eight", "chandelle"]


# What is there is found -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quality", "within"),
    [(PERFECT, 1.0), (AVIONICS, 6.0), (TRACK_ONLY, 10.0)],
    ids=["perfect", "avionics", "track"],
)
def test_a_lesson_is_found_whole(quality: Quality, within: float) -> None:
    # 6 s and 10 s are what the finder promises of nine edges in ten; without noise the grid is all there is.
    sketch = lesson()
    occurrences = found(sketch, quality, seed=3)
    assert len(occurrences) == len(sketch.flown)
    for one, flown in zip(occurrences, sketch.flown, strict=True):
        assert_matches(one, flown, within=within)
        assert one.status == "complete"
        assert one.probability > 0.7


@pytest.mark.parametrize("first", [1, -1])
@pytest.mark.parametrize(
    "shape",
    [
        {"peak_bank": 21.0, "peak_path": 6.0},
        {"peak_bank": 44.0, "peak_path": 10.0},
        {"peak_bank": 30.0, "peak_path": 14.0},
        {"peak_bank": 30.0, "peak_path": 7.0, "drop": 0.6},
        {"peak_bank": 32.0, "peak_path": 6.0, "drop": 1.5},
    ],
)
def test_poorly_flown_eights_are_eights(first: int, shape: dict[str, float]) -> None:
    # Peak bank 20 to 45 degrees, and 180 points that end high or low: judging is not the finder's work.
    sketch = Sketch().level(40).lazy_eight(first, **shape).level(40)
    (one,) = found(sketch)
    assert_matches(one, sketch.flown[0], within=2.0)


@pytest.mark.parametrize(
    ("bank", "path", "heading"), [(22, 8, 180), (38, 11, 180), (30, 9, 162), (30, 9, 199)]
)
def test_poorly_flown_chandelles_are_chandelles(bank: float, path: float, heading: float) -> None:
    sketch = Sketch().level(40).chandelle(1, bank=bank, path=path, heading=heading).level(40)
    assert kinds(sketch) == ["chandelle"]


# 40 degrees of bank is 45 less the 5 that are allowed (FAA-S-ACS-6C, PA.V.A).
@pytest.mark.parametrize(
    ("bank", "climb", "heading"), [(40, 0, 360), (58, 0, 360), (45, 1.8, 343), (45, -1.8, 378)]
)
def test_poorly_flown_steep_turns_are_steep_turns(bank: float, climb: float, heading: float) -> None:
    sketch = Sketch().level(40).turn(heading, bank=bank, climb=climb).level(40)
    assert kinds(sketch) == ["steep_turn"]


def test_a_circle_of_medium_bank_is_no_steep_turn() -> None:
    assert kinds(Sketch().level(40).turn(360, bank=36).level(40)) == []


def test_a_720_is_two_steep_turns_that_meet_where_the_heading_comes_round() -> None:
    sketch = Sketch().level(40).turn(720, bank=48).level(40)
    first, second = found(sketch)
    assert first.kind == second.kind == "steep_turn"
    assert first.end == second.start
    table = sketch.table()
    heading = np.interp([first.start, first.end, second.end], table["time"], table["heading_true"])
    assert np.diff(heading) == pytest.approx([2 * np.pi, 2 * np.pi], abs=np.radians(2))


def test_steep_turns_rolled_into_each_other_share_the_passage_through_level() -> None:
    sketch = Sketch().level(40).turn(360, bank=45).turn(-360, bank=45).level(40)
    first, second = found(sketch)
    assert (first.direction, second.direction) == ("right", "left")
    assert first.end == second.start


def test_a_chain_of_eights_is_eights_and_says_so() -> None:
    sketch = Sketch().level(40).lazy_eight(-1).lazy_eight(-1).lazy_eight(-1).level(40)
    occurrences = found(sketch, AVIONICS, seed=1)
    assert [one.kind for one in occurrences] == ["lazy_eight"] * 3
    assert [one.chained for one in occurrences] == [False, True, True]
    assert all(len(one.parts) == 2 for one in occurrences)
    assert all(one.parts[0].end == one.parts[1].start for one in occurrences)


def test_what_was_not_recorded_says_nothing() -> None:
    flight = motion(Sketch().level(40).chandelle(1).level(40).table(), AVIONICS, seed=1)
    (one,) = find(flight, EVERYTHING)
    unseen = (flight.time > one.start + 0.45 * (one.end - one.start)) & (flight.time < one.end)
    guess = dict(flight.values) | {"path_angle": np.where(unseen, 0.0, flight["path_angle"])}
    for name in ("pitch", "altitude", "airspeed"):
        guess[name] = np.where(unseen, flight[name][int(np.argmax(unseen))], flight[name])

    def weight(values: Mapping[str, Floats], in_gap: Bools) -> float:
        shown = replace(flight, values=values, in_gap=in_gap)
        explained = explain(KNOWN[1], flight_seen(shown, KNOWN))
        assert explained is not None
        return float(np.max(explained.weights))

    assert weight(guess, ~unseen & False) < weight(flight.values, ~unseen & False) - 4.0
    assert weight(guess, unseen) == pytest.approx(weight(flight.values, unseen), abs=0.5)


def test_an_eight_given_up_after_its_first_half_is_broken_off() -> None:
    sketch = Sketch().level(40)
    start, end = sketch.half(180.0)
    (one,) = found(sketch.level(60))
    assert (one.kind, one.status, len(one.parts)) == ("lazy_eight", "broken_off", 1)
    assert (one.start, one.end) == (pytest.approx(start, abs=1.5), pytest.approx(end, abs=1.5))


def test_a_short_roughness_does_not_cut_a_turn() -> None:
    sketch = Sketch().level(40).turn(360, bank=45).level(40)
    table = sketch.table()
    gust = np.exp(-(((table["time"] - 58.0) / 0.7) ** 2))
    table["bank"] = table["bank"] * (1.0 - 1.1 * gust)  # for a second the wings are level and beyond
    (one,) = find(motion(table), KNOWN)
    assert one.kind == "steep_turn"
    assert one.end - one.start > 30.0


# What is not there is not found -----------------------------------------------------------------------------


@pytest.mark.parametrize("quality", [PERFECT, AVIONICS, TRACK_ONLY], ids=["perfect", "avionics", "track"])
@pytest.mark.parametrize(
    "sketch",
    [
        pytest.param(Sketch().level(60), id="level"),
        pytest.param(Sketch().level(30).turn(360, bank=28).level(30), id="orbit"),
        pytest.param(
            Sketch().level(30).turn(360, bank=25, climb=4, speed=40.0).level(30), id="climbing orbit"
        ),
        pytest.param(
            Sketch().level(30).turn(180, bank=22, climb=4, speed=40.0).level(30), id="climbing turn"
        ),
        pytest.param(Sketch().level(30).turn(180, bank=30).turn(-180, bank=30).level(30), id="S-turns"),
        pytest.param(
            Sketch().level(30).turn(90, bank=30).level(4).turn(-90, bank=30).level(30), id="clearing"
        ),
        pytest.param(
            Sketch().level(30).turn(180, bank=20).level(60).turn(180, bank=20).level(60).turn(180, bank=20),
            id="hold",
        ),
        pytest.param(
            Sketch().level(30).turn(1080, bank=45, climb=-8, speed=40.0).level(30), id="steep spiral"
        ),
        pytest.param(
            Sketch().level(600).turn(360, bank=45, climb=-9, speed=40.0).level(30), id="one turn of it"
        ),
        pytest.param(Sketch().level(30).turn(2880, bank=42, climb=4, speed=26.0).level(30), id="thermal"),
        pytest.param(
            Sketch().level(90).turn(180, bank=28).level(90).turn(-180, bank=28).level(90), id="survey lines"
        ),
    ],
)
def test_ordinary_flying_holds_no_maneuver(sketch: Sketch, quality: Quality) -> None:
    assert kinds(sketch, quality, seed=5) == []


def test_a_standstill_gives_nothing() -> None:
    table = Sketch().level(60).table()
    table["bank"] = 0.2 * np.sin(table["time"])
    for name in ("airspeed", "true_airspeed", "calibrated_airspeed"):
        table[name] = np.zeros_like(table["time"])
    assert find(motion(table), KNOWN) == ()


# Laws -------------------------------------------------------------------------------------------------------


def test_left_and_right_are_found_alike() -> None:
    table = lesson().table()
    right = find(motion(table), KNOWN)
    left = find(motion(mirrored(table)), KNOWN)
    assert [(o.kind, o.start, o.end, o.probability) for o in right] == [
        (o.kind, pytest.approx(o.start), pytest.approx(o.end), pytest.approx(o.probability)) for o in left
    ]
    assert all(one.direction != other.direction for one, other in zip(right, left, strict=True))


def test_occurrences_follow_each_other_and_hold_their_parts() -> None:
    occurrences = found(lesson(), TRACK_ONLY, seed=9)
    assert len(occurrences) >= 5
    for before, after in pairwise(occurrences):
        assert before.end <= after.start
    for one in occurrences:
        assert one.start == one.parts[0].start < one.end == one.parts[-1].end
        assert one.start_sd > 0.0
        assert one.end_sd > 0.0
        assert 0.0 < one.probability <= 1.0


def test_the_same_flight_gives_the_same_answer() -> None:
    flight = motion(lesson().table(), AVIONICS, seed=2)
    assert find(flight, KNOWN) == find(flight, KNOWN)


def test_a_definition_that_is_not_given_is_not_found() -> None:
    flight = motion(lesson().table())
    only = find(flight, [definition("chandelle")])
    assert {one.kind for one in only} == {"chandelle"}
    assert find(flight, []) == ()


def test_noise_makes_the_edges_less_certain() -> None:
    good, poor = found(lesson(), AVIONICS, seed=3), found(lesson(), TRACK_ONLY, seed=3)
    assert np.mean([one.start_sd for one in poor]) > np.mean([one.start_sd for one in good])


def test_a_progress_that_cannot_be_laid_out_is_refused_by_name() -> None:
    unknown: Definition = replace(definition("chandelle"), kind="lined_up", progress="line")
    with pytest.raises(OutsideModel, match=r"lined_up: .*progress is line"):
        find(motion(Sketch().level(30).table()), [unknown])
