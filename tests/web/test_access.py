"""Every route for every role, by real requests on a school's server: own things, others' things, nothing."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from tests.book.school import CHIEF, INSTRUCTOR, OTHER, STUDENT
from tests.book.school import recording as a_file
from tests.web.school_server import COLLEAGUE, Browser, browser, school_app

from chalkwing.web.access import NO, OWN, TABLE, YES, Of, names_of
from chalkwing.web.shelf import StoredFile

FIRST, SECOND = 1, 2
"""Numbers of the records: the first student's, flown with the instructor; the other's, a solo flight."""

LOOKERS: dict[str, tuple[str | None, str, bool]] = {
    "nobody": (None, "nobody", False),
    "the student": (STUDENT, "student", True),
    "another student": (OTHER, "student", False),
    "the instructor": (INSTRUCTOR, "instructor", True),
    "another instructor": (COLLEAGUE, "instructor", False),
    "the chief": (CHIEF, "chief", True),
}
"""Who looks: the name, the role by the table, and whether the first student's things are theirs."""


class Placed:
    """The school, and what addresses name: the first student's record, page lesson and person."""

    def __init__(self, folder: Path, assets: Path) -> None:
        self.app = school_app(folder, assets)
        self.browsers = {who: browser(self.app, name) for who, (name, _, _) in LOOKERS.items()}
        with self.app.state.desk.book.reading() as session:
            from chalkwing.book import people

            self.student = people.person(session, STUDENT).id
            self.persons = {
                who: people.person(session, name).id for who, (name, _, _) in LOOKERS.items() if name
            }
        self.file = a_file(folder, "solo.csv", "time,altitude\n0,3\n")
        self.desk = self.app.state.desk.records.on_desk(FIRST, who="the desk").id

    def handed_in(self, who: str) -> str:
        """A lesson that ``who`` handed in and nobody entered."""
        shelf = self.app.state.desk.shelf
        kept = shelf.vault.take(self.file)
        files = [StoredFile(kept.sha256, "solo.csv", kept.size)]
        return str(shelf.put(files, airplane=None, standard="commercial", by=self.persons[who]).id)

    def address(self, name: str, of: Of, who: str) -> str:
        """The address of a route for what is the first student's, or was handed in by ``who``'s own side."""
        path = name.split(" ", 1)[1]
        owner = who if LOOKERS[who][2] and LOOKERS[who][0] else "the student"
        named = {
            Of.DESK: self.desk,
            Of.HANDED_IN: self.handed_in(owner) if of is Of.HANDED_IN else "",
            Of.STUDENT: self.student,
            Of.PERSON: self.student,
        }.get(of, 1)
        path = path.replace("{id:int}", str(named)).replace("{id}", str(named)).replace("{n:int}", "1")
        return path.replace("{place:int}", "1").replace("/assets", "/assets/none.js")


@pytest.fixture(scope="module")
def placed(tmp_path_factory: pytest.TempPathFactory) -> Placed:
    # Without the lifespan of the application: nothing here waits for a process.
    return Placed(tmp_path_factory.mktemp("school"), tmp_path_factory.mktemp("assets"))


@pytest.fixture
def fresh(tmp_path: Path) -> Placed:
    """A school in which nothing was signed yet."""
    for name in ("school", "assets"):
        (tmp_path / name).mkdir()
    return Placed(tmp_path / "school", tmp_path / "assets")


def refused(answer: Any) -> bool:
    """Whether the gate stopped it: what a route itself makes of an empty body is another matter."""
    if answer.status_code in (401, 303) and "sign-in" in answer.headers.get("location", "sign-in"):
        return answer.status_code == 303 or "nobody is signed in" in answer.text
    return answer.status_code == 403 and "not yours" in answer.text


_WAITS = {"GET /ground-lesson/plan", "GET /ground-lesson/card.pdf", "GET /ground-lesson/briefing.json"}
"""They have a process work for seconds; asked for what is no maneuver they answer at once."""


@pytest.mark.parametrize("who", LOOKERS)
@pytest.mark.parametrize("name", sorted(TABLE))
def test_every_route_answers_each_role_as_the_table_says(placed: Placed, name: str, who: str) -> None:
    row, method = TABLE[name], name.split(" ")[0]
    _, role, theirs = LOOKERS[who]
    may = getattr(row, role)
    expected = may is YES or (may is OWN and theirs)
    if row.of is Of.TAUGHT and who == "the chief":
        expected = False  # the lesson has its instructor: nobody else signs it
    if name == "POST /sign-out" and expected:
        pytest.skip("it would end the sign-in that the other tests use; test_accounts signs out")
    url = placed.address(name, row.of, who)
    url += "?maneuver=none" if name in _WAITS else ""
    answer = placed.browsers[who].send(method, url, None if method == "GET" else {})
    assert refused(answer) != expected, (answer.status_code, answer.text[:200])
    assert answer.status_code != 500


@pytest.mark.parametrize("who", [who for who in LOOKERS if who != "nobody"])
def test_attempts_of_others_are_neither_compared_nor_offered(placed: Placed, who: str) -> None:
    theirs, at = LOOKERS[who][2], placed.browsers[who]
    for path in ("/compare", "/compare.json"):
        answer = at.client.get(f"{path}?attempt={placed.desk}:1")
        assert refused(answer) != theirs, (path, answer.status_code)
    chosen = {"attempt": [f"{FIRST}:1", f"{placed.desk}:1"]}
    assert refused(at.post("/compare", chosen)) != theirs
    assert refused(at.client.get(f"/compare?kind=lazy_eight&student={placed.student}")) != theirs
    offered = at.load("/compare?kind=lazy_eight").text
    assert (f"· {STUDENT}" in offered) == theirs
    # The other student is assigned to the other instructor.
    assert (f"· {OTHER}" in offered) == (who in ("the chief", "another student", "another instructor"))


def test_every_route_has_its_row_and_no_row_is_left_over(placed: Placed) -> None:
    assert names_of(placed.app.routes) == set(TABLE)


def test_a_route_without_a_row_is_refused_to_everybody(placed: Placed) -> None:
    async def secret(_request: object) -> PlainTextResponse:
        return PlainTextResponse("secret")

    placed.app.router.routes.insert(0, Route("/forgotten", secret))
    try:
        assert names_of(placed.app.routes) != set(TABLE)
        for who, at in placed.browsers.items():
            answer = at.client.get("/forgotten", follow_redirects=False)
            assert answer.status_code == (401 if who == "nobody" else 403), who
    finally:
        placed.app.router.routes.pop(0)


def test_students_write_nothing_but_notes_and_lessons_of_their_own() -> None:
    allowed = {name for name, row in TABLE.items() if row.student is not NO and not name.startswith("GET")}
    assert allowed == {
        "POST /sign-in", "POST /sign-out", "POST /account/password", "POST /invitation",
        "PUT /uploads", "POST /lessons", "DELETE /lesson/{id}", "POST /lesson/{id}/changes",
        "POST /record/{n:int}/desk", "POST /record/{n:int}/notes", "POST /compare",
    }  # fmt: skip
    assert {name for name, row in TABLE.items() if row.nobody is not NO} == {
        "GET /assets", "GET /sign-in", "POST /sign-in", "GET /invitation", "POST /invitation",
    }  # fmt: skip


def names_in(at: Browser, url: str) -> set[str]:
    text = re.sub(r"<header.*?</header>", "", at.load(url).text, flags=re.DOTALL)
    return {name for name in (STUDENT, OTHER) if name in text}


def test_lists_hold_only_what_one_may_see(placed: Placed) -> None:
    expected = {
        "the student": {STUDENT},
        "another student": {OTHER},
        "the instructor": {STUDENT},
        "another instructor": {OTHER},
        "the chief": {STUDENT, OTHER},
    }
    for who, names in expected.items():
        at = placed.browsers[who]
        assert names_in(at, "/book/lessons") == names, who
        if "student" not in who:
            assert names_in(at, "/book") == names, who
            assert names_in(at, "/book/people") == names, who


def test_the_desk_lists_own_recordings_and_those_of_records_one_sees(placed: Placed) -> None:
    own = placed.handed_in("another student")
    shown = {who: set(re.findall(r'data-lesson="(\w+)"', _listed(at))) for who, at in _signed_in(placed)}
    assert {who for who, ids in shown.items() if own in ids} == {"another student", "the chief"}
    assert {who for who, ids in shown.items() if placed.desk in ids} == {
        "the student", "the instructor", "the chief",
    }  # fmt: skip


def _signed_in(placed: Placed) -> list[tuple[str, Browser]]:
    return [(who, at) for who, at in placed.browsers.items() if who != "nobody"]


def _listed(at: Browser) -> str:
    return str(at.client.get("/", headers={"accept": "text/html"}).text)


def test_a_student_notes_and_takes_back_own_notes_and_nothing_else(fresh: Placed) -> None:
    at, url = fresh.browsers["the student"], f"/lesson/{fresh.desk}/changes"
    at.load("/")
    for act in ("label", "drop", "override", "trim", "undo"):
        assert at.post(url, {"act": act, "undoes": 1, "kind": "lazy_eight", "at_s": 1.0}).status_code == 403
    noted = at.post(url, {"act": "note", "text": "late rudder", "at_s": 100.0, "by": CHIEF})
    assert noted.status_code == 201, noted.text
    line = at.client.get(url).json()["changes"][-1]
    assert (line["text"], line["by"]) == ("late rudder", STUDENT)
    assert at.post(url, {"act": "undo", "undoes": noted.json()["id"]}).status_code == 201


def test_who_marks_and_signs_is_whoever_is_signed_in(fresh: Placed) -> None:
    at = fresh.browsers["the instructor"]
    at.load("/book")
    mark = {"maneuver": 1, "step": "alone", "instructor": CHIEF}
    assert at.post("/record/1/marks", mark).status_code == 201
    assert at.post("/record/1/signature", {"instructor": CHIEF}).status_code == 201
    colleague = fresh.browsers["another instructor"]
    colleague.load("/book")
    assert colleague.post(f"/record/{SECOND}/signature", {}).status_code == 201  # solo, and assigned
    with fresh.app.state.desk.book.reading() as session:
        from chalkwing.book import lessons

        first, second = lessons.lesson(session, FIRST), lessons.lesson(session, SECOND)
        assert [each.instructor.name for each in first.marks] == [INSTRUCTOR]
        assert [each.instructor.name for each in first.sign_offs] == [INSTRUCTOR]
        assert [each.instructor.name for each in second.sign_offs] == [COLLEAGUE]
    student = fresh.browsers["the student"]
    student.load("/")
    late = student.post("/record/1/notes", {"text": "after the signature"})
    assert late.status_code == 409


def test_nobody_makes_a_lesson_of_a_recording_that_others_sent(placed: Placed) -> None:
    sender, thief = placed.browsers["the student"], placed.browsers["another student"]
    sender.load("/")
    thief.load("/")
    sent = sender.client.put(
        "/uploads?name=a.csv", content=b"time\n1\n", headers={"x-chalkwing-token": sender.token}
    )
    order = {"files": [sent.json()], "standard": "commercial"}
    assert thief.post("/lessons", order).status_code == 400


def test_an_instructor_enters_no_lesson_of_anothers_student(placed: Placed) -> None:
    at = placed.browsers["the instructor"]
    at.load("/book")
    lesson = placed.handed_in("the instructor")
    answer = at.post(f"/lesson/{lesson}/record", {"student": OTHER, "instructor": INSTRUCTOR})
    assert answer.status_code == 403
    assert "assigned" in answer.text
