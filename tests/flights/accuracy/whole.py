"""A whole lesson, or an ordinary flight full of baits, through the trunk and held against its truth."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from tests.flights.accuracy.course import KINDS, THREE, bait
from tests.flights.accuracy.finding import Matching, account, match, told
from tests.flights.accuracy.lesson import Certain, Lesson, clock_shift, lesson_in, truth_motion
from tests.flights.accuracy.measuring import findable
from tests.flights.accuracy.motions import motions_of
from tests.flights.accuracy.recorders import Recorder
from tests.flights.accuracy.unmeant import unmeant
from tests.flights.accuracy.verdicts import same_side, true_occurrence
from tests.flights.recorders.avionics import position_error
from tests.flights.truth import TruthManeuver

from chalkwing.find import Occurrence, find_together
from chalkwing.find.tuning import DEFAULT, Tuning
from chalkwing.judge import ElementResult, judge
from chalkwing.maneuvers import standard
from chalkwing.motion import Motion
from chalkwing.units import DEGREE, FOOT, KNOT, Floats

Result = dict[str, Any]
Shown = Callable[[Floats], Floats]
"""What a recording's airspeed channel shows of calibrated airspeeds [m/s]."""
STANDARD = "commercial"
HIDDEN = 0.5
"""Share of a maneuver without recorded rows from which it lies in a gap: missed all the same, told apart."""
TRUTH_DRAWS = 60
"""Draws on the perfect flight: only a receiver's slow error differs between them, meters."""
INDEPENDENT: dict[tuple[str, str], tuple[str, float]] = {
    ("steep_spiral", "bank_max"): ("bank_max", DEGREE),
    ("steep_spiral", "rollout_heading"): ("rollout_heading_error", DEGREE),
    ("steep_spiral", "altitude_lost_in_all"): ("height_lost", -FOOT),
    ("steep_spiral", "turns"): ("turned", DEGREE),
    ("turns_around_a_point", "turns"): ("turned", DEGREE),
    ("eights_on_pylons", "bank_max"): ("bank_max", DEGREE),
    ("emergency_descent", "height_descended"): ("height_lost", FOOT),
    ("emergency_descent", "airspeed_peak"): ("airspeed_most", KNOT),
    ("slow_flight", "airspeed_mean"): ("airspeed_mean", KNOT),
    **{
        (kind, element): (value, unit)
        for kind in ("power_off_stall", "power_on_stall", "accelerated_stall")
        for element, value, unit in (
            ("airspeed_at_break", "airspeed_at_break", KNOT),
            ("stall_speed_1g", "stall_speed", KNOT),
            ("height_lost", "height_lost", FOOT),
            ("airspeed_peak", "airspeed_most_after", KNOT),
        )
    },
}
"""Values that the generator measures without the judge: element to its value and the unit's SI size."""


def measure_whole(folder: Path, recorder: Recorder, *, kept: Path) -> Result:
    """Every maneuver of a lesson: found or not, where, and every number that the judge gives for it."""
    lesson = lesson_in(folder)
    found, shift = found_in(lesson, recorder, kept)
    matching = match(lesson, [one for _, several in found for one in several], shift)
    return _head(lesson, recorder, found) | {
        "maneuvers": len(lesson.flight.maneuvers),
        "finding": account(matching, shift, KINDS),
        "hidden": dict(Counter(one.kind for one in matching.missed if _hidden(one, found, shift))),
        "values": _values(lesson, found, matching, shift),
    }


def _hidden(one: TruthManeuver, found: Sequence[tuple[Motion, Any]], shift: float) -> bool:
    """Whether more than half of a maneuver lies where its recording has no rows."""
    rows = [
        motion.in_gap[(motion.time + shift >= one.start) & (motion.time + shift <= one.end)]
        for motion, _ in found
    ]
    within = np.concatenate(rows)
    return len(within) == 0 or float(np.mean(within)) > HIDDEN


def measure_baits(folder: Path, recorder: Recorder, *, kept: Path) -> Result:
    """What is found in a flight with no maneuver in it, by the bait that lies under it."""
    lesson = lesson_in(folder)
    found, shift = found_in(lesson, recorder, kept)
    seconds: dict[str, float] = {}
    for leg in lesson.flight.legs:
        seconds[leg["label"]] = seconds.get(leg["label"], 0.0) + leg["end"] - leg["start"]
    return _head(lesson, recorder, found) | {
        "flown_seconds": seconds,
        "false": [
            {
                "kind": one.kind,
                "bait": bait(one, lesson.flight.legs, shift),
                "told": told(one, shift),
                "unmeant": unmeant(one, lesson, shift),
            }
            for _, several in found
            for one in several
        ],
    }


def found_in(
    lesson: Lesson, recorder: Recorder, kept: Path, *, tuning: Tuning = DEFAULT
) -> tuple[list[tuple[Motion, Sequence[Occurrence]]], float]:
    """Every flight of a recording with what is found in it, and what to add to its times for the truth's."""
    done = motions_of(lesson.folder, recorder, airplane=lesson.airplane, kept=kept)
    (recording,) = {id(each): each for each, _ in done.recordings}.values()
    known = findable().values()
    motions = [each.motion for each in done.flights]
    found = list(zip(motions, find_together(motions, known, tuning=tuning), strict=True))
    return found, clock_shift(lesson, recording, recorder.file)


def _head(lesson: Lesson, recorder: Recorder, found: Sequence[tuple[Motion, Any]]) -> Result:
    return {
        "flight": lesson.name,
        "airplane": lesson.airplane,
        "controller": lesson.flight.controller,
        "recorder": recorder.name,
        "hours": sum(motion.end - motion.start for motion, _ in found) / 3600,
        "findable": sorted(findable()),
    }


def _values(
    lesson: Lesson,
    found: Sequence[tuple[Motion, Sequence[Occurrence]]],
    matching: Matching,
    shift: float,
) -> list[Result]:
    """Each number told of a complete maneuver of the newer kinds, beside what is true of it."""
    flown = {id(it): one for one, it in matching.pairs if one.status == it.status == "complete"}
    records: list[Result] = []
    for motion, occurrences in found:
        perfect, shown = _as_shown(lesson, motion, shift)
        for k, occurrence in enumerate(occurrences):
            one = flown.get(id(occurrence))
            if one is not None and one.kind not in THREE:
                records += _compared(
                    motion, occurrence, perfect, one, shown=shown, earlier=occurrences[:k], seed=k
                )
    return records


def _as_shown(lesson: Lesson, motion: Motion, shift: float) -> tuple[Motion, Shown]:
    """The truth as this recording's own instruments would show it, and what they show of an airspeed.

    What a pitot system or an altimeter adds all flight long (position error, scale, zero) belongs to what is
    shown, and a debrief tells what is shown: it is fitted to the flight as a straight line and an offset.
    """
    perfect = truth_motion(lesson, motion.altitude_kind)
    values = dict(perfect.values)
    recorded = ~motion.in_gap
    times = motion.time[recorded] + shift
    shown: Shown = np.asarray
    if motion.airspeed_kind == "indicated":
        through = indicated(lesson.airplane, values["calibrated_airspeed"])
        line = np.polyfit(np.interp(times, perfect.time, through), motion["airspeed"][recorded], 1)
        shown = lambda calibrated: np.asarray(np.polyval(line, indicated(lesson.airplane, calibrated)))  # noqa: E731
        values["airspeed"] = shown(values["calibrated_airspeed"])
    true = np.interp(times, perfect.time, values["altitude"])
    values["altitude"] = values["altitude"] + float(np.median(motion["altitude"][recorded] - true))
    seen = replace(
        perfect, values=values, airspeed_kind=motion.airspeed_kind, posterior=Certain(values),
        sds={name: np.zeros(len(perfect.time)) for name in values},
        origins=dict.fromkeys(values, "measured"),
    )  # fmt: skip
    return seen, shown


def indicated(airplane: str, calibrated: Floats) -> Floats:
    """What a pitot tube and static port of the generator's airplanes show of a calibrated airspeed [m/s]."""
    return np.asarray(calibrated + position_error(airplane, calibrated))


def _compared(
    motion: Motion,
    occurrence: Occurrence,
    perfect: Motion,
    one: TruthManeuver,
    *,
    shown: Shown,
    earlier: Sequence[Occurrence],
    seed: int,
) -> list[Result]:
    definition, held_to = findable()[one.kind], standard(STANDARD)
    said = judge(motion, occurrence, definition, held_to, earlier=earlier, seed=seed)
    true = judge(perfect, true_occurrence(one), definition, held_to, draws=TRUTH_DRAWS)
    truths = {(each.id, each.half): each for each in (*true.elements, *true.facts)}
    same_parts = len(occurrence.parts) == len(one.parts)
    records = []
    for each in (*said.elements, *said.facts):
        if each.half is not None and not same_parts:
            continue  # one turn with a pause in it, told as two: the halves are not those of the truth
        ruled = truths.get((each.id, each.half))
        if ruled is None or None in (each.value, each.sd, ruled.value) or not each.sd:
            continue
        records.append(_record(one, each, ruled, shown))
    return records


def _record(one: TruthManeuver, said: ElementResult, ruled: ElementResult, shown: Shown) -> Result:
    independent = None
    if (one.kind, said.id) in INDEPENDENT:
        name, unit = INDEPENDENT[one.kind, said.id]
        value = one.values.get(name)
        if value is not None and unit == KNOT and said.id != "stall_speed_1g":
            value = float(shown(np.asarray(value)))
        independent = None if value is None else value / unit
    return {
        "kind": one.kind,
        "id": said.id,
        "half": said.half,
        "unit": said.unit,
        "value": said.value,
        "sd": said.sd,
        "true_value": same_side(said, ruled),
        "independent": independent,
        "limited": said.limit is not None,
        "verdict": said.verdict,
        "met": ruled.verdict == "met" if ruled.verdict in ("met", "not_met") else None,
    }
