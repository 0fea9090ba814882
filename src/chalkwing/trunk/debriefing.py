"""The trunk from end to end: the functions that make a debrief, of files or of flights made before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from chalkwing.debriefs import Debrief, FlightReport, PhaseReport, StallSpeedReport
from chalkwing.find import can_find, find_together, phases
from chalkwing.find.corrections import Corrections, FoundFlight, Overlaid, lay_over
from chalkwing.judge import Assigned, Terrain
from chalkwing.maneuvers import Definition, Standard, definitions
from chalkwing.maneuvers import standard as standard_for
from chalkwing.motion.estimate import Progress
from chalkwing.trunk.attempts import Attempt, Judging
from chalkwing.trunk.corrected import (
    clock_of,
    correction_reports,
    dropped_reports,
    kept,
    mark_reports,
    stretch_reports,
)
from chalkwing.trunk.deciding import decides
from chalkwing.trunk.reconstructing import Reconstructed, Reconstructions, reconstructions, silent
from chalkwing.trunk.telling import recording_report, stall_speed_reports, wind_reports


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
    tell = progress or silent
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
    tell = progress or silent
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
    judging = Judging(every, standard, asked, terrain, found.sheet, mass, reference, seed)
    attempts: list[Attempt] = []
    for number, flight in enumerate(found.flights, start=1):
        tell("judging maneuvers", 0.1 + 0.9 * (number - 1) / len(found.flights))
        entries = [each for each in overlaid.entries if each.flight == number - 1 and not each.dropped]
        attempts += judging.attempts(flight, entries, number=number, before=len(attempts))
    tell("done", 1.0)
    told = _told(found, attempts, overlaid, standard=standard, definitions=every, mass=mass)
    keep = kept(overlaid, made, found.recordings)
    return Debriefed(told, found.flights, tuple(attempts), standard, asked, keep)


def _told(
    found: Reconstructions,
    attempts: Sequence[Attempt],
    overlaid: Overlaid,
    *,
    standard: Standard,
    definitions: Mapping[str, Definition],
    mass: float | None,
) -> Debrief:
    motions = [each.motion for each in found.flights]
    maneuvers = tuple(each.report for each in attempts)
    return Debrief(
        recordings=tuple(
            recording_report(recording, shift, [each for each in motions if each.recording is recording])
            for recording, shift in found.recordings
        ),
        decides=decides(motions, maneuvers),
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
        dropped=dropped_reports(overlaid, [each.shift for each in found.flights], definitions),
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
