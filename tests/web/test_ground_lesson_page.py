"""In Chromium: the ground lesson as an instructor uses it: by mouse, by keyboard, light, dark, on a phone."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect
from tests.web.browser import served, shot, sound

FIRST_MS = 120_000


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    with served(tmp_path_factory.mktemp("taught")) as url:
        yield f"{url}ground-lesson"


def ready(page, url):
    """Open a ground lesson and wait for its first pictures."""
    page.goto(url)
    page.locator('[data-figure="profiles"] svg').wait_for(timeout=FIRST_MS)


def until_moment(page, seconds):
    """Wait until the fly-through has come so far; the page's own policy allows no evaluated conditions."""
    for _ in range(200):
        if float(page.locator("[data-moment]").input_value()) > seconds:
            return
        page.wait_for_timeout(50)
    raise AssertionError("the fly-through stands still")


def number(page, name):
    said = page.locator(f'[data-name="{name}"]').inner_text()
    return float(re.sub(r"[^\d.−-]", "", said).replace("−", "-"))


def test_sliders_numbers_and_nose_path_stand_on_the_first_screen(page, address):
    ready(page, address)
    shot(page, "ground-lesson")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1024
    for selector in (
        "#set-mass_lb",
        "#set-nose_up_deg",
        "[data-entry]",
        '[data-figure="nose"] svg',
        ".margins",
    ):
        box = page.locator(selector).bounding_box()
        assert box["y"] + box["height"] <= 768, selector


def test_the_plan_follows_a_slider_by_keyboard(page, address):
    ready(page, address)
    before = page.locator('[data-figure="nose"]').inner_html()
    margin = number(page, "least_over_stall")
    slider = page.locator("#set-nose_up_deg")
    expect(slider).to_have_attribute("data-free", "")
    slider.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    expect(page.locator("[data-command]")).to_contain_text("--nose-up")
    asked = float(slider.input_value())
    expect(page.locator("[data-command]")).to_contain_text(f"--nose-up {asked:g}")
    assert page.locator('[data-figure="nose"]').inner_html() != before
    shaped = number(page, "least_over_stall")
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    expect(page.locator("[data-command]")).to_contain_text(f"--nose-up {asked + 3.0:g}")
    assert number(page, "least_over_stall") < shaped
    # The letter and arrow keys of the pictures leave a slider alone: the moment stays at the entry.
    assert page.locator("[data-moment]").input_value() == "0"
    page.get_by_role("button", name="As the plan finds it").click()
    expect(page.locator("[data-command]")).not_to_contain_text("--nose-up")
    assert number(page, "least_over_stall") == margin


def test_mass_and_density_altitude_move_entry_and_speed(page, address):
    ready(page, address)
    page.locator("#set-density_altitude_ft").fill("6000")
    expect(page.locator('[data-name="altitude_ft"]')).to_have_text("8,500")
    page.locator("#set-mass_lb").fill("1900")
    expect(page.locator("[data-command]")).to_contain_text("--mass 1900lb")
    assert number(page, "airspeed_kt") < 95.0
    assert "mass_lb=1900" in page.url


def test_what_cannot_be_flown_is_said_and_the_last_pictures_are_marked(page, address):
    ready(page, f"{address}?maneuver=steep_turn&airplane=two-seat-100")
    kept = page.locator('[data-figure="nose"]').inner_html()
    page.locator("#set-density_altitude_ft").fill("10000")
    expect(page.locator("#asked .refusal")).to_contain_text("full throttle does not hold")
    expect(page.locator("[data-stale]")).to_contain_text("the last one that can be flown")
    assert page.locator('[data-figure="nose"]').inner_html() == kept
    shot(page, "ground-lesson-refused")
    assert not sound(page)
    page.locator("#set-density_altitude_ft").fill("0")
    expect(page.locator("#asked .refusal")).to_be_hidden()
    expect(page.locator("[data-stale]")).to_be_hidden()
    assert page.locator('[data-figure="nose"]').inner_html() == kept


def test_points_are_stepped_through_with_their_words(page, address):
    ready(page, address)
    page.get_by_role("button", name="90°", exact=True).click()
    step = page.locator(".step:not([hidden])")
    expect(step).to_contain_text("30° of bank")
    expect(step).to_contain_text("aileron and rudder may be opposed")
    moment = float(page.locator("[data-moment]").input_value())
    assert moment > 10.0
    page.locator("h1").click()
    page.keyboard.press("PageDown")
    expect(step).to_contain_text("135° point")
    page.keyboard.press("Home")
    expect(step).to_contain_text("Entry")


def test_it_is_flown_through_and_a_slider_does_not_stop_it(page, address):
    ready(page, address)
    world = page.locator("g.seat-world")
    still = world.get_attribute("transform")
    page.get_by_role("button", name="×4").click()
    page.get_by_role("button", name="Play").click()
    until_moment(page, 1.0)
    assert world.get_attribute("transform") != still
    page.locator("#set-mass_lb").fill("2000")
    expect(page.locator("[data-command]")).to_contain_text("--mass 2000lb")
    then = float(page.locator("[data-moment]").input_value())
    until_moment(page, then + 1.0)
    expect(page.get_by_role("button", name="×4")).to_have_attribute("aria-pressed", "true")


def test_dragging_along_the_nose_path_moves_the_horizon(page, address):
    ready(page, address)
    box = page.locator('[data-figure="nose"] svg').bounding_box()
    page.mouse.move(box["x"] + 0.15 * box["width"], box["y"] + 0.5 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 0.2 * box["height"], steps=8)
    page.mouse.up()
    assert float(page.locator("[data-moment]").input_value()) > 5.0
    expect(page.locator("[data-readout]")).to_contain_text("bank into the turn")


def test_an_error_is_seen_over_the_plan_and_taken_away_again(page, address):
    ready(page, address)
    button = page.get_by_role("button", name="Rolled in three times as fast")
    button.click()
    expect(page.locator(".error-shown")).to_contain_text("against the plan")
    expect(button).to_have_attribute("aria-pressed", "true")
    expect(page.locator('[data-figure="nose"]')).to_contain_text("with the error")
    expect(page.locator("[data-summary]")).to_contain_text("Rolled in three times as fast.")
    shot(page, "ground-lesson-error")
    # The error follows the sliders as the plan does.
    said = page.locator(".error-shown").inner_text()
    page.locator("#set-density_altitude_ft").fill("7000")
    expect(page.locator(".error-shown")).not_to_have_text(said)
    page.get_by_role("button", name="The plan alone").click()
    expect(page.locator(".error-shown")).to_have_count(0)
    expect(button).to_be_focused()


def test_what_a_point_mass_cannot_show_has_no_button(page, address):
    ready(page, address)
    rows = page.locator(".error-list > li")
    told = rows.filter(has_text="Slipping or skidding")
    expect(told).to_have_count(1)
    expect(told.get_by_role("button")).to_have_count(0)
    expect(rows.filter(has_text="The nose falls through").get_by_role("button")).to_have_count(1)


def test_another_maneuver_is_picked(page, address):
    ready(page, address)
    page.locator("#set-density_altitude_ft").fill("4000")
    expect(page.locator("[data-command]")).to_contain_text("--elevation 4000")
    page.get_by_label("First turn").select_option("left")
    expect(page.locator("[data-command]")).to_contain_text("--side left")
    page.get_by_label("Maneuver").select_option("steep_turn")
    assert "steep_turn" not in page.url  # choosing alone takes nobody elsewhere (WCAG 3.2.2)
    page.get_by_role("button", name="Teach it").click()
    page.wait_for_url(re.compile("maneuver=steep_turn"))
    page.locator('[data-figure="profiles"] svg').wait_for(timeout=FIRST_MS)
    expect(page.locator("h1")).to_contain_text("Steep turn")
    expect(page.get_by_label("Steepest bank")).to_be_visible()
    expect(page.locator("[data-command]")).to_contain_text("--side left --elevation 4000")


@pytest.mark.parametrize("ground", ["paper", "slate"])
def test_axe_finds_nothing_serious(page, address, ground):
    page.emulate_media(color_scheme="dark" if ground == "slate" else "light")
    ready(page, f"{address}?maneuver=chandelle")
    for summary in page.locator("summary").all():
        summary.click()
    assert not sound(page)
    page.locator("[data-error]").first.click()
    page.locator(".error-shown").wait_for()
    assert not sound(page)
    shot(page, f"ground-lesson-{ground}")


def test_a_phone_reads_it_without_scrolling_sideways(page, address):
    page.set_viewport_size({"width": 390, "height": 844})
    ready(page, address)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    width = page.locator('[data-figure="nose"] svg').evaluate("svg => svg.viewBox.baseVal.width")
    assert width == 360
    assert not sound(page)
    shot(page, "ground-lesson-phone")
