"""From a template and what it is to lay out to a PDF: one way for everything printed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from chalkwing.paper.fonts import fonts

TEMPLATES = Path(__file__).parent / "templates"


def printed(template: str, data: Mapping[str, object]) -> bytes:
    """The PDF that a template of this room makes of ``data``; the same data give the same bytes."""
    import typst

    made = typst.compile(
        TEMPLATES / template,
        font_paths=[fonts()],
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        timestamp=0,
    )
    assert isinstance(made, bytes)
    return made
