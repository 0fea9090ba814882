"""Do the intervals of what is judged by the ground hold the truth as often as they say?

The flights are those of ``ground_flights``; each is reported with one sample of the error that its posterior
states, and its places with the slow error of a receiver, of which the posterior knows nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from tests.judge.ground_flights import Pilot, circle_law, quantities, recorded, revolutions
from tests.judge.synthetic import Error
from tests.judge.test_ground_reference import Edges, place, pylon_turn, rectangle, rule, s_turns

from chalkwing.judge import GroundReference, Judgement, judge
from chalkwing.judge.over_ground import RECEIVER
from chalkwing.maneuvers import definition, standard
from chalkwing.units import DEGREE, KNOT, Floats

SEEN: Mapping[str, Error] = {
    "position_north": Error(0.0, 1.5, 8.0),
    "position_east": Error(0.0, 1.5, 8.0),
    "bank": Error(1.0 * DEGREE, 0.7 * DEGREE, 5.0),
    "pitch": Error(0.5 * DEGREE, 0.5 * DEGREE, 5.0),
    "heading_true": Error(0.8 * DEGREE, 0.6 * DEGREE, 20.0),
    "track": Error(0.0, 0.3 * DEGREE, 8.0),
    "wind_north": Error(1.0 * KNOT, 0.5 * KNOT, 60.0),
    "wind_east": Error(1.0 * KNOT, 0.5 * KNOT, 60.0),
    "geometric_altitude": Error(2.0, 1.5, 30.0),
    "true_airspeed": Error(1.0 * KNOT, 0.5 * KNOT, 20.0),
}
UNSEEN = {name: Error(0.0, RECEIVER.sd, RECEIVER.time) for name in RECEIVER.quantities}
SEEDS = range(60)


def of(kind: str, motion: object, occurrence: object, ids: set[str], **more: object) -> Judgement:
    full = definition(kind)
    asked = replace(full, elements=(), facts=tuple(fact for fact in full.facts if fact.id in ids))
    return judge(motion, occurrence, asked, standard("commercial"), draws=100, **more)  # type: ignore[arg-type]


def share_held(
    truth: Mapping[str, Floats], edges: Edges, kind: str, ids: set[str], ground: GroundReference | None = None
) -> dict[str, float]:
    """The share of all values of each fact whose 95 % interval holds the truth."""
    motion, occurrence = recorded(dict(truth), edges, kind)
    known = {name: replace(RECEIVER, sd=0.0) for name in ("RECEIVER",)}["RECEIVER"]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("chalkwing.judge.over_ground.RECEIVER", known)
        true = of(kind, motion, occurrence, ids, ground=ground)
    held: dict[str, list[bool]] = {id_: [] for id_ in ids}
    for seed in SEEDS:
        motion, occurrence = recorded(dict(truth), edges, kind, errors=SEEN, unseen=UNSEEN, seed=seed)
        found = of(kind, motion, occurrence, ids, ground=ground, seed=seed)
        for fact in found.facts:
            exact = true.element(fact.id, fact.half).value
            if fact.value is not None and fact.sd is not None and exact is not None:
                held[fact.id].append(abs(fact.value - exact) <= 1.96 * fact.sd)
    return {id_: float(np.mean(flags)) for id_, flags in held.items()}


def check(shares: Mapping[str, float], *, least: float = 0.88) -> None:
    """95 % over the 60 flights, whose values within a flight hang together: 88 % is 2.5 sd low."""
    assert {id_: share for id_, share in shares.items() if not share >= least} == {}


def test_circles_and_their_drift() -> None:
    pilot = Pilot(wind=(0.0, 7.0), speed=45.0, heading=0.5 * np.pi)
    pilot.straight(25.0)
    law = circle_law(330.0)
    # A bank 4° short of what the circle asks downwind: the circle drifts, as a student's does.
    pilot.turn("left", lambda flown: law(flown) - 0.07 * max(np.sin(flown.heading), 0.0), angle=4.0 * np.pi)
    pilot.straight(20.0)
    ids = {"circle_radius", "radius_step", "center_drift", "center_drift_across", "wind_corrected",
           "bank_at_upwind", "circle_bank_at_upwind"}  # fmt: skip
    check(share_held(quantities(pilot), revolutions(pilot), "turns_around_a_point", ids))


def test_crossings_of_a_given_line() -> None:
    pilot = s_turns((310.0, 290.0, 310.0, 290.0))
    east = pilot.rows[round(pilot.edges[1][1] / 0.05)][1]
    ground = GroundReference(line=(place(-4e3, east), place(6e3, east)))
    ids = {"circle_radius", "depth", "crossing_angle", "line_at_level", "radius_left_minus_right"}
    check(share_held(quantities(pilot), pilot.edges, "s_turns", ids, ground))


def test_sides_of_a_rectangle() -> None:
    pilot = rectangle(off={2: 6.0 * DEGREE})
    ids = {"wind_correction", "side_tailwind"}
    check(share_held(quantities(pilot), pilot.edges, "rectangular_course", ids))


def test_a_pylon_that_slides() -> None:
    pilot, pylon = pylon_turn(rule)
    ground = GroundReference(points=(place(*pylon),), elevation=0.0)
    ids = {"sight_ahead", "sight_slide", "sight_line_worst", "sight_drift", "height_over_pivotal",
           "pylon_distance", "pivotal_height"}  # fmt: skip
    check(share_held(quantities(pilot), pilot.edges, "eights_on_pylons", ids, ground))
