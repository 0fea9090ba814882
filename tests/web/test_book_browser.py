"""The pages of the book in a real browser: enter people, enter a lesson, read the record and the student."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect
from tests.web.browser import served, shot, sound


def test_a_lesson_goes_into_the_book_by_the_pages_alone(page: Page, tmp_path: Path, recording: bytes) -> None:
    file = tmp_path / "steep turns.csv"
    file.write_bytes(recording)
    with served(tmp_path / "desk") as address:
        page.goto(f"{address}book/people")
        for name, roles in (("Ola Brekk", ["student"]), ("Runa Tveit", ["instructor", "chief"])):
            page.locator("main").get_by_label("Name", exact=True).fill(name)
            for role in roles:
                page.get_by_role("checkbox", name=role).check()
            page.get_by_label("Certificate number").fill("C-417" if "chief" in roles else "")
            page.get_by_role("button", name="Enter").click()
            expect(page.get_by_role("rowheader", name=name)).to_be_visible()
        assert not sound(page)
        shot(page, "book-people")
        page.goto(address)
        page.locator("#files").set_input_files(file)
        page.get_by_role("button", name="Open the lesson").click()
        page.wait_for_selector("#maneuvers", timeout=120_000)
        page.get_by_role("link", name="Enter it in the book").click()
        page.locator("[name=student]").select_option("Ola Brekk")
        page.locator("[name=instructor]").select_option("Runa Tveit")
        page.locator("[name=flown_by]").select_option("student")
        assert not sound(page)
        page.get_by_role("button", name="Enter it").click()
        expect(page.get_by_role("heading", level=1)).to_contain_text("Lesson 1: Ola Brekk", timeout=60_000)
        page.get_by_text("Mark it").first.click()
        page.get_by_role("button", name="Keep").first.click()
        expect(page.get_by_text("Marked shown").first).to_be_visible()
        page.get_by_role("button", name="Sign").click()
        expect(page.get_by_text("version 1, signed")).to_be_visible()
        assert not sound(page)
        shot(page, "book-record")
        page.get_by_role("link", name="Ola Brekk").click()
        expect(page.locator(".pictures svg").first).to_be_visible()
        assert not sound(page)
        # The chance is worked out beside the page, which puts it in its place once it is there.
        expect(page.locator("[data-told]").first).to_contain_text("too few tries", timeout=60_000)
        assert not sound(page)
        shot(page, "book-student")
        for name, url in (("school", "book"), ("course", "book/course"), ("lessons", "book/lessons")):
            page.goto(address + url)
            assert not sound(page), url
            shot(page, f"book-{name}")
        page.goto(f"{address}student/1/handover")
        assert not sound(page)
        shot(page, "book-handover")
