"""The airplane's equations of motion, written once: forces, rates of the state, attitude."""

from __future__ import annotations

from chalkwing.dynamics.attitude import (
    angle_of_attack_for,
    bank_attitude,
    nose_offset,
    path_bank,
    path_bank_for,
    pitch_attitude,
)
from chalkwing.dynamics.equations import (
    air_heading_rate,
    airspeed_rate,
    ground_velocity,
    load_factor_for,
    path_angle_rate,
    state_rates,
)
from chalkwing.dynamics.forces import (
    PointMass,
    angle_of_attack,
    drag,
    dynamic_pressure,
    lift_coefficient,
    load_factor,
    power_dropoff,
    specific_excess_thrust,
    stall_speed,
    thrust,
)

__all__ = [
    "PointMass",
    "air_heading_rate",
    "airspeed_rate",
    "angle_of_attack",
    "angle_of_attack_for",
    "bank_attitude",
    "drag",
    "dynamic_pressure",
    "ground_velocity",
    "lift_coefficient",
    "load_factor",
    "load_factor_for",
    "nose_offset",
    "path_angle_rate",
    "path_bank",
    "path_bank_for",
    "pitch_attitude",
    "power_dropoff",
    "specific_excess_thrust",
    "stall_speed",
    "state_rates",
    "thrust",
]
