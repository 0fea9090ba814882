"""A recording handed in becomes a lesson; changes of people are judged at once, kept, and can be undone."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from tests.web.conftest import Visitor

from chalkwing.book import rejudging
from chalkwing.book.judgings import Settings as Limits
from chalkwing.book.log_settings import LogSettings


def debrief(desk: Visitor, lesson: str) -> dict[str, Any]:
    found: dict[str, Any] = desk.client.get(f"{lesson}/debrief.json").json()
    return found


def turns(desk: Visitor, lesson: str) -> list[tuple[int, dict[str, Any]]]:
    """The two steep turns that were flown, each with its number in the list."""
    numbered = enumerate(debrief(desk, lesson)["maneuvers"], start=1)
    return [(number, each) for number, each in numbered if each["kind"] == "steep_turn"]


def change(desk: Visitor, lesson: str, **table: Any) -> Any:
    return desk.post(f"{lesson}/changes", {"by": "Tomas Vell", **table})


def undo(desk: Visitor, lesson: str, number: int) -> None:
    assert change(desk, lesson, act="undo", undoes=number).status_code == 201


def test_a_recording_becomes_a_lesson_with_its_maneuvers(desk, lesson):
    found = debrief(desk, lesson)
    assert len(turns(desk, lesson)) == 2
    assert found["recordings"][0]["source"] == "steep turns.csv"
    page = desk.page(lesson).text
    assert found["decides"] in page.replace("&#39;", "'")
    assert page.count('class="line-link"') == len(found["maneuvers"])
    assert "A training aid" in page


def test_every_maneuver_has_its_page(desk, lesson):
    for number, _ in turns(desk, lesson):
        answer = desk.page(f"{lesson}/maneuver/{number}")
        assert answer.status_code == 200
        assert "Steep turn" in answer.text
        assert 'id="beside"' in answer.text
    assert desk.page(f"{lesson}/maneuver/99").status_code == 404


def test_who_flew_is_set_and_undone(desk, lesson):
    _, turn = turns(desk, lesson)[0]
    made = change(desk, lesson, act="label", kind=turn["kind"], at_s=turn["start_s"], flown_by="student")
    assert made.status_code == 201, made.text
    assert turns(desk, lesson)[0][1]["flown_by"] == "student"
    assert 'data-flown-by="student"' in desk.page(lesson).text
    undo(desk, lesson, made.json()["id"])
    assert turns(desk, lesson)[0][1]["flown_by"] == "unknown"


def test_a_maneuver_taken_away_is_told_and_comes_back(desk, lesson):
    _, turn = turns(desk, lesson)[1]
    made = change(desk, lesson, act="drop", kind=turn["kind"], at_s=turn["start_s"], why="a clearing turn")
    assert made.status_code == 201, made.text
    assert len(turns(desk, lesson)) == 1
    page = desk.page(lesson).text
    assert "Found, and taken away: Steep turn" in page
    assert "a clearing turn" in page
    undo(desk, lesson, made.json()["id"])
    assert len(turns(desk, lesson)) == 2


def test_a_trimmed_maneuver_is_judged_at_once_and_shows_how_it_was_found(desk, lesson):
    _, turn = turns(desk, lesson)[0]
    made = change(
        desk, lesson, act="trim", kind=turn["kind"], at_s=turn["start_s"], end_s=turn["end_s"] + 3.0
    )
    assert made.status_code == 201, made.text
    _, now = turns(desk, lesson)[0]
    assert now["corrected"]
    assert now["end_s"] == pytest.approx(turn["end_s"] + 3.0, abs=0.5)
    assert now["found"]["end_s"] == pytest.approx(turn["end_s"], abs=1e-6)
    assert "found as Steep turn" in desk.page(lesson).text
    undo(desk, lesson, made.json()["id"])


def test_a_change_that_does_not_fit_is_refused_and_not_kept(desk, lesson):
    before = desk.client.get(f"{lesson}/changes").json()
    for table in (
        {"act": "add", "kind": "steep_turn", "start_s": 9000.0, "end_s": 9100.0},
        {"act": "rename", "kind": "steep_turn", "at_s": 1.0, "to": "no_such_kind"},
        {"act": "trim", "kind": "steep_turn", "at_s": 60.0},
        {"act": "fly", "at_s": 60.0},
        {"act": "undo", "undoes": 999},
        {"act": "override", "kind": "steep_turn", "at_s": 1.0, "element": "bank", "verdict": "met"},
        {"act": "note", "at_s": True, "text": "x"},
        {"act": "label", "kind": "steep_turn", "at_s": 200.0, "flown_by": "nobody"},
    ):
        answer = change(desk, lesson, **table)
        assert 400 <= answer.status_code < 500, (table, answer.text)
        assert answer.json()["error"]["what"]
    assert desk.post(f"{lesson}/changes", {"act": "note", "at_s": 1.0, "text": "x"}).status_code == 400
    assert desk.client.get(f"{lesson}/changes").json() == before


def test_notes_and_marks_stand_on_their_maneuver(desk, lesson):
    number, turn = turns(desk, lesson)[0]
    middle = 0.5 * (turn["start_s"] + turn["end_s"])
    clock = f"14:{5 + int(middle) // 60:02d}"
    assert change(desk, lesson, act="note", at_s=middle, text="ball <out> left").status_code == 201
    assert change(desk, lesson, act="mark", at=clock, text="rudder").status_code == 201
    page = desk.page(f"{lesson}/maneuver/{number}").text
    beside = json.loads(page.split('id="beside">')[1].split("</script>")[0])
    assert [each["text"] for each in beside["notes"] if "ball" in each["text"]] == ["ball <out> left"]
    assert "<out>" not in page
    assert any(each["text"] == "rudder" for each in debrief(desk, lesson)["marks"])
    marked = desk.page(lesson).text.split("Marked in flight")[1].split("</section>")[0]
    assert "rudder (Tomas Vell" in marked


def test_whose_part_it_was_is_told_and_can_be_undone(desk, lesson):
    whose = {"student": "Mina Orlo", "instructor": "Per Askell"}
    made = change(desk, lesson, act="stretch", start_s=0.0, end_s=200.0, **whose)
    assert made.status_code == 201
    page = desk.page(lesson).text
    told = page.split("Whose part")[1].split("</section>")[0]
    assert "14:05 to 14:08: Mina Orlo, with Per Askell" in told
    assert "From 14:05:00 to 14:08:20: Mina Orlo, with Per Askell." in page.split("<h2>Changes</h2>")[1]
    assert change(desk, lesson, act="undo", undoes=made.json()["id"]).status_code == 201
    assert "Whose part" not in desk.page(lesson).text


def test_an_instructors_verdict_stands_beside_the_computed_one(desk, lesson):
    number, turn = turns(desk, lesson)[0]
    element = next(each for each in turn["elements"] if each["verdict"])
    made = change(
        desk,
        lesson,
        act="override",
        kind=turn["kind"],
        at_s=turn["start_s"] + 5.0,
        element=element["id"],
        half=element["half"],
        verdict="not_met",
        why="I held the bank",
    )
    assert made.status_code == 201, made.text
    page = desk.page(f"{lesson}/maneuver/{number}").text
    beside = json.loads(page.split('id="beside">')[1].split("</script>")[0])
    assert beside["overrides"][0]["why"] == "I held the bank"
    assert turns(desk, lesson)[0][1]["elements"] == turn["elements"]
    assert "1 overridden" in desk.page(lesson).text


def test_the_debrief_prints(desk, lesson):
    for paper in ("a4", "letter"):
        answer = desk.client.get(f"{lesson}/debrief.pdf", params={"paper": paper})
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF")
    assert desk.client.get(f"{lesson}/debrief.pdf", params={"paper": "b5"}).status_code == 404


def test_a_lesson_from_the_command_line_is_the_same_lesson(desk, recording, tmp_path):
    from chalkwing.web.serving import opened

    path = tmp_path / "from the shell.csv"
    path.write_bytes(recording)
    settings = desk.client.app.state.desk.settings
    url = opened(settings, [path], airplane=None, standard="commercial", zone=None)
    assert desk.worked_out(url)["state"] == "done"
    assert "from the shell.csv" in desk.page(url).text


def test_a_recording_that_cannot_be_used_says_why_by_its_own_name(desk):
    stored = desk.put("engine.csv", b"time,oil temperature\n0,80\n1,81\n2,82\n").json()
    opened = desk.post("/lessons", {"files": [stored], "standard": "commercial"})
    state = desk.worked_out(opened.json()["url"])
    assert state["state"] == "refused"
    assert state["refusal"]["where"] == "engine.csv"
    assert stored["sha256"] not in json.dumps(state)
    page = desk.page(opened.json()["url"])
    assert "That did not work" in page.text
    listed = " ".join(desk.page("/").text.split(f'data-lesson="{opened.json()["url"][8:]}"')[1].split())
    for words in ("This could not be worked out", state["refusal"]["what"][:30], "again=1"):
        assert words in listed.split("</li>")[0]
    gone = desk.client.delete(opened.json()["url"], headers={"x-chalkwing-token": desk.token})
    assert gone.status_code == 200
    assert desk.page(opened.json()["url"]).status_code == 404


def test_broken_recordings_never_take_the_server_down(desk):
    for content in (b"\x00" * 4096, b"PK\x03\x04" + b"\xff" * 500, b"\x1f\x8b\x08" + b"\x00" * 50):
        stored = desk.put("broken.csv", content).json()
        opened = desk.post("/lessons", {"files": [stored], "standard": "commercial"})
        state = desk.worked_out(opened.json()["url"])
        assert state["state"] == "refused"
        assert state["refusal"]["what"]
        assert "Traceback" not in json.dumps(state)
    assert desk.client.get("/").status_code == 200


def test_lessons_outlive_a_restart(desk, lesson):
    folder: Path = desk.client.app.state.desk.settings.folder
    names = [path.name for path in (folder / "book" / "recordings").glob("*/*")]
    assert names
    assert all(len(name) == 64 for name in names)
    assert lesson.rsplit("/", 1)[1] in [path.name for path in (folder / "lessons").iterdir()]


def test_what_was_assigned_is_judged_at_once_and_told_with_who_and_why(desk, lesson):
    number, turn = turns(desk, lesson)[0]
    which = {"kind": turn["kind"], "at_s": turn["start_s"]}
    made = change(desk, lesson, act="assign", **which, altitude_ft=9000, bank_deg=50, why="as briefed")
    assert made.status_code == 201, made.text
    _, now = turns(desk, lesson)[0]
    assert now["assigned"]["altitude_ft"] == pytest.approx(9000)
    held = next(each for each in now["elements"] if each["id"] == "altitude")
    assert held["verdict"] == "not_met"
    page = desk.page(lesson).text
    assert "Assigned: 9,000 ft and 50° of bank." in page
    assert "9,000 ft and 50° of bank. “as briefed”" in page
    assert "Assigned: 9,000 ft" in desk.page(f"{lesson}/maneuver/{number}").text
    undo(desk, lesson, made.json()["id"])
    assert "Assigned: 9,000 ft" not in desk.page(f"{lesson}/maneuver/{number}").text


def test_an_assigned_value_that_cannot_be_is_refused_with_its_name(desk, lesson):
    _, turn = turns(desk, lesson)[0]
    asked = change(
        desk, lesson, act="assign", kind=turn["kind"], at_s=turn["start_s"], heading_deg_magnetic=400
    )
    assert asked.status_code == 422
    assert "heading_deg_magnetic" in asked.text


_SCHOOL = """
schema = 1
school = "Hollin Field"
edition = "May 2026"
[[limit]]
maneuver = "steep_turn"
element = "altitude"
between = [-40, 40]
"""


def test_limits_of_the_schools_own_are_handed_in_with_a_recording_and_chosen_again(desk, recording):
    stored = desk.put("own limits.csv", recording).json()
    asked = {"files": [stored], "airplane": None, "standard": "private"}
    opened = desk.post("/lessons", {**asked, "limits": {"name": "ours.toml", "text": _SCHOOL}})
    assert opened.status_code == 201, opened.text
    url = opened.json()["url"]
    assert desk.worked_out(url)["state"] == "done"
    held = next(each for each in turns(desk, url)[0][1]["elements"] if each["id"] == "altitude")
    assert (held["limit"], held["document"]) == ([-40.0, 40.0], "Hollin Field")
    page = desk.client.get("/").text
    assert "private, with limits of the school&#39;s" in page
    kept = re.search(r'<option value="([0-9a-f]+)">Hollin Field, May 2026</option>', page)
    assert kept
    again = desk.post("/lessons", {**asked, "limits": kept[1]})
    assert again.status_code == 201, again.text


@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        ("schema = 1\nschool = ", "is not TOML"),
        (_SCHOOL.replace("steep_turn", "steep_spin"), "limit[0].maneuver"),
        ('schema = 1\nname = "ours"\ntitle = "Ours"\ndocument = "D"', "task"),
    ],
)
def test_faulty_limits_are_refused_with_their_place_and_nothing_is_kept(desk, recording, text, phrase):
    stored = desk.put("own limits.csv", recording).json()
    before = list(desk.client.app.state.desk.limits.every())
    asked = {"files": [stored], "standard": "private", "limits": {"name": "ours.toml", "text": text}}
    refused = desk.post("/lessons", asked)
    assert refused.status_code == 422
    assert phrase in refused.text
    assert "ours.toml" in refused.text
    assert desk.client.app.state.desk.limits.every() == before


_HELD = {
    "latitude": "deg", "longitude": "deg", "geometric_altitude": "ft", "pressure_altitude": "ft",
    "indicated_airspeed": "kt", "ground_speed": "kt", "track": "deg", "heading_magnetic": "deg",
    "pitch": "deg", "bank": "deg",
}  # fmt: skip
MAP = "[columns]\n" + "".join(
    f'{channel} = {{column = "Q{k}", unit = "{unit}"}}\n' for k, (channel, unit) in enumerate(_HELD.items())
)


@pytest.fixture(scope="module")
def unnamed(recording: bytes) -> bytes:
    """The recording under headers that say nothing, its clock said to be local."""
    rows = [line for line in recording.decode().splitlines() if line.startswith("2026")]
    names = ["Local date", "Local time", *(f"Q{k}" for k in range(rows[0].count(",") - 1))]
    return "\n".join([",".join(names), *rows, ""]).encode()


def opened_by(desk: Visitor, content: bytes, **said: Any) -> Any:
    stored = desk.put("own headers.csv", content).json()
    return desk.post("/lessons", {"files": [stored], "standard": "commercial", **said})


def test_a_log_of_unknown_headers_is_read_by_a_column_map_and_so_again_from_the_book(desk, unnamed):
    opened = opened_by(desk, unnamed, columns={"name": "ours.toml", "text": MAP}, zone=" +02:00 ")
    assert opened.status_code == 201, opened.text
    url = opened.json()["url"]
    assert desk.worked_out(url)["state"] == "done"
    found = debrief(desk, url)
    assert found["recordings"][0]["start_utc"] == "2026-05-14T12:05:00Z"  # two hours before 14:05 of the log
    assert len(turns(desk, url)) == 2
    assert "read with a column map, and local times as those of zone +02:00" in desk.page("/").text

    # A correction reads it so again, by the clock that the page tells.
    _, turn = turns(desk, url)[0]
    made = change(desk, url, act="mark", at="12:09", text="rudder")
    assert made.status_code == 201, made.text
    (mark,) = debrief(desk, url)["marks"]
    assert mark["t_s"] == pytest.approx(4 * 60.0, abs=31.0)

    by = {"by": "Runa Tveit"}
    assert desk.post("/book/people", {**by, "name": "Ola Brekk", "roles": ["student"]}).status_code == 201
    entered = desk.post(f"{url}/record", {**by, "student": "Ola Brekk", "flown_by": "student"})
    assert entered.status_code == 201, entered.text
    record = entered.json()["record"]
    assert "read with a column map" in desk.page(f"/record/{record}").text
    again = desk.post(f"/record/{record}/judging", by)
    assert (again.status_code, again.json()["changes"]) == (201, [])

    # Taken off the desk, it is laid there again from its record, and read by what the book kept.
    gone = desk.client.delete(url, headers={"x-chalkwing-token": desk.token})
    assert gone.status_code == 200
    laid = desk.post(f"/record/{record}/desk", by).json()["url"]
    assert laid != url
    assert desk.worked_out(laid)["state"] == "done"
    assert turns(desk, laid)[0][1]["start_s"] == pytest.approx(turn["start_s"], abs=0.5)
    assert debrief(desk, laid)["recordings"][0]["start_utc"] == "2026-05-14T12:05:00Z"

    # What the book is told otherwise meanwhile holds for the next change on the desk.
    assert "pitch" in debrief(desk, laid)["recordings"][0]["channels"]
    without = LogSettings("".join(line for line in MAP.splitlines(True) if "pitch" not in line))
    book = desk.client.app.state.desk.book
    told = rejudging.judge_again(book, [record], settings=Limits(), who="Runa Tveit", why=None, log=without)
    assert told.left == []
    assert change(desk, laid, act="mark", at="12:09", text="ball").status_code == 201
    assert "pitch" not in debrief(desk, laid)["recordings"][0]["channels"]


@pytest.mark.parametrize(
    ("said", "where", "phrase"),
    [
        ({"columns": {"name": "ours.toml", "text": "[columns"}}, "ours.toml", "is not TOML"),
        ({"columns": {"text": "x = "}}, "the column map", "is not TOML"),
        ({"columns": {"text": "#" * 20_000}}, "the column map", "at most 16000"),
        ({"columns": MAP}, "columns", "with its text"),
        ({"zone": "Nowhere"}, "zone", "is no zone"),
        ({"zone": 2}, "zone", "time zone"),
    ],
)
def test_a_faulty_column_map_or_zone_is_refused_with_its_place(desk, unnamed, said, where, phrase):
    lessons = desk.client.app.state.desk.shelf.lessons()
    refused = opened_by(desk, unnamed, **said)
    assert 400 <= refused.status_code < 500
    assert refused.json()["error"]["where"] == where
    assert phrase in refused.json()["error"]["what"]
    assert desk.client.app.state.desk.shelf.lessons() == lessons


def test_a_column_map_that_does_not_fit_the_log_says_so_by_the_names_that_people_know(desk, unnamed):
    said = {"name": "ours.toml", "text": '[columns]\nlatitude = "Lat"\nbunk = "Q9"\n'}
    url = opened_by(desk, unnamed, columns=said).json()["url"]
    state = desk.worked_out(url)
    assert state["state"] == "refused"
    assert state["refusal"]["where"] == "column map for own headers.csv"
    assert "columns.latitude.column: the log has no column 'Lat'" in state["refusal"]["what"]
    assert "columns.bunk" in state["refusal"]["what"]
    desk.client.delete(url, headers={"x-chalkwing-token": desk.token})
