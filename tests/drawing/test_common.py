"""Pictures of common sets: nothing computed in them, and every kind of maneuver has some."""

from __future__ import annotations

from dataclasses import replace

from tests.book.sets import view

from chalkwing.book.common.shown import packed, view_from
from chalkwing.drawing.common import common_felt, common_nose, common_plan, common_profiles
from chalkwing.drawing.leniency import Lies, leniency_picture, spread_picture
from chalkwing.drawing.palette import ON_PAGE, ON_PAPER
from chalkwing.views.ground import GroundMark


def test_what_goes_by_time_has_profiles_and_no_nose_path() -> None:
    shown = view_from(packed(replace(view("slow_flight"), against="time")))
    assert common_nose(shown, (620.0, 270.0), ON_PAGE) is None
    drawn = common_profiles(shown, 620.0, ON_PAGE)
    assert "Pitch from level" in drawn
    assert "Load factor" in (common_felt(shown, 620.0, ON_PAGE) or "")


def test_a_plan_has_no_compass_and_no_direction_but_the_pylon() -> None:
    pylon = GroundMark("pylon", (1,), ((300.0, 900.0),))
    shown = view_from(packed(replace(view(), ground=(pylon,))))
    drawn = common_plan(shown, (480.0, 336.0), ON_PAPER)
    assert "wind 12 kt, as the arrow flies" in drawn
    assert "pylon" in drawn
    assert ">N<" not in drawn
    assert "true" not in drawn


def test_numbers_of_points_are_not_written() -> None:
    # The made-up maneuver passes 90° at 70.123 kt; a debrief would write it beside the point.
    shown = view_from(packed(view()))
    drawn = (common_nose(shown, (620.0, 270.0), ON_PAGE) or "") + common_profiles(shown, 620.0, ON_PAGE)
    assert "70 kt" not in drawn
    assert ">70<" not in drawn


def test_rings_that_would_lie_on_each_other_stand_apart() -> None:
    drawn = spread_picture([-0.2, -0.19, 0.4], Lies("Jonas Hede", 0.4, 0.1, 0.7), width=620.0, style=ON_PAGE)
    assert drawn.count("<circle") == 4
    assert "Jonas Hede" not in drawn
    named = leniency_picture([Lies("Per Askell", 0.4, 0.1, 0.7)], width=620.0, style=ON_PAGE)
    assert "Per Askell" in named
