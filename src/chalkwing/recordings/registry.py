"""All readers, and which of them a file's content calls for."""

from __future__ import annotations

from collections.abc import Mapping

from chalkwing.errors import UndecidedRecording, UnreadableRecording
from chalkwing.recordings import adsb_frames, gpx, igc, kml, nmea, text
from chalkwing.recordings.reader import HEAD_SIZE, Reader
from chalkwing.recordings.recording import Recording

FAINTEST = 0.1
"""Below this confidence a reader is not asked to try."""
CERTAIN = 0.95
"""At this confidence the readers that come after are not asked at all."""


def readers() -> tuple[Reader, ...]:
    """Every reader, in the order in which equal confidence is settled."""
    from chalkwing.recordings.delimited import READER as DELIMITED

    return (igc.READER, gpx.READER, kml.READER, nmea.READER, adsb_frames.READER, DELIMITED)


def candidates(head: bytes) -> list[Reader]:
    """The readers that recognize these first bytes, surest first."""
    scored: list[tuple[float, int, Reader]] = []
    for rank, reader in enumerate(readers()):
        scored.append((reader.recognizes(head), -rank, reader))
        if scored[-1][0] >= CERTAIN:
            break
    likely = sorted((entry for entry in scored if entry[0] >= FAINTEST), key=lambda e: e[:2], reverse=True)
    return [reader for _, _, reader in likely]


def read_bytes(data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
    """One unpacked file as a Recording, by the reader that its content calls for.

    Raises
    ------
    UnreadableRecording
        No reader knows the form, or none that does can use the file.
    UndecidedRecording
        Readable, but without what every use needs.
    """
    if not data.strip(b"\0 \t\r\n"):
        raise UnreadableRecording(
            "the file is empty." if not data else "the file holds nothing but blanks.",
            where=source,
            next_step="Copy it from the recorder again.",
        )
    head = data[:HEAD_SIZE]
    refusal: UnreadableRecording | UndecidedRecording | None = None
    for reader in candidates(head):
        try:
            return reader.read(data, source=source, column_map=column_map)
        except (UnreadableRecording, UndecidedRecording) as error:
            # The surest reader's reason is the one that helps.
            refusal = refusal or error
    raise refusal or _unknown_form(head, source)


def _unknown_form(head: bytes, source: str) -> UnreadableRecording:
    kind = text.foreign_kind(head)
    seems = f"it seems to be {kind}" if kind else "its content fits none of the forms known"
    tried = ", ".join(reader.name for reader in readers())
    return UnreadableRecording(
        f"this is not a recording that can be read: {seems} (tried: {tried}).",
        where=source,
        next_step="Give the file as the recorder wrote it, or a gzip or zip of it.",
    )
