"""The book's pages in a real browser, with several lessons: by axe on paper and slate, and on a phone.

Pictures of the pages are left in .screenshots, which is not kept in the repository.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.book.school import AIRPLANE, CHIEF, INSTRUCTOR, OTHER, STUDENT, WHO, document, enroll_all, maneuver
from tests.book.school import recording as a_file
from tests.web.browser import served, shot, sound

from chalkwing.book import Book, adding, lessons, open_book, people, sealing
from chalkwing.book.adding import Entry
from chalkwing.book.course import PLAIN, course_in_force, enter_course, read_course

ALTITUDES = (180.0, 150.0, -130.0, 60.0, 90.0, -40.0, 30.0, -70.0)
"""Height at the end of eight lazy eights [ft]: missed at first, met later."""

PAGES = {
    "school": "book",
    "people": "book/people",
    "person": "book/people/1",
    "airplanes": "book/airplanes",
    "course": "book/course",
    "outline": "book/course/new",
    "lessons": "book/lessons",
    "record": "record/1",
    "signed": "record/2",
    "student": "student/1",
    "nobody": "student/2",
    "handover": "student/1/handover",
}


def judge(_paths: object, *, altitude: float, **_settings: object) -> dict[str, object]:
    return document(maneuver(100.0, altitude), maneuver(300.0, altitude - 25.0))


def fill(book: Book, folder: Path) -> None:
    """A course in force, eight lessons of one student, one of them signed, and one student who ended."""
    enroll_all(book)
    with book.writing() as session:
        enter_course(session, read_course(PLAIN), who=WHO)
        people.leave(session, people.person(session, OTHER), how="moved", when=None, who=WHO)
    for k, altitude in enumerate(ALTITUDES):
        file = a_file(folder, f"{k}.csv", f"time,altitude\n0,{k}\n")
        entry = Entry(student=STUDENT, instructor=INSTRUCTOR, airplane=AIRPLANE, unit="performance-2",
                      flown_by="student" if k else "unknown")  # fmt: skip
        adding.add(book, [file], entry, who=WHO, judge=partial(judge, altitude=altitude))
    with book.writing() as session:
        course = course_in_force(session)
        assert course is not None
        first, second = lessons.lesson(session, 1), lessons.lesson(session, 2)
        chief = people.person(session, CHIEF)
        lessons.mark(session, first, 1, instructor=chief, scale=course.scale, step="helped")
        lessons.note(session, first, "Look farther ahead along the wing.", who=CHIEF)
        sealing.sign(session, second, chief)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("school")
    book = open_book(folder / "book")
    fill(book, folder)
    book.close()
    with served(folder) as url:
        yield url


@pytest.mark.parametrize("ground", ["light", "dark"])
def test_axe_finds_nothing_serious_on_any_page_of_the_book(
    browser: Browser, address: str, ground: str
) -> None:
    context = browser.new_context(viewport={"width": 1024, "height": 768}, color_scheme=ground)
    page = context.new_page()
    wrong = []
    for name, url in PAGES.items():
        answer = page.goto(address + url)
        assert answer is not None
        assert answer.status == 200, name
        for each in page.locator("main details").all():
            each.evaluate("found => { found.open = true; }")
        shot(page, f"book_{name}_{ground}")
        wrong += [f"{name}: {each}" for each in sound(page)]
        if page.evaluate("document.documentElement.scrollWidth") > 1024:
            wrong.append(f"{name} is broader than its window")
    context.close()
    assert not wrong, "\n".join(wrong)


def test_a_phone_reads_every_page_without_scrolling_sideways(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, device_scale_factor=2)
    page = context.new_page()
    broad = []
    for name, url in PAGES.items():
        page.goto(address + url)
        shot(page, f"book_{name}_phone")
        if page.evaluate("document.documentElement.scrollWidth") > 390:
            broad.append(name)
    context.close()
    assert not broad


def test_the_first_screen_of_the_school_names_its_students(page: Page, address: str) -> None:
    page.goto(f"{address}book")
    box = page.get_by_role("rowheader", name=STUDENT).first.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 768


def test_a_handover_prints_on_half_a_page(page: Page, address: str) -> None:
    page.goto(f"{address}student/1/handover")
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 680, "height": 500})  # A4 within margins of 15 mm, at 96 dpi
    box = page.locator(".handover").bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 0.5 * 267 / 25.4 * 96
    expect(page.locator("header.site")).to_be_hidden()


def test_an_outline_is_chosen_looked_at_and_put_in_force_by_keys_alone(
    page: Page, address: str, tmp_path: Path
) -> None:
    text = PLAIN.read_text(encoding="utf-8").replace("plain course", "our course")
    wrong, right = tmp_path / "wrong.toml", tmp_path / "ours.toml"
    wrong.write_text(text.replace('kind = "chandelle"', 'kind = "chandele"'), encoding="utf-8")
    right.write_text(text, encoding="utf-8")
    page.goto(f"{address}book/course")
    page.get_by_role("link", name="Enter an outline").focus()
    page.keyboard.press("Enter")
    for file in (wrong, right):
        page.get_by_label("From a file").set_input_files(file)
        check = page.get_by_role("button", name="Look for faults")
        check.focus()
        page.keyboard.press("Enter")
        if file == wrong:
            expect(page.get_by_role("alert")).to_contain_text("chandele")
            shot(page, "book_outline_faults")
            assert not sound(page)
    expect(page.locator("form [role=status]")).to_contain_text("No fault found")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Performance maneuvers, our course")


def test_an_end_is_noted_and_taken_back_by_keys_alone(page: Page, address: str) -> None:
    page.goto(f"{address}book/people")
    page.get_by_role("link", name=STUDENT).focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Note it").focus()
    page.keyboard.press("Enter")
    back = page.get_by_role("button", name="Back in training")
    expect(back).to_be_visible()
    back.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Note it")).to_be_visible()
