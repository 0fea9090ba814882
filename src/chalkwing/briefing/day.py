"""The day from a TOML file: conditions in pilot units, or a METAR with what a METAR does not hold."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from chalkwing.air import standard_temperature
from chalkwing.conditions import Conditions, WindLevel, from_metar
from chalkwing.errors import ChalkwingError, Fault, FaultyPlan
from chalkwing.maneuvers.fields import Fields
from chalkwing.toml_files import read_toml
from chalkwing.units import (
    DEGREE,
    FOOT,
    HECTOPASCAL,
    INCH_OF_MERCURY,
    KNOT,
    MILE,
    STANDARD_SEA_LEVEL_PRESSURE,
    ZERO_CELSIUS,
)

SCHEMA = 1


def read_conditions(path: Path) -> Conditions:
    """The conditions in a TOML file.

    Keys: ``schema`` = 1, ``elevation_ft``; all others may be left out: ``terrain_ft``, ``altimeter_inhg`` or
    ``altimeter_hpa``, ``temperature_c`` (with ``temperature_altitude_ft``, else at the elevation) or
    ``isa_deviation_c``, ``ceiling_ft_agl``, ``visibility_sm`` or ``visibility_km``, ``variation_deg`` (east
    positive), ``metar`` in place of setting, temperature, ceiling and visibility, and any number of
    ``[[wind]]`` with ``altitude_ft``, ``from_deg_true``, ``speed_kt``.

    Raises
    ------
    FaultyPlan
        Listing every fault of the file.
    """
    return conditions_from(read_toml(path, FaultyPlan), where=path.name)


def conditions_from(tables: object, *, where: str) -> Conditions:
    """The conditions in the tables of a file; ``where`` names the file in a refusal."""
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    if fields.whole("schema") != SCHEMA:
        fields.fault("schema", f"must be {SCHEMA}")
    made = read_day(fields)
    fields.close()
    if made is None or faults:
        raise FaultyPlan(where=where, faults=faults)
    return made


def read_day(fields: Fields) -> Conditions | None:
    """The conditions in a table; None where a fault was noted."""
    before = len(fields.faults)
    try:
        made = _from_report(fields) if fields.has("metar") else _from_values(fields)
    except ChalkwingError as error:
        # What the models refuse is a fault of the file like any other.
        if len(fields.faults) == before:
            fields.fault(None, str(error))
        return None
    return None if len(fields.faults) > before else made


def _from_report(fields: Fields) -> Conditions:
    report, elevation = fields.text("metar"), fields.number("elevation_ft") * FOOT
    given = _cloud_and_ground(fields)
    day = from_metar(
        report,
        elevation=elevation,
        magnetic_variation=fields.number("variation_deg", default=0.0) * DEGREE,
        winds=fields.each("wind", _wind),
    )
    return given.laid_on(day)


def _from_values(fields: Fields) -> Conditions:
    elevation = fields.number("elevation_ft") * FOOT
    setting = _setting(fields)
    variation = fields.number("variation_deg", default=0.0) * DEGREE
    winds = fields.each("wind", _wind)
    given = _cloud_and_ground(fields)
    if fields.has("isa_deviation_c"):
        deviation = fields.number("isa_deviation_c")
        day = Conditions(elevation, setting, deviation, winds, variation)
    else:
        at = fields.number("temperature_altitude_ft", default=elevation / FOOT) * FOOT
        usual = float(standard_temperature(at)) - ZERO_CELSIUS
        day = Conditions.with_temperature(
            temperature=fields.number("temperature_c", default=usual) + ZERO_CELSIUS,
            temperature_altitude=at,
            elevation=elevation,
            altimeter_setting=setting,
            winds=winds,
            magnetic_variation=variation,
        )
    return given.laid_on(day)


def _setting(fields: Fields) -> float:
    if fields.has("altimeter_inhg"):
        return fields.number("altimeter_inhg") * INCH_OF_MERCURY
    return fields.number("altimeter_hpa", default=STANDARD_SEA_LEVEL_PRESSURE / HECTOPASCAL) * HECTOPASCAL


def _wind(fields: Fields) -> WindLevel:
    values = (
        fields.number("altitude_ft") * FOOT,
        (fields.number("from_deg_true") % 360.0) * DEGREE,
        fields.number("speed_kt", least=0.0) * KNOT,
    )
    return WindLevel(*values)


class _Given(NamedTuple):
    """What may stand in the file beside the air itself [m]."""

    terrain_elevation: float | None
    ceiling: float | None
    visibility: float | None

    def laid_on(self, day: Conditions) -> Conditions:
        return day.completed(
            terrain_elevation=self.terrain_elevation, ceiling=self.ceiling, visibility=self.visibility
        )


def _cloud_and_ground(fields: Fields) -> _Given:
    def maybe(key: str, unit: float) -> float | None:
        return fields.number(key, least=0.0) * unit if fields.has(key) else None

    kilometers = maybe("visibility_km", 1000.0)
    return _Given(
        terrain_elevation=fields.number("terrain_ft") * FOOT if fields.has("terrain_ft") else None,
        ceiling=maybe("ceiling_ft_agl", FOOT),
        visibility=maybe("visibility_sm", MILE) if kilometers is None else kilometers,
    )
