"""The first half of the trunk: every flight of all recordings, read and reconstructed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.errors import UndecidedRecording
from chalkwing.motion import Motion, reconstruct
from chalkwing.motion.estimate import Progress
from chalkwing.recordings import Recording, flights, read


@dataclass(frozen=True)
class Reconstructed:
    """One flight: its Motion, and the shift [s] that takes its clock to that of the earliest row given."""

    motion: Motion
    shift: float


@dataclass(frozen=True)
class Reconstructions:
    """All flights of all recordings, in order of time; ``refused`` says which could not be reconstructed."""

    recordings: tuple[tuple[Recording, float], ...]
    flights: tuple[Reconstructed, ...]
    refused: tuple[str, ...]
    sheet: AirplaneSheet | None


def reconstructions(
    *paths: Path | str,
    airplane: Path | str | None = None,
    ignore: Iterable[str] = (),
    column_map: Path | None = None,
    zone: str | None = None,
    progress: Progress | None = None,
) -> Reconstructions:
    """Every flight of the recordings; parameters and refusals as in :func:`chalkwing.debrief`."""
    tell = progress or silent
    sheet = load_sheet(airplane) if airplane is not None else None
    tell("reading", 0.0)
    recordings = _on_one_clock(read(*paths, column_map=column_map, ignore=tuple(ignore), zone=zone))
    airborne = [(each, shift, flight) for each, shift in recordings for flight in flights(each)]
    if not airborne:
        raise UndecidedRecording(
            "no flight in it: nothing moves fast enough to be airborne.",
            where=", ".join(each.source for each, _ in recordings),
            next_step="Give the file that was recorded in the air.",
        )
    done: list[Reconstructed] = []
    refused: list[UndecidedRecording] = []
    for k, (recording, shift, flight) in enumerate(airborne):
        part = _share(tell, k, len(airborne))
        try:
            motion = reconstruct(recording, flight=flight, sheet=sheet, progress=part)
        except UndecidedRecording as error:
            refused.append(error)
        else:
            done.append(Reconstructed(motion, shift))
    if not done:
        raise refused[0]
    done.sort(key=lambda each: each.motion.start + each.shift)
    return Reconstructions(recordings, tuple(done), tuple(str(error) for error in refused), sheet)


def _on_one_clock(recordings: Iterable[Recording]) -> tuple[tuple[Recording, float], ...]:
    """Each recording with its shift [s] to the earliest start; without a date its own start is 0."""
    found = tuple(recordings)
    starts = [each.start_utc for each in found if each.start_utc is not None]
    if not starts:
        return tuple((each, 0.0) for each in found)
    earliest = min(starts)
    return tuple(
        (each, (each.start_utc - earliest).total_seconds() if each.start_utc else 0.0) for each in found
    )


def _share(tell: Progress, index: int, count: int) -> Progress:
    """The progress of one flight among ``count``, as progress of the whole."""
    called = f" (flight {index + 1} of {count})" if count > 1 else ""
    return lambda what, fraction: tell(what + called, (index + fraction) / count)


def silent(what: str, fraction: float) -> None:
    """Progress that nobody watches."""
