"""Geodesy against geographiclib, the local frame within its stated accuracy, the magnetic field by date.

``geographiclib`` is Karney's own pure-Python code; PROJ carries his C code, so the two are separate programs
of one method. The published lines and the WMM test values are in ``tests/published``.
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from chalkwing.earth import (
    LocalFrame,
    decimal_year,
    line_between,
    magnetic_field,
    magnetic_variation,
    place_at,
    variation_along,
    variation_sd,
)
from chalkwing.errors import OutsideModel
from chalkwing.units import wrap_angle

WGS84 = Geodesic.WGS84
ORIGINS = [(0.0, 10.0), (45.0, -93.0), (62.0, 25.0), (-37.9, 144.4), (78.0, -179.9)]


def _pairs(count: int, reach: float = 60.0) -> np.ndarray:
    """Pairs of places [deg], ``reach`` degrees apart at most in each coordinate."""
    rng = np.random.default_rng(7)
    start = rng.uniform([-80.0, -180.0], [80.0, 180.0], (count, 2))
    end = start + rng.uniform(-1.0, 1.0, (count, 2)) * [min(reach, 9.0), reach]
    return np.hstack((start, end))


def test_lines_agree_with_geographiclib() -> None:
    # Both claim 15 nm; 1e-6 m leaves room for round-off of coordinates in degrees. An azimuth is as good as
    # 1e-6 m over the length of the line, here at least 10 km.
    places = _pairs(40)
    line = line_between(
        latitude=np.radians(places[:, 0]),
        longitude=np.radians(places[:, 1]),
        to_latitude=np.radians(places[:, 2]),
        to_longitude=np.radians(places[:, 3]),
    )
    for k, place in enumerate(places):
        theirs = WGS84.Inverse(*place)
        assert line.distance[k] == pytest.approx(theirs["s12"], abs=1e-6)
        assert abs(wrap_angle(line.azimuth[k] - np.radians(theirs["azi1"]))) < 1e-10
        assert abs(wrap_angle(line.final_azimuth[k] - np.radians(theirs["azi2"]))) < 1e-10


def test_the_end_of_a_line_is_where_it_was_measured_to() -> None:
    places = np.radians(_pairs(40))
    line = line_between(
        latitude=places[:, 0], longitude=places[:, 1], to_latitude=places[:, 2], to_longitude=places[:, 3]
    )
    end = place_at(
        latitude=places[:, 0], longitude=places[:, 1], azimuth=line.azimuth, distance=line.distance
    )
    np.testing.assert_allclose(end.latitude, places[:, 2], atol=1e-12)
    np.testing.assert_allclose(wrap_angle(end.longitude - places[:, 3]), 0.0, atol=1e-11)
    np.testing.assert_allclose(wrap_angle(end.final_azimuth - line.final_azimuth), 0.0, atol=1e-9)


@pytest.mark.parametrize("origin", ORIGINS)
def test_distance_and_azimuth_from_the_origin_are_exact(origin: tuple[float, float]) -> None:
    # An azimuthal equidistant projection is defined by this; a micrometer over 50 km is round-off.
    frame = LocalFrame(latitude=np.radians(origin[0]), longitude=np.radians(origin[1]))
    for azimuth in (0.0, 77.0, 181.0, 300.0):
        for distance in (10.0, 3_000.0, 50_000.0):
            end = WGS84.Direct(*origin, azimuth, distance)
            north, east = frame.to_plane(np.radians(end["lat2"]), np.radians(end["lon2"]))
            assert north == pytest.approx(distance * np.cos(np.radians(azimuth)), abs=1e-6)
            assert east == pytest.approx(distance * np.sin(np.radians(azimuth)), abs=1e-6)


@pytest.mark.parametrize("origin", ORIGINS)
def test_lengths_away_from_the_origin_are_as_good_as_stated(origin: tuple[float, float]) -> None:
    # Stated: across the radius too long by c²/(6 R²), 10.3 millionths at 50 km; along it exact.
    frame = LocalFrame(latitude=np.radians(origin[0]), longitude=np.radians(origin[1]))
    north, east = np.array([50_000.0, 50_000.0]), np.array([-500.0, 500.0])
    latitude, longitude = frame.to_earth(north, east)
    true = WGS84.Inverse(*np.degrees([latitude[0], longitude[0], latitude[1], longitude[1]]))["s12"]
    stretch = 1_000.0 / true - 1.0
    assert stretch == pytest.approx(50_000.0**2 / (6.0 * 6.371e6**2), rel=0.03)


def test_the_frame_and_the_earth_undo_each_other() -> None:
    frame = LocalFrame(latitude=0.8, longitude=-1.7)
    rng = np.random.default_rng(3)
    north, east = rng.uniform(-5e4, 5e4, (2, 200))
    again_north, again_east = frame.to_plane(*frame.to_earth(north, east))
    np.testing.assert_allclose(again_north, north, atol=1e-6)
    np.testing.assert_allclose(again_east, east, atol=1e-6)


@pytest.mark.parametrize("origin", ORIGINS)
def test_convergence_turns_plane_directions_into_true_ones(origin: tuple[float, float]) -> None:
    # Step 100 m true east of a place 40 km off, by geographiclib, and look at the step in the plane. The
    # projection keeps angles to c²/(6 R²), 7 millionths of a radian there; 2e-5 adds the step's curvature.
    frame = LocalFrame(latitude=np.radians(origin[0]), longitude=np.radians(origin[1]))
    for north, east in ((0.0, 40_000.0), (30_000.0, -25_000.0), (-40_000.0, 5_000.0)):
        latitude, longitude = frame.to_earth(north, east)
        step = WGS84.Direct(np.degrees(latitude), np.degrees(longitude), 90.0, 100.0)
        there = frame.to_plane(np.radians(step["lat2"]), np.radians(step["lon2"]))
        in_plane = np.arctan2(there[1] - east, there[0] - north)
        true = in_plane + frame.convergence(latitude, longitude)
        assert abs(wrap_angle(true - np.pi / 2)) < 2e-5


def test_convergence_is_what_the_docstring_says() -> None:
    frame = LocalFrame(latitude=np.radians(45.0), longitude=0.0)
    assert np.degrees(frame.convergence(*frame.to_earth(0.0, 50_000.0))) == pytest.approx(0.45, abs=0.005)
    assert frame.convergence(frame.latitude, frame.longitude) == 0.0


def test_lost_positions_stay_lost_and_arrays_are_their_elements() -> None:
    frame = LocalFrame(latitude=0.8, longitude=0.1)
    latitude, longitude = np.array([0.8001, np.nan, 0.8002]), np.array([0.1, 0.1, np.nan])
    for found in (*frame.to_plane(latitude, longitude), *frame.to_earth(latitude, longitude)):
        assert list(np.isnan(found)) == [False, True, True]
    assert frame.to_plane(latitude, longitude)[0][0] == frame.to_plane(0.8001, 0.1)[0]
    line = line_between(latitude=latitude, longitude=0.1, to_latitude=0.8, to_longitude=0.2)
    assert list(np.isnan(line.distance)) == [False, True, False]


def test_degrees_are_refused() -> None:
    with pytest.raises(OutsideModel, match="in degrees"):
        LocalFrame(latitude=45.0, longitude=0.0)
    with pytest.raises(OutsideModel, match="in degrees"):
        line_between(latitude=0.1, longitude=0.1, to_latitude=0.1, to_longitude=-93.0)
    with pytest.raises(OutsideModel, match="in degrees"):
        place_at(latitude=0.1, longitude=0.1, azimuth=270.0, distance=1.0)


# --- The magnetic field -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "date", "model", "variation"),
    [
        # WMM2020 test values, 2020.0 at 0 km (NOAA/NCEI, WMM2020_TEST_VALUES.txt), from memory; printed to
        # 0.01 degree. Those of WMM2025 are in tests/published.
        ((80.0, 0.0), 2020.0, "WMM2020", -1.28),
        ((0.0, 120.0), 2020.0, "WMM2020", 0.16),
        ((-80.0, 240.0), 2020.0, "WMM2020", 69.36),
    ],
)
def test_the_model_in_force_on_the_date_is_used(
    place: tuple[float, float], date: float, model: str, variation: float
) -> None:
    found = magnetic_field(latitude=np.radians(place[0]), longitude=np.radians(place[1]), date=date)
    assert found.model == model
    assert np.degrees(found.variation) == pytest.approx(variation, abs=0.0051)
    assert not found.date_outside_model


@pytest.mark.parametrize(
    ("date", "model", "outside"),
    [
        (dt.date(2005, 6, 1), "WMM2010", True),
        (dt.date(2010, 1, 1), "WMM2010", False),
        (dt.date(2014, 12, 31), "WMM2010", False),
        (dt.date(2019, 6, 1), "WMM2015v2", False),
        (dt.datetime(2024, 12, 31, 23, 0), "WMM2020", False),
        (dt.date(2025, 1, 1), "WMM2025", False),
        (2030.0, "WMM2025", False),
        (dt.date(2033, 1, 1), "WMM2025", True),
    ],
)
def test_a_date_without_a_model_takes_the_nearest_and_says_so(
    date: dt.date | float, model: str, outside: bool
) -> None:
    found = magnetic_field(latitude=0.8, longitude=-1.6, date=date)
    assert (found.model, found.date_outside_model) == (model, outside)
    if outside:
        # The longer the stretch, the less is known: 0.1 degree a year on top of the model's own error.
        inside = variation_sd(found.horizontal)
        years = abs(decimal_year(date) - found.year)
        assert found.variation_sd == pytest.approx(np.hypot(inside, np.radians(0.1) * years))


def test_a_year_is_counted_in_its_own_days() -> None:
    assert decimal_year(dt.date(2024, 1, 1)) == 2024.0
    assert decimal_year(dt.date(2024, 7, 1)) == pytest.approx(2024 + 182 / 366)
    assert decimal_year(dt.date(2025, 12, 31)) == pytest.approx(2025 + 364 / 365)


def test_variation_along_a_flight_is_that_of_each_place() -> None:
    # 200 km across Alaska, where variation changes fast, with a hole: 0.002 degrees is what is promised.
    latitude = np.radians(np.linspace(61.0, 62.5, 3_000))
    longitude = np.radians(np.linspace(-150.0, -147.5, 3_000))
    latitude[1_000:1_100] = np.nan
    variation, sd = variation_along(latitude=latitude, longitude=longitude, date=dt.date(2026, 5, 1))
    assert np.array_equal(np.isnan(variation), np.isnan(latitude))
    for k in (0, 731, 999, 1_100, 1_777, 2_999):
        exact, exact_sd = magnetic_variation(
            latitude=latitude[k], longitude=longitude[k], date=dt.date(2026, 5, 1)
        )
        assert np.degrees(variation[k] - exact) == pytest.approx(0.0, abs=0.002)
        assert np.degrees(sd[k] - exact_sd) == pytest.approx(0.0, abs=0.002)


def test_variation_along_a_flight_that_stands_still_or_is_lost() -> None:
    still = np.full(5, 0.8)
    variation, _ = variation_along(latitude=still, longitude=still, date=2026.0)
    assert np.ptp(variation) == 0.0
    lost, lost_sd = variation_along(latitude=still * np.nan, longitude=still, date=2026.0)
    assert np.isnan(lost).all()
    assert np.isnan(lost_sd).all()


def test_altitude_hardly_matters_to_variation() -> None:
    # What variation_along leaves out. Its docstring says under 0.02 degrees in 3,000 m.
    for latitude, longitude in ((61.0, -150.0), (40.0, -100.0), (51.0, 10.0), (-33.0, 151.0)):
        place = {"latitude": np.radians(latitude), "longitude": np.radians(longitude), "date": 2026.0}
        ground, _ = magnetic_variation(**place, altitude=0.0)
        above, _ = magnetic_variation(**place, altitude=3_000.0)
        assert abs(np.degrees(above - ground)) < 0.02
