"""A process with bounds: what fails in it is told, and the next task finds it ready."""

from __future__ import annotations

import pytest
from tests.web.tasks import doubled, dying, failing, greedy, refused, sleeping

from chalkwing.errors import ChalkwingError, UnfinishedWork
from chalkwing.web.worker import Worker


@pytest.fixture(scope="module")
def worker():
    made = Worker(seconds=4.0, memory=3 << 30)
    yield made
    made.stop()


def silent(what, done):
    pass


def test_results_and_progress_come_back(worker):
    heard = []
    assert worker.run(doubled, 21, tell=lambda what, done: heard.append((what, done))) == 42
    assert heard == [("doubling", 0.5)]


def test_a_refusal_keeps_its_words(worker):
    with pytest.raises(ChalkwingError, match=r"no maneuver is called 'loop'\. Known: chandelle"):
        worker.run(refused, tell=silent)


@pytest.mark.parametrize(
    ("task", "arguments", "words"),
    [
        (failing, (), "ZeroDivisionError"),
        (dying, (), "stopped before it was done"),
        (sleeping, (), "took longer than 4 s"),
        (greedy, (8 << 30,), "more memory than is allowed"),
    ],
)
def test_what_goes_wrong_is_told_and_the_next_task_is_carried_out(worker, task, arguments, words):
    with pytest.raises(UnfinishedWork, match=words):
        worker.run(task, *arguments, tell=silent)
    assert worker.run(doubled, 1, tell=silent) == 2
