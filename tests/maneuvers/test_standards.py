"""Standards: what is published, no more and no less; and a school's overlay on it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from chalkwing.errors import FaultyDefinition, UnknownName
from chalkwing.maneuvers import HeldRules, Standard, definition, definitions, standard, standards
from chalkwing.maneuvers.standards import overlay_from, standard_from

PUBLISHED = Path(__file__).parents[1] / "published" / "standards.toml"

SCHOOL = {
    "schema": 1,
    "school": "Heron Field Flying School",
    "edition": "2026-03",
    "held": {"sustained_s": 4.0, "repeated": 2},
    "limit": [
        {"maneuver": "lazy_eight", "element": "altitude_at_180", "between": [-80, 80]},
        {"maneuver": "lazy_eight", "element": "pitch_dwell", "at_most": 4},
        {"maneuver": "steep_turn", "element": "airspeed", "between": [-5, 10], "task": "HF-7"},
    ],
}


def published() -> list[dict[str, Any]]:
    return list(tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))["standard"])


@pytest.mark.parametrize("entry", published(), ids=lambda entry: f"{entry['level']}-{entry['maneuver']}")
def test_every_published_figure_is_held_exactly(entry: dict[str, Any]) -> None:
    # FAA-S-ACS-7B and FAA-S-ACS-6C, as copied in tests/published/standards.toml.
    held = standard(entry["level"])
    task = held.task(entry["maneuver"])
    assert task is not None
    assert (held.document, task.task) == (entry["document"], entry["task"])
    assert {key: list(band) for key, band in task.tolerance.items()} == entry["tolerance"]
    assert dict(task.limits) == entry["limits"]


def test_nothing_is_held_that_is_not_published() -> None:
    known = {(entry["level"], entry["maneuver"]) for entry in published()}
    ours = {(name, kind) for name, held in standards().items() for kind in held.tasks}
    assert ours == known


def test_every_published_tolerance_is_some_elements_limit() -> None:
    for entry in published():
        held = standard(entry["level"])
        limits = [
            held.limit(entry["maneuver"], element) for element in definition(entry["maneuver"]).elements
        ]
        bands = [list(limit.band) for limit in limits if limit is not None]
        assert all(band in bands for band in entry["tolerance"].values())


def test_a_limit_names_document_edition_and_task() -> None:
    eight = definition("lazy_eight")
    limit = standard("commercial").limit("lazy_eight", eight.elements[0])
    assert limit is not None
    assert (limit.band, limit.document, limit.task) == ((-100.0, 100.0), "FAA-S-ACS-7B", "CA.V.D")
    assert "31 May 2024" in limit.edition


def test_a_floor_is_one_sided() -> None:
    floor = definition("chandelle").measure("floor_agl")
    assert floor is not None
    limit = standard("commercial").limit("chandelle", floor)
    assert limit is not None
    assert limit.band == (1500.0, None)


def test_facts_have_no_limit_in_a_published_standard() -> None:
    for kind, maneuver in definitions().items():
        assert all(standard("commercial").limit(kind, fact) is None for fact in maneuver.facts)


def test_lazy_eight_and_chandelle_are_no_private_tasks() -> None:
    private = standard("private")
    for kind in ("lazy_eight", "chandelle"):
        assert all(private.limit(kind, element) is None for element in definition(kind).elements)


def test_the_bank_target_differs_by_level() -> None:
    assert standard("private").figure("steep_turn", "bank_target_deg") == 45
    assert standard("commercial").figure("steep_turn", "bank_target_deg") == 50


def test_an_unknown_standard_lists_the_known_ones() -> None:
    with pytest.raises(UnknownName, match="commercial, private"):
        standard("airline")


def laid(tables: dict[str, Any]) -> Standard:
    return overlay_from(tables, standard("commercial"), definitions().values(), where="school.toml")


def test_a_school_sets_stricter_looser_and_own_limits() -> None:
    school = laid(SCHOOL)
    eight, steep = definition("lazy_eight"), definition("steep_turn")
    stricter = school.limit("lazy_eight", eight.elements[0])
    dwell = eight.measure("pitch_dwell")
    assert dwell is not None
    own = school.limit("lazy_eight", dwell)
    one_sided = school.limit("steep_turn", steep.elements[1])
    assert stricter is not None
    assert own is not None
    assert one_sided is not None
    assert (stricter.band, stricter.document) == ((-80.0, 80.0), "Heron Field Flying School")
    assert own.band == (None, 4.0)
    assert (one_sided.band, one_sided.task) == ((-5.0, 10.0), "HF-7")
    untouched = school.limit("lazy_eight", eight.elements[1])
    assert untouched is not None
    assert untouched.document == "FAA-S-ACS-7B"


def test_a_school_sets_its_held_rules_and_is_named_for_them() -> None:
    school = laid(SCHOOL)
    assert school.held == HeldRules(sustained=4.0, repeated=2, gross=1.5)
    assert school.held_source == "Heron Field Flying School"
    assert standard("commercial").held_source == "common practice, no source"


def test_an_overlay_file_is_read_through_the_registry(tmp_path: Path) -> None:
    path = tmp_path / "school.toml"
    path.write_text(
        'schema = 1\nschool = "Heron Field"\nedition = "1"\n'
        '[[limit]]\nmaneuver = "chandelle"\nelement = "heading_at_180"\nbetween = [-5, 5]\n',
        encoding="utf-8",
    )
    limit = standard("commercial", school=path).limit("chandelle", definition("chandelle").elements[0])
    assert limit is not None
    assert limit.band == (-5.0, 5.0)


def test_a_standard_is_taken_by_name_from_a_file_and_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "level.toml"
    path.write_text(
        'schema = 1\nname = "level"\ntitle = "A level of one\'s own"\ndocument = "D"\nedition = "1"\n'
        '[[task]]\nmaneuver = "steep_turn"\ntask = "T"\ntolerance = {}\nlimits = {bank_target_deg = 40}\n',
        encoding="utf-8",
    )
    read = standard(path)
    assert read.figure("steep_turn", "bank_target_deg") == 40
    assert standard(str(path)) == read
    assert standard(read) is read


def test_all_faults_of_an_overlay_are_reported_at_once() -> None:
    faulty = {
        "schema": 1,
        "school": "Heron Field",
        "edition": "1",
        "held": {"gross_factor": 0.5},
        "limit": [
            {"maneuver": "barrel_roll", "element": "altitude", "between": [-1, 1]},
            {"maneuver": "lazy_eight", "element": "altitude", "between": [-1, 1]},
            {"maneuver": "lazy_eight", "element": "bank_at_45"},
            {"maneuver": "lazy_eight", "element": "bank_at_90", "between": [30, 10]},
            {"maneuver": "lazy_eight", "element": "bank_peak", "at_most": 30, "color": 1},
        ],
    }
    with pytest.raises(FaultyDefinition) as refused:
        laid(faulty)
    assert {fault.path for fault in refused.value.faults} == {
        "limit[0].maneuver",
        "limit[1].element",
        "limit[2]",
        "limit[3].between",
        "limit[4].color",
        "held.gross_factor",
    }


def test_a_faulty_standard_is_refused() -> None:
    task = {"maneuver": "m", "task": "t", "tolerance": {"altitude_ft": [100, -100]}, "limits": {}}
    tables = {"schema": 1, "name": "x", "title": "x", "document": "x", "edition": "x", "task": [task]}
    with pytest.raises(FaultyDefinition, match=r"task\[0\]\.tolerance\.altitude_ft"):
        standard_from(tables, where="x.toml")
