"""A sheet file read into an `AirplaneSheet`, with all its faults reported at once."""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import cast, get_args

import numpy as np

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.airplane.priors import finite_wing_lift_slope, generic_priors
from chalkwing.airplane.quantities import FIGURES, KEYS, WING_LOADING_HIGH, WING_LOADING_LOW, Figure
from chalkwing.airplane.sheet import AirplaneSheet, Propeller
from chalkwing.errors import Fault, FaultySheet, UnknownName
from chalkwing.units import FOOT, KNOT, POUND, STANDARD_GRAVITY, Floats

SCHEMA = 1
_SHEETS = Path(__file__).parent / "sheets"
_PLAIN_KEYS = (
    "schema",
    "name",
    "title",
    "generic",
    "engines",
    "propeller",
    "source",
    "indicated_to_calibrated",
)
_TABLE_KEYS = ("indicated_kt", "calibrated_kt", "source")
_NEXT = "The keys a sheet may hold are listed in docs/airplane_sheets.md."


def sheet_names() -> tuple[str, ...]:
    """The names of the sheets that come with chalkwing; all are generic, none is a type."""
    return tuple(sorted(path.stem for path in _SHEETS.glob("*.toml")))


def load_sheet(path_or_name: str | Path) -> AirplaneSheet:
    """The airplane sheet in a TOML file, or one of :func:`sheet_names`.

    Parameters
    ----------
    path_or_name : str or Path
        A path, or text with a slash or ending in ``.toml``, is a file; anything else is a name.

    Raises
    ------
    UnknownName
        No sheet has that name.
    FaultySheet
        The file cannot be read, or has faults; all of them are listed with their keys.

    >>> load_sheet("four-seat-160").engines
    1
    """
    text = str(path_or_name)
    if isinstance(path_or_name, Path) or text.endswith(".toml") or "/" in text or "\\" in text:
        return read_sheet(Path(path_or_name))
    if text not in sheet_names():
        raise UnknownName(kind="airplane sheet", name=text, known=sheet_names())
    return read_sheet(_SHEETS / f"{text}.toml")


def read_sheet(path: Path) -> AirplaneSheet:
    """The airplane sheet in the file at ``path``; raises FaultySheet."""
    try:
        tables = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        message = f"cannot be read: {error.strerror}"
    except UnicodeDecodeError as error:
        message = f"is not UTF-8 text (byte {error.start})"
    except tomllib.TOMLDecodeError as error:
        message = f"is not TOML: {error}"
    else:
        return sheet_from(tables, name=path.stem, where=path.name)
    raise FaultySheet(where=path.name, faults=[Fault("file", message)])


def sheet_from(tables: Mapping[str, object], *, name: str, where: str) -> AirplaneSheet:
    """The airplane sheet in the tables of a file.

    ``name`` stands in where the tables give none; ``where`` names the file in a refusal (FaultySheet).
    """
    faults: list[Fault] = []
    _check_keys(tables, (*_PLAIN_KEYS, *KEYS), "", faults)
    if tables.get("schema") != SCHEMA:
        faults.append(Fault("schema", f"must be {SCHEMA}"))
    source = _text(tables, "source", faults, required=False)
    sources: dict[str, str] = {}
    values = _figures(tables, source, sources, faults)
    correction = _correction(tables.get("indicated_to_calibrated"), source, faults)
    title = _text(tables, "title", faults, required=True)
    called = _text(tables, "name", faults, required=False)
    generic, engines, propeller = (
        _generic(tables, faults),
        _engines(tables, faults),
        _propeller(tables, faults),
    )
    _check_sense(values, faults)
    if faults:
        raise FaultySheet(where=where, faults=faults, next_step=_NEXT)
    assumed = _complete(values)
    return AirplaneSheet(
        name=called or name,
        title=title,
        generic=generic,
        engines=engines,
        propeller=propeller,
        given_best_glide_speed=values.pop("best_glide_speed", None),
        given_glide_ratio=values.pop("glide_ratio", None),
        indicated_to_calibrated=correction,
        assumed=assumed,
        sources=sources,
        **values,
    )


# --- One key at a time ------------------------------------------------------------------------------------


def _check_keys(tables: Mapping[str, object], known: Iterable[str], path: str, faults: list[Fault]) -> None:
    listed = list(known)
    for key in tables:
        if key not in listed:
            near = difflib.get_close_matches(key, listed, n=1, cutoff=0.6)
            hint = f"; did you mean {near[0]}?" if near else ""
            faults.append(Fault(f"{path}{key}", f"is no key of an airplane sheet{hint}"))


def _text(tables: Mapping[str, object], key: str, faults: list[Fault], *, required: bool) -> str:
    value = tables.get(key)
    if isinstance(value, str) and value.strip():
        return value.strip()
    if value is not None or required:
        faults.append(Fault(key, "is missing" if value is None else "must be text"))
    return ""


def _generic(tables: Mapping[str, object], faults: list[Fault]) -> bool:
    value = tables.get("generic", False)
    if not isinstance(value, bool):
        faults.append(Fault("generic", "must be true or false"))
    return value is True


def _engines(tables: Mapping[str, object], faults: list[Fault]) -> int:
    value = tables.get("engines", 1)
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 4:
        faults.append(Fault("engines", f"must be a whole number from 1 to 4, not {value!r}"))
        return 1
    return value


def _propeller(tables: Mapping[str, object], faults: list[Fault]) -> Propeller:
    value = tables.get("propeller")
    if value not in get_args(Propeller):
        said = "is missing" if value is None else f"must be one of {', '.join(get_args(Propeller))}"
        faults.append(Fault("propeller", said))
    return cast("Propeller", value)


def _figures(
    tables: Mapping[str, object], source: str, sources: dict[str, str], faults: list[Fault]
) -> dict[str, float]:
    """Every number of the file in SI, by its bare name; what cannot be used becomes a fault."""
    values: dict[str, float] = {}
    for figure in FIGURES:
        given = [key for key in figure.keys if key in tables]
        if len(given) > 1:
            faults.append(Fault(given[1], f"repeats {given[0]}; give it once"))
        elif given:
            value = _number(given[0], tables[given[0]], source, figure, sources, faults)
            if value is not None:
                values[figure.name] = value
        elif figure.required:
            faults.append(Fault(" or ".join(figure.keys), "is missing"))
    return values


def _number(
    key: str, entry: object, source: str, figure: Figure, sources: dict[str, str], faults: list[Fault]
) -> float | None:
    """The SI value of ``1670`` or ``{ value = 1670, source = "..." }``."""
    if isinstance(entry, Mapping):
        _check_keys(entry, ("value", "source"), f"{key}.", faults)
        source = _text(entry, "source", faults, required=False) or source
        entry = entry.get("value")
    if isinstance(entry, bool) or not isinstance(entry, int | float) or not math.isfinite(entry):
        faults.append(Fault(key, "must be a number, or { value = number, source = text }"))
        return None
    if not source:
        faults.append(Fault(f"{key}.source", "is missing, and the sheet gives no source for all of it"))
    sources[figure.name] = source
    scale = KEYS[key][1]
    if not figure.low <= entry * scale <= figure.high:
        low, high = figure.low / scale, figure.high / scale
        faults.append(Fault(key, f"is {entry:g}, outside {low:.4g} to {high:.4g}; is it in another unit?"))
        return None
    return float(entry * scale)


def _correction(
    table: object, source: str, faults: list[Fault]
) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
    path = "indicated_to_calibrated"
    if table is None:
        return None
    if not isinstance(table, Mapping):
        faults.append(Fault(path, "must be a table with indicated_kt and calibrated_kt"))
        return None
    _check_keys(table, _TABLE_KEYS, f"{path}.", faults)
    if not (_text(table, "source", faults, required=False) or source):
        faults.append(Fault(f"{path}.source", "is missing, and the sheet gives no source for all of it"))
    columns = [_column(table.get(key), f"{path}.{key}", faults) for key in _TABLE_KEYS[:2]]
    if any(len(column) == 0 for column in columns):
        return None
    if len(columns[0]) != len(columns[1]):
        faults.append(
            Fault(path, f"pairs {len(columns[0])} indicated with {len(columns[1])} calibrated speeds")
        )
    indicated, calibrated = (tuple(float(speed) for speed in column * KNOT) for column in columns)
    return indicated, calibrated


def _column(value: object, path: str, faults: list[Fault]) -> Floats:
    numbers = value if isinstance(value, list) else []
    wrong = [x for x in numbers if isinstance(x, bool) or not isinstance(x, int | float) or not 0 <= x <= 400]
    if len(numbers) < 2 or wrong:
        faults.append(Fault(path, "must list two or more speeds from 0 to 400 kt"))
        return np.array([])
    column = np.array(numbers, dtype=float)
    if np.any(np.diff(column) <= 0):
        faults.append(Fault(path, "must rise from each speed to the next"))
    return column


# --- The sheet as a whole ---------------------------------------------------------------------------------


def _check_sense(values: Mapping[str, float], faults: list[Fault]) -> None:
    """Numbers that are each believable but contradict one another; what is missing cannot contradict."""
    for check in (_check_speeds, _check_loading, _check_span, _check_lift):
        fault = check(values)
        if fault is not None:
            faults.append(fault)


def _check_speeds(values: Mapping[str, float]) -> Fault | None:
    stall, maneuvering = values.get("stall_speed", 0.0), values.get("maneuvering_speed", math.inf)
    if stall >= maneuvering:
        said = f"of {stall / KNOT:.1f} kt is not below the maneuvering speed of {maneuvering / KNOT:.1f} kt"
        return Fault("stall_speed", said)
    glide = values.get("best_glide_speed", math.inf)
    if glide <= stall:
        said = f"of {glide / KNOT:.1f} kt is not above the stall speed of {stall / KNOT:.1f} kt"
        return Fault("best_glide_speed", said)
    return None


def _check_loading(values: Mapping[str, float]) -> Fault | None:
    if not {"mass", "wing_area"} <= values.keys():
        return None
    loading = values["mass"] * STANDARD_GRAVITY / values["wing_area"]
    if WING_LOADING_LOW <= loading <= WING_LOADING_HIGH:
        return None
    pounds = loading / (POUND * STANDARD_GRAVITY / FOOT**2)
    said = f"and mass give a wing loading of {pounds:.3g} lb/ft² ({loading:.4g} Pa); check both units"
    return Fault("wing_area", said)


def _check_span(values: Mapping[str, float]) -> Fault | None:
    if not {"wing_span", "wing_area"} <= values.keys():
        return None
    aspect = values["wing_span"] ** 2 / values["wing_area"]
    if 3.5 <= aspect <= 25.0:
        return None
    return Fault("wing_span", f"and wing_area give an aspect ratio of {aspect:.3g}; check both units")


def _check_lift(values: Mapping[str, float]) -> Fault | None:
    if not {"mass", "wing_area", "stall_speed"} <= values.keys() or _check_loading(values):
        return None
    needed = _lift_at(values, values["stall_speed"])
    if not 0.7 <= needed <= 2.6:
        said = f"needs a largest lift coefficient of {needed:.2f}; check it against mass and wing_area"
        return Fault("stall_speed", said)
    given = values.get("lift_max", needed)
    if not 0.85 <= given / needed <= 1.15:
        return Fault("lift_max", f"of {given:.2f} contradicts the stall speed, which needs {needed:.2f}")
    return None


def _lift_at(values: Mapping[str, float], calibrated_airspeed: float) -> float:
    pressure = 0.5 * SEA_LEVEL_DENSITY * calibrated_airspeed**2
    return values["mass"] * STANDARD_GRAVITY / (values["wing_area"] * pressure)


def _complete(values: dict[str, float]) -> tuple[str, ...]:
    """Fill in what the file left out, from its own numbers first; returns what is common practice only."""
    aspect = values["wing_span"] ** 2 / values["wing_area"]
    values.setdefault("lift_max", _lift_at(values, values["stall_speed"]))
    if {"best_glide_speed", "glide_ratio"} <= values.keys() and "zero_lift_drag" not in values:
        _polar_from_glide(values, aspect)
    common = generic_priors()
    beliefs = {
        "lift_slope": float(finite_wing_lift_slope(aspect)),
        "zero_lift_angle": common.zero_lift_angle.mean,
        "zero_lift_drag": common.zero_lift_drag.mean,
        "span_efficiency": common.span_efficiency.mean,
        "propeller_efficiency": common.propeller_efficiency.mean,
    }
    assumed = tuple(name for name in beliefs if name not in values)
    for name in assumed:
        values[name] = beliefs[name]
    return assumed


def _polar_from_glide(values: dict[str, float], aspect: float) -> None:
    """The polar whose best glide is the handbook's: half its drag there is zero-lift drag, half induced.

    The handbook's glide has a windmilling propeller, whose drag thus becomes part of the polar. A span
    efficiency that comes out unbelievable is left to common practice.
    """
    lift = _lift_at(values, values["best_glide_speed"])
    drag = lift / values["glide_ratio"]
    efficiency = lift**2 / (np.pi * aspect * 0.5 * drag)
    values["zero_lift_drag"] = 0.5 * drag
    if 0.4 <= efficiency <= 1.0:
        values.setdefault("span_efficiency", float(efficiency))
