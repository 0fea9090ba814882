"""Many measurements by a few processes, each kept as a file, so that a run can be broken off and resumed."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
import sys
import time
import traceback
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import chalkwing

NICE = 10


@dataclass(frozen=True)
class Job:
    """One thing to measure: ``what`` is "lesson", "ordinary", "prior", "whole" or "baits"."""

    what: str
    folder: Path
    recorder: str
    results: Path
    factor: float = 1.0

    @property
    def file(self) -> Path:
        loosened = f"x{self.factor:g}" if self.what == "prior" else ""
        return self.results / self.what / f"{self.recorder}{loosened}" / f"{self.folder.name}.json"


def run(jobs: Sequence[Job], *, processes: int) -> list[dict[str, Any]]:
    """Results of all jobs; those already there for this very code and this very recording are kept."""
    begun = time.perf_counter()
    results = []
    for number, result in enumerate(_each(jobs, processes), start=1):
        results.append(result)
        what = result.get("error") or ""
        took = time.perf_counter() - begun
        sys.stderr.write(
            f"{number}/{len(jobs)} {took:.0f} s {result['recorder']} {result['flight']} {what}\n"
        )
    return sorted(results, key=lambda result: str(result["flight"]))


def _each(jobs: Sequence[Job], processes: int) -> Iterator[dict[str, Any]]:
    if processes == 1:
        yield from map(do, jobs)
        return
    with multiprocessing.get_context("spawn").Pool(processes, initializer=os.nice, initargs=(NICE,)) as pool:
        yield from pool.imap_unordered(do, jobs)


def do(job: Job) -> dict[str, Any]:
    """The job's result, measured now unless it is there already."""
    from tests.flights.accuracy.recorders import RECORDERS

    recorder = RECORDERS[job.recorder]
    mark = fingerprint(job.folder / recorder.file)
    if job.file.exists():
        kept: dict[str, Any] = json.loads(job.file.read_text())
        if kept.get("fingerprint") == mark:
            return kept
    begun = time.perf_counter()
    try:
        result = _measured(job, recorder)
    except Exception as error:  # noqa: BLE001 - one lesson that fails is a finding, not the end of the run
        result = {
            "flight": job.folder.name,
            "recorder": job.recorder,
            "error": f"{type(error).__name__}: {error}",
            "traceback": traceback.format_exc(),
        }
    result |= {"fingerprint": mark, "seconds": time.perf_counter() - begun}
    job.file.parent.mkdir(parents=True, exist_ok=True)
    draft = job.file.with_suffix(".part")
    draft.write_text(json.dumps(result))
    draft.replace(job.file)
    return result


def _measured(job: Job, recorder: Any) -> dict[str, Any]:
    from tests.flights.accuracy import measuring, whole

    kept = job.results / "motions"
    if job.what == "lesson":
        return measuring.measure(job.folder, recorder, kept=kept)
    if job.what == "whole":
        return whole.measure_whole(job.folder, recorder, kept=kept)
    if job.what == "baits":
        return whole.measure_baits(job.folder, recorder, kept=kept)
    if job.what == "ordinary":
        return measuring.ordinary(job.folder, recorder, kept=kept)
    return measuring.loosened(job.folder, recorder, job.factor)


@cache
def _code() -> str:
    """What the package and this measurement consist of, as it was when the process began."""
    digest = hashlib.sha256()
    for root in (Path(chalkwing.__file__).parent, Path(__file__).parent):
        for path in sorted(root.rglob("*")):
            if path.suffix in (".py", ".toml"):
                digest.update(path.read_bytes())
    return digest.hexdigest()


def fingerprint(recording: Path) -> str:
    """Of the code and of the recording measured with it."""
    return hashlib.sha256(_code().encode() + recording.read_bytes()).hexdigest()[:16]
