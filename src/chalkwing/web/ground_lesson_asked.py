"""What a ground lesson asks for: its page's sliders and fields, as arguments of ``brief`` and as command."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from scipy.optimize import brentq

from chalkwing.airplane import AirplaneSheet, load_sheet, sheet_names
from chalkwing.briefing import briefable
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.errors import OutsideModel, RefusedRequest
from chalkwing.reference.reference import Direction
from chalkwing.reference.registry import settings_of
from chalkwing.units import DEGREE, FOOT, KNOT, POUND

USUAL_MANEUVER = "lazy_eight"
LOWEST_FIELD, HIGHEST_FIELD = -1000.0, 14_000.0
"""Elevations [ft] between which airfields lie."""


@dataclass(frozen=True)
class Control:
    """A number that may be set: ``name`` carries its unit; ``step`` is a slider's."""

    name: str
    title: str
    suffix: str
    low: float
    high: float
    step: float


@dataclass(frozen=True)
class _Passed:
    """How a number reaches ``brief``: its argument, SI value, and option on the command line."""

    argument: str
    scale: float
    option: str


_NOSE_UP = Control("nose_up_deg", "Nose-up at the 45° point", "°", 3.0, 25.0, 0.5)
_FINISH = Control("finish_margin_kt", "Over the stall at the finish", " kt", 2.0, 25.0, 0.5)
_DENSITY_ALTITUDE = Control(
    "density_altitude_ft", "Density altitude of the field", " ft", 0.0, 10_000.0, 250.0
)
_FOLDED = (
    Control("wind_from_deg", "Wind from, true", "°", 0.0, 360.0, 5.0),
    Control("wind_kt", "Wind speed", " kt", 0.0, 60.0, 1.0),
    Control("line_deg", "Entry heading, magnetic", "°", 0.0, 360.0, 5.0),
    Control("isa_deviation_c", "Warmer than standard", " °C", -40.0, 40.0, 1.0),
    Control("entry_speed_kt", "Entry speed", " KCAS", 30.0, 250.0, 1.0),
)
_PASSED: Mapping[str, _Passed] = {
    "mass_lb": _Passed("mass", POUND, "--mass {}lb"),
    "line_deg": _Passed("line", DEGREE, "--line {}"),
    "nose_up_deg": _Passed("nose_up", DEGREE, "--nose-up {}"),
    "max_bank_deg": _Passed("maximum_bank", DEGREE, "--max-bank {}"),
    "entry_speed_kt": _Passed("entry_speed", KNOT, "--entry-speed {}"),
    "finish_margin_kt": _Passed("finish_margin", KNOT, "--set finish_margin={}kt"),
}
_STEEPEST = {"steep_turn": 60.0, "steep_spiral": 60.0, "lazy_eight": 60.0, "emergency_descent": 60.0}


@cache
def sheet_of(name: str) -> AirplaneSheet:
    """A built-in sheet: reading one fits the airplane anew, which is slow for a slider."""
    return load_sheet(name)


@dataclass(frozen=True)
class Controls:
    """Those of one maneuver and airplane: ``sliders`` in view, ``folded`` fields."""

    sliders: tuple[Control, ...]
    folded: tuple[Control, ...]

    def known(self) -> dict[str, Control]:
        """By name."""
        return {each.name: each for each in (*self.sliders, *self.folded)}


def controls(kind: str, sheet: AirplaneSheet) -> Controls:
    """Mass, density altitude and what shapes the maneuver in view; everything else folded."""
    settings = settings_of(kind)
    mass = Control(
        "mass_lb",
        "Mass",
        " lb",
        25.0 * math.ceil(sheet.minimum_mass / POUND / 25.0 - 1e-6),
        25.0 * math.floor(sheet.maximum_mass / POUND / 25.0 + 1e-6),
        25.0,
    )
    bank = Control("max_bank_deg", "Steepest bank", "°", 10.0, _STEEPEST.get(kind, 45.0), 1.0)
    banked = "maximum_bank" in settings or "bank" in settings
    shaping = _NOSE_UP if "nose_up" in settings else _FINISH if "finish_margin" in settings else None
    third = shaping or (bank if banked else None)
    sliders = (mass, _DENSITY_ALTITUDE, *([third] if third else []))
    folded = list(_FOLDED)
    if not {"entry_speed", "airspeed"} & set(settings):
        folded = [each for each in folded if each.name != "entry_speed_kt"]
    if banked and third is not bank:
        folded.append(bank)
    if {"throttle", "power"} & set(settings):
        folded.append(Control("throttle_percent", "Throttle", " %", 0.0, 100.0, 1.0))
    return Controls(sliders, tuple(folded))


@dataclass(frozen=True)
class Asked:
    """One plan that a page asks for; ``values`` by the names of the controls, only those that were set."""

    kind: str
    airplane: str
    side: Direction
    values: Mapping[str, float]

    def arguments(self) -> dict[str, Any]:
        """The same as arguments of ``brief``."""
        found: dict[str, Any] = {
            passed.argument: self.values[name] * passed.scale
            for name, passed in _PASSED.items()
            if name in self.values
        }
        return {
            "airplane": sheet_of(self.airplane),
            "direction": self.side,
            "conditions": self.day(),
            **found,
            **self._power(),
        }

    def _power(self) -> dict[str, object]:
        """The throttle as the maneuver's solver takes it; a turn holds its speed unless power is as set."""
        if "throttle_percent" not in self.values:
            return {}
        share = self.values["throttle_percent"] / 100.0
        settings = settings_of(self.kind)
        if "throttle" not in settings:
            return {"power": share}
        return {"throttle": share, **({"power": "as_set"} if "power" in settings else {})}

    def elevation_ft(self) -> float:
        """Of a field whose density altitude is the one asked for, in whole feet.

        Raises
        ------
        OutsideModel
            No airfield lies so low or so high.
        """
        return _elevation_ft(
            self.values.get("density_altitude_ft", 0.0), self.values.get("isa_deviation_c", 0.0)
        )

    def day(self) -> Conditions:
        """The air over that field, with one wind at all heights."""
        elevation = self.elevation_ft() * FOOT
        winds: tuple[WindLevel, ...] = ()
        if self.values.get("wind_kt"):
            comes_from = (self.values.get("wind_from_deg", 0.0) % 360.0) * DEGREE
            winds = (WindLevel(elevation, comes_from, self.values["wind_kt"] * KNOT),)
        return Conditions(
            elevation=elevation, isa_deviation=self.values.get("isa_deviation_c", 0.0), winds=winds
        )

    def command(self) -> str:
        """The command that plans the same."""
        return " ".join(["chalkwing brief", self.kind, *self.options()])

    def options(self) -> Iterator[str]:
        """What follows the maneuver's name on the command line, option by option with its value."""
        yield f"--airplane {self.airplane}"
        yield f"--side {self.side}"
        yield f"--elevation {self.elevation_ft():.0f}"
        if self.values.get("isa_deviation_c"):
            yield f"--isa-deviation {_plain(self.values['isa_deviation_c'])}"
        if self.values.get("wind_kt"):
            comes_from = self.values.get("wind_from_deg", 0.0)
            yield f"--wind {comes_from:03.0f}/{_plain(self.values['wind_kt'])}"
        for name, passed in _PASSED.items():
            if name in self.values:
                yield passed.option.format(_plain(self.values[name]))
        for name, value in self._power().items():
            yield f"--set {name}={_plain(value) if isinstance(value, float) else value}"


@lru_cache(maxsize=256)
def _elevation_ft(wanted: float, warmer: float) -> float:
    """Of a field [ft] with a density altitude [ft], so much warmer than standard [K]; see Asked."""

    def miss(elevation_ft: float) -> float:
        day = Conditions(isa_deviation=warmer)
        return float(day.density_altitude(elevation_ft * FOOT)) / FOOT - wanted

    for end, side, way in ((LOWEST_FIELD, 1.0, "raise"), (HIGHEST_FIELD, -1.0, "lower")):
        if side * miss(end) > 0.0:
            already, place = miss(end) + wanted, "low" if side > 0 else "high"
            raise OutsideModel(
                f"no airfield lies so {place}: {warmer:+.0f} °C from standard makes a density altitude of "
                f"{already:,.0f} ft at {end:,.0f} ft of elevation.",
                next_step=f"Change the temperature, or {way} the density altitude.",
            )
    return float(round(brentq(miss, LOWEST_FIELD, HIGHEST_FIELD, xtol=0.1)))


def _plain(value: float) -> str:
    return f"{value:.10g}"


def asked_in(query: Mapping[str, str]) -> Asked:
    """What a page's address asks for.

    Raises
    ------
    RefusedRequest
        A name is unknown, or a number is none or out of its range.
    """
    kind = query.get("maneuver", USUAL_MANEUVER)
    if kind not in briefable():
        raise RefusedRequest("no maneuver of that name can be planned.", where="maneuver", status=404)
    airplane = query.get("airplane", sheet_names()[0])
    if airplane not in sheet_names():
        raise RefusedRequest("no airplane sheet has that name.", where="airplane", status=404)
    side = query.get("side", "right")
    if side not in ("left", "right"):
        raise RefusedRequest("the first turn goes left or right.", where="side", status=422)
    known = controls(kind, sheet_of(airplane)).known()
    values = {name: _number(query[name], control) for name, control in known.items() if query.get(name)}
    return Asked(kind, airplane, "left" if side == "left" else "right", values)


def _number(text: str, control: Control) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not control.low <= value <= control.high:
        low, high = f"{control.low:,g}", f"{control.high:,g}"
        raise RefusedRequest(
            f"must be a number from {low} to {high}{control.suffix}.", where=control.title, status=422
        )
    return value
