"""Attempts laid over each other: the same numbers as on their own pages, and nothing that does not belong."""

from __future__ import annotations

import re

import numpy as np
import pytest
from tests.paper.reading import read_pdf, text_of
from tests.web.test_lessons import debrief, turns

from chalkwing.drawing.comparing import Compared
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson
from chalkwing.trunk import debriefed
from chalkwing.views import views_of
from chalkwing.views.comparing import Attempt, element_lines, laid_over


def asked(desk, lesson: str, *numbers: int) -> str:
    return "&".join(f"attempt={lesson.rsplit('/', 1)[1]}:{number}" for number in numbers)


def test_its_numbers_are_those_of_the_debrief(desk, lesson):
    numbers = [number for number, _ in turns(desk, lesson)]
    told = desk.client.get(f"/compare.json?{asked(desk, lesson, *numbers)}").json()
    assert [each["maneuver"] for each in told["attempts"]] == [turn for _, turn in turns(desk, lesson)]
    page = desk.page(f"/compare?{asked(desk, lesson, *numbers)}").text
    for number, turn in turns(desk, lesson):
        own = desk.page(f"{lesson}/maneuver/{number}").text
        shown = re.findall(r'<td class="number">([^<]+?)[ <]', own)
        assert len(shown) >= sum(each["verdict"] is not None for each in turn["elements"])
        assert all(value.strip() in page for value in shown[:4])


def test_left_lies_mirrored_on_right_and_the_page_says_so(desk, lesson):
    numbers = [number for number, _ in turns(desk, lesson)]
    assert {turn["direction"] for _, turn in turns(desk, lesson)} == {"left", "right"}
    assert "mirrored" in desk.page(f"/compare?{asked(desk, lesson, *numbers)}").text


def test_one_attempt_asks_which_others(desk, lesson):
    number = turns(desk, lesson)[0][0]
    page = desk.page(f"/compare?{asked(desk, lesson, number)}").text
    assert page.count('name="attempt"') == 2
    assert "data-flown" not in page
    assert desk.page("/compare?kind=lazy_eight").status_code == 200


def test_chosen_attempts_become_an_address(desk, lesson):
    numbers = [number for number, _ in turns(desk, lesson)]
    chosen = [each.removeprefix("attempt=") for each in asked(desk, lesson, *numbers).split("&")]
    answer = desk.post("/compare", {"by": "Tomas Vell", "attempt": chosen})
    assert answer.json() == {"url": f"/compare?{asked(desk, lesson, *numbers)}"}
    assert desk.post("/compare", {"by": "Tomas Vell", "attempt": chosen[:1]}).status_code == 422


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("", "nothing says which maneuver"),
        ("kind=nothing", "nothing says which maneuver"),
        ("attempt=../../etc:1", "names no attempt"),
        ("attempt=0123456789abcdef:1", "no such lesson"),
        ("&".join(f"attempt=0123456789abcdef:{k}" for k in range(1, 9)), "too many"),
    ],
)
def test_what_cannot_be_laid_over_is_refused(desk, query, said):
    answer = desk.page(f"/compare?{query}")
    assert answer.status_code in (400, 404)
    assert said in answer.text


def test_different_maneuvers_do_not_lie_over_each_other(desk, lesson):
    kinds = [each["kind"] for each in debrief(desk, lesson)["maneuvers"]]
    other = next(k for k, kind in enumerate(kinds, start=1) if kind != "steep_turn")
    answer = desk.page(f"/compare?{asked(desk, lesson, turns(desk, lesson)[0][0], other)}")
    assert answer.status_code == 400
    assert "different maneuvers" in answer.text


@pytest.fixture(scope="module")
def attempts(tmp_path_factory) -> list[Attempt]:
    """The two steep turns of the built-in lesson, right and left."""
    path = tmp_path_factory.mktemp("comparing") / "lesson.csv"
    path.write_text(record(fly_lesson(0), "avionics", seed=0)[1], encoding="utf-8")
    found = views_of(debriefed(path))
    turned = [view for view in found if view.report.kind == "steep_turn"]
    return [Attempt(view.directions[0], view) for view in turned]


def test_a_mirrored_path_keeps_its_lengths_and_begins_along_the_other(attempts):
    # A rotation and a mirror change no length; both then leave the entry straight up the page.
    for attempt, traces in zip(attempts, laid_over(attempts), strict=True):
        before, after = attempt.view.flown[0].values, traces[0].values
        for frame in ("ground", "air"):
            steps = [
                np.hypot(np.diff(each[f"{frame}_north_ft"]), np.diff(each[f"{frame}_east_ft"]))
                for each in (before, after)
            ]
            np.testing.assert_allclose(steps[0], steps[1], rtol=1e-9, atol=1e-6)
        early = int(np.searchsorted(traces[0].time_s, traces[0].time_s[0] + 4.0))
        assert after["air_north_ft"][early] > 3.0 * abs(after["air_east_ft"][early])
        quarter = int(np.argmin(np.abs(traces[0].heading_change_deg - 90.0)))
        assert after["air_east_ft"][quarter] > 0.0, "every turn goes to the right of the page"


def test_every_element_of_every_attempt_has_its_cell(attempts):
    lines = element_lines(attempts)
    for k, attempt in enumerate(attempts):
        judged = [each for each in attempt.view.report.elements if each.verdict is not None]
        cells = [line.cells[k] for line in lines if line.cells[k] is not None]
        assert sorted(cell.id for cell in cells) == sorted(each.id for each in judged)
        assert [cell.verdict for cell in cells] == [
            next(each.verdict for each in judged if (each.id, each.half) == (cell.id, cell.half))
            for cell in cells
        ]


def test_small_pictures_share_their_scale(attempts):
    compared = Compared.of([*attempts, attempts[0]])
    drawn = [compared.profiles((340.0, 300.0), ON_PAGE, only=k) for k in range(3)]
    scales = [re.findall(r'data-y-(?:low|high)="([^"]+)"', svg) for svg in drawn]
    assert scales[0] == scales[1] == scales[2]
    assert len(scales[0]) == 2 * len(compared.panels)


@pytest.mark.parametrize(("paper", "width"), [("a4", 595.3), ("letter", 612.0)])
def test_the_page_is_printed_with_the_same_numbers(desk, lesson, paper, width):
    numbers = [number for number, _ in turns(desk, lesson)]
    address = f"/compare.pdf?{asked(desk, lesson, *numbers)}&paper={paper}"
    page = desk.page(f"/compare?{asked(desk, lesson, *numbers)}").text
    assert address.replace("&", "&amp;") in page
    answer = desk.client.get(address)
    assert answer.headers["content-type"] == "application/pdf"
    assert float(read_pdf(answer.content).pages[0].mediabox.width) == pytest.approx(width, abs=0.5)
    text = text_of(answer.content)
    for line in element_lines([Attempt("", view) for view in _views(desk, lesson, numbers)]):
        for cell in line.cells:
            assert cell is None or cell.value in text
    assert desk.client.get(address).content == answer.content


def _views(desk, lesson, numbers):
    shelf = desk.client.app.state.desk
    told = shelf.told(shelf.shelf.lesson(lesson.rsplit("/", 1)[1]))
    return [told.views[number - 1] for number in numbers]


def test_a_print_of_one_attempt_or_on_other_paper_is_refused(desk, lesson):
    number = turns(desk, lesson)[0][0]
    assert desk.client.get(f"/compare.pdf?{asked(desk, lesson, number)}").status_code == 400
    assert desk.client.get(f"/compare.pdf?{asked(desk, lesson, number)}&paper=a3").status_code == 404
