"""The exported motion: documented columns, right values, whole files."""

from __future__ import annotations

import io
import re
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from click.testing import CliRunner

from chalkwing.cli import main
from chalkwing.cli.motion_columns import COLUMNS, WIND
from chalkwing.units import m_to_ft, mps_to_kt, rad_to_deg

QUANTITIES_PAGE = Path(__file__).parent.parent.parent / "docs" / "quantities.md"
# The columns that were asked for by name; others may be added.
ASKED = [
    "time_s",
    "latitude_deg",
    "longitude_deg",
    "altitude_ft",
    "bank_deg",
    "pitch_deg",
    "heading_true_deg",
    "calibrated_airspeed_kt",
    "true_airspeed_kt",
    "wind_from_deg_true",
    "wind_speed_kt",
    "load_factor",
]


@pytest.fixture(scope="module")
def exported(panel, tmp_path_factory):
    path = tmp_path_factory.mktemp("motion") / "motion.csv"
    done = CliRunner().invoke(main, ["motion", str(panel.path), "-o", str(path)])
    assert done.exit_code == 0, done.output
    assert done.stdout == ""
    return pl.read_csv(path)


def test_asked_columns_are_there_each_with_its_sd(exported):
    assert set(ASKED) <= set(exported.columns)
    assert {f"{name}_sd" for name in ASKED if name != "time_s"} <= set(exported.columns)


def test_columns_are_those_of_the_page():
    page = QUANTITIES_PAGE.read_text(encoding="utf-8").split("## The machine-readable")[0]
    documented = re.findall(r"^\| `([a-z_0-9]+)` \|", page, flags=re.MULTILINE)
    assert documented == ["flight", "time_s", "in_gap", *(column.name for column in COLUMNS), *WIND]


def test_values_are_the_lessons(exported, panel):
    truth, time = panel.lesson.values, exported["time_s"].to_numpy()

    def off(column, values):
        return exported[column].to_numpy() - np.interp(time, panel.lesson.time, values)

    assert np.sqrt(np.mean(off("bank_deg", rad_to_deg(truth["bank"])) ** 2)) < 1.0
    assert np.sqrt(np.mean(off("geometric_altitude_ft", m_to_ft(truth["geometric_altitude"])) ** 2)) < 30.0
    assert np.sqrt(np.mean(off("true_airspeed_kt", mps_to_kt(truth["true_airspeed"])) ** 2)) < 2.5
    heading = off("heading_true_deg", rad_to_deg(truth["heading_true"]))
    assert np.sqrt(np.mean(((heading + 180) % 360 - 180) ** 2)) < 2.0


def test_the_grid_is_uniform_and_sds_are_positive(exported):
    assert np.diff(exported["time_s"].to_numpy()) == pytest.approx(0.25)
    for name in ASKED:
        if name != "time_s":
            assert (exported[f"{name}_sd"].drop_nulls() > 0).all(), name


def test_parquet_and_standard_output_hold_the_same(panel, exported, tmp_path):
    path = tmp_path / "motion.parquet"
    assert CliRunner().invoke(main, ["motion", str(panel.path), "-o", str(path)]).exit_code == 0
    parquet = pl.read_parquet(path)
    printed = CliRunner().invoke(main, ["motion", str(panel.path)])
    assert parquet.columns == exported.columns
    assert parquet["bank_deg"].to_list() == exported["bank_deg"].to_list()
    assert pl.read_csv(io.StringIO(printed.stdout)).height == exported.height


def test_a_withheld_channel_is_not_used(panel, exported):
    done = CliRunner().invoke(main, ["motion", str(panel.path), "--ignore", "bank,pitch,heading_magnetic"])
    without = pl.read_csv(io.StringIO(done.stdout))
    assert without["bank_deg_sd"].median() > exported["bank_deg_sd"].median()


def test_an_existing_file_is_kept_unless_asked(panel, tmp_path):
    path = tmp_path / "motion.csv"
    path.write_text("mine")
    done = CliRunner().invoke(main, ["motion", str(panel.path), "-o", str(path)])
    assert done.exit_code == 2
    assert "--overwrite" in done.stderr
    assert path.read_text() == "mine"
    assert (
        CliRunner().invoke(main, ["motion", str(panel.path), "-o", str(path), "--overwrite"]).exit_code == 0
    )
    assert path.read_text().startswith("flight,time_s")


def test_nothing_is_left_when_writing_fails(panel, tmp_path, monkeypatch):
    def full(self, path):
        Path(path).write_text("half of it")
        raise OSError(28, "No space left on device", str(path))

    monkeypatch.setattr(pl.DataFrame, "write_csv", full)
    done = CliRunner().invoke(main, ["motion", str(panel.path), "-o", str(tmp_path / "motion.csv")])
    assert done.exit_code == 2
    assert "no space left on device" in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["motion.xlsx", "motion"])
def test_another_suffix_is_refused_before_any_work(panel, tmp_path, name):
    done = CliRunner().invoke(main, ["motion", str(panel.path), "-o", str(tmp_path / name)])
    assert done.exit_code == 2
    assert ".csv or .parquet" in done.stderr
