"""Numbers that are each believable but contradict one another; what is missing cannot contradict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from chalkwing import air
from chalkwing.airplane.quantities import WING_LOADING_HIGH, WING_LOADING_LOW
from chalkwing.airplane.reading import Reader, Row
from chalkwing.dynamics import power_dropoff
from chalkwing.units import FOOT, KNOT, POUND, STANDARD_GRAVITY

Values = Mapping[str, float]
Rows = Mapping[str, Sequence[Row]]

_RISING: tuple[tuple[str, str, str, str], ...] = (
    ("stall_speed", "stall speed", "maneuvering_speed", "maneuvering speed"),
    ("stall_speed_landing", "landing stall speed", "flaps_extended_speed", "flaps-extended speed"),
    ("stall_speed", "stall speed", "stall_warning_speed", "onset of the stall warning"),
    ("stall_speed", "stall speed", "best_glide_speed", "best glide speed"),
    ("stall_speed", "stall speed", "gear_operating_speed", "gear-operating speed"),
    ("stall_speed", "stall speed", "gear_extended_speed", "gear-extended speed"),
    ("maneuvering_speed", "maneuvering speed", "never_exceed_speed", "never-exceed speed"),
    ("normal_operating_speed", "normal operating speed", "never_exceed_speed", "never-exceed speed"),
    ("flaps_extended_speed", "flaps-extended speed", "never_exceed_speed", "never-exceed speed"),
    ("best_glide_speed", "best glide speed", "never_exceed_speed", "never-exceed speed"),
)
"""The first of each pair lies below the second, both at the sheet's mass. The first is told as the fault,
unless the second is among the following."""
_SECOND_IS_TOLD = ("stall_warning_speed", "best_glide_speed", "gear_operating_speed", "gear_extended_speed")
_MASSES = ("empty_mass", "minimum_mass", "mass", "maximum_mass")


def check_sense(reader: Reader, values: Values, rows: Rows, words: Mapping[str, str | None]) -> None:
    """Note every contradiction among the numbers of a sheet and its rows."""
    _check_needed(reader, values, rows)
    _check_order(reader, values)
    _check_masses(reader, values, rows)
    _check_loading(reader, values)
    _check_lift(reader, values)
    _check_rows(reader, values, rows, words)


def _check_needed(reader: Reader, values: Values, rows: Rows) -> None:
    """A stall and a maneuvering speed may stand at the top or in rows, but somewhere they must."""
    told = {fault.path.split("_k")[0].split("_mps")[0] for fault in reader.faults}
    clean = [row for row in rows["stall"] if row.texts.get("configuration") == "clean"]
    if "stall_speed" not in values and not clean and "stall_speed" not in told:
        reader.fault("stall_speed_kcas or stall_speed_kias or [[stall]]", "is missing for the clean airplane")
    if "maneuvering_speed" not in values and not rows["maneuvering"] and "maneuvering_speed" not in told:
        reader.fault("maneuvering_speed_kcas or maneuvering_speed_kias or [[maneuvering]]", "is missing")


def _check_order(reader: Reader, values: Values) -> None:
    for low, low_said, high, high_said in _RISING:
        if not {low, high} <= values.keys() or values[low] < values[high]:
            continue
        first, second = f"{values[low] / KNOT:.1f} kt", f"{values[high] / KNOT:.1f} kt"
        if high in _SECOND_IS_TOLD:
            reader.fault(high, f"of {second} is not above the {low_said} of {first}")
        else:
            reader.fault(low, f"of {first} is not below the {high_said} of {second}")
    landing, clean = values.get("stall_speed_landing"), values.get("stall_speed")
    if landing is not None and clean is not None and landing > clean:
        reader.fault(
            "stall_speed_landing",
            f"of {landing / KNOT:.1f} kt is above the clean one of {clean / KNOT:.1f} kt; flaps lower it",
        )
    warning = values.get("stall_warning_speed")
    if warning is not None and clean is not None and warning > clean + 20 * KNOT:
        reader.fault("stall_warning_speed", "is more than 20 kt above the stall speed")


def _check_masses(reader: Reader, values: Values, rows: Rows) -> None:
    given = [name for name in _MASSES if name in values]
    for low, high in pairwise(given):
        if values[low] > values[high] or (low == "empty_mass" and values[low] == values[high]):
            reader.fault(low, f"of {_mass(values[low])} is not below {high} of {_mass(values[high])}")
    utility, most = values.get("utility_mass"), values.get("maximum_mass")
    if utility is not None and most is not None and utility > most:
        reader.fault("utility_mass", f"of {_mass(utility)} is above maximum_mass of {_mass(most)}")
    for listed in rows.values():
        for row in listed:
            mass = row.numbers.get("mass")
            if mass is not None and most is not None and mass > 1.001 * most:
                reader.fault(f"{row.path}.mass", f"of {_mass(mass)} is above maximum_mass of {_mass(most)}")


def _mass(kilograms: float) -> str:
    return f"{kilograms / POUND:.0f} lb ({kilograms:.0f} kg)"


def _loading(values: Values) -> float | None:
    if not {"mass", "wing_area"} <= values.keys():
        return None
    return values["mass"] * STANDARD_GRAVITY / values["wing_area"]


def _check_loading(reader: Reader, values: Values) -> None:
    loading = _loading(values)
    if loading is not None and not WING_LOADING_LOW <= loading <= WING_LOADING_HIGH:
        pounds = loading / (POUND * STANDARD_GRAVITY / FOOT**2)
        said = f"and mass give a wing loading of {pounds:.3g} lb/ft² ({loading:.4g} Pa); check both units"
        reader.fault("wing_area", said)
    if {"wing_span", "wing_area"} <= values.keys():
        aspect = values["wing_span"] ** 2 / values["wing_area"]
        if not 3.5 <= aspect <= 25.0:
            reader.fault("wing_span", f"and wing_area give an aspect ratio of {aspect:.3g}; check both units")


def _check_lift(reader: Reader, values: Values) -> None:
    loading = _loading(values)
    if loading is None or not WING_LOADING_LOW <= loading <= WING_LOADING_HIGH:
        return
    for name, high in (("stall_speed", 2.6), ("stall_speed_landing", 3.2)):
        if name not in values:
            continue
        needed = _lift(loading, values[name])
        if not 0.7 <= needed <= high:
            said = f"needs a largest lift coefficient of {needed:.2f}; check it against mass and wing_area"
            reader.fault(name, said)
        elif name == "stall_speed" and not 0.85 <= values.get("lift_max", needed) / needed <= 1.15:
            said = f"of {values['lift_max']:.2f} contradicts the stall speed, which needs {needed:.2f}"
            reader.fault("lift_max", said)


def _lift(loading: float, calibrated_airspeed: float) -> float:
    return loading / (0.5 * air.SEA_LEVEL_DENSITY * calibrated_airspeed**2)


def _check_rows(reader: Reader, values: Values, rows: Rows, words: Mapping[str, str | None]) -> None:
    _check_stalls(reader, values, rows["stall"])
    _check_maneuvering(reader, values, rows["maneuvering"])
    for row in rows["level_flight"]:
        _check_level(reader, values, row, words)
    stall = values.get("stall_speed")
    for kind in ("climb", "glide", "level_attitude", "recommended_entry"):
        for row in rows[kind]:
            speed = row.numbers.get("speed")
            if speed is not None and stall is not None and speed <= 0.9 * stall:
                reader.fault(f"{row.path}.speed", f"of {speed / KNOT:.1f} kt lies below the stall speed")
    for row in rows["center_of_gravity_limit"]:
        if row.numbers.get("forward", 0.0) >= row.numbers.get("aft", np.inf):
            reader.fault(f"{row.path}.forward", "is not ahead of the aft limit")


def _at_sheet_mass(values: Values, row: Row) -> float | None:
    """A row's speed brought to the sheet's mass, for comparison."""
    speed = row.numbers.get("speed")
    if speed is None or "mass" not in values:
        return speed
    return float(speed * np.sqrt(values["mass"] / row.numbers.get("mass", values["mass"])))


def _check_stalls(reader: Reader, values: Values, rows: Sequence[Row]) -> None:
    speeds = [(row, _at_sheet_mass(values, row)) for row in rows]
    clean = [s for row, s in speeds if s is not None and row.texts.get("configuration") == "clean"]
    clean += [values["stall_speed"]] if "stall_speed" in values else []
    for row, speed in speeds:
        if speed is None:
            continue
        if clean and row.texts.get("configuration") == "landing" and speed > max(clean):
            reader.fault(
                f"{row.path}.speed", "in landing configuration is above the clean one; flaps lower it"
            )
        if clean and row.texts.get("configuration") == "clean" and speed > 1.12 * min(clean):
            reader.fault(f"{row.path}.speed", "disagrees with another clean stall speed at the same mass")
        if "maneuvering_speed" in values and speed >= values["maneuvering_speed"]:
            reader.fault(f"{row.path}.speed", "is not below the maneuvering speed")
        loading = _loading(values)
        if loading is not None and not 0.7 <= _lift(loading, speed) <= 3.2:
            needed = _lift(loading, speed)
            reader.fault(f"{row.path}.speed", f"needs a largest lift coefficient of {needed:.2f}")


def _check_maneuvering(reader: Reader, values: Values, rows: Sequence[Row]) -> None:
    never = values.get("never_exceed_speed")
    known = [row for row in rows if {"mass", "speed"} <= row.numbers.keys()]
    for row in known:
        if never is not None and row.numbers["speed"] >= never:
            reader.fault(f"{row.path}.speed", "is not below the never-exceed speed")
        stall = values.get("stall_speed")
        at_mass = _at_sheet_mass(values, row)
        if stall is not None and at_mass is not None and at_mass <= stall:
            reader.fault(f"{row.path}.speed", "is not above the stall speed")
    ordered = sorted(known, key=lambda row: row.numbers["mass"])
    for lighter, heavier in pairwise(ordered):
        if lighter.numbers["mass"] == heavier.numbers["mass"]:
            reader.fault(heavier.path, f"repeats the mass of {lighter.path}")
        elif lighter.numbers["speed"] > heavier.numbers["speed"]:
            reader.fault(f"{lighter.path}.speed", f"falls with mass, against {heavier.path}")


def _check_level(reader: Reader, values: Values, row: Row, words: Mapping[str, str | None]) -> None:
    numbers = row.numbers
    fixed = words["propeller"] == "fixed_pitch"
    if "engine_speed" in numbers and "rated_engine_speed" not in values and fixed:
        reader.fault(f"{row.path}.engine_speed_rpm", "needs rated_engine_speed_rpm at the top of the sheet")
    elif numbers.get("engine_speed", 0.0) > 1.1 * values.get("rated_engine_speed", np.inf):
        reader.fault(f"{row.path}.engine_speed_rpm", "is above rated_engine_speed_rpm")
    lapses = words["engine"] in (None, "normally_aspirated")
    if lapses and {"power_percent", "pressure_altitude"} <= numbers.keys():
        density: float = air.density(
            pressure_altitude=numbers["pressure_altitude"], isa_deviation=numbers.get("isa_deviation", 0.0)
        )
        most = power_dropoff(density / air.SEA_LEVEL_DENSITY)
        if numbers["power_percent"] > most + 0.1:
            reader.fault(
                f"{row.path}.power_percent",
                f"is more than an engine without a turbocharger gives there, about {100 * most:.0f} %",
            )
