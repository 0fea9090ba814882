"""One short flight with one maneuver of the course: enough to see in seconds that its measurement works."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.flights.airplanes import AIRPLANES
from tests.flights.course.flying import fly_course
from tests.flights.course.goals import TurnsAroundAPoint
from tests.flights.course.lessons import HANDS, weather_of
from tests.flights.course.measure import measure_course
from tests.flights.course.procedures import Setting
from tests.flights.course.track import Track
from tests.flights.goals import Leg
from tests.flights.recorders import RECORDERS, record
from tests.flights.simulate import Simulator, Start
from tests.flights.truth import TruthFlight

from chalkwing.units import DEGREE, FOOT, KNOT

AIRPLANE, SEED, TERRAIN = "c172p", 2004, 300.0
GOAL = TurnsAroundAPoint(1, 2, 38 * DEGREE, 48.0, 0.9, 20 * FOOT, 4 * DEGREE, 0.0)


def short_flight() -> TruthFlight:
    """Two turns around a point in 15 kt of wind from the north, with some straight flying about them."""
    calm = {"gust_sd": 0.5 * KNOT, "shear": 0.0, "veer": 0.0, "wind_from": 0.0}
    weather = replace(weather_of(SEED), wind_speed=15 * KNOT, **calm)
    model = AIRPLANES[AIRPLANE]
    start = Start(0.7, -1.7, TERRAIN + 260.0, np.pi, model.cruise_speed, 230.0, 0.6)
    simulator = Simulator(model, weather, start, terrain=TERRAIN)
    hand = HANDS["schedule"](simulator, seed=SEED, roughness=0.4)
    altitude = simulator.state.altimeter  # type: ignore[attr-defined]  # filled by the engine
    level = Leg("level", altitude, model.cruise_speed, duration=60)
    hand.fly(level)
    log = fly_course(hand, GOAL, Setting(model, np.pi, 15 * KNOT))
    hand.fly(level)
    track = Track(simulator.table(), AIRPLANE, TERRAIN)
    maneuver = measure_course(log, track, hand.sight.plane, GOAL)
    facts = {**simulator.facts(), "terrain": TERRAIN, "lesson": "whole"}
    return TruthFlight(SEED, "schedule", track.table, [maneuver], [], facts, weather.as_dict(), [])


def write(folder: Path) -> Path:
    """The short flight with its recording, as ``tests.flights.make`` writes one."""
    flight = short_flight()
    flight.save(folder)
    (folder / f"avionics{RECORDERS['avionics'][0]}").write_bytes(record(flight, "avionics", SEED))
    (folder / "done").touch()
    return folder
