"""Room to the ceiling, and the distances from cloud and visibilities of 14 CFR 91.155."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from chalkwing.errors import UnknownName
from chalkwing.reference.heights import height_at
from chalkwing.reference.reference import Reference
from chalkwing.units import MILE, ft_to_m

_HIGH = ft_to_m(10_000.0)
_LOW = ft_to_m(1_200.0)
_SOURCE = "14 CFR 91.155"


@dataclass(frozen=True)
class CloudMinimum:
    """What 14 CFR 91.155 gives: visibility, and distances below, above and beside cloud; all [m]."""

    visibility: float
    below: float
    above: float
    beside: float
    where: str


@dataclass(frozen=True)
class CloudRoom:
    """Room [m] from the plan's highest point to the ceiling (``inf`` where no ceiling is known)."""

    ceiling: float | None
    visibility: float | None
    room: float
    below: float
    needed_visibility: float
    source: str


def cloud_minimum(airspace: str, *, altitude: float, height: float, night: bool = False) -> CloudMinimum:
    """The minimum in a class of airspace, at an altitude above mean sea level and a height above ground [m].

    Source: the table of 14 CFR 91.155, read in a public copy; class A has none. Special VFR and the further
    exceptions of the section are left out.
    """
    if airspace not in tuple("BCDEG"):
        raise UnknownName(kind="class of airspace", name=airspace, known=tuple("BCDEG"))
    if airspace == "B":
        return CloudMinimum(3.0 * MILE, 0.0, 0.0, 0.0, "class B: clear of cloud")
    if airspace == "G" and height <= _LOW:
        if not night:
            return CloudMinimum(1.0 * MILE, 0.0, 0.0, 0.0, "class G at 1,200 ft or less, day: clear of cloud")
        return _usual(3.0, "class G at 1,200 ft or less, night")
    if airspace in ("E", "G") and altitude >= _HIGH:
        thousand = ft_to_m(1000.0)
        return CloudMinimum(5.0 * MILE, thousand, thousand, MILE, f"class {airspace} at 10,000 ft or above")
    day_g = airspace == "G" and not night
    return _usual(1.0 if day_g else 3.0, f"class {airspace}")


def _usual(miles: float, where: str) -> CloudMinimum:
    return CloudMinimum(miles * MILE, ft_to_m(500.0), ft_to_m(1000.0), ft_to_m(2000.0), where)


def cloud_room(reference: Reference, *, airspace: str = "E", night: bool = False) -> CloudRoom | None:
    """Room to the ceiling and the minimum at the top; None where neither ceiling nor visibility is known."""
    conditions = reference.conditions
    ceiling = conditions.ceiling_altitude
    top = height_at(conditions, reference.entry_altitude) + float(np.max(reference["height_change"]))
    minimum = cloud_minimum(airspace, altitude=top, height=top - conditions.highest_terrain, night=night)
    if ceiling is None and conditions.visibility is None:
        return None
    return CloudRoom(
        ceiling=ceiling,
        visibility=conditions.visibility,
        room=math.inf if ceiling is None else ceiling - top,
        below=minimum.below,
        needed_visibility=minimum.visibility,
        source=f"{_SOURCE}, {minimum.where}",
    )
