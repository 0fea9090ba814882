"""A file of corrections, or the same tables from a page, read into `Corrections`; every fault at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, time
from pathlib import Path
from typing import cast, get_args

from chalkwing.errors import Fault, FaultyCorrections
from chalkwing.find.corrections.model import (
    NOTHING,
    WITHIN,
    Add,
    Address,
    Asked,
    Assign,
    Correction,
    Corrections,
    Drop,
    Ground,
    Label,
    Mark,
    Place,
    Rename,
    Stretch,
    Trim,
    What,
)
from chalkwing.find.corrections.moments import Moment, read_clock, read_zone
from chalkwing.find.occurrence import Direction, FlownBy
from chalkwing.maneuvers.fields import Fields
from chalkwing.toml_files import read_toml
from chalkwing.units import DEGREE, FOOT, KNOT

SCHEMA = 1
_HELP = "docs/corrections.md shows every kind of correction."


def read_corrections(path: Path) -> Corrections:
    """The corrections in the TOML file at ``path``.

    Raises
    ------
    FaultyCorrections
        Listing every fault: with its line where the file is no TOML, else with its path, such as
        ``correction[2].start``.
    """
    return corrections_from(read_toml(path, FaultyCorrections), where=path.name)


def corrections_from(tables: object, *, where: str) -> Corrections:
    """The corrections in tables of the file's form; ``where`` names their source in a refusal."""
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    schema = fields.whole("schema")
    if schema != SCHEMA:
        fields.fault("schema", f"must be {SCHEMA}, not {schema}")
    made = Corrections(
        recording=fields.text("recording") if fields.has("recording") else None,
        zone=_zone(fields),
        entries=fields.each("correction", _correction),
    )
    fields.close()
    if faults:
        raise FaultyCorrections(where=where, faults=faults, next_step=_HELP)
    return made


def _zone(fields: Fields) -> str | None:
    if not fields.has("zone"):
        return None
    zone = fields.text("zone")
    if zone and read_zone(zone) is None:
        fields.fault("zone", f"{zone!r} is no zone: write UTC, +02:00 or a zone's name")
    return zone


def _correction(fields: Fields) -> Correction:
    what = _ACTS[fields.choice("act", _ACTS)](fields)
    return Correction(
        what=what,
        by=fields.text("by"),
        when=_when(fields),
        why=fields.text("why") if fields.has("why") else None,
    )


def _when(fields: Fields) -> datetime | None:
    value = fields.take("when")
    if isinstance(value, str):
        try:
            value = datetime.fromisoformat(value)
        except ValueError:
            fields.fault("when", f"{value!r} is no date and time such as 2026-05-14T18:20:00Z")
            return None
    if value is None:
        return None
    if not isinstance(value, datetime):
        fields.fault("when", f"must be a date and time such as 2026-05-14T18:20:00Z, not {value!r}")
        return None
    return value if value.tzinfo else value.replace(tzinfo=UTC)


def _moment(fields: Fields, key: str, *, required: bool = True) -> Moment | None:
    """``key`` by the clock, or ``key_s`` in seconds; never both."""
    seconds = f"{key}_s"
    if fields.has(seconds):
        if fields.has(key):
            fields.fault(key, f"stands beside {seconds}: give one of them")
            fields.take(key)
        return Moment(seconds=fields.number(seconds))
    if not fields.has(key):
        if required:
            fields.fault(key, f"is missing: give {key} by the clock, or {seconds} in seconds")
        return None
    value = fields.take(key)
    clock = read_clock(value.isoformat() if isinstance(value, time) else str(value))
    if clock is None:
        fields.fault(
            key, f"{value!r} is no time of day such as 10:42 or 10:42:05Z; in seconds it is {seconds}"
        )
        return None
    return Moment(clock=clock)


def _must(moment: Moment | None) -> Moment:
    """A stand-in for one whose fault was noted: the file is refused anyway."""
    return moment or Moment(seconds=0.0)


def _address(fields: Fields) -> Address:
    return Address(
        at=_must(_moment(fields, "at")),
        kind=fields.text("kind") if fields.has("kind") else None,
        within=fields.number("within_s", default=WITHIN, least=0.0),
    )


def _add(fields: Fields) -> Add:
    kind, start, end = fields.text("kind"), _must(_moment(fields, "start")), _must(_moment(fields, "end"))
    direction: Direction | None = None
    if fields.has("direction"):
        direction = fields.choice("direction", cast("tuple[Direction, ...]", get_args(Direction)))
    return Add(kind, start, end, direction)


def _drop(fields: Fields) -> Drop:
    return Drop(_address(fields))


def _rename(fields: Fields) -> Rename:
    return Rename(_address(fields), fields.text("to"))


def _trim(fields: Fields) -> Trim:
    which = _address(fields)
    start, end = _moment(fields, "start", required=False), _moment(fields, "end", required=False)
    if start is None and end is None:
        fields.fault(None, "needs start, end or both")
    return Trim(which, start, end)


def _flown_by(fields: Fields) -> FlownBy:
    return fields.choice("flown_by", cast("tuple[FlownBy, ...]", get_args(FlownBy)))


def _label(fields: Fields) -> Label:
    return Label(_address(fields), _flown_by(fields))


def _given(fields: Fields, key: str, scale: float, *, least: float) -> float | None:
    return fields.number(key, least=least) * scale if fields.has(key) else None


def _assign(fields: Fields) -> Assign:
    which = _address(fields) if fields.has("at") or fields.has("at_s") else None
    asked = Asked(
        altitude=_given(fields, "altitude_ft", FOOT, least=-2000.0),
        airspeed=_given(fields, "airspeed_kt", KNOT, least=1.0),
        heading=_given(fields, "heading_deg_magnetic", DEGREE, least=0.0),
        bank=_given(fields, "bank_deg", DEGREE, least=1.0),
    )
    if asked == NOTHING:
        fields.fault(None, "needs altitude_ft, airspeed_kt, heading_deg_magnetic or bank_deg")
    if (asked.heading or 0.0) > 360.0 * DEGREE:
        fields.fault("heading_deg_magnetic", "must be at most 360")
    return Assign(which, asked)


def _ground(fields: Fields) -> Ground:
    which = _address(fields)
    points = _places(fields, "points_deg", least=1)
    line = _places(fields, "line_deg", least=2, most=2)
    corners = _places(fields, "corners_deg", least=3)
    if sum(bool(each) for each in (points, line, corners)) != 1:
        fields.fault(None, "needs one of points_deg, line_deg and corners_deg")
    beyond = fields.number("touchdown_beyond_ft") * FOOT if fields.has("touchdown_beyond_ft") else None
    return Ground(
        which,
        points=points,
        line=(line[0], line[1]) if len(line) == 2 else None,
        corners=corners,
        elevation=_given(fields, "elevation_ft", FOOT, least=-2000.0),
        touchdown_beyond=beyond,
    )


def _places(fields: Fields, key: str, *, least: int, most: int = 20) -> tuple[Place, ...]:
    """A list of [latitude, longitude] in degrees."""
    value = fields.take(key)
    if value is None:
        return ()
    if not isinstance(value, list) or not least <= len(value) <= most or not all(map(_is_place, value)):
        count = str(least) if least == most else f"{least} or more"
        fields.fault(key, f"must be a list of {count} [latitude, longitude] in degrees, not {value!r}")
        return ()
    return tuple((float(latitude) * DEGREE, float(longitude) * DEGREE) for latitude, longitude in value)


def _is_place(value: object) -> bool:
    if not isinstance(value, list) or len(value) != 2:
        return False
    if any(isinstance(part, bool) or not isinstance(part, int | float) for part in value):
        return False
    return bool(abs(value[0]) <= 90.0 and abs(value[1]) <= 360.0)


def _mark(fields: Fields) -> Mark:
    return Mark(_must(_moment(fields, "at")), fields.text("text"))


def _stretch(fields: Fields) -> Stretch:
    made = Stretch(
        start=_moment(fields, "start", required=False),
        end=_moment(fields, "end", required=False),
        student=fields.text("student") if fields.has("student") else None,
        instructor=fields.text("instructor") if fields.has("instructor") else None,
        flown_by=_flown_by(fields) if fields.has("flown_by") else None,
    )
    if made.student is None and made.instructor is None and made.flown_by is None:
        fields.fault(None, "needs student, instructor or flown_by")
    return made


_ACTS: dict[str, Callable[[Fields], What]] = {
    "add": _add,
    "drop": _drop,
    "rename": _rename,
    "trim": _trim,
    "label": _label,
    "assign": _assign,
    "ground": _ground,
    "mark": _mark,
    "stretch": _stretch,
}
