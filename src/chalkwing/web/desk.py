"""The desk: lessons, and the work on them, from the server's side."""

from __future__ import annotations

import pickle
import threading
from collections import OrderedDict
from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from chalkwing.book import open_book
from chalkwing.book.adding import Entry as Entering
from chalkwing.errors import ChalkwingError, RefusedRequest
from chalkwing.web.cache import Cache, key_of
from chalkwing.web.common_making import SetMaker
from chalkwing.web.foretelling import Foretelling
from chalkwing.web.journal import UNDO, Entry, Journal, checked, corrections, with_undone
from chalkwing.web.own_limits import LimitsKept
from chalkwing.web.records import Records, labels
from chalkwing.web.refusals import told as refusal_told
from chalkwing.web.settings import Settings
from chalkwing.web.shelf import Lesson, Shelf, now
from chalkwing.web.work import (
    JSON,
    MOTION,
    TOLD,
    Judging,
    Reading,
    Told,
    judge_lesson,
    print_lesson,
    printed_name,
    reconstruct_lesson,
    warmed,
)
from chalkwing.web.worker import Task, Worker

_HELD = 8
"""Lessons kept in memory, ready to be shown."""


@dataclass(frozen=True)
class Work:
    """How far the work on a lesson is; ``refusal`` when it ended without a result."""

    what: str
    fraction: float
    refusal: ChalkwingError | None = None


class Desk:
    """Takes lessons in, has them reconstructed and judged in other processes, and keeps what came of it."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.book = open_book(settings.book_place, files=settings.book_files)
        self.shelf = Shelf(settings.folder, self.book.vault)
        self.records = Records(self.book, self.shelf)
        self.limits = LimitsKept(settings.folder / "limits")
        self.cache = Cache(settings.folder / "cache", most_bytes=settings.cache_bytes)
        self._reader = Worker(seconds=settings.work_seconds, memory=settings.work_bytes)
        self._judge = Worker(seconds=settings.work_seconds, memory=settings.work_bytes)
        self._planner = Worker(
            seconds=settings.plan_seconds, memory=settings.work_bytes, remedy="Move a slider to try again."
        )
        self._foreteller = Worker(
            seconds=settings.work_seconds,
            memory=settings.work_bytes,
            remedy="Look again later.",
            yielding=True,
        )
        self.foretold = Foretelling(
            self.book, self._foreteller.run, self.cache, where=settings.book_place, files=settings.book_files
        )
        self._planning: Future[None] | None = None
        self._threads = ThreadPoolExecutor(max_workers=2, thread_name_prefix="desk")
        self._lock = threading.Lock()
        self._writing = threading.Lock()
        self.sets = SetMaker(self.book, self._reader.run, self._threads.submit)
        self._work: dict[str, Work] = {}
        self._told: OrderedDict[str, Told] = OrderedDict()

    def open(self) -> None:
        """Tidy up, and start the processes while nobody waits for them."""
        self.shelf.sweep(booked=self.records.booked())
        self.cache.prune()
        for worker in (self._reader, self._judge):
            self._threads.submit(worker.run, warmed, tell=_nobody)
        self.foretold.open()

    def close(self) -> None:
        """Stop all work."""
        self.foretold.close()
        self._threads.shutdown(wait=False, cancel_futures=True)
        self._reader.stop()
        self._judge.stop()
        self._planner.stop()
        self._foreteller.stop()
        self.book.close()

    def plan(self, task: Task, *arguments: Any) -> Any:
        """Have a ground lesson's plan worked out, in a process that keeps warm for the next one."""
        return self._planner.run(task, *arguments, tell=_nobody)

    def warm_planner(self, task: Task, *arguments: Any) -> None:
        """Begin to make that process ready, once: nobody who comes for a lesson's debrief needs it."""
        with self._lock:
            if self._planning is None:
                self._planning = self._threads.submit(self.plan, task, *arguments)

    def remove(self, lesson: Lesson) -> None:
        """Forget a lesson of the desk; its record and the recordings that the book names stay."""
        self.shelf.remove(lesson, booked=self.records.booked())

    def journal(self, lesson: Lesson) -> Journal:
        """What people changed of a lesson."""
        return Journal(self.shelf.journal_path(lesson))

    def change(self, lesson: Lesson, sent: Mapping[str, Any]) -> int:
        """Keep a change, once it is known that the lesson can be judged with it; its number in the journal.

        Raises
        ------
        ChalkwingError
            The change is faulty or does not fit this lesson; nothing was kept.
        """
        with self._writing:
            journal = self.journal(lesson)
            entries = journal.entries()
            table = checked(sent, entries)
            record = self.records.of(lesson)
            if record is not None:
                self.records.allow(record, table)
                lesson = self._read_as_its_record(lesson, record)
            made, before = corrections(_after(entries, table)), corrections(entries)
            if made != before:
                self._reconstruct(lesson)
                self._judged(lesson, made)
                if len(made) > len(before):
                    self._refuse_unfit(lesson, made)
            number = journal.add(table)
            if record is not None:
                document = self.json_path(lesson) if made != before else None
                self.records.follow(record, lesson, journal.entries(), document)
            return number

    def _read_as_its_record(self, lesson: Lesson, record: int) -> Lesson:
        now_read = self.records.read_as(record, lesson)
        return lesson if now_read == lesson else self.shelf.keep(now_read)

    def enter(self, lesson: Lesson, entry: Entering, *, who: str) -> int:
        """Enter a lesson into the book as it is now judged; the number of its record.

        ``entry.flown_by`` says who flew what has no label yet: it becomes a label of each.

        Raises
        ------
        ChalkwingError
            A name is not in the book, or the lesson is there already; nothing was entered.
        """
        with self._writing:
            if (there := self.records.of(lesson)) is not None:
                raise RefusedRequest(f"it is in the book already, as lesson {there}.", status=409)
            prepared = self.records.prepared(lesson, entry)
            self._label_rest(lesson, entry.flown_by, who)
            self._reconstruct(prepared)
            self._judged(prepared, self._corrections(prepared))
            self.shelf.keep(prepared)
            entries = self.journal(prepared).entries()
            return self.records.enter(prepared, entry, entries, self.json_path(prepared), who=who)

    def _label_rest(self, lesson: Lesson, flown_by: str, who: str) -> None:
        told = self.told(lesson)
        if told is None or flown_by == "unknown":
            return
        rest = [
            (each.kind, each.start_s, flown_by)
            for each in told.debrief.maneuvers
            if each.flown_by == "unknown"
        ]
        for table in labels(rest, by=who, when=now()):
            self.journal(lesson).add(table)

    def _refuse_unfit(self, lesson: Lesson, made: list[dict[str, Any]]) -> None:
        """Refuse the last correction if it does not fit the recording."""
        told = self._read_told(self._told_key(lesson, made))
        last = told.debrief.corrections[-1] if told is not None else None
        if last is not None and not last.fits:
            raise RefusedRequest(last.reason or "this does not fit the recording.", status=422)

    def told(self, lesson: Lesson) -> Told | None:
        """What the pages show of a lesson; None while that is not worked out yet."""
        return self._read_told(self._told_key(lesson, self._corrections(lesson)))

    def _read_told(self, key: str) -> Told | None:
        with self._lock:
            if key in self._told:
                self._told.move_to_end(key)
                return self._told[key]
        path = self.cache.place(key) / TOLD
        if not path.is_file():
            return None
        with path.open("rb") as file:
            told: Told = pickle.load(file)
        with self._lock:
            self._told[key] = told
            while len(self._told) > _HELD:
                self._told.popitem(last=False)
        return told

    def json_path(self, lesson: Lesson) -> Path:
        """Where the machine-readable debrief lies once there is one."""
        return self.cache.place(self._told_key(lesson, self._corrections(lesson))) / JSON

    def print_path(self, lesson: Lesson, form: str) -> Path:
        """The debrief to take along, as HTML or on a paper; made when it is first asked for."""
        order = self._judging(lesson, self._corrections(lesson))
        path = order.into / printed_name(form)
        if not path.is_file():
            self._judge.run(print_lesson, order, form, tell=_nobody)
        return path

    def begin(self, lesson: Lesson, *, again: bool = False) -> Work:
        """Have a lesson worked on if it is not yet, and say how far it is.

        A refusal stays until it is asked ``again``.
        """
        with self._lock:
            known = self._work.get(lesson.id)
            if known is not None and not (again and known.refusal):
                return known
            self._work[lesson.id] = work = Work("waiting for its turn", 0.0)
        self._threads.submit(self._work_on, lesson)
        return work

    def _work_on(self, lesson: Lesson) -> None:
        self.shelf.note_refusal(lesson, None)
        try:
            self._reconstruct(lesson)
            self._judged(lesson, self._corrections(lesson))
        except ChalkwingError as error:
            self.shelf.note_refusal(lesson, refusal_told(error))
            self._note(lesson, Work("refused", 1.0, error))
        else:
            with self._lock:
                self._work.pop(lesson.id, None)

    def _reconstruct(self, lesson: Lesson) -> None:
        into = self.cache.place(self._motion_key(lesson))
        if (into / MOTION).is_file():
            return
        files = tuple((self.shelf.recording_path(file), file.name) for file in lesson.files)
        order = Reading(files, lesson.airplane, lesson.log, into)
        self._reader.run(
            reconstruct_lesson,
            order,
            tell=lambda what, done: self._note(lesson, Work(what, 0.85 * done)),
        )

    def _judged(self, lesson: Lesson, made: list[dict[str, Any]]) -> None:
        order = self._judging(lesson, made)
        if (order.into / TOLD).is_file():
            return
        self._judge.run(
            judge_lesson,
            order,
            tell=lambda what, done: self._note(lesson, Work(what, 0.85 + 0.15 * done)),
        )

    def _judging(self, lesson: Lesson, made: list[dict[str, Any]]) -> Judging:
        return Judging(
            motion=self.cache.place(self._motion_key(lesson)) / MOTION,
            names=tuple((file.sha256, file.name) for file in lesson.files),
            standard=lesson.standard,
            overlay=lesson.overlay,
            corrections=tuple(made),
            into=self.cache.place(self._told_key(lesson, made)),
            unit=lesson.unit,
            course=lesson.course,
        )

    def _corrections(self, lesson: Lesson) -> list[dict[str, Any]]:
        return corrections(self.journal(lesson).entries())

    def _note(self, lesson: Lesson, work: Work) -> None:
        with self._lock:
            self._work[lesson.id] = work

    def _motion_key(self, lesson: Lesson) -> str:
        files = [file.sha256 for file in lesson.files]
        mapped = () if lesson.column_map is None else (lesson.column_map,)
        return key_of("motion", files, _content(lesson.airplane), lesson.zone, *mapped)

    def _told_key(self, lesson: Lesson, made: list[dict[str, Any]]) -> str:
        names = [file.name for file in lesson.files]
        return key_of(
            "told",
            self._motion_key(lesson),
            names,
            _content(lesson.standard),
            _content(lesson.overlay),
            made,
            *_stage(lesson),
        )


def _content(name: str | None) -> str | None:
    """A name, or what is in the file that it is the path of: an edited file is another result."""
    if name is None or not name.endswith(".toml"):
        return name
    return Path(name).read_text(encoding="utf-8", errors="replace")


def _stage(lesson: Lesson) -> tuple[str, ...]:
    """The lesson of the course and its outline, where limits of its own are laid over the standard's."""
    return () if lesson.unit is None or lesson.course is None else (lesson.unit, lesson.course)


def _after(entries: list[Entry], table: Mapping[str, Any]) -> list[Entry]:
    """The lines as they would be with one more."""
    if table["act"] == UNDO:
        return with_undone(entries, table["undoes"])
    return [*entries, Entry(len(entries) + 1, table, stands=True)]


def _nobody(what: str, done: float) -> None:
    """Progress that nobody watches."""
