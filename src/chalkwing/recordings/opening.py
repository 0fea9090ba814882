"""The way in: files on disk to recordings, whatever their form and however many."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path

from chalkwing.errors import ChalkwingError, UndecidedRecording, UnknownName, UnreadableRecording
from chalkwing.recordings.build import with_notes
from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.containers import MAX_FILE, Member, unpacked
from chalkwing.recordings.joining import joined
from chalkwing.recordings.recording import Note, Recording
from chalkwing.recordings.registry import read_bytes

_MAX_MAP = 1 << 20
_MOTION = (
    ("latitude", "longitude"),
    ("velocity_north", "velocity_east"),
    ("ground_speed", "track"),
    ("bank", "pitch"),
)
"""A flight can be reconstructed from any one of these pairs, well or badly; from less it cannot."""


def read(
    *paths: Path | str,
    column_map: Path | None = None,
    ignore: Iterable[str] = (),
    zone: str | None = None,
) -> tuple[Recording, ...]:
    """Read files and return one Recording for each continuous recorder, after joining.

    Files of one recorder that follow one another are put end to end; recordings of one flight by two
    recorders are aligned by the motion itself and merged. What was done is in the notes, and ``parts`` holds
    the recordings joined. Times of all recordings returned count from the earliest row of them all, where
    their dates are known.

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

    Raises
    ------
    UnreadableRecording
        A file is missing, empty, damaged beyond use or in no known form.
    UndecidedRecording
        A file can be read but holds neither position, velocity nor attitude, or no times.
    UnknownName
        ``ignore`` names something that is no channel.
    """
    withheld = tuple(ignore)
    for name in withheld:
        if name not in KINDS:
            raise UnknownName(kind="channel", name=name, known=KINDS)
    if not paths:
        raise UnreadableRecording("no file was given.", next_step="Name at least one recording.")
    column_words = dict(_column_map(column_map))
    if zone is not None:
        column_words["zone"] = zone
    found: list[Recording] = []
    for path in paths:
        found += _read_file(Path(path), column_words or None)
    usable = [recording.without(set(withheld)) for recording in found]
    for recording in usable:
        _require_motion(recording, alone=len(usable) == 1)
    return joined(usable)


def _read_file(path: Path, column_map: Mapping[str, object] | None) -> list[Recording]:
    members = unpacked(_content(path), name=path.name)
    found: list[Recording] = []
    refusals: list[tuple[Member, ChalkwingError]] = []
    for member in members:
        try:
            recording = read_bytes(member.data, source=member.name, column_map=column_map)
        except (UnreadableRecording, UndecidedRecording) as error:
            refusals.append((member, error))
        else:
            found.append(with_notes(recording, member.notes))
    if not found:
        raise _refused(path, refusals)
    if refusals:
        skipped = tuple(Note(f"{member.name} was left out: {error.what}") for member, error in refusals)
        found[0] = with_notes(found[0], skipped)
    return found


def _refused(path: Path, refusals: list[tuple[Member, ChalkwingError]]) -> ChalkwingError:
    if len(refusals) == 1:
        return refusals[0][1]
    listed = "".join(f"\n  {member.name}: {error.what}" for member, error in refusals[:10])
    return UnreadableRecording(
        f"none of the {len(refusals)} files in it is a recording that can be used:{listed}\n",
        where=path.name,
        next_step="Give the file as the recorder wrote it.",
    )


def _content(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise UnreadableRecording(
                "this is a folder.", where=str(path), next_step="Name the recordings in it, one by one."
            )
        size = path.stat().st_size
        if size > MAX_FILE:
            raise UnreadableRecording(
                f"the file has {size // 2**20} MB; the limit is {MAX_FILE // 2**20} MB.",
                where=str(path),
                next_step="Cut out the flight you mean.",
            )
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise UnreadableRecording(
            f"the file cannot be opened ({reason}).", where=str(path), next_step="Check its name and place."
        ) from error


def _column_map(path: Path | None) -> Mapping[str, object]:
    if path is None:
        return {}
    content = _content(Path(path))
    try:
        if len(content) > _MAX_MAP:
            raise ValueError("it is far too large")
        return tomllib.loads(content.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        raise UnreadableRecording(
            f"the column map is no TOML file ({error}).",
            where=str(path),
            next_step='Write lines such as: aircraft = "ABCDEF".',
        ) from error


def _require_motion(recording: Recording, *, alone: bool) -> None:
    if any(first in recording and second in recording for first, second in _MOTION):
        return
    held = ", ".join(recording.channels) or "nothing that is known"
    companion = "" if alone else " Each file must hold one of these by itself."
    raise UndecidedRecording(
        "it holds neither position, velocity nor attitude, so no maneuver can be told from it "
        f"(it holds: {held}).",
        where=recording.source,
        next_step="Give the recording of the GPS or of the attitude display." + companion,
    )
