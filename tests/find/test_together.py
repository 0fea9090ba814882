"""What candidates say of each other: pieces of one turn, of one maneuver, of one chain."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.find.fake_estimator import motion
from tests.find.kinematics import Sketch

from chalkwing.find import find, turning
from chalkwing.find.candidates import NO_SPAN, Candidates
from chalkwing.find.explained import Explained, Flight
from chalkwing.find.finder import explain, flight_seen
from chalkwing.find.links import links_among
from chalkwing.find.spans import Spans, bridge_turns
from chalkwing.find.surroundings import edges_in_lulls
from chalkwing.find.turns import Turns
from chalkwing.find.weighed import Weighed, weigh
from chalkwing.maneuvers import definition, definitions

EVERYTHING = tuple(definitions().values())
Row = tuple[str, int, int, float, bool]
"""Kind, first and last grid point, log odds, whether given up."""


@pytest.fixture(scope="module")
def flight() -> Flight:
    return flight_seen(motion(Sketch().level(300).turn(180, bank=25).level(60).table()), EVERYTHING)


# One turn ---------------------------------------------------------------------------------------------------


def turns(*edges: tuple[float, float]) -> Turns:
    """Turns to the right between these times [s]."""
    start, end = np.array(edges, dtype=float).T
    point = np.zeros(len(edges), dtype=np.int64)
    return Turns(np.ones(len(edges), dtype=np.int64), point, point, start, end)


@pytest.mark.parametrize(
    ("edges", "longest"),
    [
        ([(0, 30), (30, 60), (60, 90), (90, 120), (120, 150)], 150),
        ([(0, 30), (32, 60), (62, 90), (92, 120), (122, 150)], 90),
    ],
    ids=["lulls", "level wings"],
)
def test_a_turn_goes_on_through_any_lull_but_few_interruptions(
    flight: Flight, edges: list[tuple[float, float]], longest: float
) -> None:
    bridged = bridge_turns(turns(*edges), flight.seen, flight.tuning)
    assert float(np.max(bridged.end[bridged.first == 0])) == longest


def test_edges_in_the_lull_of_a_turn_are_counted() -> None:
    # Three turns to one side: a lull after the first, level wings after the second.
    flown = turns((0, 30), (30, 60), (63, 90))
    number = np.arange(3)
    one = np.ones(3, dtype=np.int64)
    spans = Spans(one, number, number, flown.start, flown.end, np.full(3, 6.28), one, one, number)
    none = np.zeros(4)
    chosen = Candidates(
        spans=np.array([[0, NO_SPAN], [1, NO_SPAN], [2, NO_SPAN], [0, 1]]),
        worth=none,
        start=none,
        end=none,
        share=none,
        broken=none > 0.0,
    )
    assert edges_in_lulls(chosen, spans, flown).tolist() == [1, 1, 0, 0]


@pytest.mark.parametrize(("kind", "price"), [("turns_around_a_point", 1.0), ("clearing_turns", 0.0)])
def test_only_what_is_flown_in_one_turn_pays_for_edges_in_lulls(
    kind: str, price: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    sketch = Sketch().level(300).turn(180, bank=25).level(60).turn(360, bank=30).level(60)
    seen = flight_seen(motion(sketch.table()), EVERYTHING)
    weights = []
    for edges in (0, 1):
        monkeypatch.setattr(turning, "edges_in_lulls", lambda *_, edges=edges: edges)
        explained = explain(definition(kind), seen)
        assert explained is not None
        weights.append(explained.weights)
    assert len(weights[0]) > 0
    assert weights[1] - weights[0] == pytest.approx(price * seen.tuning.failure)


# One maneuver -----------------------------------------------------------------------------------------------


def weighed(flight: Flight, *rows: Row) -> Weighed:
    """The rows as candidates beside each other, those of one kind together."""

    def nothing(row: int) -> Any:
        raise AssertionError(row)

    explained = []
    for kind in sorted({row[0] for row in rows}):
        _, first, last, weights, broken = zip(*(row for row in rows if row[0] == kind), strict=True)
        one = Explained(
            definition=definition(kind),
            first=np.array(first),
            last=np.array(last),
            weights=np.array(weights),
            turns=np.ones(len(first), dtype=np.int64),
            broken=np.array(broken),
            amid=np.zeros(len(first), dtype=np.bool_),
            occurrence=nothing,
        )
        explained.append(one)
    return weigh(flight, explained)


def left(flight: Flight, *rows: Row) -> list[bool]:
    """Which of the rows a longer one leaves room for."""
    beside = weighed(flight, *rows)
    return np.isfinite(beside.left(beside.weights)).tolist()


@pytest.mark.parametrize(("whole", "stays"), [(4.0, False), (1.0, True)])
def test_a_piece_of_its_own_kind_is_lost_unless_it_is_far_plainer(
    flight: Flight, whole: float, stays: bool
) -> None:
    piece, longer = ("slow_flight", 100, 500, 5.0, False), ("slow_flight", 100, 900, whole, False)
    assert left(flight, piece, longer) == [stays, True]


@pytest.mark.parametrize(("first", "last", "stays"), [(40, 160, False), (40, 90, True), (700, 1000, True)])
def test_what_was_finished_was_not_begun_as_something_else_just_before(
    flight: Flight, first: int, last: int, stays: bool
) -> None:
    begun = ("power_on_stall", first, last, 9.0, True)
    assert left(flight, begun, ("slow_flight", 100, 800, 2.0, False)) == [stays, True]


def test_a_finished_stall_is_not_lost_to_slow_flight_around_its_end(flight: Flight) -> None:
    stall = ("power_on_stall", 40, 160, 9.0, False)
    assert left(flight, stall, ("slow_flight", 100, 800, 2.0, False)) == [True, True]


# One chain --------------------------------------------------------------------------------------------------


def test_a_chain_that_is_given_up_half_way_begins_where_it_began() -> None:
    # Five halves, of which the first is a little the poorest: the eights from the second on are plainer.
    sketch = Sketch().level(60)
    begun = sketch.now
    sketch.half(180.0, peak_bank=28.0, peak_path=8.0)
    for number in range(4):
        sketch.half(-180.0 if number % 2 == 0 else 180.0)
    first, second = find(motion(sketch.level(60).table()), [definition("lazy_eight")])
    assert first.start == pytest.approx(begun, abs=3.0)
    assert (first.direction, second.direction) == ("right", "right")
    assert first.end == second.start


@pytest.mark.parametrize(
    ("before", "linked"),
    [
        (("lazy_eight", 100, 300, 5.0, False), True),
        (("lazy_eight", 100, 200, 5.0, False), False),
        (("lazy_eight", 100, 300, 5.0, True), False),
        (("s_turns", 100, 300, 5.0, False), False),
    ],
    ids=["an eight", "an eight long before", "an eight given up", "another kind"],
)
def test_what_goes_on_from_a_finished_maneuver_of_its_kind_pays_nothing_for_it(
    flight: Flight, before: Row, linked: bool
) -> None:
    beside = weighed(flight, before, ("lazy_eight", 300, 500, 5.0, False))
    after = int(np.argmax(beside.first))
    beside = replace(beside, amid=np.arange(len(beside.first)) == after)
    links = links_among(beside, beside.weights)
    assert (links.after.tolist() == [after]) is linked
    assert links.bonus.tolist() == [pytest.approx(-flight.tuning.failure)] * linked
