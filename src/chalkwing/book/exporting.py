"""The book in open forms: CSV or Parquet, a table a file, or one JSON file. Units stand in the names."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import polars as pl
from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.book import Book
from chalkwing.book.columns import Table, now
from chalkwing.book.common.tables import CommonManeuver, CommonMark, CommonSet
from chalkwing.book.tables import (
    Airplane,
    Correction,
    CourseText,
    Element,
    Judging,
    LedgerLine,
    Lesson,
    LessonRecording,
    Maneuver,
    Mark,
    Note,
    Person,
    Recording,
    SignOff,
)
from chalkwing.debriefs import CAUTION
from chalkwing.errors import BookTrouble
from chalkwing.files import whole_file

Form = Literal["csv", "parquet", "json"]
TABLES: Mapping[str, type[Table]] = {
    "people": Person,
    "airplanes": Airplane,
    "recordings": Recording,
    "lessons": Lesson,
    "courses": CourseText,
    "lesson_recordings": LessonRecording,
    "judgings": Judging,
    "maneuvers": Maneuver,
    "elements": Element,
    "corrections": Correction,
    "marks": Mark,
    "notes": Note,
    "sign_offs": SignOff,
    "common_sets": CommonSet,
    "common_maneuvers": CommonManeuver,
    "common_marks": CommonMark,
    "ledger": LedgerLine,
}
_WITHHELD = {("judgings", "document"), ("common_maneuvers", "shown")}
"""The compressed debriefs: `chalkwing book show LESSON --format json` tells each in the open; and what the
pictures of a common set are drawn from."""


def export(book: Book, folder: Path, form: Form) -> list[Path]:
    """Write every table into ``folder``, which must be new or empty; the files are given back.

    A file appears whole or not at all. Instants are in UTC, in the ISO 8601 form.
    """
    fresh_folder(folder)
    with book.reading() as session:
        tables = {name: _rows(session, name, table) for name, table in TABLES.items()}
        seal = ledger.last_seal(session)
    if form == "json":
        content = {"made": now().isoformat(), "caution": CAUTION, "last_seal": seal, **tables}
        words = json.dumps(content, ensure_ascii=False, indent=1)
        goal = folder / "book.json"
        with whole_file(goal) as part:
            part.write_text(words, encoding="utf-8")
        return [goal]
    return [_write(folder, name, rows, form) for name, rows in tables.items()]


def fresh_folder(folder: Path) -> None:
    """Make a folder to write into; one that holds anything is refused."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BookTrouble(
            "there is something here already.", where=str(folder), next_step="Name a new or empty folder."
        )
    folder.mkdir(parents=True, exist_ok=True)


def _rows(session: Session, name: str, table: type[Table]) -> list[dict[str, Any]]:
    columns = [column.key for column in table.__table__.columns if (name, column.key) not in _WITHHELD]
    chosen = select(*(getattr(table, column) for column in columns)).order_by(*table.__mapper__.primary_key)
    return [
        {
            key: value.isoformat() if hasattr(value, "isoformat") else value
            for key, value in zip(columns, row, strict=True)
        }
        for row in session.execute(chosen)
    ]


def _write(folder: Path, name: str, rows: list[dict[str, Any]], form: Form) -> Path:
    frame, goal = pl.DataFrame(rows, infer_schema_length=None), folder / f"{name}.{form}"
    with whole_file(goal) as part:
        if form == "csv":
            frame.write_csv(part)
        else:
            frame.write_parquet(part)
    return goal
