"""What corrections made of a lesson, for the judge and in the words and units of the contract."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from chalkwing.debriefs import (
    AssignedReport,
    CorrectionReport,
    DroppedReport,
    FoundReport,
    ManeuverReport,
    MarkReport,
    StretchReport,
)
from chalkwing.errors import UnfitCorrection
from chalkwing.find import Occurrence
from chalkwing.find.corrections import (
    Clock,
    Corrections,
    Entry,
    Overlaid,
    correction_table,
)
from chalkwing.find.corrections.results import said
from chalkwing.judge import Assigned, GroundReference
from chalkwing.maneuvers import Definition
from chalkwing.recordings import Recording
from chalkwing.units import DEGREE, FOOT, KNOT


def clock_of(recordings: Sequence[tuple[Recording, float]], corrections: Corrections) -> Clock:
    """The clock on which all recordings lie; refuses corrections that were made for another recording."""
    starts = [each.start_utc for each, shift in recordings if shift == 0.0 and each.start_utc is not None]
    return Clock(
        start_utc=min(starts, default=None),
        end=max(float(each.time[-1]) + shift for each, shift in recordings),
        zone=corrections.zone,
        origin=_origin(recordings, corrections.recording),
    )


def _origin(recordings: Sequence[tuple[Recording, float]], sha256: str | None) -> float:
    """Where the seconds of the corrections count from: the first row of the recording they were made for."""
    if sha256 is None:
        return 0.0
    for recording, shift in recordings:
        if sha256 in (recording.sha256, *(part.sha256 for part in recording.parts)):
            return float(recording.time[0]) + shift
    here = ", ".join(f"{each.source} ({each.sha256[:8]})" for each, _ in recordings)
    raise UnfitCorrection(
        f"these corrections were made for another recording ({sha256[:8]}), not for {here}.",
        fault="outside",
        next_step="Give that recording, or take 'recording' out of the file to lay them over this one.",
    )


def kept(
    overlaid: Overlaid, corrections: Corrections, recordings: Sequence[tuple[Recording, float]]
) -> Corrections:
    """The corrections to keep: every maneuver named for good, and the recording whose seconds they count."""
    settled = tuple(each.settled for each in overlaid.outcomes)
    if corrections.recording is not None:
        return replace(corrections, entries=settled)
    first = min(recordings, key=lambda held: float(held[0].time[0]) + held[1])[0]
    return replace(corrections, entries=settled, recording=first.sha256 or None)


def assigned_to(entry: Entry, for_all: Assigned) -> Assigned:
    """What was assigned for one maneuver: its own values over those for all."""
    asked = entry.asked
    return Assigned(
        altitude=for_all.altitude if asked.altitude is None else asked.altitude,
        airspeed=for_all.airspeed if asked.airspeed is None else asked.airspeed,
        heading=for_all.heading if asked.heading is None else asked.heading,
        bank=for_all.bank if asked.bank is None else asked.bank,
    )


def ground_of(entry: Entry) -> GroundReference | None:
    """The ground reference that a person gave."""
    if entry.ground is None:
        return None
    return GroundReference(
        points=entry.ground.points,
        line=entry.ground.line,
        corners=entry.ground.corners,
        elevation=entry.ground.elevation,
        touchdown_beyond=entry.ground.touchdown_beyond,
    )


def with_entry(
    report: ManeuverReport,
    entry: Entry,
    assigned: Assigned,
    *,
    number: int,
    shift: float,
    definitions: Mapping[str, Definition],
) -> ManeuverReport:
    """The report with its number, who flew, what was assigned, and what was found before it was corrected."""
    corrected = entry.occurrence.corrected and entry.found is not None
    return replace(
        report,
        assigned=assigned_report(assigned),
        student=entry.student,
        instructor=entry.instructor,
        found=found_report(entry.found, shift, definitions) if corrected and entry.found else None,
        corrections=tuple(each + 1 for each in entry.changed_by),
        number=number,
        part_word="turn" if definitions[report.kind].turns.is_series else "half",
    )


def assigned_report(assigned: Assigned) -> AssignedReport | None:
    """What was assigned, in pilot units; None where nothing was."""
    if assigned == Assigned():
        return None

    def told(value: float | None, unit: float) -> float | None:
        return None if value is None else value / unit

    return AssignedReport(
        altitude_ft=told(assigned.altitude, FOOT),
        airspeed_kt=told(assigned.airspeed, KNOT),
        heading_deg_magnetic=told(assigned.heading, DEGREE),
        bank_deg=told(assigned.bank, DEGREE),
    )


def found_report(one: Occurrence, shift: float, definitions: Mapping[str, Definition]) -> FoundReport:
    """What was found by itself."""
    return FoundReport(
        kind=one.kind,
        title=definitions[one.kind].title,
        direction=one.direction,
        start_s=one.start + shift,
        end_s=one.end + shift,
        probability=one.probability,
        status=one.status,
    )


def dropped_reports(
    overlaid: Overlaid, shifts: Sequence[float], definitions: Mapping[str, Definition]
) -> tuple[DroppedReport, ...]:
    """What was found and dropped."""
    return tuple(
        DroppedReport(
            found=found_report(each.found or each.occurrence, shifts[each.flight], definitions),
            flight=each.flight + 1,
            correction=each.changed_by[-1] + 1,
        )
        for each in overlaid.entries
        if each.dropped
    )


def numbers(overlaid: Overlaid) -> dict[int, int]:
    """The number of each maneuver that stands, from 1, by its place among the entries."""
    standing = [key for key, each in enumerate(overlaid.entries) if not each.dropped]
    return {key: number for number, key in enumerate(standing, start=1)}


def correction_reports(overlaid: Overlaid) -> tuple[CorrectionReport, ...]:
    """Every correction, and whether it fits."""
    number = numbers(overlaid)
    reports = []
    for outcome in overlaid.outcomes:
        written = correction_table(outcome.settled)
        reports.append(
            CorrectionReport(
                act=str(written["act"]),
                said=said(outcome.correction.what),
                by=outcome.correction.by,
                when=outcome.correction.when.isoformat() if outcome.correction.when else None,
                why=outcome.correction.why,
                fits=outcome.fits,
                reason=outcome.reason,
                maneuver=None if outcome.entry is None else number.get(outcome.entry),
                written=written,
            )
        )
    return tuple(reports)


def mark_reports(overlaid: Overlaid) -> tuple[MarkReport, ...]:
    """The marks made in flight, in order of time."""
    number = numbers(overlaid)
    return tuple(
        MarkReport(
            t_s=each.time,
            text=each.mark.text,
            by=each.by,
            maneuver=None if each.entry is None else number[each.entry],
            inside=each.entry is not None and each.gap == 0.0,
            off_s=each.gap,
        )
        for each in sorted(overlaid.marks, key=lambda placed: placed.time)
    )


def stretch_reports(overlaid: Overlaid) -> tuple[StretchReport, ...]:
    """Whose each stretch was."""
    return tuple(
        StretchReport(
            start_s=each.start,
            end_s=each.end,
            student=each.stretch.student,
            instructor=each.stretch.instructor,
            flown_by=each.stretch.flown_by,
            by=each.by,
        )
        for each in sorted(overlaid.stretches, key=lambda placed: placed.start)
    )
