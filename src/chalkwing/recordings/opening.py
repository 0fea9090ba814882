"""The way in: files on disk to recordings, whatever their form and however many."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from chalkwing.recordings.recording import Recording


def read(
    *paths: Path | str,
    column_map: Path | None = None,
    ignore: Iterable[str] = (),
    zone: str | None = None,
) -> tuple[Recording, ...]:
    """Read files and return one Recording for each continuous recorder, after joining.

    Parameters
    ----------
    paths
        Files of any known form, gzip or zip of them included; the suffix does not matter.
    column_map
        A TOML file with the user's own word on what the columns hold; overrides what is recognized.
    ignore
        Canonical channel names to withhold.
    zone
        Offset (``+02:00``) or IANA name of the zone that a log's local times are in, where the file does
        not say; readers find it as ``zone`` in their column map.
    """
    raise NotImplementedError
