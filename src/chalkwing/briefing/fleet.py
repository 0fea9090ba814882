"""The airplanes of a school, light and heavy, and the days for which it wants their numbers."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.conditions import Conditions
from chalkwing.errors import ChalkwingError
from chalkwing.maneuvers.fields import Fields
from chalkwing.units import FOOT, POUND, ZERO_CELSIUS


@dataclass(frozen=True)
class FleetAirplane:
    """One airplane: its registration, its sheet, and the masses [kg] at which it is flown in training."""

    registration: str
    sheet: AirplaneSheet
    light: float
    heavy: float


@dataclass(frozen=True)
class FleetDay:
    """A day by the name that the school gives it."""

    name: str
    conditions: Conditions


@dataclass(frozen=True)
class Fleet:
    """What technique notes are written for; ``edition`` is the school's own mark of them, such as a date."""

    airplanes: tuple[FleetAirplane, ...] = ()
    days: tuple[FleetDay, ...] = ()
    edition: str = ""


def read_fleet(fields: Fields, folder: Path) -> Fleet:
    """Airplanes, days and edition in a school's file; none of them has to stand there."""
    airplanes = fields.each("airplane", lambda table: _airplane(table, folder))
    days = fields.each("day", _day)
    edition = fields.text("edition") if fields.has("edition") else ""
    names = [each.registration for each in airplanes if each is not None]
    for name in sorted({name for name in names if names.count(name) > 1}):
        fields.fault("airplane", f"{name!r} stands there more than once")
    return Fleet(
        tuple(each for each in airplanes if each is not None),
        tuple(each for each in days if each is not None),
        edition,
    )


def _airplane(fields: Fields, folder: Path) -> FleetAirplane | None:
    registration, name = fields.text("registration"), fields.text("sheet")
    masses = [fields.number(key, least=0.0) * POUND for key in ("light_lb", "heavy_lb")]
    if not name:
        return None
    try:
        sheet = load_sheet(folder / name if name.endswith(".toml") else name)
    except ChalkwingError as error:
        fields.fault("sheet", str(error))
        return None
    if masses[0] > masses[1]:
        fields.fault("light_lb", "is more than heavy_lb")
    return FleetAirplane(registration, sheet, *masses)


def _day(fields: Fields) -> FleetDay | None:
    name = fields.text("name")
    elevation = fields.number("elevation_ft") * FOOT
    temperature = fields.number("temperature_c", least=-80.0) + ZERO_CELSIUS
    try:
        day = Conditions.with_temperature(temperature=temperature, elevation=elevation)
    except ChalkwingError as error:
        fields.fault("temperature_c", str(error))
        return None
    return FleetDay(name, day)
