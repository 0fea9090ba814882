"""The maneuvers of a lesson, each judged and laid beside its plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from chalkwing.airplane import AirplaneSheet
from chalkwing.debriefs import ManeuverReport
from chalkwing.find import Occurrence
from chalkwing.find.corrections import Entry
from chalkwing.judge import Assigned, Judgement, Terrain, judge
from chalkwing.maneuvers import Definition, Standard
from chalkwing.motion import Motion
from chalkwing.trunk.corrected import assigned_to, ground_of, with_entry
from chalkwing.trunk.reconstructing import Reconstructed
from chalkwing.trunk.telling import Samples, maneuver_report, recorded_samples
from chalkwing.units import DEGREE

if TYPE_CHECKING:
    from chalkwing.yardstick import Yardstick

_ADDED = 1000
"""Seeds of maneuvers that a person added begin here: those of the others stay what they were."""


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
class Judging:
    """Judges the maneuvers of a lesson: all that is the same for each of them."""

    definitions: Mapping[str, Definition]
    standard: Standard
    assigned: Assigned
    terrain: Terrain | None
    sheet: AirplaneSheet | None
    mass: float | None
    reference: bool
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
            seed=self.seed + (_ADDED + order if entry.place is None else entry.place),
        )
        stick = self._yardstick(flight.motion, occurrence, assigned)
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

    def _yardstick(self, motion: Motion, occurrence: Occurrence, assigned: Assigned) -> Yardstick | None:
        """The Reference that the attempt is shown beside; none without a sheet or where none is wanted."""
        if self.sheet is None or not self.reference:
            return None
        from chalkwing.yardstick import yardstick  # the optimizer: whoever needs no plan waits for none

        target = self.standard.figure(occurrence.kind, "bank_target_deg")
        bank = None if target is None else target * DEGREE
        if bank is not None and assigned.bank is not None:
            bank = assigned.bank
        return yardstick(motion, occurrence, sheet=self.sheet, mass=self.mass, bank=bank)
