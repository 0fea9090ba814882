"""Each attempt is shown beside the Reference for its airplane, mass and air; no verdict comes from it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from chalkwing.airplane import load_sheet
from chalkwing.conditions import Conditions
from chalkwing.reference import solve
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson
from chalkwing.trunk import debrief
from chalkwing.units import DEGREE, FOOT, KNOT


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built-in lesson as a panel would have written it."""
    name, text = record(fly_lesson(0), "avionics", seed=0)
    path = tmp_path_factory.mktemp("lesson") / name
    path.write_text(text)
    return path


def told(log: Path, **options: Any) -> list[dict[str, Any]]:
    return list(json.loads(debrief(log, **options).to_json())["maneuvers"])


def test_points_are_shown_beside_a_plan_entered_as_the_attempt_was(log: Path) -> None:
    maneuvers = told(log, airplane="four-seat-160")
    eights = [one for one in maneuvers if one["kind"] == "lazy_eight"]
    assert eights
    sheet = load_sheet("four-seat-160")
    for eight in eights:
        assert eight["reference"]["mass_from"] == "the sheet"
        assert eight["reference"]["temperature_from"] == "recorded"
        points = {(each["half"], each["name"]): each for each in eight["points"]}
        entry = points[1, "entry"]
        plan = solve(
            "lazy_eight",
            sheet=sheet,
            conditions=Conditions(isa_deviation=eight["reference"]["isa_deviation_c"]),
            direction=eight["direction"],
            entry_altitude=entry["altitude_ft"]["value"] * FOOT,
            entry_speed=points[1, "entry"]["reference"]["airspeed_kt"] * KNOT,
        )
        for name in ("45", "90", "135"):
            shown, expected = points[1, name]["reference"], plan.point(name)
            assert shown["bank_into_turn_deg"] == pytest.approx(expected.bank_into_turn / DEGREE, abs=0.2)
            assert shown["airspeed_kt"] == pytest.approx(expected.calibrated_airspeed / KNOT, abs=0.5)
            change = shown["altitude_ft"] - entry["altitude_ft"]["value"]
            assert change == pytest.approx(expected.altitude_change / FOOT, abs=8)


def test_the_plan_changes_no_verdict_and_can_be_left_out(log: Path) -> None:
    with_plan = told(log, airplane="four-seat-160")
    without = told(log, airplane="four-seat-160", reference=False)
    assert [one["elements"] for one in with_plan] == [one["elements"] for one in without]
    assert all(one["reference"] is None for one in without)
    assert all(point["reference"] is None for one in without for point in one["points"])
    assert all(one["reference"] is None for one in told(log))


def first_plan(maneuvers: list[dict[str, Any]]) -> dict[str, Any]:
    """The plan of the first steep turn: the clearing turns before it have none."""
    return next(one["reference"] for one in maneuvers if one["kind"] == "steep_turn")


def test_a_given_mass_is_used_and_said(log: Path) -> None:
    heavy = first_plan(told(log, airplane="four-seat-160", mass=950.0))
    assert (heavy["mass_kg"], heavy["mass_from"]) == (950.0, "given")


def test_without_a_thermometer_the_air_is_said_to_be_assumed(log: Path) -> None:
    plan = first_plan(told(log, airplane="four-seat-160", ignore=("outside_air_temperature",)))
    assert plan["temperature_from"] == "assumed standard"


def test_a_twin_gets_no_eight_and_a_reason(log: Path) -> None:
    for one in told(log, airplane="light-twin"):
        if one["kind"] == "lazy_eight":
            assert one["reference"]["note"]
            assert all(point["reference"] is None for point in one["points"])
