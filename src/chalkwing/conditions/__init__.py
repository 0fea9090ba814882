"""The conditions of a lesson: place, pressure, temperature, wind, cloud, visibility; also from a METAR."""

from __future__ import annotations

from chalkwing.conditions.conditions import Conditions, WindLevel
from chalkwing.conditions.metar import from_metar

__all__ = ["Conditions", "WindLevel", "from_metar"]
