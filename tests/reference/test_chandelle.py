"""The chandelle: the handbook's technique leg by leg, its finish, its warning, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.airplane import load_sheet
from chalkwing.errors import CannotBeFlown, OutsideModel
from chalkwing.reference import Reference, solve
from chalkwing.reference.what_if import situation_of
from chalkwing.units import STANDARD_GRAVITY, deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, mps_to_kt, rad_to_deg

SHEET = load_sheet("four-seat-160")
DEGREE = float(deg_to_rad(1.0))


@pytest.fixture(scope="module")
def chandelle() -> Reference:
    return solve("chandelle", sheet=SHEET, entry_altitude=ft_to_m(3500.0))


def within(reference: Reference, leg: str):
    found = next(each for each in reference.legs if each.name == leg)
    return (reference.time > found.start + 0.2) & (reference.time < found.end - 0.2)


def test_bank_is_held_to_90_while_the_nose_rises(chandelle):
    # FAA-H-8083-3C fig. 10-3; FAA-S-ACS-7B CA.V.C.
    climb = within(chandelle, "climb")
    np.testing.assert_allclose(rad_to_deg(chandelle["bank_into_turn"][climb]), 30.0, atol=0.01)
    assert chandelle["pitch_rate"][climb].min() > 0.5 * DEGREE
    assert np.all(np.diff(chandelle["calibrated_airspeed"][chandelle.time > chandelle.legs[0].end]) < 0.0)
    assert rad_to_deg(chandelle.point("90").heading_change) == pytest.approx(90.0, abs=0.02)


def test_from_90_the_nose_is_held_and_the_bank_comes_off_steadily(chandelle):
    out = within(chandelle, "roll-out")
    held = chandelle["pitch"][0] + chandelle.fact("nose_up")
    np.testing.assert_allclose(chandelle["pitch"][out], held, atol=0.001 * DEGREE)
    # The 90° point is the corner itself, read between two rows a tenth of a second apart.
    assert chandelle.point("90").pitch == pytest.approx(held, abs=0.05 * DEGREE)
    np.testing.assert_allclose(chandelle["roll_rate"][out], -chandelle.fact("roll_out_rate"), rtol=1e-3)


def test_wings_are_level_at_180_a_margin_above_the_stall(chandelle):
    end = chandelle.point("180")
    assert rad_to_deg(end.heading_change) == pytest.approx(180.0, abs=0.02)
    assert rad_to_deg(end.bank_into_turn) == pytest.approx(0.0, abs=0.02)
    assert mps_to_kt(end.stall_margin) == pytest.approx(5.0, abs=0.02)
    # Never on the boundary on the way there either.
    assert mps_to_kt(chandelle.fact("least_margin")) > 4.5
    assert chandelle["throttle"][-1] == 1.0


def test_height_gained_is_speed_given_up_and_thrust_over_drag(chandelle):
    # Energy: V²/2g given up, plus what thrust less drag did on the way, by the sheet's own thrust and drag.
    speed, height = chandelle["true_airspeed"], chandelle["height_change"]
    traded = (speed[0] ** 2 - speed[-1] ** 2) / (2.0 * STANDARD_GRAVITY)
    density = situation_of(chandelle).density(height)
    pull = SHEET.thrust(true_airspeed=speed, density=density, throttle=chandelle["throttle"])
    pull = pull - SHEET.drag(
        true_airspeed=speed, density=density, load_factor=chandelle["load_factor"], mass=chandelle.mass
    )
    work = np.trapezoid(speed * pull / (chandelle.mass * STANDARD_GRAVITY), chandelle.time)
    assert m_to_ft(traded + work) == pytest.approx(m_to_ft(height[-1]), abs=1.0)


def test_more_height_with_more_power_and_less_mass():
    gains = [
        solve("chandelle", sheet=SHEET, mass=share * SHEET.mass, power=power).fact("height_gained")
        for share, power in ((1.0, 0.9), (1.0, 1.0), (0.85, 1.0))
    ]
    assert gains[0] < gains[1] < gains[2]


def test_left_is_the_mirror_of_right(chandelle):
    left = solve("chandelle", sheet=SHEET, entry_altitude=ft_to_m(3500.0), direction="left")
    np.testing.assert_allclose(left["altitude_change"], chandelle["altitude_change"], atol=1e-4)
    np.testing.assert_allclose(left["heading_true"], -chandelle["heading_true"], atol=1e-6)


@pytest.mark.parametrize(("margin", "sounds"), [(3.0, True), (12.0, False)])
def test_says_where_the_warning_would_sound(margin, sounds):
    # Up to 5 kt above the stall by 14 CFR 23.207, or the sheet's own onset.
    reference = solve("chandelle", sheet=SHEET, finish_margin=kt_to_mps(margin))
    loads = reference["load_factor"]
    onset = SHEET.stall_warning_speed_at(mass=reference.mass, load_factor=loads)
    below = reference["calibrated_airspeed"] <= onset
    assert below.any() == sounds
    note = next(note for note in reference.notes if "warning" in note)
    assert ("stays silent" in note) != sounds
    if sounds:
        turned = reference["heading_change"][np.argmax(below)]
        assert reference.fact("heading_at_warning") == pytest.approx(turned)
        assert 90.0 < rad_to_deg(turned) < 180.0


def test_a_finish_on_the_boundary_is_refused():
    with pytest.raises(OutsideModel, match="At least 2 kt"):
        solve("chandelle", sheet=SHEET, finish_margin=kt_to_mps(1.0))


def test_a_nose_beyond_30_says_what_would_do():
    # So light and powerful that only a nose beyond 30° would slow it so far: more margin is possible.
    strong = load_sheet("four-seat-200")
    with pytest.raises(CannotBeFlown, match="no nose-up to 30°") as caught:
        solve(
            "chandelle",
            sheet=strong,
            mass=0.62 * strong.mass,
            entry_altitude=0.0,
            finish_margin=kt_to_mps(2.0),
        )
    remedies = caught.value.remedies
    assert remedies
    for name, value in remedies.items():
        kwargs = {"finish_margin": kt_to_mps(2.0), name: value}
        found = solve("chandelle", sheet=strong, mass=0.62 * strong.mass, entry_altitude=0.0, **kwargs)
        assert rad_to_deg(found.fact("nose_up")) <= 30.0
