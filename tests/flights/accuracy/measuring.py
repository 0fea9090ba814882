"""One lesson through the trunk with one recorder, held against its truth: a result as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tests.flights.accuracy.course import counted
from tests.flights.accuracy.finding import Matching, account, match, told
from tests.flights.accuracy.lesson import Lesson, clock_shift, lesson_in
from tests.flights.accuracy.motions import motions_of
from tests.flights.accuracy.recorders import Recorder
from tests.flights.accuracy.states import Compared
from tests.flights.accuracy.unmeant import flown_all_the_same
from tests.flights.accuracy.verdicts import Truth, compare
from tests.flights.truth import TruthManeuver

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.find import Occurrence, can_find, find_together
from chalkwing.judge import judge
from chalkwing.maneuvers import Definition, definitions, standard
from chalkwing.motion import Motion, reconstruct
from chalkwing.recordings import flights, read

Result = dict[str, Any]
STANDARD = "commercial"


def findable() -> dict[str, Definition]:
    return {kind: each for kind, each in definitions().items() if can_find(each)}


def measure(folder: Path, recorder: Recorder, *, kept: Path) -> Result:
    """Read, reconstruct, find and judge as the trunk does, and compare each step with the truth.

    Reconstructed flights are taken from the folder ``kept`` or left there.
    """
    lesson = lesson_in(folder)
    done = motions_of(folder, recorder, airplane=lesson.airplane, kept=kept)
    (recording,) = {id(each): each for each, _ in done.recordings}.values()
    shift = clock_shift(lesson, recording, recorder.file)
    motions = [each.motion for each in done.flights]
    compared = [Compared(lesson, motion, shift) for motion in motions]
    known = findable()
    found = list(zip(motions, find_together(motions, known.values()), strict=True))
    matching = match(lesson, counted(lesson, [one for _, several in found for one in several]), shift)
    return {
        "flight": lesson.name,
        "airplane": lesson.airplane,
        "controller": lesson.flight.controller,
        "recorder": recorder.name,
        "hours": sum(motion.end - motion.start for motion in motions) / 3600,
        "flights_in_recording": len(motions),
        "clock_shift": shift,
        "maneuvers": len(lesson.flight.maneuvers),
        "tallies": _summed([each.tallies() for each in compared]),
        "eights": [eight for each in compared for eight in each.eights()],
        "finding": account(matching, shift),
        "verdicts": _verdicts(lesson, found, _found_for(matching), shift, known, done.sheet),
    }


def _found_for(matching: Matching) -> dict[int, TruthManeuver]:
    """Complete maneuvers by the identity of what was found for them."""
    return {id(it): one for one, it in matching.pairs if one.status == "complete"}


def _verdicts(
    lesson: Lesson,
    found: Sequence[tuple[Motion, Sequence[Occurrence]]],
    flown: dict[int, TruthManeuver],
    shift: float,
    known: dict[str, Definition],
    sheet: AirplaneSheet | None,
) -> list[Result]:
    """Every element of every complete maneuver that was found, judged with the trunk's own seeds."""
    held_to = standard(STANDARD)
    records: list[Result] = []
    for motion, occurrences in found:
        truth = Truth(lesson, known, held_to, motion.altitude_kind)
        for k, occurrence in enumerate(occurrences):
            if id(occurrence) in flown:
                judgement = judge(
                    motion, occurrence, known[occurrence.kind], held_to,
                    sheet=sheet, earlier=occurrences[:k], seed=k,
                )  # fmt: skip
                maneuver = flown[id(occurrence)]
                edges = {
                    "start_error": occurrence.start + shift - maneuver.start,
                    "end_error": occurrence.end + shift - maneuver.end,
                }
                records += [record | edges for record in compare(truth, maneuver, judgement)]
    return records


def _summed(several: list[dict[str, dict[str, float]]]) -> dict[str, dict[str, float]]:
    first, *others = several
    return {
        name: {part: value + sum(each[name][part] for each in others) for part, value in tallied.items()}
        for name, tallied in first.items()
    }


def ordinary(folder: Path, recorder: Recorder, *, kept: Path) -> Result:
    """A flight without maneuvers: how long it lasted, and what was found in it all the same."""
    airplane = folder.name.split("_")[1]
    done = motions_of(folder, recorder, airplane=airplane, kept=kept)
    known = findable().values()
    lesson = lesson_in(folder)
    (recording,) = {id(each): each for each, _ in done.recordings}.values()
    shift = clock_shift(lesson, recording, recorder.file)
    together = find_together([each.motion for each in done.flights], known)
    found = [one for several in together for one in several]
    return {
        "flight": folder.name,
        "airplane": airplane,
        "controller": folder.name.split("_")[2],
        "recorder": recorder.name,
        "hours": sum(each.motion.end - each.motion.start for each in done.flights) / 3600,
        "false": [told(one, shift) for one in found if not flown_all_the_same(one, lesson, shift)],
    }


def loosened(folder: Path, recorder: Recorder, factor: float) -> Result:
    """Wind with the prior on thrust minus drag loosened by ``factor``."""
    lesson = lesson_in(folder)
    (recording,) = read(folder / recorder.file)
    shift = clock_shift(lesson, recording, recorder.file)
    path = recorder.sheet(lesson.airplane)
    sheet = load_sheet(path) if path else None
    tallies = [
        Compared(lesson, reconstruct(recording, flight=flight, sheet=sheet, loosen=factor), shift).tallies()
        for flight in flights(recording)
    ]
    return {
        "flight": lesson.name,
        "recorder": recorder.name,
        "factor": factor,
        "tallies": _summed(tallies),
    }
