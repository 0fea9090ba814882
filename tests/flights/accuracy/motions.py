"""Reconstructed flights, kept on disk: finder and judge are measured over and over on the same Motions.

What is kept is known by the recording, the airplane sheet and the code of the rooms that a Motion comes from:
a change to the estimator makes it anew, a change to the finder does not.
"""

from __future__ import annotations

import hashlib
import inspect
import pickle
from functools import cache
from pathlib import Path

from tests.flights.accuracy.recorders import Recorder

import chalkwing
from chalkwing.trunk import Reconstructions, reconstructions

ROOMS = (
    "units.py", "unit_text.py", "toml_files.py", "air.py", "earth.py",
    "conditions", "dynamics", "airplane", "recordings", "motion",
)  # fmt: skip
"""What a Motion comes from, besides the function of the trunk that has it made."""


def motions_of(folder: Path, recorder: Recorder, *, airplane: str, kept: Path) -> Reconstructions:
    """What the trunk makes of a lesson's recording, from the folder ``kept`` if it was made before."""
    recording, sheet = folder / recorder.file, recorder.sheet(airplane)
    mark = hashlib.sha256(_code().encode() + recording.read_bytes())
    mark.update(b"" if sheet is None else sheet.read_bytes())
    file = kept / f"{folder.name}.{recorder.name}.{mark.hexdigest()[:16]}.pickle"
    if file.exists():
        with file.open("rb") as opened:
            before: Reconstructions = pickle.load(opened)
        return before
    made = reconstructions(recording, airplane=sheet)
    kept.mkdir(parents=True, exist_ok=True)
    draft = file.with_suffix(".part")
    with draft.open("wb") as opened:
        pickle.dump(made, opened)
    draft.replace(file)
    return made


@cache
def _code() -> str:
    digest = hashlib.sha256(inspect.getsource(reconstructions).encode())
    package = Path(chalkwing.__file__).parent
    for room in ROOMS:
        path = package / room
        for file in sorted(path.rglob("*")) if path.is_dir() else [path]:
            if file.suffix in (".py", ".toml"):
                digest.update(file.read_bytes())
    return digest.hexdigest()
