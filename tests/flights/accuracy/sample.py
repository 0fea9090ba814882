"""One short lesson, flown anew: enough to see in seconds that the whole measurement still works."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from tests.flights.airplanes import AIRPLANES
from tests.flights.goals import Chandelle, LazyEight, Leg, SteepTurn
from tests.flights.lessons import HANDS
from tests.flights.recorders import RECORDERS as FILES
from tests.flights.recorders import record
from tests.flights.simulate import Simulator, Start
from tests.flights.truth import Flown, TruthFlight, measure_all
from tests.flights.weather import random_weather

from chalkwing.units import DEGREE, FOOT, KNOT

AIRPLANE = "c172p"
SEED = 2000
"""Neither a lesson of the tuning nor one of the reported set."""
GOALS = (
    LazyEight(
        direction=1, bank=30 * DEGREE, pitch_up=10 * DEGREE, altitude_errors=(40 * FOOT, -60 * FOOT),
        airspeed_error=3 * KNOT, heading_errors=(4 * DEGREE, -6 * DEGREE),
    ),
    SteepTurn(
        direction=-1, bank=48 * DEGREE, turns=1, altitude_excursion=70 * FOOT, airspeed_excursion=4 * KNOT,
        bank_excursion=2 * DEGREE, heading_error=5 * DEGREE, add_power=True, phase=0.0,
    ),
    Chandelle(direction=1, bank=30 * DEGREE, pitch_up=12 * DEGREE, heading_error=-5 * DEGREE),
)  # fmt: skip


def short_lesson() -> TruthFlight:
    """Ten minutes: a lazy eight, a steep turn and a chandelle in 15 kt of wind and light turbulence."""
    weather = replace(random_weather(SEED), gust_sd=1.0 * KNOT, wind_speed=15 * KNOT)
    model = AIRPLANES[AIRPLANE]
    simulator = Simulator(model, weather, Start(0.7, -1.7, 1300.0, 1.0, model.entry_speed, 230.0, 0.6))
    hand = HANDS["schedule"](simulator, seed=SEED, roughness=0.5)
    altitude = simulator.state.altimeter  # type: ignore[attr-defined]  # filled by the engine
    level = Leg("settle", altitude, model.entry_speed, duration=40, until_steady=True)
    flown: list[Flown] = []
    for goal in GOALS:
        for one in (level, goal):
            flown += hand.fly(one)  # type: ignore[attr-defined]
    hand.fly(level)  # type: ignore[attr-defined]
    table = simulator.table()
    return TruthFlight(
        seed=SEED,
        controller="schedule",
        table=table,
        maneuvers=measure_all(flown, table),
        legs=[],
        facts=simulator.facts(),
        weather=weather.as_dict(),
        reseeded=[],
    )


def write(folder: Path) -> Path:
    """The short lesson with its recordings, as ``tests.flights.make`` writes one."""
    flight = short_lesson()
    flight.save(folder)
    for name in ("avionics", "gps"):
        (folder / f"{name}{FILES[name][0]}").write_bytes(record(flight, name, SEED))
    (folder / "done").touch()
    return folder
