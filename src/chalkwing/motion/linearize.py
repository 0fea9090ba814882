"""The least-squares problem at one point: outputs of every knot, and the sparse rows of all residuals.

A row says: residual ``r``, its derivatives with respect to a few unknowns, and the noise group whose sd it is
weighed by. Rows of one knot touch only that knot, the next one and the statics, which is what keeps the
normal equations block-tridiagonal.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.motion import layout as at
from chalkwing.motion.flight_model import outputs
from chalkwing.motion.sights import sights
from chalkwing.motion.steps import motion_steps, process_steps
from chalkwing.units import Floats

_STEP = 1e-6


@compiled
def inputs(x: Floats, statics: Floats, origin: float, z: Floats) -> None:
    """Fill ``z`` (layout ``IN_*``) from one set of states: velocity through the air, forces, the
    airplane's scales."""
    rise = x[at.HEIGHT] - origin
    z[at.IN_V_NORTH] = x[at.U_NORTH] - x[at.WIND_NORTH] - x[at.GUST_NORTH] - statics[at.SHEAR_NORTH] * rise
    z[at.IN_V_EAST] = x[at.U_EAST] - x[at.WIND_EAST] - x[at.GUST_EAST] - statics[at.SHEAR_EAST] * rise
    z[at.IN_V_UP] = x[at.U_UP] - x[at.GUST_UP]
    z[at.IN_ROLL] = x[at.ROLL]
    z[at.IN_EXCESS] = x[at.EXCESS]
    z[at.IN_THRUST] = x[at.THRUST]
    z[at.IN_SIDE] = x[at.SIDE]
    z[at.IN_PARASITE] = statics[at.PARASITE]
    z[at.IN_INDUCED] = statics[at.INDUCED]
    z[at.IN_ZERO_LIFT] = statics[at.ZERO_LIFT]
    z[at.IN_LIFT_SLOPE] = statics[at.LIFT_SLOPE]
    z[at.IN_LAPSE] = statics[at.LAPSE]
    z[at.IN_SLIP] = x[at.SLIP] if x.shape[0] > at.SLIP else 0.0


@compiled
def evaluate(
    states: Floats, statics: Floats, origin: float, density: Floats, plane: Floats, y: Floats, jac: Floats
) -> None:
    """Outputs ``y`` (knots, OUTPUTS) at every knot and their derivatives ``jac`` (knots, OUTPUTS, INPUTS).

    ``origin`` is the reference height [m] from which the shear counts.
    """
    z, moved = np.empty(at.INPUTS), np.empty(at.OUTPUTS)
    for k in range(states.shape[0]):
        inputs(states[k], statics, origin, z)
        outputs(z, density[k], plane, y[k])
        for i in range(at.INPUTS):
            kept = z[i]
            z[i] = kept + _STEP
            outputs(z, density[k], plane, moved)
            z[i] = kept
            for o in range(at.OUTPUTS):
                change = moved[o] - y[k, o]
                if o == at.OUT_HEADING or o == at.OUT_BANK:
                    change = np.arctan2(np.sin(change), np.cos(change))
                jac[k, o, i] = change / _STEP


@compiled
def _slopes(knots: Floats, y: Floats, slope: Floats) -> None:
    """Rates of the outputs at the knots by central differences.

    One-sided differences would share their noise with the very value that the lag is fitted to, and bias it.
    """
    last = knots.shape[0] - 1
    for k in range(last + 1):
        a, b = max(k - 1, 0), min(k + 1, last)
        span = knots[b] - knots[a]
        for o in range(at.OUTPUTS):
            change = y[b, o] - y[a, o]
            if o == at.OUT_BANK or o == at.OUT_HEADING:
                change = np.arctan2(np.sin(change), np.cos(change))
            slope[k, o] = change / span


@compiled
def linearize(
    knots: Floats, states: Floats, statics: Floats, lags: Floats, y: Floats, jac: Floats, origin: float,
    air: Floats, tau: Floats, wander: np.ndarray,
    obs_time: Floats, obs_kind: np.ndarray, obs_value: Floats, obs_scale: Floats,
    rows_r: Floats, rows_group: np.ndarray, rows_scale: Floats, rows_knot: np.ndarray,
    ptr: np.ndarray, index: np.ndarray, value: Floats,
) -> int:  # fmt: skip
    """Fill the rows at the present states and statics; returns how many there are.

    ``air`` (knots, 4): calibrated over true airspeed, its relative change per kelvin, assumed pressure
    altitude per meter, and assumed pressure altitude at the reference height. ``wander[i]`` is the state
    that carries the slow error of bank, pitch, heading (0, 1, 2), or -1.
    """
    slope = np.empty_like(y)
    _slopes(knots, y, slope)
    m = 0
    ptr[0] = 0
    for k in range(knots.shape[0] - 1):
        dt = knots[k + 1] - knots[k]
        m = motion_steps(
            k,
            dt,
            states,
            y,
            jac,
            statics,
            origin,
            rows_r,
            rows_group,
            rows_scale,
            rows_knot,
            ptr,
            index,
            value,
            m,
        )
        m = process_steps(k, dt, states, tau, rows_r, rows_group, rows_scale, rows_knot, ptr, index, value, m)
    return sights(
        knots, states, statics, lags, origin, air, wander, y, jac, slope,
        obs_time, obs_kind, obs_value, obs_scale,
        rows_r, rows_group, rows_scale, rows_knot, ptr, index, value, m,
    )  # fmt: skip
