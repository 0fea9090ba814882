"""A real browser on a real server: where both come from, and what a test needs of them."""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Page

from chalkwing.errors import UnfinishedWork
from chalkwing.web.app import create_app
from chalkwing.web.assets import built_assets
from chalkwing.web.settings import Settings

WEB = Path(__file__).parents[2] / "web"
SHOTS = Path(__file__).parents[2] / ".screenshots"
_PROGRAMS = ("chromium", "chromium-browser", "google-chrome")


def missing(what: str) -> None:
    """Skip where a user's machine lacks it; where everything is checked it must be there."""
    if os.environ.get("CI"):
        pytest.fail(what)
    pytest.skip(what)


def chromium() -> str:
    """The browser's program."""
    found = next((path for name in _PROGRAMS if (path := shutil.which(name))), None)
    if found is None:
        missing("no Chromium here: apt-get install chromium")
    assert found is not None
    return found


def built() -> None:
    """The pages' scripts."""
    try:
        built_assets()
    except UnfinishedWork as error:
        missing(str(error))


def axe() -> str:
    """The script of axe-core, which npm brings for development."""
    path = WEB / "node_modules" / "axe-core" / "axe.min.js"
    if not path.is_file():
        missing("axe-core is not installed: npm ci in web/")
    return path.read_text(encoding="utf-8")


@contextmanager
def served(folder: Path, settings: Settings | None = None) -> Iterator[str]:
    """The address of a server over ``folder``, in a thread of its own."""
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    server = uvicorn.Server(
        uvicorn.Config(create_app(settings or Settings(folder=folder)), log_level="warning")
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.05)
    yield f"http://127.0.0.1:{listening.getsockname()[1]}/"
    server.should_exit = True
    thread.join(10.0)


def shot(page: Page, name: str) -> None:
    SHOTS.mkdir(exist_ok=True)
    page.screenshot(path=SHOTS / f"{name}.png", full_page=True)


def sound(page: Page) -> list[str]:
    """What axe finds serious or critical, by rule and element."""
    page.evaluate(axe())
    found = page.evaluate(
        "axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})"
    )
    return [
        f"{each['id']}: {node['target']} {node['failureSummary']}"
        for each in found["violations"]
        if each["impact"] in ("serious", "critical")
        for node in each["nodes"]
    ]
