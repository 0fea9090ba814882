"""The printed debrief: its pages, its text, its font, its numbers."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from pypdf import PdfReader
from tests.paper.reading import read_pdf

from chalkwing import words
from chalkwing.debriefs import MarkReport, StretchReport
from chalkwing.paper import SHEETS, debrief_pdf
from chalkwing.trunk import Debriefed


@pytest.fixture(scope="module")
def printed(flown_lesson: Debriefed) -> PdfReader:
    return read_pdf(debrief_pdf(flown_lesson))


@pytest.fixture(scope="module")
def texts(printed: PdfReader) -> list[str]:
    return [text_of(printed, page) for page in range(len(printed.pages))]


def text_of(reader: PdfReader, page: int) -> str:
    return re.sub(r"\s+", " ", reader.pages[page].extract_text())


def test_one_page_for_the_lesson_and_one_for_each_maneuver(flown_lesson, printed, texts) -> None:
    assert len(printed.pages) == 1 + len(flown_lesson.debrief.maneuvers)
    for number, maneuver in enumerate(flown_lesson.debrief.maneuvers, start=1):
        assert f"{number} {maneuver.title}" in texts[number]


@pytest.mark.parametrize(("paper", "width", "height"), [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)])
def test_the_sheet_is_the_one_asked_for(flown_lesson, paper, width, height) -> None:
    # ISO 216: A4 is 210 by 297 mm; US letter is 8.5 by 11 in, 215.9 by 279.4 mm; 72 points an inch.
    reader = read_pdf(debrief_pdf(flown_lesson, paper=paper))
    box = reader.pages[0].mediabox
    assert float(box.width) / 72.0 * 25.4 == pytest.approx(width, abs=0.05)
    assert float(box.height) / 72.0 * 25.4 == pytest.approx(height, abs=0.05)
    assert len(reader.pages) == 1 + len(flown_lesson.attempts)
    assert set(SHEETS) == {"a4", "letter"}


def test_every_verdict_stands_in_words_with_its_value_limit_and_source(flown_lesson, texts) -> None:
    for number, maneuver in enumerate(flown_lesson.debrief.maneuvers, start=1):
        said = texts[number]
        judged = [each for each in maneuver.elements if each.verdict]
        if maneuver.kind != "clearing_turns":  # for which nothing is published
            assert judged
        for each in judged:
            assert each.verdict is not None
            assert words.amount(each.value, each.unit, signed=True) in said
            assert words.band(each.limit, each.unit) in said
            assert words.WORDS[each.verdict] in said
            assert each.document in said
            assert each.edition in said
        assert said.count("not met") == sum(each.verdict == "not_met" for each in judged)


def test_marks_made_in_flight_and_who_flew_stand_on_the_lesson_s_page(flown_lesson) -> None:
    first = flown_lesson.debrief.maneuvers[0]
    marks = (
        MarkReport(first.start_s + 2.0, "rudder", "the card", 1, True, 0.0),
        MarkReport(3.0, "sun in the eyes", "the card", None, False, 0.0),
    )
    whose = (StretchReport(0.0, 600.0, "Mina Orlo", "Per Askell", "student", "the card"),)
    told = replace(flown_lesson, debrief=replace(flown_lesson.debrief, marks=marks, stretches=whose))
    said = text_of(read_pdf(debrief_pdf(told)), 0)
    assert "rudder" in said
    assert f"in 1 {first.title.lower()}" in said
    assert "sun in the eyes" in said
    assert "Mina Orlo, with Per Askell, the student flew" in said
    second = replace(told.debrief, maneuvers=told.debrief.maneuvers[1:])
    assert "rudder" in text_of(
        read_pdf(debrief_pdf(replace(told, debrief=second, attempts=told.attempts[1:]))), 0
    )


def test_every_page_carries_the_caution(flown_lesson, texts) -> None:
    assert all(flown_lesson.debrief.caution in text for text in texts)


def test_only_our_font_is_used_and_all_of_it_is_embedded(printed) -> None:
    fonts = {}
    for page in printed.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            descendant = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = descendant["/FontDescriptor"]
            fonts[descriptor["/FontName"]] = any(f"/FontFile{k}" in descriptor for k in ("", "2", "3"))
    assert fonts
    assert all(re.match(r"/[A-Z]{6}\+SourceSansPro-", name) for name in fonts)
    assert all(fonts.values())


def test_pictures_are_lines_and_letters_not_pixels(printed, texts) -> None:
    for page in printed.pages:
        images = [
            each
            for each in page["/Resources"].get("/XObject", {}).values()
            if each.get_object().get("/Subtype") == "/Image"
        ]
        assert not images
    # The numbers in the pictures can be selected too.
    assert "Nose path" in texts[3]
    assert re.search(r"\d+° · \d+ kt", texts[3])


def test_the_same_debrief_gives_the_same_bytes(flown_lesson) -> None:
    assert debrief_pdf(flown_lesson) == debrief_pdf(flown_lesson)


def test_a_flight_without_maneuvers_still_prints(flown_lesson) -> None:
    empty = replace(flown_lesson, attempts=(), debrief=replace(flown_lesson.debrief, maneuvers=()))
    reader = read_pdf(debrief_pdf(empty))
    assert len(reader.pages) == 1
    assert "No maneuver of the known kinds was found." in text_of(reader, 0)


def test_without_an_airplane_there_is_no_plan_and_the_pictures_stand(flown_lesson) -> None:
    bare = replace(
        flown_lesson,
        attempts=tuple(
            replace(each, stick=None, report=replace(each.report, reference=None))
            for each in flown_lesson.attempts
        ),
    )
    reader = read_pdf(debrief_pdf(bare))
    assert len(reader.pages) == 1 + len(flown_lesson.attempts)
    assert not any("Plan solved" in text_of(reader, page) for page in range(len(reader.pages)))


def test_many_facts_and_notes_never_make_a_second_page(flown_lesson) -> None:
    attempt = next(each for each in flown_lesson.attempts if each.report.kind == "lazy_eight")
    wordy = tuple(
        replace(each, note="A remark of some length that stands beside this element in the report.")
        for each in attempt.report.elements * 3
    )
    many = replace(attempt, report=replace(attempt.report, elements=wordy))
    reader = read_pdf(debrief_pdf(replace(flown_lesson, attempts=(many,))))
    assert len(reader.pages) == 2


def test_a_plan_is_named_only_where_one_is_drawn_and_no_file_format_is(flown_lesson, texts) -> None:
    seen = 0
    for number, maneuver in enumerate(flown_lesson.debrief.maneuvers, start=1):
        if "From the seat" in texts[number]:
            seen += 1
            planned = maneuver.reference is not None and maneuver.reference["isa_deviation_c"] is not None
            assert ("(dashed: the plan)" in texts[number]) is planned
    assert seen
    assert "JSON" not in " ".join(texts)
