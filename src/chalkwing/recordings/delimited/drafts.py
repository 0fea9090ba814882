"""Channels in the making: a column's numbers, and the unit and sign they are believed to have."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.recordings.channels import KINDS, Datum
from chalkwing.recordings.delimited.rules import HELPERS, VELOCITY_DOWN
from chalkwing.unit_text import Unit, read_unit
from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT, Floats


@dataclass
class Draft:
    """One column on its way to a channel: ``si = scale * raw + offset``.

    ``stated`` says that the log writes the unit, ``fixed`` that the user does, which nothing overrules.
    ``said`` is the unit's name for messages.
    """

    channel: str
    written: str
    index: int
    raw: Floats
    scale: float
    offset: float = 0.0
    stated: bool = False
    fixed: bool = False
    sure: bool = True
    said: str = ""
    datum: Datum = "unknown"
    score: float = 1.0
    concepts: frozenset[str] = frozenset()

    @property
    def si(self) -> Floats:
        """The values in SI units, shape (n,)."""
        return self.scale * self.raw + self.offset


Drafts = dict[str, Draft]

_SPEEDS = ("kt", "m/s", "km/h", "mph", "cm/s", "mm/s")
CANDIDATES: dict[str, tuple[str, ...]] = {
    "speed": _SPEEDS,
    "vertical": ("fpm", "m/s", "kt", "fps", "km/h", "cm/s"),
    "length": ("ft", "m", "mm", "cm"),
    "angle": ("deg", "rad"),
    "angular_rate": ("deg/s", "rad/s"),
    "load": ("g", "m/s2"),
    "temperature": ("°C", "°F", "K"),
    "pressure": ("hPa", "inHg", "Pa", "kPa", "mmHg", "psi"),
}
"""Units that logs use for each dimension, the usual one first."""

_DIMENSIONS = {
    "m": "length",
    "m/s": "speed",
    "rad": "angle",
    "rad/s": "angular_rate",
    "K": "temperature",
    "Pa": "pressure",
}
_METRIC_BY_HABIT = {"velocity_north", "velocity_east", VELOCITY_DOWN, "wind_toward_north", "wind_toward_east"}


def dimension_of(channel: str) -> str:
    """Which list of ``CANDIDATES`` a channel draws its unit from; ``""`` for none."""
    if channel in {"vertical_speed"}:
        return "vertical"
    if channel in HELPERS:
        return "speed"
    if channel == "engine_speed":
        return "rpm"
    if KINDS[channel].unit == "1":
        return "load" if channel.endswith(("load", "load_factor")) else "ratio"
    return _DIMENSIONS.get(KINDS[channel].unit, "")


def usual_unit(channel: str, concepts: frozenset[str] = frozenset()) -> str:
    """The unit to assume where the log writes none."""
    if channel in _METRIC_BY_HABIT or (channel == "vertical_speed" and "up" in concepts):
        return "m/s"
    special = {"engine_speed": "rpm", "fuel_flow": "gph", "manifold_pressure": "inHg"}
    if channel in special:
        return special[channel]
    listed = CANDIDATES.get(dimension_of(channel))
    return listed[0] if listed else "1"


def unit_named(text: str) -> Unit:
    """A unit that is known to exist."""
    unit = read_unit(text)
    if unit is None:
        raise KeyError(text)
    return unit


def written_unit(channel: str, unit: Unit | None, text: str) -> tuple[float, float] | None:
    """Scale and offset of a unit written in the log, for a channel; None where it does not settle them."""
    if unit is None:
        return None
    dimension = dimension_of(channel)
    if unit.kind == "time":
        return (1.0, 0.0) if text.lower() == "ms" and dimension in {"speed", "vertical"} else None
    if dimension in {"load"} and unit.kind not in {"load", "ratio"}:
        return None
    if unit.kind == "ratio" and dimension not in {"ratio", "load"}:
        return None
    return unit.scale, unit.offset


def set_unit(draft: Draft, text: str) -> None:
    """Read the column in the named unit from now on."""
    unit = unit_named(text)
    draft.scale, draft.offset, draft.said = unit.scale, unit.offset, text


def share_inside(draft: Draft, channel: str | None = None) -> float:
    """Share of the values that lie within the believable range of the channel."""
    name = channel or draft.channel
    values = draft.si[np.isfinite(draft.raw)]
    if name not in KINDS or not len(values):
        return 1.0
    kind = KINDS[name]
    low, high = (-2.1 * np.pi, 4.1 * np.pi) if kind.circular else (kind.low, kind.high)
    return float(((values >= low) & (values <= high)).mean())


def unit_by_range(draft: Draft, inside: float = 0.7) -> str | None:
    """The first unit of the channel's dimension under which the values are believable."""
    keep = draft.scale, draft.offset, draft.said
    found = None
    for text in CANDIDATES.get(dimension_of(draft.channel), ()):
        set_unit(draft, text)
        if share_inside(draft) > inside:
            found = text
            break
    draft.scale, draft.offset, draft.said = keep
    return found


__all__ = [
    "CANDIDATES",
    "DEGREE",
    "FOOT",
    "FOOT_PER_MINUTE",
    "KNOT",
    "Draft",
    "Drafts",
    "dimension_of",
    "set_unit",
    "share_inside",
    "unit_by_range",
    "unit_named",
    "usual_unit",
    "written_unit",
]
