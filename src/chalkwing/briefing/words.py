"""Numbers of a briefing as pilots read them: the same on paper and in the terminal."""

from __future__ import annotations

from chalkwing.briefing.report import Briefing, FactReport, LimitReport, PlanPoint
from chalkwing.words import number

_SUFFIX = {
    "ft": (" ft", 0),
    "kt": (" kt", 0),
    "deg": ("°", 0),
    "deg_per_s": ("°/s", 1),
    "ft_per_min": (" ft/min", 0),
    "NM": (" NM", 2),
    "lb": (" lb", 0),
    "g": (" g", 2),
    "s": (" s", 0),
    "percent": (" %", 0),
    "c": (" °C", 0),
    "1": ("", 2),
}


def amount(value: float, unit: str, *, signed: bool = False) -> str:
    """A value with its unit.

    >>> amount(1.4142, "g"), amount(-3.4, "kt"), amount(3.0, "1")
    ('1.41 g', '−3 kt', '3')
    """
    suffix, decimals = _SUFFIX.get(unit, (f" {unit}", 1))
    if unit == "1" and value == round(value):
        decimals = 0
    return number(value, decimals, signed=signed) + suffix


def heading(degrees: float | None) -> str:
    """Three figures, north as 360; a dash where none is known.

    >>> heading(4.6), heading(359.7), heading(None)
    ('005°', '360°', '–')
    """
    if degrees is None:
        return "–"
    return f"{round(degrees) % 360 or 360:03d}°"


def band(limit: LimitReport) -> str:
    """A limit as it is published: ``±100 ft``, ``0 to +5 kt``, ``at least 1,500 ft``, ``30°``."""
    low, high = limit.limit

    def bare(value: float, *, signed: bool = False) -> str:
        return number(value, 0 if value == round(value) else 1, signed=signed)

    suffix = _SUFFIX.get(limit.unit, ("", 0))[0]
    if low is None or high is None:
        end, word = (high, "at most") if low is None else (low, "at least")
        return "none" if end is None else f"{word} {bare(end)}{suffix}"
    if low == high:
        return f"{bare(low)}{suffix}"
    if low == -high:
        return f"±{bare(high)}{suffix}"
    return f"{bare(low, signed=True)} to {bare(high, signed=True)}{suffix}"


def fact(row: FactReport) -> str:
    """The value of a fact with its unit."""
    return amount(row.value, row.unit)


def speed_unit(briefing: Briefing) -> str:
    """KIAS or KCAS: what the airspeeds of this briefing are."""
    return "KIAS" if briefing.airspeed_kind == "indicated" else "KCAS"


def wind(briefing: Briefing) -> str:
    """The wind at entry altitude."""
    found = briefing.conditions.wind_at_entry
    if round(found.speed_kt) == 0:
        return "calm"
    return f"{heading(found.from_deg_true)} true/{found.speed_kt:.0f} kt"


def visibility(meters: float | None) -> str | None:
    """Visibility in statute miles and kilometers."""
    if meters is None:
        return None
    return f"{meters / 1609.344:.3g} SM ({meters / 1000:.3g} km)"


def day_line(briefing: Briefing) -> str:
    """The day in one line."""
    day = briefing.conditions
    parts = [
        f"setting {day.altimeter_inhg:.2f} inHg ({day.altimeter_hpa:.0f} hPa)",
        f"{number(day.temperature_at_entry_c)} °C at entry (ISA {number(day.isa_deviation_c, signed=True)})",
        f"density altitude {number(day.density_altitude_at_entry_ft)} ft",
        f"wind there {wind(briefing)}",
    ]
    if day.ceiling_ft_agl is not None:
        parts.append(f"ceiling {number(day.ceiling_ft_agl)} ft above the field")
    seen = visibility(day.visibility_m)
    if seen is not None:
        parts.append(f"visibility {seen}")
    return ", ".join(parts)


def turns(briefing: Briefing) -> str:
    """``to the right`` or ``right, then left``; empty where nothing is turned."""
    sides = list(dict.fromkeys(briefing.part_directions))
    if not sides:
        return ""
    return f"{sides[0]}, then {sides[1]}" if len(sides) == 2 else f"to the {sides[0]}"


def parts_alike(briefing: Briefing) -> bool:
    """Whether there are several parts and all expect the same numbers, as rounded for reading."""

    def told(part: int) -> list[tuple[int, ...]]:
        return [
            (
                round(point.bank_into_turn_deg),
                round(point.pitch_from_level_deg),
                round(point.airspeed_kt),
                round(point.altitude_change_ft / 10.0),
            )
            for point in briefing.points
            if point.part == part
        ]

    parts = sorted({point.part for point in briefing.points})
    return len(parts) > 1 and all(told(part) == told(parts[0]) for part in parts)


def point_name(briefing: Briefing, point: PlanPoint) -> str:
    """A point in a narrow column: ``45°``, ``Rollout begins``; ``2: Entry`` in a later part that differs."""
    name = f"{point.name}°" if point.name.isdigit() else point.title
    later = point.part != briefing.points[0].part and not parts_alike(briefing)
    return f"{point.part}: {name}" if later else name


def short_title(title: str) -> str:
    """The title of an element without what it is held against, for a narrow column.

    >>> short_title("Altitude at the 180° point, against entry")
    'Altitude at 180°'
    """
    return title.split(",", maxsplit=1)[0].replace(" at the ", " at ").removesuffix(" point")


def sentence(text: str) -> str:
    """The text with a capital first letter; the rest as it is.

    >>> sentence("rate of turn, KCAS")
    'Rate of turn, KCAS'
    """
    return text[:1].upper() + text[1:]


_EFFECTS = {
    "exit_altitude_ft": "altitude",
    "exit_airspeed_kt": "airspeed",
    "exit_heading_deg": "heading",
    "top_height_ft": "top",
    "top_speed_kt": "fastest",
}
EFFECTS_NOTE = "Altitude, airspeed and heading at the end of the turn."


def effect_title(name: str) -> str:
    """What heads the column of an effect; an unlisted one by its name without the unit."""
    return _EFFECTS.get(name, name.rsplit("_", 1)[0].replace("_", " "))


def effect(value: float | None, name: str) -> str:
    """The effect of a change with the unit that its name ends in; a dash where it could not be flown."""
    return "–" if value is None else amount(value, name.rsplit("_", 1)[1], signed=True)


def floor(briefing: Briefing) -> tuple[str, str]:
    """The floor as the altimeter shows it, and where it comes from."""
    if briefing.floor_ft is None or briefing.floor_agl_ft is None:
        return "none", briefing.floor_for
    terrain = number(briefing.conditions.terrain_ft)
    above = f"{number(briefing.floor_agl_ft)} ft above terrain at {terrain} ft"
    return f"{number(briefing.floor_ft)} ft", f"{above} ({briefing.floor_for})"


def settings(briefing: Briefing) -> str:
    """What was asked, in one line: ``maximum bank 30°, entry speed 99 KCAS``."""
    units = {
        "deg": "°",
        "deg_true": "° true",
        "kcas": " KCAS",
        "kt": " kt",
        "ft": " ft",
        "s": " s",
        "percent": " %",
    }
    said = []
    for name, value in briefing.settings.items():
        if isinstance(value, bool | str | int):
            said.append(f"{name.replace('_', ' ')} {str(value).replace('_', ' ').lower()}")
            continue
        unit = next((each for each in sorted(units, key=len, reverse=True) if name.endswith(f"_{each}")), "")
        said.append(f"{name.removesuffix(f'_{unit}').replace('_', ' ')} {number(value)}{units.get(unit, '')}")
    return ", ".join(said)
