"""``chalkwing airplanes``: what is listed, shown and checked, and how a faulty sheet is told."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from chalkwing.airplane import load_sheet, sheet_names
from chalkwing.cli import main
from chalkwing.units import KNOT, POUND

FAULTY = """
schema = 1
title = "Invented and faulty"
propeller = "fixed_pitch"
source = "invented for this test"
wing_area_m2 = 174
wing_span_ft = 36
power_hp = 160
stall_speed_kcas = 102
maneuvering_speed_kcas = 100
never_exceed_speed_kcas = 95
engin = 1

[[stall]]
configuration = "landing"
speed_kias = 47
"""


def run(*arguments: str, width: int = 80) -> Result:
    return CliRunner().invoke(main, ["airplanes", *arguments], env={"COLUMNS": str(width)})


def data(*arguments: str) -> Any:
    found = run(*arguments, "--format", "json")
    assert found.exit_code == 0, found.output
    return json.loads(found.stdout)


def test_every_sheet_is_listed_and_marked_generic() -> None:
    assert [each["name"] for each in data()] == list(sheet_names())
    assert all(each["generic"] for each in data())
    page = run().stdout
    assert all(name in page for name in sheet_names())
    assert "flight manual" in page


@pytest.mark.parametrize("width", [80, 60])
@pytest.mark.parametrize("name", sheet_names())
def test_a_page_fits_its_terminal(name: str, width: int) -> None:
    found = run(name, width=width)
    assert found.exit_code == 0, found.output
    assert max(len(line) for line in found.stdout.splitlines()) <= width
    assert "…" not in found.stdout  # what is cut off cannot be read


def test_json_says_what_the_sheet_says() -> None:
    shown, plane = data("four-seat-160"), load_sheet("four-seat-160")
    numbers = {each["key"]: each for each in shown["numbers"]}
    assert numbers["stall_speed_kcas"]["value"] == pytest.approx(plane.stall_speed / KNOT, abs=1e-3)
    assert numbers["maximum_mass_lb"]["value"] == pytest.approx(plane.maximum_mass / POUND, abs=1e-3)
    assert all(each["source"] for each in shown["numbers"])
    model = {each["name"]: each for each in shown["model"]}
    assert model["zero_lift_drag"]["value"] == pytest.approx(plane.zero_lift_drag)
    assert model["zero_lift_drag"]["origin"] == "fitted"
    assert 0 < model["zero_lift_drag"]["sd"] < model["zero_lift_drag"]["believed_sd"]
    assert model["lift_slope"]["origin"] == "given"
    assert len(shown["handbook"]) == len(plane.fit.residuals)


def test_a_page_tells_doubts_and_sources() -> None:
    page = " ".join(run("light-twin").stdout.split())
    assert "Little better known" in page
    assert "common practice, no source" in page
    assert "licensed instructor prevail" in page


def test_all_faults_of_a_file_are_told_each_with_its_path(tmp_path: Path) -> None:
    path = tmp_path / "faulty.toml"
    path.write_text(FAULTY)
    found = run("--check", str(path))
    assert found.exit_code == 2
    assert found.stdout == ""
    for said in (
        "mass_lb or mass_kg: is missing",
        "174 would be believable as wing_area_ft2",
        "stall_speed: of 102.0 kt is not below the maneuvering speed",
        "maneuvering_speed: of 100.0 kt is not below the never-exceed speed",
        "stall[1].speed_kias: is indicated",
        "engin: is no key",
    ):
        assert said in found.stderr
    machine = run("--check", str(path), "--format", "json")
    assert machine.exit_code == 2
    told = json.loads(machine.stdout)
    assert len(told["faults"]) == 6
    assert {"path": "mass_lb or mass_kg", "message": "is missing"} in told["faults"]


def test_a_sheet_without_fault_is_told_what_is_still_open(tmp_path: Path) -> None:
    path = tmp_path / "ours.toml"
    path.write_text(
        'schema = 1\ntitle = "Invented two-seater"\npropeller = "fixed_pitch"\nsource = "invented"\n'
        "mass_lb = 1600\nwing_area_ft2 = 160\nwing_span_ft = 33\npower_hp = 100\nstall_speed_kcas = 47\n"
        "maneuvering_speed_kcas = 99\n"
    )
    page = " ".join(run("--check", str(path)).stdout.split())
    assert "no fault found" in page
    assert "Assumed by common practice" in page
    # (99 / 47)² = 4.4 g, above the 3.8 g of the category assumed.
    assert "At the maneuvering speed the wing can give 4.4 g" in page
    assert data("--check", str(path))["faults"] == []


def test_what_cannot_be_shown_is_refused_without_traceback(tmp_path: Path) -> None:
    for arguments in (["six-seat"], [str(tmp_path / "none.toml")], ["--check", str(tmp_path / "none.toml")]):
        found = run(*arguments)
        assert found.exit_code == 2
        assert "Traceback" not in found.output
    assert "not both" in run("light-twin", "--check", "x.toml").output
