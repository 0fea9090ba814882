"""A process for work that may take long, take much memory, or fall over what is in a file.

The server stays up whatever happens here: the process has a bound on its memory and on its time, and is
replaced when it dies.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from chalkwing.errors import ChalkwingError, UnfinishedWork

Progress = Callable[[str, float], None]
"""Called with what is being done and the fraction done."""
Task = Callable[..., Any]
"""A function of a module, called in the process with its arguments and ``tell``, a Progress."""

_POLL = 0.1
_START = 120.0
"""Seconds in which a process must be up; a busy machine takes long to load its libraries."""
_YIELDS = 5
"""By how much a process stands back whose work nobody waits for."""
_UP = ("up",)


class Worker:
    """One process, started when first needed, that carries out one task after another.

    One that is ``yielding`` takes of the processor what others leave: nobody waits for its work.
    """

    def __init__(
        self, *, seconds: float, memory: int, remedy: str = "Try a shorter recording.", yielding: bool = False
    ) -> None:
        self._seconds = seconds
        self._memory = memory
        self._remedy = remedy
        self._yielding = yielding
        self._turn = threading.Lock()
        self._process: BaseProcess | None = None
        self._line: Connection | None = None

    def run(self, task: Task, *arguments: Any, tell: Progress) -> Any:
        """Carry out a task and give its result; blocks until its turn has come and it is done.

        Raises
        ------
        ChalkwingError
            What the task refused.
        UnfinishedWork
            It failed otherwise, ran out of time or memory, or the process died.
        """
        with self._turn:
            line = self._ready()
            try:
                line.send((task, arguments))
                return self._answer(line, tell)
            except (EOFError, BrokenPipeError, ConnectionResetError):
                self.stop()
                raise UnfinishedWork(
                    "the work stopped before it was done, most likely for want of time or memory.",
                    next_step=self._remedy,
                ) from None

    def warm(self) -> None:
        """Start the process ahead of the first task, so that it has loaded what it needs."""
        with self._turn:
            self._ready()

    def stop(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
        if self._line is not None:
            self._line.close()
        self._process = self._line = None

    def _ready(self) -> Connection:
        if self._process is not None and not self._process.is_alive():
            self.stop()
        if self._line is None:
            # Spawned, not forked: the server has threads, and a forked child could inherit a held lock.
            context = multiprocessing.get_context("spawn")
            mine, theirs = context.Pipe()
            chosen = (theirs, self._memory, self._seconds, self._yielding)
            process = context.Process(target=_serve, args=chosen, daemon=True)
            process.start()
            theirs.close()
            self._line, self._process = mine, process
            self._await_start(self._line)
        return self._line

    def _await_start(self, line: Connection) -> None:
        """Wait until the process is up: its start does not count in the time of its first task."""
        with contextlib.suppress(EOFError, ConnectionResetError):
            if line.poll(_START) and line.recv() == _UP:
                return
        self.stop()
        raise UnfinishedWork("a process for the work could not be started.", next_step="Try again.")

    def _answer(self, line: Connection, tell: Progress) -> Any:
        deadline = time.monotonic() + self._seconds
        while True:
            if not line.poll(_POLL):
                if time.monotonic() > deadline:
                    self.stop()
                    raise UnfinishedWork(
                        f"it took longer than {self._seconds:.0f} s and was stopped.",
                        next_step=self._remedy,
                    )
                continue
            kind, *rest = line.recv()
            if kind == "tell":
                tell(rest[0], rest[1])
            elif kind == "done":
                return rest[0]
            else:
                # What failed may have left the process in any state: the next task gets a new one.
                if kind == "failed":
                    self.stop()
                    raise UnfinishedWork(rest[0], next_step=rest[1])
                what, where, next_step = rest
                raise ChalkwingError(what, where=where, next_step=next_step)


def _serve(line: Connection, memory: int, seconds: float, yielding: bool) -> None:
    """What the process does: task after task until the line closes."""
    _limit_memory(memory)
    if yielding:
        with contextlib.suppress(AttributeError, OSError):
            os.nice(_YIELDS)
    with contextlib.suppress(EOFError, KeyboardInterrupt, BrokenPipeError):
        line.send(_UP)
        while True:
            task, arguments = line.recv()
            _limit_time(seconds)
            line.send(_carried_out(task, arguments, lambda what, done: line.send(("tell", what, done))))


def _carried_out(task: Task, arguments: tuple[Any, ...], tell: Progress) -> tuple[Any, ...]:
    try:
        return "done", task(*arguments, tell=tell)
    except ChalkwingError as error:
        return "refused", error.what, error.where, error.next_step
    except MemoryError:
        return "failed", "it needs more memory than is allowed here.", "Try a shorter recording."
    except Exception as error:  # noqa: BLE001 - whatever a file made of the program must reach the page as words
        return (
            "failed",
            f"something went wrong inside chalkwing ({type(error).__name__}: {error}).",
            "This is a fault of the program, not of your file: please report it.",
        )


def _limit_memory(memory: int) -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _limit_time(seconds: float) -> None:
    """Processor time for one task: all cores for the whole of its time, counted from what was used before."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        used = time.process_time()
        allowed = int(used + seconds * (os.cpu_count() or 1)) + 1
        _, hard = resource.getrlimit(resource.RLIMIT_CPU)
        resource.setrlimit(resource.RLIMIT_CPU, (allowed, hard))
