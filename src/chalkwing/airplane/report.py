"""A sheet told in pilot units: what the manual gives, what was fitted and how well, what was assumed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.airplane.fit import FittedNumber, Residual
from chalkwing.airplane.quantities import FIGURES, Figure
from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT, POUND

CAUTION = (
    "A training aid. The airplane's flight manual and placards, local rules and the licensed instructor "
    "prevail."
)
FAR = 3.0
"""A handbook number this many sd from the model is worth a second look."""

DISAGREEING = 1.5
"""From this factor on the sds the disagreement itself is told."""

TITLES = {
    "zero_lift_drag": "Zero-lift drag coefficient",
    "span_efficiency": "Span efficiency",
    "propeller_efficiency": "Useful share of rated power at VA",
    "propeller_drag_area": "Propeller drag area (throttle closed)",
    "propeller_drag_open": "Propeller drag area (throttle open)",
    "power_dropoff": "Power that friction takes",
    "lift_slope": "Lift slope",
    "zero_lift_angle": "Zero-lift angle",
    "lift_max": "Largest lift coefficient (clean)",
    "lift_max_landing": "Largest lift coefficient (landing)",
}
_MODEL_UNITS = {
    "propeller_drag_area": ("ft2", FOOT**2),
    "propeller_drag_open": ("ft2", FOOT**2),
    "lift_slope": ("per_rad", 1.0),
    "zero_lift_angle": ("deg", DEGREE),
}
_RESIDUAL_UNITS = {"kt": KNOT, "ft_per_min": FOOT_PER_MINUTE, "ratio": 1.0, "deg": DEGREE}
_FROM_FIT = (*TITLES, "best_glide_speed", "glide_ratio")


@dataclass(frozen=True)
class GivenNumber:
    """A number of the sheet; ``key`` is that of the file, with the unit; no source where it was assumed."""

    key: str
    value: float
    source: str
    assumed: bool


@dataclass(frozen=True)
class ModelNumber:
    """A number of the model; ``believed`` is what was believed before the handbook; None where given."""

    name: str
    title: str
    unit: str
    value: float
    sd: float
    origin: str
    believed: float | None
    believed_sd: float | None
    poorly_determined: bool


@dataclass(frozen=True)
class HandbookNumber:
    """A handbook number beside the model's; ``standardized`` is the difference over its sd."""

    path: str
    what: str
    unit: str
    handbook: float
    model: float
    standardized: float
    source: str


@dataclass(frozen=True)
class SpeedsAtMass:
    """Calibrated airspeeds at a mass, clean; the load factor at which the wing stalls at VA beside them."""

    mass_lb: float
    stall_kcas: float
    stall_warning_kcas: float
    stall_landing_kcas: float | None
    maneuvering_kcas: float
    best_glide_kcas: float
    load_factor_at_maneuvering: float


@dataclass(frozen=True)
class SheetReport:
    """All that a page or JSON shows of one sheet."""

    name: str
    title: str
    generic: bool
    category: str
    engines: int
    propeller: str
    engine: str
    numbers: tuple[GivenNumber, ...]
    speeds: tuple[SpeedsAtMass, ...]
    model: tuple[ModelNumber, ...]
    handbook: tuple[HandbookNumber, ...]
    known_together: tuple[str, ...]
    assumed: tuple[str, ...]
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    airspeed_shown: str
    caution: str = CAUTION


def report(sheet: AirplaneSheet) -> SheetReport:
    """The sheet told in pilot units."""
    poorly = sheet.fit.poorly_determined
    return SheetReport(
        name=sheet.name,
        title=sheet.title,
        generic=sheet.generic,
        category=sheet.category,
        engines=sheet.engines,
        propeller=sheet.propeller,
        engine=sheet.engine,
        numbers=tuple(_given(sheet)),
        speeds=tuple(_speeds(sheet, mass) for mass in sorted({sheet.minimum_mass, sheet.maximum_mass})),
        model=tuple(_model(number, number.name in poorly) for number in sheet.fit.numbers.values()),
        handbook=tuple(_handbook(residual, sheet) for residual in sheet.fit.residuals),
        known_together=tuple(
            f"{lowered(TITLES[a])} with {lowered(TITLES[b])} (correlation {r:+.2f})"
            for a, b, r in sheet.fit.together
        ),
        assumed=sheet.assumed,
        sources=tuple(dict.fromkeys(sheet.sources.values())),
        cautions=cautions(sheet),
        notes=sheet.notes,
        airspeed_shown="KCAS, since the sheet has no indicated-to-calibrated table"
        if sheet.indicated_to_calibrated is None
        else "KIAS, by the sheet's indicated-to-calibrated table; on this page in KCAS",
    )


def lowered(title: str) -> str:
    """A title within a sentence; names such as VA keep their capitals."""
    return title[0].lower() + title[1:]


def cautions(sheet: AirplaneSheet) -> tuple[str, ...]:
    """What is no fault of the sheet, but worth a second look."""
    found = []
    for residual in sheet.fit.residuals:
        if abs(residual.standardized) > FAR:
            number = _handbook(residual, sheet)
            found.append(
                f"{number.path}: {number.what} of {number.handbook:.4g} {_said(number.unit)} is "
                f"{abs(number.standardized):.1f} sd from the model's {number.model:.4g}; check the number, "
                "its mass and its configuration."
            )
    if sheet.fit.widened > DISAGREEING:
        found.append(
            f"The handbook numbers disagree with the model or one another {sheet.fit.widened:.1f} times as "
            "much as such numbers should; every ± is widened by that."
        )
    found.extend(
        f"{TITLES[name]} came to the edge of what is believable; a handbook number leads there."
        for name in sheet.fit.at_edge
    )
    load = (sheet.maneuvering_speed / sheet.stall_speed) ** 2
    if load > 1.02 * sheet.limit_load_positive:
        highest = sheet.stall_speed * np.sqrt(sheet.limit_load_positive) / KNOT
        found.append(
            f"At the maneuvering speed the wing can give {load:.1f} g before it stalls, the limit is "
            f"{sheet.limit_load_positive:.1f} g; it stalls first below {np.floor(highest):.0f} KCAS."
        )
    return tuple(found)


def _said(unit: str) -> str:
    return {"kt": "kt", "ft_per_min": "ft/min", "ratio": "to 1", "deg": "°"}[unit]


def _given(sheet: AirplaneSheet) -> list[GivenNumber]:
    """Every number that is not the fit's, in the file's own keys."""
    found = []
    for figure in FIGURES:
        value = getattr(sheet, figure.name, None)
        if value is None or figure.name in _FROM_FIT:
            continue
        found.append(_pilot(figure, value, sheet))
    return found


def _pilot(figure: Figure, value: float, sheet: AirplaneSheet) -> GivenNumber:
    key, scale = next(iter(figure.keys.items()))
    source = sheet.sources.get(figure.name, "")
    assumed = figure.name in sheet.assumed
    return GivenNumber(
        key, round(value / scale, 3), source if source or assumed else "from the rows below", assumed
    )


def _model(number: FittedNumber, poorly: bool) -> ModelNumber:
    unit, scale = _MODEL_UNITS.get(number.name, ("", 1.0))
    prior = number.prior
    return ModelNumber(
        name=number.name,
        title=TITLES[number.name],
        unit=unit,
        value=number.value / scale,
        sd=number.sd / scale,
        origin=number.origin,
        believed=None if prior is None else prior.mean / scale,
        believed_sd=None if prior is None else prior.sd / scale,
        poorly_determined=poorly,
    )


def _handbook(residual: Residual, sheet: AirplaneSheet) -> HandbookNumber:
    scale = _RESIDUAL_UNITS[residual.unit]
    return HandbookNumber(
        path=residual.path,
        what=residual.what,
        unit=residual.unit,
        handbook=residual.handbook / scale,
        model=residual.model / scale,
        standardized=residual.standardized,
        source=_source(residual.path, sheet),
    )


def _source(path: str, sheet: AirplaneSheet) -> str:
    if path in sheet.sources:
        return sheet.sources[path]
    return next((s for key, s in sheet.sources.items() if key.startswith(f"{path}.")), "")


def _speeds(sheet: AirplaneSheet, mass: float) -> SpeedsAtMass:
    stall: float = sheet.stall_speed_at(mass=mass)
    warning: float = sheet.stall_warning_speed_at(mass=mass)
    landing: float | None = None
    if sheet.stall_speed_landing is not None:
        landing = sheet.stall_speed_at(mass=mass, configuration="landing") / KNOT
    maneuvering = sheet.maneuvering_speed_at(mass)
    return SpeedsAtMass(
        mass_lb=mass / POUND,
        stall_kcas=stall / KNOT,
        stall_warning_kcas=warning / KNOT,
        stall_landing_kcas=landing,
        maneuvering_kcas=maneuvering / KNOT,
        best_glide_kcas=sheet.best_glide_speed_at(mass) / KNOT,
        load_factor_at_maneuvering=(maneuvering / stall) ** 2,
    )
