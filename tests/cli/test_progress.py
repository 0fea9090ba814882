"""The progress line on a terminal says why it stands still, where it does for long."""

from __future__ import annotations

import io
import sys
from contextlib import contextmanager

import click
import pytest
from click.testing import CliRunner

from chalkwing import compiled
from chalkwing.cli import main
from chalkwing.cli.progress import FIRST_RUN, shown_progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def told(monkeypatch: pytest.MonkeyPatch, screen: io.StringIO, *, fresh: bool) -> str:
    monkeypatch.setattr(compiled, "fresh", fresh)
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("COLUMNS", "200")
    with shown_progress() as tell:
        tell("reading", 0.0)
        tell("reconstructing", 0.5)
    return screen.getvalue()


def test_what_is_compiled_at_first_is_said_once(monkeypatch: pytest.MonkeyPatch) -> None:
    assert told(monkeypatch, Terminal(), fresh=True).count(FIRST_RUN) == 1


def test_later_runs_and_those_that_nobody_watches_say_nothing_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    assert FIRST_RUN not in told(monkeypatch, Terminal(), fresh=False)
    assert told(monkeypatch, io.StringIO(), fresh=True) == ""


def test_what_was_written_is_said_after_the_progress_line_is_gone(panel, tmp_path, monkeypatch) -> None:
    order = []

    @contextmanager
    def watched():
        yield lambda what, fraction: order.append("progress")
        order.append("gone")

    monkeypatch.setattr("chalkwing.cli.debrief.shown_progress", watched)
    monkeypatch.setattr("chalkwing.cli.brief.shown_progress", watched)
    monkeypatch.setattr(click, "echo", lambda text, **options: order.append(str(text)))
    for arguments in (
        ["debrief", str(panel.path), "-o", str(tmp_path / "lesson.json")],
        [
            "brief",
            "steep_turn",
            "--airplane",
            "four-seat-160",
            "--max-bank",
            "40",
            "-o",
            str(tmp_path / "c.pdf"),
        ],
    ):
        order.clear()
        assert CliRunner().invoke(main, arguments).exit_code == 0
        assert order[-2] == "gone"
        assert arguments[-1] in order[-1]
