"""From what a file gave, known to be free of faults, to the whole sheet: rows, defaults, fit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import cast

import numpy as np

from chalkwing import air
from chalkwing.airplane.bridge import Frame
from chalkwing.airplane.correction import Table
from chalkwing.airplane.fit import fit
from chalkwing.airplane.handbook import (
    CenterOfGravityLimit,
    Climb,
    Configuration,
    Glide,
    Handbook,
    LevelAttitude,
    LevelFlight,
    SpeedAtMass,
    Stall,
    maneuvering_speed,
)
from chalkwing.airplane.reading import Row
from chalkwing.airplane.sheet import AirplaneSheet, Engine, Propeller
from chalkwing.units import POUND

MODEL = (
    "zero_lift_drag",
    "span_efficiency",
    "propeller_efficiency",
    "propeller_drag_area",
    "propeller_drag_open",
    "power_dropoff",
    "lift_slope",
    "zero_lift_angle",
    "lift_max",
)
"""Numbers of the model that a file may give itself instead of leaving them to the fit."""

LIGHT_PILOT = 77.0
"""A pilot and an hour's fuel in an otherwise empty airplane [kg]. Common practice, no source."""
LIGHTEST_SHARE = 0.75
"""Lightest over maximum mass where the empty mass is not given. Common practice, no source."""
HOLDS_POWER = -50.0
"""The ``power_dropoff`` of an engine whose power hardly falls with density: a turbocharger below its critical
altitude, an electric motor. At 10,000 ft it leaves 99.5 %."""

Values = Mapping[str, float]
Rows = Mapping[str, Sequence[Row]]


def assemble(
    values: Values,
    rows: Rows,
    words: Mapping[str, str | None],
    *,
    name: str,
    title: str,
    generic: bool,
    engines: int,
    notes: tuple[str, ...],
    correction: Table | None,
    sources: Mapping[str, str],
) -> AirplaneSheet:
    """The sheet; ``values`` and ``rows`` are in SI and were checked."""
    book = _handbook(values, rows, sources)
    propeller, engine = cast("Propeller", words["propeller"]), cast("Engine | None", words["engine"])
    completed = dict(values)
    assumed = _complete(completed, book, words)
    governed = propeller == "constant_speed"
    frame = Frame(
        completed["wing_area"],
        completed["wing_span"],
        completed["power"],
        governed,
        completed["maneuvering_speed"],
    )
    fitted = fit(
        frame,
        book,
        {key: completed[key] for key in MODEL if key in completed},
        engines=engines,
        propeller_diameter=completed.get("propeller_diameter"),
        rated_engine_speed=completed.get("rated_engine_speed"),
        lapse_known=None if engine in (None, "normally_aspirated") else HOLDS_POWER,
    )
    speed, ratio = completed.pop("best_glide_speed", None), completed.pop("glide_ratio", None)
    completed |= {key: number.value for key, number in fitted.numbers.items()}
    return AirplaneSheet(
        name=name,
        title=title,
        generic=generic,
        engines=engines,
        propeller=propeller,
        engine=engine or "normally_aspirated",
        category=words["category"] or "normal",
        notes=notes,
        given_best_glide_speed=speed,
        given_glide_ratio=ratio,
        indicated_to_calibrated=correction,
        handbook=book,
        fit=fitted,
        assumed=(*assumed, *fitted.assumed),
        sources=sources,
        **completed,
    )


def _complete(values: dict[str, float], book: Handbook, words: Mapping[str, str | None]) -> list[str]:
    """Fill in what the file left out, from its own numbers first; returns what is common practice only."""
    mass = values["mass"]
    values.setdefault("stall_speed", _at_mass(book.stalls, "clean", mass))
    if any(stall.configuration == "landing" for stall in book.stalls):
        values.setdefault("stall_speed_landing", _at_mass(book.stalls, "landing", mass))
    values.setdefault("maneuvering_speed", maneuvering_speed(book.maneuvering, mass))
    assumed = [] if words["category"] else ["category"]
    if "maximum_mass" not in values:
        values["maximum_mass"] = max([mass, *(row.mass for row in book.stalls + book.maneuvering)])
        assumed.append("maximum_mass")
    if "minimum_mass" not in values:
        lightest = LIGHTEST_SHARE * values["maximum_mass"]
        if "empty_mass" in values:
            lightest = values["empty_mass"] + LIGHT_PILOT
        values["minimum_mass"] = min(mass, lightest)
        assumed.append("minimum_mass")
    limits = limit_loads(words["category"] or "normal", values["maximum_mass"])
    for key, limit in zip(("limit_load_positive", "limit_load_negative"), limits, strict=True):
        if key not in values:
            values[key] = limit
            assumed.append(key)
    return assumed


def _at_mass(stalls: Iterable[Stall], configuration: Configuration, mass: float) -> float:
    """The mean of all stall speeds of a configuration, each brought to ``mass``."""
    rows = [stall for stall in stalls if stall.configuration == configuration]
    return float(np.mean([stall.speed * np.sqrt(mass / stall.mass) for stall in rows]))


def limit_loads(category: str, maximum_mass: float) -> tuple[float, float]:
    """Positive and negative limit load factor of a category, flaps up.

    14 CFR 23.337 as it stood before amendment 64 (normal 2.1 + 24,000/(W + 10,000), W in pounds, not above
    3.8; utility 4.4; acrobatic 6.0; negative 0.4 of it, 0.5 when acrobatic), and ASTM F2245 for light sport
    (4, -2). Both from memory. An experimental airplane is taken as normal, since nothing is known of it.

    >>> limit_loads("utility", 1000.0)
    (4.4, -1.76)
    """
    if category == "light_sport":
        return 4.0, -2.0
    if category == "acrobatic":
        return 6.0, -3.0
    positive = 4.4 if category == "utility" else min(3.8, 2.1 + 24_000.0 / (maximum_mass / POUND + 10_000.0))
    return positive, round(-0.4 * positive, 3)


# --- Rows -------------------------------------------------------------------------------------------------


def _handbook(values: Values, rows: Rows, sources: Mapping[str, str]) -> Handbook:
    mass = values["mass"]

    def mass_of(row: Row) -> float:
        return row.numbers.get("mass", mass)

    top = _top_rows(values, sources)
    return Handbook(
        stalls=top.stalls
        + tuple(
            Stall(
                cast("Configuration", row.texts["configuration"]),
                row.numbers["speed"],
                mass_of(row),
                row.texts["center_of_gravity"],
                row.source,
                row.path,
            )
            for row in rows["stall"]
        ),
        maneuvering=top.maneuvering
        + tuple(
            SpeedAtMass(row.numbers["speed"], row.numbers["mass"], row.source, row.path)
            for row in rows["maneuvering"]
        ),
        level_flights=tuple(
            LevelFlight(
                _density(row),
                _true_airspeed(row),
                row.numbers.get("power_percent"),
                row.numbers.get("engine_speed"),
                mass_of(row),
                row.source,
                row.path,
            )
            for row in rows["level_flight"]
        ),
        climbs=tuple(
            Climb(_density(row), _true_airspeed(row), row.numbers["rate"], mass_of(row), row.source, row.path)
            for row in rows["climb"]
        ),
        glides=top.glides
        + tuple(
            Glide(row.numbers["speed"], row.numbers.get("ratio"), mass_of(row), row.source, row.path)
            for row in rows["glide"]
        ),
        level_attitudes=tuple(
            LevelAttitude(row.numbers["speed"], row.numbers["pitch"], mass_of(row), row.source, row.path)
            for row in rows["level_attitude"]
        ),
        center_of_gravity_limits=tuple(
            CenterOfGravityLimit(row.numbers["mass"], row.numbers["forward"], row.numbers["aft"])
            for row in rows["center_of_gravity_limit"]
        ),
        recommended_entries=tuple(
            (row.texts["maneuver"], row.numbers["speed"]) for row in rows["recommended_entry"]
        ),
    )


def _top_rows(values: Values, sources: Mapping[str, str]) -> Handbook:
    """Numbers at the top of the file that stand for a row at the sheet's own mass."""
    mass = values["mass"]
    stalls = tuple(
        Stall(configuration, values[key], mass, "", sources[key], key)
        for key, configuration in _STALL_KEYS
        if key in values
    )
    maneuvering: tuple[SpeedAtMass, ...] = ()
    if "maneuvering_speed" in values:
        source = sources["maneuvering_speed"]
        maneuvering = (SpeedAtMass(values["maneuvering_speed"], mass, source, "maneuvering_speed"),)
    glides: tuple[Glide, ...] = ()
    speed, ratio = values.get("best_glide_speed"), values.get("glide_ratio")
    if speed is not None or ratio is not None:
        path = "glide_ratio" if speed is None else "best_glide_speed"
        glides = (Glide(speed, ratio, mass, sources[path], path),)
    return Handbook(stalls=stalls, maneuvering=maneuvering, glides=glides)


_STALL_KEYS: tuple[tuple[str, Configuration], ...] = (
    ("stall_speed", "clean"),
    ("stall_speed_landing", "landing"),
)


def _density(row: Row) -> float:
    density: float = air.density(
        pressure_altitude=row.numbers.get("pressure_altitude", 0.0),
        isa_deviation=row.numbers.get("isa_deviation", 0.0),
    )
    return float(density)


def _true_airspeed(row: Row) -> float:
    if "true_airspeed" in row.numbers:
        return row.numbers["true_airspeed"]
    speed: float = air.true_from_calibrated(
        calibrated_airspeed=row.numbers["speed"],
        pressure_altitude=row.numbers.get("pressure_altitude", 0.0),
        isa_deviation=row.numbers.get("isa_deviation", 0.0),
    )
    return float(speed)
