"""From a Reference to what a briefing says, in pilot units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing import air
from chalkwing.airplane import AirplaneSheet
from chalkwing.briefing.report import (
    ConditionsReport,
    EntryReport,
    FactReport,
    HeadingRow,
    PathReport,
    PlanPoint,
    WindAtEntry,
)
from chalkwing.conditions import Conditions
from chalkwing.dynamics.wind import wind_told
from chalkwing.maneuvers import Definition
from chalkwing.reference import Direction, Reference, ReferencePoint
from chalkwing.units import (
    DEGREE,
    FOOT,
    FOOT_PER_MINUTE,
    HECTOPASCAL,
    INCH_OF_MERCURY,
    KNOT,
    POUND,
    STANDARD_GRAVITY,
    ZERO_CELSIUS,
    Floats,
    Q,
)

_ROWS = 200
"""Rows of a path that a picture needs in each part: more cannot be seen."""

_UNITS: Mapping[str, tuple[str, float]] = {
    "m": ("ft", FOOT),
    "m/s": ("kt", KNOT),
    "rad": ("deg", DEGREE),
    "rad/s": ("deg_per_s", DEGREE),
    "rad/s^2": ("deg_per_s2", DEGREE),
    "m/s^2": ("g", STANDARD_GRAVITY),
    "kg": ("lb", POUND),
    "s": ("s", 1.0),
    "N": ("lbf", POUND * STANDARD_GRAVITY),
    "K": ("c", 1.0),
    "1": ("1", 1.0),
    "": ("1", 1.0),
    "g": ("g", 1.0),
}
"""Pilot unit and its SI value, by the SI unit of a fact."""


@dataclass(frozen=True)
class Airspeeds:
    """How this airplane's airspeed indicator tells speed."""

    sheet: AirplaneSheet

    @property
    def kind(self) -> str:
        """``indicated`` where the sheet has the correction table, else ``calibrated``."""
        return "calibrated" if self.sheet.indicated_to_calibrated is None else "indicated"

    def told(self, calibrated: Q) -> Q:
        """Knots, indicated where that is known, of a calibrated airspeed [m/s]."""
        known = self.sheet.indicated_to_calibrated is not None
        speed: Q = (self.sheet.indicated(calibrated) if known else calibrated) / KNOT
        return speed


def conditions_report(day: Conditions, altitude: float) -> ConditionsReport:
    """The day, with what it makes of the entry ``altitude`` [m] as the altimeter shows it."""
    level = float(day.pressure_altitude(altitude))
    warmth = float(air.temperature(pressure_altitude=level, isa_deviation=day.isa_deviation))
    return ConditionsReport(
        elevation_ft=day.elevation / FOOT,
        terrain_ft=day.highest_terrain / FOOT,
        altimeter_hpa=day.altimeter_setting / HECTOPASCAL,
        altimeter_inhg=day.altimeter_setting / INCH_OF_MERCURY,
        isa_deviation_c=day.isa_deviation,
        temperature_at_entry_c=warmth - ZERO_CELSIUS,
        density_altitude_at_entry_ft=float(day.density_altitude(altitude)) / FOOT,
        wind_at_entry=wind_at(day, altitude),
        variation_deg=day.magnetic_variation / DEGREE,
        ceiling_ft_agl=None if day.ceiling is None else day.ceiling / FOOT,
        visibility_m=day.visibility,
        notes=day.notes,
    )


def wind_at(day: Conditions, altitude: float) -> WindAtEntry:
    """The wind at an altitude [m]."""
    north, east = day.wind_components(altitude)
    comes_from, _, speed, _ = wind_told(float(north), float(east), 0.0, 0.0)
    return WindAtEntry(from_deg_true=comes_from / DEGREE, speed_kt=speed / KNOT)


def entry_report(reference: Reference, *, line: float | None) -> EntryReport:
    """How to begin; ``line`` is the entry heading [rad, magnetic] where one was chosen."""
    first = reference.points[0] if reference.points else None
    throttle = reference.values.get("throttle")
    return EntryReport(
        airspeed_kt=_entry_speed(reference, first),
        altitude_ft=reference.entry_altitude / FOOT,
        height_above_terrain_ft=(reference.entry_altitude - reference.conditions.highest_terrain) / FOOT,
        throttle_percent=None if throttle is None or not len(throttle) else 100.0 * float(throttle[0]),
        heading_deg_magnetic=None if line is None else compass(line),
        pitch_deg=None if first is None else first.pitch / DEGREE,
    )


def _entry_speed(reference: Reference, first: ReferencePoint | None) -> float:
    speeds = Airspeeds(reference.sheet)
    if len(reference.time):
        return float(speeds.told(float(reference["calibrated_airspeed"][0])))
    return float("nan") if first is None else float(speeds.told(first.calibrated_airspeed))


def compass(direction: float) -> float:
    """A direction [rad] in degrees, 0 up to 360."""
    return float(direction / DEGREE) % 360.0


# --- Points and headings ------------------------------------------------------------------------------------


def part_directions(reference: Reference) -> tuple[Direction, ...]:
    """Which way each part turns: read from its path, since not every maneuver has a definition."""
    if not len(reference.time):
        return ()
    found: list[Direction] = []
    for part in np.unique(reference["part"]):
        heading = reference["heading_true"][reference["part"] == part]
        found.append("right" if heading[-1] >= heading[0] else "left")
    return tuple(found)


def plan_points(
    reference: Reference, definition: Definition | None, *, line: float | None
) -> tuple[PlanPoint, ...]:
    """What to expect at every point of the Reference."""
    told = Airspeeds(reference.sheet).told
    level = reference.points[0].pitch if reference.points else 0.0
    headings = _headings(reference, definition, line)
    return tuple(
        PlanPoint(
            part=point.part,
            name=point.name,
            title=point_title(point.name, definition),
            heading_change_deg=point.heading_change / DEGREE,
            heading_deg_magnetic=headings.get((point.part, point.name)),
            t_s=point.time,
            bank_into_turn_deg=point.bank_into_turn / DEGREE,
            pitch_deg=point.pitch / DEGREE,
            pitch_from_level_deg=(point.pitch - level) / DEGREE,
            airspeed_kt=float(told(point.calibrated_airspeed)),
            altitude_change_ft=point.altitude_change / FOOT,
            altitude_ft=(reference.entry_altitude + point.altitude_change) / FOOT,
            load_factor_g=point.load_factor,
            margin_over_stall_kt=point.stall_margin / KNOT,
            margin_over_accelerated_stall_kt=point.accelerated_stall_margin / KNOT,
        )
        for point in reference.points
    )


def point_title(name: str, definition: Definition | None) -> str:
    """What the definition calls a point, else its name in words."""
    known = {point.name: point.title for point in definition.points} if definition is not None else {}
    fallback = f"{name}° point" if name.isdigit() else name.replace("_", " ").capitalize()
    return known.get(name, fallback)


def heading_rows(
    reference: Reference, definition: Definition | None, *, line: float | None
) -> tuple[HeadingRow, ...]:
    """The reference headings of each part; empty without a line, and where no turn is measured in heading."""
    headings = _headings(reference, definition, line)
    parts = sorted({part for part, _ in headings})
    return tuple(
        HeadingRow(
            part=part,
            direction=part_directions(reference)[part - 1],
            headings_deg_magnetic={name: heading for (own, name), heading in headings.items() if own == part},
        )
        for part in parts
    )


def _headings(
    reference: Reference, definition: Definition | None, line: float | None
) -> dict[tuple[int, str], float]:
    """Magnetic heading [deg] of the points that are headings: the entry, and those named by their degrees."""
    if line is None or not len(reference.time):
        return {}
    found: dict[tuple[int, str], float] = {}
    start = compass(line)
    for part in sorted({point.part for point in reference.points}):
        side = 1 if part_directions(reference)[part - 1] == "right" else -1
        turned = 0.0
        for point in (each for each in reference.points if each.part == part):
            nominal = _nominal(point.name, definition)
            if nominal is not None:
                turned = nominal
                found[part, point.name] = (start + side * nominal) % 360.0
        start = (start + side * turned) % 360.0
    return found


def _nominal(name: str, definition: Definition | None) -> float | None:
    """How far [deg] a part has turned at a point that is called so; None where the name does not say."""
    if name == "entry":
        return 0.0
    if name == "end":
        return definition.turns.angle / DEGREE if definition is not None else None
    return float(name) if name.isdigit() else None


_SETTING_UNITS: Mapping[str, tuple[str, float]] = {
    name: unit
    for names, unit in (
        ("maximum_bank nose_up bank turn lead", ("deg", DEGREE)),
        ("downwind runway", ("deg_true", DEGREE)),
        ("entry_speed airspeed downwind_speed", ("kcas", KNOT)),
        ("top_margin least_margin finish_margin", ("kt", KNOT)),
        ("throttle power", ("percent", 0.01)),
        ("radius floor height length width spacing abeam float_distance", ("ft", FOOT)),
        ("straight", ("s", 1.0)),
    )
    for name in names.split()
}
"""Unit of a setting at the edges, and its SI value; counts and words have none, and an unlisted one is SI."""


def settings(reference: Reference) -> dict[str, float | str | bool]:
    """What was asked, defaults filled in, each name with its unit."""
    found: dict[str, float | str | bool] = {}
    for name, value in reference.settings.items():
        if isinstance(value, bool | int | str):
            found[name] = value
        elif isinstance(value, float):
            unit, scale = _SETTING_UNITS.get(name, ("si", 1.0))
            found[f"{name}_{unit}"] = value / scale
    return found


# --- The path, and plain numbers ----------------------------------------------------------------------------


def path_report(reference: Reference) -> PathReport | None:
    """The planned path for the pictures; None for a maneuver of no path."""
    if not len(reference.time):
        return None
    rows = _rows(reference["part"])
    told = Airspeeds(reference.sheet).told

    def column(values: Floats, unit: float) -> tuple[float, ...]:
        return tuple((values[rows] / unit).tolist())

    return PathReport(
        part=tuple(int(part) for part in reference["part"][rows]),
        t_s=column(reference.time, 1.0),
        heading_change_deg=column(reference["heading_change"], DEGREE),
        bank_into_turn_deg=column(reference["bank_into_turn"], DEGREE),
        pitch_from_level_deg=column(reference["pitch"] - reference["pitch"][0], DEGREE),
        airspeed_kt=column(told(reference["calibrated_airspeed"]), 1.0),
        altitude_change_ft=column(reference["altitude_change"], FOOT),
        load_factor_g=column(reference["load_factor"], 1.0),
        throttle_percent=column(reference["throttle"], 0.01),
        ground_north_ft=column(reference["ground_north"], FOOT),
        ground_east_ft=column(reference["ground_east"], FOOT),
    )


def _rows(parts: Floats) -> npt.NDArray[np.intp]:
    """At most ``_ROWS`` rows of each part, its first and last among them."""
    kept = []
    for part in np.unique(parts):
        inside = np.flatnonzero(parts == part)
        kept.append(inside[np.unique(np.linspace(0, len(inside) - 1, _ROWS).round().astype(int))])
    return np.concatenate(kept)


def fact_report(name: str, title: str, value: float, unit: str, source: str | None = None) -> FactReport:
    """A number in the pilot unit of its SI unit; climbs and descents go to feet a minute by their name."""
    if unit == "m/s" and any(word in name for word in ("climb_rate", "sink", "descent_rate", "vertical")):
        return FactReport(name, title, value / FOOT_PER_MINUTE, "ft_per_min", source)
    if unit == "1" and "throttle" in name:
        return FactReport(name, title, 100.0 * value, "percent", source)
    if unit == "1" and "load" in name:
        return FactReport(name, title, value, "g", source)
    pilot, scale = _UNITS.get(unit, (unit, 1.0))
    return FactReport(name, title, value / scale, pilot, source)


def facts(reference: Reference) -> Sequence[FactReport]:
    """The facts of a Reference in pilot units."""
    return [fact_report(each.name, each.title, each.value, each.unit) for each in reference.facts]
