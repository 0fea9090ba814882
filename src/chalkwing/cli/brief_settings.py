"""``--set NAME=VALUE`` of ``brief``: the settings of the maneuvers' solvers, in the units that pilots write.

A bare number means what the other options mean by one: degrees, knots, feet, seconds. Taken as the solvers'
SI, ``bank=80`` was 80 radians.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import click

from chalkwing.cli.brief_values import NUMBER, decimal
from chalkwing.nearest import did_you_mean

_BARE = {"angle": "deg", "speed": "kt", "length": "ft", "time": "s"}
_WORDS = {"true": True, "yes": True, "false": False, "no": False}
SETTINGS: Mapping[str, str] = {
    "bank": "angle",
    "turn": "angle",
    "lead": "angle",
    "runway": "angle",
    "downwind": "angle",
    "top_margin": "speed",
    "least_margin": "speed",
    "finish_margin": "speed",
    "airspeed": "speed",
    "downwind_speed": "speed",
    "radius": "length",
    "height": "length",
    "length": "length",
    "width": "length",
    "spacing": "length",
    "abeam": "length",
    "float_distance": "length",
    "straight": "time",
    "throttle": "share",
    "power": "share or word",
    "turns": "count",
    "halves": "count",
    "recovery": "word",
    "rough_air": "yes or no",
}
"""What each setting is; a test holds them to what the solvers take."""
OPTIONS: Mapping[str, str] = {
    "entry_speed": "--entry-speed",
    "maximum_bank": "--max-bank",
    "nose_up": "--nose-up",
    "floor": "--floor",
}
"""Settings that have an option of their own."""


class Assignment(click.ParamType[tuple[str, object]]):
    """``NAME=VALUE`` for a setting of one maneuver's solver."""

    name = "assignment"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, object]:
        """Name, and the value in SI; whole numbers stay whole and words stay words."""
        if isinstance(value, tuple):
            return value
        name, sign, written = (part.strip() for part in str(value).partition("="))
        if not sign or not name or not written:
            self.fail(f"{value!r} is no setting; write NAME=VALUE, such as turns=3.", param, ctx)
        name = name.replace("-", "_")
        try:
            return name, read_setting(name, written)
        except ValueError as error:
            self.fail(f"{value!r}: {error}", param, ctx)


def read_setting(name: str, written: str) -> object:
    """The value of a setting as its solver takes it; ValueError says what is wrong and what to write."""
    if name in OPTIONS:
        raise ValueError(f"this has an option of its own, {OPTIONS[name]}.")
    if name not in SETTINGS:
        hint = did_you_mean(name, SETTINGS, most=2)
        known = ", ".join(sorted(SETTINGS))
        raise ValueError(f"no maneuver has such a setting; {hint}{' ' if hint else ''}Known: {known}.")
    kind = SETTINGS[name]
    match = re.fullmatch(rf"({NUMBER})\s*([^\d\s.,]\S*)?", written)
    if kind in ("word", "share or word") and match is None:
        return written
    if kind == "yes or no":
        if written.lower() not in _WORDS:
            raise ValueError("write yes or no.")
        return _WORDS[written.lower()]
    if kind == "count":
        if re.fullmatch(r"\+?\d+", written) is None:
            raise ValueError("write a whole number, without a unit.")
        return int(written)
    if match is None or kind == "word":
        raise ValueError(f"write {_example(name, kind)}.")
    number = decimal(match[1])
    return _share(number, match[2]) if kind.startswith("share") else _measured(name, kind, number, match[2])


def _share(number: float, unit: str | None) -> float:
    if unit not in (None, "%", "percent"):
        raise ValueError(f"{unit} is no unit of it; write 60% or 0.6.")
    share = number if unit is None else number / 100.0
    if not 0.0 <= share <= 1.0:
        raise ValueError("it lies between 0% and 100%; write 60% or 0.6.")
    return share


def _measured(name: str, kind: str, number: float, written: str | None) -> float:
    if written is None and name == "runway":
        # Runway 27 is 270 degrees: no guess would be right for both who think of a number and who of degrees.
        raise ValueError("is that the runway's number? Write its true direction with the unit, 270deg.")
    from chalkwing.unit_text import read_unit

    unit = read_unit(written or _BARE[kind])
    if unit is None or unit.kind != kind:
        article = "an" if kind == "angle" else "a"
        raise ValueError(f"{written} is no unit of {article} {kind}; write {_example(name, kind)}.")
    return number * unit.scale + unit.offset


def _example(name: str, kind: str) -> str:
    return {
        "angle": f"{name}=45deg",
        "speed": f"{name}=10kt" if name.endswith("margin") else f"{name}=95kt",
        "length": f"{name}=900ft",
        "time": f"{name}=4s",
        "share": f"{name}=60%",
    }.get(kind, f"{name}=full")
