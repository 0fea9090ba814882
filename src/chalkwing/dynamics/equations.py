"""The equations of motion of a point mass in moving air, written once.

The state is position over the ground and velocity *through the air*: true airspeed, path angle (climb
positive) and air heading (true direction of the air-relative velocity). Because the air's own velocity
changes with height, the frame is not inertial, and three terms account for it. Flat earth, constant gravity,
no sideslip; thrust acts along the path (its part across, thrust times sin(angle of attack), is below 3 % of
the weight of a light airplane and is left out).

Sources: the equations are those of [Vinh], ch. 2, in an air-relative frame; the wind-gradient terms are those
of [Frost-Bowles]. Both from memory; ``tests/dynamics`` derives them anew from Newton's law in an inertial
frame.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compilable
from chalkwing.units import STANDARD_GRAVITY, Q


@compilable
def ground_velocity(
    true_airspeed: Q, path_angle: Q, air_heading: Q, wind_north: Q, wind_east: Q
) -> tuple[Q, Q, Q]:
    """Velocity over the ground toward north, east and up [m/s].

    ``wind_north``, ``wind_east`` [m/s] are the velocity *of the air*, the way it blows to.
    """
    horizontal = true_airspeed * np.cos(path_angle)
    north: Q = horizontal * np.cos(air_heading) + wind_north
    east: Q = horizontal * np.sin(air_heading) + wind_east
    up: Q = true_airspeed * np.sin(path_angle)
    return north, east, up


@compilable
def airspeed_rate(path_angle: Q, specific_excess_thrust: Q) -> Q:
    """Rate of change of true airspeed [m/s2] in air that does not accelerate."""
    rate: Q = specific_excess_thrust - STANDARD_GRAVITY * np.sin(path_angle)
    return rate


@compilable
def path_angle_rate(true_airspeed: Q, path_angle: Q, bank: Q, load_factor: Q) -> Q:
    """Rate of change of the path angle [rad/s] in air that does not accelerate."""
    rate: Q = STANDARD_GRAVITY / true_airspeed * (load_factor * np.cos(bank) - np.cos(path_angle))
    return rate


@compilable
def air_heading_rate(true_airspeed: Q, path_angle: Q, bank: Q, load_factor: Q) -> Q:
    """Rate of change of the air heading [rad/s], right positive, in air that does not accelerate."""
    rate: Q = STANDARD_GRAVITY * load_factor * np.sin(bank) / (true_airspeed * np.cos(path_angle))
    return rate


@compilable
def load_factor_for(true_airspeed: Q, path_angle: Q, bank: Q, path_angle_rate: Q) -> Q:
    """The load factor that turns the path at ``path_angle_rate`` [rad/s]: the inverse of the function above.

    >>> round(float(load_factor_for(50.0, 0.0, np.radians(60.0), 0.0)), 6)
    2.0
    """
    curving = true_airspeed * path_angle_rate / STANDARD_GRAVITY
    factor: Q = (np.cos(path_angle) + curving) / np.cos(bank)
    return factor


@compilable
def state_rates(
    true_airspeed: Q,
    path_angle: Q,
    air_heading: Q,
    bank: Q,
    load_factor: Q,
    specific_excess_thrust: Q,
    wind_north: Q,
    wind_east: Q,
    wind_north_gradient: Q,
    wind_east_gradient: Q,
) -> tuple[Q, Q, Q, Q, Q, Q]:
    """Rates of north, east, height [m/s], true airspeed [m/s2], path angle and air heading [rad/s].

    Parameters
    ----------
    true_airspeed, path_angle, air_heading : float or array
        State: [m/s], positive; [rad], climb positive, within +-pi/2; [rad], true.
    bank, load_factor, specific_excess_thrust : float or array
        Controls and forces: bank about the velocity vector [rad, right positive], lift over weight,
        (thrust - drag) / mass [m/s2].
    wind_north, wind_east : float or array
        Velocity of the air [m/s], toward.
    wind_north_gradient, wind_east_gradient : float or array
        Its change with height [1/s].
    """
    north, east, up = ground_velocity(true_airspeed, path_angle, air_heading, wind_north, wind_east)
    # Climbing through the gradient, the airplane meets air that accelerates away from it.
    air_north = wind_north_gradient * up
    air_east = wind_east_gradient * up
    ahead = air_north * np.cos(air_heading) + air_east * np.sin(air_heading)
    aside = air_east * np.cos(air_heading) - air_north * np.sin(air_heading)
    speeding = airspeed_rate(path_angle, specific_excess_thrust) - ahead * np.cos(path_angle)
    pitching = path_angle_rate(true_airspeed, path_angle, bank, load_factor)
    pitching = pitching + ahead * np.sin(path_angle) / true_airspeed
    turning = air_heading_rate(true_airspeed, path_angle, bank, load_factor)
    turning = turning - aside / (true_airspeed * np.cos(path_angle))
    return north, east, up, speeding, pitching, turning
