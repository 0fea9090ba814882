"""Every real file through the trunk: what it became, or why it was refused."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import chalkwing
from chalkwing.debriefs import ManeuverReport
from chalkwing.errors import ChalkwingError

ORDINARY = ("adsb", "igc", "uav")
"""Folders in which nobody flew a maneuver of the course: surveys, thermals, drawings in the sky, a drone."""


@dataclass(frozen=True)
class Passage:
    """One file's way through the trunk; ``refused`` is the message where it was refused."""

    name: str
    hours: float
    flights: int
    maneuvers: tuple[ManeuverReport, ...]
    refused: str | None

    @property
    def ordinary(self) -> bool:
        return self.name.split("/")[0] in ORDINARY

    def told(self) -> str:
        if self.refused is not None:
            return f"refused: {self.refused}"
        found = [
            f"{each.direction} {each.kind.replace('_', ' ')} at {each.start_s:.0f}-{each.end_s:.0f} s, "
            f"{each.status.replace('_', ' ')}, probability {each.probability:.2f}"
            for each in self.maneuvers
        ]
        return "; ".join(found) or "no maneuver"


def files(data: Path) -> list[Path]:
    return sorted(data.glob("*/*.gz"))


@cache
def passage(path: Path) -> Passage:
    name = f"{path.parent.name}/{path.name.removesuffix('.gz')}"
    try:
        told = chalkwing.debrief(path)
    except ChalkwingError as error:
        return Passage(name, 0.0, 0, (), " ".join(str(error).split()))
    hours = sum(flight.end_s - flight.start_s for flight in told.flights) / 3600
    return Passage(name, hours, len(told.flights), told.maneuvers, None)
