"""A common set by the pages alone: made by the chief, marked by two instructors with keys, read in words."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import quote

import pytest
from playwright.sync_api import Page, expect
from tests.book.school import WHO
from tests.web.browser import served, shot, sound

from chalkwing.book import open_book, people
from chalkwing.book.adding import Entry, add
from chalkwing.book.common import choosing, making

CHIEF, OTHER, STUDENT = "Runa Vik", "Per Askell", "Mina Orlo"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory, recording: bytes) -> Path:
    """A desk whose book holds one lesson of two steep turns."""
    folder = tmp_path_factory.mktemp("common")
    file = folder / "steep turns.csv"
    file.write_bytes(recording)
    book = open_book(folder / "book")
    with book.writing() as session:
        people.enroll(session, CHIEF, roles=["instructor", "chief"], who=WHO)
        people.enroll(session, OTHER, roles=["instructor"], who=WHO)
        people.enroll(session, STUDENT, roles=["student"], who=WHO)
    add(book, [file], Entry(student=STUDENT, instructor=OTHER, flown_by="student"), who=WHO)
    book.close()
    return folder


def test_a_set_is_made_marked_by_keys_and_read(desk: Path, page: Page) -> None:
    with served(desk) as address:
        page.goto(f"{address}book")
        page.get_by_role("link", name="Common sets").click()
        page.get_by_label("Name of the set").fill("Spring meeting")
        page.get_by_label("How many").fill("2")
        assert not sound(page)
        page.get_by_role("button", name="Make it").click()
        page.get_by_role("link", name="Spring meeting").click(timeout=120_000)
        assert not sound(page)
        for name, keys in ((OTHER, "23"), (CHIEF, "33")):
            page.goto(f"{address}book/common/1/mark?as={quote(name)}")
            # Nothing of who flew, where, when or how it was judged is in what the server sends.
            text = page.content()
            for secret in (STUDENT, "steep turns.csv", "2026", "not met", "ring-", "±", "N</text>"):
                assert secret not in text, secret
            for place, key in enumerate(keys, start=1):
                expect(page.get_by_role("heading", level=1)).to_contain_text(f"{place} of 2")
                assert not sound(page)
                page.keyboard.press(key)
                with page.expect_navigation():
                    page.keyboard.press("ArrowRight")
            expect(page.get_by_role("heading", level=1)).to_contain_text("what it tells")
        expect(page.get_by_text("too few maneuvers")).to_be_visible()
        rows = page.get_by_role("row").filter(has_text="Steep turn")
        expect(rows.first).to_contain_text("met")
        # The two mixed orders may meet in different maneuvers; one stroke of each row is the reader's own.
        expect(rows.locator(".stroke")).to_have_count(4)
        expect(rows.locator(".stroke.own")).to_have_count(2)
        assert not sound(page)
        shot(page, "common-result")
        # The way back to a maneuver shows the mark that was given, and takes no other.
        page.goto(f"{address}book/common/1/mark?as={quote(CHIEF)}&at=1")
        expect(page.get_by_text("You marked it to standard")).to_be_visible()
        page.keyboard.press("ArrowRight")
        expect(page.get_by_role("heading", level=1)).to_contain_text("what it tells")


def test_nothing_measured_is_told_before_everything_is_marked(desk: Path, page: Page) -> None:
    with served(desk) as address:
        book = open_book(desk / "book")
        with book.writing() as session:
            people.enroll(session, "Eli Strand", roles=["instructor"], who=WHO)
        with book.reading() as session:
            chosen = choosing.candidates(book, session)
        number = making.make(book, chosen, name="Autumn meeting", who=CHIEF, seed=2).number
        book.close()
        page.goto(f"{address}book/common/{number}/result?as=Eli%20Strand")
        expect(page.get_by_text("2 of 2 maneuvers to mark")).to_be_visible()
        page.goto(f"{address}book/common/1/result?as={quote(OTHER)}&names=1")
        expect(page.get_by_text("only a chief reads names")).to_be_visible()


def test_the_pages_beside_common_sets_say_what_they_cannot_tell(desk: Path, page: Page) -> None:
    with served(desk) as address:
        page.goto(f"{address}book/common")
        page.get_by_role("link", name="Marks of every day").click()
        expect(page.get_by_text("it shows no leniency")).to_be_visible()
        assert not sound(page)
        page.goto(f"{address}book/marks?as={quote(OTHER)}&names=1")
        expect(page.get_by_text("only a chief reads names")).to_be_visible()
        page.goto(f"{address}book/airplanes/readings")
        expect(page.get_by_text("too few airplanes").first).to_be_visible()
        assert not sound(page)
        page.goto(f"{address}book/common?as={quote(OTHER)}")
        expect(page.get_by_text("Too few sets to tell a change")).to_be_visible()
        assert not sound(page)
