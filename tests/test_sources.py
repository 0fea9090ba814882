"""The keys that docstrings and data cite resolve in ``docs/sources.md``, and nothing lies there uncited."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
KEY = re.compile(r"\[((?:[A-Z][A-Za-z]+-)*[A-Z][A-Za-z]*[A-Z0-9a-z]*(?:-[A-Z0-9]\w*)*)\]")
LISTED = re.findall(
    r"^\| \[(.+?)\]", (ROOT / "docs" / "sources.md").read_text(encoding="utf-8"), re.MULTILINE
)


def _cited() -> dict[str, str]:
    """Keys on lines that speak of a source, with the file that cites them."""
    found = {}
    for path in sorted((ROOT / "src").rglob("*")):
        if path.suffix in {".py", ".toml"}:
            for line in path.read_text(encoding="utf-8").splitlines():
                if re.search(r"Sources?:", line):
                    found.update(dict.fromkeys(KEY.findall(line.split("ource", 1)[1]), path.name))
    return found


def test_every_cited_key_is_listed() -> None:
    cited = _cited()
    assert len(cited) > 5
    assert {key: where for key, where in cited.items() if key not in LISTED} == {}


def test_every_listed_key_is_listed_once_and_cited() -> None:
    assert len(LISTED) == len(set(LISTED))
    text = "".join(
        path.read_text(encoding="utf-8")
        for path in sorted((ROOT / "src").rglob("*"))
        if path.suffix in {".py", ".toml"}
    )
    assert [key for key in LISTED if f"[{key}]" not in text] == []
