"""Corrections laid over what was found in flights drawn by hand, where what was flown is known exactly."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from tests.find.fake_estimator import AVIONICS, motion
from tests.find.kinematics import Sketch

from chalkwing.errors import UnfitCorrection
from chalkwing.find import can_find, find
from chalkwing.find.corrections import (
    Add,
    Address,
    Asked,
    Assign,
    Clock,
    Correction,
    Corrections,
    Drop,
    FoundFlight,
    Ground,
    Label,
    Mark,
    Moment,
    Overlaid,
    Rename,
    Stretch,
    Trim,
    lay_over,
)
from chalkwing.maneuvers import definitions

DEFINITIONS = definitions()
KNOWN = tuple(DEFINITIONS[kind] for kind in ("lazy_eight", "chandelle", "steep_turn"))
START = datetime(2026, 5, 14, 23, 50, tzinfo=UTC)
SHIFT = 20.0


def sketch() -> Sketch:
    drawn = Sketch().level(60).turn(360, bank=45, kind="steep_turn").level(60)
    drawn.chandelle(-1).level(60)
    # Too gentle to be found: an instructor who was there may say that it was meant for a steep turn.
    return drawn.turn(360, bank=30).level(60)


@pytest.fixture(scope="module")
def flight() -> FoundFlight:
    flown = motion(sketch().table(), AVIONICS, seed=2)
    return FoundFlight(flown, SHIFT, find(flown, KNOWN))


@pytest.fixture(scope="module")
def clock(flight: FoundFlight) -> Clock:
    return Clock(START, flight.motion.end + SHIFT + 30.0)


def laid(flight: FoundFlight, clock: Clock, *whats, bear=("gone",)) -> Overlaid:
    made = Corrections(tuple(Correction(what, by="Per Askell") for what in whats))
    return lay_over(made, [flight], definitions=DEFINITIONS, clock=clock, bear=bear)


def at(seconds: float) -> Moment:
    return Moment(seconds=seconds)


def by_clock(seconds: float) -> Moment:
    return Moment(clock=f"{START + timedelta(seconds=seconds):%H:%M:%S}")


def standing(overlaid: Overlaid) -> list[str]:
    return [each.occurrence.kind for each in overlaid.entries if not each.dropped]


def test_nothing_corrected_is_what_was_found(flight, clock):
    overlaid = laid(flight, clock)
    assert [each.occurrence for each in overlaid.entries] == list(flight.found)
    assert standing(overlaid) == ["steep_turn", "chandelle"]


def test_a_dropped_maneuver_stays_visible(flight, clock):
    overlaid = laid(flight, clock, Drop(Address(at(flight.found[1].start + SHIFT), "chandelle")))
    assert standing(overlaid) == ["steep_turn"]
    gone = overlaid.entries[1]
    assert gone.dropped
    assert gone.found == flight.found[1]
    assert gone.changed_by == (0,)


def test_what_was_found_is_never_changed(flight, clock):
    before = flight.found
    turn = flight.found[0]
    which = Address(at(turn.start + SHIFT), "steep_turn")
    overlaid = laid(
        flight, clock, Rename(which, "turns_around_a_point"), Label(which, "student"), Trim(which, end=at(90))
    )
    assert flight.found is before
    assert overlaid.entries[0].found == turn
    now = overlaid.entries[0].occurrence
    assert now.kind == "turns_around_a_point"
    assert now.corrected
    assert now.flown_by == "student"
    assert overlaid.entries[0].changed_by == (0, 1, 2)


def test_an_added_maneuver_gets_the_edges_of_the_flying(flight, clock):
    # Given 3 s off on either side; the finder knows the turn's own edges, which are good to about 2 s.
    flown = sketch().flown
    true = (flown[1].end + 60.0, flight.motion.end - 60.0)
    overlaid = laid(
        flight, clock, Add("steep_turn", by_clock(true[0] + SHIFT + 3.0), at(true[1] + SHIFT - 3.0))
    )
    added = overlaid.entries[2]
    assert added.found is None
    assert added.occurrence.corrected
    assert added.occurrence.direction == "right"
    assert added.occurrence.start == pytest.approx(true[0], abs=2.0)
    assert added.occurrence.end == pytest.approx(true[1], abs=2.0)
    assert added.occurrence.status == "complete"


def test_times_to_the_minute_mean_that_minute(flight, clock):
    last = flight.motion.end - 60.0
    first = last - 45.0
    start, end = (START + timedelta(seconds=each + SHIFT) for each in (first, last))
    what = Add("steep_turn", Moment(clock=f"{start:%H:%M}"), Moment(clock=f"{end:%H:%M}"))
    added = laid(flight, clock, what).entries[2].occurrence
    assert added.end == pytest.approx(last, abs=2.0)


def test_a_maneuver_found_after_all_is_not_there_twice(flight, clock):
    one = flight.found[1]
    overlaid = laid(flight, clock, Add("chandelle", at(one.start + SHIFT - 2.0), at(one.end + SHIFT + 1.0)))
    assert standing(overlaid) == ["steep_turn", "chandelle"]
    assert overlaid.entries[1].found == one
    assert overlaid.entries[1].occurrence.corrected


@pytest.mark.parametrize("moved", [2.0, 4.0, 12.0])
def test_a_trimmed_edge_is_not_drawn_back_to_where_it_was(flight, clock, moved):
    one = flight.found[0]
    which = Address(at(one.start + SHIFT), "steep_turn")
    now = laid(flight, clock, Trim(which, start=at(one.start + SHIFT + moved))).entries[0].occurrence
    assert now.start == pytest.approx(one.start + moved, abs=0.5 * moved)
    assert now.end == pytest.approx(one.end, abs=1.0)
    assert now.probability == one.probability


def test_an_eight_added_by_hand_has_two_halves():
    flown = motion(Sketch().level(60).lazy_eight(1, peak_bank=16.0).level(60).table(), AVIONICS, seed=4)
    flight = FoundFlight(flown, 0.0, ())
    clock = Clock(None, flown.end)
    one = laid(flight, clock, Add("lazy_eight", at(60), at(flown.end - 60))).entries[0].occurrence
    assert [part.direction for part in one.parts] == ["right", "left"]
    assert one.status == "complete"


def test_a_spiral_added_by_hand_is_cut_at_its_revolutions():
    flown = motion(Sketch().level(60).turn(1080, bank=45).level(60).table(), AVIONICS, seed=4)
    flight = FoundFlight(flown, 0.0, ())
    end = flown.end - 60
    what = Add("steep_spiral", at(60), at(end))
    one = laid(flight, Clock(None, flown.end), what).entries[0].occurrence
    assert len(one.parts) == 3
    assert one.status == "complete"
    third = (end - 60) / 3
    assert one.parts[1].start == pytest.approx(60 + third, abs=3.0)


def test_what_goes_by_time_can_be_added(flight, clock):
    what = Add("slow_flight", at(SHIFT + 1.0), at(SHIFT + 50.0))
    one = laid(flight, clock, what).entries[0].occurrence
    assert one.kind == "slow_flight"
    assert len(one.parts) == 1
    assert one.start == pytest.approx(1.0, abs=6.0)
    assert one.end == pytest.approx(50.0, abs=6.0)


# Identity ---------------------------------------------------------------------------------------------------


def test_a_correction_survives_finding_again(flight, clock):
    # Another program version finds the same maneuver 8 s later; the address still means it.
    which = Address(at(flight.found[1].start + SHIFT), "chandelle")
    moved = replace(
        flight, found=tuple(replace(one, start=one.start + 8.0, end=one.end + 8.0) for one in flight.found)
    )
    assert standing(laid(moved, clock, Drop(which))) == ["steep_turn"]


def test_a_correction_that_fits_nothing_any_more_says_so(flight, clock):
    which = Address(at(flight.found[1].start + SHIFT), "chandelle")
    moved = replace(flight, found=flight.found[:1])
    overlaid = laid(moved, clock, Drop(which), Label(Address(at(60 + SHIFT), "steep_turn"), "student"))
    gone, label = overlaid.outcomes
    assert not gone.fits
    assert gone.fault == "gone"
    assert gone.reason is not None
    assert "no chandelle" in gone.reason
    assert label.fits
    assert overlaid.entries[0].occurrence.flown_by == "student"


def test_a_renamed_maneuver_still_answers_to_its_first_name(flight, clock):
    which = Address(at(flight.found[0].start + SHIFT), "steep_turn")
    overlaid = laid(flight, clock, Rename(which, "turns_around_a_point"), Drop(which))
    assert standing(overlaid) == ["chandelle"]


def test_a_moment_inside_names_the_maneuver_and_is_kept_as_its_start(flight, clock):
    middle = 0.5 * (flight.found[1].start + flight.found[1].end) + SHIFT
    overlaid = laid(flight, clock, Label(Address(by_clock(middle)), "instructor"))
    settled = overlaid.outcomes[0].settled.what
    assert isinstance(settled, Label)
    assert settled.which == Address(at(flight.found[1].start + SHIFT), "chandelle")
    assert overlaid.entries[1].occurrence.flown_by == "instructor"


def test_seconds_count_from_the_recording_that_was_corrected(flight, clock):
    # A second recorder that began earlier moves the zero of time; the file's seconds keep their own.
    which = Address(at(flight.found[0].start), "steep_turn")
    overlaid = laid(flight, replace(clock, origin=SHIFT), Drop(which))
    assert standing(overlaid) == ["chandelle"]


# Refusals ---------------------------------------------------------------------------------------------------


def refused(flight, clock, *whats) -> UnfitCorrection:
    with pytest.raises(UnfitCorrection) as caught:
        laid(flight, clock, *whats)
    return caught.value


def test_two_maneuvers_cannot_share_a_stretch(flight, clock):
    turn = flight.found[0]
    over = Add("slow_flight", at(turn.start + SHIFT - 30.0), at(turn.start + SHIFT + 15.0))
    error = refused(flight, clock, over)
    assert error.fault == "overlap"
    assert "correction 1" in str(error)
    assert "steep turn at 23:51:" in str(error)
    assert "first" in str(error)


def test_an_unknown_kind_lists_the_known_ones(flight, clock):
    error = refused(flight, clock, Add("barrel_roll", at(70), at(100)))
    assert error.fault == "unknown"
    assert "'barrel_roll'" in str(error)
    assert "lazy_eight" in str(error)


@pytest.mark.parametrize("moment", [Moment(seconds=9e4), Moment(seconds=-1.0), Moment(clock="12:00")])
def test_a_time_outside_the_recording_is_refused(flight, clock, moment):
    error = refused(flight, clock, Mark(moment, "rudder"))
    assert error.fault == "outside"
    assert "23:50:00" in str(error)


def test_a_time_of_day_needs_a_recording_with_one(flight, clock):
    error = refused(flight, replace(clock, start_utc=None), Mark(Moment(clock="23:52"), "rudder"))
    assert error.fault == "outside"
    assert "seconds" in str(error)


def test_turns_are_not_laid_where_the_wings_are_level(flight, clock):
    error = refused(flight, clock, Add("steep_turn", at(SHIFT + 5.0), at(SHIFT + 40.0)))
    assert error.fault == "empty"
    assert "no turn" in str(error)


def test_an_end_before_its_start_is_refused(flight, clock):
    assert refused(flight, clock, Add("steep_turn", at(100), at(90))).fault == "empty"


def test_a_page_bears_every_fault(flight, clock):
    everything = ("gone", "overlap", "outside", "unknown", "empty")
    overlaid = laid(flight, clock, Mark(at(9e4), "late"), Add("barrel_roll", at(70), at(99)), bear=everything)
    assert [each.fault for each in overlaid.outcomes] == ["outside", "unknown"]


# Who, what was assigned, and marks --------------------------------------------------------------------------


def test_stretches_say_whose_and_later_labels_override(flight, clock):
    turn, chandelle = flight.found
    border = at(turn.end + SHIFT + 20.0)
    overlaid = laid(
        flight,
        clock,
        Stretch(end=border, student="Mina Orlo", flown_by="student"),
        Stretch(start=border, student="Tarek Abend", flown_by="student"),
        Label(Address(at(chandelle.start + SHIFT), "chandelle"), "instructor"),
    )
    first, second = overlaid.entries
    assert (first.student, first.occurrence.flown_by) == ("Mina Orlo", "student")
    assert (second.student, second.occurrence.flown_by) == ("Tarek Abend", "instructor")
    assert [(round(each.start), each.stretch.student) for each in overlaid.stretches] == [
        (0, "Mina Orlo"),
        (round(turn.end + SHIFT + 20.0), "Tarek Abend"),
    ]


def test_who_flew_is_no_correction_of_what_was_found(flight, clock):
    which = Address(at(flight.found[0].start + SHIFT), "steep_turn")
    one = laid(flight, clock, Label(which, "student")).entries[0].occurrence
    assert not one.corrected
    assert one.probability == flight.found[0].probability


def test_assigned_values_are_laid_over_those_for_all(flight, clock):
    which = Address(at(flight.found[0].start + SHIFT), "steep_turn")
    place = ((0.5, 0.1),)
    overlaid = laid(
        flight,
        clock,
        Assign(None, Asked(altitude=1000.0, bank=0.7)),
        Assign(which, Asked(altitude=900.0)),
        Ground(which, points=place),
    )
    assert overlaid.entries[0].asked == Asked(altitude=900.0, bank=0.7)
    assert overlaid.entries[1].asked == Asked(altitude=1000.0, bank=0.7)
    assert overlaid.entries[0].ground is not None
    assert overlaid.entries[0].ground.points == place


def test_marks_fall_into_their_maneuver_or_lie_by_the_nearest(flight, clock):
    turn, chandelle = flight.found
    overlaid = laid(
        flight,
        clock,
        Mark(by_clock(turn.start + SHIFT + 10.0), "rudder"),
        Mark(at(chandelle.end + SHIFT + 25.0), "look out"),
    )
    inside, after = overlaid.marks
    assert inside.entry == 0
    assert inside.gap == 0.0
    assert inside.time == pytest.approx(turn.start + SHIFT + 10.0, abs=1.0)
    assert after.entry == 1
    assert after.gap == pytest.approx(25.0, abs=0.1)


def test_the_card_may_keep_local_time_across_midnight(flight, clock):
    # Two hours ahead of UTC the recording begins at 01:50 of the next day.
    local = replace(clock, zone="+02:00")
    mark = laid(flight, local, Mark(Moment(clock="01:52:30"), "flaps")).marks[0]
    assert mark.time == pytest.approx(150.0)
    again = laid(flight, local, Mark(Moment(clock="23:52:30Z"), "flaps")).marks[0]
    assert again.time == pytest.approx(150.0)
    past_midnight = laid(flight, replace(clock, end=3600.0), Mark(Moment(clock="00:02:00"), "gear")).marks[0]
    assert past_midnight.time == pytest.approx(720.0)


def test_undoing_takes_the_last_one_back():
    first, second = (Correction(Mark(at(each), "x"), by="Per Askell") for each in (1, 2))
    made = Corrections().and_then(first, second)
    assert made.undone() == Corrections((first,))
    assert Corrections().undone() == Corrections()


def test_the_finder_can_find_the_kinds_of_this_test():
    assert all(can_find(each) for each in KNOWN)
