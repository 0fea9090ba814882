"""What a log must hold to be of use, and the words that refuse one that does not."""

from __future__ import annotations

from collections import Counter

from chalkwing.errors import UndecidedRecording
from chalkwing.recordings.delimited.drafts import Drafts
from chalkwing.recordings.delimited.lexicon import FOREIGN_COLUMNS
from chalkwing.recordings.delimited.names import Name

FEWEST_ROWS = 10
_ATTITUDE = {"bank", "pitch", "heading_magnetic", "heading_true"}
_MOTION = {"velocity_north", "velocity_east"}


def require_motion(drafts: Drafts, names: tuple[Name, ...], *, source: str) -> None:
    """Refuse a log that tells neither where the airplane was nor how it was held."""
    held = drafts.keys()
    position = {"latitude", "longitude"} <= held or held >= _MOTION or {"ground_speed", "track"} <= held
    if position or held & _ATTITUDE:
        return
    lacking = "no position and no attitude"
    if len(held & {"latitude", "longitude"}) == 1:
        half = next(iter(held & {"latitude", "longitude"}))
        lacking = f"only one of latitude and longitude ({half}), and no attitude"
    raise UndecidedRecording(
        f"the log has {lacking}, so nothing can be told about what was flown. {_holdings(drafts, names)}",
        where=source,
        next_step=(
            "Needed: latitude and longitude, or bank, pitch and heading. If they are there under other "
            'names, name them in a column map ([columns] latitude = "..."); if this is an engine monitor\'s '
            "log, use the log of the panel or a GPS."
        ),
    )


def _holdings(drafts: Drafts, names: tuple[Name, ...]) -> str:
    """What the columns are about instead."""
    counts = Counter(next((c for c in FOREIGN_COLUMNS if c in name.concepts), "") for name in names)
    listed = [
        f"{kind} ({counts[kind]})"
        for kind in FOREIGN_COLUMNS
        if counts[kind] and kind not in {"other", "quality"}
    ]
    if "fuel" in {c for name in names for c in name.concepts}:
        listed.append("fuel")
    if drafts:
        listed.append(", ".join(name.replace("_", " ") for name in sorted(drafts)))
    return (
        f"Its columns hold: {'; '.join(listed)}."
        if listed
        else f"None of its {len(names)} column names is known."
    )


def no_time(names: tuple[Name, ...], *, source: str) -> UndecidedRecording:
    """The refusal of a log whose rows cannot be placed in time."""
    listed = ", ".join(repr(name.written) for name in names[:30] if name.written)
    return UndecidedRecording(
        "no column tells the time of the rows.",
        where=source,
        next_step=f'If one does, name it in a column map ([time] column = "..."). Columns: {listed}.',
    )


def time_backward(line: int | None, share: float, *, source: str) -> UndecidedRecording:
    """The refusal of a log whose clock runs backward too often to be repaired."""
    return UndecidedRecording(
        f"time runs backward in {100 * share:.0f} % of the "
        f"rows{'' if line is None else f', first at line {line}'}; "
        "the order of the rows cannot be told.",
        where=source,
        next_step="Export the log again, sorted by time, or name another time column in a column map.",
    )


def too_few(count: int, *, source: str, of: int) -> UndecidedRecording:
    """The refusal of a log with hardly any rows."""
    return UndecidedRecording(
        f"only {count} of {of} rows can be used; at least {FEWEST_ROWS} are needed.",
        where=source,
        next_step="Check that the export is complete.",
    )
