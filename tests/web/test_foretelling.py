"""The chance on the next try beside the pages: none waits for it, and each shows what there is."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from tests.book.school import STUDENT, WHO, add_lesson, enroll_all
from tests.web.conftest import ADDRESS, some_assets

from chalkwing.book import Book, lessons, open_book, people
from chalkwing.book.progress.chance import chances
from chalkwing.errors import UnfinishedWork
from chalkwing.web.app import create_app
from chalkwing.web.cache import Cache
from chalkwing.web.foretelling import Foretelling, Standing, foretell
from chalkwing.web.settings import Settings

PATIENCE = 120.0


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    opened = open_book(tmp_path / "book")
    enroll_all(opened)
    for day in range(3):
        add_lesson(opened, tmp_path, f"lesson {day}")
    yield opened
    opened.close()


class Held:
    """Stands for the process: does the work itself, but only once it is let."""

    def __init__(self) -> None:
        self.let, self.asked = threading.Event(), list[int]()
        self.fails = False

    def run(self, task: Callable[..., Any], *arguments: Any, tell: Callable[..., None]) -> Any:
        self.asked.append(arguments[-1])
        assert self.let.wait(PATIENCE)
        if self.fails:
            raise UnfinishedWork("the work stopped before it was done.")
        return task(*arguments, tell=tell)


@pytest.fixture
def held() -> Iterator[Held]:
    found = Held()
    yield found
    found.let.set()


@pytest.fixture
def foretold(book: Book, held: Held, tmp_path: Path) -> Iterator[Foretelling]:
    cache = Cache(tmp_path / "cache", most_bytes=1 << 20)
    found = Foretelling(book, held.run, cache, where=tmp_path / "book", files=None)
    yield found
    found.close()


def of(book: Book, foretold: Foretelling, student: int = 1) -> Standing:
    with book.reading() as session:
        return foretold.of(session, student)


def settled(book: Book, foretold: Foretelling, student: int = 1) -> Standing:
    end = time.monotonic() + PATIENCE
    while (found := of(book, foretold, student)).awaited:
        assert time.monotonic() < end
        time.sleep(0.02)
    return found


def test_what_there_is_is_told_at_once_and_what_is_worked_out_says_the_same_as_the_command(
    book: Book, foretold: Foretelling, held: Held
) -> None:
    assert of(book, foretold) == Standing()  # the process is held: whoever waited for it would hang here
    held.let.set()
    found = settled(book, foretold)
    with book.reading() as session:
        assert found.chances == tuple(chances(session, people.person(session, STUDENT)))
    assert found.chances
    assert found.chances[0].tries == 6


def test_after_a_new_lesson_the_last_ones_stand_until_they_are_worked_out_anew(
    book: Book, foretold: Foretelling, held: Held, tmp_path: Path
) -> None:
    held.let.set()
    before = settled(book, foretold)
    held.let.clear()
    with book.writing() as session:
        lessons.note(session, lessons.lesson(session, 1), "less rudder", who=WHO)
    assert of(book, foretold) == before  # a note leaves tries as they were
    add_lesson(book, tmp_path, "a fourth")
    meanwhile = of(book, foretold)
    assert (meanwhile.chances, meanwhile.current) == (before.chances, False)
    held.let.set()
    after = settled(book, foretold)
    assert after.chances
    assert after.chances[0].tries == 8


def test_a_restart_finds_what_was_worked_out_and_another_book_does_not(
    book: Book, foretold: Foretelling, held: Held, tmp_path: Path
) -> None:
    held.let.set()
    before = settled(book, foretold)
    cache = Cache(tmp_path / "cache", most_bytes=1 << 20)
    again = Foretelling(book, held.run, cache, where=tmp_path / "book", files=None)
    assert of(book, again) == before
    other = open_book(tmp_path / "other")
    with other.writing() as session:
        people.enroll(session, "Ola Brekk", roles=["student"], who=WHO)
    enroll_all(other)
    add_lesson(other, tmp_path, "elsewhere", student="Ola Brekk")
    held.let.clear()
    elsewhere = Foretelling(other, held.run, cache, where=tmp_path / "other", files=None)
    assert of(other, elsewhere) == Standing()
    other.close()


def test_who_is_looked_at_comes_before_who_is_not(book: Book, foretold: Foretelling, held: Held) -> None:
    of(book, foretold, 1)
    while not held.asked:
        time.sleep(0.01)
    foretold._ask(3, first=False)
    foretold._ask(4, first=False)
    foretold._ask(2)
    foretold._ask(3)
    held.let.set()
    end = time.monotonic() + PATIENCE
    while len(held.asked) < 4 and time.monotonic() < end:
        time.sleep(0.01)
    assert held.asked == [1, 3, 2, 4]


def test_what_fails_is_said_and_tried_again_later(
    book: Book, foretold: Foretelling, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    held.let.set()
    held.fails = True
    failed = settled(book, foretold)
    assert failed.refusal == "the work stopped before it was done."
    held.fails = False
    monkeypatch.setattr("chalkwing.web.foretelling._AGAIN", 0.0)
    assert settled(book, foretold).current


def test_an_empty_book_has_nothing_to_wait_for(tmp_path: Path, held: Held) -> None:
    empty = open_book(tmp_path / "empty")
    found = Foretelling(empty, held.run, Cache(tmp_path / "c", most_bytes=1), where="", files=None)
    assert of(empty, found) == Standing((), current=True)
    assert not held.asked
    empty.close()


def test_the_page_says_what_is_being_worked_out_and_then_shows_it(book: Book, tmp_path: Path) -> None:
    # The real process, behind the real page.
    (tmp_path / "assets").mkdir()
    settings = Settings(folder=tmp_path / "desk", book=tmp_path / "book")
    app = create_app(settings, assets=some_assets(tmp_path / "assets"))
    with TestClient(app, base_url=ADDRESS) as client:
        first = client.get("/student/1").text
        assert "being worked out" in first
        assert 'data-awaits="/student/1/chance"' in first
        assert '<a href="/student/1">Look again</a>' in first  # without a script
        end = time.monotonic() + PATIENCE
        while not (told := client.get("/student/1/chance").json())["current"]:
            assert time.monotonic() < end, told
            time.sleep(0.2)
        assert told["chances"][0]["tries"] == 6
        then = client.get("/student/1").text
        assert "being worked out" not in then
        assert "data-awaits" not in then
        assert "3 of 6 tries met every element measured" in then
        add_lesson(book, tmp_path, "a fourth")
        later = client.get("/student/1").text
        assert "from 6 tries; something was entered since" in later


def test_the_task_itself_tells_the_seal_that_it_is_as_of(book: Book, tmp_path: Path) -> None:
    told = foretell(tmp_path / "book", None, 1, tell=lambda what, done: None)
    add_lesson(book, tmp_path, "a fourth")
    again = foretell(tmp_path / "book", None, 1, tell=lambda what, done: None)
    assert told["seal"] != again["seal"]
    assert [each["tries"] for each in (told["chances"][0], again["chances"][0])] == [6, 8]
