"""The pictures of an attempt: every place is that of its number, and nothing breaks the grammar."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest

from chalkwing.drawing.horizon import Glance, horizons, seen
from chalkwing.drawing.maneuver import (
    horizon_figure,
    main_quantities,
    more_quantities,
    nose_figure,
    plan_figure,
    profile_figure,
    side_figure,
)
from chalkwing.drawing.palette import ON_PAGE, ON_PAPER, PAGE, PRINT
from chalkwing.drawing.story import story_strip
from chalkwing.trunk import Debriefed
from chalkwing.views import ManeuverView, views_of
from chalkwing.views.ground import GroundMark
from chalkwing.views.story import story_of

SVG = "{http://www.w3.org/2000/svg}"
WIDE = (700.0, 260.0)


@pytest.fixture(scope="module")
def views(flown_lesson: Debriefed) -> list[ManeuverView]:
    return views_of(flown_lesson)


@pytest.fixture(scope="module")
def eight(views) -> ManeuverView:
    return next(view for view in views if view.report.kind == "lazy_eight")


@pytest.fixture(scope="module")
def turn(views) -> ManeuverView:
    return next(view for view in views if view.report.kind == "steep_turn")


class Panel:
    """A panel of a picture, its scales read from the attributes that the page's script reads."""

    def __init__(self, group: ET.Element) -> None:
        self.group = group
        self.data = {name.removeprefix("data-"): value for name, value in group.items()}

    def number(self, name: str) -> float:
        return float(self.data[name])

    def at(self, x: float, y: float) -> tuple[float, float]:
        return self._along("x", x), self._along("y", y)

    def _along(self, axis: str, value: float) -> float:
        low, high, start, end = (self.number(f"{axis}-{key}") for key in ("low", "high", "start", "end"))
        return start + (value - low) / (high - low) * (end - start)

    def circles(self, color: str) -> list[tuple[float, float]]:
        return [
            (float(each.get("cx", 0)), float(each.get("cy", 0)))
            for each in self.group.iter(f"{SVG}circle")
            if each.get("stroke") == color and float(each.get("r", 0)) > 0.3 * 11
        ]


def panels(svg: str) -> dict[str, Panel]:
    found = [Panel(group) for group in ET.fromstring(svg).iter(f"{SVG}g") if group.get("class") == "panel"]
    return {panel.data["quantity"]: panel for panel in found}


def texts(svg: str) -> list[str]:
    return [each.text or "" for each in ET.fromstring(svg).iter(f"{SVG}text") if each.get("stroke") is None]


def test_circles_of_the_nose_path_lie_where_their_numbers_say(eight) -> None:
    (panel,) = panels(nose_figure(eight, WIDE, ON_PAPER)).values()
    for trace, color in zip(eight.flown, (PRINT.first, PRINT.second), strict=True):
        expected = [
            panel.at(trace.nose_of(mark.heading_change_deg), mark.values["pitch_from_level_deg"])
            for mark in trace.marks
            if mark.name.isdigit()
        ]
        drawn = panel.circles(color)
        assert len(drawn) == len(expected) == 4
        for one, other in zip(drawn, expected, strict=True):
            # Places are written to a hundredth; scales to a hundredth of a degree over hundreds of px.
            assert one == pytest.approx(other, abs=0.6)


def test_a_point_after_the_end_has_no_place_on_the_axis_of_time(eight) -> None:
    first, second = eight.flown
    late = replace(first.marks[-1], name="climbs_again", time_s=float(first.time_s[-1]) + 30.0)
    timed = replace(eight, against="time", flown=(replace(first, marks=(*first.marks, late)), second))
    before = panels(profile_figure(replace(eight, against="time"), ["airspeed_kt"], WIDE, ON_PAPER))
    after = panels(profile_figure(timed, ["airspeed_kt"], WIDE, ON_PAPER))
    assert after["airspeed_kt"].circles(PRINT.first) == before["airspeed_kt"].circles(PRINT.first) != []
    assert late.said == "climbs again"


def test_circles_of_profiles_lie_where_the_json_says(eight) -> None:
    found = panels(profile_figure(eight, main_quantities(eight), WIDE, ON_PAPER))
    assert set(found) == {"bank_into_turn_deg", "airspeed_kt", "altitude_change_ft"}
    entry = eight.report.points[0].altitude_ft.value
    for half, color in ((1, PRINT.first), (2, PRINT.second)):
        points = [each for each in eight.report.points if each.name.isdigit() and each.half == half]
        values = {
            "bank_into_turn_deg": [point.bank_into_turn_deg.value for point in points],
            "airspeed_kt": [point.airspeed_kt.value for point in points],
            "altitude_change_ft": [point.altitude_ft.value - entry for point in points],
        }
        for name, panel in found.items():
            drawn = panel.circles(color)
            assert len(drawn) == 4
            for one, point, value in zip(drawn, points, values[name], strict=True):
                assert one == pytest.approx(panel.at(point.heading_change_deg, value), abs=0.6)


def test_numbers_beside_points_are_those_of_the_json(eight) -> None:
    said = texts(nose_figure(eight, WIDE, ON_PAPER))
    for point in eight.report.points:
        if point.name in ("45", "135"):
            bank, speed = point.bank_into_turn_deg.value, point.airspeed_kt.value
            assert f"{bank:.0f}° · {speed:.0f} kt" in said


def test_nose_path_and_profiles_share_one_axis(eight) -> None:
    nose = panels(nose_figure(eight, WIDE, ON_PAGE))["pitch_from_level_deg"]
    keys = ("x-low", "x-high", "x-start", "x-end")
    for panel in panels(profile_figure(eight, main_quantities(eight), WIDE, ON_PAGE)).values():
        assert [panel.data[key] for key in keys] == [nose.data[key] for key in keys]


def test_limits_are_brackets_at_their_ends(eight) -> None:
    panel = panels(profile_figure(eight, ("altitude_change_ft",), WIDE, ON_PAPER))["altitude_change_ft"]
    low, high = panel.at(0.0, -100.0)[1], panel.at(0.0, 100.0)[1]
    upright = [
        line
        for line in panel.group.iter(f"{SVG}line")
        if line.get("x1") == line.get("x2") and line.get("stroke") == PRINT.ink
    ]
    ends = sorted(float(upright[0].get(key, 0)) for key in ("y1", "y2"))
    assert len(upright) == 1
    assert ends == pytest.approx([high, low], abs=0.6)
    assert "±100 ft" in texts(profile_figure(eight, ("altitude_change_ft",), WIDE, ON_PAPER))


def test_doubt_is_drawn_only_where_it_is_wider_than_the_line(eight) -> None:
    sure = replace(eight, flown=tuple(_with_sd(trace, 0.001) for trace in eight.flown))
    vague = replace(eight, flown=tuple(_with_sd(trace, 3.0) for trace in eight.flown))
    assert "<polygon" not in nose_figure(sure, WIDE, ON_PAPER)
    assert nose_figure(vague, WIDE, ON_PAPER).count("<polygon") == 2


def _with_sd(trace, sd):
    return replace(trace, sds={name: np.full(len(trace.time_s), sd) for name in trace.sds})


def test_the_second_half_is_doubled_in_print_only(eight) -> None:
    def lines(svg: str, color: str) -> int:
        return sum(line.get("stroke") == color for line in ET.fromstring(svg).iter(f"{SVG}polyline"))

    assert lines(nose_figure(eight, WIDE, ON_PAPER), PRINT.ground) > 0
    assert lines(nose_figure(eight, WIDE, ON_PAGE), PAGE.ground) == 0


def test_a_page_takes_its_colors_from_the_style_sheet(eight) -> None:
    everything = "".join(
        [
            nose_figure(eight, WIDE, ON_PAGE),
            profile_figure(eight, main_quantities(eight), WIDE, ON_PAGE),
            plan_figure(eight, WIDE, ON_PAGE),
            side_figure(eight, WIDE, ON_PAGE),
            horizon_figure(eight, WIDE, ON_PAGE) or "",
        ]
    )
    assert not re.search("#[0-9A-Fa-f]{3,6}", everything)
    assert "style=" not in everything  # a strict Content-Security-Policy refuses inline style


def test_no_text_is_smaller_than_16_px_on_the_page(eight) -> None:
    svg = nose_figure(eight, WIDE, ON_PAGE) + profile_figure(eight, more_quantities(eight), WIDE, ON_PAGE)
    assert min(float(size) for size in re.findall(r'font-size="([\d.]+)"', svg)) >= 16.0


def test_what_was_not_recorded_is_not_drawn(eight) -> None:
    assert "lateral_load_g" not in more_quantities(eight)
    assert "power_percent" not in more_quantities(eight)


def test_profiles_against_time_run_through_both_halves(eight) -> None:
    panel = panels(profile_figure(eight, ("bank_into_turn_deg",), WIDE, ON_PAPER, against="time"))[
        "bank_into_turn_deg"
    ]
    lasted = eight.flown[-1].time_s[-1]
    assert panel.data["along"] == "time"
    assert panel.number("x-high") >= lasted - 0.01
    assert len(panel.circles(PRINT.second)) >= 4


def test_the_plan_turns_the_entry_heading_up(eight) -> None:
    svg = ET.fromstring(plan_figure(eight, (400.0, 400.0), ON_PAPER))
    (group,) = [each for each in svg.iter(f"{SVG}g") if each.get("class") == "plan"]
    trace = eight.flown[0]
    north, east = trace.values["ground_north_ft"][:8], trace.values["ground_east_ft"][:8]
    data = {name.removeprefix("data-"): value for name, value in group.items()}
    xs = (float(data["xn"]) * north + float(data["xe"]) * east) / 1000.0
    ys = (float(data["yn"]) * north + float(data["ye"]) * east) / 1000.0
    assert ys[-1] < ys[0]
    # The track runs up the page but for the drift: 15 kt across 100 kt is 9° at the most.
    assert abs(np.degrees(np.arctan2(xs[-1] - xs[0], ys[0] - ys[-1]))) < 12.0


def test_a_pylon_stands_in_the_plan_with_sight_lines(turn) -> None:
    pylon = GroundMark("pylon", (1,), ((500.0, 500.0),))
    bare = plan_figure(turn, (400.0, 400.0), ON_PAPER)
    with_pylon = plan_figure(replace(turn, ground=(pylon,)), (400.0, 400.0), ON_PAPER)
    assert "pylon" in texts(with_pylon)
    assert "pylon" not in texts(bare)
    assert with_pylon.count("<rect") == 1
    air = plan_figure(replace(turn, ground=(pylon,)), (400.0, 400.0), ON_PAPER, frame="air")
    assert "pylon" not in texts(air)


def test_the_side_view_says_how_much_it_stretches(eight, turn) -> None:
    for view in (eight, turn):
        said = " ".join(texts(side_figure(view, (400.0, 180.0), ON_PAPER)))
        stretch = re.search(r"heights ×([\d.]+)", said)
        assert stretch is not None
        assert 0.5 <= float(stretch[1]) <= 10.0


# --- The pilot's horizon ------------------------------------------------------------------------------------


def test_the_horizon_falls_as_the_nose_rises_and_tilts_against_the_bank() -> None:
    # Nose 10° up, wings level: the horizon lies 10° below the middle of the view.
    assert seen(Glance("", 0.0, 10.0, 0.0), 0.0) == pytest.approx((0.0, -10.0))
    # Right bank: the right end of the horizon stands higher than the left.
    left, right = (seen(Glance("", 30.0, 0.0, 0.0), off)[1] for off in (-20.0, 20.0))
    assert right > left
    assert right == pytest.approx(20.0 * np.sin(np.radians(30.0)))


def test_each_point_has_its_view(eight) -> None:
    svg = horizon_figure(eight, (700.0, 90.0), ON_PAPER)
    assert svg is not None
    assert texts(svg) == ["45°", "90°", "135°", "180°"] * 2


def test_no_line_leaves_its_view() -> None:
    steep = [Glance("a", 60.0, 25.0, 0.0), Glance("b", -60.0, -25.0, 90.0)]
    svg = ET.fromstring(horizons(steep, size=(200.0, 90.0), style=ON_PAPER, posts_deg=[0.0, 90.0]))
    for line in svg.iter(f"{SVG}line"):
        for key in ("x1", "x2"):
            assert -0.01 <= float(line.get(key, 0)) <= 200.01
        for key in ("y1", "y2"):
            assert -0.01 <= float(line.get(key, 0)) <= 90.01


# --- The story ----------------------------------------------------------------------------------------------


def test_the_story_names_every_maneuver(flown_lesson) -> None:
    said = texts(story_strip(story_of(flown_lesson), size=(700.0, 190.0), style=ON_PAPER))
    for number, maneuver in enumerate(flown_lesson.debrief.maneuvers, start=1):
        assert str(number) in said or f"{number} {maneuver.title}" in said
    number = [each.kind for each in flown_lesson.debrief.maneuvers].index("lazy_eight") + 1
    assert f"{number} Lazy eight" in said
    assert "14:07" in said
    longest = max(flown_lesson.debrief.phases, key=lambda phase: phase.end_s - phase.start_s)
    assert longest.kind in said
