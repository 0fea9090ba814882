"""An invented school's first entries, and a document as a debrief gives one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from chalkwing.book import Book, people
from chalkwing.book.adding import Added, Entry, add

STUDENT, OTHER, INSTRUCTOR, CHIEF = "Mina Orlo", "Tove Lind", "Per Askell", "Runa Vik"
AIRPLANE = "X-HOLL"
WHO = "the desk"


def enroll_all(book: Book) -> None:
    with book.writing() as session:
        for name in (STUDENT, OTHER):
            people.enroll(session, name, roles=["student"], who=WHO)
        people.enroll(session, INSTRUCTOR, roles=["instructor"], certificate="0000000", who=WHO)
        people.enroll(session, CHIEF, roles=["instructor", "chief"], certificate="1111111", who=WHO)
        people.enter_airplane(session, AIRPLANE, sheet="four-seat-160", sheet_text=None, who=WHO)


def element(
    name: str, value: float, limit: tuple[float | None, float | None], part: int | None = None
) -> dict[str, Any]:
    low, high = limit
    inside = (low is None or value >= low) and (high is None or value <= high)
    return {
        "id": name, "title": name.replace("_", " "), "half": part, "unit": "ft", "value": value, "sd": 8.0,
        "origin": "measured", "limit": list(limit), "excursions": None, "reason": "as it is",
        "probability_met": 0.99 if inside else 0.01, "verdict": "met" if inside else "not_met",
        "document": "FAA-S-ACS-7B", "edition": "effective 31 May 2024", "task": "CA.V.D", "note": None,
    }  # fmt: skip


def maneuver(start: float, altitude: float, *, kind: str = "lazy_eight") -> dict[str, Any]:
    return {
        "kind": kind, "title": kind.replace("_", " ").capitalize(), "flight": 1, "direction": "right",
        "start_s": start, "end_s": start + 60.0, "start_s_sd": 0.5, "end_s_sd": 0.5, "probability": 0.98,
        "status": "complete", "flown_by": "unknown", "corrected": False, "points": [], "reference": None,
        "causes": [],
        "elements": [element("altitude_at_180", altitude, (-100.0, 100.0), part=1)],
    }  # fmt: skip


def document(*maneuvers: Mapping[str, Any], standard: str = "commercial") -> dict[str, Any]:
    return {
        "schema": 1, "decides": "all of it", "airplane": None, "airplane_title": None,
        "standard": standard, "standard_title": f"The {standard} standard",
        "flights": [{"start_s": 0.0, "end_s": 900.0}], "wind": [],
        "maneuvers": list(maneuvers), "notes": [], "caution": "A training aid.",
        "recordings": [
            {"source": "lesson.csv", "start_utc": "2026-05-14T14:05:00Z", "start_s": 0, "duration_s": 900},
        ],
    }  # fmt: skip


FOUND = document(maneuver(100.0, 40.0), maneuver(300.0, -140.0))


def ready(paths: Sequence[Path], **_settings: object) -> Mapping[str, Any]:
    """Stands for judging the recordings, which the trunk's own tests are about."""
    assert all(path.is_file() for path in paths)
    return FOUND


def recording(folder: Path, name: str = "lesson.csv", content: str = "time,altitude\n0,100\n") -> Path:
    path = folder / name
    path.write_text(content, encoding="utf-8")
    return path


def add_lesson(
    book: Book, folder: Path, content: str = "time,altitude\n0,100\n", *, student: str = STUDENT, **said: Any
) -> Added:
    entry = Entry(
        student=student, **{"instructor": INSTRUCTOR, "airplane": AIRPLANE, "flown_by": "student", **said}
    )
    return add(book, [recording(folder, content=content)], entry, who=WHO, judge=ready)
