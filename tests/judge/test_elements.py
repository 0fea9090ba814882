"""Whole maneuvers of known truth through the judge: values, verdicts, signs, reasons."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.judge.synthetic import (
    ENTRY_ALTITUDE,
    ENTRY_SPEED,
    Error,
    Flight,
    bump,
    chandelle,
    fly,
    half_eight,
    level,
    steep_turn,
)

from chalkwing.airplane.loading import load_sheet
from chalkwing.judge import Assigned, Judgement, judge
from chalkwing.maneuvers import Standard, definition, standard
from chalkwing.units import DEGREE, FOOT, KNOT, Floats

SMALL = {
    "altitude": Error(10.0, 1.0, 10.0),
    "airspeed": Error(1.0 * KNOT, 0.3 * KNOT, 10.0),
    "heading_true": Error(2.0 * DEGREE, 0.3 * DEGREE, 10.0),
}
"""Errors of an avionics log: large in common, small in differences."""


def eight(direction: str = "right", **keywords: object) -> Flight:
    first = half_eight(degrees=186.0, end_ft=60.0, end_kt=4.0)
    second = half_eight(degrees=183.0, begin_ft=60.0, begin_kt=4.0, end_ft=-130.0, end_kt=-3.0)
    return fly([first, second], kind="lazy_eight", direction=direction, **keywords)  # type: ignore[arg-type]


def judged(flight: Flight, *, level_of: str = "commercial", **keywords: object) -> Judgement:
    held: Standard = standard(level_of)
    kind = flight.occurrence.kind
    return judge(flight.motion, flight.occurrence, definition(kind), held, **keywords)  # type: ignore[arg-type]


def test_the_180_points_are_read_where_the_turn_stops_against_entry() -> None:
    found = judged(eight())
    for half, altitude, airspeed, heading in ((1, 60.0, 4.0, 6.0), (2, -130.0, -3.0, -3.0)):
        # Half two ends 183 back from 186: three degrees short of the entry heading, in its own direction.
        assert found.element("altitude_at_180", half).value == pytest.approx(altitude, abs=1.0)
        assert found.element("airspeed_at_180", half).value == pytest.approx(airspeed, abs=0.15)
        assert found.element("heading_at_180", half).value == pytest.approx(heading, abs=0.15)


def test_verdicts_carry_document_edition_and_task() -> None:
    found = judged(eight(errors=SMALL))
    first, second = (found.element("altitude_at_180", half) for half in (1, 2))
    assert (first.verdict, second.verdict) == ("met", "not_met")
    assert (first.limit, first.document, first.task) == ((-100.0, 100.0), "FAA-S-ACS-7B", "CA.V.D")
    assert second.probability_met == 0.0
    assert second.reason is not None
    assert "outside the limit of -100 ft" in second.reason


@pytest.mark.parametrize("kind", ["lazy_eight", "chandelle", "steep_turn"])
def test_left_and_right_are_mirror_images(kind: str) -> None:
    parts = {
        "lazy_eight": [half_eight(degrees=186.0), half_eight(degrees=183.0, end_ft=-130.0)],
        "chandelle": [chandelle(degrees=187.0)],
        "steep_turn": [steep_turn(degrees=366.0)],
    }[kind]
    right, left = (judged(fly(parts, kind=kind, direction=side)) for side in ("right", "left"))  # type: ignore[arg-type]
    assert right.elements[0].value is not None or kind == "steep_turn"
    unsigned = {"entry_bank", "ball_mean"}
    for one, other in zip(right.elements + right.facts, left.elements + left.facts, strict=True):
        if one.value is not None and "left_minus_right" not in one.id and one.id not in unsigned:
            assert other.value == pytest.approx(one.value, abs=1e-6), one.id
        elif "left_minus_right" in one.id and one.value is not None:
            assert other.value == pytest.approx(-one.value, abs=1e-6), one.id
    for here, there in zip(right.points, left.points, strict=True):
        assert there.bank_into_turn.value == pytest.approx(here.bank_into_turn.value, abs=1e-9)
        assert there.heading_change.value == pytest.approx(here.heading_change.value, abs=1e-9)


@pytest.mark.parametrize(("degrees", "past"), [(187.0, 7.0), (173.0, -7.0)])
@pytest.mark.parametrize("direction", ["left", "right"])
def test_heading_at_180_is_positive_past_the_reference_in_the_direction_of_turn(
    degrees: float, past: float, direction: str
) -> None:
    found = judged(fly([chandelle(degrees=degrees)], kind="chandelle", direction=direction))  # type: ignore[arg-type]
    assert found.element("heading_at_180", 1).value == pytest.approx(past, abs=0.2)


@pytest.mark.parametrize("heading", [0.0, 5.0, 179.0, 355.0, 359.9])
def test_north_makes_no_difference(heading: float) -> None:
    found = judged(fly([steep_turn(degrees=364.0)], kind="steep_turn", heading=heading))
    assert found.element("rollout_heading", 1).value == pytest.approx(4.0, abs=0.2)


@pytest.mark.parametrize("assigned", [355.0, 5.0])
def test_an_assigned_heading_is_magnetic_and_wraps_at_north(assigned: float) -> None:
    # True heading 352 with 8 degrees west variation (-8) is 360 magnetic.
    flight = fly([steep_turn(degrees=360.0)], kind="steep_turn", heading=352.0)
    found = judged(flight, assigned=Assigned(heading=assigned * DEGREE))
    off = -((assigned - 360.0 + 180.0) % 360.0 - 180.0)
    assert found.element("rollout_heading", 1).value == pytest.approx(off, abs=0.2)
    assert found.element("rollout_heading", 1).note is None


def test_points_of_each_half_are_where_the_nose_came_to_them() -> None:
    found = judged(eight())
    names = [(point.half, point.name) for point in found.points]
    assert names == [(half, name) for half in (1, 2) for name in ("entry", "45", "90", "135", "180")]
    for point in found.points:
        if point.name in ("45", "90", "135"):
            assert point.heading_change.value == pytest.approx(float(point.name) * DEGREE, abs=1e-6)
    last_of_first = next(point for point in found.points if (point.half, point.name) == (1, "180"))
    assert last_of_first.heading_change.value == pytest.approx(186.0 * DEGREE, abs=0.2 * DEGREE)
    assert last_of_first.bank_into_turn.value == pytest.approx(0.0, abs=0.1 * DEGREE)
    assert last_of_first.airspeed.kind == "indicated"
    assert last_of_first.altitude.kind == "altimeter"


def test_a_point_never_reached_is_left_out() -> None:
    short = fly([chandelle(degrees=130.0)], kind="chandelle", status="broken_off")
    found = judged(short)
    assert [point.name for point in found.points] == ["entry", "45", "90", "180"]
    heading = found.element("heading_at_180", 1)
    assert heading.verdict == "cannot_tell"
    assert heading.reason is not None
    assert "broken off after 130°" in heading.reason
    assert found.element("bank_at_135", 1).reason == "broken off before this point"


def test_a_half_never_flown_cannot_be_told() -> None:
    flight = fly([half_eight()], kind="lazy_eight", status="broken_off")
    second = judged(flight).element("altitude_at_180", 2)
    assert (second.verdict, second.value) == ("cannot_tell", None)
    assert judged(flight).element("altitude_at_180", 1).verdict == "met"


def test_a_finders_edge_two_seconds_off_changes_nothing() -> None:
    exact, early, late = (judged(eight(edge_error=error)) for error in (0.0, -2.0, 2.0))
    for id_ in ("altitude_at_180", "airspeed_at_180", "heading_at_180"):
        for half in (1, 2):
            value = exact.element(id_, half).value
            assert early.element(id_, half).value == pytest.approx(value, abs=1e-6)
            assert late.element(id_, half).value == pytest.approx(value, abs=1e-6)


def test_errors_common_to_entry_and_exit_cancel() -> None:
    found = judged(eight(errors=SMALL))
    altitude = found.element("altitude_at_180", 1)
    assert altitude.sd is not None
    # Each value is known to 10 m (33 ft); their difference to sqrt(2) m and what the edge adds.
    assert altitude.sd < 8.0
    entry = next(point for point in found.points if point.name == "entry")
    assert entry.altitude.sd == pytest.approx(10.0, rel=0.15)


def test_a_derived_bank_in_doubt_by_a_steady_slip_does_not_move_the_edges() -> None:
    errors = {"bank": Error(3.0 * DEGREE)}
    found = judged(eight(errors=errors, measured=False))
    for half in (1, 2):
        sd = found.element("altitude_at_180", half).sd
        assert sd is not None
        assert sd < 1.0


def test_the_same_seed_gives_the_same_judgement() -> None:
    flight = eight(errors=SMALL)
    assert judged(flight, seed=4) == judged(flight, seed=4)
    assert judged(flight, seed=4) != judged(flight, seed=5)


def turn(**bumps: tuple[float, float, float]) -> Flight:
    path = steep_turn()
    for name, (start, seconds, by) in bumps.items():
        path = bump(path, name, start=start, seconds=seconds, by=by)
    return fly([path], kind="steep_turn", errors=SMALL)


@pytest.mark.parametrize(
    ("id_", "quantity", "by", "seconds", "expected"),
    [
        ("altitude", "altitude", 60.0 * FOOT, 12.0, "met"),
        ("altitude", "altitude", -125.0 * FOOT, 3.0, "met"),
        ("altitude", "altitude", -130.0 * FOOT, 9.0, "not_met"),
        ("altitude", "altitude", 175.0 * FOOT, 2.0, "not_met"),
        ("airspeed", "speed", -5.0 * KNOT, 15.0, "met"),
        ("airspeed", "speed", -14.0 * KNOT, 10.0, "not_met"),
    ],
)
def test_held_limits_of_a_steep_turn(
    id_: str, quantity: str, by: float, seconds: float, expected: str
) -> None:
    element = judged(turn(**{quantity: (12.0, seconds, by)})).element(id_, 1)
    assert element.verdict == expected, element.reason
    assert element.value == pytest.approx(by / (FOOT if id_ == "altitude" else KNOT), rel=0.1, abs=1.0)


def test_a_brief_corrected_excursion_is_shown_as_such() -> None:
    element = judged(turn(altitude=(12.0, 3.0, -125.0 * FOOT))).element("altitude", 1)
    assert element.excursions is not None
    assert element.excursions.count == 1
    assert element.excursions.longest == pytest.approx(3.0, abs=0.4)
    assert element.reason is not None
    assert "one brief excursion" in element.reason
    assert "corrected" in element.reason


@pytest.mark.parametrize(
    ("bank", "level_of", "expected"),
    [
        (50.0, "commercial", "met"),
        (45.0, "private", "met"),
        (60.0, "private", "not_met"),
        (38.0, "commercial", "not_met"),
    ],
)
def test_bank_is_held_about_the_target_of_the_level(bank: float, level_of: str, expected: str) -> None:
    found = judged(fly([steep_turn(bank=bank)], kind="steep_turn", errors=SMALL), level_of=level_of)
    element = found.element("bank", 1)
    assert element.verdict == expected
    assert element.value == pytest.approx(bank - (50 if level_of == "commercial" else 45), abs=1.0)
    assert element.note is not None
    assert "no bank was assigned" in element.note


def test_the_roll_in_is_no_excursion() -> None:
    element = judged(fly([steep_turn(bank=50.0)], kind="steep_turn")).element("bank", 1)
    assert abs(element.value or 9.9) < 1.0


def test_an_assigned_bank_replaces_the_target() -> None:
    flight = fly([steep_turn(bank=45.0)], kind="steep_turn", errors=SMALL)
    element = judged(flight, assigned=Assigned(bank=45.0 * DEGREE)).element("bank", 1)
    assert element.verdict == "met"
    assert element.note is None
    assert judged(flight).element("bank", 1).value == pytest.approx(-5.0, abs=0.8)


def test_assigned_altitude_and_airspeed_replace_the_entry_values_and_the_note_goes() -> None:
    flight = fly([steep_turn()], kind="steep_turn", errors={})
    asked = Assigned(altitude=ENTRY_ALTITUDE - 120.0 * FOOT, airspeed=ENTRY_SPEED + 4.0 * KNOT)
    given, free = judged(flight, assigned=asked), judged(flight)
    assert given.element("altitude", 1).value == pytest.approx(120.0)
    assert given.element("altitude", 1).verdict == "not_met"
    assert given.element("airspeed", 1).value == pytest.approx(-4.0)
    assert given.element("altitude", 1).note is None
    assert free.element("altitude", 1).note == "altitude at entry stands in: none was assigned"


def test_a_school_limit_on_a_fact_is_judged_under_the_schools_name() -> None:
    from chalkwing.maneuvers import definitions
    from chalkwing.maneuvers.standards import overlay_from

    limit = {"maneuver": "lazy_eight", "element": "bank_peak", "between": [25, 35]}
    tables = {"schema": 1, "school": "Heron Field", "edition": "1", "limit": [limit]}
    school = overlay_from(tables, standard("commercial"), definitions().values(), where="school.toml")
    flight = eight(errors=SMALL)
    fact = judge(flight.motion, flight.occurrence, definition("lazy_eight"), school).element("bank_peak", 1)
    assert (fact.verdict, fact.document, fact.limit) == ("met", "Heron Field", (25.0, 35.0))
    assert judged(flight).element("bank_peak", 1).verdict is None


def test_without_a_task_in_the_standard_values_come_without_limits() -> None:
    found = judged(eight(), level_of="private")
    element = found.element("altitude_at_180", 1)
    assert element.value == pytest.approx(60.0, abs=1.0)
    assert (element.limit, element.verdict, element.document) == (None, None, None)


class Hill:
    """Flat ground."""

    height_sd = 5.0

    def __init__(self, height: float) -> None:
        self.ground = height

    def height(self, *, latitude: Floats, longitude: Floats) -> Floats:
        return np.full(len(latitude), self.ground)


@pytest.mark.parametrize(
    ("ground_ft", "expected"), [(1500.0, "met"), (2400.0, "not_met"), (2000.0, "cannot_tell")]
)
def test_the_floor_is_an_element_where_terrain_is_given(ground_ft: float, expected: str) -> None:
    flight = fly([chandelle()], kind="chandelle", errors={"geometric_altitude": Error(10.0)})
    element = judged(flight, terrain=Hill(ground_ft * FOOT)).element("floor_agl")
    assert element.verdict == expected
    assert element.value == pytest.approx(3500.0 - ground_ft, abs=5.0)
    assert element.limit == (1500.0, None)


def test_without_terrain_the_floor_is_no_element() -> None:
    element = judged(fly([chandelle()], kind="chandelle")).element("floor_agl")
    assert (element.value, element.limit, element.verdict) == (None, None, None)
    assert element.reason == "no terrain given: height above ground is not known"


def test_margin_over_stall_needs_a_sheet() -> None:
    flight = fly([chandelle(end_kt=-40.0)], kind="chandelle")
    assert judged(flight).element("margin_at_180", 1).value is None
    sheet = replace(load_sheet("four-seat-160"), stall_speed=50.0 * KNOT)
    assert judged(flight, sheet=sheet).element("margin_at_180", 1).value == pytest.approx(10.0, abs=0.5)


def test_too_near_the_limit_cannot_be_told_and_says_so() -> None:
    half = half_eight(end_ft=98.0)
    flight = fly([half, half_eight(begin_ft=98.0)], kind="lazy_eight", errors=SMALL)
    element = judged(flight).element("altitude_at_180", 1)
    assert element.verdict == "cannot_tell"
    assert element.reason is not None
    assert "lies too near the limit of 100 ft" in element.reason


def test_no_attitude_is_named_as_the_reason() -> None:
    errors = {"bank": Error(3.0 * DEGREE, 1.0 * DEGREE, 2.0)}
    flight = fly([steep_turn(bank=51.0)], kind="steep_turn", errors=errors, measured=False)
    element = judged(flight).element("bank", 1)
    assert element.verdict == "cannot_tell"
    assert element.reason is not None
    assert "no attitude recorded: bank known to ±" in element.reason


def test_a_gap_is_named_as_the_reason() -> None:
    path = steep_turn(degrees=368.0)
    errors = {"heading_true": Error(0.5 * DEGREE, 3.0 * DEGREE, 3.0)}
    flight = fly([path], kind="steep_turn", errors=errors, gap=(path.seconds - 8.0, path.seconds + 6.0))
    element = judged(flight).element("rollout_heading", 1)
    assert element.verdict == "cannot_tell"
    assert element.reason is not None
    assert "a gap of 14 s hides" in element.reason


def test_a_turn_that_goes_on_has_no_rollout_to_judge() -> None:
    flight = fly([steep_turn(degrees=720.0)], kind="steep_turn")
    whole = flight.occurrence
    middle = 0.5 * (whole.start + whole.end)
    first = replace(whole, end=middle, parts=(replace(whole.parts[0], end=middle),))
    element = judge(flight.motion, first, definition("steep_turn"), standard("commercial")).element(
        "rollout_heading", 1
    )
    assert element.verdict == "cannot_tell"
    assert element.reason is not None
    assert "the turn went on here" in element.reason


def test_a_maneuver_at_the_very_start_or_end_of_a_recording_is_judged_all_the_same() -> None:
    flight = fly([chandelle()], kind="chandelle", before=level(0.5), after=level(0.5, speed=30.0))
    assert judged(flight).element("heading_at_180", 1).value == pytest.approx(0.0, abs=2.0)


def test_a_pause_between_the_halves_belongs_to_neither() -> None:
    first, second = half_eight(), half_eight()
    pause = level(6.0)
    flight = fly([first.then(pause), second], kind="lazy_eight")
    one, two = flight.occurrence.parts
    stop = one.end - pause.seconds
    paused = replace(flight.occurrence, parts=(replace(one, end=stop), two))
    found = judge(flight.motion, paused, definition("lazy_eight"), standard("commercial"), draws=4)
    places = {(point.half, point.name): point.time.value for point in found.points}
    assert places[1, "180"] == pytest.approx(stop, abs=0.3)
    assert places[2, "entry"] == pytest.approx(two.start, abs=0.6)
    assert found.element("time_of_half", 2).value == pytest.approx(second.seconds, abs=0.6)
