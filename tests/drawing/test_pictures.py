"""The pictures follow the grammar: what is drawn, where, in which chalk, and that it reads."""

from __future__ import annotations

import itertools
import re
import struct
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import font_source_sans_pro
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drawing.known import half

from chalkwing.drawing import (
    BANK,
    ON_PAPER,
    PAPER,
    PRINT,
    SLATE,
    Style,
    Wind,
    airspeed,
    altitude,
    nose_path,
    plan_view,
    profiles,
)
from chalkwing.drawing.labels import Box, Label, place
from chalkwing.drawing.letters import text_width
from chalkwing.drawing.scales import nice_step

SVG = "{http://www.w3.org/2000/svg}"
SIZE = (500.0, 200.0)


def drawn(text: str) -> ET.Element:
    return ET.fromstring(text)


def eight(style: Style = ON_PAPER) -> str:
    return nose_path([half(1), half(2)], size=SIZE, style=style, span_deg=180.0, subtitle="right, then left")


def lines_of(picture: ET.Element, color: str) -> list[list[tuple[float, float]]]:
    found = []
    for line in picture.iter(f"{SVG}polyline"):
        if line.get("stroke") == color:
            pairs = [pair.split(",") for pair in line.get("points", "").split()]
            found.append([(float(x), float(y)) for x, y in pairs])
    return found


def texts_of(picture: ET.Element) -> list[str]:
    """Each text once: a halo behind letters is drawn with the same words."""
    return [text.text or "" for text in picture.iter(f"{SVG}text") if text.get("stroke") is None]


# --- The grammar --------------------------------------------------------------------------------------------


def test_the_second_half_of_the_nose_path_runs_back() -> None:
    picture = drawn(eight())
    first, second = lines_of(picture, PRINT.first)[0], lines_of(picture, PRINT.second)[0]
    assert first[0][0] < first[-1][0]
    assert second[0][0] > second[-1][0]
    # It begins where the first half ends, and both cross 90° in the middle, at level.
    assert second[0][0] == pytest.approx(first[-1][0], abs=0.02)
    assert first[0][1] == pytest.approx(second[-1][1], abs=0.02)


def test_a_higher_nose_is_drawn_higher() -> None:
    line = lines_of(drawn(eight()), PRINT.first)[0]
    xs, ys = np.array(line).T
    level = ys[0]
    assert ys[np.argmin(np.abs(xs - np.quantile(xs, 0.25)))] < level
    assert ys[np.argmin(np.abs(xs - np.quantile(xs, 0.75)))] > level


def test_the_plan_is_dashed_and_what_was_flown_is_solid() -> None:
    both = [half(1), half(1, role="flown", scale=0.8)]
    picture = drawn(nose_path(both, size=SIZE, style=ON_PAPER, span_deg=180.0))
    dashes = {line.get("stroke"): line.get("stroke-dasharray") for line in picture.iter(f"{SVG}polyline")}
    # Beside something flown the plan steps back into soft ink.
    assert dashes[PRINT.soft] is not None
    assert dashes[PRINT.first] is None


def test_the_plan_is_a_line_and_never_a_corridor() -> None:
    assert not list(drawn(eight()).iter(f"{SVG}polygon"))


def test_doubt_is_a_faint_band_of_the_lines_own_color() -> None:
    flown = replace(half(1, role="flown"), sds={"pitch_from_level_deg": np.full(401, 1.0)})
    bands = list(drawn(nose_path([flown], size=SIZE, style=ON_PAPER, span_deg=180.0)).iter(f"{SVG}polygon"))
    assert len(bands) == 1
    assert bands[0].get("fill") == PRINT.first
    assert float(bands[0].get("fill-opacity", "1")) < 0.3


def test_the_second_half_is_a_double_line() -> None:
    picture = drawn(eight())
    over = [line for line in picture.iter(f"{SVG}polyline") if line.get("stroke") == PRINT.ground]
    assert len(over) == 1
    assert lines_of(picture, PRINT.ground)[0] == lines_of(picture, PRINT.second)[0]


def test_points_carry_bank_and_airspeed() -> None:
    # Bank 30 sin 45° = 21°, speed 100 - 30 sin 45° = 79 kt; 30° and 70 kt at 90°, told once for both halves.
    said = texts_of(drawn(eight()))
    assert said.count("21° · 79 kt") == 4
    assert said.count("30° · 70 kt") == 1


def test_beads_stand_every_five_seconds() -> None:
    small = [
        circle
        for circle in drawn(nose_path([half(1)], size=SIZE, style=ON_PAPER, span_deg=180.0)).iter(
            f"{SVG}circle"
        )
        if float(circle.get("r", "0")) < 0.2 * ON_PAPER.text
    ]
    assert len(small) == 7  # 5, 10, ... 35 of 40 s


def test_profiles_lay_the_second_half_over_the_first_and_draw_equal_plans_once() -> None:
    panels = [BANK, airspeed("KCAS", 100.0), altitude()]
    alike = drawn(profiles([half(1), half(2)], panels, size=(500, 260), style=ON_PAPER, span_deg=180.0))
    assert len(lines_of(alike, PRINT.first)) == 3
    assert not lines_of(alike, PRINT.second)
    slower = half(2)
    slower = replace(slower, values={**slower.values, "airspeed_kt": slower.values["airspeed_kt"] - 8.0})
    picture = drawn(profiles([half(1), slower], panels, size=(500, 260), style=ON_PAPER, span_deg=180.0))
    second = lines_of(picture, PRINT.second)
    assert len(second) == 1
    assert second[0][0][0] < second[0][-1][0]  # laid over, not run back


def test_nose_path_and_profiles_share_their_heading_axis() -> None:
    def verticals(text: str) -> set[str | None]:
        return {line.get("x1") for line in drawn(text).iter(f"{SVG}line") if line.get("stroke") == PRINT.grid}

    below = profiles([half(1)], [BANK], size=(500, 90), style=ON_PAPER, span_deg=180.0)
    assert verticals(eight()) == verticals(below)
    assert len(verticals(below)) == 5  # entry, 45, 90, 135, 180


def test_the_wind_arrow_flies_with_the_wind_and_the_entry_heading_is_up() -> None:
    # Entry heading 090 up, wind from 090: it blows down the page, in the pilot's face.
    text = plan_view([half(1)], size=(220, 240), style=ON_PAPER, up_deg_true=90.0, wind=Wind(90.0, 20.0))
    arrows = [line for line in drawn(text).iter(f"{SVG}line") if line.get("stroke-width") == "1.8"]
    assert len(arrows) == 1
    tail, tip = ((float(arrows[0].get(f"x{k}", 0)), float(arrows[0].get(f"y{k}", 0))) for k in (1, 2))
    assert tip[1] - tail[1] > 0
    assert tip[0] == pytest.approx(tail[0], abs=0.01)
    assert "wind 090° true/20 kt" in texts_of(drawn(text))


def test_the_plan_keeps_its_proportions() -> None:
    # A half circle of 2,000 ft radius: 4,000 ft across, 2,000 ft along.
    line = lines_of(
        drawn(plan_view([half(1)], size=(300, 300), style=ON_PAPER, up_deg_true=0.0, wind=None)), PRINT.first
    )[0]
    xs, ys = np.array(line).T
    assert np.ptp(xs) / np.ptp(ys) == pytest.approx(2.0, rel=0.01)
    assert xs[-1] > xs[0]  # turning right of an entry heading north


def test_the_same_picture_gives_the_same_bytes() -> None:
    assert eight() == eight()


# --- That it reads ------------------------------------------------------------------------------------------


def luminance(color: str) -> float:
    """Relative luminance, WCAG 2.1."""
    parts = [int(color[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("palette", [PAPER, PRINT, SLATE], ids=lambda palette: palette.name)
def test_every_color_that_letters_take_stands_out(palette) -> None:
    # WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1 for text.
    for color in (palette.ink, palette.soft, palette.first, palette.second):
        assert contrast(color, palette.ground) >= 4.5


def test_only_the_palette_is_used() -> None:
    allowed = {PRINT.ink, PRINT.soft, PRINT.grid, PRINT.first, PRINT.second, PRINT.ground}
    pictures = eight() + plan_view(
        [half(1), half(2)], size=(220, 240), style=ON_PAPER, up_deg_true=10.0, wind=Wind(200.0, 9.0)
    )
    assert set(re.findall(r"#[0-9A-Fa-f]{6}", pictures)) <= allowed


def test_no_text_is_smaller_than_the_style_says() -> None:
    sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', eight())]
    assert min(sizes) == ON_PAPER.text


def font_widths() -> dict[str, int]:
    """Advance widths in the font file itself, read by the OpenType tables head, hhea, hmtx and cmap."""
    data = (Path(font_source_sans_pro.font_directory) / "SourceSansPro-Regular.ttf").read_bytes()
    count = struct.unpack(">H", data[4:6])[0]
    tables = {}
    for k in range(count):
        tag, _, offset, _ = struct.unpack(">4sLLL", data[12 + 16 * k : 28 + 16 * k])
        tables[tag.decode()] = offset
    per_em = struct.unpack(">H", data[tables["head"] + 18 : tables["head"] + 20])[0]
    metrics = struct.unpack(">H", data[tables["hhea"] + 34 : tables["hhea"] + 36])[0]
    glyphs = cmap_of(data, tables["cmap"])

    def width(letter: str) -> int:
        at = tables["hmtx"] + 4 * min(glyphs[ord(letter)], metrics - 1)
        return round(1000 * struct.unpack(">H", data[at : at + 2])[0] / per_em)

    return {chr(code): width(chr(code)) for code in glyphs if 32 <= code < 127 or chr(code) in "°·−"}


def cmap_of(data: bytes, offset: int) -> dict[int, int]:
    """Glyphs by code point of the format 4 subtable."""
    for k in range(struct.unpack(">H", data[offset + 2 : offset + 4])[0]):
        start = offset + struct.unpack(">HHL", data[offset + 4 + 8 * k : offset + 12 + 8 * k])[2]
        if struct.unpack(">H", data[start : start + 2])[0] == 4:
            break
    count = struct.unpack(">H", data[start + 6 : start + 8])[0] // 2
    rows = [
        struct.unpack(f">{count}H", data[start + at : start + at + 2 * count]) for at in (14, 16 + 2 * count)
    ]
    deltas = struct.unpack(f">{count}h", data[start + 16 + 4 * count : start + 16 + 6 * count])
    ranges_at = start + 16 + 6 * count
    ranges = struct.unpack(f">{count}H", data[ranges_at : ranges_at + 2 * count])
    found = {}
    for k, (last, first) in enumerate(zip(*rows, strict=True)):
        for code in range(first, min(last, 0xFFFE) + 1):
            if ranges[k] == 0:
                found[code] = (code + deltas[k]) & 0xFFFF
                continue
            at = ranges_at + 2 * k + ranges[k] + 2 * (code - first)
            glyph = struct.unpack(">H", data[at : at + 2])[0]
            found[code] = (glyph + deltas[k]) & 0xFFFF if glyph else 0
    return found


def test_text_is_never_wider_than_reckoned() -> None:
    # Against the font's own table. Generous by at most a sixth on words, so that labels find room.
    real = font_widths()
    for text in ("15° · 82 kt", "heading change from entry (nose through the air)", "−1,392", "Altitude"):
        true = sum(real[letter] for letter in text) / 1000.0
        assert true <= text_width(text, 1.0) <= 1.17 * true, text


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(60, 440), st.floats(40, 160)), min_size=1, max_size=6))
def test_labels_stay_in_their_frame_and_off_each_other_where_there_is_room(places) -> None:
    apart = [
        place_
        for k, place_ in enumerate(places)
        if all(abs(place_[0] - a) > 70 or abs(place_[1] - b) > 45 for a, b in places[:k])
    ]
    labels = [Label(at, "30° · 75 kt", "#000000", gap=9.0) for at in apart]
    placed = place(labels, size=11.5, frame=Box(0, 0, 500, 200))
    for one in placed:
        assert one.box.outside(Box(0, 0, 500, 200)) == 0.0
    for one, other in itertools.combinations(placed, 2):
        assert one.box.overlap(other.box) == 0.0


def test_a_label_keeps_off_the_line_it_belongs_to() -> None:
    line = [(0.0, 100.0), (250.0, 40.0), (500.0, 100.0)]
    (only,) = place(
        [Label((250.0, 40.0), "75 kt", "#000000", 8.0)], size=12, frame=Box(0, 0, 500, 200), lines=[line]
    )
    assert only.box.bottom < 40.0


def test_ticks_are_round_and_few() -> None:
    for span in np.geomspace(0.3, 5000.0, 50):
        step = nice_step(float(span), most=5)
        assert span / step <= 5.0 + 1e-9
        assert float(f"{step:.0e}") == pytest.approx(step)
