"""Where a planned maneuver's point, line and pylons lie: against what the solvers themselves say of them."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.briefing import briefed
from chalkwing.paper.pictures import traces_of
from chalkwing.web.ground_lesson_asked import asked_in
from chalkwing.web.ground_lesson_marks import planned_marks

WIND = {"airplane": "four-seat-160", "wind_from_deg": "250", "wind_kt": "15", "line_deg": "340"}


def planned(kind, side="right"):
    asked = asked_in({"maneuver": kind, "side": side, **WIND})
    briefing, reference = briefed(kind, what_if=False, **asked.arguments())
    plan = traces_of(briefing)
    marks = planned_marks(reference, plan)
    return {fact.name: fact.value for fact in briefing.facts}, plan, marks, reference.points


@pytest.mark.parametrize("kind", ["turns_around_a_point", "steep_spiral"])
@pytest.mark.parametrize("side", ["left", "right"])
def test_the_point_is_a_radius_from_the_circle(kind, side):
    facts, plan, (mark,), _ = planned(kind, side)
    ((north, east),) = mark.ends
    values = plan[0].values
    middle = len(values["ground_north_ft"]) // 2
    far = np.hypot(values["ground_north_ft"][middle] - north, values["ground_east_ft"][middle] - east)
    assert far == pytest.approx(facts["radius"], rel=1e-3)
    if kind == "turns_around_a_point":
        assert (north, east) == pytest.approx((facts["point_north"], facts["point_east"]), abs=2.0)


def test_every_half_of_an_s_turn_ends_on_the_line():
    _, plan, (mark,), _ = planned("s_turns")
    (a, b), (c, d) = mark.ends
    for trace in plan:
        for k in (0, -1):
            north, east = trace.values["ground_north_ft"][k], trace.values["ground_east_ft"][k]
            off = ((c - a) * (east - b) - (d - b) * (north - a)) / np.hypot(c - a, d - b)
            assert off == pytest.approx(0.0, abs=20.0)


@pytest.mark.parametrize("side", ["left", "right"])
def test_pylons_stand_as_far_apart_as_the_plan_says(side):
    facts, plan, marks, points = planned("eights_on_pylons", side)
    (one,), (other,) = marks[0].ends, marks[1].ends
    assert np.hypot(one[0] - other[0], one[1] - other[1]) == pytest.approx(facts["pylon_spacing"], rel=0.001)
    on, off = (
        next(point.time for point in points if point.name == name) for name in ("on_pylon", "off_pylon")
    )
    held = (plan[0].time_s >= on) & (plan[0].time_s <= off)
    north, east = (plan[0].values[f"ground_{axis}_ft"][held] for axis in ("north", "east"))
    assert np.hypot(north - one[0], east - one[1]).min() == pytest.approx(facts["nearest"], rel=0.005)
