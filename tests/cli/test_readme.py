"""The README: its commands are the ones that are checked, and its first look shows what a run shows."""

from __future__ import annotations

import re
from pathlib import Path

from tests.cli.readme_look import PAGE, demo_page, shortened

ROOT = Path(__file__).parent.parent.parent
INSTALL, TEST = "python -m pip install uv", "python -m uv run pytest"


def shape(text: str) -> list[str]:
    """The words of each line: a tuned estimate may move a digit, or a line break, of the printed look."""
    return re.findall(r"[A-Za-z]{2,}", text)


def test_the_first_look_is_that_of_a_run():
    look = re.search(r"```\n(Debrief of.*?)\n```", PAGE.read_text(encoding="utf-8"), flags=re.DOTALL)
    assert look is not None
    assert shape(look[1]) == shape(shortened(demo_page())), "run: python -m tests.cli.readme_look"


def test_its_commands_are_those_that_a_fresh_checkout_is_checked_with():
    readme = PAGE.read_text(encoding="utf-8")
    assert f"    {INSTALL} && python -m uv run --no-dev chalkwing demo\n    {INSTALL} && {TEST}\n" in readme
    assert f"\n{TEST.replace('python', 'python3', 1)}\n" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
