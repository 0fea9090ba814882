"""What pilots type on the command line of ``brief``, as SI values: masses, winds, altimeter settings."""

from __future__ import annotations

import re
from typing import Any, NoReturn

import click

NUMBER = r"[+-]?\d+(?:[.,]\d+)?"
_INHG = 3386.389
_UNITS: dict[str, dict[str, float]] = {
    "mass": {"lb": 0.45359237, "lbs": 0.45359237, "kg": 1.0},
    "length": {"ft": 0.3048, "m": 1.0},
    "visibility": {"sm": 1609.344, "km": 1000.0, "m": 1.0},
    "speed": {"kt": 1852.0 / 3600.0, "kts": 1852.0 / 3600.0},
}
# The conversions stand in chalkwing.units as well, which loads numpy: too slow for --help (decision 0002).
# A test holds the two to each other.


def decimal(text: str) -> float:
    """The value of what `NUMBER` matches, with a point or a comma."""
    return float(text.replace(",", "."))


class Measured(click.ParamType[float]):
    """A number with its unit written behind it; ``bare`` is the unit that no unit means, if any may.

    ``within`` is what can be meant at all, in the bare unit or the first of the kind: a slip of the pen is
    told in the unit that it was typed in, not by a solver in SI.
    """

    def __init__(
        self,
        kind: str,
        *,
        bare: str | None = None,
        least: float | None = None,
        within: tuple[float, float] | None = None,
    ) -> None:
        self.name = kind
        self._units = _UNITS[kind]
        self._bare = bare
        self._least = least
        self._within = within

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The value in SI."""
        if isinstance(value, float):
            return value
        match = re.fullmatch(rf"({NUMBER})\s*([a-zA-Z]*)", str(value).strip())
        if match is None:
            self._refuse(f"{value!r} is not a number with a unit", param, ctx)
        unit = match[2].lower() or self._bare
        if unit is None:
            self._refuse(f"{value!r} has no unit", param, ctx)
        if unit not in self._units:
            self._refuse(f"{match[2]!r} is no unit of {self.name}", param, ctx)
        number = decimal(match[1])
        if self._least is not None and number < self._least:
            self.fail(f"{value!r} must be at least {self._least:g}.", param, ctx)
        self._hold(str(value), number * self._units[unit], param, ctx)
        return number * self._units[unit]

    def _hold(
        self, said: str, found: float, param: click.Parameter | None, ctx: click.Context | None
    ) -> None:
        if self._within is None:
            return
        unit = self._bare or next(iter(self._units))
        low, high = self._within
        if not low <= found / self._units[unit] <= high:
            self.fail(f"{said!r} lies outside {_span(low, high, unit)}.", param, ctx)

    def _refuse(self, said: str, param: click.Parameter | None, ctx: click.Context | None) -> NoReturn:
        example = " or ".join(f"{2300 if self.name == 'mass' else 10}{unit}" for unit in self._units)
        self.fail(f"{said}; write it like {example}.", param, ctx)


class Plain(click.ParamType[float]):
    """A bare number of one unit, within what can be meant at all."""

    name = "number"

    def __init__(self, unit: str, low: float, high: float) -> None:
        self._unit, self._low, self._high = unit, low, high

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number, in its unit."""
        if isinstance(value, float):
            return value
        text = str(value).strip()
        if re.fullmatch(NUMBER, text) is None:
            self.fail(f"{text!r} is no number; write it in {self._unit}, without the unit.", param, ctx)
        number = decimal(text)
        if not self._low <= number <= self._high:
            self.fail(f"{text!r} lies outside {_span(self._low, self._high, self._unit)}.", param, ctx)
        return number


def _span(low: float, high: float, unit: str) -> str:
    return f"{low:g} to {high:g} {unit}".replace("-", "\N{MINUS SIGN}")


MASS_LB = (500.0, 13_000.0)
"""From an ultralight to what the solvers take: 6,000 kg."""
ALTITUDE_FT = (-1_500.0, 30_000.0)
SPEED_KT = (20.0, 400.0)


class Wind(click.ParamType[tuple[float, float, float | None]]):
    """``270/15`` or ``270/15@3000``: FROM degrees true, knots, and feet above mean sea level."""

    name = "wind"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float, float | None]:
        """Direction [deg], speed [kt] and altitude [ft] or None."""
        if isinstance(value, tuple):
            return value
        text = str(value).strip().lower()
        if text == "calm":
            return 0.0, 0.0, None
        match = re.fullmatch(
            r"(\d{1,3})\s*/\s*(\d{1,3}(?:\.\d+)?)\s*(?:kt)?\s*(?:@\s*(\d+)\s*(?:ft)?)?", text
        )
        if match is None:
            self.fail(f"{value!r} is no wind; write 270/15, 270/15@3000 or calm.", param, ctx)
        if int(match[1]) > 360:
            self.fail(f"{value!r}: the direction lies between 0 and 360.", param, ctx)
        return float(match[1]), float(match[2]), float(match[3]) if match[3] else None


class Setting(click.ParamType[float]):
    """An altimeter setting: 30.12 is inHg, 1018 is hPa; nothing else is believable."""

    name = "setting"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The setting [Pa]."""
        if isinstance(value, float):
            return value
        match = re.fullmatch(rf"[aAqQ]?({NUMBER})\s*(?:inhg|hpa|mb)?", str(value).strip(), re.IGNORECASE)
        number = decimal(match[1]) if match else 0.0
        if 2600.0 <= number <= 3200.0:
            number /= 100.0
        if not (26.0 <= number <= 32.0 or 880.0 <= number <= 1080.0):
            self.fail(f"{value!r} is no altimeter setting; write 30.12 (inHg) or 1018 (hPa).", param, ctx)
        return number * (_INHG if number <= 32.0 else 100.0)


class Variation(click.ParamType[float]):
    """``4W``, ``4.5E`` or a signed number of degrees, east positive."""

    name = "variation"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The variation [deg], east positive."""
        if isinstance(value, float):
            return value
        match = re.fullmatch(rf"({NUMBER})\s*°?\s*([eEwW]?)", str(value).strip())
        if match is None or (match[2] and match[1][0] in "+-"):
            self.fail(f"{value!r} is no variation; write 4W, 4E or -4.", param, ctx)
        degrees = decimal(match[1]) * (-1.0 if match[2] in ("w", "W") else 1.0)
        if abs(degrees) > 180.0:
            self.fail(f"{value!r} lies beyond 180°.", param, ctx)
        return degrees
