"""The airplane in the moving air: what a knot's state says of attitude and acceleration.

One compiled function, ``outputs``, holds the physics; its derivatives are taken from it by differences, so
that the equations stand in one place.

Frames: north, east, up. The velocity through the air ``v`` (ground velocity minus wind and gust) gives the
path; the lift acts at right angles to it, rolled by ``roll`` about it; the nose lies above it by the angle
of attack, in the plane of symmetry, and to the side of it by the slip. Slip follows the lateral force;
what it has beyond that is a state of its own where attitude is recorded, and cannot be seen without.
Sources: [Etkin] ch. 4 (wind axes); polar and thrust lapse as in [Anderson] ch. 5.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.motion import layout as at
from chalkwing.units import STANDARD_GRAVITY, Floats

G = STANDARD_GRAVITY
THRUST_LAPSE = 0.7
"""Thrust falls with airspeed to this power: between constant thrust (0) and constant power (1).
Common practice, no source; the thrust state carries what it gets wrong."""

SLIP_PER_SIDE, SLIP_PRESSURE = 0.9, 1500.0
"""Slip [rad] per lateral load factor at this dynamic pressure [Pa]. Common practice, no source: on five
models of the open flight dynamics library it lies between 0.6 and 1.5."""

SLOWEST_POLAR = 0.3
"""Share of the best-glide airspeed below which drag and attack stay what they are there. Nothing flies so
slowly; an airplane that turns round on its runway between landing and takeoff rolls so, and a polar without
end would put a hundred times its weight against it."""


@compiled
def outputs(z: Floats, density_ratio: float, plane: Floats, out: Floats) -> None:
    """Fill ``out`` (layout ``OUT_*``) from the inputs ``z`` (layout ``IN_*``).

    ``plane`` holds the best-glide equivalent airspeed [m/s], the drag over weight there, the reference
    equivalent airspeed of the thrust state [m/s], and wing loading over lift slope [Pa].
    """
    vn, ve, vu = z[at.IN_V_NORTH], z[at.IN_V_EAST], z[at.IN_V_UP]
    horizontal = np.sqrt(vn * vn + ve * ve + 1e-6)
    speed = np.sqrt(horizontal * horizontal + vu * vu)
    cos_path, sin_path = horizontal / speed, vu / speed
    cos_track, sin_track = vn / horizontal, ve / horizontal
    roll = z[at.IN_ROLL]
    cos_roll, sin_roll = np.cos(roll), np.sin(roll)
    # Beyond about 75 degrees nobody holds the path with lift: keep the trim load factor bounded.
    load = cos_path / max(cos_roll, 0.25) + z[at.IN_EXCESS]

    equivalent_squared = max(speed * speed * density_ratio, (SLOWEST_POLAR * plane[0]) ** 2)
    ratio = equivalent_squared / (plane[0] * plane[0])
    drag = (
        0.5 * plane[1] * (np.exp(z[at.IN_PARASITE]) * ratio + np.exp(z[at.IN_INDUCED]) * load * load / ratio)
    )
    thrust = z[at.IN_THRUST] * (plane[2] * plane[2] / equivalent_squared) ** (
        0.5 * (THRUST_LAPSE + z[at.IN_LAPSE])
    )
    along = thrust - drag

    # Unit vectors: along the path; up at right angles to it; to the right, level.
    up_n, up_e, up_u = -sin_path * cos_track, -sin_path * sin_track, cos_path
    right_n, right_e = -sin_track, cos_track
    lift_n = cos_roll * up_n + sin_roll * right_n
    lift_e = cos_roll * up_e + sin_roll * right_e
    lift_u = cos_roll * up_u
    side = z[at.IN_SIDE]
    out[at.OUT_A_NORTH] = G * (
        along * cos_path * cos_track + load * lift_n + side * (cos_roll * right_n - sin_roll * up_n)
    )
    out[at.OUT_A_EAST] = G * (
        along * cos_path * sin_track + load * lift_e + side * (cos_roll * right_e - sin_roll * up_e)
    )
    out[at.OUT_A_UP] = G * (along * sin_path + load * lift_u - side * sin_roll * up_u - 1.0)

    pressure = 0.5 * 1.225 * equivalent_squared
    attack = z[at.IN_ZERO_LIFT] + np.exp(z[at.IN_LIFT_SLOPE]) * plane[3] * load / pressure
    cos_attack, sin_attack = np.cos(attack), np.sin(attack)
    # Slipping to one side makes a force to the other, in proportion to dynamic pressure.
    slip = z[at.IN_SLIP] - SLIP_PER_SIDE * SLIP_PRESSURE / pressure * side
    cos_slip, sin_slip = np.cos(slip), np.sin(slip)
    wing_n, wing_e = cos_roll * right_n - sin_roll * up_n, cos_roll * right_e - sin_roll * up_e
    wing_u = -sin_roll * up_u
    # The nose in the earth's frame: the path turned by slip and angle of attack within the rolled axes.
    ahead, across = cos_attack * cos_slip, -cos_attack * sin_slip
    nose_n = ahead * cos_path * cos_track + across * wing_n + sin_attack * lift_n
    nose_e = ahead * cos_path * sin_track + across * wing_e + sin_attack * lift_e
    sin_pitch = min(max(ahead * sin_path + across * wing_u + sin_attack * lift_u, -0.999999), 0.999999)
    out[at.OUT_AIRSPEED] = speed
    out[at.OUT_PITCH] = np.arcsin(sin_pitch)
    # Euler bank: the wing line against the horizon, seen along the nose rather than along the path.
    wing_down = -sin_slip * sin_path - cos_slip * wing_u
    floor_down = -sin_attack * cos_slip * sin_path + sin_attack * sin_slip * wing_u + cos_attack * lift_u
    out[at.OUT_BANK] = np.arctan2(wing_down, floor_down)
    out[at.OUT_HEADING] = np.arctan2(nose_e, nose_n)
    # An accelerometer sits in the body: tilt lift and drag by the angle of attack.
    out[at.OUT_LOAD] = load * cos_attack - along * sin_attack
    out[at.OUT_PATH] = np.arcsin(sin_path)
    out[at.OUT_ATTACK] = attack
