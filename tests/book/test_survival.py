"""Killed, crowded out, out of room: nothing that was entered is lost, and no lesson is half entered."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import event, func, select
from tests.book.school import add_lesson, enroll_all, recording

from chalkwing.book import Book, keeping, open_book, sealing
from chalkwing.book.tables import Judging, Lesson, Maneuver, Recording
from chalkwing.book.vault import Vault
from chalkwing.errors import BookTrouble

ROOT = Path(__file__).parents[2]


class Stopped:
    """Runs `tests.book.stopped`, one process for each call."""

    def __enter__(self) -> Stopped:
        self._begun = subprocess.Popen(
            [sys.executable, "-m", "tests.book.stopped"],
            cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        return self

    def __exit__(self, *_: object) -> None:
        self._begun.communicate()

    def __call__(self, book: Path, file: Path, seed: int, seconds: float) -> tuple[int, str]:
        """How the process ended, as `subprocess` tells it, and what it printed."""
        assert self._begun.stdin is not None
        assert self._begun.stdout is not None
        print(book, file, seed, seconds, sep="\t", file=self._begun.stdin, flush=True)
        code, said = self._begun.stdout.readline().rstrip("\n").split("\t")
        return int(code), said


def assert_whole(place: Path, at_least: int) -> int:
    """Every lesson has its judging, maneuvers and recordings; the number of lessons is given back."""
    book = open_book(place)
    assert not list(sealing.faults(book))
    with book.reading() as session:
        count = session.scalar(select(func.count(Lesson.id))) or 0
        assert session.scalar(select(func.count(Judging.id))) == count
        assert session.scalar(select(func.count(Maneuver.id))) == 2 * count
        assert session.scalar(select(func.count(Recording.sha256))) == count
    book.close()
    assert count >= at_least
    return count


def kill_at_random(tmp_path: Path, kills: int) -> tuple[int, int]:
    """How many of ``kills`` processes were killed before and after their lesson was entered."""
    place = tmp_path / "book"
    book = open_book(place)
    enroll_all(book)
    add_lesson(book, tmp_path)
    book.close()
    left_alone = recording(tmp_path, "left-alone.csv", "time\n" + "0\n" * 20_000)
    with Stopped() as stopped:
        code, said = stopped(place, left_alone, 0, 0.0)
        assert code == 0
        before_all = assert_whole(place, 2)
        entered = before_all
        for seed in range(kills):
            file = recording(tmp_path, f"lesson-{seed}.csv", "time\n" + "0\n" * 20_000 + str(seed))
            code, _ = stopped(place, file, seed, float(said))
            assert code in (0, -signal.SIGKILL)
            entered = assert_whole(place, entered)
    again = recording(tmp_path, "last.csv", "time\n1\n")
    add_lesson(open_book(place), tmp_path, content=again.read_text())
    assert assert_whole(place, entered + 1) == entered + 1
    return kills - (entered - before_all), entered - before_all


def test_a_kill_at_any_moment_leaves_whole_lessons_only(tmp_path: Path) -> None:
    before, after = kill_at_random(tmp_path, 8)
    assert before + after == 8


@pytest.mark.accuracy
def test_a_hundred_kills(tmp_path: Path) -> None:
    before, after = kill_at_random(tmp_path, 100)
    assert before > 10  # else no kill fell where it could do harm
    assert after > 10


def test_two_processes_at_once_both_succeed(place: tuple[str, Path], book: Book, tmp_path: Path) -> None:
    where, files = place
    begun = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.book.stopped", where, str(file), "0", "0"],
            cwd=ROOT, env={**os.environ, "CHALKWING_BOOK_FILES": str(files)}, stderr=subprocess.PIPE,
        )
        for file in (recording(tmp_path, f"{k}.csv", f"lesson {k}") for k in range(2))
    ]  # fmt: skip
    for process in begun:
        _, said = process.communicate()
        assert process.returncode == 0, said.decode()
    with book.reading() as session:
        assert list(session.scalars(select(Lesson.id).order_by(Lesson.id))) == [1, 2]
    assert not list(sealing.faults(book))


def test_sixteen_lessons_entered_at_once_all_stand(book: Book, tmp_path: Path) -> None:
    def one(number: int) -> int:
        (tmp_path / str(number)).mkdir()
        mine = open_book(
            book.place.url.replace("+psycopg", "") if not book.place.embedded else book.place.folder,
            files=book.place.folder,
        )
        try:
            return add_lesson(mine, tmp_path / str(number), content=f"lesson {number}").number
        finally:
            mine.close()

    with ThreadPoolExecutor(8) as pool:
        numbers = list(pool.map(one, range(16)))
    assert sorted(numbers) == list(range(1, 17))
    assert not list(sealing.faults(book))


def test_a_full_disk_is_said_and_nothing_is_entered(tmp_path: Path) -> None:
    book = open_book(tmp_path / "book")
    enroll_all(book)
    add_lesson(book, tmp_path)
    with book.reading() as session:
        pages = session.connection().exec_driver_sql("PRAGMA page_count").scalar()
    event.listen(book.engine, "connect", lambda c, _: c.execute(f"PRAGMA max_page_count = {pages}"))
    book.engine.dispose()

    def fill() -> None:
        for number in range(200):
            add_lesson(book, tmp_path, content=f"lesson {number}")

    with pytest.raises(BookTrouble, match="the disk is full; nothing was entered"):
        fill()
    book.close()
    assert_whole_apart_from_files(tmp_path / "book")


def assert_whole_apart_from_files(place: Path) -> None:
    book = open_book(place)
    assert not list(sealing.faults(book))
    with book.reading() as session:
        lessons = session.scalar(select(func.count(Lesson.id)))
        assert lessons == session.scalar(select(func.count(Judging.id)))
    book.close()


def test_no_room_for_a_recording_is_said_and_leaves_no_piece(tmp_path: Path) -> None:
    file = recording(tmp_path, content="x" * 50_000)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, hard))
    try:
        with pytest.raises(BookTrouble, match=r"could not be written.*Nothing was entered"):
            Vault(tmp_path).take(file)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert not list(Vault(tmp_path).everything())
    assert not list(Vault(tmp_path).leftovers())


def test_a_backup_comes_back_as_it_was(tmp_path: Path) -> None:
    book = open_book(tmp_path / "book")
    enroll_all(book)
    add_lesson(book, tmp_path)
    seal = keeping.backup(book, tmp_path / "backup.zip")
    add_lesson(book, tmp_path, content="a later lesson")
    book.close()
    restored = keeping.restore(tmp_path / "backup.zip", tmp_path / "restored")
    from chalkwing.book import ledger

    assert not list(sealing.faults(restored))
    with restored.reading() as session:
        assert session.scalar(select(func.count(Lesson.id))) == 1
        assert ledger.last_seal(session) == seal
    restored.close()
    with pytest.raises(BookTrouble, match="never writes over it"):
        keeping.restore(tmp_path / "backup.zip", tmp_path / "restored")
    with pytest.raises(BookTrouble, match="no backup"):
        keeping.restore(recording(tmp_path), tmp_path / "elsewhere")
    assert not (tmp_path / "elsewhere").exists()


def test_what_killed_processes_left_is_swept_up(tmp_path: Path) -> None:
    book = open_book(tmp_path / "book")
    enroll_all(book)
    add_lesson(book, tmp_path)
    (digest,) = book.vault.everything()
    left = book.vault.path(digest).parent / "piece.part"
    left.write_text("x")
    os.utime(left, (0, 0))
    assert keeping.sweep(book) == 1
    assert not left.exists()
    assert book.vault.sound(digest)
    book.close()
