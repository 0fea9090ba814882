"""Writing a file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A temporary path beside ``path`` that takes its name only when the block ends without an error."""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    except OSError as error:
        # The user knows the file asked for, not the temporary one.
        error.filename = str(path)
        raise
    os.close(handle)
    temporary = Path(name)
    try:
        yield temporary
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)


def _umask() -> int:
    """What the user's files may not allow: mkstemp allows less than a file made in the usual way."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
