"""Rows above the profiles: stretches flown level, straight or turning, and marks made in flight."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from tests.drawing.known import half

from chalkwing.drawing.frames import time_axis
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.drawing.passages import Noted, Passage, Passages
from chalkwing.drawing.profiles import BANK, LOAD, profiles

SVG = "{http://www.w3.org/2000/svg}"
SIZE = (620.0, 300.0)
AXIS = time_axis(SIZE[0], ON_PAGE, span_s=40.0)


def drawn(passages: Passages) -> ET.Element:
    return ET.fromstring(
        profiles(
            [half(1, role="flown")],
            [BANK, LOAD],
            size=SIZE,
            style=ON_PAGE,
            span_deg=180.0,
            against="time",
            passages=passages,
        )
    )


def test_a_stretch_stands_in_its_row_from_its_start_to_its_end():
    root = drawn(Passages([Passage("straight", 0.0, 12.0), Passage("turning", 12.0, 31.0)]))
    spans = {
        (round(float(line.get("x1", 0)), 1), round(float(line.get("x2", 0)), 1))
        for line in root.iter(f"{SVG}line")
        if line.get("y1") == line.get("y2")
    }
    for start, end in ((0.0, 12.0), (12.0, 31.0)):
        assert (round(AXIS.scale(start), 1), round(AXIS.scale(end), 1)) in spans
    names = {each.text: float(each.get("y", 0)) for each in root.iter(f"{SVG}text")}
    assert names["straight"] < names["turning"]


def test_rows_take_their_room_from_the_panels_and_stay_above_them():
    rows = Passages([Passage("level", 0.0, 30.0)], [Noted("ball out left", 8.0)])
    above = rows.height(AXIS, ON_PAGE)
    tops = [
        float(group.get("data-top", 0)) for group in drawn(rows).iter(f"{SVG}g") if group.get("data-quantity")
    ]
    assert min(tops) == pytest.approx(above + 0.5 * ON_PAGE.text, abs=0.01)
    assert Passages().height(AXIS, ON_PAGE) == 0.0


def test_marks_near_each_other_stand_in_rows_of_their_own_and_a_long_one_is_cut():
    long = "altitude, then trim, then say it earlier"
    root = drawn(Passages(noted=[Noted(long, 8.0), Noted("rudder", 8.5), Noted("ball", 36.0)]))
    placed = {
        each.text: (float(each.get("x", 0)), float(each.get("y", 0))) for each in root.iter(f"{SVG}text")
    }
    cut = next(words for words in placed if words and words.endswith("…"))
    assert long.startswith(cut.removesuffix("…"))
    assert placed["rudder"][1] > placed[cut][1]
    assert placed["ball"][1] == placed[cut][1]
    dashed = [line for line in root.iter(f"{SVG}line") if line.get("stroke-dasharray")]
    assert {round(float(line.get("x1", 0)), 1) for line in dashed} == {
        round(AXIS.scale(at), 1) for at in (8.0, 8.5, 36.0)
    }


def test_nothing_along_leaves_the_picture_as_it_was():
    plain = profiles(
        [half(1, role="flown")], [BANK], size=SIZE, style=ON_PAGE, span_deg=180.0, against="time"
    )
    assert not re.search(r"stroke-dasharray", plain)
