"""Bytes to text, whatever wrote them, and a word on bytes that are no text at all."""

from __future__ import annotations

import codecs

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_FOREIGN = (
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"RIFF", "a sound, picture or video file"),
    (b"SQLite format 3", "an SQLite database"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
    (b"Rar!", "a RAR archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"BZh", "a bzip2 archive"),
    (b"\xd0\xcf\x11\xe0", "an office document"),
    (b"PAR1", "a Parquet table"),
)
_CONTROL = bytes(set(range(32)) - {9, 10, 12, 13, 26, 27})


def decoded(data: bytes) -> str:
    """The text of ``data``: by its byte-order mark, else UTF-8, else Latin-1, which never fails."""
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.decode(encoding, errors="replace")
    if len(data) >= 4 and data[1:4:2] == b"\0\0" and data[0]:
        return data.decode("utf-16-le", errors="replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def lines_of(data: bytes) -> list[str]:
    """The lines of ``data`` without their ends; line ``k`` of the file is item ``k - 1``."""
    return decoded(data).replace("\r\n", "\n").replace("\r", "\n").split("\n")


def is_binary(head: bytes) -> bool:
    """Whether these bytes are unlikely to be text of any encoding."""
    if any(head.startswith(mark) for mark, _ in _MARKS) or not head:
        return False
    if head[1:4:2] == b"\0\0":
        return False
    controls = len(head) - len(head.translate(None, _CONTROL))
    return controls > len(head) // 50


def foreign_kind(head: bytes) -> str | None:
    """What a file that is no recording seems to be instead, by its first bytes; None if that is unknown."""
    for mark, kind in _FOREIGN:
        if head.startswith(mark):
            return kind
    start = head.lstrip()[:200].lower()
    if start.startswith((b"<!doctype html", b"<html")):
        return "a web page"
    return "binary data" if is_binary(head) else None
