"""Gzip and zip: unpacked in memory, within bounds, by content and not by suffix."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings.recording import Note

MAX_FILE = 512 * 1024 * 1024
"""No file may be larger, packed or unpacked [bytes]: five hours of 100 columns at 16 rows/s are 250 MB."""
MAX_MEMBERS = 200
MAX_RATIO = 300
FREE_RATIO_BELOW = 16 * 1024 * 1024
"""Small files may compress as well as they like; a bomb is large as well as dense [bytes]."""
MAX_DEPTH = 3
_FEED = 512
_GZIP, _ZIP, _LOCAL_HEADER = b"\x1f\x8b", b"PK", b"PK\x03\x04"


@dataclass(frozen=True)
class Member:
    """One file's content: the file itself, or what an archive held."""

    name: str
    data: bytes
    notes: tuple[Note, ...] = ()


@dataclass
class _Budget:
    """What all members of one file together may still unpack to."""

    left: int = MAX_FILE
    members: int = MAX_MEMBERS


def unpacked(data: bytes, *, name: str) -> tuple[Member, ...]:
    """The files inside ``data``; ``data`` itself when it is not packed.

    A damaged archive yields what can still be unpacked, with a note.

    Raises
    ------
    UnreadableRecording
        Nothing can be unpacked, it is encrypted, or it unpacks to more than is reasonable.
    """
    return tuple(_members(Member(name, data), depth=0, budget=_Budget()))


def _members(member: Member, *, depth: int, budget: _Budget) -> Iterator[Member]:
    packed = member.data.startswith(_GZIP) or member.data.startswith((_LOCAL_HEADER, b"PK\x05\x06"))
    if not packed:
        yield member
        return
    if depth == MAX_DEPTH:
        raise UnreadableRecording(
            f"archives are nested more than {MAX_DEPTH} deep.",
            where=member.name,
            next_step="Unpack it and give the recording itself.",
        )
    inner = [_gunzipped(member, budget)] if member.data.startswith(_GZIP) else _unzipped(member, budget)
    for each in inner:
        yield from _members(each, depth=depth + 1, budget=budget)


def _gunzipped(member: Member, budget: _Budget) -> Member:
    pieces: list[bytes] = []
    at, size, fault = 0, 0, ""
    while member.data.startswith(_GZIP, at) and not fault:
        engine = zlib.decompressobj(wbits=31)
        try:
            for piece, used in _inflated(engine, member.data, at):
                pieces.append(piece)
                size += len(piece)
                at = used
                _check_size(size, len(member.data), member.name, budget)
            fault = "" if engine.eof else "it ends early"
        except zlib.error as error:
            fault = str(error)
    budget.left -= size
    content = b"".join(pieces)
    if fault and not content:
        raise UnreadableRecording(
            "the gzip file is damaged and nothing in it can be read.",
            where=member.name,
            next_step="Copy it from the recorder again.",
        )
    note = Note(f"the gzip file is damaged ({fault}); what came before was read.")
    return Member(member.name, content, (*member.notes, note) if fault else member.notes)


def _inflated(engine: zlib._Decompress, data: bytes, start: int) -> Iterator[tuple[bytes, int]]:
    """What comes out of ``data`` from ``start``, with the position reached.

    Fed in small pieces, because a fault loses all that would come out of the piece it lies in.
    """
    for begin in range(start, len(data), _FEED):
        fed = data[begin : begin + _FEED]
        out = engine.decompress(fed)
        yield out, begin + len(fed) - len(engine.unused_data)
        if engine.eof:
            return


def _check_size(size: int, packed: int, name: str, budget: _Budget) -> None:
    dense = size > FREE_RATIO_BELOW and size > MAX_RATIO * packed
    if dense or size > budget.left:
        raise UnreadableRecording(
            f"unpacking stopped: it grew beyond {size // 2**20} MB from {packed / 2**20:.1f} MB.",
            where=name,
            next_step="No recording of a flight is that large; if it is one, unpack it first and split it.",
        )


def _unzipped(member: Member, budget: _Budget) -> list[Member]:
    try:
        with zipfile.ZipFile(io.BytesIO(member.data)) as archive:
            return _listed(archive, member, budget)
    except (zipfile.BadZipFile, struct.error, ValueError, OSError, NotImplementedError, OverflowError):
        # The directory at the end is gone or wrong; the members themselves may still be whole.
        found = _walked(member, budget)
    if not found:
        raise UnreadableRecording(
            "the zip file is damaged and nothing in it can be read.",
            where=member.name,
            next_step="Copy it again, or unpack it with a repair tool.",
        )
    return found


def _listed(archive: zipfile.ZipFile, member: Member, budget: _Budget) -> list[Member]:
    found: list[Member] = []
    faults: list[Note] = list(member.notes)
    for info in archive.infolist():
        if info.is_dir() or _is_clutter(info.filename):
            continue
        _count(budget, member.name)
        if info.flag_bits & 0x1:
            raise UnreadableRecording(
                f"{info.filename} in it is locked with a password.",
                where=member.name,
                next_step="Unpack it and give the recording itself.",
            )
        content, fault = _member_content(archive, info, member.name, budget)
        if fault:
            faults.append(
                Note(f"{info.filename} in the zip file is damaged ({fault}); what came before was read.")
            )
        if content:
            found.append(Member(f"{member.name}: {info.filename}", content, tuple(faults)))
            faults = list(member.notes)
    if not found:
        raise UnreadableRecording(
            "the zip file holds nothing that can be read.",
            where=member.name,
            next_step="Copy it again, or unpack it and give the recording itself.",
        )
    return found


def _member_content(
    archive: zipfile.ZipFile, info: zipfile.ZipInfo, name: str, budget: _Budget
) -> tuple[bytes, str]:
    pieces: list[bytes] = []
    size, fault = 0, ""
    packed = max(info.compress_size, 1)
    try:
        with archive.open(info) as stream:
            while piece := stream.read(4096):
                pieces.append(piece)
                size += len(piece)
                _check_size(size, packed, name, budget)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError) as error:
        fault = str(error) or "it ends early"
    budget.left -= size
    return b"".join(pieces), fault


def _walked(member: Member, budget: _Budget) -> list[Member]:
    """Members found by their local headers, stored or deflated."""
    data, found, at = member.data, [], member.data.find(_LOCAL_HEADER)
    while at >= 0 and at + 30 <= len(data):
        _count(budget, member.name)
        method, packed, name_size, extra_size = struct.unpack_from("<8xH8xI4xHH", data, at)
        begin = at + 30 + name_size + extra_size
        name = data[at + 30 : at + 30 + name_size].decode("utf-8", errors="replace")
        content, used = _raw_content(data[begin:], method, packed, member.name, budget)
        if content and not _is_clutter(name):
            note = Note("the zip file is damaged; this part of it was recovered.")
            found.append(Member(f"{member.name}: {name}", content, (*member.notes, note)))
        at = data.find(_LOCAL_HEADER, begin + max(used, 0))
    return found


def _raw_content(data: bytes, method: int, packed: int, name: str, budget: _Budget) -> tuple[bytes, int]:
    if method == 0:
        content = data[:packed]
        budget.left -= len(content)
        return content, len(content)
    if method != 8:
        return b"", packed
    engine, pieces, size, at = zlib.decompressobj(wbits=-15), [], 0, 0
    try:
        for piece, used in _inflated(engine, data, 0):
            pieces.append(piece)
            size += len(piece)
            at = used
            _check_size(size, max(packed, len(data)), name, budget)
    except zlib.error:
        # What came out before the fault is still the recording's beginning.
        at = 0
    budget.left -= size
    return b"".join(pieces), at


def _count(budget: _Budget, name: str) -> None:
    budget.members -= 1
    if budget.members < 0:
        raise UnreadableRecording(
            f"it holds more than {MAX_MEMBERS} files.",
            where=name,
            next_step="Give the recordings of one flight.",
        )


def _is_clutter(name: str) -> bool:
    """Files that operating systems add to archives."""
    last = name.rsplit("/", 1)[-1]
    return (
        name.startswith("__MACOSX/") or last.startswith(".") or last.lower() in {"thumbs.db", "desktop.ini"}
    )
