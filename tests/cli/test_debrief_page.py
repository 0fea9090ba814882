"""The page a person reads: order, words, widths, and what it must never say."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from click.testing import CliRunner
from rich.console import Console

from chalkwing.cli import main
from chalkwing.cli.text import print_debrief
from chalkwing.debriefs import Debrief, ElementReport
from chalkwing.maneuvers.vocabulary import UNITS as UNITS_OF_DEFINITIONS
from chalkwing.views.table import table_of
from chalkwing.words import MARKS, UNITS, WORDS, margin, noted


def page(debrief: Debrief, width: int = 80, **options: object) -> str:
    console = Console(file=io.StringIO(), width=width, highlight=False, emoji=False, markup=False)
    print_debrief(console, debrief, **options)
    return console.file.getvalue()


def with_verdict(debrief: Debrief, verdict: str, reason: str | None = None) -> Debrief:
    first = next(each for each in debrief.maneuvers if each.kind == "steep_turn")
    elements = tuple(
        replace(each, verdict=verdict, reason=reason) if each.verdict else each for each in first.elements
    )
    return replace(debrief, maneuvers=(replace(first, elements=elements),))


@pytest.mark.parametrize("width", [60, 80, 96])
def test_no_line_is_wider_than_the_page(panel, width):
    assert max(len(line) for line in page(panel.debrief, width).splitlines()) <= width


def test_what_it_can_decide_stands_first_and_once_and_the_caution_last(panel):
    text = page(panel.debrief)
    decides, first = text.index("What this recording can decide"), text.index("\n2  Steep turn")
    assert decides < first
    assert text.count("can decide") == 1
    assert text.rstrip().endswith("instructor prevail.")


def test_good_comes_before_missed_before_undecided(panel):
    parts = [page(with_verdict(panel.debrief, verdict, "because")) for verdict in WORDS]
    for text, opening in zip(parts, ("Good", "Missed", "Cannot tell"), strict=True):
        assert f"{opening}: " in text
    mixed = page(panel.debrief)
    block = mixed[mixed.index("\n3  Steep turn") : mixed.index("\n4  Lazy eight")]
    assert block.index("Good: ") < block.index("Missed: ")


@pytest.mark.parametrize("verdict", WORDS)
def test_a_verdict_is_told_by_word_and_mark(panel, verdict):
    assert f"{MARKS[verdict]} {WORDS[verdict]}" in page(with_verdict(panel.debrief, verdict))


def test_cannot_tell_gives_its_reason(panel):
    text = page(with_verdict(panel.debrief, "cannot_tell", "the gap hides it"))
    assert "The gap hides it." in text


def test_limits_carry_document_edition_and_task(panel):
    text = page(panel.debrief)
    for maneuver in panel.debrief.maneuvers:
        for element in maneuver.elements:
            if element.limit:
                assert f"{element.document}, {element.edition}, {element.task}" in text


def test_it_never_says_that_a_rule_was_broken_and_never_scores(panel, track):
    for recorded in (panel, track):
        words = page(recorded.debrief).lower()
        for word in ("violat", "illegal", "broke", "unsafe", "failed", "score", "grade", "unsatisfactory"):
            assert word not in words


def test_recorded_values_stand_beside_derived_ones_and_below_on_a_narrow_page(panel):
    point = panel.debrief.maneuvers[1].points[2].bank_into_turn_deg
    assert f"{point.value:.1f} ({point.recorded:.1f})" in page(panel.debrief)
    assert f"({point.recorded:.1f})" in page(panel.debrief, 60)
    assert "In parentheses the nearest recorded row." in page(panel.debrief)


def test_the_doubt_told_is_that_of_the_page_and_it_says_which(panel):
    turn = panel.debrief.maneuvers[1]
    altitude = next(each for each in turn.elements if each.id == "altitude")
    shown = next(row for row in table_of(turn).rows if row.title.startswith("Altitude"))
    # 1.96 sd to each side hold a normal value 95 times in 100 (any table of the normal distribution).
    assert shown.doubt == f"±{1.96 * altitude.sd:.0f} ft"
    assert f" {shown.doubt} " in page(panel.debrief)
    assert "± is the 95 % range." in " ".join(page(panel.debrief).split())


def test_notes_are_sentences_and_say_of_which_flight_they_are(panel):
    flight = panel.debrief.flights[0]
    two = tuple(replace(flight, notes=("no pitch", f"late by {k} s")) for k in (1, 2))
    said = noted(replace(panel.debrief, flights=two, notes=("read twice.",)))
    assert said[-4:] == ["No pitch.", "Flight 1: late by 1 s.", "Flight 2: late by 2 s.", "Read twice."]
    assert "Flight" not in " ".join(noted(replace(panel.debrief, flights=two[:1])))


def test_facts_can_be_left_out(panel):
    assert "Facts, for which nothing is published" in page(panel.debrief)
    assert "Facts" not in page(panel.debrief, facts=False)


def test_a_flight_without_maneuvers_says_so(panel):
    assert "none of the known kinds" in page(replace(panel.debrief, maneuvers=()))


def test_a_long_flights_wind_is_shown_where_maneuvers_were_flown(panel):
    row, maneuver = panel.debrief.wind[0], panel.debrief.maneuvers[0]
    rows = tuple(replace(row, start_s=300.0 * k, end_s=300.0 * (k + 1)) for k in range(20))
    late = replace(maneuver, start_s=4000.0, end_s=4100.0)
    text = page(replace(panel.debrief, wind=rows, maneuvers=(late,)))
    assert text.count(" true ±") == 1
    assert "15:10:00 to 15:15:00" in text
    assert "and 19 stretches more" in text


def test_every_unit_of_a_definition_can_be_said():
    assert set(UNITS_OF_DEFINITIONS) <= set(UNITS)


def test_margin_counts_to_the_nearer_limit():
    element = ElementReport(
        "x", "X", None, "kt", 3.0, 1.0, None, (0, 5), None, None, None, None, None, None, None, None, None
    )
    assert margin(element) == 2.0
    assert margin(replace(element, value=-1.0)) == -1.0
    assert margin(replace(element, limit=(None, 60.0))) == 57.0
    assert margin(replace(element, limit=None)) is None


def test_the_command_prints_the_page(panel):
    done = CliRunner().invoke(main, ["debrief", str(panel.path), "--no-facts", "--standard", "private"])
    assert done.exit_code == 0, done.output
    assert "FAA-S-ACS-6C" in done.stdout
    assert "PA.V.A" in done.stdout


def test_assigned_values_are_held_against(panel):
    asked = ["--assigned-altitude", "3600", "--assigned-bank", "45"]
    done = CliRunner().invoke(main, ["debrief", str(panel.path), "--no-facts", *asked])
    assert done.exit_code == 0, done.output
    first = done.stdout[done.stdout.index("\n2  Steep turn") : done.stdout.index("\n3  Steep turn")]
    assert "altitude at entry" not in first
