"""Simulated lessons as the finder would see them, and how well what was found agrees with what was flown."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl
from tests.find.kinematics import truth_table

from chalkwing.earth import LocalFrame
from chalkwing.find import Occurrence
from chalkwing.units import DEGREE, Floats

EVERY = 5  # of the truth's 20 rows a second: the 4 Hz grid of a Motion


@dataclass(frozen=True)
class Flown:
    """A maneuver as it was flown: kind, direction, edges [s], passages between parts, whether completed."""

    kind: str
    direction: str
    start: float
    end: float
    passages: tuple[float, ...]
    status: str
    share: float


@dataclass(frozen=True)
class Lesson:
    """The truth of one flight on the Motion's grid, and what was flown in it."""

    name: str
    airplane: str
    controller: str
    table: dict[str, Floats]
    flown: tuple[Flown, ...]


def lessons(folder: Path) -> Iterator[Lesson]:
    """Every lesson below ``folder``, in order of name."""
    for path in sorted(folder.rglob("truth.json")):
        yield _lesson(path.parent)


def _lesson(folder: Path) -> Lesson:
    told = json.loads((folder / "truth.json").read_text())
    rows = pl.read_parquet(folder / "truth.parquet").gather_every(EVERY)
    table = truth_table(
        time=rows["time"].to_numpy() - rows["time"][0],
        bank=rows["bank"].to_numpy(),
        pitch=rows["pitch"].to_numpy(),
        heading=np.unwrap(rows["heading_true"].to_numpy()),
        altitude=rows["pressure_altitude"].to_numpy(),
        speed=rows["calibrated_airspeed"].to_numpy(),
    )
    table |= _over_ground(rows)
    origin = float(rows["time"][0])
    flown = tuple(one for maneuver in told["maneuvers"] for one in _flown(maneuver, table, origin))
    return Lesson(folder.name, str(told["facts"].get("airplane", "")), told["controller"], table, flown)


def _over_ground(rows: pl.DataFrame) -> dict[str, Floats]:
    """Place and mean wind, where the truth holds them."""
    if "wind_mean_north" not in rows.columns:
        return {}
    latitude, longitude = rows["latitude"].to_numpy(), rows["longitude"].to_numpy()
    frame = LocalFrame(latitude=float(latitude[0]), longitude=float(longitude[0]))
    north, east = frame.to_plane(latitude, longitude)
    return {
        "position_north": np.asarray(north),
        "position_east": np.asarray(east),
        "wind_north": rows["wind_mean_north"].to_numpy(),
        "wind_east": rows["wind_mean_east"].to_numpy(),
    }


def _flown(told: dict[str, object], table: dict[str, Floats], origin: float) -> list[Flown]:
    """The maneuver; a 720 counts as two steep turns, parted where the heading has come round once."""
    parts = told["parts"]
    assert isinstance(parts, list)
    kind, direction, status = str(told["kind"]), str(told["direction"]), str(told["status"])
    starts = [float(part["start"]) - origin for part in parts]
    ends = [float(part["end"]) - origin for part in parts]
    heading = np.interp(np.array([starts[0], ends[0]]), table["time"], table["heading_true"])
    turned = abs(float(heading[1] - heading[0]))
    if kind == "steep_turn" and turned > 1.5 * 2 * np.pi:
        inside = (table["time"] >= starts[0]) & (table["time"] <= ends[0])
        progress = np.abs(table["heading_true"][inside] - heading[0])
        round_once = float(table["time"][inside][np.argmax(progress >= 2 * np.pi)])
        second = "complete" if turned > 1.85 * 2 * np.pi else "broken_off"
        return [
            Flown(kind, direction, starts[0], round_once, (), "complete", 1.0),
            Flown(kind, direction, round_once, ends[0], (), second, turned / (2 * np.pi) - 1.0),
        ]
    whole = _WHOLE.get(kind, 0.0)
    pieces = np.abs(np.diff(np.interp(np.array([*starts, ends[-1]]), table["time"], table["heading_true"])))
    share = 1.0 if status == "complete" or not whole else float(np.sum(pieces)) / whole
    return [Flown(kind, direction, starts[0], ends[-1], tuple(ends[:-1]), status, share)]


_WHOLE = {
    "steep_turn": 360 * DEGREE,
    "chandelle": 180 * DEGREE,
    "lazy_eight": 360 * DEGREE,
    "steep_spiral": 1080 * DEGREE,
    "turns_around_a_point": 360 * DEGREE,
    "clearing_turns": 180 * DEGREE,
}
"""All the turning of a complete maneuver, where it is known beforehand."""


@dataclass
class Score:
    """Counts and edge errors over many flights; edges are of complete maneuvers that were found complete."""

    hits: int = 0
    missed: int = 0
    false: int = 0
    forgiven: int = 0
    status_wrong: int = 0
    direction_wrong: int = 0

    def __post_init__(self) -> None:
        self.start_errors: list[float] = []
        self.end_errors: list[float] = []
        self.passage_errors: list[float] = []
        self.scaled: list[float] = []
        self.faults: list[str] = []

    @property
    def f1(self) -> float:
        return 2 * self.hits / max(2 * self.hits + self.missed + self.false, 1)

    def add(
        self, lesson: str, flown: Sequence[Flown], found: Sequence[Occurrence], begun: float = 0.4
    ) -> None:
        """Match what was found to what was flown: same kind, intersection over union of at least a half.

        What was given up before ``begun`` of its turning counts neither as missed nor, if found, as false.
        """
        left = list(found)
        for one in flown:
            match = next((o for o in left if o.kind == one.kind and _overlap(o, one) >= 0.5), None)
            if match is not None:
                left.remove(match)
            if one.share < begun:
                self.forgiven += 1
            elif match is None:
                self.missed += 1
                self.faults.append(f"{lesson}: missed {one}")
            else:
                self._hit(one, match)
        for extra in left:
            if any(one.share < begun and _overlap(extra, one) > 0.0 for one in flown):
                self.forgiven += 1
                continue
            self.false += 1
            self.faults.append(
                f"{lesson}: false {extra.kind} {extra.start:.0f}-{extra.end:.0f} {extra.status}"
                f" {extra.probability:.3f}"
            )

    def _hit(self, one: Flown, match: Occurrence) -> None:
        self.hits += 1
        self.status_wrong += match.status != one.status
        self.direction_wrong += match.direction != one.direction
        if one.status == match.status == "complete":
            self.start_errors.append(match.start - one.start)
            self.end_errors.append(match.end - one.end)
            self.scaled += [(match.start - one.start) / match.start_sd, (match.end - one.end) / match.end_sd]
            passed = [part.end for part in match.parts[:-1]]
            self.passage_errors += [p - q for p, q in zip(passed, one.passages, strict=True)]

    def __str__(self) -> str:
        def edge(errors: list[float]) -> str:
            size = np.abs(errors) if errors else np.array([np.nan])
            middle = np.median(errors) if errors else np.nan
            return f"{np.median(size):.1f}/{np.quantile(size, 0.9):.1f} (bias {middle:+.1f})"

        wrong = f"status wrong {self.status_wrong} direction wrong {self.direction_wrong}"
        counts = f"hits {self.hits} missed {self.missed} false {self.false} forgiven {self.forgiven}"
        scaled = np.median(np.abs(self.scaled)) if self.scaled else np.nan
        return (
            f"F1 {self.f1:.3f} {counts} {wrong}; start {edge(self.start_errors)} end {edge(self.end_errors)}"
            f" passage {edge(self.passage_errors)} s; median |error|/sd {scaled:.2f}"
        )


def _overlap(found: Occurrence, one: Flown) -> float:
    common = min(found.end, one.end) - max(found.start, one.start)
    union = max(found.end, one.end) - min(found.start, one.start)
    return max(common, 0.0) / union
