"""Airplanes that read differently: offsets that are put in are found, and few lessons say nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.book.school import INSTRUCTOR, STUDENT, WHO, document, maneuver, recording

from chalkwing.book import Book, people
from chalkwing.book.adding import Entry, add
from chalkwing.book.apart import above_other_groups
from chalkwing.book.judgings import Settings, judged
from chalkwing.book.readings import BANK, compared, readings
from chalkwing.book.tables import Airplane
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson


def point(half: int, bank: float, pitch: float) -> dict[str, Any]:
    """A point whose recorded bank, toward the turn, and pitch read so much more than the reconstructed."""

    def quantity(value: float, off: float) -> dict[str, Any]:
        return {"value": value, "sd": 0.5, "origin": "measured", "kind": None, "recorded": value + off}

    return {
        "half": half, "name": "90", "title": "90", "heading_change_deg": 90.0, "t_s": 1.0, "t_s_sd": 0.1,
        "bank_into_turn_deg": quantity(30.0, bank), "pitch_deg": quantity(3.0, pitch),
        "airspeed_kt": quantity(90.0, 0.0), "altitude_ft": quantity(3000.0, 0.0), "reference": None,
    }  # fmt: skip


def add_flown(book: Book, folder: Path, number: int, airplane: str, bank: float, pitch: float) -> None:
    """A lesson of one lazy eight, right then left, whose attitude reads off to the right and up."""
    flown = maneuver(100.0, 20.0)
    flown["points"] = [point(1 + k % 2, bank * (1.0 if k % 2 == 0 else -1.0), pitch) for k in range(6)]

    def judge(paths: Sequence[Path], **_settings: object) -> Mapping[str, Any]:
        assert paths
        return document(flown)

    file = recording(folder, name=f"{airplane}-{number}.csv", content=f"{airplane},{number}\n")
    entry = Entry(student=STUDENT, instructor=INSTRUCTOR, airplane=airplane, flown_by="student")
    add(book, [file], entry, who=WHO, judge=judge)


def test_an_airplane_whose_bank_reads_to_the_right_is_named(book: Book, tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    with book.writing() as session:
        for name in ("X-HOLM", "X-HOLN"):
            people.enter_airplane(session, name, sheet=None, sheet_text=None, who=WHO)
    for airplane, bank in (("X-HOLL", 0.0), ("X-HOLM", 3.0), ("X-HOLN", -0.2)):
        for number in range(5):
            add_flown(book, tmp_path, number, airplane, bank + 0.4 * rng.normal(), 0.2 * rng.normal())
    with book.reading() as session:
        told = {each.kind: each for each in readings(session)}
    bank = {each.airplane: each for each in told["bank"].airplanes}
    assert bank["X-HOLM"].said == "reads further right than the others"
    assert bank["X-HOLM"].above == pytest.approx(3.1, abs=0.6)
    assert bank["X-HOLM"].low is not None
    assert bank["X-HOLM"].high is not None
    assert bank["X-HOLM"].low < 3.1 < bank["X-HOLM"].high
    assert all("like the others" in each.said for each in told["pitch"].airplanes)
    assert told["stall_speed"].reason == "too few airplanes with 3 lessons that show it: 0 of at least 2"


def test_few_lessons_say_too_few() -> None:
    told = compared(BANK, [("X-HOLL", 1.0)] * 4 + [("X-HOLM", 1.0)] * 2)
    assert told.reason is not None
    assert "too few airplanes" in told.reason
    assert told.airplanes[0].said == "too few lessons to say: 2 of 3"


def test_intervals_of_simulated_airplanes_hold_the_truth() -> None:
    # 150 schools of five airplanes, 4 lessons each: 750 differences at 90 %; within a school they add up to
    # zero, so the error of the share is about 1.5 points, and three of it are allowed.
    held = []
    for seed in range(150):
        rng = np.random.default_rng(seed)
        true = rng.normal(0.0, 1.0, 5)
        group = np.repeat(np.arange(5), 4)
        apart = above_other_groups(
            true[group] + rng.normal(0.0, 0.8, 20), group, groups=5, scale=1.5, least=0.02, seed=seed
        )
        low, high = apart.interval(0.9)
        wanted = true - (true.sum() - true) / 4
        held += list((low <= wanted) & (wanted <= high))
    assert abs(np.mean(held) - 0.90) < 0.045


def shifted(text: str, **by: float) -> str:
    """A panel's recording with columns that read so much more."""
    lines = text.splitlines(keepends=True)
    head = next(line for line in lines if line.startswith("UTC date")).strip().split(",")
    places = {head.index(name): off for name, off in by.items()}
    changed = []
    for line in lines:
        cells = line.rstrip("\n").split(",")
        if line.startswith("2026"):
            cells = [
                f"{float(cell) + places[k]:.1f}" if k in places and cell.strip() else cell
                for k, cell in enumerate(cells)
            ]
        changed.append(",".join(cells) + "\n")
    return "".join(changed)


def test_of_an_error_put_into_a_recording_so_much_shows(tmp_path: Path) -> None:
    # The text of the page says: bank whole, pitch about half, airspeed not at all.
    from chalkwing.book.readings import _bank, _pitch

    _, text = record(fly_lesson(0), "avionics", seed=0)
    airplane = Airplane(registration="X-HOLL", sheet="four-seat-160")

    def off(**by: float) -> tuple[float, float]:
        file = recording(tmp_path, content=shifted(text, **by))
        found = judged([file], basis=Settings().basis(), sheet=airplane)
        bank, pitch = _bank(found), _pitch(found)
        assert bank is not None
        assert pitch is not None
        return bank, pitch

    plain = off()
    assert off(Roll=3.0)[0] - plain[0] == pytest.approx(3.0, abs=0.2)
    assert 0.6 < off(Pitch=2.0)[1] - plain[1] < 1.4
    assert off(IAS=5.0) == pytest.approx(plain, abs=0.1)
