"""A school's server over an invented school, and its people's browsers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient
from tests.book.school import CHIEF, INSTRUCTOR, OTHER, STUDENT, WHO, add_lesson, enroll_all
from tests.web.conftest import ADDRESS, some_assets

from chalkwing.book import Book, assignments, people
from chalkwing.book.accounts import store
from chalkwing.book.accounts.entry import Rules
from chalkwing.book.accounts.passwords import Cost, Hasher
from chalkwing.book.accounts.store import Doer
from chalkwing.web.app import create_app
from chalkwing.web.settings import School, Settings

COLLEAGUE = "Sif Dahl"
PEOPLE = (STUDENT, OTHER, INSTRUCTOR, COLLEAGUE, CHIEF)
PASSWORD = "four quiet geese land"
CHEAP = Cost(passes=1, memory=8, lanes=1)
"""Hashes for tests: the cost is what takes time."""
RULES = Rules(cost=CHEAP)


@dataclass
class Browser:
    """One browser, with the token of the page it has open."""

    client: TestClient
    token: str = ""

    def load(self, url: str = "/sign-in") -> Any:
        answer = self.client.get(url, headers={"accept": "text/html"})
        found = re.search(r'name="chalkwing-token" content="([0-9a-f]+)"', answer.text)
        self.token = found[1] if found else self.token
        return answer

    def send(self, method: str, url: str, plain: Any = None) -> Any:
        return self.client.request(
            method, url, json=plain, headers={"x-chalkwing-token": self.token}, follow_redirects=False
        )

    def post(self, url: str, plain: Any) -> Any:
        return self.send("POST", url, plain)

    def sign_in(self, name: str, password: str = PASSWORD) -> Any:
        self.load()
        answer = self.post("/sign-in", {"name": name, "password": password})
        self.load()
        return answer


def furnish(book: Book, folder: Path) -> None:
    """People with accounts; a lesson of each student, the first's with the instructor, the other's solo."""
    enroll_all(book)
    hasher = Hasher(CHEAP)
    with book.writing() as session:
        people.enroll(session, COLLEAGUE, roles=["instructor"], certificate="2222222", who=WHO)
        for name in PEOPLE:
            account = store.made_for(session, people.person(session, name), by=Doer(WHO))
            store.set_password(session, account, PASSWORD, hasher=hasher, by=Doer(WHO))
    add_lesson(book, folder, "time,altitude\n0,1\n")
    add_lesson(book, folder, "time,altitude\n0,2\n", student=OTHER, instructor=None)
    with book.writing() as session:
        pair = people.person(session, OTHER), people.person(session, COLLEAGUE)
        assignments.assign(session, *pair, who=WHO)


def school_app(folder: Path, assets: Path, *, rules: Rules = RULES, address: str | None = None) -> Any:
    app = create_app(
        Settings(folder=folder, school=School(address=address, rules=rules)), assets=some_assets(assets)
    )
    furnish(app.state.desk.book, folder)
    return app


def browser(app: Any, name: str | None = None, *, base: str = ADDRESS) -> Browser:
    """A browser in which ``name`` is signed in, or nobody."""
    opened = Browser(TestClient(app, base_url=base))
    if name is None:
        opened.load()
    else:
        assert opened.sign_in(name).status_code == 200, name
    return opened
