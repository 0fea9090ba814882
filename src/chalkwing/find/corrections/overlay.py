"""Corrections laid over what was found: the automatic result stays beside what a person made of it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from chalkwing.errors import UnfitCorrection
from chalkwing.find.corrections.laying import EASE, lay
from chalkwing.find.corrections.model import (
    NOTHING,
    Add,
    Address,
    Asked,
    Assign,
    Correction,
    Corrections,
    Drop,
    Ground,
    Label,
    Mark,
    Rename,
    Stretch,
    Trim,
    What,
)
from chalkwing.find.corrections.moments import Clock, Moment, Span
from chalkwing.find.corrections.results import (
    Entry,
    FoundFlight,
    Outcome,
    Overlaid,
    PlacedMark,
    PlacedStretch,
    said,
)
from chalkwing.find.occurrence import FlownBy, Occurrence
from chalkwing.find.tuning import DEFAULT
from chalkwing.maneuvers.schema import Definition

SHARED = 5.0
"""Seconds that two maneuvers may share: one often begins where the other ends, to within its edges' doubt."""
SAME = 0.5
"""Overlap (intersection over union) from which an added maneuver is one that was found after all."""
UNTOUCHED = 1.0
"""Seconds by which an edge that a correction leaves alone may move when the maneuver is laid out again."""


def lay_over(
    corrections: Corrections,
    flights: Sequence[FoundFlight],
    *,
    definitions: Mapping[str, Definition],
    clock: Clock,
    bear: Collection[str] = ("gone",),
) -> Overlaid:
    """Lay ``corrections`` over what was found, in order; what was found is never changed.

    Parameters
    ----------
    corrections
        In the order in which they were made.
    flights
        The flights, in order of time, and what was found in each.
    definitions
        Every kind that may be named, by kind.
    clock
        Turns their times of day into seconds.
    bear
        Faults that are told in the outcome and refused no further; see `UnfitCorrection`. A page that shows
        what does not fit bears them all.

    Raises
    ------
    UnfitCorrection
        The first correction with a fault that is not borne.
    """
    laying = _Laying(flights, definitions, clock)
    outcomes: list[Outcome] = []
    for number, correction in enumerate(corrections.entries):
        try:
            settled, entry = laying.take(correction, number)
            outcomes.append(Outcome(correction, settled, entry=entry))
        except UnfitCorrection as error:
            if error.fault not in bear:
                where = f"correction {number + 1} ({said(correction.what)})"
                raise UnfitCorrection(
                    error.what, fault=error.fault, where=where, next_step=error.next_step
                ) from error
            outcomes.append(Outcome(correction, correction, error.fault, error.what))
    return laying.finished(outcomes)


@dataclass
class _Laying:
    """The corrections being laid; entries are found by their place in the order in which they came to be."""

    flights: Sequence[FoundFlight]
    definitions: Mapping[str, Definition]
    clock: Clock
    entries: list[Entry] = field(default_factory=list)
    marks: list[tuple[Mark, str, Span]] = field(default_factory=list)
    stretches: list[PlacedStretch] = field(default_factory=list)
    asked: Asked = NOTHING

    def __post_init__(self) -> None:
        for flight, held in enumerate(self.flights):
            self.entries += [Entry(flight, one, one, place) for place, one in enumerate(held.found)]

    def take(self, correction: Correction, number: int) -> tuple[Correction, int | None]:
        """Lay one correction; gives it with its maneuver named for good, and that maneuver's place."""
        what = correction.what
        match what:
            case Add():
                key, made = self._added(what)
            case Mark():
                self.marks.append((what, correction.by, self.clock.span(what.at)))
                return correction, None
            case Stretch():
                self._stretched(what, correction.by)
                return correction, None
            case Assign(which=None):
                self.asked = what.asked.over(self.asked)
                self.entries = [replace(each, asked=what.asked.over(each.asked)) for each in self.entries]
                return correction, None
            case Assign(which=Address() as which):
                key = self._find(which)
                made = replace(self.entries[key], asked=what.asked.over(self.entries[key].asked))
            case Drop():
                key = self._find(what.which)
                made = replace(self.entries[key], dropped=True)
            case Rename():
                key = self._find(what.which)
                made = self._renamed(key, what.to)
            case Trim():
                key = self._find(what.which)
                made = self._trimmed(key, what)
            case Label():
                key = self._find(what.which)
                made = _flown(self.entries[key], what.flown_by)
            case Ground():
                key = self._find(what.which)
                made = replace(self.entries[key], ground=what)
        made = replace(made, changed_by=(*made.changed_by, number))
        settled = replace(correction, what=self._settled(what, key))
        if key == len(self.entries):
            self.entries.append(made)
        else:
            self.entries[key] = made
        return settled, key

    # --- which maneuver is meant ---------------------------------------------------------------------------

    def _find(self, which: Address) -> int:
        """The maneuver that ``which`` means, as it was found or as it stands now."""
        span = self.clock.span(which.at)
        near = [(*self._off(each, which, span), key) for key, each in enumerate(self.entries)]
        fitting = [each for each in near if each[0] <= which.within]
        if not fitting:
            raise UnfitCorrection(
                f"there is no {which} any more{self._nearest_told(near)}."
                if which.kind
                else f"no maneuver lies at {which.at}{self._nearest_told(near)}.",
                fault="gone",
                next_step="Name the one that is meant by its kind and start, or add it.",
            )
        return min(fitting)[2]

    def _off(self, entry: Entry, which: Address, span: Span) -> tuple[float, float]:
        """Seconds off, then how little of it the moment shares: the least is meant. Dropped ones are gone."""
        forms = [one for one in (entry.occurrence, entry.found) if one is not None]
        forms = [one for one in forms if which.kind in (None, one.kind)]
        if entry.dropped or not forms:
            return float("inf"), 0.0
        shift = self.flights[entry.flight].shift
        starts = min(span.gap(one.start + shift, one.start + shift) for one in forms)
        if which.kind is not None:
            return starts, 0.0
        one = entry.occurrence
        if span.gap(one.start + shift, one.end + shift) == 0.0:
            return 0.0, -span.common(one.start + shift, one.end + shift)
        return starts, 0.0

    def _nearest_told(self, near: list[tuple[float, float, int]]) -> str:
        standing = [each for each in near if each[0] != float("inf")]
        if not standing:
            return ""
        off, _, key = min(standing)
        entry = self.entries[key]
        return (
            f"; the nearest is the {self._title(entry.occurrence.kind)} at "
            f"{self.clock.told(self._start(entry))}, {off:.0f} s off"
        )

    def _settled(self, what: What, key: int) -> What:
        """The correction with its maneuver named by kind and start as found: what is kept finds it again."""
        if isinstance(what, Add | Mark | Stretch) or what.which is None or what.which.kind is not None:
            return what
        entry = self.entries[key]
        one = entry.found or entry.occurrence
        seconds = one.start + self.flights[entry.flight].shift - self.clock.origin
        return replace(what, which=replace(what.which, at=Moment(seconds=seconds), kind=one.kind))

    def _start(self, entry: Entry) -> float:
        return entry.occurrence.start + self.flights[entry.flight].shift

    def _title(self, kind: str) -> str:
        return kind.replace("_", " ")

    # --- what changes the maneuver itself -------------------------------------------------------------------

    def _definition(self, kind: str) -> Definition:
        if kind not in self.definitions:
            raise UnfitCorrection(
                f"no maneuver is called {kind!r}.",
                fault="unknown",
                next_step=f"Known: {', '.join(sorted(self.definitions))}.",
            )
        return self.definitions[kind]

    def _added(self, what: Add) -> tuple[int, Entry]:
        """A new maneuver; where the same was found after all, it is laid over that one."""
        definition = self._definition(what.kind)
        start, end = self.clock.span(what.start), self.clock.span(what.end)
        flight = self._flight_at(start.start, end.start)
        held = self.flights[flight]
        occurrence = lay(
            held.motion,
            definition,
            start=_back(start, held.shift),
            end=_back(end, held.shift),
            direction=what.direction,
        )
        key, entry = len(self.entries), Entry(flight, occurrence, None, None, asked=self.asked)
        for place, other in enumerate(self.entries):
            same = not other.dropped and other.flight == flight and other.occurrence.kind == what.kind
            if same and other.found is not None and _overlap(other.occurrence, occurrence) >= SAME:
                key, entry = place, replace(other, occurrence=occurrence)
        self._refuse_overlap(entry, but=key)
        return key, self._in_stretches(entry)

    def _flight_at(self, start: float, end: float) -> int:
        shared = [
            min(end, one.motion.end + one.shift) - max(start, one.motion.start + one.shift)
            for one in self.flights
        ]
        return max(range(len(shared)), key=shared.__getitem__)

    def _renamed(self, key: int, kind: str) -> Entry:
        entry = self.entries[key]
        one = entry.occurrence
        made = lay(
            self.flights[entry.flight].motion,
            self._definition(kind),
            start=Span(one.start, one.start),
            end=Span(one.end, one.end),
        )
        return self._changed(key, replace(made, flown_by=one.flown_by))

    def _trimmed(self, key: int, what: Trim) -> Entry:
        entry = self.entries[key]
        one, held = entry.occurrence, self.flights[entry.flight]
        edges, eases = [], []
        for moment, old in ((what.start, one.start), (what.end, one.end)):
            edge = Span(old, old) if moment is None else _back(self.clock.span(moment), held.shift)
            edges.append(edge)
            # An edge moved by little must not be drawn back to where it was.
            eases.append(UNTOUCHED if moment is None else min(EASE, 0.5 * edge.gap(old, old)))
        made = lay(
            held.motion,
            self._definition(one.kind),
            start=edges[0],
            end=edges[1],
            ease=(eases[0], eases[1]),
        )
        probability = one.probability
        return self._changed(key, replace(made, flown_by=one.flown_by, probability=probability))

    def _changed(self, key: int, occurrence: Occurrence) -> Entry:
        entry = replace(self.entries[key], occurrence=occurrence)
        self._refuse_overlap(entry, but=key)
        return entry

    def _refuse_overlap(self, entry: Entry, *, but: int) -> None:
        for key, other in enumerate(self.entries):
            if key == but or other.dropped or other.flight != entry.flight:
                continue
            common = min(other.occurrence.end, entry.occurrence.end) - max(
                other.occurrence.start, entry.occurrence.start
            )
            if common > SHARED:
                raise UnfitCorrection(
                    f"it would overlap the {self._title(other.occurrence.kind)} at "
                    f"{self.clock.told(self._start(other))} by {common:.0f} s.",
                    fault="overlap",
                    next_step="Drop, rename or trim that one first.",
                )

    # --- who flew -------------------------------------------------------------------------------------------

    def _stretched(self, what: Stretch, by: str) -> None:
        # Whoever had the airplane from ten to eleven had it also where the recorder was off.
        start = 0.0 if what.start is None else max(self.clock.span(what.start, anywhere=True).start, 0.0)
        end = self.clock.end
        if what.end is not None:
            end = min(self.clock.span(what.end, anywhere=True).start, end)
        if end - start < 1.0:
            raise UnfitCorrection(
                "nothing of the recording lies in that stretch.",
                fault="outside",
                next_step="Give its start and a later end.",
            )
        self.stretches.append(PlacedStretch(what, by, start, end))
        self.entries = [self._in_stretches(each, self.stretches[-1:]) for each in self.entries]

    def _in_stretches(self, entry: Entry, stretches: Sequence[PlacedStretch] | None = None) -> Entry:
        """The maneuver with what the stretches that hold its middle say."""
        middle = self._start(entry) + 0.5 * (entry.occurrence.end - entry.occurrence.start)
        for placed in self.stretches if stretches is None else stretches:
            if placed.start <= middle <= placed.end:
                told = placed.stretch
                entry = replace(
                    entry,
                    student=told.student or entry.student,
                    instructor=told.instructor or entry.instructor,
                )
                entry = entry if told.flown_by is None else _flown(entry, told.flown_by)
        return entry

    # --- the whole ------------------------------------------------------------------------------------------

    def finished(self, outcomes: Sequence[Outcome]) -> Overlaid:
        """Everything in order of flights and time, with marks at their maneuvers."""

        def when(key: int) -> tuple[int, float, int]:
            return self.entries[key].flight, self._start(self.entries[key]), key

        order = sorted(range(len(self.entries)), key=when)
        place = {key: new for new, key in enumerate(order)}
        entries = _chained([self.entries[key] for key in order], self.definitions)
        return Overlaid(
            entries=tuple(entries),
            outcomes=tuple(
                each if each.entry is None else replace(each, entry=place[each.entry]) for each in outcomes
            ),
            marks=tuple(self._placed(*each, entries) for each in self.marks),
            stretches=tuple(self.stretches),
        )

    def _placed(self, mark: Mark, by: str, span: Span, entries: Sequence[Entry]) -> PlacedMark:
        """The maneuver in which the mark falls, else the nearest one."""
        best: tuple[float, float, int] | None = None
        for key, each in enumerate(entries):
            if each.dropped:
                continue
            start = self._start(each)
            end = start + each.occurrence.end - each.occurrence.start
            off = (span.gap(start, end), -span.common(start, end), key)
            best = off if best is None or off < best else best
        time = span.start
        return PlacedMark(mark, by, time, None if best is None else best[2], 0.0 if best is None else best[0])


def _back(span: Span, shift: float) -> Span:
    """The span on the clock of a flight."""
    return Span(span.start - shift, span.end - shift)


def _flown(entry: Entry, by: FlownBy) -> Entry:
    return replace(entry, occurrence=replace(entry.occurrence, flown_by=by))


def _overlap(one: Occurrence, other: Occurrence) -> float:
    common = min(one.end, other.end) - max(one.start, other.start)
    return max(common, 0.0) / max(max(one.end, other.end) - min(one.start, other.start), 1e-9)


def _chained(entries: Sequence[Entry], definitions: Mapping[str, Definition]) -> list[Entry]:
    """Who follows whom without a pause, anew: a corrected neighbor may have begun or broken a chain."""
    made = list(entries)
    standing = [key for key, each in enumerate(made) if not each.dropped]
    for before, after in pairwise([None, *standing]):
        assert after is not None  # only the first is None
        one = made[after].occurrence
        kept = before is not None and _follows(made[before], made[after], definitions)
        made[after] = replace(made[after], occurrence=replace(one, chained=kept))
    return made


def _follows(before: Entry, after: Entry, definitions: Mapping[str, Definition]) -> bool:
    one, other = before.occurrence, after.occurrence
    chains = definitions[other.kind].finder.repeats == "chain" if other.kind in definitions else False
    close = other.start - one.end < DEFAULT.bridge
    return chains and close and one.kind == other.kind and before.flight == after.flight
