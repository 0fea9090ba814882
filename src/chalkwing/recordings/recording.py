"""The Recording: what came off the airplane or the phone, in canonical channels, with its faults noted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
import polars as pl

from chalkwing.errors import UnknownName
from chalkwing.recordings.channels import KINDS, Datum
from chalkwing.units import Floats


@dataclass(frozen=True)
class Note:
    """Something the reader assumed, repaired, left out or could not tell; ``line`` where it has one."""

    message: str
    line: int | None = None
    channel: str | None = None

    def __str__(self) -> str:
        head = f"line {self.line}: " if self.line is not None else ""
        return f"{head}{self.message}"


@dataclass(frozen=True)
class Channel:
    """How a canonical channel came to be: the column it was read from and how finely it was recorded.

    ``rate`` is the median rate of *new* values [1/s]; ``resolution`` the smallest step seen [SI unit],
    0 when no step can be told; ``sure`` is False when the match to the column was a guess (a note says so).
    """

    name: str
    source: str
    rate: float
    resolution: float = 0.0
    sure: bool = True
    datum: Datum = "unknown"
    origin: str = "measured"


@dataclass(frozen=True)
class Gap:
    """A stretch without rows, longer than a few usual intervals [s from the first row]."""

    start: float
    end: float


@dataclass(frozen=True)
class Recording:
    """One recorded stretch of time in canonical channels.

    ``table`` holds a strictly increasing Float64 column ``time`` [s] and one Float64 column per channel, SI
    and radians, null where that row has no new value of the channel. Time counts from the first row; of
    recordings opened together, from the earliest row of them all. ``start_utc`` is the UTC of time zero.
    """

    table: pl.DataFrame
    channels: Mapping[str, Channel]
    source: str
    reader: str
    sha256: str
    rows: int
    start_utc: datetime | None = None
    notes: tuple[Note, ...] = ()
    gaps: tuple[Gap, ...] = ()
    parts: tuple[Recording, ...] = field(default=(), repr=False)
    """The recordings this one was joined from; empty for a recording read from one file."""

    def __contains__(self, name: object) -> bool:
        return name in self.channels

    @property
    def time(self) -> Floats:
        """Time of each row [s from the first row], shape (rows,)."""
        return self.table["time"].to_numpy()

    @property
    def duration(self) -> float:
        """Time from first to last row [s]."""
        return float(self.table["time"][-1] - self.table["time"][0]) if self.table.height else 0.0

    def samples(self, name: str) -> tuple[Floats, Floats]:
        """Times [s] and values [SI] of the rows that hold a value of channel ``name``."""
        if name not in self.channels:
            return np.empty(0), np.empty(0)
        present = self.table.select("time", name).drop_nulls().drop_nans()
        return present["time"].to_numpy(), present[name].to_numpy()

    def without(self, names: Iterable[str]) -> Recording:
        """The same recording with some channels withheld; refuses names that are no channel at all."""
        withheld = set(names)
        for name in withheld:
            if name not in KINDS:
                raise UnknownName(kind="channel", name=name, known=KINDS)
        kept = {name: channel for name, channel in self.channels.items() if name not in withheld}
        return replace(self, channels=kept, table=self.table.select("time", *kept))

    def between(self, start: float, end: float) -> Recording:
        """The rows with ``start <= time <= end``; times keep their origin."""
        table = self.table.filter(pl.col("time").is_between(start, end))
        gaps = tuple(gap for gap in self.gaps if gap.end > start and gap.start < end)
        return replace(self, table=table, gaps=gaps, rows=table.height)
