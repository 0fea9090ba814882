"""What was asked of a pilot is what was flown, seen from the engine's own state."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.flights.airplanes import AIRPLANES
from tests.flights.course.baits import BAITS
from tests.flights.course.flying import fly_course
from tests.flights.course.goals import (
    KINDS,
    ClearingTurns,
    CourseGoal,
    EightsOnPylons,
    EmergencyDescent,
    PowerOff180,
    RectangularCourse,
    SlowFlight,
    Stall,
    SteepSpiral,
    STurns,
    TurnsAroundAPoint,
)
from tests.flights.course.lessons import HANDS, weather_of, whole_lesson
from tests.flights.course.measure import measure_course
from tests.flights.course.procedures import Setting
from tests.flights.course.track import Track
from tests.flights.goals import Leg
from tests.flights.simulate import Simulator, Start
from tests.flights.truth import TruthManeuver

from chalkwing.units import DEGREE, FOOT, KNOT

STALLS = {"power_off_stall", "power_on_stall", "accelerated_stall"}
KINDS_FLOWN = {*KINDS.values(), *STALLS, "lazy_eight", "chandelle", "steep_turn"}
WIND = 10 * KNOT
TERRAIN = 300.0


def fly(
    controller: str,
    goal: CourseGoal,
    *,
    height: float,
    airplane: str = "c172p",
    wind: float = WIND,
    wind_from: float = 0.0,
) -> tuple[TruthManeuver, Track]:
    """One maneuver after half a minute of level flight to the south, in smooth air."""
    calm = {"gust_sd": 0.0, "drift_sd": 0.0, "shear": 0.0, "veer": 0.0, "wind_from": wind_from}
    weather = replace(weather_of(3), wind_speed=wind, isa_deviation=0.0, **calm)
    model = AIRPLANES[airplane]
    start = Start(0.7, -1.7, TERRAIN + height, np.pi, model.cruise_speed, sum(model.load) / 2, 0.6)
    simulator = Simulator(model, weather, start, terrain=TERRAIN)
    hand = HANDS[controller](simulator, seed=7, roughness=0.2)
    altitude = simulator.state.altimeter
    hand.fly(Leg("settle", altitude, model.cruise_speed, duration=30, until_steady=True))
    log = fly_course(hand, goal, Setting(model, wind_from + np.pi, wind))
    hand.fly(Leg("after", simulator.state.altimeter, model.cruise_speed, duration=5))
    track = Track(simulator.table(), airplane, TERRAIN)
    return measure_course(log, track, hand.sight.plane, goal), track


CLEARING = ClearingTurns((1.57, -1.57), 25 * DEGREE, 50.0, 3.0)
SLOW = SlowFlight(31.0, 100.0, (1.2,), 12 * DEGREE, 0.0, 0.0, 0.0)
POWER_OFF = Stall(
    "power_off_stall", 0.0, True, 1.2 * DEGREE, 18 * DEGREE, 0.0, 0.3, 0.5, 7 * DEGREE, 0.5, 0.0, 6.0
)  # fmt: skip
DESCENT = EmergencyDescent(58.0, 38 * DEGREE, 3.0, 1500 * FOOT, 0.0, False)
SPIRAL = SteepSpiral(1, 3, 48 * DEGREE, 39.0, 0.0, 1.0, 0.0, False)
AROUND = TurnsAroundAPoint(-1, 2, 40 * DEGREE, 48.0, 1.0, 0.0, 0.0, 0.0)
hands = pytest.mark.parametrize("controller", list(HANDS))


@hands
def test_clearing_turns_turn_ninety_each_way(controller: str) -> None:
    truth, track = fly(controller, CLEARING, height=900.0)
    assert [part.direction for part in truth.parts] == ["right", "left"]
    heading = track["heading_true"]
    for one in truth.parts:
        turned = abs(heading[track.row(one.end)] - heading[track.row(one.start)])
        assert turned / DEGREE == pytest.approx(90, abs=8)
        assert one.bank_max / DEGREE == pytest.approx(25, abs=5)
    assert (
        abs(track["bank"][track.row(truth.start)]) < 2.5 * DEGREE > abs(track["bank"][track.row(truth.end)])
    )


@hands
def test_slow_flight_is_slow_and_level_for_as_long_as_asked(controller: str) -> None:
    truth, _ = fly(controller, SLOW, height=900.0)
    assert truth.end - truth.start == pytest.approx(100, abs=20)
    assert truth.values["airspeed_mean"] == pytest.approx(31.0, abs=2.0)
    assert max(-truth.values["altitude_lowest"], truth.values["altitude_highest"]) < 80 * FOOT


@hands
@pytest.mark.parametrize("kind", ["power_off_stall", "power_on_stall", "accelerated_stall"])
def test_a_stall_passes_the_wing_s_critical_angle_and_recovers(controller: str, kind: str) -> None:
    changed = {
        "power_off_stall": {},
        "power_on_stall": {"throttle": 0.8, "pitch_most": 28 * DEGREE, "flaps": 0.0, "pitch_rate": 0.03},
        "accelerated_stall": {"bank": 42 * DEGREE, "flaps": 0.0, "pitch_rate": 0.05},
    }[kind]
    truth, track = fly(controller, replace(POWER_OFF, kind=kind, **changed), height=1100.0)
    breaks = track.row(truth.borders["breaks"])
    assert truth.status == "complete"
    # The lift table of the model peaks at 0.28 rad.
    assert track["angle_of_attack"][breaks - 1] <= 0.28 < track["angle_of_attack"][breaks + 1]
    assert truth.start < truth.borders["breaks"] < truth.borders["recovers"] <= truth.end
    assert 0 < truth.values["height_lost"] < 500 * FOOT
    assert np.all(track["angle_of_attack"][track.row(truth.end) :] < 0.28)
    # Straight and at 1 g 53 kt, as the generator's own stall speed; a third more at 42 degrees and its load.
    straight = truth.values["airspeed_at_break"] / np.sqrt(truth.values["load_at_break"])
    assert straight / KNOT == pytest.approx(52, abs=4)


@hands
def test_an_emergency_descent_sinks_fast_in_a_bank(controller: str) -> None:
    truth, track = fly(controller, DESCENT, height=1200.0)
    assert truth.values["height_lost"] == pytest.approx(1500 * FOOT, abs=250 * FOOT)
    assert truth.values["bank_max"] / DEGREE == pytest.approx(38, abs=6)
    assert truth.values["sink_mean"] > 1300 * FOOT / 60
    assert track["throttle"][track.row(truth.start + 5)] < 0.1


@hands
def test_a_steep_spiral_goes_round_its_point_three_times(controller: str) -> None:
    truth, _ = fly(controller, SPIRAL, height=1500.0)
    assert len(truth.parts) == 3
    assert truth.values["turned"] / (2 * np.pi) == pytest.approx(3, abs=0.15)
    assert truth.values["height_lost"] > 1500 * FOOT
    assert truth.values["bank_max"] < 60 * DEGREE
    asked = truth.ground["radius"]
    assert truth.values["radius_mean"] == pytest.approx(asked, rel=0.2)
    assert truth.values["center_drift_per_turn"] < 0.35 * asked


@hands
def test_turns_around_a_point_keep_their_distance_in_the_wind(controller: str) -> None:
    truth, track = fly(controller, AROUND, height=270.0, wind=18 * KNOT)
    assert [part.direction for part in truth.parts] == ["left", "left"]
    asked = truth.ground["radius"]
    assert 0.75 * asked < truth.values["radius_least"] < truth.values["radius_most"] < 1.25 * asked
    # Steepest where the wind is from behind: bank follows groundspeed.
    rows = slice(track.row(truth.start + 8), track.row(truth.end - 6))
    ground_speed = np.hypot(track["velocity_north"], track["velocity_east"])[rows]
    assert np.corrcoef(ground_speed, -track["bank"][rows])[0, 1] > 0.5


def test_without_skill_the_circle_drifts_with_the_wind() -> None:
    clumsy, _ = fly("schedule", replace(AROUND, skill=0.0), height=270.0, wind=18 * KNOT)
    able, _ = fly("schedule", AROUND, height=270.0, wind=18 * KNOT)
    drift = [one.values["center_drift_per_turn"] for one in (clumsy, able)]
    assert drift[0] > 3 * drift[1]
    assert drift[0] > 100.0


def test_what_is_given_up_says_so() -> None:
    truth, _ = fly("schedule", replace(SPIRAL, break_off=0.5), height=1500.0)
    assert truth.status == "broken_off"
    assert truth.values["turned"] / (2 * np.pi) == pytest.approx(1.5, abs=0.15)


S_TURNS = STurns(1, 4, 38 * DEGREE, 48.0, 1.0, 0.0, 0.0)
PYLONS = EightsOnPylons(1, 3, 33 * DEGREE, 7.0, 47.0, 1.0, 0.0, 0.0, 1.0)
FIELD = RectangularCourse(-1, 5, 2300.0, 1800.0, 28 * DEGREE, 48.0, 1.0, 0.0)


@hands
def test_s_turns_are_half_circles_on_either_side_of_the_line(controller: str) -> None:
    truth, _ = fly(controller, S_TURNS, height=270.0, wind=16 * KNOT)
    assert [part.direction for part in truth.parts] == ["right", "left", "right", "left"]
    assert truth.values["radius_most"] / truth.values["radius_least"] < 1.35
    assert truth.values["crossing_off_square_most"] < 22 * DEGREE
    assert 150 * DEGREE < truth.values["turned_least"] < truth.values["turned_most"] < 215 * DEGREE


@hands
def test_pylons_stay_at_the_wing_tip_at_the_pivotal_height(controller: str) -> None:
    # Pivotal height in still air: V^2/g, the handbook's GS^2/11.3 in other units (FAA-H-8083-3C ch. 7).
    height = (47.0 * 1.06) ** 2 / 9.80665
    # Entered diagonally downwind, so that the pylons lie across the wind.
    day = {"wind": 14 * KNOT, "wind_from": 24 * DEGREE}
    truth, _ = fly(controller, PYLONS, height=height, **day)
    assert [part.direction for part in truth.parts] == ["right", "left", "right"]
    assert truth.values["sight_line_rms"] < 6 * DEGREE
    assert 2.0 < truth.values["straight_least"] < truth.values["straight_most"] < 14.0
    low, _ = fly(controller, replace(PYLONS, height_skill=0.0), height=0.75 * height, **day)
    assert low.values["sight_line_rms"] > 1.5 * truth.values["sight_line_rms"]


@hands
def test_the_rectangle_has_straight_legs_and_square_corners(controller: str) -> None:
    truth, _ = fly(controller, FIELD, height=270.0, wind=16 * KNOT)
    assert [part.direction for part in truth.parts] == ["left"] * 5
    assert 60 * DEGREE < truth.values["turned_least"] < truth.values["turned_most"] < 125 * DEGREE
    assert truth.values["leg_shortest"] > 500.0
    assert truth.values["leg_off_straight_most"] < 80.0


@hands
@pytest.mark.parametrize("goes_around", [False, True])
def test_a_power_off_180_comes_down_near_its_point(controller: str, goes_around: bool) -> None:
    goal = PowerOff180(
        side=1, runway_north=-1500.0, runway_east=850.0, runway_track=0.0, width=850.0, abeam_error=0.0,
        airspeed=37.0, bank=28 * DEGREE, judgement=1.0, square=False, goes_around=goes_around,
        go_around_height=20.0, flare_error=0.0,
    )  # fmt: skip
    goal = replace(goal, side=-1, runway_north=-3000.0)
    truth, track = fly(controller, goal, height=300.0)
    assert truth.values["touchdown"] == (not goes_around)
    assert abs(truth.values["turned"]) == pytest.approx(np.pi, abs=0.35)
    assert -100.0 < truth.values["beyond_point"] < 700.0
    assert np.all(track["throttle"][track.row(truth.start + 3) : track.row(truth.end - 0.5)] < 0.1)
    assert truth.values["height_at_end"] < (30.0 if goes_around else 2.5)


@pytest.mark.parametrize(("airplane", "controller"), [("c172p", "human"), ("j3cub", "schedule")])
def test_a_lesson_begins_and_ends_on_the_ground(airplane: str, controller: str) -> None:
    flight = whole_lesson(2000, airplane, controller)
    height = flight.table["geometric_altitude"].to_numpy() - flight.facts["terrain"]
    speed = np.hypot(flight.table["velocity_north"].to_numpy(), flight.table["velocity_east"].to_numpy())
    labels = [leg["label"] for leg in flight.legs]
    assert labels[0] == "takeoff"
    assert height[400] < 2.5
    assert speed[400] < 3.0
    assert height.max() > 800.0
    assert {one.kind for one in flight.maneuvers} <= KINDS_FLOWN
    ends = [one.end for one in flight.maneuvers]
    starts = [one.start for one in flight.maneuvers]
    assert all(start >= end - 12.0 for start, end in zip(starts[1:], ends, strict=False))


def test_both_pilots_are_there() -> None:
    assert set(HANDS) == {"schedule", "human"}


def test_ordinary_flying_holds_many_baits_and_no_maneuver() -> None:
    flight = whole_lesson(2001, "c182", "human", baits=True)
    assert flight.maneuvers == []
    labels = {leg["label"] for leg in flight.legs}
    assert len(labels & {*BAITS, "climbing_turn", "descending_turn"}) >= 4
    assert "landing" in labels
    # Nothing is slow enough for slow flight but what is on or near the ground.
    height = flight.table["geometric_altitude"].to_numpy() - flight.facts["terrain"]
    slow = flight.table["calibrated_airspeed"].to_numpy() < 1.2 * AIRPLANES["c182"].stall_speed
    assert not np.any(slow & (height > 400.0))
