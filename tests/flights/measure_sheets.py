"""Airplane sheets of the simulated airplanes: ``python -m tests.flights.measure_sheets``.

One deceleration in level flight at idle in still standard air gives lift and drag against angle of attack
down to the stall; one minute of level flight gives the propeller's efficiency. Figures are rounded as a
school would have them from a manual, at the middle loading, and so a little wrong on any other day.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from tests.flights.airplanes import AIRPLANES, Airplane
from tests.flights.goals import Leg
from tests.flights.recorders.avionics import position_error
from tests.flights.schedule_hand import ScheduleHand
from tests.flights.simulate import HORSEPOWER, TICK, DepartedError, Simulator, Start
from tests.flights.weather import random_weather

from chalkwing.units import DEGREE, FOOT, KNOT, POUND, STANDARD_GRAVITY

HERE = Path(__file__).parent / "sheets"
FORCE_POUND = POUND * STANDARD_GRAVITY
CONSTANT_SPEED = ("c182", "c310")


@dataclass(frozen=True)
class Measured:
    """What the runs gave, SI."""

    mass: float
    wing_area: float
    span: float
    power: float
    engines: int
    zero_lift_drag: float
    span_efficiency: float
    lift_slope: float
    zero_lift_angle: float
    lift_max: float
    propeller_efficiency: float

    @property
    def stall_speed(self) -> float:
        return math.sqrt(2 * self.mass * STANDARD_GRAVITY / (1.225 * self.wing_area * self.lift_max))


def measure(airplane: Airplane) -> Measured:
    """Fly the two runs."""
    still = replace(
        random_weather(1),
        gust_sd=0.0,
        wind_speed=0.0,
        shear=0.0,
        drift_sd=0.0,
        isa_deviation=0.0,
        sea_level_pressure=101325.0,
    )
    start = Start(
        0.7, -1.6, 1500.0, 0.0, airplane.cruise_speed, sum(airplane.load) / 2, sum(airplane.fuel) / 2
    )
    simulator = Simulator(airplane, still, start, stall_warning=False)  # the pilot is to go all the way
    hand = ScheduleHand(simulator, seed=1, roughness=0.0)
    altitude = simulator.state.altimeter
    hand.fly(Leg("level", altitude, airplane.entry_speed, duration=60))
    s = simulator.state
    useful = _drag(simulator) * s.true_airspeed
    efficiency = useful / (s.engine_power * simulator.engines)
    lift, drag, angle = _decelerate(simulator, hand, altitude)
    facts = simulator.facts()
    area, span = float(facts["wing_area"]), float(facts["span"])
    polar = (lift > 0.3) & (lift < 0.8)  # where maneuvers are flown; beyond it no parabola fits
    induced, zero = np.polyfit(lift[polar] ** 2, drag[polar], 1)
    linear = (lift > 0.3) & (lift < 0.9)
    slope, intercept = np.polyfit(angle[linear], lift[linear], 1)
    return Measured(
        mass=s.mass,
        wing_area=area,
        span=span,
        power=float(facts["maximum_power"]),
        engines=simulator.engines,
        zero_lift_drag=float(zero),
        span_efficiency=float(1 / (np.pi * span**2 / area * induced)),
        lift_slope=float(slope),
        zero_lift_angle=float(-intercept / slope),
        lift_max=float(lift.max()),
        propeller_efficiency=float(efficiency),
    )


def _drag(simulator: Simulator) -> float:
    return float(simulator.fdm["forces/fwx-aero-lbs"]) * FORCE_POUND


def _decelerate(
    simulator: Simulator, hand: ScheduleHand, altitude: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Lift and drag coefficients and angle of attack down to the stall."""
    hand.throttle = 0.0
    area = float(simulator.facts()["wing_area"])
    rows = []
    try:
        for _ in range(int(90 / TICK)):
            s = hand.hold(0.0, hand.pitch_for_altitude(altitude))
            force = 0.5 * s.density * s.true_airspeed**2 * area
            lift = float(simulator.fdm["forces/fwz-aero-lbs"]) * FORCE_POUND
            rows.append((lift / force, _drag(simulator) / force, s.angle_of_attack))
            if s.angle_of_attack > 17 * DEGREE:
                break
    except DepartedError:
        pass  # the stall it was to reach
    lift, drag, angle = np.array(rows).T
    return lift, drag, angle


def as_toml(airplane: Airplane, m: Measured) -> str:
    """The sheet's file, in the schema of the package's airplane room."""
    speeds = np.linspace(0.95 * m.stall_speed, 1.25 * airplane.entry_speed, 6)
    indicated = speeds + position_error(airplane.name, speeds)
    listed = [", ".join(f"{v / KNOT:.1f}" for v in values) for values in (indicated, speeds)]
    propeller = "constant_speed" if airplane.name in CONSTANT_SPEED else "fixed_pitch"
    source = "runs in the simulator, see tests/flights/measure_sheets.py"
    return f"""# The simulated airplane {airplane.name}, for tests only. Not for flight.
schema = 1
name = "sim-{airplane.name}"
title = "Simulated {airplane.name}"
generic = false
engines = {m.engines}
propeller = "{propeller}"
source = "{source}"

mass_lb = {round(m.mass / POUND, -1):.0f}
wing_area_ft2 = {m.wing_area / FOOT**2:.0f}
wing_span_ft = {m.span / FOOT:.1f}
power_hp = {m.power / HORSEPOWER:.0f}
stall_speed_kcas = {m.stall_speed / KNOT:.0f}
maneuvering_speed_kcas = {airplane.entry_speed / KNOT:.0f}
zero_lift_drag = {m.zero_lift_drag:.3f}
span_efficiency = {m.span_efficiency:.2f}
lift_slope_per_rad = {m.lift_slope:.1f}
zero_lift_angle_deg = {m.zero_lift_angle / DEGREE:.1f}
propeller_efficiency = {m.propeller_efficiency:.2f}

[indicated_to_calibrated]
indicated_kt = [{listed[0]}]
calibrated_kt = [{listed[1]}]
source = "invented, of the size manuals print; the recorder model reads by it"
"""


def main() -> None:
    HERE.mkdir(exist_ok=True)
    for airplane in AIRPLANES.values():
        (HERE / f"sim-{airplane.name}.toml").write_text(as_toml(airplane, measure(airplane)))


if __name__ == "__main__":
    main()
