"""The reading of units as people write them, against their definitions."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chalkwing.unit_text import read_unit, to_si

# Definitions: international foot, mile and pound (NIST SP 811, App. B.8), nautical mile (SI Brochure, 9th
# ed., table 8), US gallon 231 cubic inches, imperial gallon 4.54609 l (NIST SP 811). Exact where given so.
SPELLINGS = [
    ("ft FT Feet (ft) [feet] foot Fuß pieds ft.", 0.3048, 0.0, "length"),
    ("m M meters metres Meter", 1.0, 0.0, "length"),
    ("NM nmi", 1852.0, 0.0, "length"),
    ("kt kts KT knots Knoten nœuds nudos kn nm/h", 1852 / 3600, 0.0, "speed"),
    ("mph MPH mi/h", 0.44704, 0.0, "speed"),
    ("km/h kmh kph Km/H", 1 / 3.6, 0.0, "speed"),
    ("m/s mps m/sec m·s-1 m*s^-1", 1.0, 0.0, "speed"),
    ("fpm ft/min FPM feet/minute ft/mn", 0.00508, 0.0, "speed"),
    ("deg ° degrees Grad degrés º DEG", math.pi / 180, 0.0, "angle"),
    ("rad radians", 1.0, 0.0, "angle"),
    ("deg/s °/s dps deg/sec", math.pi / 180, 0.0, "angular_rate"),
    ("rpm RPM 1/min U/min tr/min rev/min", math.pi / 30, 0.0, "angular_rate"),
    ("°C degC C Celsius ℃", 1.0, 273.15, "temperature"),
    ("°F degF F Fahrenheit", 5 / 9, 459.67 * 5 / 9, "temperature"),
    ("K kelvin", 1.0, 0.0, "temperature"),
    ("g G g's", 1.0, 0.0, "load"),
    ("m/s^2 m/s² m/s2 m/s/s m/sec^2", 1 / 9.80665, 0.0, "load"),
    ("ft/s^2", 0.3048 / 9.80665, 0.0, "load"),
    ("inHg INHG inches_Hg", 3386.389, 0.0, "pressure"),
    ("hPa mbar mb millibars", 100.0, 0.0, "pressure"),
    ("psi PSI", 6894.757293168361, 0.0, "pressure"),
    ("% pct Prozent", 0.01, 0.0, "ratio"),
    ("gal/hr gph gal/h US_gal/hr GPH", 3.785411784e-3 / 3600, 0.0, "volume_flow"),
    ("imp_gal/hr", 4.54609e-3 / 3600, 0.0, "volume_flow"),
    ("l/h L/hr lph litres/hour", 1e-3 / 3600, 0.0, "volume_flow"),
    ("lb/hr pph lbs/hr", 0.45359237 / 3600, 0.0, "mass_flow"),
    ("s sec seconds Sekunden", 1.0, 0.0, "time"),
    ("ms", 1e-3, 0.0, "time"),
]
CASES = [
    (spelling.replace("_", " "), scale, offset, kind)
    for spellings, scale, offset, kind in SPELLINGS
    for spelling in spellings.split()
]


@pytest.mark.parametrize(("text", "scale", "offset", "kind"), CASES)
def test_a_spelling_is_read_as_its_unit(text: str, scale: float, offset: float, kind: str) -> None:
    unit = read_unit(text)
    assert unit is not None
    assert unit.kind == kind
    assert unit.scale == pytest.approx(scale, rel=1e-14)
    assert unit.offset == pytest.approx(offset, rel=1e-14)
    assert to_si(text) == (unit.scale, unit.offset)


@pytest.mark.parametrize(
    ("text", "qualifier"),
    [
        ("ft msl", "msl"),
        ("ft AGL", "agl"),
        ("m wgs84", "ellipsoid"),
        ("deg true", "true"),
        ("deg mag", "magnetic"),
        ("KIAS", "indicated"),
        ("ft", None),
    ],
)
def test_the_reference_beside_a_unit_is_kept(text: str, qualifier: str | None) -> None:
    unit = read_unit(text)
    assert unit is not None
    assert unit.qualifier == qualifier


@pytest.mark.parametrize(
    "text", ["", " ", "Baro", "bool", "#", "UTC", "hh:mm:ss", "msl", "ft/", "/", "ft/xyz", "kt kt"]
)
def test_what_is_no_unit_is_not_taken_for_one(text: str) -> None:
    assert to_si(text) is None


@given(st.text(max_size=20))
def test_any_text_is_read_or_declined(text: str) -> None:
    found = to_si(text)
    assert found is None or all(math.isfinite(number) for number in found)


def test_temperatures_meet_at_forty_below() -> None:
    celsius, fahrenheit = to_si("degC"), to_si("degF")
    assert celsius is not None
    assert fahrenheit is not None
    # -40 °C is -40 °F by definition of both scales: 233.15 K.
    assert celsius[0] * -40 + celsius[1] == pytest.approx(233.15, abs=1e-12)
    assert fahrenheit[0] * -40 + fahrenheit[1] == pytest.approx(233.15, abs=1e-12)
