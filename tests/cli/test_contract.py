"""The JSON of a debrief: exactly the keys of the contract and our additions, finite, and consistent."""

from __future__ import annotations

import json
import math
import re
from dataclasses import fields, replace
from pathlib import Path

import pytest

from chalkwing import debriefs
from chalkwing.debriefs import ElementReport, WindReport

QUANTITIES_PAGE = Path(__file__).parent.parent.parent / "docs" / "quantities.md"

# The contract, schema 1, as it was agreed: keys may be added, none may go.
CONTRACT = {
    "": "schema recordings decides airplane standard flights wind maneuvers",
    "recordings": "source reader start_utc duration_s rows sha256 channels notes",
    "flights": "start_s end_s",
    "wind": "start_s end_s altitude_ft from_deg_true from_deg_true_sd speed_kt speed_kt_sd",
    "maneuvers": "kind direction start_s end_s start_s_sd end_s_sd probability status flown_by corrected "
    "points elements causes",
    "points": "half name heading_change_deg t_s bank_into_turn_deg pitch_deg airspeed_kt altitude_ft "
    "reference",
    "quantity": "value sd origin kind",
    "channel": "origin rate_hz sd",
    "elements": "id title half unit value sd limit excursions probability_met verdict reason document "
    "edition task",
    "excursions": "worst count outside_s longest_s",
}


def need(table: dict[str, object], name: str) -> None:
    missing = set(CONTRACT[name].split()) - set(table)
    assert not missing, f"{name or 'debrief'} lacks {sorted(missing)}"


def check_element(element: dict) -> None:
    need(element, "elements")
    if element["limit"] is None:
        assert element["verdict"] is None
        assert element["document"] is None
        return
    assert element["verdict"] in ("met", "not_met", "cannot_tell")
    assert element["document"]
    assert element["reason"] or element["verdict"] == "met"
    if element["probability_met"] is not None:
        probability = element["probability_met"]
        told = "met" if probability >= 0.95 else "not_met" if probability <= 0.05 else "cannot_tell"
        assert element["verdict"] in (told, "cannot_tell")
    if element["excursions"] is not None:
        need(element["excursions"], "excursions")


def check_point(point: dict) -> None:
    need(point, "points")
    for name in ("bank_into_turn_deg", "pitch_deg", "airspeed_kt", "altitude_ft"):
        need(point[name], "quantity")
        assert point[name]["origin"] in ("measured", "derived")
        assert point[name]["sd"] >= 0
    assert point["airspeed_kt"]["kind"] in ("indicated", "calibrated")
    assert point["altitude_ft"]["kind"] in ("altimeter", "geometric")


def check(text: str) -> dict:
    plain = json.loads(text, parse_constant=lambda name: pytest.fail(f"{name} in the JSON"))
    need(plain, "")
    assert plain["schema"] == 1
    assert next(iter(plain)) == "schema"
    for name in ("recordings", "flights", "wind", "maneuvers"):
        for table in plain[name]:
            need(table, name)
    for recording in plain["recordings"]:
        assert re.fullmatch("[0-9a-f]{64}", recording["sha256"])
        for channel in recording["channels"].values():
            need(channel, "channel")
    for maneuver in plain["maneuvers"]:
        assert maneuver["direction"] in ("left", "right", "none")
        assert maneuver["status"] in ("complete", "broken_off")
        assert maneuver["causes"] == []
        for point in maneuver["points"]:
            check_point(point)
        for element in maneuver["elements"]:
            check_element(element)
    return plain


@pytest.mark.parametrize("recorder", ["panel", "track"])
def test_a_debrief_follows_the_contract(recorder, request):
    recorded = request.getfixturevalue(recorder)
    plain = check(recorded.debrief.to_json())
    assert [maneuver["kind"] for maneuver in plain["maneuvers"]]
    # One row a second, from the first second to the last whole one.
    assert plain["recordings"][0]["rows"] == int(recorded.lesson.time[-1]) + 1


def test_kinds_say_what_was_recorded(panel, track):
    point = panel.debrief.maneuvers[0].points[0]
    assert (point.airspeed_kt.kind, point.altitude_ft.kind) == ("indicated", "altimeter")
    assert point.bank_into_turn_deg.origin == "measured"
    assert point.bank_into_turn_deg.recorded is not None
    point = track.debrief.maneuvers[0].points[0]
    assert (point.airspeed_kt.kind, point.altitude_ft.kind) == ("calibrated", "geometric")
    assert point.bank_into_turn_deg.origin == "derived"
    assert point.bank_into_turn_deg.recorded is None


def test_a_number_that_is_not_finite_becomes_null(panel):
    wind = WindReport(0.0, 1.0, math.nan, math.inf, 1.0, 2.0, 3.0)
    plain = json.loads(replace(panel.debrief, wind=(wind,)).to_json())
    assert plain["wind"][0]["altitude_ft"] is None
    assert plain["wind"][0]["from_deg_true"] is None


def test_every_key_is_explained():
    page = QUANTITIES_PAGE.read_text(encoding="utf-8")
    explained = set(re.findall(r"`([a-z0-9_]+)`", page))
    keys = {
        field.name
        for report in vars(debriefs).values()
        if isinstance(report, type) and hasattr(report, "__dataclass_fields__")
        for field in fields(report)
    }
    assert len(keys) > 50
    assert not keys - explained


def test_the_check_itself_can_fail(panel):
    plain = json.loads(panel.debrief.to_json())
    del plain["maneuvers"][0]["elements"][0]["task"]
    with pytest.raises(AssertionError, match="task"):
        check(json.dumps(plain))


def test_fact_and_element_have_one_shape(panel):
    names = {field.name for field in fields(ElementReport)}
    for maneuver in json.loads(panel.debrief.to_json())["maneuvers"]:
        assert all(set(element) == names for element in maneuver["elements"])
