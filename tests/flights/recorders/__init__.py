"""Recorder models: from the truth of a flight to the bytes of a file, with the errors real recorders make."""

from __future__ import annotations

from collections.abc import Callable

from tests.flights.recorders.avionics import LAYOUTS, avionics_log
from tests.flights.recorders.noise import samples
from tests.flights.recorders.others import adsb_table, phone_log
from tests.flights.recorders.tracks import gps_track, gpx_track, igc_log, kml_track, nmea_log
from tests.flights.truth import TruthFlight

RECORDERS: dict[str, tuple[str, Callable[[TruthFlight, int], bytes]]] = {
    "avionics": (".csv", avionics_log),
    "gpx": (".gpx", gpx_track),
    "gps": (".gpx", gps_track),
    "igc": (".igc", igc_log),
    "nmea": (".nmea", nmea_log),
    "kml": (".kml", kml_track),
    "adsb": (".csv", adsb_table),
    "phone": (".csv", phone_log),
}
"""Recorder name to file suffix and model."""


SALTS = {"avionics": 51, "gpx": 61, "gps": 62, "igc": 63, "nmea": 64, "kml": 65, "adsb": 71, "phone": 72}
"""What keeps the random numbers of one recorder apart from those of another on the same flight."""


def first_row(truth: TruthFlight, recorder: str, seed: int) -> float:
    """Time of the file's first row on the truth's own clock [s]: stamps may be cut to whole seconds."""
    return float(samples(truth, seed=seed, salt=SALTS[recorder], gaps=False).time[0])


def record(truth: TruthFlight, recorder: str, seed: int) -> bytes:
    """The file that ``recorder`` would have written on this flight; the same for the same seed."""
    return RECORDERS[recorder][1](truth, seed)


__all__ = ["LAYOUTS", "RECORDERS", "first_row", "record"]
