"""Files of corrections: what is written is read again, and every fault is told with its place."""

from __future__ import annotations

import json
import tomllib
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from chalkwing.errors import FaultyCorrections
from chalkwing.find.corrections import (
    Add,
    Address,
    Asked,
    Assign,
    Correction,
    Corrections,
    Drop,
    Ground,
    Label,
    Mark,
    Moment,
    Rename,
    Stretch,
    Trim,
    corrections_from,
    corrections_tables,
    corrections_text,
    read_corrections,
)

EVERY_ACT = """\
schema = 1
recording = "8f0c"
zone = "+02:00"

[[correction]]
act = "add"
kind = "chandelle"
start = 10:42:05
end = "10:42:51"
direction = "left"
by = "Per Askell"
when = 2026-05-14T18:20:00Z
why = "not found: the recorder had a gap"

[[correction]]
act = "drop"
kind = "steep_turn"
at_s = 245.2
within_s = 8
by = "Per Askell"

[[correction]]
act = "rename"
at = "10:50"
to = "steep_spiral"
by = "Per Askell"

[[correction]]
act = "trim"
kind = "steep_turn"
at_s = 300
end_s = 340.5
by = "Per Askell"

[[correction]]
act = "label"
at = "10:55Z"
flown_by = "instructor"
by = "Per Askell"

[[correction]]
act = "assign"
altitude_ft = 3500
bank_deg = 50
by = "Per Askell"

[[correction]]
act = "ground"
kind = "eights_on_pylons"
at_s = 900
points_deg = [[41.2, -41.7], [41.21, -41.69]]
elevation_ft = 820
by = "Per Askell"

[[correction]]
act = "mark"
at = "10:42"
text = 'says "rudder", twice'
by = "Per Askell"

[[correction]]
act = "stretch"
end = "11:05"
student = "Mina Orlo"
instructor = "Per Askell"
flown_by = "student"
by = "Per Askell"
"""


def test_every_kind_of_correction_is_read(tmp_path):
    path = tmp_path / "lesson.toml"
    path.write_text(EVERY_ACT, encoding="utf-8")
    made = read_corrections(path)
    acts = (Add, Drop, Rename, Trim, Label, Assign, Ground, Mark, Stretch)
    assert tuple(type(each.what) for each in made.entries) == acts
    assert made.zone == "+02:00"
    assert made.recording == "8f0c"
    assert made.entries[0].what == Add(
        "chandelle", Moment(clock="10:42:05"), Moment(clock="10:42:51"), "left"
    )
    assert made.entries[0].when == datetime(2026, 5, 14, 18, 20, tzinfo=UTC)
    assert made.entries[1].what == Drop(Address(Moment(seconds=245.2), "steep_turn", 8.0))
    assigned = made.entries[5].what
    assert isinstance(assigned, Assign)
    assert assigned.which is None
    assert assigned.asked.altitude == pytest.approx(3500 * 0.3048)


def test_what_is_written_is_what_was_read(tmp_path):
    path = tmp_path / "again.toml"
    made = corrections_from(tomllib.loads(EVERY_ACT), where="test")
    path.write_text(corrections_text(made), encoding="utf-8")
    assert corrections_text(read_corrections(path)) == corrections_text(made)


texts = some.text(min_size=1, max_size=30).filter(lambda text: bool(text.strip()))
moments = some.one_of(
    some.floats(0, 1e5).map(lambda seconds: Moment(seconds=round(seconds, 3))),
    some.times().map(lambda time: Moment(clock=f"{time:%H:%M:%S}")),
)
kinds = some.sampled_from(("steep_turn", "s_turns", "ours"))
addresses = some.builds(Address, moments, kinds | some.none(), some.sampled_from((15.0, 3.5)))
flyers = some.sampled_from(("student", "instructor", "shared", "unknown"))
places = some.tuples(some.floats(-1.5, 1.5), some.floats(-3.1, 3.1))
whats = some.one_of(
    some.builds(Add, kinds, moments, moments, some.sampled_from(("left", "none")) | some.none()),
    some.builds(Drop, addresses),
    some.builds(Rename, addresses, kinds),
    some.builds(Trim, addresses, moments, moments | some.none()),
    some.builds(Label, addresses, flyers),
    some.builds(Assign, addresses | some.none(), some.builds(Asked, bank=some.floats(0.1, 1.5))),
    some.builds(Ground, addresses, corners=some.tuples(places, places, places)),
    some.builds(Mark, moments, texts),
    some.builds(Stretch, moments | some.none(), student=texts),
)
dates = some.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)).map(
    lambda moment: moment.replace(microsecond=0, tzinfo=UTC)
)
entries = some.builds(Correction, whats, texts, dates | some.none(), texts | some.none())
corrections = some.builds(
    Corrections,
    some.lists(
        some.builds(Correction, whats, texts, dates | some.none(), texts | some.none()), max_size=4
    ).map(tuple),
    some.none() | some.just("ab12"),
    some.none() | some.just("Europe/Zurich"),
)


@settings(max_examples=60, deadline=None)
@given(corrections)
def test_any_corrections_survive_the_file_and_the_page(made):
    # Angles and lengths pass through decimal degrees and feet; what is written stays the same from then on.
    text = corrections_text(made)
    through_file = corrections_from(tomllib.loads(text), where="test")
    through_page = corrections_from(json.loads(json.dumps(corrections_tables(made))), where="test")
    assert through_file == through_page
    assert corrections_text(through_file) == text
    assert [type(each.what) for each in through_file.entries] == [type(each.what) for each in made.entries]
    assert [each.by for each in through_file.entries] == [each.by for each in made.entries]


def faults_of(text: str) -> dict[str, str]:
    with pytest.raises(FaultyCorrections) as caught:
        corrections_from(tomllib.loads(text), where="lesson.toml")
    return {fault.path: fault.message for fault in caught.value.faults}


def test_every_fault_is_told_at_once_with_its_place():
    faults = faults_of(
        """
schema = 1
zone = "Atlantis/Harbor"
[[correction]]
act = "vanish"
by = "A"
at_s = 3
[[correction]]
act = "drop"
at = "25:10"
[[correction]]
act = "assign"
by = "A"
[[correction]]
act = "trim"
at_s = 3
by = "A"
[[correction]]
act = "ground"
at_s = 3
points_deg = [[141.2, 8.0]]
by = "A"
[[correction]]
act = "mark"
at = "10:00"
at_s = 3
text = "x"
by = "A"
when = "yesterday"
shade = "red"
"""
    )
    assert "no zone" in faults["zone"]
    assert "'vanish' is not one of add, drop" in faults["correction[0].act"]
    assert "no time of day" in faults["correction[1].at"]
    assert faults["correction[1].by"] == "is missing"
    assert "altitude_ft" in faults["correction[2]"]
    assert "needs start, end or both" in faults["correction[3]"]
    assert "latitude" in faults["correction[4].points_deg"]
    assert "give one of them" in faults["correction[5].at"]
    assert "date and time" in faults["correction[5].when"]
    assert faults["correction[5].shade"] == "is not a key known here"


def test_a_broken_file_is_refused_with_its_line(tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text("schema = 1\n[[correction]]\nact = drop\n", encoding="utf-8")
    with pytest.raises(FaultyCorrections, match=r"broken\.toml.*\n.*not TOML.*line 3"):
        read_corrections(path)
    with pytest.raises(FaultyCorrections, match="cannot be read"):
        read_corrections(tmp_path / "missing.toml")
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(FaultyCorrections, match="not UTF-8"):
        read_corrections(path)


def test_another_schema_is_refused():
    assert "must be 1, not 2" in faults_of("schema = 2")["schema"]
