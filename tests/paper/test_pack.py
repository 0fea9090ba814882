"""The meeting pack: words first, a page for each maneuver most differed on, and no names unless asked."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.book.school import CHIEF, INSTRUCTOR, STUDENT, enroll_all
from tests.book.sets import OTHERS, a_set
from tests.paper.reading import read_pdf

from chalkwing.book import Book, open_book, people
from chalkwing.book.common import making, marking, results
from chalkwing.paper.pack import pack_pdf


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """A book with a set of ten maneuvers: all mark alike but for one instructor on three of them."""
    folder = tmp_path_factory.mktemp("pack")
    opened = open_book(folder / "book")
    enroll_all(opened)
    number = a_set(opened, folder)
    with opened.writing() as session:
        found = making.common_set(session, number)
        for name in (CHIEF, INSTRUCTOR, *OTHERS):
            one = people.person(session, name)
            for each in found.maneuvers:
                step = "far off" if name == INSTRUCTOR and each.place <= 3 else "to standard"
                marking.mark(session, found, each.place, instructor=one, step=step)
    yield opened
    opened.close()


def packed(book: Book, *, names: bool, paper: str = "a4", most: int = 6) -> bytes:
    with book.reading() as session:
        found = making.common_set(session, 1)
        reader = results.Reader(people.person(session, CHIEF), names=names)
        told = results.result(session, found, reader)
        shown = {each.place: each.shown for each in found.maneuvers}
    return pack_pdf(told, shown, paper=paper, most=most)


def pages_of(content: bytes) -> list[str]:
    return [page.extract_text() for page in read_pdf(content).pages]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_words_come_first_and_each_maneuver_most_differed_on_has_a_page(book: Book, paper: str) -> None:
    pages = pages_of(packed(book, names=False, paper=paper))
    assert len(pages) == 1 + 3
    assert "Disagreed on 3 of 10 maneuvers." in pages[0]
    assert "Krippendorff's alpha" in " ".join(pages[0].split())
    assert "far off" in pages[0]
    for place, text in enumerate(pages[1:], start=1):
        said = " ".join(text.split())
        assert said.startswith(f"{place} ")
        assert "What did those who said “to standard” see" in said
        assert "What we agreed" in said
        assert "training aid" in said


def test_there_are_no_names_unless_they_are_asked_for(book: Book) -> None:
    everybody = (CHIEF, INSTRUCTOR, *OTHERS, STUDENT)
    without, with_names = (" ".join(pages_of(packed(book, names=each))) for each in (False, True))
    assert not any(name in without for name in everybody)
    assert f"{INSTRUCTOR}: far off" in with_names
    assert STUDENT not in with_names


def test_the_same_result_gives_the_same_bytes_and_as_many_pages_as_asked_for(book: Book) -> None:
    assert packed(book, names=False) == packed(book, names=False)
    assert len(pages_of(packed(book, names=False, most=1))) == 2
    assert len(pages_of(packed(book, names=False, most=0))) == 1
