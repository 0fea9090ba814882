"""The file that is handed out: whole in itself, able to reach nothing, with every maneuver in it."""

from __future__ import annotations

import base64
import hashlib
import json
import re

import pytest

from chalkwing.paper import debrief_html, handout
from chalkwing.trunk import Debriefed

SCRIPT, STYLE = "void '</script>';", "body { color: black; }"


@pytest.fixture(scope="module")
def page(flown_lesson: Debriefed, tmp_path_factory: pytest.TempPathFactory) -> str:
    """With a script and a style of the test's own: nothing needs to be built for it."""
    folder = tmp_path_factory.mktemp("dist")
    (folder / "handout.js").write_text(SCRIPT, encoding="utf-8")
    (folder / "handout.css").write_text(STYLE, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(handout, "bundle_folder", lambda: folder)
        return debrief_html(flown_lesson).decode()


def test_its_policy_allows_only_what_stands_in_it(page) -> None:
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]+)"', page)
    assert policy is not None
    said = policy[1].replace("&#39;", "'")
    assert said.startswith("default-src 'none';")
    assert "unsafe" not in said
    assert "http" not in said
    for tag, source in (("script", "script-src"), ("style", "style-src")):
        inside = re.search(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        assert inside is not None
        digest = base64.b64encode(hashlib.sha256(inside[1].encode()).digest()).decode()
        assert f"{source} 'sha256-{digest}'" in said


def test_it_asks_for_nothing_outside_itself(page) -> None:
    assert not re.findall(r'(?:src|href)="(?!#)[^"]*"', page)
    addresses = set(re.findall(r"https?://[^\s\"<>]+", page))
    assert addresses <= {"http://www.w3.org/2000/svg"}  # the name of SVG itself, which is never fetched


def test_it_holds_every_maneuver_with_its_columns(flown_lesson, page) -> None:
    blocks = re.findall(r'<script type="application/json" data-flown>(.*?)</script>', page, re.DOTALL)
    assert len(blocks) == len(flown_lesson.debrief.maneuvers)
    for block, maneuver in zip(blocks, flown_lesson.debrief.maneuvers, strict=True):
        told = json.loads(block)
        columns = told["columns"]
        assert len({len(column) for column in columns.values()}) == 1
        # A column at a point says what the JSON says, but for rounding and a quarter second.
        point = maneuver.points[1]
        rows = [k for k, time in enumerate(columns["time_s"]) if time <= point.t_s - told["start_s"]]
        assert abs(columns["airspeed_kt"][rows[-1]] - point.airspeed_kt.value) < 2.0
    assert flown_lesson.debrief.caution.replace("'", "&#39;") in page


def test_every_verdict_stands_in_words(flown_lesson, page) -> None:
    rows = re.findall(r'<td class="verdict">.*?</span>([a-z ]+)<', page)
    said = {"met": "met", "not_met": "not met", "cannot_tell": "cannot tell"}
    judged = [each for m in flown_lesson.debrief.maneuvers for each in m.elements if each.verdict]
    assert rows == [said[each.verdict] for each in judged]
