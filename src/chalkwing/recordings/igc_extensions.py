"""What the three-letter codes of IGC extensions mean, and in which decimals they were written.

The specification gives the codes; recorders differ in the number of decimals, which no header states. The
decimals are found from the values themselves: speeds by the path, the rest by what is possible.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.recordings.build import Column
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import DEGREE, KNOT, ZERO_CELSIUS, Floats

_KPH = 1 / 3.6
_SPEEDS = {"GSP": "ground_speed", "TAS": "true_airspeed", "IAS": "indicated_airspeed"}
_ANGLES = {"TRT": "track", "HDT": "heading_true", "HDM": "heading_magnetic", "WDI": "wind_from"}
_WINDS = ("WSP", "WVE")


@dataclass(frozen=True)
class Extension:
    """A named stretch of a B or K record: characters ``start`` to ``end``, counted from 0, end excluded."""

    code: str
    start: int
    end: int

    @property
    def width(self) -> int:
        """Number of characters."""
        return self.end - self.start

    def whole_numbers(self, lines: Sequence[str]) -> Floats:
        """The stretch of each line as a whole number, ``nan`` where it is none, shape (lines,)."""
        return np.array([_whole(line[self.start : self.end]) for line in lines], dtype=float)


def extension_columns(
    extensions: Sequence[Extension],
    lines: Sequence[str],
    *,
    line_numbers: Sequence[int],
    path_speed: Floats,
    notebook: Notebook,
) -> dict[str, Column]:
    """Columns of the extensions that are canonical channels; ``path_speed`` [m/s] has one value per line."""
    columns: dict[str, Column] = {}
    for extension in extensions if lines else ():
        known = extension.code in {*_SPEEDS, *_ANGLES, *_WINDS, "OAT", "VAR", "ACZ"}
        numbers = extension.whole_numbers(lines) if known else np.empty(0)
        if not known or not np.isfinite(numbers).any() or not np.any(np.nan_to_num(numbers) != 0):
            continue
        for row in np.flatnonzero(np.isnan(numbers)):
            notebook.fault(f"{extension.code} cannot be read in this line.", line_numbers[int(row)])
        name, values = _understood(extension, numbers, path_speed, notebook)
        columns.setdefault(name, Column(values, source=f"extension {extension.code}"))
    return columns


def _understood(
    extension: Extension, numbers: Floats, path_speed: Floats, notebook: Notebook
) -> tuple[str, Floats]:
    code = extension.code
    if code in _SPEEDS:
        return _SPEEDS[code], numbers * _speed_unit(extension, numbers, path_speed, notebook)
    if code in _ANGLES:
        return _ANGLES[code], numbers * DEGREE / 10.0 ** max(extension.width - 3, 0)
    if code in _WINDS:
        return "wind_speed", numbers * _KPH / 10.0 ** max(extension.width - 3, 0)
    if code == "OAT":
        return "outside_air_temperature", numbers / _decimals(numbers, 1, 60.0) + ZERO_CELSIUS
    if code == "VAR":
        return "vertical_speed", numbers / _decimals(numbers, 1 if extension.width < 5 else 2, 15.0)
    size = float(np.nanmedian(np.abs(numbers)))
    return "load_factor", numbers / 10.0 ** np.clip(np.round(np.log10(max(size, 1.0))), 0, 4)


def _decimals(numbers: Floats, usual: int, largest: float) -> float:
    """The divisor that makes numbers possible: none for whole units that fit, else the usual decimals."""
    size = float(np.nanquantile(np.abs(numbers), 0.99))
    return 1.0 if size <= largest and usual < 2 else 10.0**usual


def _speed_unit(extension: Extension, numbers: Floats, path_speed: Floats, notebook: Notebook) -> float:
    """Meters per second for one unit of the last digit, by agreement with the path.

    Kilometers per hour is usual, with two decimals in five digits; knots and other decimals occur. Airspeed
    differs from ground speed by the wind, so only a unit that fits far better than the usual replaces it.
    """
    usual = _KPH / 10.0 ** max(extension.width - 3, 0)
    both = np.isfinite(numbers) & np.isfinite(path_speed) & (path_speed > 5) & (numbers > 0)
    if both.sum() < 20:
        return usual
    ratio = float(np.median(numbers[both] / path_speed[both]))
    units = [unit / 10.0**decimals for unit in (_KPH, KNOT, 1.0) for decimals in range(4)]
    misfit = {unit: abs(np.log(ratio * unit)) for unit in units}
    best = min(misfit, key=lambda unit: misfit[unit])
    tolerance = 0.1 if extension.code == "GSP" else 0.4
    if misfit[usual] <= tolerance or misfit[best] > tolerance:
        return usual
    notebook.say(
        f"{extension.code} is written in units of {best:.4g} m/s, as the positions show, not {usual:.4g}.",
        channel=_SPEEDS[extension.code],
    )
    return best


def _whole(content: str) -> float:
    try:
        return float(int(content))
    except ValueError:
        return float("nan")
