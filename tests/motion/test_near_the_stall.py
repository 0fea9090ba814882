"""Where lift curve and polar lose their credit, and how little a short stretch says of an airplane."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.motion import layout as at
from chalkwing.motion.priors import USUAL_AIRSPEED, plane_of, usual_airspeed
from chalkwing.motion.quantities import BENT_FROM, LINEAR_TO, bent_attack


def test_a_long_flight_is_taken_at_its_own_airspeed_and_a_short_one_hardly() -> None:
    hour, sd = usual_airspeed(40.0, lasted=3600.0)
    assert hour == pytest.approx(40.0, rel=1e-3)
    assert sd < 0.01
    moment, doubt = usual_airspeed(33.0, lasted=30.0)
    assert 33.0 < moment < USUAL_AIRSPEED
    assert doubt > 0.2


def test_a_short_stretch_widens_the_belief_about_lift_and_drag_and_a_long_one_does_not() -> None:
    short, long = (plane_of(None, typical_airspeed=50.0, lasted=lasted) for lasted in (30.0, 3600.0))
    assert short.slope_sd > 0.45
    assert short.drag_sd > 0.45
    assert long.slope_sd == pytest.approx(0.25, abs=0.001)
    # Wing loading goes with the square of the airspeed at which an airplane is flown.
    faster = plane_of(None, typical_airspeed=100.0, lasted=3600.0)
    assert faster.loading_over_slope / long.loading_over_slope == pytest.approx(4.0, rel=0.01)


def test_recorded_pitch_is_believed_against_the_lift_curve_only_where_the_curve_bends() -> None:
    x = np.zeros(at.ALL_STATES)
    x[at.PITCH_WANDER] = 0.1
    middle = 0.5 * (LINEAR_TO + BENT_FROM)
    found = [bent_attack(x, above) for above in (0.0, LINEAR_TO, middle, BENT_FROM, 1.0)]
    assert found == pytest.approx([0.0, 0.0, 0.05, 0.1, 0.1])
    assert bent_attack(x[: at.CORE_STATES], 1.0) == 0.0
