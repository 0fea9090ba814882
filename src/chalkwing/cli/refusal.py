"""A refusal as the user reads it."""

from __future__ import annotations

import re

import click

_PILOTS = {"m/s": (3600.0 / 1852.0, " kt"), "m": (1.0 / 0.3048, " ft"), "rad": (57.29577951308232, "°")}
_PILOTS["kg"] = (1.0 / 0.45359237, " lb")
# Not from chalkwing.units, which loads numpy: a refusal must come at once (decision 0002).
_NUMBER = r"[-+]?\d[\d.]*(?:e[-+]?\d+)?"
_OUTSIDE = re.compile(
    rf"of ({_NUMBER}) (m/s|m|rad|kg) lies outside ({_NUMBER}) to ({_NUMBER}) \2\.(?: Was it in [a-z ]+\?)?"
)


class Refused(click.ClickException):
    """What was wrong, where, and what to do next, on standard error. Exit code 2."""

    exit_code = 2

    def __init__(self, said: Exception | str) -> None:
        super().__init__(in_pilot_units(str(said)))


def in_pilot_units(said: str) -> str:
    """A range that the rooms refuse in SI, in the units of the command line.

    The rooms ask a caller in Python whether feet were meant; whoever typed feet here is not helped by that.

    >>> in_pilot_units("bank of 1.0472 rad lies outside 0.261799 to 0.785398 rad. Was it in degrees?")
    'bank of 60° lies outside 15 to 45°.'
    """

    def told(found: re.Match[str]) -> str:
        scale, unit = _PILOTS[found[2]]
        value, low, high = (_rounded(float(each) * scale) for each in (found[1], found[3], found[4]))
        return f"of {value}{unit} lies outside {low} to {high}{unit}."

    return _OUTSIDE.sub(told, said)


def _rounded(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 10 else f"{round(value, 1):g}"
