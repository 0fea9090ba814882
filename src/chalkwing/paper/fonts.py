"""The one font of everything printed."""

from __future__ import annotations

from functools import cache
from pathlib import Path


@cache
def fonts() -> Path:
    """The folder of Source Sans, which its own package brings along (SIL Open Font License)."""
    import font_source_sans_pro

    return Path(font_source_sans_pro.font_directory)
