"""The trunk: from recordings to a debrief.

    recording --read--> Recording --reconstruct--> Motion
        --find--> Occurrences --judge--> Judgements --> Debrief

The command line, the pages and the archive all call :func:`debrief`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.debriefs import Debrief, FlightReport, ManeuverReport, StallSpeedReport
from chalkwing.errors import UndecidedRecording
from chalkwing.find import Occurrence, can_find, find
from chalkwing.judge import Assigned, Judgement, Terrain, judge
from chalkwing.maneuvers import Definition, Standard, definitions, standard
from chalkwing.maneuvers.standards import overlay, read_standard
from chalkwing.motion import Motion, reconstruct
from chalkwing.recordings import Recording, flights, read
from chalkwing.telling import (
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

Plan = Callable[[Motion, Occurrence], "Yardstick | None"]
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


@dataclass(frozen=True)
class Debriefed:
    """A debrief, its flights, and its attempts in the order of ``debrief.maneuvers``."""

    debrief: Debrief
    flights: tuple[Reconstructed, ...]
    attempts: tuple[Attempt, ...]
    standard: Standard
    assigned: Assigned


def debrief(
    *paths: Path | str,
    airplane: Path | str | None = None,
    standard: Path | str | Standard = "commercial",
    overlay: Path | None = None,
    assigned: Assigned | None = None,
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
        The files, the sheet or the standard cannot be used; the message says what, where and what next.
    """
    return debriefed(
        *paths,
        airplane=airplane,
        standard=standard,
        overlay=overlay,
        assigned=assigned,
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
    terrain: Terrain | None = None,
    definition_folders: Iterable[Path] = (),
    mass: float | None = None,
    reference: bool = True,
    seed: int = 0,
    progress: Progress | None = None,
) -> Debriefed:
    """The same from flights reconstructed before: what is done again when only the judging changes."""
    tell = progress or _silent
    known = {kind: each for kind, each in definitions(tuple(definition_folders)).items() if can_find(each)}
    asked = assigned or Assigned()
    attempts: list[Attempt] = []
    for number, flight in enumerate(found.flights, start=1):
        tell("finding and judging maneuvers", (number - 1) / len(found.flights))
        attempts += _judged(
            flight,
            number=number,
            known=known,
            standard=standard,
            assigned=asked,
            terrain=terrain,
            sheet=found.sheet,
            mass=mass,
            plan=_plan(found.sheet, standard, mass=mass, assigned=assigned) if reference else None,
            seed=seed,
        )
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
    )
    return Debriefed(told, found.flights, tuple(attempts), standard, asked)


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


def standard_for(
    given: Path | str | Standard, *, school: Path | None = None, folders: tuple[Path, ...] = ()
) -> Standard:
    """A standard itself, by name or from a TOML file, with a school's overlay laid over it."""
    if isinstance(given, Standard):
        published = given
    elif str(given).endswith(".toml"):
        published = read_standard(Path(given))
    else:
        published = standard(str(given), folders=folders)
    return overlay(published, school, definitions(folders).values()) if school else published


def _judged(
    flight: Reconstructed,
    *,
    number: int,
    known: dict[str, Definition],
    standard: Standard,
    assigned: Assigned,
    terrain: Terrain | None,
    sheet: AirplaneSheet | None,
    mass: float | None,
    plan: Plan | None,
    seed: int,
) -> list[Attempt]:
    """The maneuvers of one flight, each judged with those before it at hand, and beside its plan."""
    occurrences = find(flight.motion, known.values())
    raw = recorded_samples(flight.motion)
    attempts = []
    for k, occurrence in enumerate(occurrences):
        definition = known[occurrence.kind]
        judgement = judge(
            flight.motion,
            occurrence,
            definition,
            standard,
            assigned=assigned,
            sheet=sheet,
            terrain=terrain,
            mass=mass,
            earlier=occurrences[:k],
            seed=seed + k,
        )
        stick = plan(flight.motion, occurrence) if plan is not None else None
        report = maneuver_report(
            occurrence, judgement, definition, raw=raw, shift=flight.shift, flight=number, stick=stick
        )
        attempts.append(Attempt(flight, definition, occurrence, judgement, stick, report))
    return attempts


def _plan(
    sheet: AirplaneSheet | None, standard: Standard, *, mass: float | None, assigned: Assigned | None
) -> Plan | None:
    """What finds an attempt's Reference; nothing without a sheet. Loads the optimizer only when used."""
    if sheet is None:
        return None
    from chalkwing.yardstick import yardstick

    def plan(motion: Motion, occurrence: Occurrence) -> Yardstick | None:
        target = standard.figure(occurrence.kind, "bank_target_deg")
        bank = None if target is None else target * DEGREE
        if bank is not None and assigned is not None and assigned.bank is not None:
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
