"""Where things are on the Earth, and where north is: geodesics, a local frame, magnetic variation.

Everything is on the WGS 84 ellipsoid with latitudes, longitudes and azimuths in radians; azimuths and
variation are clockwise from true north (variation east positive). Geodesics are PROJ's [PROJ]; the magnetic
field is the World Magnetic Model [WMM2025], whose coefficients ``pygeomag`` carries from 2010 on.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import pyproj
from pygeomag import GeoMag

from chalkwing.units import Floats, Q, deg_to_rad, rad_to_deg, require_within, wrap_angle, wrap_compass

_WGS84 = pyproj.Geod(ellps="WGS84")
_DEGREES_HINT = "Was it in degrees?"


def _require_place(latitude: float | Floats, longitude: float | Floats) -> None:
    require_within("latitude", latitude, -np.pi / 2, np.pi / 2, "rad", hint=_DEGREES_HINT)
    require_within("longitude", longitude, -2 * np.pi, 2 * np.pi, "rad", hint=_DEGREES_HINT)


# --- Geodesics --------------------------------------------------------------------------------------------


class Line(NamedTuple):
    """A geodesic: length [m], and its azimuths at the start and at the end, forward [rad, 0 to 2 pi)."""

    distance: Any
    azimuth: Any
    final_azimuth: Any


def line_between(*, latitude: Any, longitude: Any, to_latitude: Any, to_longitude: Any) -> Line:
    """The shortest line from one place to another.

    Parameters
    ----------
    latitude, longitude, to_latitude, to_longitude : float or array, shapes that broadcast
        [rad]

    Returns
    -------
    Line
        ``nan`` where any coordinate is. The azimuth back is ``final_azimuth`` turned by pi.

    Raises
    ------
    OutsideModel
        A coordinate that can only be in degrees.

    Notes
    -----
    Source: PROJ's geodesics, good to 15 nm [PROJ].
    """
    _require_place(latitude, longitude)
    _require_place(to_latitude, to_longitude)
    lon, lat, to_lon, to_lat = _alike(longitude, latitude, to_longitude, to_latitude)
    azimuth, back, distance = _WGS84.inv(lon, lat, to_lon, to_lat, radians=True)
    final = wrap_compass(np.asarray(back) + np.pi)
    return Line(np.asarray(distance)[()], wrap_compass(np.asarray(azimuth))[()], final[()])


class Place(NamedTuple):
    """The end of a geodesic: latitude, longitude and the azimuth on arrival [rad]."""

    latitude: Any
    longitude: Any
    final_azimuth: Any


def place_at(*, latitude: Any, longitude: Any, azimuth: Any, distance: Any) -> Place:
    """The place a distance [m] away along a geodesic that starts at an azimuth [rad]; shapes broadcast.

    Raises
    ------
    OutsideModel
        A coordinate or azimuth that can only be in degrees.
    """
    _require_place(latitude, longitude)
    require_within("azimuth", azimuth, -2 * np.pi, 2 * np.pi, "rad", hint=_DEGREES_HINT)
    lon, lat, start, length = _alike(longitude, latitude, azimuth, distance)
    to_longitude, to_latitude, back = _WGS84.fwd(lon, lat, start, length, radians=True)
    final = wrap_compass(np.asarray(back) + np.pi)
    return Place(np.asarray(to_latitude)[()], np.asarray(to_longitude)[()], final[()])


def _alike(*parts: Any) -> list[Floats]:
    """Fresh arrays of one shape: PROJ works in place."""
    return [np.array(part, dtype=float) for part in np.broadcast_arrays(*parts)]


@dataclass(frozen=True)
class LocalFrame:
    """North and east [m] around an origin: the azimuthal equidistant projection of the ellipsoid.

    Distance and azimuth *from the origin* are exact. Between other points lengths across the radius are too
    long by c²/(6 R²): 10 millionths at c = 50 km from the origin, that is 1 cm in a kilometer. Lengths are on
    the ellipsoid: at a height h the airplane covers (1 + h/R) times as much, 0.05 % at 10,000 ft.

    Grid north is true north at the origin only; away from it true directions differ by :meth:`convergence`.

    Parameters
    ----------
    latitude, longitude : float
        Of the origin [rad].

    >>> frame = LocalFrame(latitude=0.7, longitude=-1.6)
    >>> north, east = frame.to_plane(0.7001, -1.6)
    >>> round(float(north), 1), round(abs(float(east)), 6)
    (636.2, 0.0)
    """

    latitude: float
    longitude: float
    _projection: pyproj.Proj = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        _require_place(self.latitude, self.longitude)
        lat_0, lon_0 = rad_to_deg(self.latitude), rad_to_deg(self.longitude)
        projection = pyproj.Proj(proj="aeqd", lat_0=lat_0, lon_0=lon_0, ellps="WGS84")
        object.__setattr__(self, "_projection", projection)

    def to_plane(self, latitude: Q, longitude: Q) -> tuple[Q, Q]:
        """North and east [m] of places at latitude and longitude [rad]; ``nan`` where either is."""
        _require_place(latitude, longitude)
        lost = np.isnan(latitude) | np.isnan(longitude)
        east, north = self._projection(
            np.where(lost, self.longitude, longitude), np.where(lost, self.latitude, latitude), radians=True
        )
        return np.where(lost, np.nan, north)[()], np.where(lost, np.nan, east)[()]  # type: ignore[return-value]

    def to_earth(self, north: Q, east: Q) -> tuple[Q, Q]:
        """Latitude and longitude [rad] of points at north and east [m]; ``nan`` where either is."""
        lost = np.isnan(north) | np.isnan(east)
        longitude, latitude = self._projection(
            np.where(lost, 0.0, east), np.where(lost, 0.0, north), inverse=True, radians=True
        )
        return np.where(lost, np.nan, latitude)[()], np.where(lost, np.nan, longitude)[()]  # type: ignore[return-value]

    def convergence(self, latitude: Q, longitude: Q) -> Q:
        """What to add to a direction in the plane to have the true direction there [rad].

        The line from the origin is straight in the plane, so its two azimuths tell how north has turned.
        At 50 km east of the origin it is 0.45 degrees at latitude 45.
        """
        line = line_between(
            latitude=self.latitude, longitude=self.longitude, to_latitude=latitude, to_longitude=longitude
        )
        turned: Q = wrap_angle(line.final_azimuth - line.azimuth)
        return turned


# --- The magnetic field -----------------------------------------------------------------------------------

_LIFE = 5.0
_MODELS: tuple[tuple[float, str, str], ...] = (
    (2010.0, "WMM2010", "wmm/WMM_2010.COF"),
    (2015.0, "WMM2015v2", "wmm/WMM_2015v2.COF"),
    (2020.0, "WMM2020", "wmm/WMM_2020.COF"),
    (2025.0, "WMM2025", "wmm/WMM_2025.COF"),
)
FIRST_YEAR, LAST_YEAR = _MODELS[0][0], _MODELS[-1][0] + _LIFE
_DRIFT_PER_YEAR = np.deg2rad(0.1)
"""How far variation commonly drifts in a year [rad]; common practice, no source."""


@dataclass(frozen=True)
class MagneticField:
    """The Earth's magnetic field at a place and date.

    ``variation`` (declination, east positive), ``variation_sd`` and ``dip`` (down positive) in radians; the
    intensities in nT, as the model gives them. ``year`` is the decimal year that was used, and
    ``date_outside_model`` tells that the date asked for has no model, so that the nearest year stood in.
    """

    variation: float
    variation_sd: float
    dip: float
    north: float
    east: float
    down: float
    horizontal: float
    total: float
    model: str
    year: float
    date_outside_model: bool


def decimal_year(date: dt.date | float) -> float:
    """A date as a year with its fraction; a number is taken to be one already.

    >>> decimal_year(dt.date(2025, 7, 2))
    2025.4986...
    """
    if not isinstance(date, dt.date):
        return float(date)
    start = dt.date(date.year, 1, 1)
    length = (dt.date(date.year + 1, 1, 1) - start).days
    day = dt.date(date.year, date.month, date.day)
    return date.year + (day - start).days / length


def magnetic_field(
    *, latitude: float, longitude: float, altitude: float = 0.0, date: dt.date | float
) -> MagneticField:
    """The field by the World Magnetic Model in force on the date; see :class:`MagneticField`.

    Parameters
    ----------
    latitude, longitude : float
        [rad]
    altitude : float
        Above the WGS 84 ellipsoid [m]; 100 m, and so the geoid, do not matter to the variation.
    date : datetime.date or float
        A date, or a decimal year. Outside 2010 to 2030 the nearest year of a model is used and said so.

    Notes
    -----
    Sources: [WMM2025] and its predecessors through ``pygeomag``; error model in :func:`variation_sd`.
    """
    _require_place(latitude, longitude)
    require_within("altitude", altitude, -1_000.0, 850_000.0, "m")
    asked = decimal_year(date)
    year = float(np.clip(asked, FIRST_YEAR, LAST_YEAR))
    name, coefficients = next((m[1], m[2]) for m in reversed(_MODELS) if m[0] <= year)
    found = _model(coefficients).calculate(
        glat=rad_to_deg(latitude), glon=rad_to_deg(wrap_angle(longitude)), alt=altitude / 1000.0, time=year
    )
    return MagneticField(
        variation=deg_to_rad(found.d),
        variation_sd=float(np.hypot(variation_sd(found.h), _DRIFT_PER_YEAR * (asked - year))),
        dip=deg_to_rad(found.i),
        north=found.x,
        east=found.y,
        down=found.z,
        horizontal=found.h,
        total=found.f,
        model=name,
        year=year,
        date_outside_model=asked != year,
    )


@lru_cache(maxsize=len(_MODELS))
def _model(coefficients: str) -> GeoMag:
    return GeoMag(coefficients_file=coefficients)


def variation_sd(horizontal: Q) -> Q:
    """Standard deviation [rad] of the modeled variation where the horizontal intensity is this [nT].

    sqrt(0.26² + (5417 / H)²) degrees, the error model of [WMM2025]; taken for the earlier models as well.
    """
    require_within("horizontal intensity", horizontal, 0.0, 70_000.0, "nT")
    sd: Q = deg_to_rad(np.hypot(0.26, 5417.0 / np.maximum(horizontal, 1.0)))
    return sd


def magnetic_variation(
    *, latitude: float, longitude: float, altitude: float = 0.0, date: dt.date | float
) -> tuple[float, float]:
    """Magnetic variation and its standard deviation [rad], east positive, at one place and date.

    >>> variation, sd = magnetic_variation(latitude=0.0, longitude=np.radians(120.0), date=2025.0)
    >>> round(float(np.degrees(variation)), 2), round(float(np.degrees(sd)), 2)
    (-0.16, 0.29)
    """
    found = magnetic_field(latitude=latitude, longitude=longitude, altitude=altitude, date=date)
    return found.variation, found.variation_sd


def variation_along(
    *,
    latitude: Floats,
    longitude: Floats,
    altitude: float = 0.0,
    date: dt.date | float,
    spacing: float = 5_000.0,
) -> tuple[Floats, Floats]:
    """Magnetic variation and its sd [rad] along a flight, quickly.

    The model is run about every ``spacing`` meters of path (at most 200 times) and interpolated: between
    knots 5 km apart the error is under 0.002 degrees outside the polar regions.

    Parameters
    ----------
    latitude, longitude : array, shape (n,)
        [rad], in order of time; ``nan`` where unknown.
    altitude : float
        [m]; one will do, since 3,000 m change the variation by under 0.02 degrees.

    Returns
    -------
    variation, variation_sd : arrays, shape (n,)
        ``nan`` where the position is.
    """
    known = np.flatnonzero(np.isfinite(latitude) & np.isfinite(longitude))
    variation, sd = np.full(len(latitude), np.nan), np.full(len(latitude), np.nan)
    if len(known) == 0:
        return variation, sd
    lat, lon = latitude[known], longitude[known]
    leg = line_between(latitude=lat[:-1], longitude=lon[:-1], to_latitude=lat[1:], to_longitude=lon[1:])
    path = np.concatenate(([0.0], np.cumsum(leg.distance)))
    count = int(np.clip(path[-1] / spacing, 1, 199)) + 1
    knots = np.unique(np.searchsorted(path, np.linspace(0.0, path[-1], count)))
    fields = [magnetic_field(latitude=lat[k], longitude=lon[k], altitude=altitude, date=date) for k in knots]
    variation[known] = np.interp(path, path[knots], np.unwrap(_column(fields, "variation")))
    sd[known] = np.interp(path, path[knots], _column(fields, "variation_sd"))
    return variation, sd


def _column(fields: Sequence[MagneticField], name: str) -> Floats:
    return np.array([getattr(one, name) for one in fields], dtype=float)
