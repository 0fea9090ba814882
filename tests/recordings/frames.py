"""Mode S frames written by the book, to be read back (RTCA DO-260B, A.1.7 and 2.2.3)."""

from __future__ import annotations

import math

import numpy as np
from tests.recordings.known import Known

_POLYNOMIAL = 0x1FFF409


def parity(bits: int, length: int) -> int:
    """The 24-bit remainder of a frame whose last 24 bits are zero (ICAO Annex 10 IV, 3.1.2.3.3)."""
    for place in range(length - 1, 23, -1):
        if bits >> place & 1:
            bits ^= _POLYNOMIAL << (place - 24)
    return bits


def frame(address: int, payload: int) -> str:
    """An extended squitter (DF17, capability 5)."""
    head = (17 << 3 | 5) << 104 | address << 80 | payload << 24
    return f"{head | parity(head, 112):028X}"


def _zones(latitude: float) -> int:
    """Number of longitude zones (NL of DO-260B A.1.7.2)."""
    if abs(latitude) >= 87:
        return 1 if abs(latitude) > 87 else 2
    a = 1 - math.cos(math.pi / 30)
    return math.floor(2 * math.pi / math.acos(1 - a / math.cos(math.radians(latitude)) ** 2))


def cpr(latitude: float, longitude: float, odd: int) -> tuple[int, int]:
    """Compact position of an airborne aircraft, from degrees."""
    d_lat = 360 / (60 - odd)
    yz = math.floor(2**17 * (latitude % d_lat) / d_lat + 0.5)
    r_lat = d_lat * (yz / 2**17 + math.floor(latitude / d_lat))
    d_lon = 360 / max(_zones(r_lat) - odd, 1)
    xz = math.floor(2**17 * (longitude % d_lon) / d_lon + 0.5)
    return yz % 2**17, xz % 2**17


def position(latitude: float, longitude: float, altitude_ft: float, odd: int) -> int:
    """Payload of an airborne position with barometric altitude in 25 ft steps (type code 11)."""
    steps = round((altitude_ft + 1000) / 25)
    coded = (steps >> 4) << 5 | 1 << 4 | steps & 0xF
    lat, lon = cpr(latitude, longitude, odd)
    return 11 << 51 | coded << 36 | odd << 34 | lat << 17 | lon


def velocity(east_kt: float, north_kt: float, climb_fpm: float, above_baro_ft: float = 0.0) -> int:
    """Payload of an airborne velocity over ground (type code 19, subtype 1), barometric vertical rate."""
    east, north = round(east_kt), round(north_kt)
    rate, difference = round(climb_fpm / 64), round(above_baro_ft / 25)
    payload = 19 << 51 | 1 << 48 | (east < 0) << 42 | (abs(east) + 1) << 32 | (north < 0) << 31
    payload |= (abs(north) + 1) << 21 | 1 << 20 | (rate < 0) << 19 | (abs(rate) + 1) << 10
    return payload | (difference < 0) << 7 | (abs(difference) + 1)


def transmitted(
    known: Known, *, address: int = 0x4A1B2C, above_baro_ft: float = 150.0
) -> list[tuple[float, str]]:
    """A position and a velocity frame a row, even and odd in turn, with receive times."""
    sent = []
    for i in range(len(known)):
        lat, lon = np.degrees(known.latitude[i]), np.degrees(known.longitude[i])
        east, north = (known.speed[i] * f(known.track[i]) * 3600 / 1852 for f in (np.sin, np.cos))
        fpm = known.climb[i] / 0.3048 * 60
        altitude = known.altitude[i] / 0.3048
        sent.append((known.time[i], frame(address, position(lat, lon, altitude, i % 2))))
        sent.append((known.time[i], frame(address, velocity(east, north, fpm, above_baro_ft))))
    return sent
