"""The demo: what it finds lies near the truth, for a panel and for a bare track."""

from __future__ import annotations

import json

import numpy as np
import pytest
from click.testing import CliRunner

from chalkwing.cli import main
from chalkwing.cli.truths import compare, contradicts
from chalkwing.debriefs import ElementReport
from chalkwing.refly.truth import TrueValue

# What is asked of exit minus entry of a lazy eight, RMS over many flights: altitude ft, airspeed kt, heading
# deg. Here it is taken over four values, whose RMS scatters by a third: half as much again is allowed.
ASKED = {"panel": (12.0, 1.5, 1.5), "track": (20.0, 3.0, 3.0)}


@pytest.mark.parametrize("recorder", ["panel", "track"])
def test_every_maneuver_is_found_and_no_verdict_contradicts_the_truth(recorder, request):
    recorded = request.getfixturevalue(recorder)
    compared = compare(recorded.debrief, recorded.lesson)
    assert [true.found_as for true in compared.maneuvers] == [0, 1, 2, 3, 4, 5]
    assert len(recorded.debrief.maneuvers) == 6
    pairs = list(compared.pairs())
    assert len(pairs) == 21
    assert not [element.title for value, element in pairs if contradicts(value, element)]


@pytest.mark.parametrize("recorder", ["panel", "track"])
def test_lazy_eight_values_are_as_near_the_truth_as_asked(recorder, request):
    recorded = request.getfixturevalue(recorder)
    off = {"altitude_at_180": [], "airspeed_at_180": [], "heading_at_180": []}
    for value, element in compare(recorded.debrief, recorded.lesson).pairs():
        if value.half is not None:
            off[value.id].append(element.value - value.value)
    for errors, asked in zip(off.values(), ASKED[recorder], strict=True):
        assert len(errors) == 4
        assert np.sqrt(np.mean(np.square(errors))) < 1.5 * asked


@pytest.mark.parametrize("recorder", ["panel", "track"])
def test_wind_comes_out(recorder, request):
    # The lesson's wind near 3,500 ft lies between its layers at 900 m (240/14) and 1,600 m (255/18): 243/15.
    recorded = request.getfixturevalue(recorder)
    for row in recorded.debrief.wind:
        assert row.from_deg_true == pytest.approx(244, abs=12)
        assert row.speed_kt == pytest.approx(15, abs=3)


def test_the_command_prints_the_debrief_beside_the_truth(tmp_path):
    kept = tmp_path / "lesson.csv"
    done = CliRunner().invoke(main, ["demo", "lesson", "--keep", str(kept)])
    assert done.exit_code == 0, done.output
    assert "truly" in done.stdout
    assert "Of 6 maneuvers flown 6 were found, and none that nobody flew." in done.stdout
    assert (
        "the licensed \ninstructor prevail" in done.stdout or "the licensed instructor prevail" in done.stdout
    )
    assert kept.read_text().startswith("# Saltmarsh Flying School")
    again = CliRunner().invoke(main, ["demo", "lesson", "--keep", str(kept)])
    assert again.exit_code == 2
    assert "exists already" in again.stderr


def test_json_holds_debrief_and_truth():
    done = CliRunner().invoke(main, ["demo", "lesson", "--recorder", "track", "--format", "json"])
    assert done.exit_code == 0, done.output
    plain = json.loads(done.stdout)
    assert plain["debrief"]["schema"] == 1
    assert {"kind", "values", "found_as", "remark"} <= set(plain["truth"][0])


def test_a_contradiction_is_seen():
    element = ElementReport(
        "x", "X", 1, "ft", 92.0, 3.0, None, (-100, 100), None, None, 0.99, "met", None, "d", "e", "t", None
    )
    assert contradicts(TrueValue("x", 1, 120.0), element)
    assert not contradicts(TrueValue("x", 1, 99.0), element)
