"""Which concepts in a column's name make which channel, and how surely."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.delimited import lexicon
from chalkwing.recordings.delimited.names import Name

UNSURE = 0.62
"""A match below this score is a guess, and a note says so."""
REFUSED = 0.3
"""A match below this score is none."""

VELOCITY_DOWN = "velocity_down"
WIND_NORTH = "wind_toward_north"
WIND_EAST = "wind_toward_east"
HELPERS = {VELOCITY_DOWN, WIND_NORTH, WIND_EAST}
"""Quantities that a log may hold and that become canonical channels after a conversion."""


@dataclass(frozen=True)
class Rule:
    """A channel, the concepts a name must hold, and the score of a name that holds nothing else."""

    channel: str
    needs: frozenset[str]
    score: float


def _rules(*lines: tuple[str, str, float]) -> tuple[Rule, ...]:
    return tuple(Rule(channel, frozenset(needs.split("+")), score) for channel, needs, score in lines)


RULES = _rules(
    ("latitude", "latitude", 1.0),
    ("longitude", "longitude", 1.0),
    ("geometric_altitude", "altitude+gps", 1.0),
    ("geometric_altitude", "altitude+msl", 0.9),
    ("geometric_altitude", "altitude+ellipsoid", 0.95),
    ("geometric_altitude", "altitude+true", 0.7),
    ("geometric_altitude", "altitude", 0.5),
    ("pressure_altitude", "altitude+pressure", 1.0),
    ("pressure_altitude", "flightlevel", 0.7),
    ("altimeter_altitude", "altitude+baro", 0.95),
    ("altimeter_altitude", "altitude+indicated", 1.0),
    ("altimeter_altitude", "altitude+qnh", 0.95),
    ("height_above_ground", "altitude+agl", 1.0),
    ("height_above_ground", "altitude+ground", 0.9),
    ("height_above_ground", "agl", 0.8),
    ("altimeter_setting", "qnh", 1.0),
    ("altimeter_setting", "baro+setting", 1.0),
    ("altimeter_setting", "pressure+setting", 0.7),
    ("altimeter_setting", "baro", 0.65),
    ("static_pressure", "static+pressure", 1.0),
    ("static_pressure", "pressure+outside", 0.8),
    ("static_pressure", "pressure+air", 0.8),
    ("static_pressure", "pressure+baro", 0.7),
    ("static_pressure", "static", 0.6),
    ("static_pressure", "pressure", 0.5),
    ("ground_speed", "gs", 1.0),
    ("ground_speed", "speed+ground", 1.0),
    ("ground_speed", "speed+gps", 0.95),
    ("ground_speed", "speed", 0.45),
    ("track", "track", 0.95),
    ("track", "track+true", 1.0),
    ("track", "track+magnetic", 0.9),
    ("track", "track+ground", 1.0),
    ("track", "course+ground", 1.0),
    ("track", "heading+ground", 0.9),
    ("track", "course+gps", 0.9),
    ("track", "heading+gps", 0.7),
    ("track", "course+true", 0.7),
    ("track", "course+magnetic", 0.65),
    ("track", "course", 0.6),
    ("track", "direction", 0.45),
    ("track", "direction+gps", 0.6),
    ("velocity_north", "speed+north", 1.0),
    ("velocity_east", "speed+east", 1.0),
    (VELOCITY_DOWN, "speed+down", 0.9),
    ("vertical_speed", "vario", 1.0),
    ("vertical_speed", "vertical+speed", 1.0),
    ("vertical_speed", "vertical+rate", 0.95),
    ("vertical_speed", "vario+speed", 1.0),
    ("vertical_speed", "vario+rate", 1.0),
    ("vertical_speed", "speed+up", 0.9),
    ("vertical_speed", "altitude+rate", 0.9),
    ("vertical_speed", "baro+rate", 0.95),
    ("vertical_speed", "gps+rate", 0.8),
    ("indicated_airspeed", "ias", 1.0),
    ("indicated_airspeed", "ias+speed", 1.0),
    ("indicated_airspeed", "speed+indicated", 1.0),
    ("indicated_airspeed", "air+speed+indicated", 1.0),
    ("indicated_airspeed", "fahrt+indicated", 1.0),
    ("indicated_airspeed", "air+speed", 0.75),
    ("indicated_airspeed", "fahrt", 0.75),
    ("indicated_airspeed", "air+indicated", 0.8),
    ("calibrated_airspeed", "cas", 1.0),
    ("calibrated_airspeed", "cas+speed", 1.0),
    ("calibrated_airspeed", "speed+calibrated", 1.0),
    ("calibrated_airspeed", "air+speed+calibrated", 1.0),
    ("true_airspeed", "tas", 1.0),
    ("true_airspeed", "tas+speed", 1.0),
    ("true_airspeed", "tas+true", 1.0),
    ("true_airspeed", "air+speed+true", 1.0),
    ("true_airspeed", "speed+true", 0.85),
    ("true_airspeed", "fahrt+true", 0.95),
    ("bank", "bank", 1.0),
    ("bank", "bank+lateral", 1.0),
    ("pitch", "pitch", 1.0),
    ("pitch", "pitch+longitudinal", 1.0),
    ("heading_true", "heading+true", 1.0),
    ("heading_magnetic", "heading+magnetic", 1.0),
    ("heading_magnetic", "course+magnetic", 0.6),
    ("heading_magnetic", "heading", 0.7),
    ("heading_magnetic", "course", 0.4),
    ("magnetic_variation", "variation", 0.95),
    ("magnetic_variation", "variation+magnetic", 1.0),
    ("roll_rate", "bank+rate", 1.0),
    ("pitch_rate", "pitch+rate", 1.0),
    ("yaw_rate", "heading+rate", 1.0),
    ("roll_rate", "rate+longitudinal", 0.85),
    ("pitch_rate", "rate+lateral", 0.85),
    ("yaw_rate", "rate+normal", 0.85),
    ("load_factor", "g+normal", 1.0),
    ("load_factor", "accel+normal", 1.0),
    ("load_factor", "g+vertical", 0.95),
    ("load_factor", "accel+vertical", 0.9),
    ("load_factor", "accel+vertical+g", 0.95),
    ("load_factor", "accel+normal+g", 1.0),
    ("load_factor", "g", 0.7),
    ("lateral_load", "accel+lateral", 1.0),
    ("lateral_load", "accel+lateral+g", 1.0),
    ("lateral_load", "g+lateral", 1.0),
    ("lateral_load", "accel+latitude", 0.95),
    ("lateral_load", "accel+latitude+g", 0.95),
    ("lateral_load", "g+latitude", 0.9),
    ("longitudinal_load", "accel+longitudinal", 1.0),
    ("longitudinal_load", "accel+longitudinal+g", 1.0),
    ("longitudinal_load", "g+longitudinal", 1.0),
    ("longitudinal_load", "accel+longitude", 0.9),
    ("angle_of_attack", "aoa", 0.95),
    ("sideslip", "sideslip", 0.95),
    ("outside_air_temperature", "oat", 1.0),
    ("outside_air_temperature", "temperature+outside", 1.0),
    ("outside_air_temperature", "temperature+outside+air", 1.0),
    ("outside_air_temperature", "temperature+air", 0.9),
    ("outside_air_temperature", "temperature+air+static", 1.0),
    ("outside_air_temperature", "temperature+static", 0.9),
    ("outside_air_temperature", "oat+temperature", 1.0),
    ("outside_air_temperature", "temperature", 0.4),
    ("wind_from", "wind+direction", 1.0),
    ("wind_from", "wind+heading", 0.7),
    ("wind_speed", "wind+speed", 1.0),
    ("wind_speed", "wind", 0.4),
    (WIND_NORTH, "wind+north", 0.8),
    (WIND_EAST, "wind+east", 0.8),
    ("engine_speed", "rpm", 1.0),
    ("engine_speed", "rpm+engine", 1.0),
    ("engine_speed", "engine+speed", 0.8),
    ("manifold_pressure", "manifold", 0.9),
    ("manifold_pressure", "manifold+pressure", 1.0),
    ("manifold_pressure", "manifold+engine", 0.9),
    ("power", "power", 0.8),
    ("power", "power+engine", 0.9),
    ("throttle", "throttle", 0.95),
    ("throttle", "throttle+fuel", 0.7),
    ("fuel_flow", "fuel+flow", 1.0),
    ("fuel_flow", "flow", 0.7),
    ("fuel_flow", "fuel+flow+engine", 1.0),
    ("flaps", "flaps", 1.0),
    ("stall_warning", "stall+warning", 1.0),
    ("stall_warning", "stall", 0.6),
)

_SOFT = frozenset(("gps", "baro", "ground", "true", "magnetic", "engine", "indicated", "air", "up", "msl"))
"""Concepts that shade a meaning rather than change it."""
_CHANGING = frozenset(("rate", "accel", "wind", "temperature", "fuel", "variation", "north", "east", "down"))
"""Concepts that make something else of any meaning that does not ask for them."""
_DEVICES = frozenset(["imu", "ahrs", "adahrs", "adc", "sensor", "board", "cpu", "device"])

_KIND_OF_UNIT = {
    "m": {"length"},
    "m/s": {"speed"},
    "rad": {"angle"},
    "rad/s": {"angular_rate"},
    "Pa": {"pressure"},
    "K": {"temperature"},
    "m3/s": {"volume_flow", "mass_flow"},
    "1": {"load", "ratio"},
}
_ALSO = {
    "flaps": {"ratio"},
    "engine_speed": {"ratio"},
    "power": {"power"},
    "pressure_altitude": {"ratio"},
    "angle_of_attack": {"ratio"},
}


@lru_cache(maxsize=4096)
def meanings(name: Name) -> tuple[tuple[str, float], ...]:
    """Channels that a name may mean, each with a score in (0, 1]; best first.

    >>> from chalkwing.recordings.delimited.names import read_name
    >>> meanings(read_name("Vitesse sol (kt)"))[0]
    ('ground_speed', 1.0)
    """
    if name.concepts & set(lexicon.FOREIGN_COLUMNS):
        return ()
    if "temperature" in name.concepts and _DEVICES & set(name.words):
        return ()
    best: dict[str, float] = {}
    for rule in RULES:
        if rule.needs <= name.concepts:
            score = rule.score - _penalty(name.concepts - rule.needs) - 0.12 * name.unknown
            if score >= REFUSED and _unit_fits(rule.channel, name):
                best[rule.channel] = max(score, best.get(rule.channel, 0.0))
    return tuple(sorted(best.items(), key=lambda item: -item[1]))


def _penalty(extra: frozenset[str]) -> float:
    if extra & _CHANGING:
        return 1.0
    return sum(0.15 if concept in _SOFT else 0.5 for concept in extra)


def _unit_fits(channel: str, name: Name) -> bool:
    """Whether the unit in the name can be of the channel; a name without one fits anything."""
    if name.unit is None:
        return True
    if channel in HELPERS:
        return name.unit.kind == "speed"
    allowed = _KIND_OF_UNIT[KINDS[channel].unit] | _ALSO.get(channel, set())
    # "ms" is milliseconds in the book of units, and meters per second in most names of velocities.
    return name.unit.kind in allowed or (
        KINDS[channel].unit == "m/s" and name.unit_text.lower() == "ms" and name.unit.kind == "time"
    )
