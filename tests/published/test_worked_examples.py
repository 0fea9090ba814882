"""Every published worked example through chalkwing's own functions.

The rows lie beside this file, one file a topic, each with its source and tolerance. A row says whether its
number was read in a source (``published``) or computed from a sourced formula (``derived``), and whether it
was seen at all: nine rows are from memory (the seven of the pivotal-altitude table, the 2,215 ft turn radius,
the stall at 4 g) and are marked so in their test ids. Rows of law ``rule`` reproduce pilots' arithmetic: they
test the functions of ``rules_of_thumb`` and nothing else, and no exact row is tested with a rule.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from chalkwing import air, earth, units
from chalkwing.dynamics import glide, rules_of_thumb, turning, wind_triangle
from chalkwing.units import celsius_to_kelvin, deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, mps_to_kt, rad_to_deg

Inputs = dict[str, float | str]
MPH = units.MILE / 3600.0


@dataclass(frozen=True)
class Row:
    id: str
    topic: str
    quantity: str
    inputs: Inputs
    expected: float
    tolerance: float
    law: str
    from_memory: bool


def _value(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _rows(path: Path) -> list[Row]:
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return [
        Row(
            id=row["id"],
            topic=path.stem,
            quantity=row["quantity"],
            inputs={k: _value(v) for k, v in (pair.split("=") for pair in row["inputs"].split("; ") if pair)},
            expected=float(row["expected"]),
            tolerance=float(row["tolerance"]),
            law=row["law"],
            from_memory=row["from_memory"] == "yes",
        )
        for row in csv.DictReader(lines)
    ]


ROWS = [row for path in sorted(Path(__file__).parent.glob("*.csv")) for row in _rows(path)]


# --- From the rows' units to chalkwing's functions and back -----------------------------------------------


def _deg(i: Inputs, name: str) -> float:
    return deg_to_rad(float(i[name]))


def _kt(i: Inputs, name: str) -> float:
    return kt_to_mps(float(i[name]))


def _ft(i: Inputs, name: str) -> float:
    return ft_to_m(float(i[name]))


def _altitude(i: Inputs) -> float:
    """The geopotential altitude of an atmosphere row [m]; metric rows give geometric height."""
    if "geometric_height_m" in i:
        return air.geopotential_altitude(float(i["geometric_height_m"]))
    return _ft(i, "geopotential_altitude_ft" if "geopotential_altitude_ft" in i else "altitude_ft")


def _deviation(i: Inputs) -> float:
    if "isa_temp_C" in i:
        return float(i["oat_C"]) - float(i["isa_temp_C"])
    celsius = float(i["oat_C"]) if "oat_C" in i else (float(i["oat_F"]) - 32.0) / 1.8
    return air.isa_deviation(pressure_altitude=_pressure_altitude(i), temperature=celsius_to_kelvin(celsius))


def _pressure_altitude(i: Inputs) -> float:
    if "pressure_altitude_ft" in i:
        return _ft(i, "pressure_altitude_ft")
    setting = float(i["altimeter_inHg"]) * units.INCH_OF_MERCURY
    return air.pressure_altitude_of_reading(
        altimeter_altitude=_ft(i, "elevation_ft"), altimeter_setting=setting
    )


def _radius(i: Inputs) -> float:
    if "turn_rate_deg_s" in i:
        return m_to_ft(
            turning.radius_at_turn_rate(speed=_kt(i, "tas_kt"), turn_rate=_deg(i, "turn_rate_deg_s"))
        )
    if "g_ms2" in i:
        return turning.turn_radius(
            true_airspeed=_kt(i, "tas_kt"), bank=_deg(i, "bank_deg"), gravity=float(i["g_ms2"])
        )
    return m_to_ft(turning.turn_radius(true_airspeed=_kt(i, "tas_kt"), bank=_deg(i, "bank_deg")))


def _stall(i: Inputs) -> float:
    level = _kt(i, "vs_1g_kt")
    if "load_factor" in i:
        stall = turning.stall_speed(level_stall_speed=level, load_factor=float(i["load_factor"]))
    else:
        stall = turning.stall_speed_in_turn(level_stall_speed=level, bank=_deg(i, "bank_deg"))
    return mps_to_kt(stall)


def _bank_for_radius(i: Inputs) -> float:
    tailwind = _kt(i, "wind_kt") * {"downwind": 1.0, "upwind": -1.0}[str(i["point"])]
    bank = turning.bank_for_radius(
        true_airspeed=_kt(i, "tas_kt"), tailwind=tailwind, radius=_ft(i, "radius_ft")
    )
    return rad_to_deg(bank)


def _wind(i: Inputs) -> tuple[float, float]:
    """Headwind and crosswind of a row [kt]."""
    speed = float(i.get("wind_kt", 1.0))
    direction = _deg(i, "runway_deg") if "runway_deg" in i else 0.0
    wind_from = _deg(i, "wind_from_deg" if "wind_from_deg" in i else "angle_deg")
    return wind_triangle.headwind_and_crosswind(direction=direction, wind_from=wind_from, wind_speed=speed)


def _correction(i: Inputs) -> tuple[float, float]:
    return wind_triangle.heading_for_course(
        course=_deg(i, "true_course_deg"),
        true_airspeed=_kt(i, "tas_kt"),
        wind_from=_deg(i, "wind_from_deg"),
        wind_speed=_kt(i, "wind_kt"),
    )


def _track(i: Inputs) -> tuple[float, float]:
    return wind_triangle.track_of_heading(
        heading=_deg(i, "heading_deg"),
        true_airspeed=_kt(i, "tas_kt"),
        wind_from=_deg(i, "wind_from_deg"),
        wind_speed=_kt(i, "wind_kt"),
    )


def _spiral(i: Inputs, formula: Callable[..., float]) -> float:
    return m_to_ft(
        formula(
            true_airspeed=_kt(i, "tas_kt"), bank=_deg(i, "bank_deg"), lift_to_drag=float(i["lift_to_drag"])
        )
    )


def _glide(i: Inputs) -> float:
    distance = glide.glide_distance(
        height=_ft(i, "height_ft"),
        glide_ratio=float(i["glide_ratio"]),
        true_airspeed=_kt(i, "tas_kt") if "tas_kt" in i else 1.0,
        headwind=_kt(i, "headwind_kt") if "headwind_kt" in i else 0.0,
    )
    return distance / units.NAUTICAL_MILE


def _true_airspeed(i: Inputs) -> float:
    return mps_to_kt(
        air.true_from_calibrated(
            calibrated_airspeed=_kt(i, "cas_kt"),
            pressure_altitude=_ft(i, "pressure_altitude_ft"),
            isa_deviation=float(i["isa_deviation_C"]),
        )
    )


def _line(i: Inputs) -> earth.Line:
    return earth.line_between(
        latitude=_deg(i, "lat1"),
        longitude=_deg(i, "lon1"),
        to_latitude=_deg(i, "lat2"),
        to_longitude=_deg(i, "lon2"),
    )


def _end(i: Inputs) -> earth.Place:
    return earth.place_at(
        latitude=_deg(i, "lat1"), longitude=_deg(i, "lon1"), azimuth=_deg(i, "azi1"), distance=float(i["s12"])
    )


def _field(i: Inputs) -> earth.MagneticField:
    return earth.magnetic_field(
        latitude=_deg(i, "lat_deg"),
        longitude=_deg(i, "lon_deg"),
        altitude=float(i["height_km"]) * 1000.0,
        date=float(i["decimal_year"]),
    )


EXACT: dict[tuple[str, str], Callable[[Inputs], float]] = {
    ("airspeed", "cas_from_tas"): lambda i: air.calibrated_from_true(
        true_airspeed=float(i["tas_ms"]), pressure_altitude=_ft(i, "pressure_altitude_ft")
    ),
    ("airspeed", "eas_from_tas"): lambda i: air.equivalent_from_true(
        true_airspeed=float(i["tas_ms"]), pressure_altitude=_ft(i, "pressure_altitude_ft")
    ),
    ("airspeed", "impact_pressure"): lambda i: air.impact_pressure(_kt(i, "cas_kt")),
    ("airspeed", "tas_from_cas"): _true_airspeed,
    ("density_altitude", "density_altitude"): lambda i: m_to_ft(
        air.density_altitude(pressure_altitude=_pressure_altitude(i), isa_deviation=_deviation(i))
    ),
    ("density_altitude", "pressure_altitude"): lambda i: m_to_ft(_pressure_altitude(i)),
    ("energy", "energy_height"): lambda i: m_to_ft(
        glide.energy_height(altitude=_ft(i, "altitude_ft"), true_airspeed=_kt(i, "tas_kt"))
    ),
    ("energy", "ft_per_kt_at_speed"): lambda i: (
        m_to_ft(glide.height_per_speed(_kt(i, "tas_kt"))) * units.KNOT
    ),
    ("energy", "height_gain_for_speed_change"): lambda i: m_to_ft(
        glide.height_for_speed_change(from_airspeed=_kt(i, "tas1_kt"), to_airspeed=_kt(i, "tas2_kt"))
    ),
    ("energy", "specific_kinetic_energy_per_kt2"): lambda _: m_to_ft(
        glide.energy_height(altitude=0.0, true_airspeed=units.KNOT)
    ),
    ("geodesic", "distance"): lambda i: float(_line(i).distance),
    ("geodesic", "initial_azimuth"): lambda i: float(rad_to_deg(_line(i).azimuth)),
    ("geodesic", "reverse_azimuth"): lambda i: float(rad_to_deg(_line(i).final_azimuth)) - 180.0,
    ("geodesic", "latitude"): lambda i: float(rad_to_deg(_end(i).latitude)),
    ("geodesic", "longitude"): lambda i: float(rad_to_deg(_end(i).longitude)),
    ("glide", "glide_distance_nm"): _glide,
    ("ground_reference", "bank_for_constant_radius"): _bank_for_radius,
    ("load_factor", "load_factor_level_turn"): lambda i: turning.load_factor(_deg(i, "bank_deg")),
    ("maneuvering_speed", "va_at_weight"): lambda i: mps_to_kt(
        turning.speed_at_weight(
            speed=_kt(i, "va_max_kt"), weight_ratio=float(i["weight"]) / float(i["weight_max"])
        )
    ),
    ("pivotal_altitude", "exact_divisor_kt2_per_ft"): lambda _: (
        1.0 / m_to_ft(turning.pivotal_altitude(true_airspeed=units.KNOT))
    ),
    ("pivotal_altitude", "exact_divisor_mph2_per_ft"): lambda _: (
        1.0 / m_to_ft(turning.pivotal_altitude(true_airspeed=MPH))
    ),
    ("pivotal_altitude", "exact_pivotal_altitude_agl"): lambda i: m_to_ft(
        turning.pivotal_altitude(
            true_airspeed=_kt(i, "tas_kt"), tailwind=_kt(i, "wind_component_along_heading_kt")
        )
    ),
    ("stall_speed", "stall_speed"): _stall,
    ("stall_speed", "stall_speed_multiplier"): lambda i: turning.stall_speed_in_turn(
        level_stall_speed=1.0, bank=_deg(i, "bank_deg")
    ),
    ("standard_atmosphere", "density"): lambda i: air.standard_density(_altitude(i)),
    ("standard_atmosphere", "pressure"): lambda i: air.standard_pressure(_altitude(i)),
    ("standard_atmosphere", "pressure_psia"): lambda i: (
        air.standard_pressure(_altitude(i)) / units.POUND_PER_SQUARE_INCH
    ),
    ("standard_atmosphere", "speed_of_sound"): lambda i: air.speed_of_sound(
        air.standard_temperature(_altitude(i))
    ),
    ("standard_atmosphere", "temperature"): lambda i: air.standard_temperature(_altitude(i)),
    ("standard_atmosphere", "temperature_F"): lambda i: air.standard_temperature(_altitude(i)) * 1.8 - 459.67,
    ("steep_spiral", "entry_altitude_msl"): lambda i: m_to_ft(
        glide.spiral_entry_altitude(
            terrain=_ft(i, "terrain_ft"),
            floor=_ft(i, "floor_agl_ft"),
            turns=float(i["turns"]),
            loss_per_turn=_ft(i, "loss_per_turn_ft"),
        )
    ),
    ("steep_spiral", "height_loss_per_360"): lambda i: _spiral(i, glide.spiral_height_loss),
    ("steep_spiral", "sink_rate"): lambda i: _spiral(i, glide.spiral_sink_rate) * 60.0,
    ("turn", "bank_for_standard_rate"): lambda i: rad_to_deg(
        turning.bank_for_turn_rate(true_airspeed=_kt(i, "tas_kt"), turn_rate=deg_to_rad(3.0))
    ),
    ("turn", "time_for_360"): lambda i: turning.turn_time(
        true_airspeed=_kt(i, "tas_kt"), bank=_deg(i, "bank_deg")
    ),
    ("turn", "turn_radius"): _radius,
    ("turn", "turn_rate"): lambda i: rad_to_deg(
        turning.turn_rate(true_airspeed=_kt(i, "tas_kt"), bank=_deg(i, "bank_deg"))
    ),
    ("units", "hpa_per_30ft_near_sl"): lambda i: (
        (air.standard_pressure(_ft(i, "from_ft")) - air.standard_pressure(_ft(i, "to_ft")))
        / units.HECTOPASCAL
    ),
    ("units", "inHg_to_hPa"): lambda i: float(i["inHg"]) * units.INCH_OF_MERCURY / units.HECTOPASCAL,
    ("units", "kt_to_ms"): lambda i: _kt(i, "kt"),
    ("units", "nm_to_ft"): lambda i: m_to_ft(float(i["nm"]) * units.NAUTICAL_MILE),
    ("wind_component", "crosswind"): lambda i: _wind(i)[1],
    ("wind_component", "crosswind_per_unit_wind"): lambda i: _wind(i)[1],
    ("wind_component", "headwind"): lambda i: _wind(i)[0],
    ("wind_component", "wind_speed_for_crosswind_limit"): lambda i: wind_triangle.wind_speed_for_crosswind(
        direction=_deg(i, "runway_deg"),
        wind_from=_deg(i, "wind_from_deg"),
        crosswind=float(i["crosswind_limit_kt"]),
    ),
    ("wind_triangle", "groundspeed"): lambda i: mps_to_kt(_correction(i)[1]),
    ("wind_triangle", "wind_correction_angle"): lambda i: rad_to_deg(_correction(i)[0]),
    ("wind_triangle", "groundspeed_from_heading"): lambda i: mps_to_kt(_track(i)[1]),
    ("wind_triangle", "track_from_heading"): lambda i: rad_to_deg(_track(i)[0]),
    ("wmm2025", "D"): lambda i: rad_to_deg(_field(i).variation),
    ("wmm2025", "I"): lambda i: rad_to_deg(_field(i).dip),
    ("wmm2025", "F"): lambda i: _field(i).total,
    ("wmm2025", "H"): lambda i: _field(i).horizontal,
    ("wmm2025", "X"): lambda i: _field(i).north,
    ("wmm2025", "Y"): lambda i: _field(i).east,
    ("wmm2025", "Z"): lambda i: _field(i).down,
    ("wmm2025", "declination_1sigma"): lambda i: rad_to_deg(earth.variation_sd(float(i["H_nT"]))),
}


def _pivotal_rule(i: Inputs) -> float:
    """The rule in the unit the row is told in; the table prints both, and its knots are the rounded ones."""
    if "groundspeed_mph" in i:
        height = rules_of_thumb.pivotal_altitude_rule_mph(float(i["groundspeed_mph"]) * MPH)
    else:
        height = rules_of_thumb.pivotal_altitude_rule(_kt(i, "groundspeed_kt"))
    return m_to_ft(height) + float(i.get("ground_elevation_ft", 0.0))


def _density_rule(feet_per_celsius: float) -> Callable[[Inputs], float]:
    return lambda i: m_to_ft(
        rules_of_thumb.density_altitude_rule(
            pressure_altitude=_pressure_altitude(i),
            isa_deviation=_deviation(i),
            feet_per_celsius=feet_per_celsius,
        )
    )


def _roll_out(i: Inputs) -> float:
    lead = rules_of_thumb.roll_out_lead_rule(_deg(i, "bank_deg"))
    sign = {"right": 1.0, "left": -1.0}[str(i["direction"])]
    return rad_to_deg(_deg(i, "entry_heading_deg") - sign * lead)


RULE: dict[tuple[str, str], Callable[[Inputs], float]] = {
    ("density_altitude", "density_altitude_rule_118_6"): _density_rule(118.6),
    ("density_altitude", "density_altitude_rule_120"): _density_rule(120.0),
    ("pivotal_altitude", "pivotal_altitude_agl"): _pivotal_rule,
    ("pivotal_altitude", "pivotal_altitude_msl"): _pivotal_rule,
    ("turn", "rollout_heading_start"): _roll_out,
    ("turn", "turn_radius"): lambda i: m_to_ft(
        rules_of_thumb.turn_radius_rule(true_airspeed=_kt(i, "tas_kt"), bank=_deg(i, "bank_deg"))
    ),
    ("wind_component", "minimum_certification_crosswind"): lambda i: mps_to_kt(
        rules_of_thumb.certificated_crosswind(_kt(i, "vso_kt"))
    ),
}


@pytest.mark.parametrize(
    "row", ROWS, ids=[row.id + (":from_memory" if row.from_memory else "") for row in ROWS]
)
def test_worked_example(row: Row) -> None:
    laws = {"exact": EXACT, "rule": RULE}[row.law]
    found = laws[row.topic, row.quantity](row.inputs)
    assert abs(float(found) - row.expected) <= row.tolerance


def test_every_row_is_here_and_every_law_is_used() -> None:
    assert len(ROWS) == len({row.id for row in ROWS}) == 390
    assert sum(row.from_memory for row in ROWS) == 9
    for law, table in (("exact", EXACT), ("rule", RULE)):
        assert {(row.topic, row.quantity) for row in ROWS if row.law == law} == set(table)


def test_the_rules_are_not_the_exact_law() -> None:
    # Were a rule function the exact one in disguise, these would agree; the worked cases differ.
    speed, wind = kt_to_mps(90.0), kt_to_mps(20.0)
    exact = m_to_ft(turning.pivotal_altitude(true_airspeed=speed, tailwind=wind))
    rule = m_to_ft(rules_of_thumb.pivotal_altitude_rule(speed + wind))
    assert rule - exact == pytest.approx(1071 - 877, abs=2.0)
    assert rad_to_deg(rules_of_thumb.standard_rate_bank_rule(kt_to_mps(80.0))) == pytest.approx(15.0)
    bank = turning.bank_for_turn_rate(true_airspeed=kt_to_mps(80.0), turn_rate=np.radians(3.0))
    assert rad_to_deg(bank) == pytest.approx(12.393, abs=0.02)
