"""Where the nose and the wings point, given the path, the angle of attack and the bank about the path.

Sideslip is zero. Bank about the velocity vector (which turns the airplane) and the attitude's bank (which
the pilot and the gyro see) differ once the path climbs or the nose stands off it. The relations follow from
turning the velocity axes by the bank about the velocity and then by the angle of attack about the wing: the
third row of that product of rotations gives pitch and bank, the first column the nose's heading.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compilable
from chalkwing.units import Q


@compilable
def pitch_attitude(path_angle: Q, angle_of_attack: Q, path_bank: Q) -> Q:
    """Pitch attitude [rad]: sin(pitch) = cos(a) sin(g) + sin(a) cos(g) cos(bank about the velocity).

    >>> round(float(np.degrees(pitch_attitude(np.radians(3.0), np.radians(5.0), 0.0))), 6)
    8.0
    """
    rise = np.cos(angle_of_attack) * np.sin(path_angle)
    rise = rise + np.sin(angle_of_attack) * np.cos(path_angle) * np.cos(path_bank)
    pitch: Q = np.arcsin(rise)
    return pitch


@compilable
def bank_attitude(path_angle: Q, angle_of_attack: Q, path_bank: Q) -> Q:
    """Bank attitude [rad, right positive]: sin(bank) cos(pitch) = sin(path bank) cos(path angle)."""
    wing = np.sin(path_bank) * np.cos(path_angle)
    floor = np.cos(angle_of_attack) * np.cos(path_bank) * np.cos(path_angle)
    bank: Q = np.arctan2(wing, floor - np.sin(angle_of_attack) * np.sin(path_angle))
    return bank


@compilable
def nose_offset(path_angle: Q, angle_of_attack: Q, path_bank: Q) -> Q:
    """Heading of the nose minus air heading [rad]: in a banked turn the nose points into the turn."""
    across = np.sin(angle_of_attack) * np.sin(path_bank)
    along = np.cos(angle_of_attack) * np.cos(path_angle)
    along = along - np.sin(angle_of_attack) * np.cos(path_bank) * np.sin(path_angle)
    offset: Q = np.arctan2(across, along)
    return offset


@compilable
def path_bank(path_angle: Q, pitch: Q, bank: Q) -> Q:
    """Bank about the velocity vector [rad] from the attitude: the inverse of :func:`bank_attitude`."""
    about_velocity: Q = np.arcsin(np.sin(bank) * np.cos(pitch) / np.cos(path_angle))
    return about_velocity


@compilable
def path_bank_for(path_angle: Q, angle_of_attack: Q, bank: Q) -> Q:
    """Bank about the velocity vector [rad] from the attitude's bank and the angle of attack.

    Another inverse of :func:`bank_attitude`, for a known angle of attack and unknown pitch: tan(bank) of that
    function, solved for the bank about the velocity.
    """
    level = np.cos(bank) * np.cos(path_angle)
    tilt = np.sin(bank) * np.cos(angle_of_attack) * np.cos(path_angle)
    climb = np.sin(bank) * np.sin(angle_of_attack) * np.sin(path_angle)
    reach = np.sqrt(level * level + tilt * tilt)
    about_velocity: Q = np.arctan2(tilt, level) - np.arcsin(climb / reach)
    return about_velocity


@compilable
def angle_of_attack_for(path_angle: Q, pitch: Q, path_bank: Q) -> Q:
    """The angle of attack [rad] that holds a pitch attitude: the inverse of :func:`pitch_attitude`.

    ``nan`` where no angle of attack gives that pitch, as at steep bank and high pitch.
    """
    level = np.cos(path_angle) * np.cos(path_bank)
    climb = np.sin(path_angle)
    reach = np.sqrt(level * level + climb * climb)
    attack: Q = np.arcsin(np.sin(pitch) / reach) - np.arctan2(climb, level)
    return attack
