"""Solved schedules flown on JSBSim by an autopilot: a check against an airplane that is no point mass."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from tests.flights.airplanes import AIRPLANES, Airplane
from tests.flights.goals import Leg
from tests.flights.schedule_hand import ScheduleHand
from tests.flights.simulate import TICK, Simulator, Start
from tests.flights.weather import Weather, random_weather

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.reference import Reference, solve
from chalkwing.reference.assembling import side_of
from chalkwing.units import FOOT, KNOT

SHEETS = Path(__file__).parents[1] / "flights" / "sheets"
SETTLING, ALTITUDE = 60.0, 1500.0
LAG_BANK, LAG_PITCH = 1 / 1.5, 1 / 1.3
"""How far [s] the hand's attitude loops trail what they are asked: one over their gains."""


@dataclass(frozen=True)
class Loop:
    """How one half came out on the engine, against its entry and the plan."""

    altitude: float
    airspeed: float
    heading: float
    top_height: float
    planned: Reference
    power_below_level: float

    @property
    def top_share(self) -> float:
        """The engine's top height over the planned one."""
        return self.top_height / self.planned.fact("top_height")


def still_air() -> Weather:
    """A standard day without wind."""
    return replace(
        random_weather(1),
        gust_sd=0.0,
        wind_speed=0.0,
        shear=0.0,
        drift_sd=0.0,
        isa_deviation=0.0,
        sea_level_pressure=101325.0,
    )


def sheet_of(name: str) -> AirplaneSheet:
    """The sheet measured on the engine."""
    return load_sheet(SHEETS / f"sim-{name}.toml")


def settled(airplane: Airplane, airspeed: float) -> ScheduleHand:
    """Level flight at an airspeed, at the loading of the measured sheet."""
    load, fuel = sum(airplane.load) / 2, sum(airplane.fuel) / 2
    start = Start(0.7, -1.6, ALTITUDE, 0.0, airspeed, load, fuel)
    simulator = Simulator(airplane, still_air(), start, stall_warning=False)
    hand = ScheduleHand(simulator, seed=1, roughness=0.0)
    hand.fly(Leg("level", simulator.state.altimeter, airspeed, duration=SETTLING))
    return hand


def lever_for(airplane: Airplane, airspeed: float, share: float) -> float:
    """The throttle lever that gives ``share`` of level flight's power at that airspeed.

    The lever is stepped in level flight and the power read 2 s later, before the airspeed has changed much.
    """
    levers, powers = [], []
    for change in (-0.15, -0.08, 0.0):
        hand = settled(airplane, airspeed)
        level_power, altitude = hand.state.engine_power, hand.state.altimeter
        lever = hand.throttle + change
        for _ in range(int(2.0 / TICK)):
            hand.throttle = lever
            hand.hold(0.0, hand.pitch_for_altitude(altitude))
        levers.append(lever)
        powers.append(hand.state.engine_power / level_power)
    slope, intercept = np.polyfit(powers, levers, 1)
    return float(intercept + slope * share)


def fly_half(name: str, maximum_bank: float, **settings: object) -> Loop:
    """Solve a lazy eight for the measured sheet, and fly its first half on the engine at the solved power."""
    airplane = AIRPLANES[name]
    hand = settled(airplane, airplane.entry_speed)
    state = hand.state
    entry_altitude, entry_speed, entry_heading = state.altimeter, state.calibrated_airspeed, state.heading
    planned = solve(
        "lazy_eight",
        sheet=sheet_of(name),
        mass=state.mass,
        entry_altitude=entry_altitude,
        entry_speed=entry_speed,
        maximum_bank=maximum_bank,
        **settings,
    )
    share = planned.fact("closing_throttle") / planned.fact("level_throttle")
    lever = lever_for(airplane, airplane.entry_speed, share)
    heights = _fly_schedule(hand, planned, lever)
    turned = side_of(planned.direction) * (state.heading - entry_heading)
    return Loop(
        altitude=state.altimeter - entry_altitude,
        airspeed=state.calibrated_airspeed - entry_speed,
        heading=turned - np.pi,
        top_height=max(heights) - entry_altitude,
        planned=planned,
        power_below_level=1.0 - share,
    )


def _fly_schedule(hand: ScheduleHand, planned: Reference, lever: float) -> list[float]:
    """Hold the first half's attitudes by time, led by the loops' lag, steadily corrected; heights flown."""
    half = planned["part"] == 1.0
    time, side = planned.time[half], side_of(planned.direction)
    # Both attitudes are told from straight and level flight: against its propeller this airplane holds a
    # little bank there, which a point mass does not know of.
    bank = hand.state.bank + side * planned["bank_into_turn"][half]
    pitch = hand.state.pitch + planned["pitch"][half] - planned["pitch"][0]
    led = (bank + LAG_BANK * np.gradient(bank, time), pitch + LAG_PITCH * np.gradient(pitch, time))
    correction, heights = np.zeros(2), []
    hand.throttle = lever
    for tick in range(int(time[-1] / TICK)):
        now = (tick + 1) * TICK
        asked = np.array([np.interp(now, time, each) for each in led])
        state = hand.hold(*(asked + correction))
        wanted = np.array([np.interp(now, time, bank), np.interp(now, time, pitch)])
        correction += 0.5 * (wanted - (state.bank, state.pitch)) * TICK
        heights.append(state.altimeter)
    return heights


def told(loop: Loop) -> str:
    """One line for people."""
    planned = loop.planned.fact("top_height") / FOOT
    return (
        f"altitude {loop.altitude / FOOT:+.0f} ft, airspeed {loop.airspeed / KNOT:+.1f} kt, heading "
        f"{np.degrees(loop.heading):+.1f}°, top {loop.top_share:.2f} of {planned:.0f} ft, "
        f"throttle {100 * loop.power_below_level:.1f} % below level"
    )
