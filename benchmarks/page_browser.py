"""What a person feels of the pages in headless Chromium: click to use, frames while dragging, slider to plan.

Run by ``python -m benchmarks.page_speed``; the ground lesson alone by ``python -m benchmarks.page_browser``.
"""

from __future__ import annotations

import itertools
import statistics
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright
from tests.web.browser import chromium, served

from chalkwing.briefing import briefable

RUNS, MOVES = 9, 12
KINDS = briefable()
_FIRST_MS = 120_000

_CLICKED = """
addEventListener("click", () => sessionStorage.setItem("clicked", String(Date.now())), true);
const seen = new MutationObserver(() => {
  if (!document.querySelector("#maneuvers > li.chosen") || window.useable !== undefined) return;
  window.useable = 0;
  requestAnimationFrame(() => setTimeout(() => {
    window.useable = Date.now() - Number(sessionStorage.getItem("clicked"));
  }));
});
seen.observe(document, { subtree: true, childList: true, attributes: true });
"""
"""Useable: the script has chosen the list's first maneuver, keys and strip work, and a frame is drawn."""

_FRAMES = """
() => {
  window.frames_at = [];
  const step = (now) => { window.frames_at.push(now); window.frames_going = requestAnimationFrame(step); };
  window.frames_going = requestAnimationFrame(step);
}
"""


def told(name: str, values: Sequence[float], unit: str) -> None:
    """A line with median and worst."""
    print(f"{name}: median {statistics.median(values):.0f} {unit}, longest {max(values):.0f} {unit}")


@contextmanager
def browsing() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        yield browser
        browser.close()


def measure_lesson(browser: Browser, address: str, lesson: str, number: int) -> None:
    """From the click on a lesson's link to its use, and frames a second while dragging along a maneuver."""
    page = browser.new_page(viewport={"width": 1024, "height": 768})
    page.add_init_script(_CLICKED)
    taken = []
    for _ in range(RUNS):
        page.goto(address)
        page.locator(f'a[href="{lesson}"]').click()
        page.locator("#maneuvers > li.chosen").wait_for()
        taken.append(_useable(page))
    told("lesson page, from the click to its use in the browser", taken, "ms")
    page.close()
    page = browser.new_page(viewport={"width": 1024, "height": 768})
    page.goto(f"{address.rstrip('/')}{lesson}/maneuver/{number}")
    page.locator("g.hair").first.wait_for()
    for figure in ("nose", "profiles"):
        if page.locator(f'[data-figure="{figure}"] svg:visible').count():
            rates = [1000.0 / frame for frame in _dragged(page, figure)]
            print(
                f"dragging along the {figure}: median {statistics.median(rates):.0f} frames/s, "
                f"one in twenty below {sorted(rates)[len(rates) // 20]:.0f}"
            )
    page.close()


def _useable(page: Page) -> float:
    for _ in range(400):
        found = page.evaluate("window.useable")
        if found:
            return float(found)
        page.wait_for_timeout(5)
    raise SystemExit("the lesson page never became useable")


def _dragged(page: Page, figure: str) -> list[float]:
    """Milliseconds from frame to frame while the pointer goes along a picture and back."""
    box = page.locator(f'[data-figure="{figure}"] svg:visible').first.bounding_box()
    assert box
    y = box["y"] + 0.45 * box["height"]
    left, right = box["x"] + 0.15 * box["width"], box["x"] + 0.9 * box["width"]
    page.mouse.move(left, y)
    page.mouse.down()
    page.evaluate(_FRAMES)
    for end in (right, left, right, left):
        page.mouse.move(end, y, steps=120)
    stamps = page.evaluate("() => { cancelAnimationFrame(window.frames_going); return window.frames_at; }")
    page.mouse.up()
    return [after - before for before, after in itertools.pairwise(stamps[1:])]


def measure_ground_lesson(browser: Browser, address: str) -> None:
    """From a slider's movement until the new pictures are drawn, by maneuver; with an error shown too."""
    page = browser.new_page(viewport={"width": 1024, "height": 768})
    start = time.perf_counter()
    _open(page, address, KINDS[0])
    print(f"ground lesson, first pictures with nothing loaded: {time.perf_counter() - start:.1f} s")
    for kind in KINDS:
        _open(page, address, kind)
        told(f"ground lesson, slider to pictures, {kind}", _moved(page), "ms")
    _open(page, address, KINDS[0])
    page.locator("[data-error]").first.click()
    page.locator(".error-shown").wait_for()
    told("ground lesson, slider to pictures, lazy_eight with an error flown", _moved(page), "ms")
    page.close()


def _open(page: Page, address: str, kind: str) -> None:
    page.goto(f"{address}ground-lesson?maneuver={kind}&airplane=four-seat-160&density_altitude_ft=3000")
    page.locator('[data-figure="profiles"] svg').wait_for(timeout=_FIRST_MS)


def _moved(page: Page) -> list[float]:
    """Each slider moved a step at a time, the next after the last one's pictures stand."""
    taken: list[float] = []
    for slider in page.locator("#asked input[type=range]").all():
        slider.focus()
        for step in range(MOVES):
            page.evaluate("performance.clearMeasures()")
            page.keyboard.press("ArrowLeft" if step < MOVES // 2 else "ArrowRight")
            taken += _measured(page)
    return taken


def _measured(page: Page) -> list[float]:
    for _ in range(300):
        found = page.evaluate("performance.getEntriesByName('plan').map((each) => each.duration)")
        if found:
            return [float(each) for each in found]
        if page.locator("#asked .refusal").is_visible():
            return []
        page.wait_for_timeout(5)
    return []


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, served(Path(folder)) as address, browsing() as browser:
        measure_ground_lesson(browser, address)


if __name__ == "__main__":
    main()
