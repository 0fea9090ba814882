"""The invented school: every lesson in it came out of a recording, and the book that holds it is sound."""

from __future__ import annotations

import json
import zlib

import pytest
from click.testing import CliRunner

from chalkwing.book import Book, lessons, open_book, people, sealing
from chalkwing.book.common.making import common_set
from chalkwing.book.common.results import Reader, result
from chalkwing.book.invented import CHIEF, INSTRUCTOR, OTHERS, STUDENTS, build_school
from chalkwing.book.judgings import unpacked
from chalkwing.book.tables import Lesson, Mark
from chalkwing.cli import demo_school, main


@pytest.fixture(scope="module")
def school(tmp_path_factory) -> Book:
    """Two lessons of each student."""
    folder = tmp_path_factory.mktemp("school")
    book = open_book(folder / "book", create=True)
    (folder / "recordings").mkdir()
    assert build_school(book, folder / "recordings", lessons_each=2) == 2 * len(STUDENTS)
    return book


def test_every_maneuver_comes_from_a_recording_that_is_kept(school):
    with school.reading() as session:
        for lesson in session.query(Lesson):
            document = unpacked(lessons.in_force(lesson))
            assert len(document["maneuvers"]) >= 2
            assert document["recordings"][0]["rows"] > 150
            assert all(school.vault.holds(each.sha256) for each in lesson.recordings)
            first = document["recordings"][0]["start_utc"]
            assert lesson.flown is not None
            assert first.startswith(f"{lesson.flown:%Y-%m-%d}")


def test_the_book_is_sound_and_its_newest_lessons_wait_for_a_signature(school):
    assert list(sealing.faults(school)) == []
    with school.reading() as session:
        signed = [lessons.signed(each) for each in session.query(Lesson).order_by(Lesson.flown)]
    assert signed[-1] is False
    assert sum(signed) >= len(signed) - 4


def test_both_instructors_mark_and_the_student_s_own_attempts_alone_count(school):
    with school.reading() as session:
        marked = {mark.instructor.name for mark in session.query(Mark)}
        assert marked == {CHIEF, INSTRUCTOR}
        one = people.person(session, STUDENTS[0].name)
        own = session.query(Lesson).filter(Lesson.student_id == one.id)
        flown = {each.flown_by for lesson in own for each in lessons.in_force(lesson).maneuvers}
    assert flown == {"student", "instructor"}


def test_five_instructors_marked_a_common_set_each_on_their_own(school):
    with school.reading() as session:
        found = common_set(session, 1)
        assert found.closed is not None
        assert all(json.loads(zlib.decompress(each.shown)) for each in found.maneuvers)
        told = result(session, found, Reader(people.person(session, CHIEF), names=True))
    assert told.finished == 2 + len(OTHERS)
    assert told.agreement.alpha is not None
    assert 0.2 < told.agreement.alpha < 1.0  # they agree, and not in everything
    above = {each.instructor: each.above for each in told.leniency}
    assert above[INSTRUCTOR] == max(above.values())


def test_the_command_ends_by_itself_where_nobody_watches(monkeypatch, tmp_path):
    from chalkwing.book import invented

    def small(book, folder, *, progress=None):
        return build_school(book, folder, progress=progress, lessons_each=1)

    monkeypatch.setattr(invented, "build_school", small)
    served = []
    monkeypatch.setattr(demo_school, "_serve", lambda *given, **more: served.append(given))
    kept = tmp_path / "kept"
    done = CliRunner().invoke(main, ["demo", "--keep", str(kept)])
    assert done.exit_code == 0, done.output
    assert not served
    assert all(student.name in done.stdout for student in STUDENTS)
    assert "A training aid" in done.stdout
    again = CliRunner().invoke(main, ["demo", "--keep", str(kept)])
    assert again.exit_code == 2
    told = json.loads(CliRunner().invoke(main, ["demo", "--format", "json"]).stdout)
    assert [row["student"] for row in told["students"]] == [student.name for student in STUDENTS]
