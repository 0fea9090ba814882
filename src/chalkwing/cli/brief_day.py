"""The day of a briefing as the command line gives it: a file or a METAR, single options laid over it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chalkwing.cli.brief_values import ALTITUDE_FT, Measured, Plain, Setting, Variation, Wind
from chalkwing.cli.options import F
from chalkwing.cli.refusal import Refused

if TYPE_CHECKING:
    from chalkwing.conditions import Conditions, WindLevel

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_FEET = Measured("length", bare="ft")
_ALTITUDE = Measured("length", bare="ft", within=ALTITUDE_FT)
_CELSIUS = Plain("°C", -60, 60)
_OVERRIDING: tuple[str, ...] = (
    "metar",
    "elevation",
    "terrain",
    "altimeter",
    "temperature",
    "isa_deviation",
    "wind",
    "ceiling",
    "visibility",
    "variation",
)


def day_options(command: F) -> F:
    """What the air, the wind, the cloud and the ground are that day."""
    for decorate in (
        click.option(
            "--variation", type=Variation(), metavar="DEG", help="Magnetic variation, such as 4W or 12E."
        ),
        click.option("--night", is_flag=True, help="For the same."),
        click.option(
            "--airspace",
            type=click.Choice(list("BCDEG")),
            default="E",
            show_default=True,
            help="Its class, for the distances from cloud of 14 CFR 91.155.",
        ),
        click.option("--visibility", type=Measured("visibility"), metavar="VIS", help="Such as 6sm or 9km."),
        click.option(
            "--ceiling", type=_FEET, metavar="FT", help="Height of the lowest broken layer above the field."
        ),
        click.option(
            "--wind",
            type=Wind(),
            multiple=True,
            metavar="DIR/KT[@FT]",
            help="Wind FROM, degrees true/knots, such as 270/15; "
            "more levels each with its altitude: 250/25@3000.",
        ),
        click.option(
            "--isa-deviation",
            type=_CELSIUS,
            metavar="C",
            help="Instead: warmer (+) or colder (-) than standard.",
        ),
        click.option("--temperature", type=_CELSIUS, metavar="C", help="Degrees Celsius at the field."),
        click.option(
            "--altimeter",
            type=Setting(),
            metavar="QNH",
            help="Altimeter setting: 30.12 (inHg) or 1018 (hPa).",
        ),
        click.option(
            "--terrain", type=_ALTITUDE, metavar="FT", help="Elevation of the highest ground under the area."
        ),
        click.option("--elevation", type=_ALTITUDE, metavar="FT", help="Of the field."),
        click.option(
            "--metar", metavar="TEXT", help="The day from a METAR in quotes; give --elevation with it."
        ),
        click.option(
            "--conditions", type=_FILE, metavar="FILE.toml", help="The day from a file; options override it."
        ),
    ):
        command = decorate(command)
    return command


def day_given(options: dict[str, Any], *, base: Conditions | None = None) -> Conditions | None:
    """The day from a file or a METAR, single options laid over it; None where nothing was given."""
    from chalkwing.briefing import read_conditions
    from chalkwing.conditions import Conditions

    given = any(options[name] not in (None, ()) for name in _OVERRIDING)
    if options["conditions"] is not None:
        if options["metar"] is not None:
            raise Refused("--metar and --conditions both tell the day: give one of them.")
        base = read_conditions(options["conditions"])
    if not given:
        return base
    if options["metar"] is not None:
        base = _reported(options, base)
    return _overridden(base or Conditions(), options)


def _reported(options: dict[str, Any], base: Conditions | None) -> Conditions:
    from chalkwing.conditions import from_metar
    from chalkwing.units import DEGREE

    elevation: float | None = options["elevation"]
    if elevation is None:
        if base is None:
            raise Refused("--metar: the report does not hold the field's elevation. Add --elevation FT.")
        elevation = base.elevation
    # Winds with altitudes stand beside the reported one; a wind without stands in its place.
    beside = all(altitude is not None for _, _, altitude in options["wind"])
    return from_metar(
        options["metar"],
        elevation=elevation,
        magnetic_variation=(options["variation"] or 0.0) * DEGREE,
        winds=tuple(_levels(options, elevation)),
        surface_wind=beside,
    )


def _levels(options: dict[str, Any], elevation: float) -> list[WindLevel]:
    from chalkwing.conditions import WindLevel
    from chalkwing.units import DEGREE, FOOT, KNOT

    if len(options["wind"]) > 1 and any(altitude is None for _, _, altitude in options["wind"]):
        raise Refused("--wind: several winds need an altitude each, such as 250/25@3000.")
    return [
        WindLevel(elevation if feet is None else feet * FOOT, (degrees % 360.0) * DEGREE, knots * KNOT)
        for degrees, knots, feet in options["wind"]
    ]


def _overridden(day: Conditions, options: dict[str, Any]) -> Conditions:
    from chalkwing.conditions import Conditions
    from chalkwing.units import DEGREE, ZERO_CELSIUS

    if options["temperature"] is not None and options["isa_deviation"] is not None:
        raise Refused("--temperature and --isa-deviation say the same in two ways: give one.")
    changes: dict[str, Any] = {}
    for name, option in (("elevation", "elevation"), ("altimeter_setting", "altimeter")):
        if options[option] is not None:
            changes[name] = options[option]
    if options["isa_deviation"] is not None:
        changes["isa_deviation"] = options["isa_deviation"]
    if options["variation"] is not None:
        changes["magnetic_variation"] = options["variation"] * DEGREE
    day = replace(day, **changes)
    if options["wind"] and options["metar"] is None:
        day = replace(day, winds=tuple(_levels(options, day.elevation)))
    if options["temperature"] is not None:
        warm = Conditions.with_temperature(
            temperature=options["temperature"] + ZERO_CELSIUS,
            elevation=day.elevation,
            altimeter_setting=day.altimeter_setting,
        )
        day = replace(day, isa_deviation=warm.isa_deviation)
    return day.completed(
        terrain_elevation=options["terrain"], ceiling=options["ceiling"], visibility=options["visibility"]
    )
