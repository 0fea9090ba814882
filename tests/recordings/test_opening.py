from __future__ import annotations

import gzip
import io
import zipfile
from pathlib import Path

import numpy as np
import pytest
from tests.recordings.frames import transmitted
from tests.recordings.known import START, agrees, as_gpx, as_igc, as_kml_track, as_nmea, known_flight

from chalkwing.errors import ChalkwingError, UndecidedRecording, UnknownName, UnreadableRecording
from chalkwing.recordings import read
from chalkwing.recordings.registry import readers

KNOWN = known_flight()
FORMS = {
    "IGC": as_igc(KNOWN),
    "NMEA 0183": as_nmea(KNOWN),
    "GPX": as_gpx(KNOWN),
    "KML": as_kml_track(KNOWN),
    "Mode S frames": "\n".join(f"{time:.3f},{text}" for time, text in transmitted(KNOWN)).encode(),
}


def put(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("suffix", [".jpg", ".csv", "", ".igc.gz"])
def test_the_form_is_told_by_content_whatever_the_suffix(tmp_path, form, suffix):
    (recording,) = read(put(tmp_path, f"lesson{suffix}", FORMS[form]))
    assert recording.reader == form
    assert recording.start_utc == START
    agrees(recording, "latitude", KNOWN, KNOWN.latitude, within=np.radians(5e-5))


@pytest.mark.parametrize("form", FORMS)
def test_one_reader_alone_is_sure_of_each_form(form):
    scores = {reader.name: reader.recognizes(FORMS[form][:65536]) for reader in readers()}
    best = scores.pop(form)
    assert best >= 0.9
    assert best > max(scores.values())


def test_packed_files(tmp_path):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("doc.kml", FORMS["KML"])
        archive.writestr("files/icon.png", b"\x89PNG\r\n" + bytes(range(256)) * 4)
    (recording,) = read(put(tmp_path, "lesson.kmz", packed.getvalue()))
    assert recording.reader == "KML"
    assert any("icon.png was left out" in note.message for note in recording.notes)
    (recording,) = read(put(tmp_path, "lesson", gzip.compress(FORMS["IGC"])))
    assert recording.reader == "IGC"


def test_one_flight_from_two_files(tmp_path):
    first = put(tmp_path, "a.igc", as_igc(KNOWN.rows(slice(0, 400))))
    second = put(tmp_path, "b.igc", as_igc(KNOWN.rows(slice(400, 779))))
    (recording,) = read(second, first)
    assert recording.rows == len(KNOWN)


def test_channels_are_withheld(tmp_path):
    (recording,) = read(put(tmp_path, "a", FORMS["GPX"]), ignore=["bank", "track"])
    assert "bank" not in recording
    assert "track" not in recording.table.columns
    with pytest.raises(UnknownName, match="no channel is called 'bnak'"):
        read(put(tmp_path, "a", FORMS["GPX"]), ignore=["bnak"])


def test_the_column_map_reaches_the_reader(tmp_path):
    lines = FORMS["Mode S frames"].decode().splitlines()
    lines += [f"{t},{text}" for t, text in transmitted(KNOWN.rows(slice(0, 50)), address=0x00C0DE)]
    path = put(tmp_path, "frames", "\n".join(lines).encode())
    (recording,) = read(path, column_map=put(tmp_path, "map.toml", b'aircraft = "00C0DE"'))
    assert recording.rows == 50
    with pytest.raises(UnreadableRecording, match="no TOML"):
        read(path, column_map=put(tmp_path, "bad.toml", b"= = ="))


PICTURE = b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8


@pytest.mark.parametrize(
    ("content", "phrase"),
    [
        (b"", "the file is empty"),
        (b" \r\n\t\n", "nothing but blanks"),
        (b"\0" * 5000, "nothing but blanks"),
        (PICTURE, "a PNG picture"),
        (b"%PDF-1.7" + bytes(range(256)), "a PDF document"),
        (b"<!DOCTYPE html><html><body>sorry</body></html>", "a web page"),
        (bytes(range(256)) * 20, "binary data"),
        (gzip.compress(PICTURE), "a PNG picture"),
    ],
)
def test_what_is_no_recording_is_named_with_what_was_tried(tmp_path, content, phrase):
    with pytest.raises(UnreadableRecording) as caught:
        read(put(tmp_path, "lesson.igc", content))
    assert phrase in str(caught.value)
    assert "lesson.igc" in str(caught.value)
    assert caught.value.next_step


def test_files_that_are_not_there(tmp_path):
    with pytest.raises(UnreadableRecording, match="cannot be opened"):
        read(tmp_path / "nothing.igc")
    with pytest.raises(UnreadableRecording, match="a folder"):
        read(tmp_path)
    with pytest.raises(UnreadableRecording, match="no file"):
        read()


def test_a_recording_that_shows_no_motion_is_refused_with_what_it_holds(tmp_path):
    # Pressure altitude alone: fixes without satellites.
    lines = ["HFDTE170524"] + [f"B09300{s}4712000N00818000EV0120000000" for s in range(10)]
    recording = put(tmp_path, "a.igc", "\n".join(lines).encode())
    with pytest.raises(UndecidedRecording, match="pressure_altitude"):
        read(recording, ignore=["latitude", "longitude"])


def test_every_refusal_is_of_the_family(tmp_path):
    with pytest.raises(ChalkwingError):
        read(put(tmp_path, "x.zip", b"PK\x03\x04 broken"))
