"""Whatever bytes come in, a recording or a refusal comes out: never another error."""

from __future__ import annotations

import gzip
import io
import zipfile

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.recordings.frames import transmitted
from tests.recordings.known import as_gpx, as_igc, as_kml_segments, as_kml_track, as_nmea, known_flight

from chalkwing.errors import ChalkwingError
from chalkwing.recordings import adsb_frames, flights, gpx, igc, kml, nmea
from chalkwing.recordings.containers import unpacked
from chalkwing.recordings.registry import read_bytes

KNOWN = known_flight().rows(slice(60, 130))
CLIMBING = [f"{round(v * 360):05d}" for v in KNOWN.speed]
FORMS = {
    "igc": (igc.READER, as_igc(KNOWN, extensions="I013640TAS", extension=CLIMBING)),
    "nmea": (nmea.READER, as_nmea(KNOWN)),
    "gpx": (gpx.READER, as_gpx(KNOWN)),
    "kml": (kml.READER, as_kml_track(KNOWN)),
    "segments": (kml.READER, as_kml_segments(KNOWN)),
    "frames": (adsb_frames.READER, "\n".join(f"{t:.3f},{f}" for t, f in transmitted(KNOWN)).encode()),
}
quick = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])

edits = st.lists(
    st.tuples(st.floats(0, 1), st.integers(0, 30), st.binary(max_size=12)), min_size=1, max_size=6
)


def mutated(data: bytes, changes: list[tuple[float, int, bytes]]) -> bytes:
    for place, removed, added in changes:
        at = int(place * len(data))
        data = data[:at] + added + data[at + removed :]
    return data


def survives(read) -> None:  # type: ignore[no-untyped-def]
    try:
        recording = read()
    except ChalkwingError:
        return
    assert np.all(np.diff(recording.time) > 0)
    assert recording.rows == recording.table.height >= 2
    for flight in flights(recording):
        assert flight.end > flight.start


@pytest.mark.parametrize("form", FORMS)
@quick
@given(edits)
def test_mutated_files(form, changes):
    reader, data = FORMS[form]
    survives(lambda: reader.read(mutated(data, changes), source="x"))


@pytest.mark.parametrize("form", FORMS)
@quick
@given(st.floats(0, 1), st.floats(0, 1))
def test_pieces_of_files(form, start, size):
    reader, data = FORMS[form]
    first = int(start * len(data))
    survives(lambda: reader.read(data[first : first + int(size * len(data))], source="x"))


@quick
@given(st.binary(max_size=400))
def test_random_bytes_by_every_reader(data):
    for reader, _ in FORMS.values():
        assert 0.0 <= reader.recognizes(data) <= 1.0
        survives(lambda reader=reader: reader.read(data, source="x"))
    survives(lambda: read_bytes(data, source="x"))


@quick
@given(edits, st.sampled_from(sorted(FORMS)))
def test_mutated_files_through_the_registry(changes, form):
    survives(lambda: read_bytes(mutated(FORMS[form][1], changes), source="x"))


@quick
@given(edits, st.booleans())
def test_mutated_archives(changes, zipped):
    if zipped:
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("a.igc", FORMS["igc"][1])
            archive.writestr("b.gpx", FORMS["gpx"][1])
        data = packed.getvalue()
    else:
        data = gzip.compress(FORMS["igc"][1])
    try:
        members = unpacked(mutated(data, changes), name="x")
    except ChalkwingError:
        return
    assert all(isinstance(member.data, bytes) for member in members)
