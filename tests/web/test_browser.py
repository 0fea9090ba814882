"""In Chromium: recordings handed in, a lesson looked at, corrected, labeled, noted and judged by a person.

Pictures of the pages are left in .screenshots, which is not kept in the repository.
"""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.browser import served, shot, sound

PATIENCE_MS = 240_000


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("served")) as url:
        yield url


def hand_in(page: Page, address: str, name: str, content: bytes) -> str:
    """Through the page, as a person does; the lesson's address."""
    page.goto(address)
    file = {"name": name, "mimeType": "text/csv", "buffer": content}
    page.set_input_files("#files", files=[file])
    page.get_by_role("button", name="Open the lesson").click()
    page.wait_for_url(re.compile(r"/lesson/[0-9a-f]{16}$"), timeout=PATIENCE_MS)
    return page.url


@pytest.fixture(scope="module")
def lesson(browser: Browser, address: str, recording: bytes) -> str:
    """The address of the generated lesson, handed in through the page."""
    context = browser.new_context()
    url = hand_in(context.new_page(), address, "steep turns.csv", recording)
    context.close()
    return url


def steep(page: Page) -> str:
    """The list's first steep turn, as a selector that outlives the list."""
    number = page.locator("#maneuvers > li[data-kind=steep_turn]").first.get_attribute("data-number")
    return f'#maneuvers > li[data-number="{number}"]'


def test_a_file_that_is_no_recording_is_told_on_the_page(page, address):
    page.goto(address)
    page.set_input_files("#files", files=[{"name": "a.txt", "mimeType": "text/plain", "buffer": b"hello"}])
    page.get_by_role("button", name="Open the lesson").click()
    expect(page.locator("#upload .refusal")).to_contain_text("a.txt", timeout=PATIENCE_MS)
    expect(page.get_by_role("button", name="Open the lesson")).to_be_enabled()
    page.reload()
    listed = page.locator(".lessons li", has_text="a.txt").first
    expect(listed.locator(".refusal")).to_contain_text("could not be worked out")
    shot(page, "refused-lesson")
    listed.get_by_role("link", name="Try again as it is").click()
    expect(page.locator("h1")).to_contain_text("That did not work", timeout=PATIENCE_MS)


def test_the_first_screen_holds_what_is_judged(page, lesson):
    page.goto(lesson)
    shot(page, "lesson")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1024
    for selector in (".decides", "#strip svg", "#maneuvers > li:nth-child(2) .line"):
        box = page.locator(selector).bounding_box()
        assert box["y"] + box["height"] <= 768, selector


def test_one_key_says_who_flew_and_one_undoes_it(page, lesson):
    page.goto(lesson)
    row = steep(page)
    page.locator(f"{row} .line-link").focus()
    page.keyboard.press("s")
    expect(page.locator(row)).to_have_attribute("data-flown-by", "student")
    expect(page.locator(".changes")).to_contain_text("Tomas Vell")
    assert page.evaluate("document.activeElement.className") == "line-link"
    page.keyboard.press("z")
    expect(page.locator(row)).to_have_attribute("data-flown-by", "unknown")


def test_letters_elsewhere_set_nothing(page, lesson):
    page.goto(lesson)
    page.locator("h1").click()
    page.keyboard.press("s")
    page.wait_for_timeout(300)
    expect(page.locator(steep(page))).to_have_attribute("data-flown-by", "unknown")


def test_an_end_dragged_on_the_strip_is_judged_at_once(page, lesson):
    page.goto(lesson)
    row = steep(page)
    page.locator(f"{row} .line-link").focus()
    before = float(page.locator(row).get_attribute("data-end"))
    box = page.get_by_role("slider", name=re.compile("^End of")).bounding_box()
    across, up = box["x"] + box["width"] / 2, box["y"] + box["height"] - 5
    page.mouse.move(across, up)
    page.mouse.down()
    page.mouse.move(across + 12, up, steps=4)
    page.mouse.up()
    expect(page.locator(row)).to_contain_text("found as Steep turn")
    assert float(page.locator(row).get_attribute("data-end")) > before + 1.0
    page.get_by_role("button", name=re.compile("^Undo change")).first.click()
    expect(page.locator(row)).not_to_contain_text("found as")


def test_ends_move_with_the_keyboard(page, lesson):
    page.goto(lesson)
    row = steep(page)
    page.locator(f"{row} .line-link").focus()
    before = float(page.locator(row).get_attribute("data-start"))
    start = page.get_by_role("slider", name=re.compile("^Start of"))
    start.focus()
    for _ in range(3):
        page.keyboard.press("ArrowLeft")
    page.keyboard.press("Enter")
    expect(page.locator(row)).to_contain_text("found as Steep turn")
    assert float(page.locator(row).get_attribute("data-start")) == pytest.approx(before - 3.0, abs=0.2)
    page.get_by_role("button", name=re.compile("^Undo change")).first.click()
    expect(page.locator(row)).not_to_contain_text("found as")


def test_times_are_typed_and_a_refusal_stays_in_the_dialog(page, lesson):
    page.goto(lesson)
    page.locator(f"{steep(page)} .line-link").focus()
    page.keyboard.press("c")
    page.get_by_role("textbox", name="End").fill("23:59:00")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#correct .refusal")).to_contain_text("outside the recording")
    shot(page, "correct")
    page.keyboard.press("Escape")
    expect(page.locator("#correct")).to_be_hidden()


def test_what_was_given_is_typed_and_judged_at_once(page, lesson):
    page.goto(lesson)
    row = steep(page)
    page.locator(f"{row} .line-link").focus()
    page.keyboard.press("g")
    form = page.locator("#given")
    form.get_by_label("Bank, °").fill("25")
    form.get_by_label("Why").fill("as briefed")
    form.get_by_role("button", name="Keep").click()
    page.get_by_text("Assigned: 25° of bank.").wait_for()
    page.locator(f"{row} .line-link").click()
    page.get_by_role("button", name="Given").click()
    assert form.get_by_label("Bank, °").input_value() == "25"
    page.keyboard.press("Escape")
    page.goto(lesson)
    page.locator(f"{row} .line-link").focus()
    page.keyboard.press("z")
    page.get_by_text("Assigned: 25° of bank.").wait_for(state="detached")


def test_a_note_with_a_clock_time_stands_at_its_moment(page, lesson):
    page.goto(lesson)
    row = steep(page)
    page.locator(f"{row} .line-link").focus()
    clock = re.search(r"\d\d:\d\d", page.locator(f"{row} .under").first.inner_text())[0]
    page.keyboard.press("n")
    page.get_by_label("Words").fill(f"{clock} more right rudder")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#maneuvers")).to_contain_text("more right rudder")


def test_a_verdict_of_ones_own_and_a_note_on_the_maneuver_page(page, lesson):
    page.goto(lesson)
    page.locator(f"{steep(page)} .line-link").click()
    page.wait_for_selector(".notes-written")
    shot(page, "maneuver")
    row = page.locator("tr[data-element]").first
    row.get_by_role("button").focus()
    page.keyboard.press("v")
    page.get_by_label("not met").check()
    page.get_by_role("textbox", name="Why").fill("I helped with the rudder")
    page.get_by_role("button", name="Keep").click()
    expect(row).to_contain_text("not met, says Tomas Vell: I helped with the rudder")
    page.get_by_role("button", name="Write a note on this moment").click()
    page.get_by_label("Words").fill("look farther ahead")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("[data-notes]")).to_contain_text("look farther ahead")


@pytest.mark.parametrize("ground", ["light", "dark"])
@pytest.mark.parametrize("where", ["all", "lesson", "maneuver"])
def test_axe_finds_nothing_serious(browser, address, lesson, where, ground):
    context = browser.new_context(viewport={"width": 1024, "height": 768}, color_scheme=ground)
    page = context.new_page()
    page.goto({"all": address, "lesson": lesson, "maneuver": f"{lesson}/maneuver/2"}[where])
    page.wait_for_load_state("networkidle")
    shot(page, f"{where}_{ground}")
    found = sound(page)
    context.close()
    assert not found, "\n".join(found)


@pytest.mark.parametrize("where", ["", "/maneuver/1"])
def test_printed_pages_hold_nothing_to_press(page, lesson, where):
    page.goto(lesson + where)
    expect(page.locator("button:visible").first).to_be_visible()
    page.emulate_media(media="print")
    expect(page.locator("header.site")).to_be_hidden()
    assert page.locator("button:visible:not([data-flown][aria-pressed='true'])").count() == 0
    assert page.locator("kbd:visible").count() == 0
    expect(page.locator("main svg").first).to_be_visible()


def test_a_phone_reads_without_scrolling_sideways(browser, lesson):
    context = browser.new_context(viewport={"width": 390, "height": 844}, device_scale_factor=2)
    page = context.new_page()
    for name, url in (("lesson", lesson), ("maneuver", f"{lesson}/maneuver/2")):
        page.goto(url)
        page.wait_for_load_state("networkidle")
        shot(page, f"{name}_phone")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, name
    context.close()


def test_a_real_recording_from_upload_to_print(page, address, shared_data):
    # The one full circle of this recording is found as a steep turn (tests/real says why it is one).
    content = gzip.decompress((shared_data / "panel" / "panel_b.csv.gz").read_bytes())
    url = hand_in(page, address, "panel.csv", content)
    shot(page, "real_lesson")
    row = steep(page)
    _follow_the_nose_path(page, row)
    page.goto(url)
    before = float(page.locator(row).get_attribute("data-end"))
    _correct_its_end(page, row)
    assert float(page.locator(row).get_attribute("data-end")) == pytest.approx(before + 2.0, abs=0.2)
    page.locator(f"{row} .line-link").focus()
    page.keyboard.press("s")
    expect(page.locator(row)).to_have_attribute("data-flown-by", "student")
    page.keyboard.press("n")
    page.get_by_label("Words").fill("look out before the roll-in")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#maneuvers")).to_contain_text("look out before the roll-in")
    printed = page.request.get(f"{url}/debrief.pdf?paper=letter").body()
    assert printed.startswith(b"%PDF")
    kept = page.request.get(f"{url}/debrief.json").json()
    turn = next(each for each in kept["maneuvers"] if each["kind"] == "steep_turn")
    assert turn["corrected"]
    assert turn["flown_by"] == "student"


def _follow_the_nose_path(page: Page, row: str) -> None:
    """Open the maneuver and drag along its nose path: the moment moves through all pictures."""
    page.locator(f"{row} .line-link").click()
    figure = page.locator('[data-figure="nose"] .for-wide svg')
    page.locator("g.hair").first.wait_for(state="attached")
    figure.scroll_into_view_if_needed()
    box = figure.bounding_box()
    moment = page.locator("[data-maneuver]")
    before = moment.get_attribute("data-moment")
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 0.5 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"], steps=6)
    page.mouse.up()
    expect(moment).not_to_have_attribute("data-moment", before or "")
    shot(page, "real_maneuver")


def _correct_its_end(page: Page, row: str) -> None:
    """Two seconds later, by keyboard."""
    page.locator(f"{row} .line-link").focus()
    page.get_by_role("slider", name=re.compile("^End of")).focus()
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator(row)).to_contain_text("found as Steep turn")


def test_attempts_lie_over_each_other_and_follow_the_keys(page, lesson):
    page.goto(lesson)
    page.locator(f"{steep(page)} .line-link").click()
    page.get_by_role("link", name="Beside another attempt").click()
    page.locator("input[name=attempt]:not(:checked)").first.check()
    page.get_by_role("button", name="Lay over each other").click()
    page.locator("g.hair").first.wait_for(state="attached")
    values = page.locator(".for-wide text.hair-value")
    expect(values.nth(1)).to_contain_text("other")
    before = values.nth(1).text_content()
    page.keyboard.press("PageDown")
    expect(values.nth(1)).not_to_have_text(before or "")
    assert sound(page) == []
    shot(page, "attempts over each other")


def test_a_log_of_unknown_headers_is_opened_by_a_column_map_typed_or_from_a_file(page, address, recording):
    rows = [line for line in recording.decode().splitlines() if line.startswith("2026")]
    names = ["Local date", "Local time", *(f"Q{k}" for k in range(rows[0].count(",") - 1))]
    log = "\n".join([",".join(names), *rows, ""]).encode()
    # The map of the bare track, which is soon worked out.
    mapped = (
        '[columns]\nlatitude = "Q0"\nlongitude = "Q1"\ngeometric_altitude = {column = "Q2", unit = "ft"}\n'
    )

    page.goto(address)
    page.set_input_files("#files", files=[{"name": "own.csv", "mimeType": "text/csv", "buffer": log}])
    typed, file = page.get_by_label("What the columns hold"), page.get_by_label("File of the column map")
    choice = page.locator('select[name="columns"]')
    expect(typed).to_be_hidden()
    choice.select_option("file")
    expect(file).to_be_visible()
    page.get_by_role("button", name="Open the lesson").click()
    expect(page.locator("#upload .refusal")).to_contain_text("no column map was chosen")
    broken = {"name": "ours.toml", "mimeType": "text/plain", "buffer": b"[columns"}
    file.set_input_files(files=[broken])
    page.get_by_role("button", name="Open the lesson").click()
    expect(page.locator("#upload .refusal")).to_contain_text("ours.toml", timeout=PATIENCE_MS)

    choice.select_option("text")
    expect(file).to_be_hidden()
    page.get_by_label("Zone of local times").fill("+02:00")
    typed.fill(mapped)
    shot(page, "column-map")
    page.get_by_role("button", name="Open the lesson").click()
    page.wait_for_url(re.compile(r"/lesson/[0-9a-f]{16}$"), timeout=PATIENCE_MS)
    expect(page.locator("main")).to_contain_text("12:05")
    page.goto(address)
    expect(page.locator(".lessons li").first).to_contain_text("read with a column map")
