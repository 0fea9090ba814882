"""Common sets for tests: lessons of an invented school, and pictures drawn from a maneuver made up here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from tests.book.school import AIRPLANE, INSTRUCTOR, WHO, document, maneuver, recording

from chalkwing.book import Book, people
from chalkwing.book.adding import Entry, add
from chalkwing.book.common import choosing, making
from chalkwing.book.common.shown import Order, packed
from chalkwing.book.judgings import Progress
from chalkwing.debriefs import ManeuverReport
from chalkwing.views import ManeuverView, Mark, Trace, WindThen

OTHERS = ("Jonas Hede", "Eli Strand", "Aud Lien")
HEADING = 217.37
"""The entry heading of the made-up maneuver, true [deg]."""


def view(kind: str = "lazy_eight") -> ManeuverView:
    """A half turn to the right, entered on `HEADING` at 4,212 ft, 100 kt."""
    time = np.linspace(0.0, 30.0, 301)
    turned = 6.0 * time
    along = np.radians(HEADING + turned)
    north, east = (np.concatenate([[0.0], np.cumsum(16.9 * way(along[1:]))]) for way in (np.cos, np.sin))
    places = {
        f"{frame}_{axis}_ft": column
        for frame in ("ground", "air")
        for axis, column in (("north", north), ("east", east))
    }
    trace = Trace(
        part=1,
        role="flown",
        time_s=time,
        heading_change_deg=turned,
        values={
            "bank_into_turn_deg": 30.0 * np.sin(np.radians(turned)),
            "pitch_from_level_deg": 10.0 * np.sin(np.radians(2.0 * turned)),
            "airspeed_kt": 100.0 - 30.0 * np.sin(np.radians(turned)),
            "altitude_change_ft": 400.0 * np.sin(np.radians(turned)) - 140.0 * turned / 180.0,
            "load_factor_g": np.ones_like(time),
            **places,
        },
        marks=(
            Mark(
                "90",
                90.0,
                {"bank_into_turn_deg": 30.0, "pitch_from_level_deg": 0.0, "airspeed_kt": 70.123}
                | {"altitude_change_ft": 330.0},
                time_s=15.0,
            ),
        ),
        sds={"airspeed_kt": np.full_like(time, 1.5)},
    )
    return ManeuverView(
        report=_report(kind),
        against="heading",
        span_deg=180.0,
        start_s=812.0,
        flown=(trace,),
        planned=(trace,),
        limits=(),
        directions=("right",),
        speed_name="KIAS",
        plan_speed_name="KCAS",
        altitude_name="altimeter",
        level_pitch_deg=3.217,
        entry={"airspeed_kt": 100.0, "altitude_ft": 4212.0, "heading_true_deg": HEADING},
        wind=WindThen(250.0, 12.0),
        whole=places,
    )


def _report(kind: str) -> ManeuverReport:
    return ManeuverReport(
        kind=kind, title=kind.replace("_", " ").capitalize(), flight=1, direction="right", start_s=812.0,
        end_s=842.0, start_s_sd=0.1, end_s_sd=0.1, probability=0.99, status="complete", flown_by="student",
        corrected=False, points=(), elements=(), student="Mina Orlo",
    )  # fmt: skip


def draw(order: Order, progress: Progress) -> list[bytes | None]:
    """Stands for reading the recordings, which the test of the pages is about."""
    progress("reading", 0.5)
    return [packed(view(kind)) for kind, _ in order.maneuvers]


def enroll_others(book: Book) -> None:
    with book.writing() as session:
        for name in OTHERS:
            people.enroll(session, name, roles=["instructor"], who=WHO)


def add_lessons(book: Book, folder: Path, count: int, *, student: str = "Mina Orlo") -> None:
    """Lessons of two maneuvers each, flown from clean to far off."""
    for k in range(count):
        found = document(maneuver(100.0, 30.0 * k), maneuver(300.0, -25.0 * k, kind="chandelle"))

        def judge(paths: Sequence[Path], *, found: Any = found, **_settings: object) -> Mapping[str, Any]:
            assert paths
            return found  # type: ignore[no-any-return]

        entry = Entry(student=student, instructor=INSTRUCTOR, airplane=AIRPLANE, flown_by="student")
        file = recording(folder, name=f"lesson-{k}.csv", content=f"time,altitude\n0,{k}\n")
        add(book, [file], entry, who=WHO, judge=judge)


def a_set(book: Book, folder: Path, *, lessons: int = 5, seed: int = 7) -> int:
    """A common set of all maneuvers of some lessons; its number."""
    enroll_others(book)
    add_lessons(book, folder, lessons)
    with book.reading() as session:
        chosen = choosing.candidates(book, session)
    return making.make(book, chosen, name="Spring meeting", who="Runa Vik", seed=seed, draw=draw).number
