"""Whether a file may be written."""

from __future__ import annotations

import os
from pathlib import Path

from chalkwing.cli.refusal import Refused


def refuse_unwritable(path: Path, *, overwrite: bool) -> None:
    """Refuse a path that may not be written, before any work is done for it."""
    if path.exists() and not overwrite:
        raise Refused(f"{path}: it exists already. Choose another name, or add --overwrite to replace it.")
    if not path.parent.is_dir():
        raise Refused(f"{path.parent}: there is no such folder. Create it first, or choose another name.")
    if not os.access(path.parent, os.W_OK):
        raise Refused(f"{path.parent}: nothing may be written in that folder. Choose another.")
