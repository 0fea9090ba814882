"""The card: two sides each, the size asked for, its own font only, the same bytes for the same briefing."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace

import pytest

from chalkwing.airplane import load_sheet
from chalkwing.briefing import Briefing, brief, briefable
from chalkwing.briefing.report import CautionReport
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.errors import ChalkwingError
from chalkwing.paper import SIZES, card_pdf
from chalkwing.paper.card import _card
from chalkwing.paper.pictures import drawn_against, nose_picture, traces_of
from chalkwing.units import DEGREE, FOOT, KNOT

SHEET = load_sheet("four-seat-160")
DAY = Conditions(
    elevation=1_120 * FOOT,
    terrain_elevation=1_450 * FOOT,
    winds=(WindLevel(3_000 * FOOT, 270 * DEGREE, 15 * KNOT),),
)
LONG = "A line of text that some school may well have written, long enough to need two lines on the card."


def planned(kind: str, **more: object) -> Briefing:
    bank = {"maximum_bank": 40 * DEGREE} if kind == "steep_turn" else {}
    return brief(kind, airplane=SHEET, conditions=DAY, line=340 * DEGREE, **bank, **more)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def eight() -> Briefing:
    return planned("lazy_eight")


def pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def test_a_card_has_two_sides(eight) -> None:
    assert pages(card_pdf([eight])) == 2
    assert pages(card_pdf([eight, eight, eight])) == 6


@pytest.mark.parametrize("paper", SIZES)
def test_every_maneuver_fits_its_two_sides(paper) -> None:
    for kind in briefable():
        assert pages(card_pdf([planned(kind)], paper=paper)) == 2, kind


def test_long_texts_still_fit(eight) -> None:
    wordy = replace(
        eight,
        notes=(LONG,) * 12,
        cautions=(CautionReport("floor", LONG, 1500.0, 1500.0, "ft", "the school"),) * 3,
        school=replace(eight.school, calls=(LONG,) * 3, checklist=("One more thing to check",) * 8),
    )
    assert pages(card_pdf([wordy])) == 2


@pytest.mark.parametrize(("paper", "width", "height"), [("a5", 148.0, 210.0), ("half-letter", 139.7, 215.9)])
def test_the_sheet_is_the_one_asked_for(eight, paper, width, height) -> None:
    # ISO 216: A5 is 148 by 210 mm; half of US letter (8.5 by 11 in) is 139.7 by 215.9 mm; 72 points an inch.
    box = re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", card_pdf([eight], paper=paper))
    assert box is not None
    assert float(box[1]) / 72.0 * 25.4 == pytest.approx(width, abs=0.05)
    assert float(box[2]) / 72.0 * 25.4 == pytest.approx(height, abs=0.05)


def test_the_same_briefing_gives_the_same_bytes(eight) -> None:
    assert card_pdf([eight]) == card_pdf([eight])


def test_only_the_packages_own_font_is_embedded(eight) -> None:
    fonts = set(re.findall(rb"/FontName\s*/[A-Z]{6}\+([A-Za-z-]+)", card_pdf([eight])))
    assert fonts
    assert all(name.startswith(b"SourceSansPro") for name in fonts), fonts


def test_the_flying_side_leaves_out_what_is_for_the_ground(eight) -> None:
    card = _card(eight, SIZES["a5"])
    assert set(card) - {"ground"} == {
        "title", "turns", "airplane", "airplane_line", "people", "remark", "entry", "floor", "school",
        "clearing", "calls", "checklist", "headings", "caution",
    }  # fmt: skip
    assert [cell["name"] for cell in card["entry"]] == ["Speed", "Altitude", "Power", "Line"]  # type: ignore[attr-defined]
    assert card["headings"]["columns"] == ["right", "left"]  # type: ignore[index]
    assert card["headings"]["rows"][2] == ["90°", "070°", "070°"]  # type: ignore[index]


def test_without_a_line_the_headings_are_left_to_write_in() -> None:
    blank = brief("steep_turn", airplane=SHEET, conditions=DAY, maximum_bank=40 * DEGREE)
    card = _card(blank, SIZES["a5"])
    assert {row[1] for row in card["headings"]["rows"]} == {"____"}  # type: ignore[index]


def test_speeds_are_marked_as_what_they_are(eight) -> None:
    unit = "KIAS" if eight.airspeed_kind == "indicated" else "KCAS"
    assert _card(eight, SIZES["a5"])["entry"][0]["unit"] == unit  # type: ignore[index]


def test_what_does_not_turn_one_way_has_no_nose_path() -> None:
    stall = planned("power_off_stall")
    assert drawn_against(stall) == "time"
    assert nose_picture(stall, (400.0, 100.0)) is None
    assert drawn_against(planned("steep_spiral")) == "heading"


def test_the_second_half_of_an_eight_runs_back(eight) -> None:
    first, second = traces_of(eight)
    assert (first.start_deg, first.sense) == (0.0, 1)
    assert (second.start_deg, second.sense) == (180.0, -1)


def words(pdf: bytes, tmp_path, page: int) -> list[tuple[str, float]]:
    """Words of a page and their heights [pt], as another program reads the PDF."""
    file = tmp_path / "card.pdf"
    file.write_bytes(pdf)
    told = subprocess.run(
        ["pdftotext", "-bbox", "-f", str(page), "-l", str(page), str(file), "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    found = re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">(.*?)</word>', told)
    return [(word, float(low) - float(high)) for high, low, word in found]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_numbers_of_the_flying_side_read_at_arms_length(eight, tmp_path) -> None:
    # 16 CSS px are 12 points; a word's box is about 1.25 times its size in this font.
    heights = dict(words(card_pdf([eight]), tmp_path, page=1))
    for number in ("340°", "070°", f"{eight.entry.airspeed_kt:.0f}", f"{eight.floor_ft:,.0f}"):
        assert heights[number] >= 12.0 * 1.2, number
    assert heights["outside."] >= 12.0 * 1.2


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_the_caution_stands_on_both_sides(eight, tmp_path) -> None:
    for page in (1, 2):
        said = " ".join(word for word, _ in words(card_pdf([eight]), tmp_path, page))
        assert "A training aid." in said
        assert "licensed instructor prevail" in said


def test_an_impossible_maneuver_makes_no_card() -> None:
    with pytest.raises(ChalkwingError):
        card_pdf([brief("lazy_eight", airplane="light-twin")])
