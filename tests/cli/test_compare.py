"""``chalkwing compare``: attempts of recordings over each other, on paper."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.paper.reading import read_pdf, text_of

from chalkwing.cli import main
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five minutes with a left and a right steep turn in them."""
    _, text = record(fly_lesson(0), "avionics", seed=0)
    lines = text.splitlines(keepends=True)
    head = next(k for k, line in enumerate(lines) if line.startswith("2026"))
    path = tmp_path_factory.mktemp("compare") / "turns.csv"
    path.write_text("".join(lines[: head + 300]), encoding="utf-8")
    return path


def compare(*arguments: str) -> tuple[int, str]:
    done = CliRunner().invoke(main, ["compare", *arguments])
    return done.exit_code, done.output


def test_two_attempts_lie_over_each_other_on_letter(recording, tmp_path):
    out = tmp_path / "turns.pdf"
    code, said = compare(str(recording), "--kind", "steep turn", "-o", str(out), "--paper", "letter")
    assert code == 0, said
    content = out.read_bytes()
    box = read_pdf(content).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((612.0, 792.0), abs=0.5)
    text = text_of(content)
    for words in ("Steep turn: attempts over each other", "Altitude held", "mirrored", "A training aid"):
        assert words in text
    assert {"left", "right"} <= set(text.split())


def test_too_few_attempts_are_told_with_what_there_is_and_nothing_is_written(recording, tmp_path):
    out = tmp_path / "turns.pdf"
    code, said = compare(str(recording), "--kind", "steep_turn", "--attempt", "turns.csv:99", "-o", str(out))
    assert code == 2
    assert "turns.csv:99: there is no such steep_turn" in " ".join(said.split())
    code, said = compare(str(recording), "--kind", "lazy_eight", "-o", str(out))
    assert code == 2
    assert "2 to 6 attempts at the lazy eight can be laid over each other, not 0." in " ".join(said.split())
    assert not out.exists()
