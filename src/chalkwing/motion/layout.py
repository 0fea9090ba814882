"""Where each unknown of the estimator stands: the states of a knot, the statics of a flight.

States are Cartesian (ground velocity rather than airspeed, path angle and heading) because then gusts and
shear enter Newton's law exactly, with no fictitious terms, and position follows linearly.
"""

from __future__ import annotations

from typing import Final

# --- states, one set per knot --------------------------------------------------------------------------
NORTH: Final = 0  # m, local ground frame
EAST: Final = 1
HEIGHT: Final = 2  # m, geometric
U_NORTH: Final = 3  # m/s, velocity over the ground
U_EAST: Final = 4
U_UP: Final = 5
ROLL: Final = 6  # rad, bank about the velocity vector, right positive
ROLL_RATE: Final = 7  # rad/s, its time derivative
EXCESS: Final = 8  # load factor beyond the one that holds the path angle at this bank
THRUST: Final = 9  # thrust over weight at the reference airspeed
SIDE: Final = 10  # lateral specific force over g, toward the right wing
WIND_NORTH: Final = 11  # m/s, mean wind at the reference height: velocity of the air
WIND_EAST: Final = 12
GUST_NORTH: Final = 13  # m/s, departure of the air from the mean wind
GUST_EAST: Final = 14
GUST_UP: Final = 15
CORE_STATES: Final = 16
BANK_WANDER: Final = 16  # rad, slow error of a recorded attitude or heading
PITCH_WANDER: Final = 17
HEADING_WANDER: Final = 18
SLIP: Final = 19  # rad, sideslip beyond what the lateral force tells, air from the right positive
ALL_STATES: Final = 20

# --- statics, one set per flight -----------------------------------------------------------------------
PARASITE: Final = 0  # log scale of parasite drag
INDUCED: Final = 1  # log scale of induced drag
ZERO_LIFT: Final = 2  # rad, angle of attack of zero lift, from the attitude reference
LIFT_SLOPE: Final = 3  # log scale of (wing loading / lift slope)
WARMTH: Final = 4  # K, air temperature beyond the one assumed
PRESSURE_OFFSET: Final = 5  # m, pressure altitude at the reference height, beyond the assumed
PRESSURE_SCALE: Final = 6  # pressure altitude per geometric meter, beyond the assumed
SHEAR_NORTH: Final = 7  # 1/s, change of mean wind with height
SHEAR_EAST: Final = 8
INDICATED_SCALE: Final = 9  # fraction
INDICATED_OFFSET: Final = 10  # m/s
TRUE_SCALE: Final = 11  # fraction, of a recorded true airspeed
BANK_ZERO: Final = 12  # rad
PITCH_ZERO: Final = 13
HEADING_ZERO: Final = 14
LOAD_ZERO: Final = 15  # load factor
SIDE_ZERO: Final = 16
LAPSE: Final = 17  # exponent by which thrust falls with airspeed, beyond the assumed
FIRST_LAG: Final = 18  # s, lateness of each lagging channel, in the order of LAGGING
LAGGING: Final = (
    "velocity", "climb", "pressure", "indicated", "true", "bank", "pitch", "heading", "load", "side",
)  # fmt: skip
ALL_STATICS: Final = FIRST_LAG + len(LAGGING)

# --- observations: what a recorded value is a sight of ---------------------------------------------------
SEES_NORTH: Final = 0
SEES_EAST: Final = 1
SEES_HEIGHT: Final = 2
SEES_PRESSURE: Final = 3
SEES_U_NORTH: Final = 4
SEES_U_EAST: Final = 5
SEES_CLIMB: Final = 6
SEES_INDICATED: Final = 7
SEES_TRUE: Final = 8
SEES_BANK: Final = 9
SEES_PITCH: Final = 10
SEES_HEADING: Final = 11
SEES_LOAD: Final = 12
SEES_SIDE: Final = 13
SEES_SPEED: Final = 14  # ground speed without a track
KINDS: Final = 15

LAG_OF: Final = (-1, -1, -1, 20, 18, 18, 19, 21, 22, 23, 24, 25, 26, 27, 18)
"""Index of the static that holds the lag of each kind of observation; -1 for the clock itself (position)."""

# --- outputs of a knot: what the recorded values are compared with --------------------------------------
OUT_AIRSPEED: Final = 0
OUT_BANK: Final = 1
OUT_PITCH: Final = 2
OUT_HEADING: Final = 3
OUT_LOAD: Final = 4
OUT_A_NORTH: Final = 5  # m/s2, inertial acceleration
OUT_A_EAST: Final = 6
OUT_A_UP: Final = 7
OUT_PATH: Final = 8
OUT_ATTACK: Final = 9
OUTPUTS: Final = 10

# --- inputs of a knot's outputs ---------------------------------------------------------------------------
IN_V_NORTH: Final = 0
IN_V_EAST: Final = 1
IN_V_UP: Final = 2
IN_ROLL: Final = 3
IN_EXCESS: Final = 4
IN_THRUST: Final = 5
IN_SIDE: Final = 6
IN_PARASITE: Final = 7
IN_INDUCED: Final = 8
IN_ZERO_LIFT: Final = 9
IN_LIFT_SLOPE: Final = 10
IN_LAPSE: Final = 11
IN_SLIP: Final = 12
INPUTS: Final = 13

# --- groups that share one noise level (fitted) -----------------------------------------------------------
NOISE_STEP: Final = KINDS  # process groups follow the observation groups
NOISE_ROLL: Final = KINDS + 1
NOISE_ROLL_RATE: Final = KINDS + 2
NOISE_EXCESS: Final = KINDS + 3
NOISE_THRUST: Final = KINDS + 4
NOISE_SIDE: Final = KINDS + 5
NOISE_WIND: Final = KINDS + 6
NOISE_GUST: Final = KINDS + 7
NOISE_WANDER: Final = KINDS + 8
NOISE_POSITION: Final = KINDS + 9
NOISE_COMPASS: Final = KINDS + 10
NOISE_SLIP: Final = KINDS + 11
GROUPS: Final = KINDS + 12
