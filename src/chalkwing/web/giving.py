"""What was given for a maneuver: assigned values, and what it was flown by on the ground, for a form.

The form sends the same tables that a correction file has; here stands what it begins with.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from chalkwing import words
from chalkwing.debriefs import GroundReport, ManeuverReport
from chalkwing.earth import place_at
from chalkwing.maneuvers import Definition, definitions
from chalkwing.units import DEGREE, FOOT

_FORMS: Mapping[str, tuple[str, str, int, int]] = {
    "point": ("points_deg", "the point", 1, 1),
    "pylons": ("points_deg", "the pylons", 1, 20),
    "line": ("line_deg", "two places on the line", 2, 2),
    "field": ("corners_deg", "the corners of the field, in order", 3, 20),
    "runway": ("line_deg", "two places on the runway", 2, 2),
}
"""By what a definition says it is flown by: key of the correction, words, fewest and most places."""
_ASSIGNED: Sequence[tuple[str, str, str]] = (
    ("altitude_ft", "", " ft"),
    ("airspeed_kt", "", " kt"),
    ("heading_deg_magnetic", "heading ", "°"),
    ("bank_deg", "", "° of bank"),
)


def given_form(report: ManeuverReport) -> dict[str, Any]:
    """What the form of a maneuver holds: assigned values as they stand, and places given or found."""
    assigned = {} if report.assigned is None else asdict(report.assigned)
    defined = definitions().get(report.kind)
    return {
        "assigned": {name: value for name, value in assigned.items() if value is not None},
        "ground": None if defined is None or defined.ground == "none" else _ground(defined, report),
    }


def _ground(defined: Definition, report: ManeuverReport) -> dict[str, Any]:
    key, what, least, most = _FORMS[defined.ground]
    given = [each for each in report.reference_ground if each.origin == "given"]
    found = [each for each in report.reference_ground if each.origin != "given"]
    heights = [each.elevation_ft for each in given if each.elevation_ft is not None]
    return {
        "key": key,
        "what": what,
        "least": least,
        "most": most,
        "given": _places(given, key),
        # Sides of a field that were found do not meet in corners: those a person has to know.
        "found": [] if key == "corners_deg" else _places(found, key)[:most],
        "elevation_ft": round(heights[0]) if heights else None,
        "touchdown": defined.ground == "runway",
    }


def _places(grounds: Sequence[GroundReport], key: str) -> list[list[float]]:
    """Latitude and longitude [°] of each place; of a line its ends, of a field where its sides begin."""
    found: list[tuple[float, float]] = []
    for each in grounds[:1] if key == "line_deg" else grounds:
        found.append((each.latitude_deg, each.longitude_deg))
        if key == "line_deg" and each.direction_deg_true is not None and each.length_ft:
            found.append(_end(each, each.direction_deg_true, each.length_ft))
    # Six decimals are a tenth of a meter.
    return [[round(latitude, 6), round(longitude, 6)] for latitude, longitude in dict.fromkeys(found)]


def _end(line: GroundReport, direction: float, length: float) -> tuple[float, float]:
    end = place_at(
        latitude=line.latitude_deg * DEGREE,
        longitude=line.longitude_deg * DEGREE,
        azimuth=direction * DEGREE,
        distance=length * FOOT,
    )
    return float(end.latitude) / DEGREE, float(end.longitude) / DEGREE


def given_said(report: ManeuverReport) -> list[str]:
    """What stands as given, in sentences."""
    said = []
    assigned = "" if report.assigned is None else assigned_said(asdict(report.assigned))
    if assigned:
        said.append(f"Assigned: {assigned}.")
    given = [each for each in report.reference_ground if each.origin == "given"]
    if given:
        said.append(f"Judged by {_named(given)} that {'was' if len(given) == 1 else 'were'} given.")
    return said


def _named(given: Sequence[GroundReport]) -> str:
    what = given[0].what
    return f"the {what}" if len(given) == 1 else f"{len(given)} {what}s"


def assigned_said(table: Mapping[str, Any]) -> str:
    """Assigned values in words.

    >>> assigned_said({"altitude_ft": 3500.0, "bank_deg": 50.0})
    '3,500 ft and 50° of bank'
    """
    parts = []
    for name, before, after in _ASSIGNED:
        value = table.get(name)
        if isinstance(value, int | float):
            shown = f"{value:03.0f}" if name == "heading_deg_magnetic" else words.number(float(value), 0)
            parts.append(f"{before}{shown}{after}")
    return words.listed(parts)


def ground_said(table: Mapping[str, Any]) -> str:
    """What a correction says it was flown by.

    >>> ground_said({"points_deg": [[41.2, -41.7]]})
    'the place 41.20000, -41.70000'
    """
    places = table.get("points_deg") or table.get("line_deg") or table.get("corners_deg") or []
    told = "; ".join(f"{latitude:.5f}, {longitude:.5f}" for latitude, longitude in places)
    if table.get("line_deg"):
        return f"the line {told}"
    if table.get("corners_deg"):
        return f"the field {told}"
    return f"the {'place' if len(places) == 1 else 'places'} {told}"
