"""Definitions: what comes with chalkwing loads whole, and a faulty file is refused with all its faults."""

from __future__ import annotations

import copy
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from chalkwing.errors import FaultyDefinition, UnknownName
from chalkwing.maneuvers import definition, definitions
from chalkwing.maneuvers.reading import definition_from, read_definition
from chalkwing.units import DEGREE, KNOT

KINDS = ("chandelle", "lazy_eight", "steep_turn")


def tables(kind: str = "lazy_eight") -> dict[str, Any]:
    text = (files("chalkwing.maneuvers") / "definitions" / f"{kind}.toml").read_text(encoding="utf-8")
    return copy.deepcopy(tomllib.loads(text))


def faults_of(changed: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(FaultyDefinition) as refused:
        definition_from(changed, where="school.toml")
    return {fault.path: fault.message for fault in refused.value.faults}


def test_the_three_maneuvers_come_with_the_package() -> None:
    assert set(KINDS) <= set(definitions())
    assert all(definitions()[kind].kind == kind for kind in KINDS)


def test_parts_are_those_of_the_maneuvers() -> None:
    # FAA-S-ACS-7B: a lazy eight is two opposite 180s, a chandelle one 180, a steep turn one 360.
    eight, chandelle, steep = (definition(kind).turns for kind in ("lazy_eight", "chandelle", "steep_turn"))
    assert (eight.count, eight.angle, [eight.sign(part) for part in range(2)]) == (2, np.pi, [1, -1])
    assert (chandelle.count, chandelle.angle) == (1, np.pi)
    assert (steep.count, steep.angle) == (1, 2 * np.pi)


def test_published_element_ids_are_those_of_the_contract() -> None:
    ids = {kind: [element.id for element in definition(kind).elements] for kind in KINDS}
    assert ids["lazy_eight"][:3] == ["altitude_at_180", "airspeed_at_180", "heading_at_180"]
    assert ids["chandelle"][0] == "heading_at_180"
    assert ids["steep_turn"] == ["altitude", "airspeed", "bank", "rollout_heading"]


def test_only_a_leg_after_the_maneuver_can_be_needed_to_finish_it() -> None:
    changed = tables("power_off_stall")
    changed["leg"][0]["needed"] = True
    assert list(faults_of(changed)) == ["leg[0].needed"]
    assert definition("power_off_stall").legs[-1].needed


def test_values_are_si_inside() -> None:
    eight = definition("lazy_eight")
    assert eight.legs[0].until.progress == pytest.approx(45 * DEGREE)
    assert eight.point("90").expected[1].about == pytest.approx(30 * DEGREE)
    rising = next(trend for trend in eight.legs[0].trends if trend.quantity.name == "bank_into_turn")
    assert rising.slope == pytest.approx(0.3 * DEGREE)


def test_every_common_error_says_how_it_shows_and_what_helps() -> None:
    for kind in KINDS:
        for error in definition(kind).errors:
            assert error.shows
            assert error.correction
            assert error.observable == bool(error.measures)


def test_an_error_that_can_be_flown_says_what_it_changes() -> None:
    ways = {way.change: way for error in definition("lazy_eight").errors for way in error.flown}
    assert ways["entry_speed"].by == pytest.approx(-8 * KNOT)
    assert ways["roll_in"].by == 3.0
    changed = tables()
    changed["error"][0]["flown"] = [{"title": "Upside down", "change": "roll_over_deg", "by": 180}]
    assert "error[0].flown[0].change" in faults_of(changed)


def test_what_a_point_mass_cannot_show_is_never_flown() -> None:
    for kind in KINDS:
        for error in definition(kind).errors:
            if error.id in ("uncoordinated", "not_cleared", "eyes_inside"):
                assert not error.flown


def test_an_unknown_maneuver_lists_the_known_ones() -> None:
    with pytest.raises(UnknownName, match=r"lazy_eight.*steep_turn"):
        definition("barrel_roll")


def test_all_faults_are_reported_at_once_with_their_paths() -> None:
    changed = tables()
    changed["leg"][2]["until"] = "half_way"
    changed["leg"][0]["trend"][0]["goes"] = "upward"
    changed["fact"][0]["quantity"] = "bank_rad"
    changed["point"][1]["where"] = True
    changed["finder"]["shortest_s"] = "long"
    del changed["title"]
    found = faults_of(changed)
    assert set(found) == {
        "leg[2].until",
        "leg[0].trend[0].goes",
        "fact[0].quantity",
        "point[1].where",
        "finder.shortest_s",
        "title",
    }
    assert "turn_stops" in found["leg[2].until"]
    assert found["title"] == "is missing"


@pytest.mark.parametrize(
    ("where", "path"),
    [
        (lambda t: t, "shade"),
        (lambda t: t["leg"][1], "leg[1].shade"),
        (lambda t: t["leg"][1]["range"][0], "leg[1].range[0].shade"),
        (lambda t: t["element"][0], "element[0].shade"),
        (lambda t: t["turns"], "turns.shade"),
        (lambda t: t["finder"], "finder.shade"),
        (lambda t: t["point"][0]["expect"][0], "point[0].expect[0].shade"),
    ],
)
def test_a_key_that_nobody_reads_is_refused(where: Any, path: str) -> None:
    changed = tables()
    where(changed)["shade"] = "red"
    assert faults_of(changed) == {path: "is not a key known here"}


@pytest.mark.parametrize(
    ("change", "path"),
    [
        (lambda t: t["element"][0].update(point="200"), "element[0].point"),
        (lambda t: t["element"][0].update(at_least="floor"), "element[0]"),
        (lambda t: t["element"][0].pop("tolerance"), "element[0]"),
        (lambda t: t["fact"][1].update(id="bank_at_45"), "element or fact"),
        (lambda t: t["error"][0].update(measures=["nothing"]), "error[0].measures"),
        (lambda t: t["leg"][-1].update(until=170), "leg[3].until"),
        (lambda t: t["leg"][0].update(duration_s=[9, 5, 20]), "leg[0].duration_s"),
        (lambda t: t["leg"][0]["range"][0].update(low=90), "leg[0].range[0].low"),
        (lambda t: t["point"][2].update(name="turn_stops"), "point[2].name"),
        (lambda t: t["finder"].update(complete_share=1.5), "finder.complete_share"),
        (lambda t: t["finder"].update(alike={"what": "a hill", "per_hour": 0}), "finder.alike.per_hour"),
        (lambda t: t["finder"].update(alike={"per_hour": 1.0}), "finder.alike.what"),
        (lambda t: t["turns"].update(directions="same"), "fact[17].each"),
        (lambda t: t.update(schema=2), "schema"),
    ],
)
def test_what_contradicts_itself_is_refused(change: Any, path: str) -> None:
    changed = tables()
    change(changed)
    assert path in faults_of(changed)


def test_a_school_adds_a_maneuver_by_a_file(tmp_path: Path) -> None:
    text = (files("chalkwing.maneuvers") / "definitions" / "chandelle.toml").read_text(encoding="utf-8")
    text = text.replace('kind = "chandelle"', 'kind = "climbing_reversal"')
    (tmp_path / "climbing_reversal.toml").write_text(text, encoding="utf-8")
    assert definition("climbing_reversal", [tmp_path]).turns.count == 1
    assert set(definitions([tmp_path])) == {*definitions(), "climbing_reversal"}


def test_a_known_kind_is_not_replaced_in_silence(tmp_path: Path) -> None:
    text = (files("chalkwing.maneuvers") / "definitions" / "chandelle.toml").read_text(encoding="utf-8")
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    with pytest.raises(FaultyDefinition, match="already defined"):
        definitions([tmp_path])


@pytest.mark.parametrize(
    ("content", "phrase"),
    [(b"kind = ", "is not TOML"), (b"\xff\xfe", "is not UTF-8"), (b"", "kind: is missing")],
)
def test_a_file_that_is_no_definition_is_refused(tmp_path: Path, content: bytes, phrase: str) -> None:
    path = tmp_path / "broken.toml"
    path.write_bytes(content)
    with pytest.raises(FaultyDefinition, match=phrase):
        read_definition(path)


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FaultyDefinition, match="does not exist"):
        definitions([tmp_path / "nowhere"])
