"""An invented school in a book: people, airplanes, a course, and lessons that are truly flown and judged.

Nothing is written into the book that did not come out of a recording: each lesson is flown by our equations,
recorded with a panel's errors, read, reconstructed, found and judged like any other. School, people, airplane
and island are invented; no country was given the prefix Q.
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from sqlalchemy.orm import Session

from chalkwing.ahead import compile_ahead
from chalkwing.book import adding, lessons, people, sealing
from chalkwing.book.book import Book
from chalkwing.book.common.shown import Order, shown_of
from chalkwing.book.course import PLAIN, Course, Scale, enter_course, read_course
from chalkwing.book.invented_set import mark_together
from chalkwing.book.judgings import Document, Progress, Settings, judged
from chalkwing.book.tables import Airplane, Maneuver, Person
from chalkwing.refly.scenario import REGISTRATION, SCHOOL

CHIEF, INSTRUCTOR = "Una Carrick", "Tomas Vell"
OTHERS = (("Sorrel Haine", "Q-01120"), ("Aubin Marsh", "Q-01187"), ("Hedda Lorne", "Q-01203"))
"""Instructors of other courses, with their certificates, who mark the common set too."""
SHEET = "four-seat-160"
"""The generic sheet that stands in for the school's airplane."""
WHO = "the demonstration"
_FIRST_DAY = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
_UNITS = (
    ("performance-1", ("steep_turn", "steep_turn", "steep_turn")),
    ("performance-1", ("steep_turn", "steep_turn", "chandelle")),
    ("performance-2", ("steep_turn", "chandelle", "lazy_eight")),
    ("performance-2", ("steep_turn", "lazy_eight", "chandelle")),
    ("performance-3", ("lazy_eight", "lazy_eight", "chandelle")),
    ("performance-3", ("lazy_eight", "chandelle", "lazy_eight")),
    ("performance-4", ("steep_turn", "chandelle", "lazy_eight")),
    ("performance-4", ("steep_turn", "steep_turn", "lazy_eight", "chandelle")),
)
"""What is flown in a student's lessons, in their order."""
_DEMONSTRATED = 0.12
"""The flaw of an instructor who shows a maneuver."""
_UNSIGNED = 3
"""Newest lessons that nobody has signed yet."""
_WORTH_PROCESSES = 12
"""Fewer lessons are judged sooner than other processes have loaded what it takes."""
_Task = tuple[str, str]
"""A recording, and the lesson of the course that it was flown in."""
_NOTES = (
    "Look out before every entry; ask for it.",
    "Good feel today. Next time the references a little nearer to the wing.",
    "Grips the yoke: lighter hand, more trim.",
    "Says the points aloud now; it helps.",
)


@dataclass(frozen=True)
class _Student:
    """``begins``: the flaw of the first lesson; ``learns``: what is left of it after each further one."""

    name: str
    begins: float
    learns: float
    flown: int


STUDENTS = (
    _Student("Ida Renwick", 1.0, 0.68, 8),
    _Student("Mattis Orre", 1.1, 0.80, 8),
    _Student("Lena Quill", 0.8, 0.88, 8),
    _Student("Bo Tarrant", 1.2, 0.86, 6),
)


@dataclass(frozen=True)
class _Planned:
    """One lesson to fly: whose, which of the student's, when, and how well."""

    student: str
    instructor: str | None
    number: int
    unit: str
    wanted: tuple[str, ...]
    flaw: float
    shown: bool
    start: datetime
    seed: int

    @property
    def file(self) -> str:
        """What the recording is called."""
        return f"{self.start:%Y-%m-%d}-{self.student.split()[0].lower()}.csv"


def enroll_school(book: Book) -> Course:
    """People, airplane and course of the school."""
    course = read_course(PLAIN)
    with book.writing() as session:
        people.enroll(session, CHIEF, roles=["instructor", "chief"], certificate="Q-00417", who=WHO)
        people.enroll(session, INSTRUCTOR, roles=["instructor"], certificate="Q-00952", who=WHO)
        for name, certificate in OTHERS:
            people.enroll(session, name, roles=["instructor"], certificate=certificate, who=WHO)
        for student in STUDENTS:
            people.enroll(session, student.name, roles=["student"], who=WHO)
        people.enter_airplane(session, REGISTRATION, sheet=SHEET, sheet_text=None, who=WHO)
        enter_course(session, course, who=WHO)
    return course


def build_school(book: Book, folder: Path, *, progress: Progress | None = None, lessons_each: int = 8) -> int:
    """Fly, judge and enter the whole school; the number of its lessons.

    Recordings are laid into ``folder`` first. ``lessons_each`` is at most how many each student has flown.
    Lessons are judged in as many processes as there are cores, at most four.
    """
    tell = progress or _silent
    course = enroll_school(book)
    planned = sorted(_plan(lessons_each), key=lambda each: each.start)
    entered = []
    with _judges(len(planned)) as judges:
        tell("flying the lessons", 0.0)
        files = [_recorded(each, folder) for each in planned]
        tell("judging the lessons", 0.0)
        tasks = [(str(path), each.unit) for each, path in zip(planned, files, strict=True)]
        for k, document in enumerate(judges.judged(tasks)):
            entered.append(_enter(book, planned[k], files[k], course, document))
            tell("judging the lessons", 0.9 * (k + 1) / len(planned))
        _teach(book, list(zip(planned, entered, strict=True)), course.scale)
        tell("marking a common set", 0.9)
        instructors = [CHIEF, INSTRUCTOR, *(name for name, _ in OTHERS)]
        mark_together(book, instructors, who=CHIEF, draw=judges.drawn)
    return len(entered)


def _plan(most: int) -> Iterator[_Planned]:
    """Two lessons a week each, the instructors in turn; a solo flight now and then."""
    for s, student in enumerate(STUDENTS):
        for k in range(min(student.flown, most)):
            unit, wanted = _UNITS[k]
            solo = k == 5 and s < 2
            yield _Planned(
                student=student.name,
                instructor=None if solo else (CHIEF, INSTRUCTOR)[(k + s) % 2],
                number=k,
                unit=unit,
                wanted=wanted,
                flaw=student.begins * student.learns**k,
                shown=k in (0, 2) and not solo,
                start=_FIRST_DAY + timedelta(days=4 * k + s, hours=s),
                seed=1000 + 10 * s + k,
            )


def _recorded(planned: _Planned, folder: Path) -> Path:
    from chalkwing.refly.practice import fly_practice
    from chalkwing.refly.recorder import record

    flaws = [planned.flaw] * len(planned.wanted)
    if planned.shown:
        flaws[0] = _DEMONSTRATED
    flown = fly_practice(planned.wanted, flaws=flaws, seed=planned.seed)
    _, text = record(
        flown,
        "avionics",
        seed=planned.seed,
        start=planned.start,
        people=(planned.student, planned.instructor),
    )
    path = folder / planned.file
    path.write_text(text, encoding="utf-8")
    return path


class _Judges:
    """Gives debriefs, and what is shown of maneuvers: here, or in the processes of ``pool``.

    On a fresh machine they first compile, and share that out, while the lessons are flown.
    """

    def __init__(self, pool: ProcessPoolExecutor | None = None) -> None:
        self._pool = pool
        self._compiling = [] if pool is None else compile_ahead(pool)

    def judged(self, tasks: Sequence[_Task]) -> Iterator[Document]:
        """The debriefs, in order, as soon as each is there."""
        if self._pool is None:
            return map(_judged_one, tasks)
        wait(self._compiling)
        return self._pool.map(_judged_one, tasks)

    def drawn(self, order: Order) -> Future[list[bytes | None]]:
        """What is shown of the maneuvers of a lesson in a common set."""
        if self._pool is not None:
            return self._pool.submit(_drawn_one, order)
        done: Future[list[bytes | None]] = Future()
        done.set_result(_drawn_one(order))
        return done


@contextmanager
def _judges(lessons: int) -> Iterator[_Judges]:
    """What judges that many lessons, in as many processes as it is worth."""
    cores = min(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1, 4)
    if cores == 1 or lessons < _WORTH_PROCESSES:
        yield _Judges()
        return
    # Spawned, not forked: numeric libraries have threads.
    with ProcessPoolExecutor(cores, mp_context=multiprocessing.get_context("spawn")) as pool:
        yield _Judges(pool)


def _judged_one(task: _Task) -> Document:
    path, unit = task
    basis = Settings().basis(unit, read_course(PLAIN))
    return judged([Path(path)], basis=basis, sheet=Airplane(registration=REGISTRATION, sheet=SHEET))


def _enter(book: Book, planned: _Planned, path: Path, course: Course, document: Document) -> int:
    entry = adding.Entry(
        student=planned.student,
        instructor=planned.instructor,
        airplane=REGISTRATION,
        unit=planned.unit,
        flown_by="student",
    )
    return adding.enter(
        book,
        [(book.vault.take(path), path.name)],
        entry,
        document=document,
        basis=Settings().basis(planned.unit, course),
        who=planned.instructor or planned.student,
    ).number


def _drawn_one(order: Order) -> list[bytes | None]:
    return shown_of(order, tell=_silent)


# --- What the instructors add -------------------------------------------------------------------------------


def _teach(book: Book, entered: Sequence[tuple[_Planned, int]], scale: Scale) -> None:
    """Who flew, marks, a few notes, and signatures but for the newest lessons."""
    random = np.random.default_rng(5)
    with book.writing() as session:
        for k, (planned, number) in enumerate(entered):
            found = lessons.lesson(session, number)
            if planned.shown:
                lessons.label(session, found, [1], "instructor", who=planned.instructor or WHO)
            if planned.instructor is None:
                continue
            instructor = people.person(session, planned.instructor, role="instructor")
            for flown in lessons.in_force(found).maneuvers:
                if flown.flown_by == "student":
                    _mark(session, found.id, flown, instructor, scale, random)
            if k % 3 == 0:
                note = _NOTES[(k // 3) % len(_NOTES)]
                lessons.note(session, found, note, who=planned.instructor)
            if k < len(entered) - _UNSIGNED:
                sealing.sign(session, found, instructor)


def _mark(
    session: Session,
    number: int,
    flown: Maneuver,
    instructor: Person,
    scale: Scale,
    random: np.random.Generator,
) -> None:
    """By how much was met, as each sees it: one of the two marks about half a step higher than the other."""
    verdicts = [each.verdict for each in flown.elements]
    met = np.mean([verdict == "met" for verdict in verdicts]) if verdicts else 0.5
    lenient = 0.5 if instructor.name == INSTRUCTOR else 0.0
    highest = len(scale.steps) - 1
    place = int(np.clip(round(highest * met - 0.4 + lenient + 0.4 * random.normal()), 1, highest))
    found = lessons.lesson(session, number)
    lessons.mark(
        session, found, flown.place, instructor=instructor, scale=scale, step=scale.steps[place].word
    )


def _silent(what: str, done: float) -> None:
    """Progress that nobody watches."""


__all__ = ["CHIEF", "INSTRUCTOR", "OTHERS", "SCHOOL", "STUDENTS", "build_school", "enroll_school"]
