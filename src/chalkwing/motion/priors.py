"""What is believed before the flight is read: noise levels, processes of the air and the pilot, the airplane.

Each number is a starting point or a spread, never a verdict: noise levels and the strength of the processes
are fitted to the flight by likelihood (``noise.py``), statics are estimated with it. Unless a source is
named they are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from chalkwing.airplane import generic_priors
from chalkwing.motion import layout as at
from chalkwing.units import DEGREE, STANDARD_GRAVITY, Floats

if TYPE_CHECKING:
    from chalkwing.airplane import AirplaneSheet

SEA_LEVEL_DENSITY = 1.225


@dataclass(frozen=True)
class Level:
    """A noise level that is fitted: where it starts, how far it may go, and how many samples' weight the
    starting value has against the flight's own residuals."""

    start: float
    low: float
    high: float
    weight: float = 20.0


# Attitude and accelerations start rough: while lags are still far off, trusting them would lead astray.
LEVELS: dict[int, Level] = {
    at.SEES_NORTH: Level(1.5, 0.25, 40.0),
    at.SEES_EAST: Level(1.5, 0.25, 40.0),
    at.SEES_HEIGHT: Level(2.0, 0.3, 40.0),
    at.SEES_PRESSURE: Level(1.5, 0.3, 20.0),
    at.SEES_U_NORTH: Level(0.3, 0.05, 5.0),
    at.SEES_U_EAST: Level(0.3, 0.05, 5.0),
    at.SEES_CLIMB: Level(0.7, 0.2, 5.0),
    at.SEES_INDICATED: Level(1.2, 0.15, 5.0, 5.0),
    at.SEES_TRUE: Level(0.8, 0.2, 5.0),
    at.SEES_BANK: Level(2.0 * DEGREE, 0.15 * DEGREE, 10 * DEGREE, 5.0),
    at.SEES_PITCH: Level(1.5 * DEGREE, 0.15 * DEGREE, 10 * DEGREE, 5.0),
    at.SEES_HEADING: Level(4.0 * DEGREE, 0.2 * DEGREE, 1.2 * DEGREE, 5.0),
    at.SEES_LOAD: Level(0.1, 0.01, 0.5, 5.0),
    at.SEES_SIDE: Level(0.05, 0.003, 0.2, 5.0),
    at.SEES_SPEED: Level(0.4, 0.1, 5.0),
    at.NOISE_STEP: Level(0.08, 0.08, 0.08),
    at.NOISE_ROLL: Level(0.003, 0.003, 0.003),
    at.NOISE_ROLL_RATE: Level(4.0 * DEGREE, 1.5 * DEGREE, 12 * DEGREE, 200.0),
    at.NOISE_EXCESS: Level(0.08, 0.03, 0.3, 200.0),
    at.NOISE_THRUST: Level(0.006, 0.003, 0.02, 400.0),
    at.NOISE_SIDE: Level(0.012, 0.006, 0.06, 100.0),
    at.NOISE_WIND: Level(0.02, 0.01, 0.1, 400.0),
    at.NOISE_GUST: Level(0.7, 0.25, 3.0, 400.0),
    at.NOISE_WANDER: Level(0.7 * DEGREE, 0.3 * DEGREE, 4 * DEGREE, 100.0),
    # A compass fed by a magnetometer is wrong in turns, by degrees and for as long as the turn lasts.
    at.NOISE_COMPASS: Level(2.0 * DEGREE, 1.0 * DEGREE, 8 * DEGREE, 100.0),
    at.NOISE_SLIP: Level(1.0 * DEGREE, 0.4 * DEGREE, 4.0 * DEGREE, 100.0),
    at.NOISE_POSITION: Level(0.03, 0.03, 0.03),
}

ROBUST_FROM = 2.5
"""Residuals beyond this many sd weigh less (Huber)."""
ROBUST = (*range(at.KINDS), at.NOISE_ROLL_RATE)
"""Groups in which rare large departures are expected: recorders' outliers, brisk rolls."""
STEPPING = (at.NOISE_THRUST,)
"""Groups that rest for long and then jump (a throttle): Student's t, for which a jump costs little."""
FREEDOM = 2.0
"""Degrees of freedom of that t distribution."""

TIME_CONSTANTS: dict[int, float] = {
    at.ROLL_RATE: 1.0,
    at.EXCESS: 4.0,
    at.THRUST: -1.0,  # a random walk: a throttle stays where it was put
    at.SIDE: 3.0,
    at.WIND_NORTH: -1.0,
    at.WIND_EAST: -1.0,
    at.GUST_NORTH: 6.0,
    at.GUST_EAST: 6.0,
    at.GUST_UP: 4.0,
    at.BANK_WANDER: 30.0,
    at.PITCH_WANDER: 30.0,
    at.HEADING_WANDER: 30.0,
    at.SLIP: 2.0,
}

HELD_AT_FIRST = (at.ZERO_LIFT, at.PITCH_ZERO, at.HEADING_ZERO, at.LIFT_SLOPE)

WIND_SD = 9.0
"""Spread of the mean wind before the flight is seen [m/s, each component]."""

USUAL_AIRSPEED, USUAL_SPREAD = 54.0, 0.3
"""Equivalent airspeed [m/s] at which light airplanes are usually flown, and its spread from one to another
(of the logarithm)."""
PASSING_SPREAD, PASSING_TIME = 0.35, 300.0
"""How far the middle airspeed of a short stretch may lie from the airplane's usual one (of the logarithm),
and the length [s] over which that is forgotten: half a minute of slow flight says little of an airplane."""


@dataclass(frozen=True)
class Plane:
    """The airplane as the estimator sees it, and how sure that is.

    ``best_glide`` equivalent airspeed [m/s] and ``glide_drag`` drag over weight there fix the polar;
    ``loading_over_slope`` [Pa] and ``zero_lift`` [rad] the angle of attack. The sds are of the logarithms,
    that of ``zero_lift`` in radians.
    """

    best_glide: float
    glide_drag: float
    loading_over_slope: float
    zero_lift: float
    drag_sd: float
    slope_sd: float
    zero_lift_sd: float

    def vector(self, reference: float) -> Floats:
        """The numbers that ``flight_model.outputs`` takes, with the thrust state's reference airspeed."""
        return np.array([self.best_glide, self.glide_drag, reference, self.loading_over_slope])


def usual_airspeed(typical_airspeed: float, *, lasted: float) -> tuple[float, float]:
    """The airspeed [m/s] at which this airplane is usually flown, and the sd of its logarithm.

    From the middle airspeed of a stretch that ``lasted`` [s] and from what light airplanes usually fly.
    """
    passing = PASSING_SPREAD * np.exp(-lasted / PASSING_TIME)
    share = USUAL_SPREAD**2 / (USUAL_SPREAD**2 + passing**2)
    usual = typical_airspeed**share * USUAL_AIRSPEED ** (1.0 - share)
    return float(usual), float(passing * np.sqrt(share))


def plane_of(sheet: AirplaneSheet | None, *, typical_airspeed: float, lasted: float) -> Plane:
    """The airplane from its sheet, or a broad light one scaled to the airspeed at which it is usually flown.

    ``typical_airspeed`` [m/s, equivalent] is the middle one of a flight that ``lasted`` so long [s].
    """
    if sheet is None:
        usual, usual_sd = usual_airspeed(typical_airspeed, lasted=lasted)
        # A light airplane's best glide lies near 0.7 of its usual airspeed; wing loading over lift slope
        # follows from the lift coefficient there.
        generic = generic_priors()
        glide = 0.7 * usual
        induced = 1.0 / (np.pi * generic.aspect_ratio.mean * generic.span_efficiency.mean)
        lift = float(np.sqrt(generic.zero_lift_drag.mean / induced))
        return Plane(
            best_glide=glide,
            glide_drag=float(2.0 * np.sqrt(generic.zero_lift_drag.mean * induced)),
            loading_over_slope=0.5 * SEA_LEVEL_DENSITY * glide**2 * lift / generic.lift_slope.mean,
            zero_lift=generic.zero_lift_angle.mean,
            # Loading goes with the square of the speed, and so do the two parts of the drag.
            drag_sd=float(np.hypot(0.25, 2.0 * usual_sd)),
            slope_sd=float(np.hypot(0.25, 2.0 * usual_sd)),
            zero_lift_sd=generic.zero_lift_angle.sd,
        )
    loading = sheet.mass * STANDARD_GRAVITY / sheet.wing_area
    aspect = sheet.wing_span**2 / sheet.wing_area
    induced = 1.0 / (np.pi * aspect * sheet.span_efficiency)
    lift = np.sqrt(sheet.zero_lift_drag / induced)
    return Plane(
        best_glide=float(np.sqrt(2.0 * loading / (SEA_LEVEL_DENSITY * lift))),
        glide_drag=float(2.0 * np.sqrt(sheet.zero_lift_drag * induced)),
        loading_over_slope=loading / sheet.lift_slope,
        zero_lift=sheet.zero_lift_angle,
        drag_sd=0.12,
        slope_sd=0.10,
        zero_lift_sd=1.0 * DEGREE,
    )


@dataclass(frozen=True)
class Priors:
    """Everything believed beforehand for one flight, ready for the solver.

    ``static_mean``/``static_sd`` (ALL_STATICS,) with sd 0 for a static that this flight has no use for;
    ``state_sd`` (N,) spreads the first knot; ``levels`` (GROUPS,) are the present noise levels.
    """

    plane: Plane
    static_mean: Floats
    static_sd: Floats
    state_sd: Floats
    levels: Floats
    bounds: dict[int, Level]
    time_constants: Floats
    notes: tuple[str, ...] = field(default=())

    @property
    def active(self) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        """Indices of the statics that are estimated."""
        return np.flatnonzero(self.static_sd > 0).astype(np.int64)

    def holding(self, statics: Sequence[int], *, tightened: float) -> Priors:
        """The same with the sd of some ``statics`` multiplied by ``tightened``."""
        sd = self.static_sd.copy()
        sd[list(statics)] *= tightened
        return replace(self, static_sd=sd)

    def at_levels(self, levels: Floats) -> Priors:
        """The same with other noise levels."""
        return replace(self, levels=levels)


def priors_for(
    *,
    present: set[int],
    resolution: dict[int, float],
    sheet: AirplaneSheet | None,
    typical_airspeed: float,
    lasted: float,
    temperature_known: bool,
    loosen: float = 1.0,
) -> Priors:
    """Priors for a flight with the observation kinds ``present``.

    ``loosen`` multiplies the sd of everything that ties thrust and drag together: with it large, wind and
    airspeed can no longer be told apart, which is how that assumption is put to the test.
    """
    plane = plane_of(sheet, typical_airspeed=typical_airspeed, lasted=lasted)
    mean, sd = np.zeros(at.ALL_STATICS), np.zeros(at.ALL_STATICS)
    mean[at.ZERO_LIFT], sd[at.ZERO_LIFT] = plane.zero_lift, plane.zero_lift_sd
    sd[at.LIFT_SLOPE] = plane.slope_sd
    sd[at.PARASITE] = sd[at.INDUCED] = plane.drag_sd * loosen
    sd[at.LAPSE] = 0.3 * loosen
    sd[at.WARMTH] = 2.5 if temperature_known else 12.0
    sd[at.PRESSURE_OFFSET] = 120.0
    sd[at.PRESSURE_SCALE] = 0.012 if temperature_known else 0.045
    sd[at.SHEAR_NORTH] = sd[at.SHEAR_EAST] = 0.003
    _instrument_spreads(sd, present)
    attitude = bool(present & {at.SEES_BANK, at.SEES_PITCH, at.SEES_HEADING})
    states = at.ALL_STATES if attitude else at.CORE_STATES
    bounds = {group: _bounded(level, resolution.get(group, 0.0)) for group, level in LEVELS.items()}
    thrust = bounds[at.NOISE_THRUST]
    bounds[at.NOISE_THRUST] = replace(
        thrust, start=thrust.start * loosen, low=thrust.low * loosen, high=thrust.high * loosen
    )
    levels = np.ones(at.GROUPS)
    for group, level in bounds.items():
        levels[group] = level.start
    time_constants = np.full(at.ALL_STATES, -1.0)
    for state, seconds in TIME_CONSTANTS.items():
        time_constants[state] = seconds
    return Priors(
        plane=plane,
        static_mean=mean,
        static_sd=sd,
        state_sd=_first_spread(levels)[:states],
        levels=levels,
        bounds=bounds,
        time_constants=time_constants[:states],
    )


def _bounded(level: Level, resolution: float) -> Level:
    """A level that cannot fall below what the recorder's rounding alone makes."""
    rounding = resolution / np.sqrt(12.0)
    return replace(level, low=max(level.low, rounding), start=max(level.start, 1.2 * rounding))


def _instrument_spreads(sd: Floats, present: set[int]) -> None:
    if at.SEES_INDICATED in present:
        sd[at.INDICATED_SCALE], sd[at.INDICATED_OFFSET] = 0.02, 0.7
    if at.SEES_TRUE in present:
        sd[at.TRUE_SCALE] = 0.03
    for kind, static, spread in (
        (at.SEES_BANK, at.BANK_ZERO, 1.5 * DEGREE),
        (at.SEES_PITCH, at.PITCH_ZERO, 0.5 * DEGREE),
        (at.SEES_HEADING, at.HEADING_ZERO, 4.0 * DEGREE),
        (at.SEES_LOAD, at.LOAD_ZERO, 0.03),
        (at.SEES_SIDE, at.SIDE_ZERO, 0.02),
    ):
        if kind in present:
            sd[static] = spread
    # Lags count from the clock of the positions, which may itself be the late one: either sign.
    for kind in present:
        lag = at.LAG_OF[kind]
        if lag >= 0 and kind != at.SEES_SIDE:  # the ball swings too quickly for its lag to show
            sd[lag] = 1.0 if kind == at.SEES_CLIMB else 0.4


def _first_spread(levels: Floats) -> Floats:
    """How far the first knot may lie from its starting value [SI]."""
    sd = np.empty(at.ALL_STATES)
    sd[at.NORTH : at.U_NORTH] = 500.0
    sd[at.U_NORTH : at.ROLL] = 30.0
    sd[at.ROLL] = 0.8
    sd[at.ROLL_RATE] = levels[at.NOISE_ROLL_RATE]
    sd[at.EXCESS] = 2 * levels[at.NOISE_EXCESS]
    sd[at.THRUST] = 0.15
    sd[at.SIDE] = levels[at.NOISE_SIDE]
    sd[at.WIND_NORTH : at.GUST_NORTH] = WIND_SD
    sd[at.GUST_NORTH : at.BANK_WANDER] = levels[at.NOISE_GUST]
    sd[at.BANK_WANDER : at.HEADING_WANDER] = levels[at.NOISE_WANDER]
    sd[at.HEADING_WANDER] = levels[at.NOISE_COMPASS]
    sd[at.SLIP] = levels[at.NOISE_SLIP]
    return sd
