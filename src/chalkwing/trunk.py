"""The trunk: from recordings to a debrief.

    recording --read--> Recording --reconstruct--> Motion
        --find--> Occurrences --judge--> Judgements --> Debrief

The command line, the pages and the archive all call :func:`debrief`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.corrected import (
    assigned_to,
    clock_of,
    correction_reports,
    dropped_reports,
    ground_of,
    kept,
    mark_reports,
    stretch_reports,
    with_entry,
)
from chalkwing.debriefs import Debrief, FlightReport, ManeuverReport, PhaseReport, StallSpeedReport
from chalkwing.errors import UndecidedRecording
from chalkwing.find import Occurrence, can_find, find_together, phases
from chalkwing.find.corrections import Corrections, Entry, FoundFlight, lay_over
from chalkwing.judge import Assigned, Judgement, Terrain, judge
from chalkwing.maneuvers import Definition, Standard, definitions
from chalkwing.maneuvers import standard as standard_for
from chalkwing.motion import Motion, reconstruct
from chalkwing.recordings import Recording, flights, read
from chalkwing.telling import (
    Samples,
    decides,
    maneuver_report,
    recorded_samples,
    recording_report,
    stall_speed_reports,
    wind_reports,
)
from chalkwing.units import DEGREE

if TYPE_CHECKING:
    from chalkwing.yardstick import Yardstick

Plan = Callable[[Motion, Occurrence, Assigned], "Yardstick | None"]
"""Finds the Reference that an attempt is shown beside."""
Progress = Callable[[str, float], None]
"""Called with what is being done and the fraction of all the work that is done."""


@dataclass(frozen=True)
class Reconstructed:
    """One flight: its Motion, and the shift [s] that takes its clock to that of the earliest row given."""

    motion: Motion
    shift: float


@dataclass(frozen=True)
class Reconstructions:
    """All flights of all recordings, in order of time; ``refused`` says which could not be reconstructed."""

    recordings: tuple[tuple[Recording, float], ...]
    flights: tuple[Reconstructed, ...]
    refused: tuple[str, ...]
    sheet: AirplaneSheet | None


@dataclass(frozen=True)
class Attempt:
    """One maneuver with all that its report was made from: what pictures are drawn of."""

    flight: Reconstructed
    definition: Definition
    occurrence: Occurrence
    judgement: Judgement
    stick: Yardstick | None
    report: ManeuverReport
    assigned: Assigned = field(default_factory=Assigned)


@dataclass(frozen=True)
class Debriefed:
    """A debrief, its flights, and its attempts in the order of ``debrief.maneuvers``.

    ``corrections`` are those that were laid over, each maneuver named for good: what is to be kept.
    """

    debrief: Debrief
    flights: tuple[Reconstructed, ...]
    attempts: tuple[Attempt, ...]
    standard: Standard
    assigned: Assigned
    corrections: Corrections = field(default_factory=Corrections)


def debrief(
    *paths: Path | str,
    airplane: Path | str | None = None,
    standard: Path | str | Standard = "commercial",
    overlay: Path | None = None,
    assigned: Assigned | None = None,
    corrections: Corrections | None = None,
    terrain: Terrain | None = None,
    ignore: Iterable[str] = (),
    column_map: Path | None = None,
    zone: str | None = None,
    definition_folders: Iterable[Path] = (),
    mass: float | None = None,
    reference: bool = True,
    seed: int = 0,
    progress: Progress | None = None,
) -> Debrief:
    """Read recordings, reconstruct every flight, find its maneuvers and hold them against a standard.

    Parameters
    ----------
    paths
        Files of one or more recorders; see :func:`chalkwing.recordings.read`.
    airplane
        An airplane sheet: a TOML file or the name of a built-in one. Without it a broad light airplane.
    standard, overlay
        A standard, its name or TOML file, and a school's own limits to lay over it.
    assigned
        What was asked for [SI]; without it entry values stand in, and the elements say so.
    corrections
        A person's corrections, laid over what is found; see :mod:`chalkwing.find.corrections`. One that names
        a maneuver that is not there any more is told in the debrief.
    terrain
        The ground under the flight; makes heights above it elements.
    ignore, column_map, zone
        Channels to withhold, the user's word on columns, and where local times are kept.
    definition_folders
        Folders of further maneuver definitions.
    mass, reference
        With an airplane sheet each attempt is shown beside its Reference, solved for this mass [kg] (the
        sheet's unless given); ``reference=False`` leaves that out. Stall speeds are compared at this mass.
    seed
        Of the posterior draws: the same seed gives the same debrief.

    Raises
    ------
    ChalkwingError
        The files, the sheet, the standard or a correction cannot be used; the message says what, where and
        what next.
    """
    return debriefed(
        *paths,
        airplane=airplane,
        standard=standard,
        overlay=overlay,
        assigned=assigned,
        corrections=corrections,
        terrain=terrain,
        ignore=ignore,
        column_map=column_map,
        zone=zone,
        definition_folders=definition_folders,
        mass=mass,
        reference=reference,
        seed=seed,
        progress=progress,
    ).debrief


def debriefed(
    *paths: Path | str,
    airplane: Path | str | None = None,
    standard: Path | str | Standard = "commercial",
    overlay: Path | None = None,
    assigned: Assigned | None = None,
    corrections: Corrections | None = None,
    terrain: Terrain | None = None,
    ignore: Iterable[str] = (),
    column_map: Path | None = None,
    zone: str | None = None,
    definition_folders: Iterable[Path] = (),
    mass: float | None = None,
    reference: bool = True,
    seed: int = 0,
    progress: Progress | None = None,
) -> Debriefed:
    """The same with every attempt beside it, for pictures; parameters and refusals as in :func:`debrief`."""
    tell = progress or _silent
    # An unknown standard is refused before the long work begins.
    held_to = standard_for(standard, school=overlay, folders=tuple(definition_folders))
    found = reconstructions(
        *paths,
        airplane=airplane,
        ignore=ignore,
        column_map=column_map,
        zone=zone,
        progress=lambda what, fraction: tell(what, 0.85 * fraction),
    )
    return debriefed_from(
        found,
        standard=held_to,
        assigned=assigned,
        corrections=corrections,
        terrain=terrain,
        definition_folders=definition_folders,
        mass=mass,
        reference=reference,
        seed=seed,
        progress=lambda what, fraction: tell(what, 0.85 + 0.15 * fraction),
    )


def debriefed_from(
    found: Reconstructions,
    *,
    standard: Standard,
    assigned: Assigned | None = None,
    corrections: Corrections | None = None,
    bear: Iterable[str] = ("gone",),
    terrain: Terrain | None = None,
    definition_folders: Iterable[Path] = (),
    mass: float | None = None,
    reference: bool = True,
    seed: int = 0,
    progress: Progress | None = None,
) -> Debriefed:
    """The same from flights reconstructed before: what is done again when only the judging changes.

    ``bear`` names the faults of corrections that are told in the debrief instead of refused; a page that
    shows each beside its reason bears all of `chalkwing.errors.UnfitCorrection`.
    """
    tell = progress or _silent
    every = definitions(tuple(definition_folders))
    known = [each for each in every.values() if can_find(each)]
    asked = assigned or Assigned()
    made = Corrections() if corrections is None else corrections
    clock = clock_of(found.recordings, made)
    tell("finding maneuvers", 0.0)
    together = find_together([each.motion for each in found.flights], known)
    flights_found = [
        FoundFlight(each.motion, each.shift, several)
        for each, several in zip(found.flights, together, strict=True)
    ]
    overlaid = lay_over(made, flights_found, definitions=every, clock=clock, bear=frozenset(bear))
    plan = _plan(found.sheet, standard, mass=mass) if reference else None
    judging = _Judging(every, standard, asked, terrain, found.sheet, mass, plan, seed)
    attempts: list[Attempt] = []
    for number, flight in enumerate(found.flights, start=1):
        tell("judging maneuvers", 0.1 + 0.9 * (number - 1) / len(found.flights))
        entries = [each for each in overlaid.entries if each.flight == number - 1 and not each.dropped]
        attempts += judging.attempts(flight, entries, number=number, before=len(attempts))
    tell("done", 1.0)
    maneuvers = tuple(each.report for each in attempts)
    told = Debrief(
        recordings=tuple(
            recording_report(
                recording,
                shift,
                [each.motion for each in found.flights if each.motion.recording is recording],
            )
            for recording, shift in found.recordings
        ),
        decides=decides([each.motion for each in found.flights], maneuvers),
        airplane=found.sheet.name if found.sheet else None,
        airplane_title=found.sheet.title if found.sheet else None,
        standard=standard.name,
        standard_title=f"{standard.title} ({standard.document}, {standard.edition})",
        flights=tuple(_flight_report(each) for each in found.flights),
        wind=tuple(row for each in found.flights for row in wind_reports(each.motion, each.shift)),
        maneuvers=maneuvers,
        notes=found.refused,
        stall_speeds=_stall_speeds(found, attempts, mass=mass),
        stretches=stretch_reports(overlaid),
        phases=_phases(found),
        marks=mark_reports(overlaid),
        corrections=correction_reports(overlaid),
        dropped=dropped_reports(overlaid, [each.shift for each in found.flights], every),
    )
    keep = kept(overlaid, made, found.recordings)
    return Debriefed(told, found.flights, tuple(attempts), standard, asked, keep)


def _phases(found: Reconstructions) -> tuple[PhaseReport, ...]:
    """The phases of every flight, on the clock of the earliest row."""
    return tuple(
        PhaseReport(phase.kind, number, phase.start + flight.shift, phase.end + flight.shift)
        for number, flight in enumerate(found.flights, start=1)
        for phase in phases(flight.motion)
    )


def _stall_speeds(
    found: Reconstructions, attempts: Sequence[Attempt], *, mass: float | None
) -> tuple[StallSpeedReport, ...]:
    """The day's stall speed of every flight in which a stall or slow flight was found."""
    return tuple(
        row
        for number, flight in enumerate(found.flights, start=1)
        for row in stall_speed_reports(
            [each.judgement for each in attempts if each.flight is flight],
            flight=number,
            sheet=found.sheet,
            mass=mass,
        )
    )


def reconstructions(
    *paths: Path | str,
    airplane: Path | str | None = None,
    ignore: Iterable[str] = (),
    column_map: Path | None = None,
    zone: str | None = None,
    progress: Progress | None = None,
) -> Reconstructions:
    """Every flight of the recordings, reconstructed; parameters and refusals as in :func:`debrief`."""
    tell = progress or _silent
    sheet = load_sheet(airplane) if airplane is not None else None
    tell("reading", 0.0)
    recordings = _on_one_clock(read(*paths, column_map=column_map, ignore=tuple(ignore), zone=zone))
    airborne = [(each, shift, flight) for each, shift in recordings for flight in flights(each)]
    if not airborne:
        raise UndecidedRecording(
            "no flight in it: nothing moves fast enough to be airborne.",
            where=", ".join(each.source for each, _ in recordings),
            next_step="Give the file that was recorded in the air.",
        )
    done: list[Reconstructed] = []
    refused: list[UndecidedRecording] = []
    for k, (recording, shift, flight) in enumerate(airborne):
        part = _share(tell, k, len(airborne))
        try:
            motion = reconstruct(recording, flight=flight, sheet=sheet, progress=part)
        except UndecidedRecording as error:
            refused.append(error)
        else:
            done.append(Reconstructed(motion, shift))
    if not done:
        raise refused[0]
    done.sort(key=lambda each: each.motion.start + each.shift)
    return Reconstructions(recordings, tuple(done), tuple(str(error) for error in refused), sheet)


ADDED = 1000
"""Seeds of maneuvers that a person added begin here: those of the others stay what they were."""


@dataclass(frozen=True)
class _Judging:
    """All that is the same for every maneuver of the lesson."""

    definitions: Mapping[str, Definition]
    standard: Standard
    assigned: Assigned
    terrain: Terrain | None
    sheet: AirplaneSheet | None
    mass: float | None
    plan: Plan | None
    seed: int

    def attempts(
        self, flight: Reconstructed, entries: Sequence[Entry], *, number: int, before: int
    ) -> list[Attempt]:
        """The maneuvers of one flight, each judged with those before it at hand, and beside its plan.

        ``number`` is the flight's, ``before`` how many maneuvers the flights before it held.
        """
        raw = recorded_samples(flight.motion)
        occurrences = [each.occurrence for each in entries]
        return [
            self._attempt(flight, entry, occurrences[:k], raw, number=number, order=before + k)
            for k, entry in enumerate(entries)
        ]

    def _attempt(
        self,
        flight: Reconstructed,
        entry: Entry,
        earlier: Sequence[Occurrence],
        raw: Samples,
        *,
        number: int,
        order: int,
    ) -> Attempt:
        occurrence = entry.occurrence
        definition = self.definitions[occurrence.kind]
        assigned = assigned_to(entry, self.assigned)
        judgement = judge(
            flight.motion,
            occurrence,
            definition,
            self.standard,
            assigned=assigned,
            sheet=self.sheet,
            terrain=self.terrain,
            ground=ground_of(entry),
            mass=self.mass,
            earlier=earlier,
            seed=self.seed + (ADDED + order if entry.place is None else entry.place),
        )
        stick = self.plan(flight.motion, occurrence, assigned) if self.plan is not None else None
        report = maneuver_report(
            occurrence, judgement, definition, raw=raw, shift=flight.shift, flight=number, stick=stick
        )
        report = with_entry(
            report,
            entry,
            assigned,
            number=order + 1,
            shift=flight.shift,
            definitions=self.definitions,
        )
        return Attempt(flight, definition, occurrence, judgement, stick, report, assigned)


def _plan(sheet: AirplaneSheet | None, standard: Standard, *, mass: float | None) -> Plan | None:
    """What finds an attempt's Reference; nothing without a sheet. Loads the optimizer only when used."""
    if sheet is None:
        return None
    from chalkwing.yardstick import yardstick

    def plan(motion: Motion, occurrence: Occurrence, assigned: Assigned) -> Yardstick | None:
        target = standard.figure(occurrence.kind, "bank_target_deg")
        bank = None if target is None else target * DEGREE
        if bank is not None and assigned.bank is not None:
            bank = assigned.bank
        return yardstick(motion, occurrence, sheet=sheet, mass=mass, bank=bank)

    return plan


def _on_one_clock(recordings: Iterable[Recording]) -> tuple[tuple[Recording, float], ...]:
    """Each recording with its shift [s] to the earliest start; without a date its own start is 0."""
    found = tuple(recordings)
    starts = [each.start_utc for each in found if each.start_utc is not None]
    if not starts:
        return tuple((each, 0.0) for each in found)
    earliest = min(starts)
    return tuple(
        (each, (each.start_utc - earliest).total_seconds() if each.start_utc else 0.0) for each in found
    )


def _flight_report(flight: Reconstructed) -> FlightReport:
    motion = flight.motion
    return FlightReport(
        start_s=motion.start + flight.shift,
        end_s=motion.end + flight.shift,
        airspeed_kind=motion.airspeed_kind,
        altitude_kind=motion.altitude_kind,
        notes=motion.notes,
    )


def _share(tell: Progress, index: int, count: int) -> Progress:
    """The progress of one flight among ``count``, as progress of the whole."""
    called = f" (flight {index + 1} of {count})" if count > 1 else ""
    return lambda what, fraction: tell(what + called, (index + fraction) / count)


def _silent(what: str, fraction: float) -> None:
    """Progress that nobody watches."""
