"""The facts that a stall is told by, printed before all others; and what lies along a lesson."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from tests.paper.reading import read_pdf

from chalkwing import maneuvers
from chalkwing.debriefs import ElementReport, ManeuverReport, MarkReport, StallSpeedReport, StretchReport
from chalkwing.drawing.palette import ON_PAPER
from chalkwing.drawing.story import story_strip
from chalkwing.errors import FaultyDefinition
from chalkwing.maneuvers import definition
from chalkwing.maneuvers.reading import definition_from
from chalkwing.paper import debrief_pdf
from chalkwing.paper.page import maneuver_body
from chalkwing.toml_files import read_toml
from chalkwing.trunk import Debriefed
from chalkwing.views import views_of
from chalkwing.views.stall_speed import stall_speeds_said
from chalkwing.views.story import story_of
from chalkwing.views.table import table_of

STALLS = ("power_off_stall", "power_on_stall", "accelerated_stall")
ASKED_FIRST = {"height_lost", "time_to_recover", "secondary_stall", "heading_swing", "stall_speed_1g"}
DAY = StallSpeedReport(1, "clean", 2, 50.2, 1.5, None, None, None, 47.0, 3.2, 2.0, 1000.0, "pooled")


def fact(id_: str, value: float | None, *, unit: str = "s", reason: str | None = None) -> ElementReport:
    title = f"The fact called {id_}"
    return ElementReport(
        id_, title, None, unit, value, None if value is None else 1.0, "derived",
        None, None, None, None, None, reason, None, None, None, None,
    )  # fmt: skip


def stalled(report: ManeuverReport) -> ManeuverReport:
    """The same report as that of a stall: all facts of the kind, each with a value of its own."""
    known = definition("power_off_stall")
    facts = [fact(each.id, 10.0 + k) for k, each in enumerate(known.facts) if each.id != "secondary_stall"]
    unknown = fact("secondary_stall", None, unit="seen", reason="cannot tell: a probability of 40 %")
    return replace(
        report,
        kind="power_off_stall",
        title=known.title,
        elements=(*facts, unknown),
        leading_facts=known.leading_facts,
    )


@pytest.fixture(scope="module")
def lesson(flown_lesson: Debriefed) -> Debriefed:
    """The built-in lesson with its first maneuver told as a stall, a mark in the second, and two students."""
    first = flown_lesson.attempts[0]
    attempts = (replace(first, report=stalled(first.report)), *flown_lesson.attempts[1:])
    reports = tuple(each.report for each in attempts)
    middle = reports[2].start_s
    debrief = replace(
        flown_lesson.debrief,
        maneuvers=reports,
        stall_speeds=(replace(DAY, flight=reports[0].flight),),
        marks=(
            MarkReport(reports[1].start_s + 5.0, "late on the rudder", "Per Askell", 2, True, 0.0),
            MarkReport(reports[2].end_s + 9.0, "again", "Per Askell", 3, False, 9.0),
        ),
        stretches=(
            StretchReport(0.0, middle, "Mina Orlo", "Per Askell", "student", "Per Askell"),
            StretchReport(middle, 2.0 * middle, None, None, "shared", "Per Askell"),
        ),
    )
    return replace(flown_lesson, debrief=debrief, attempts=attempts)


@pytest.fixture(scope="module")
def texts(lesson: Debriefed) -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in read_pdf(debrief_pdf(lesson)).pages]


@pytest.mark.parametrize("kind", STALLS)
def test_every_stall_leads_with_what_an_instructor_asks_first(kind: str) -> None:
    assert set(definition(kind).leading_facts) >= ASKED_FIRST


def test_a_leading_fact_that_does_not_exist_is_refused_with_its_name() -> None:
    tables = read_toml(
        Path(maneuvers.__file__).parent / "definitions" / "power_off_stall.toml", FaultyDefinition
    )
    tables["leading_facts"] = ["height_lost", "hight_lost"]
    with pytest.raises(FaultyDefinition) as refused:
        definition_from(tables, where="school.toml")
    assert [(each.path, "hight_lost" in each.message) for each in refused.value.faults] == [
        ("leading_facts", True)
    ]


def test_all_leading_facts_are_printed_with_their_values(lesson: Debriefed, texts: list[str]) -> None:
    page = texts[1]
    assert "1 Power-off stall" in page
    report = lesson.attempts[0].report
    table = table_of(report)
    assert [row.title for row in table.leading] == [f"The fact called {id_}" for id_ in report.leading_facts]
    assert len(table.leading) + len(table.facts) == len(report.elements)
    for row in table.leading:
        assert f"{row.title} {row.remark}".strip() in page
        assert row.values[0] in page
    assert page.count("±2.0 s") >= len(table.leading) - 1
    assert len(texts) == 1 + len(lesson.attempts)  # nothing ran over onto another page


def test_what_cannot_be_told_says_so_and_why(lesson: Debriefed, texts: list[str]) -> None:
    table = table_of(lesson.attempts[0].report)
    (row,) = [each for each in table.leading if "secondary_stall" in each.title]
    assert row.values == ("cannot tell",)
    assert row.remark == "A probability of 40 %."
    assert "secondary_stall" not in table.lacking


def test_the_stall_speed_of_the_day_stands_beside_the_sheet(lesson: Debriefed, texts: list[str]) -> None:
    (said,) = stall_speeds_said(lesson.debrief)
    # 1,000 kg are 2,205 lb; two sd of 1.5 and of 2.0 kt, and 50.2 less 47.0.
    assert said == (
        "Flaps up, 2 stalls: 50 ±3 KCAS at 1 g; the airplane sheet's 47 KCAS at 2,205 lb, "
        "so +3 ±4 kt from it."
    )
    assert said in texts[0]
    assert said in texts[1]
    assert said not in texts[2]  # no stall
    (slow,) = stall_speeds_said(
        replace(
            lesson.debrief,
            stall_speeds=(
                replace(
                    DAY, stalls=0, stall_speed_kcas=None, stall_speed_kcas_sd=None, difference_kt=None,
                    slowest_flown_kcas=52.0, slowest_flown_kcas_sd=1.0,
                ),
            ),
        )
    )  # fmt: skip
    assert "no stall was flown; it lies below 52 ±2 KCAS" in slow


def test_marks_made_in_flight_stand_on_strip_lesson_and_maneuver(lesson: Debriefed, texts: list[str]) -> None:
    story = story_of(lesson)
    assert f"{story.clock_s(story.marks[0].t_s)} late on the rudder in 2" in texts[0]
    assert "again near 3" in texts[0]
    assert story.marks[0].said == "late on the rudder (Per Askell, in 2)"
    assert story.marks[1].said == "again (Per Askell, 9 s from 3)"
    assert "late on the rudder (Per Askell)" in texts[2]
    assert "again (Per Askell, 9 s off)" in texts[3]
    strip = story_strip(story, size=(700.0, 220.0), style=ON_PAPER)
    bare = story_strip(replace(story, marks=()), size=(700.0, 220.0), style=ON_PAPER)
    assert ">late on the rudder<" in strip
    assert ">late on the rudder<" not in bare
    assert strip.count("<polyline") == bare.count("<polyline") + 2


def test_whose_part_and_the_phases_run_under_the_strip(lesson: Debriefed, texts: list[str]) -> None:
    story = story_of(lesson)
    assert story.people_said[0].endswith(": Mina Orlo, with Per Askell, the student flew")
    assert story.people_said[1].endswith(": both flew")
    assert story.people_said[0] in texts[0]
    told = [(each.kind.replace("_", "-"), each.start_s, each.end_s) for each in lesson.debrief.phases]
    assert [(each.said, each.start_s, each.end_s) for each in story.phases] == told
    assert story.phases
    strip = story_strip(story, size=(1400.0, 220.0), style=ON_PAPER)
    assert any(f">{each.said}<" in strip for each in story.phases)


def test_the_sheet_of_a_maneuver_tells_leading_facts_and_marks(lesson: Debriefed) -> None:
    story, views = story_of(lesson), views_of(lesson)
    stall = maneuver_body(views[0], number=1, story=story, marks=True)
    assert "What it showed" in stall
    assert stall.index("The fact called height_lost") < stall.index(
        "More facts, for which nothing is published"
    )
    turn = maneuver_body(views[1], number=2, story=story, marks=True)
    assert "What it showed" not in turn
    assert "late on the rudder (Per Askell)" in turn
    # The page of the server lists them among its notes instead.
    assert "Marked in flight" not in maneuver_body(views[1], number=2, story=story)


def test_a_lesson_that_runs_over_carries_the_caution_on_every_page(lesson: Debriefed) -> None:
    notes = tuple(f"Remark {k} of a recorder that had much to say about itself." for k in range(200))
    long = replace(lesson, attempts=(), debrief=replace(lesson.debrief, notes=notes))
    pages = read_pdf(debrief_pdf(long)).pages
    assert len(pages) > 1
    for page in pages:
        assert re.sub(r"\s+", " ", page.extract_text()).count(lesson.debrief.caution) == 1
