"""The canonical channels of a recording: one name, one unit, one sign, whatever the maker wrote.

Every reader ends here. Values are SI with angles in radians; right bank, nose up, climb and
accelerations toward the pilot's right and upward through the cabin roof are positive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Datum = Literal["mean_sea_level", "ellipsoid", "unknown"]


@dataclass(frozen=True)
class ChannelKind:
    """What a canonical channel means: its SI unit and the range in which a recorded value is believable."""

    name: str
    unit: str
    low: float
    high: float
    meaning: str
    circular: bool = False


_PI = 3.141592653589793

KINDS: dict[str, ChannelKind] = {
    kind.name: kind
    for kind in (
        ChannelKind("latitude", "rad", -_PI / 2, _PI / 2, "geodetic latitude, WGS 84, north positive"),
        ChannelKind("longitude", "rad", -_PI, _PI, "longitude, WGS 84, east positive"),
        ChannelKind("geometric_altitude", "m", -500, 20000, "satellite altitude; see its datum"),
        ChannelKind("pressure_altitude", "m", -700, 20000, "altitude in the standard atmosphere"),
        ChannelKind("altimeter_altitude", "m", -700, 20000, "altimeter reading at the setting then in use"),
        ChannelKind("altimeter_setting", "Pa", 87000, 108500, "altimeter setting (QNH)"),
        ChannelKind("height_above_ground", "m", -50, 20000, "height above the ground as recorded"),
        ChannelKind("static_pressure", "Pa", 20000, 110000, "static pressure"),
        ChannelKind("ground_speed", "m/s", 0, 350, "speed over the ground"),
        ChannelKind("track", "rad", 0, 2 * _PI, "true track over the ground", circular=True),
        ChannelKind("velocity_north", "m/s", -350, 350, "ground velocity toward true north"),
        ChannelKind("velocity_east", "m/s", -350, 350, "ground velocity toward east"),
        ChannelKind("vertical_speed", "m/s", -80, 80, "rate of climb, up positive"),
        ChannelKind("indicated_airspeed", "m/s", 0, 350, "indicated airspeed"),
        ChannelKind("calibrated_airspeed", "m/s", 0, 350, "calibrated airspeed"),
        ChannelKind("true_airspeed", "m/s", 0, 350, "true airspeed"),
        ChannelKind("bank", "rad", -_PI, _PI, "bank (Euler roll), right positive"),
        ChannelKind("pitch", "rad", -_PI / 2, _PI / 2, "pitch attitude, nose up positive"),
        ChannelKind("heading_magnetic", "rad", 0, 2 * _PI, "magnetic heading of the nose", circular=True),
        ChannelKind("heading_true", "rad", 0, 2 * _PI, "true heading of the nose", circular=True),
        ChannelKind("magnetic_variation", "rad", -_PI, _PI, "magnetic variation, east positive"),
        ChannelKind("roll_rate", "rad/s", -7, 7, "body roll rate, right positive"),
        ChannelKind("pitch_rate", "rad/s", -7, 7, "body pitch rate, nose up positive"),
        ChannelKind("yaw_rate", "rad/s", -7, 7, "body yaw rate, nose right positive"),
        ChannelKind("load_factor", "1", -6, 10, "normal load factor, 1 in level flight"),
        ChannelKind("lateral_load", "1", -2, 2, "lateral load factor, force toward the right positive"),
        ChannelKind("longitudinal_load", "1", -3, 3, "longitudinal load factor, forward positive"),
        ChannelKind("angle_of_attack", "rad", -_PI, _PI, "angle of attack"),
        ChannelKind("sideslip", "rad", -_PI, _PI, "sideslip, wind from the right positive"),
        ChannelKind("outside_air_temperature", "K", 190, 335, "outside air temperature"),
        ChannelKind("wind_from", "rad", 0, 2 * _PI, "true direction the wind comes from", circular=True),
        ChannelKind("wind_speed", "m/s", 0, 100, "recorded wind speed"),
        ChannelKind("engine_speed", "rad/s", 0, 1000, "engine or propeller shaft speed"),
        ChannelKind("manifold_pressure", "Pa", 0, 250000, "manifold pressure"),
        ChannelKind("power", "1", -0.05, 1.5, "power as a fraction of maximum"),
        ChannelKind("throttle", "1", -0.05, 1.2, "throttle lever as a fraction of full travel"),
        ChannelKind("fuel_flow", "m3/s", 0, 1e-3, "fuel flow by volume"),
        ChannelKind("flaps", "rad", -0.2, 1.6, "flap deflection"),
        ChannelKind("stall_warning", "1", 0, 1, "stall warning: 1 while it sounds"),
    )
}
"""Every canonical channel, in the order in which tables list them."""
