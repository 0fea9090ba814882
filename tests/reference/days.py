"""Days and airplanes that the tests of planned maneuvers share."""

from __future__ import annotations

from chalkwing.airplane import load_sheet
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.units import DEGREE, KNOT

FOUR_SEAT = load_sheet("four-seat-160")
SINGLES = tuple(load_sheet(name) for name in ("two-seat-100", "four-seat-160", "four-seat-200"))
TWIN = load_sheet("light-twin")

CALM = Conditions(elevation=300.0)
STEADY = Conditions(elevation=300.0, winds=(WindLevel(300.0, 60.0 * DEGREE, 16.0 * KNOT),))
SHEARED = Conditions(
    elevation=300.0,
    isa_deviation=8.0,
    winds=(WindLevel(350.0, 57.0 * DEGREE, 10.0 * KNOT), WindLevel(1500.0, 92.0 * DEGREE, 18.0 * KNOT)),
)
"""Warm, and the wind veers by 35 degrees and grows by 8 kt over 1,150 m."""
