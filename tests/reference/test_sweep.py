"""Lazy eights and chandelles over the airplanes, masses, altitudes and banks a school may ask for, all cold.

Each is solved, or refused with the constraint and a change that makes it possible. A sample runs always, the
whole with ``-m accuracy``.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from chalkwing.air import standard_density
from chalkwing.airplane import AirplaneSheet, load_sheet, sheet_names
from chalkwing.errors import CannotBeFlown
from chalkwing.reference import Reference, solve
from chalkwing.units import deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, mps_to_kt, rad_to_deg

SINGLES = [name for name in sheet_names() if load_sheet(name).engines == 1]
MASSES, ALTITUDES = (0.0, 0.25, 0.5, 0.75, 1.0), (0.0, 2500.0, 5000.0, 7500.0, 10_000.0)
EIGHT_BANKS, CHANDELLE_BANKS = range(15, 61, 5), range(15, 46, 5)
NOSES = (None, 5.0, 10.0, 15.0, 20.0)


def mass_of(sheet: AirplaneSheet, share: float) -> float:
    return sheet.minimum_mass + share * (sheet.maximum_mass - sheet.minimum_mass)


def solved(kind: str, name: str, share: float, altitude: float, **settings: object) -> Reference | None:
    """The solution, or None where it is refused with a reason and a way out."""
    sheet = load_sheet(name)
    try:
        return solve(
            kind, sheet=sheet, mass=mass_of(sheet, share), entry_altitude=ft_to_m(altitude), **settings
        )
    except CannotBeFlown as error:
        refused = error
    assert refused.constraint in ("stall", "power", "idle", "time", "shape", "finish")
    assert refused.remedies, refused
    return None


def eight(name: str, share: float, altitude: float, bank: float, nose: float | None) -> Reference | None:
    settings = {"maximum_bank": float(deg_to_rad(bank)), "nose_up": nose and float(deg_to_rad(nose))}
    found = solved("lazy_eight", name, share, altitude, **settings)
    if found is None:
        return None
    assert abs(m_to_ft(found.fact("altitude_left_1"))) < 0.1
    assert abs(mps_to_kt(found.fact("airspeed_left_1"))) < 0.01
    assert abs(rad_to_deg(found.fact("heading_left_1"))) < 0.05
    assert 0.0 <= found.fact("throttle") <= 1.0 + 1e-6
    if nose is None:
        assert mps_to_kt(found.fact("least_margin")) == pytest.approx(10.0, abs=0.6)
    else:
        assert mps_to_kt(found.fact("least_margin")) > 4.5
    return found


def chandelle(name: str, share: float, altitude: float, bank: float) -> Reference | None:
    found = solved("chandelle", name, share, altitude, bank=float(deg_to_rad(bank)))
    if found is not None:
        assert mps_to_kt(found.point("180").stall_margin) == pytest.approx(5.0, abs=0.05)
        assert rad_to_deg(found.point("180").heading_change) == pytest.approx(180.0, abs=0.05)
    return found


@pytest.mark.parametrize("name", SINGLES)
def test_corners_are_solved_cold(name):
    for share, altitude, bank in product((0.0, 1.0), (0.0, 10_000.0), (15.0, 30.0, 60.0)):
        assert eight(name, share, altitude, bank, None) is not None, (name, share, altitude, bank)
    assert chandelle(name, 1.0, 0.0, 30.0) is not None


def test_altitudes_of_the_sweep_are_density_altitudes():
    # Standard air: what the altimeter shows is density altitude; at 10,000 ft 0.9046 kg/m³ (ICAO Doc 7488).
    assert float(standard_density(ft_to_m(10_000.0))) == pytest.approx(0.9046, abs=1e-4)


@pytest.mark.accuracy
def test_every_eight_is_solved_or_refused_with_a_way_out():
    for nose in NOSES:
        cases = list(product(SINGLES, MASSES, ALTITUDES, EIGHT_BANKS, (nose,)))
        refused = [case for case in cases if eight(*case) is None]
        print(f"nose-up {nose}: {len(cases) - len(refused)} of {len(cases)} solved, refused: {refused}")
        assert not refused


@pytest.mark.accuracy
def test_every_chandelle_is_solved_or_refused_with_a_way_out():
    cases = list(product(SINGLES, MASSES, ALTITUDES, CHANDELLE_BANKS))
    refused = [case for case in cases if chandelle(*case) is None]
    print(f"{len(cases) - len(refused)} of {len(cases)} chandelles solved, refused: {refused}")
    assert not refused


@pytest.mark.accuracy
def test_remedies_are_true():
    # Every way out that a refusal names is tried, at a margin nobody can have.
    for name, bank in product(SINGLES, (15.0, 30.0, 45.0)):
        sheet = load_sheet(name)
        asked = {"top_margin": kt_to_mps(60.0), "maximum_bank": float(deg_to_rad(bank))}
        with pytest.raises(CannotBeFlown) as caught:
            solve("lazy_eight", sheet=sheet, **asked)
        assert caught.value.remedies
        for setting, value in caught.value.remedies.items():
            assert np.isfinite(value)
            assert solve("lazy_eight", sheet=sheet, **{**asked, setting: value})
