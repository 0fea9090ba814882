from __future__ import annotations

import gzip
import io
import random
import zipfile

import pytest

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings.containers import MAX_MEMBERS, unpacked

TEXT = "\n".join(f"{i},{i * i % 977}" for i in range(5000)).encode()


def zipped(files: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", method) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return packed.getvalue()


def test_plain_files_pass_through():
    (member,) = unpacked(TEXT, name="log.csv")
    assert member.data == TEXT
    assert member.name == "log.csv"


@pytest.mark.parametrize("name", ["log.gz", "log.csv", "log"])
def test_gzip_is_told_by_content(name):
    (member,) = unpacked(gzip.compress(TEXT), name=name)
    assert member.data == TEXT


def test_gzip_of_several_pieces_and_trailing_zeros():
    (member,) = unpacked(gzip.compress(TEXT[:100]) + gzip.compress(TEXT[100:]) + b"\0" * 512, name="log.gz")
    assert member.data == TEXT
    assert not member.notes


def test_zip_gives_every_file_but_clutter():
    data = zipped(
        {"a.gpx": b"first", "__MACOSX/._a.gpx": b"x", "sub/b.igc": b"second", "sub/.DS_Store": b"x"}
    )
    assert [(m.name, m.data) for m in unpacked(data, name="both.zip")] == [
        ("both.zip: a.gpx", b"first"),
        ("both.zip: sub/b.igc", b"second"),
    ]


def test_archives_within_archives():
    data = zipped({"inner.csv.gz": gzip.compress(TEXT), "inner.zip": zipped({"log": b"deep"})})
    assert [member.data for member in unpacked(data, name="outer.zip")] == [TEXT, b"deep"]
    for _ in range(4):
        data = gzip.compress(data)
    with pytest.raises(UnreadableRecording, match="nested"):
        unpacked(data, name="outer.zip")


def test_cut_off_gzip_yields_what_came_before():
    packed = gzip.compress(TEXT)
    (member,) = unpacked(packed[: len(packed) // 2], name="log.gz")
    assert TEXT.startswith(member.data)
    assert len(member.data) > 0.3 * len(TEXT)
    assert "ends early" in member.notes[0].message


def test_corrupted_gzip_yields_what_came_before():
    packed = bytearray(gzip.compress(TEXT))
    middle = len(packed) // 2
    packed[middle : middle + 40] = random.Random(1).randbytes(40)
    (member,) = unpacked(bytes(packed), name="log.gz")
    assert member.data[: len(TEXT) // 4] == TEXT[: len(TEXT) // 4]
    assert "damaged" in member.notes[0].message


def test_gzip_with_nothing_left_is_refused():
    with pytest.raises(UnreadableRecording, match="nothing in it can be read"):
        unpacked(gzip.compress(TEXT)[:8], name="log.gz")


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
def test_zip_without_its_directory_is_walked(method):
    data = zipped({"a.gpx": TEXT, "b.gpx": TEXT[::-1]}, method)
    cut = data[: data.index(b"PK\x01\x02")]
    members = unpacked(cut, name="both.zip")
    assert [member.data for member in members] == [TEXT, TEXT[::-1]]
    assert "recovered" in members[0].notes[0].message


def test_zip_cut_off_within_a_file():
    data = zipped({"a.gpx": TEXT})
    (member,) = unpacked(data[: len(data) // 2], name="a.zip")
    assert TEXT.startswith(member.data)
    assert len(member.data) > 0.3 * len(TEXT)


def test_zip_with_nothing_left_is_refused():
    for data in (b"PK\x03\x04", b"PK\x03\x04" + b"\xff" * 60, zipped({})):
        with pytest.raises(UnreadableRecording):
            unpacked(data, name="a.zip")


def test_bombs_are_not_unpacked():
    bomb = gzip.compress(b"\0" * (80 << 20))
    assert len(bomb) < 100_000
    with pytest.raises(UnreadableRecording, match="unpacking stopped"):
        unpacked(bomb, name="bomb.gz")
    with pytest.raises(UnreadableRecording, match="unpacking stopped"):
        unpacked(zipped({"bomb": b"\0" * (80 << 20)}), name="bomb.zip")
    many = zipped({f"{i}.gpx": b"x" for i in range(MAX_MEMBERS + 1)})
    with pytest.raises(UnreadableRecording, match="more than"):
        unpacked(many, name="many.zip")


def test_locked_zip_is_refused():
    data = bytearray(zipped({"a.gpx": TEXT}))
    data[data.index(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(UnreadableRecording, match="password"):
        unpacked(bytes(data), name="a.zip")
