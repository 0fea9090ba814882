"""The recorders that are measured: which file of a lesson, and whether the airplane's sheet is given."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

SHEETS = Path(__file__).parents[1] / "sheets"


@dataclass(frozen=True)
class Recorder:
    """``column`` names the column of the requirement's table that it is held against."""

    name: str
    title: str
    file: str
    column: str
    with_sheet: bool = False

    def sheet(self, airplane: str) -> Path | None:
        """The airplane sheet to give to the trunk, if one is given."""
        return SHEETS / f"sim-{airplane}.toml" if self.with_sheet else None


RECORDERS: dict[str, Recorder] = {
    recorder.name: recorder
    for recorder in (
        Recorder("avionics", "avionics log with attitude and airspeed, 1 Hz", "avionics.csv", "avionics"),
        Recorder("track", "GPS track only, 1 Hz, no airplane sheet", "gps.gpx", "track"),
        Recorder("track+sheet", "GPS track only, 1 Hz, with the airplane's sheet", "gps.gpx", "track", True),
        Recorder(
            "avionics+sheet", "avionics log, with the airplane's sheet", "avionics.csv", "avionics", True
        ),
        Recorder("positions", "positions and altitudes only, 1 Hz (GPX)", "gpx.gpx", "track"),
        Recorder("igc", "flight recorder (IGC)", "igc.igc", "track"),
        Recorder("nmea", "NMEA 0183 log", "nmea.nmea", "track"),
        Recorder("adsb", "ADS-B receiver", "adsb.csv", "track"),
        Recorder("phone", "phone log", "phone.csv", "track"),
    )
}
"""By name. The first three are those of the requirement; the others show what else to expect."""
MAIN = ("avionics", "track", "track+sheet")
