"""The pages over a folder of their own, and short recordings to hand in."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright
from starlette.testclient import TestClient
from tests.web.browser import built, chromium

from chalkwing.errors import UnfinishedWork
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson
from chalkwing.web.app import create_app
from chalkwing.web.assets import Assets, built_assets
from chalkwing.web.settings import Settings

ADDRESS = "http://127.0.0.1:8765"
PATIENCE = 300.0


@dataclass(frozen=True)
class Visitor:
    """A browser's side of the server, with the token of the page it has open."""

    client: TestClient
    token: str

    def put(self, name: str, content: bytes, **headers: str) -> Any:
        sent = {"x-chalkwing-token": self.token, **headers}
        return self.client.put("/uploads", params={"name": name}, content=content, headers=sent)

    def post(self, url: str, plain: Any, **headers: str) -> Any:
        return self.client.post(url, json=plain, headers={"x-chalkwing-token": self.token, **headers})

    def page(self, url: str) -> Any:
        return self.client.get(url, headers={"accept": "text/html"})

    def lesson(self, *files: tuple[str, bytes], airplane: str | None = None) -> str:
        """Hand recordings in and wait until the lesson is worked out; its address."""
        stored = [self.put(name, content).json() for name, content in files]
        opened = self.post("/lessons", {"files": stored, "airplane": airplane, "standard": "commercial"})
        assert opened.status_code == 201, opened.text
        url: str = opened.json()["url"]
        state = self.worked_out(url)
        assert state["state"] == "done", state
        return url

    def worked_out(self, url: str) -> dict[str, Any]:
        """Wait for the end of the work on a lesson."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            state: dict[str, Any] = self.client.get(f"{url}/progress").json()
            if state["state"] != "working":
                return state
            time.sleep(0.1)
        raise AssertionError("the work on a lesson did not end")


def visitor(client: TestClient) -> Visitor:
    text = client.get("/").text
    found = re.search(r'name="chalkwing-token" content="([0-9a-f]+)"', text)
    assert found
    return Visitor(client, found[1])


def some_assets(folder: Path) -> Assets:
    """The built pages where they are built, else none: what the server does is the same."""
    try:
        return built_assets()
    except UnfinishedWork:
        (folder / "manifest.json").write_text(json.dumps({}), encoding="utf-8")
        return Assets(folder)


@pytest.fixture(scope="session")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    folder = tmp_path_factory.mktemp("desk")
    app = create_app(Settings(folder=folder), assets=some_assets(tmp_path_factory.mktemp("assets")))
    with TestClient(app, base_url=ADDRESS) as client:
        yield visitor(client)


@pytest.fixture(scope="session")
def recording() -> bytes:
    """Five minutes with two steep turns in them, as a panel records them."""
    _, text = record(fly_lesson(0), "avionics", seed=0)
    lines = text.splitlines(keepends=True)
    head = next(k for k, line in enumerate(lines) if line.startswith("2026"))
    return "".join(lines[: head + 300]).encode()


@pytest.fixture(scope="session")
def lesson(desk: Visitor, recording: bytes) -> str:
    """The address of a lesson of that recording."""
    return desk.lesson(("steep turns.csv", recording))


# --- A real browser ---


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    program = chromium()
    built()
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page at 1024×768 on which any error of a script, or a refused resource, fails the test."""
    context = browser.new_context(viewport={"width": 1024, "height": 768}, color_scheme="light")
    context.add_init_script("localStorage.setItem('chalkwing-who', 'Tomas Vell')")
    opened = context.new_page()
    wrong: list[str] = []
    opened.on("pageerror", lambda error: wrong.append(str(error)))
    opened.on("console", lambda message: wrong.append(message.text) if _is_wrong(message) else None)
    opened.set_default_timeout(20_000)
    yield opened
    context.close()
    assert not wrong


def _is_wrong(message: ConsoleMessage) -> bool:
    """Any error but that of a change refused, which the page tells itself."""
    return message.type == "error" and "status of 422" not in message.text
