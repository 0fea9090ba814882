"""The README's first look from a real run: ``python -m tests.cli.readme_look`` writes it anew."""

from __future__ import annotations

import re
from pathlib import Path

from click.testing import CliRunner

from chalkwing.cli import main

PAGE = Path(__file__).parent.parent.parent / "README.md"
CUT = "[…]"


def demo_page() -> str:
    done = CliRunner().invoke(main, ["demo", "lesson"], catch_exceptions=False, env={"COLUMNS": "80"})
    return "\n".join(line.rstrip() for line in done.stdout.splitlines())


def shortened(page: str) -> str:
    """The head, one steep turn, the judged part of one lazy eight, and the end."""
    turn = page[page.index("\n3  Steep turn") : page.index("\n4  Lazy eight")]
    eight = page[page.index("\n5  Lazy eight") : page.index("\n6  Chandelle")]
    parts = (
        page[page.index("Debrief of") : page.index("\n1  Clearing turns")],
        turn,
        eight[: eight.index("   point")],
        page[page.index("A training aid.") :],
    )
    return f"\n\n{CUT}\n\n".join(part.strip("\n") for part in parts)


def with_look(readme: str, look: str) -> str:
    return re.sub(r"```\nDebrief of.*?\n```", lambda _: f"```\n{look}\n```", readme, flags=re.DOTALL)


if __name__ == "__main__":
    PAGE.write_text(with_look(PAGE.read_text(encoding="utf-8"), shortened(demo_page())), encoding="utf-8")
