"""Accounts on both databases: passwords, sign-ins that end, tries that are slowed, invitations, the log."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from sqlalchemy import select, update
from tests.book.conftest import book, place, server, template  # noqa: F401 - fixtures on both databases
from tests.book.school import CHIEF, STUDENT, WHO
from tests.web.school_server import CHEAP, PASSWORD, RULES, browser, school_app

from chalkwing.book import Book, people
from chalkwing.book.accounts import audit, entry, store
from chalkwing.book.accounts.entry import Rules
from chalkwing.book.accounts.passwords import Hasher
from chalkwing.book.accounts.store import Doer
from chalkwing.book.accounts.tables import Account, RefusedTry, SignIn
from chalkwing.book.columns import now
from chalkwing.cli import main
from chalkwing.errors import BookTrouble, RefusedRequest

HASHER, BY = Hasher(CHEAP), Doer(WHO)
OTHER_PASSWORD = "seven slow barges pass"


@pytest.fixture
def opened(book: Book) -> Book:  # noqa: F811
    with book.writing() as session:
        account = store.made_for(session, people.person(session, STUDENT), by=BY)
        store.set_password(session, account, PASSWORD, hasher=HASHER, by=BY)
    return book


def enter(book: Book, password: str = PASSWORD, *, name: str = STUDENT, rules: Rules = RULES) -> Any:  # noqa: F811
    return entry.sign_in(book, name=name, password=password, address="192.0.2.7", rules=rules, hasher=HASHER)


def test_a_password_opens_and_a_sign_in_ends_by_rest_age_and_closing(opened: Book) -> None:
    secret, one = enter(opened, name="  mina  ORLO ")
    assert (one.name, one.roles) == (STUDENT, frozenset({"student"}))

    def known(rules: Rules = RULES) -> bool:
        with opened.reading() as session:
            return entry.viewer(session, secret, rules) is not None

    assert known()
    for column, limit in ((SignIn.seen, RULES.idle), (SignIn.begun, RULES.lasts)):
        with opened.writing() as session:
            session.execute(update(SignIn).values({column.key: now() - limit}))
        assert not known()
        with opened.writing() as session:
            session.execute(update(SignIn).values({column.key: now()}))
        assert known()
    with opened.writing() as session:
        store.close(session, store.named(session, STUDENT), by=BY)
    assert not known()
    with pytest.raises(RefusedRequest, match="do not go together"):
        enter(opened)
    with opened.writing() as session:
        store.reopen(session, store.named(session, STUDENT), by=BY)
    assert not known()
    enter(opened)


def test_another_password_signs_out_everywhere(opened: Book) -> None:
    secret, _ = enter(opened)
    with opened.writing() as session:
        store.set_password(session, store.named(session, STUDENT), OTHER_PASSWORD, hasher=HASHER, by=BY)
    with opened.reading() as session:
        assert entry.viewer(session, secret, RULES) is None
    with pytest.raises(RefusedRequest):
        enter(opened)
    enter(opened, OTHER_PASSWORD)


def test_no_secret_is_kept_readable(opened: Book) -> None:
    secret, _ = enter(opened)
    with opened.writing() as session:
        link = store.invite(session, store.named(session, STUDENT), lasts=timedelta(days=1), by=BY)
    with opened.reading() as session:
        hashed = session.scalars(select(Account.password)).one()
        kept = [*session.scalars(select(SignIn.digest)), *[repr(each) for each in audit.lines(session)]]
    assert hashed is not None
    assert hashed.startswith("$argon2id$")
    assert not any(each in line for each in (secret, link, PASSWORD) for line in [hashed, *kept])


def test_tries_wait_longer_and_longer_and_the_same_for_names_that_are_not_known(opened: Book) -> None:
    for name in (STUDENT, "Nobody Here"):
        said = set()
        for _ in range(RULES.free_tries):
            with pytest.raises(RefusedRequest) as refusal:
                enter(opened, "wrong", name=name)
            said.add((refusal.value.status, str(refusal.value)))
        assert {status for status, _ in said} == {401}
        assert len(said) == 1
        with pytest.raises(RefusedRequest) as refusal:
            enter(opened, PASSWORD, name=name)
        assert refusal.value.status == 429
    with opened.writing() as session:
        session.execute(update(RefusedTry).values(until=now()))
    enter(opened)  # the right password, once its time has come
    with opened.reading() as session:
        key = f"name:{store.digest(store.folded(STUDENT))}"
        assert session.get(RefusedTry, key) is None


def test_an_address_is_slowed_whatever_the_names(opened: Book) -> None:
    rules = Rules(cost=CHEAP, free_tries_of_address=4)
    for k in range(4):
        with pytest.raises(RefusedRequest):
            enter(opened, "wrong", name=f"Name {k}", rules=rules)
    with pytest.raises(RefusedRequest) as refusal:
        enter(opened, rules=rules)
    assert refusal.value.status == 429


def test_many_tries_at_once_are_counted_one_by_one(opened: Book) -> None:
    def once(_k: int) -> int:
        try:
            enter(opened, "wrong")
        except RefusedRequest as error:
            return error.status
        return 200

    with ThreadPoolExecutor(8) as pool:
        found = sorted(pool.map(once, range(16)))
    # A second may pass while they run, and let one more through.
    assert RULES.free_tries <= found.count(401) <= RULES.free_tries + 2
    assert found.count(429) == 16 - found.count(401)


def test_an_invitation_works_once_and_not_too_late(opened: Book) -> None:
    with opened.writing() as session:
        account = store.made_for(session, people.person(session, CHIEF), by=BY)
        first = store.invite(session, account, lasts=timedelta(days=1), by=BY)
        second = store.invite(session, account, lasts=timedelta(days=1), by=BY)
    for link in (first, "made up"):
        with opened.writing() as session, pytest.raises(BookTrouble, match="works no more"):
            store.accept(session, link, PASSWORD, hasher=HASHER, address="x")
    with opened.writing() as session:
        store.accept(session, second, PASSWORD, hasher=HASHER, address="x")
    with opened.writing() as session, pytest.raises(BookTrouble, match="works no more"):
        store.accept(session, second, OTHER_PASSWORD, hasher=HASHER, address="x")
    enter(opened, name=CHIEF)
    with opened.writing() as session:
        old = store.invite(session, store.named(session, CHIEF), lasts=timedelta(0), by=BY)
    with opened.writing() as session, pytest.raises(BookTrouble, match="works no more"):
        store.accept(session, old, OTHER_PASSWORD, hasher=HASHER, address="x")
    with opened.writing() as session, pytest.raises(BookTrouble, match="only chief"):
        store.close(session, store.named(session, CHIEF), by=BY)


@pytest.mark.parametrize("weak", ["short", "a" * 40, "Mina Orlo Mina Orlo", "chalkwing chalkwing", "x" * 300])
def test_weak_passwords_are_refused(opened: Book, weak: str) -> None:
    with opened.writing() as session, pytest.raises(BookTrouble, match=r"letters|guessed"):
        store.set_password(session, store.named(session, STUDENT), weak, hasher=HASHER, by=BY)


def test_a_hash_of_another_cost_is_made_anew_at_the_next_sign_in(opened: Book) -> None:
    dearer = Hasher(RULES.cost.__class__(passes=2, memory=16, lanes=1))
    with opened.reading() as session:
        before = session.scalars(select(Account.password)).one()
    entry.sign_in(opened, name=STUDENT, password=PASSWORD, address="192.0.2.7", rules=RULES, hasher=dearer)
    with opened.reading() as session:
        after = session.scalars(select(Account.password)).one()
    assert after != before
    assert after is not None
    assert not dearer.is_old(after)


# --- By the pages ---


@pytest.fixture
def app(tmp_path: Path) -> Iterator[Any]:
    (tmp_path / "assets").mkdir()
    made = school_app(tmp_path / "desk", tmp_path / "assets")
    yield made
    made.state.desk.book.close()


@pytest.fixture(autouse=True)
def _desk_folder(tmp_path: Path) -> None:
    (tmp_path / "desk").mkdir(exist_ok=True)


def test_signing_in_leads_back_and_signing_out_ends_it(app: Any) -> None:
    at = browser(app)
    assert at.client.get("/record/1", headers={"accept": "text/html"}).url.path == "/sign-in"
    at.load()
    answer = at.post("/sign-in", {"name": STUDENT, "password": PASSWORD, "then": "/record/1"})
    assert answer.json() == {"url": "/record/1"}
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    assert at.load("/record/1").status_code == 200
    assert STUDENT in at.load("/").text
    kept = dict(at.client.cookies)
    assert at.post("/sign-out", {}).status_code == 200
    for name, value in kept.items():
        at.client.cookies.set(name, value, domain="127.0.0.1")
    assert at.client.get("/record/1").status_code == 401


def test_a_link_elsewhere_is_not_followed(app: Any) -> None:
    at = browser(app)
    for then in ("//elsewhere.example/", "https://elsewhere.example", "/\\elsewhere.example"):
        answer = at.post("/sign-in", {"name": STUDENT, "password": PASSWORD, "then": then})
        assert answer.json() == {"url": "/"}
        at.load()


def test_behind_tls_cookies_are_never_sent_without_it(tmp_path: Path) -> None:
    (tmp_path / "assets").mkdir()
    app = school_app(tmp_path / "desk", tmp_path / "assets", address="https://127.0.0.1:8765")
    at = browser(app, base="https://127.0.0.1:8765")
    answer = at.post("/sign-in", {"name": STUDENT, "password": PASSWORD})
    assert answer.headers["set-cookie"].startswith("__Host-chalkwing-sign-in=")
    assert "Secure" in answer.headers["set-cookie"]
    app.state.desk.book.close()


def test_a_page_opened_before_signing_in_writes_nothing_after_it(app: Any) -> None:
    at = browser(app)
    old = at.token
    at.sign_in(STUDENT)
    assert at.token != old
    at.token = old
    assert at.post("/record/1/notes", {"text": "from an old page"}).status_code == 403


def test_the_chief_invites_closes_assigns_and_reads_the_log(app: Any) -> None:
    chief = browser(app, CHIEF)
    assert chief.post("/book/people", {"name": "Ivar Moe", "roles": ["student"]}).status_code == 201
    link = chief.post("/accounts", {"name": "Ivar Moe"}).json()["link"]
    address, secret = link.split("#")
    assert address.endswith("/invitation")
    new = browser(app)
    assert new.load("/invitation").status_code == 200
    assert new.post("/invitation", {"link": secret, "new_password": "short"}).status_code == 422
    assert new.post("/invitation", {"link": secret, "new_password": PASSWORD}).status_code == 200
    assert "Ivar Moe" in new.load("/account").text
    wrong = {"password": "not this one at all", "new_password": OTHER_PASSWORD}
    assert new.post("/account/password", wrong).status_code == 401
    right = {"password": PASSWORD, "new_password": OTHER_PASSWORD}
    assert new.post("/account/password", right).status_code == 200
    assert new.load("/account").status_code == 200
    pair = {"student": "Ivar Moe", "instructor": CHIEF}
    assert chief.post("/assignments", pair).status_code == 200
    assert "teaches Ivar Moe" in chief.load("/accounts").text
    assert chief.post("/assignments", {**pair, "act": "end"}).status_code == 200
    with app.state.desk.book.reading() as session:
        number = store.named(session, "Ivar Moe").id
    assert chief.post(f"/accounts/{number}", {"act": "close"}).status_code == 200
    assert new.client.get("/account").status_code == 401
    assert chief.load("/record/1").status_code == 200
    log = chief.load("/audit").text
    for act in ("account made", "invited", "password set", "signed in", "account closed", "viewed", "wrote"):
        assert act in log, act


def test_refusals_stand_in_the_log(app: Any) -> None:
    student = browser(app, STUDENT)
    assert student.client.get("/record/2").status_code == 403
    with app.state.desk.book.reading() as session:
        newest = audit.lines(session, newest=1)[0]
    assert (newest.who, newest.act, newest.subject) == (STUDENT, "refused", "GET /record/2")


def test_commands_make_list_close_and_log(tmp_path: Path) -> None:
    place_ = ["--book", str(tmp_path / "ours")]

    def run(*arguments: str, given: str | None = None) -> Any:
        return CliRunner().invoke(main, ["book", *arguments, *place_], input=given)

    made = run("account", "Runa Vik", "--chief", "--password-stdin", given=f"{PASSWORD}\n")
    assert made.exit_code == 0, made.output
    assert PASSWORD not in made.output
    asked = run("account", "Runa Vik", given=f"{OTHER_PASSWORD}\n{OTHER_PASSWORD}\n")
    assert asked.exit_code == 0, asked.output
    assert OTHER_PASSWORD not in asked.output
    assert "Runa Vik (chief): open, never seen" in run("accounts").output
    assert run("account", "Runa Vik", "--close").exit_code == 2  # the only chief
    assert run("account", "Tove Lind", "--password-stdin", given=PASSWORD).exit_code == 2
    assert run("account", "Runa Vik", "--password-stdin", given="short\n").exit_code == 2
    lines = run("log", "--format", "json").output
    assert '"act": "password set"' in lines
    assert '"address": "command line"' in lines
