"""`Corrections` written back as the tables they are read from, for a page, or as the text of a TOML file."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from chalkwing.find.corrections.model import (
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
from chalkwing.find.corrections.moments import Moment
from chalkwing.find.corrections.reading import SCHEMA
from chalkwing.units import DEGREE, FOOT, KNOT

Table = dict[str, object]
_DIGITS = 9
"""Enough for a tenth of a millimeter of latitude; few enough to take the noise off a conversion."""


def corrections_tables(corrections: Corrections) -> Table:
    """The tables of the file; values are text, numbers, lists and tables only, so that JSON holds them."""
    head: Table = {"schema": SCHEMA}
    if corrections.recording is not None:
        head["recording"] = corrections.recording
    if corrections.zone is not None:
        head["zone"] = corrections.zone
    return head | {"correction": [correction_table(each) for each in corrections.entries]}


def corrections_text(corrections: Corrections) -> str:
    """The text of a TOML file that `read_corrections` reads as these corrections."""
    tables = corrections_tables(corrections)
    entries = tables.pop("correction")
    assert isinstance(entries, list)
    blocks = [_lines(tables), *(f"[[correction]]\n{_lines(each)}" for each in entries)]
    return "\n".join(blocks)


def correction_table(correction: Correction) -> Table:
    """One correction as its table."""
    table = _act(correction.what) | {"by": correction.by}
    if correction.when is not None:
        table["when"] = _utc(correction.when)
    if correction.why is not None:
        table["why"] = correction.why
    return table


def _utc(when: datetime) -> str:
    return when.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _act(what: What) -> Table:
    match what:
        case Add():
            head = {"act": "add", "kind": what.kind} | _moment("start", what.start) | _moment("end", what.end)
            return head | _given(direction=what.direction)
        case Drop():
            return {"act": "drop"} | _address(what.which)
        case Rename():
            return {"act": "rename"} | _address(what.which) | {"to": what.to}
        case Trim():
            return {"act": "trim"} | _address(what.which) | _ends(what.start, what.end)
        case Label():
            return {"act": "label"} | _address(what.which) | {"flown_by": what.flown_by}
        case Assign():
            which = {} if what.which is None else _address(what.which)
            return {"act": "assign"} | which | _asked(what.asked)
        case Ground():
            return {"act": "ground"} | _address(what.which) | _on_ground(what)
        case Mark():
            return {"act": "mark"} | _moment("at", what.at) | {"text": what.text}
        case Stretch():
            named = _given(student=what.student, instructor=what.instructor, flown_by=what.flown_by)
            return {"act": "stretch"} | _ends(what.start, what.end) | named


def _given(**named: object) -> Table:
    return {key: value for key, value in named.items() if value is not None}


def _moment(key: str, moment: Moment) -> Table:
    if moment.clock is not None:
        return {key: moment.clock}
    return {f"{key}_s": round(moment.seconds or 0.0, 3)}


def _ends(start: Moment | None, end: Moment | None) -> Table:
    made: Table = {}
    for key, moment in (("start", start), ("end", end)):
        made |= {} if moment is None else _moment(key, moment)
    return made


def _address(which: Address) -> Table:
    made = _given(kind=which.kind) | _moment("at", which.at)
    return made if which.within == WITHIN else made | {"within_s": which.within}


def _asked(asked: Asked) -> Table:
    scales = {
        "altitude_ft": (asked.altitude, FOOT),
        "airspeed_kt": (asked.airspeed, KNOT),
        "heading_deg_magnetic": (asked.heading, DEGREE),
        "bank_deg": (asked.bank, DEGREE),
    }
    return {key: _round(value / scale) for key, (value, scale) in scales.items() if value is not None}


def _on_ground(ground: Ground) -> Table:
    made: Table = {}
    for key, places in (
        ("points_deg", ground.points),
        ("line_deg", ground.line or ()),
        ("corners_deg", ground.corners),
    ):
        made |= {key: [_degrees(each) for each in places]} if places else {}
    for key, value in (
        ("elevation_ft", ground.elevation),
        ("touchdown_beyond_ft", ground.touchdown_beyond),
    ):
        made |= {} if value is None else {key: _round(value / FOOT)}
    return made


def _degrees(place: Place) -> list[float]:
    return [_round(place[0] / DEGREE), _round(place[1] / DEGREE)]


def _round(value: float) -> float:
    return round(value, _DIGITS)


def _lines(table: Table) -> str:
    return "".join(f"{key} = {_value(value, bare=key == 'when')}\n" for key, value in table.items())


def _value(value: object, *, bare: bool = False) -> str:
    """A TOML value. JSON's strings are TOML's, but for the delete character."""
    if isinstance(value, str):
        return value if bare else json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return f"[{', '.join(_value(each) for each in value)}]"
    return repr(value)
