"""Handbook pages of the simulated airplanes: ``python -m tests.airplane.measure_handbooks``.

Each airplane is flown as a test pilot would to fill a flight manual: decelerated to the stall, held level at
throttle settings and altitudes, climbed at full throttle, glided at several airspeeds. What is written down
is what a manual prints, rounded as it rounds, and nothing of the simulator's own coefficients. The ``held-``
file beside each sheet is what the sheet never sees: climbs, glides and a spiral at other airspeeds,
against which the fitted model is tried.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.flights.airplanes import AIRPLANES, Airplane
from tests.flights.schedule_hand import ScheduleHand
from tests.flights.simulate import HORSEPOWER, TICK, DepartedError, Simulator, Start
from tests.reference.engine import still_air

from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT, POUND

HERE = Path(__file__).parent / "handbooks"
CONSTANT_SPEED = ("c182", "c310")
LEVELS = ((2000, 1.0), (2000, 0.75), (6000, 1.0), (6000, 0.85), (8000, 0.9))
CLIMBS = (1500, 6000)


@dataclass(frozen=True)
class Mean:
    """The last seconds of a steady stretch."""

    true_airspeed: float
    calibrated_airspeed: float
    climb: float
    acceleration: float
    pressure_altitude: float
    density: float
    power: float
    engine_speed: float
    pitch: float
    mass: float


def airborne(airplane: Airplane, *, altitude_ft: float, airspeed: float) -> tuple[Simulator, ScheduleHand]:
    """The airplane in still standard air at the middle loading."""
    start = Start(0.7, -1.6, altitude_ft * FOOT, 0.0, airspeed, sum(airplane.load) / 2, 0.5)
    simulator = Simulator(airplane, still_air(), start, stall_warning=False)  # a test pilot goes all the way
    return simulator, ScheduleHand(simulator, seed=1, roughness=0.0)


def mean_of(simulator: Simulator, seconds: float) -> Mean:
    table = simulator.table().tail(int(seconds / TICK))
    time = table["time"].to_numpy()

    def slope(name: str) -> float:
        return float(np.polyfit(time, table[name].to_numpy(), 1)[0])

    def mean(name: str) -> float:
        return float(table[name].mean())  # type: ignore[arg-type]

    return Mean(
        mean("true_airspeed"),
        mean("calibrated_airspeed"),
        slope("geometric_altitude"),
        slope("true_airspeed"),
        mean("pressure_altitude"),
        mean("density"),
        mean("power"),
        mean("engine_speed"),
        mean("pitch"),
        mean("mass"),
    )


def hold_airspeed(
    hand: ScheduleHand, airspeed: float, *, throttle: float, seconds: float, bank: float = 0.0
) -> None:
    """Steady climb or glide at a calibrated airspeed, by pitch."""
    pitch = hand.state.pitch
    for _ in range(int(seconds / TICK)):
        hand.throttle = throttle
        error = hand.state.calibrated_airspeed - airspeed
        pitch = min(max(pitch + 0.004 * error * TICK, -15 * DEGREE), 16 * DEGREE)
        hand.hold(bank, min(max(pitch + 0.010 * error, -15 * DEGREE), 16 * DEGREE))


def hold_altitude(hand: ScheduleHand, *, throttle: float, seconds: float) -> None:
    altitude = hand.state.altimeter
    for _ in range(int(seconds / TICK)):
        hand.throttle = throttle
        hand.hold(0.0, hand.pitch_for_altitude(altitude))


def stall_airspeed(airplane: Airplane) -> tuple[float, float]:
    """Calibrated stall speed at 1 g, idle, slowing level; and the mass."""
    _simulator, hand = airborne(airplane, altitude_ft=5000, airspeed=airplane.climb_speed)
    altitude = hand.state.altimeter
    slowest = math.inf
    try:
        for _ in range(int(120 / TICK)):
            hand.throttle = 0.0
            s = hand.hold(0.0, hand.pitch_for_altitude(altitude))
            if s.load_factor > 0.7:
                slowest = min(slowest, s.calibrated_airspeed / math.sqrt(s.load_factor))
            if s.angle_of_attack > 17 * DEGREE:
                break
    except DepartedError:
        pass  # the stall it was to reach
    return slowest, hand.state.mass


def level(airplane: Airplane, altitude_ft: float, throttle: float) -> Mean:
    """Level flight once it no longer gains or loses speed."""
    simulator, hand = airborne(airplane, altitude_ft=altitude_ft, airspeed=airplane.cruise_speed)
    hold_altitude(hand, throttle=throttle, seconds=180)
    return mean_of(simulator, 20)


def steady(
    airplane: Airplane, altitude_ft: float, airspeed: float, throttle: float, *, bank: float = 0.0
) -> Mean:
    """A climb, glide or spiral at an airspeed, about an altitude."""
    simulator, hand = airborne(airplane, altitude_ft=altitude_ft, airspeed=airspeed)
    hold_airspeed(hand, airspeed, throttle=throttle, seconds=70, bank=bank)
    return mean_of(simulator, 20)


def best_glide(airplane: Airplane) -> tuple[float, float, float]:
    """Airspeed and ratio of the flattest glide, from glides at seven airspeeds; and the mass."""
    speeds = np.linspace(1.2, 2.1, 7) * airplane.stall_speed
    glides = [steady(airplane, 6000, speed, 0.0) for speed in speeds]
    slopes = [-g.climb / g.true_airspeed for g in glides]
    flown = [g.calibrated_airspeed for g in glides]
    curve = np.polyfit(flown, slopes, 3)
    fine = np.linspace(min(flown), max(flown), 500)
    least = np.polyval(curve, fine)
    return float(fine[least.argmin()]), float(1.0 / least.min()), glides[0].mass


def page(airplane: Airplane) -> str:
    """The sheet's file."""
    fixed = airplane.name not in CONSTANT_SPEED
    stall, mass = stall_airspeed(airplane)
    rated = level(airplane, 1000, 1.0)  # the simulator refuses lower
    simulator, _ = airborne(airplane, altitude_ft=3000, airspeed=airplane.cruise_speed)
    facts = simulator.facts()
    power = rated.power * float(facts["maximum_power"])
    lines = [
        f"# The simulated airplane {airplane.name}, for tests only. Not for flight.",
        "schema = 1",
        f'name = "sim-{airplane.name}"',
        f'title = "Simulated {airplane.name}"',
        f"engines = {simulator.engines}",
        f'propeller = "{"fixed_pitch" if fixed else "constant_speed"}"',
        'source = "flown in the simulator as for a flight manual, see tests/airplane/measure_handbooks.py"',
        "",
        f"mass_lb = {mass / POUND:.0f}",
        f"wing_area_ft2 = {float(facts['wing_area']) / FOOT**2:.0f}",
        f"wing_span_ft = {float(facts['span']) / FOOT:.1f}",
        f"power_hp = {power / HORSEPOWER:.0f}",
        f"rated_engine_speed_rpm = {_rpm(rated.engine_speed)}",
        f"stall_speed_kcas = {stall / KNOT:.0f}",
        f"maneuvering_speed_kcas = {airplane.entry_speed / KNOT:.0f}",
    ]
    speed, ratio, glide_mass = best_glide(airplane)
    lines += _table("glide", speed_kcas=f"{speed / KNOT:.0f}", ratio=f"{ratio:.1f}", mass_lb=_lb(glide_mass))
    for altitude, throttle in LEVELS:
        m = level(airplane, altitude, throttle)
        if abs(m.pressure_altitude - altitude * FOOT) < 100 * FOOT:  # else the setting does not hold it level
            lines += _level_row("level_flight", m, rated)
    for altitude in CLIMBS:
        lines += _climb_row("climb", steady(airplane, altitude, airplane.climb_speed, 1.0))
    for altitude, throttle in ((3000, 1.0), (3000, 0.75)):
        m = level(airplane, altitude, throttle)
        lines += _table(
            "level_attitude",
            speed_kcas=f"{m.calibrated_airspeed / KNOT:.0f}",
            pitch_deg=f"{m.pitch / DEGREE:.1f}",
            mass_lb=_lb(m.mass),
        )
    return "\n".join(lines) + "\n"


def held(airplane: Airplane) -> str:
    """What the sheet never sees: rates of climb and descent where maneuvers are flown."""
    lines = [f"# What the simulated {airplane.name} does where its sheet says nothing. SI, radians."]
    entry = airplane.entry_speed
    cases: tuple[tuple[str, float, float, float], ...] = (
        ("full_throttle_at_entry_speed", entry, 1.0, 0.0),
        ("idle_at_entry_speed", entry, 0.0, 0.0),
        ("idle_spiral_45_deg", 1.6 * airplane.stall_speed, 0.0, 45 * DEGREE),
        ("full_throttle_slow", 1.3 * airplane.stall_speed, 1.0, 0.0),
    )
    for name, speed, throttle, bank in cases:
        m = steady(airplane, 4000, speed, throttle, bank=bank)
        lines += ["", f"[{name}]", f"bank = {bank:.4f}"]
        lines += [
            f"{key} = {value:.4f}"
            for key, value in (
                ("true_airspeed", m.true_airspeed),
                ("density", m.density),
                ("mass", m.mass),
                ("climb", m.climb),
                ("acceleration", m.acceleration),
                ("throttle", throttle),
            )
        ]
    return "\n".join(lines) + "\n"


def _rpm(engine_speed: float) -> str:
    return f"{round(engine_speed * 60 / (2 * math.pi), -1):.0f}"


def _lb(mass: float) -> str:
    return f"{mass / POUND:.0f}"


def _table(name: str, **values: str) -> list[str]:
    return ["", f"[[{name}]]", *(f"{key} = {value}" for key, value in values.items())]


def _level_row(name: str, m: Mean, rated: Mean) -> list[str]:
    return _table(
        name,
        pressure_altitude_ft=f"{m.pressure_altitude / FOOT:.0f}",
        power_percent=f"{min(100 * m.power / rated.power, 100.0):.0f}",
        engine_speed_rpm=_rpm(m.engine_speed),
        true_airspeed_ktas=f"{m.true_airspeed / KNOT:.0f}",
        mass_lb=_lb(m.mass),
    )


def _climb_row(name: str, m: Mean) -> list[str]:
    return _table(
        name,
        pressure_altitude_ft=f"{m.pressure_altitude / FOOT:.0f}",
        speed_kcas=f"{m.calibrated_airspeed / KNOT:.0f}",
        rate_fpm=f"{round(m.climb / FOOT_PER_MINUTE, -1):.0f}",
        mass_lb=_lb(m.mass),
    )


def main() -> None:
    HERE.mkdir(exist_ok=True)
    for airplane in AIRPLANES.values():
        (HERE / f"sim-{airplane.name}.toml").write_text(page(airplane))
        (HERE / f"held-{airplane.name}.toml").write_text(held(airplane))


if __name__ == "__main__":
    main()
