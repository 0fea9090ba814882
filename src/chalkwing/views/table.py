"""The element table and the one sentence over it, in words: the same on the page and on paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from chalkwing import words
from chalkwing.debriefs import ElementReport, ManeuverReport, Verdict

_STANDS_IN = " stands in: "
_CANNOT_TELL = words.WORDS["cannot_tell"]


@dataclass(frozen=True)
class Row:
    """One element against its limit; every text as it is shown.

    ``doubt`` is the ± of the value, ``doubt_matters`` whether it reaches over the limit. ``told`` says the
    excursions, or why nothing can be told.
    """

    id: str
    half: int | None
    title: str
    which: str
    value: str
    doubt: str
    doubt_matters: bool
    limit: str
    margin: str
    verdict: Verdict
    word: str
    mark: str
    source: str
    told: str
    note: str


@dataclass(frozen=True)
class FactRow:
    """One fact, for which nothing is published: a value for each half, with its ±.

    ``leading`` is one that the definition has told before all others.
    """

    title: str
    values: tuple[str, ...]
    doubts: tuple[str, ...]
    remark: str
    leading: bool = False


@dataclass(frozen=True)
class Table:
    """What is said of one maneuver: the sentence on top, elements, facts, where the limits are from.

    ``leading`` are the facts told first, those that cannot be told among them; ``facts`` are the others.
    """

    sentence: str
    counts: str
    rows: tuple[Row, ...]
    leading: tuple[FactRow, ...]
    facts: tuple[FactRow, ...]
    sources: str
    notes: tuple[str, ...]
    lacking: str


def table_of(report: ManeuverReport) -> Table:
    """The table of one maneuver."""
    judged = [each for each in report.elements if each.verdict is not None]
    every = [each for each in report.elements if each.verdict is None]
    first = [each for id_ in report.leading_facts for each in every if each.id == id_]
    facts = [each for each in every if each.id not in report.leading_facts]
    return Table(
        sentence=sentence(report),
        counts=counts(judged),
        rows=tuple(_row(each, halved=_is_halved(judged)) for each in judged),
        leading=tuple(_fact_rows(first, leading=True)),
        facts=tuple(_fact_rows(facts)),
        sources="; ".join(dict.fromkeys(_source(each) for each in judged if each.document)),
        notes=tuple(_notes(judged)),
        lacking=_lacking(facts),
    )


# --- The sentence -------------------------------------------------------------------------------------------


def sentence(report: ManeuverReport) -> str:
    """What was flown, by whom, what was good, what missed and by how much, what cannot be told."""
    judged = [each for each in report.elements if each.verdict is not None]
    parts = [_good(judged), _missed(judged), _undecided(judged)]
    said = "; ".join(part for part in parts if part) or "nothing published to hold it against"
    return f"{report.title}{_way(report)}{_by(report)}: {said}."


def _way(report: ManeuverReport) -> str:
    way = "" if report.direction == "none" else f", {_first(report)}to the {report.direction}"
    return way + ("" if report.status == "complete" else ", broken off")


def _first(report: ManeuverReport) -> str:
    return "first " if max((point.half for point in report.points), default=1) > 1 else ""


def _by(report: ManeuverReport) -> str:
    whose = {
        "student": report.student or "the student",
        "instructor": report.instructor or "the instructor",
        "shared": "both",
    }
    return f", flown by {whose[report.flown_by]}" if report.flown_by in whose else ""


def _good(judged: Sequence[ElementReport]) -> str:
    good = [each for each in judged if each.verdict == "met"]
    if not good:
        return ""
    if len(good) == len(judged):
        return f"all {len(good)} elements met" if len(good) > 1 else f"{_named(good[0])} met"
    spoiled = {words.table_title(each) for each in judged if each.verdict != "met"}
    names = list(dict.fromkeys(_good_name(each, spoiled) for each in good))
    few = len(names) < 4
    return f"good in {words.listed(names) if few else f'{len(good)} of {len(judged)} elements'}"


def _good_name(element: ElementReport, spoiled: set[str]) -> str:
    """With its half where the other half was not good."""
    title = words.table_title(element)
    half = f" ({words.half_name(element.half)})" if element.half and title in spoiled else ""
    return _lowered(title) + half


def _missed(judged: Sequence[ElementReport]) -> str:
    halved = _is_halved(judged)
    said = []
    for each in judged:
        if each.verdict == "not_met":
            where = f" in the {words.half_name(each.half)}" if halved and each.half else ""
            beyond = words.margin(each)
            much = "" if beyond is None else f" by {words.amount(abs(beyond), each.unit)}"
            said.append(f"{_lowered(words.table_title(each))}{where}{much}")
    return f"missed {words.listed(said)}" if said else ""


def _undecided(judged: Sequence[ElementReport]) -> str:
    names = [_lowered(words.table_title(each)) for each in judged if each.verdict == "cannot_tell"]
    return f"cannot tell {words.listed(list(dict.fromkeys(names)))}" if names else ""


def _named(element: ElementReport) -> str:
    return _lowered(words.short_title(element))


def counts(judged: Sequence[ElementReport]) -> str:
    """How many elements were met, missed and undecided: no verdict over the whole.

    >>> counts([])
    'no element with a published limit'
    """
    if not judged:
        return "no element with a published limit"
    order: tuple[Verdict, ...] = ("met", "not_met", "cannot_tell")
    numbers = {verdict: sum(each.verdict == verdict for each in judged) for verdict in order}
    return ", ".join(f"{number} {words.WORDS[verdict]}" for verdict, number in numbers.items() if number)


# --- Rows ---------------------------------------------------------------------------------------------------


def _row(element: ElementReport, *, halved: bool) -> Row:
    assert element.verdict is not None
    inside = words.margin(element)
    unit = element.unit
    return Row(
        id=element.id,
        half=element.half,
        title=words.table_title(element),
        which=words.half_name(element.half) if halved and element.half else "",
        value=_value(element),
        doubt=_doubt(element),
        doubt_matters=doubt_matters(element),
        limit=words.band(element.limit, unit) if element.limit else "",
        margin="" if inside is None else words.amount(inside, unit, signed=True),
        verdict=element.verdict,
        word=words.WORDS[element.verdict],
        mark=words.MARKS[element.verdict],
        source=_source(element),
        told=_told(element),
        note=words.sentence(element.note) if element.note else "",
    )


def _value(element: ElementReport) -> str:
    if element.value is None:
        return "no value"
    return words.amount(element.value, element.unit, signed=_signed(element))


def doubt_matters(element: ElementReport) -> bool:
    """Whether the ± reaches over the limit, so that it belongs beside the value at once."""
    inside = words.margin(element)
    if element.verdict == "cannot_tell":
        return element.value is not None
    return inside is not None and element.sd is not None and abs(inside) < words.SURE * element.sd


def _doubt(element: ElementReport) -> str:
    if element.sd is None or element.value is None or element.unit == "seen":
        return ""
    suffix, decimals = words.UNITS[element.unit]
    return f"±{words.number(words.SURE * element.sd, max(decimals, 0))}{suffix}"


def _told(element: ElementReport) -> str:
    """Excursions as an examiner tells them; a plain value inside or outside needs no words."""
    if element.verdict == "cannot_tell":
        return words.sentence(element.reason) if element.reason else ""
    left = element.excursions
    if left is None or element.limit is None or left.count == 0:
        return ""
    inside = words.margin(element)
    beyond = 0.0 if inside is None else max(0.0, -inside)
    times = "" if left.count == 1 else f", {left.count} times"
    said = f"{words.amount(beyond, element.unit)} beyond for {words.amount(left.longest_s, 's')}{times}"
    if element.verdict == "met":
        return f"{said}, corrected."
    if element.reason and element.reason.startswith("still outside"):
        return f"{said}, not corrected before the rollout."
    return f"{said}."


def _source(element: ElementReport) -> str:
    return ", ".join(part for part in (element.document, element.edition, element.task) if part)


def _notes(judged: Sequence[ElementReport]) -> Iterator[str]:
    notes = list(dict.fromkeys(each.note for each in judged if each.note))
    standing_in = [note.split(_STANDS_IN)[0] for note in notes if _STANDS_IN in note]
    standing_in = [f"{each} of bank" if each.startswith("about") else each for each in standing_in]
    if standing_in:
        yield f"Nothing was assigned, so these stand in: {words.listed(standing_in)}."
    yield from (words.sentence(note) for note in notes if _STANDS_IN not in note)


# --- Facts --------------------------------------------------------------------------------------------------


def _fact_rows(facts: Sequence[ElementReport], *, leading: bool = False) -> Iterator[FactRow]:
    """One row a fact, its halves side by side. A leading one without a value says so in its place."""
    rows: dict[str, list[ElementReport]] = {}
    for each in facts:
        if each.value is not None or leading:
            rows.setdefault(each.id, []).append(each)
    for these in rows.values():
        remarks = [each.note for each in these if each.note and _STANDS_IN not in each.note]
        remarks += [each.reason for each in these if each.reason]
        yield FactRow(
            title=these[0].title,
            values=tuple(
                _CANNOT_TELL if each.value is None else words.amount(each.value, each.unit) for each in these
            ),
            doubts=tuple(_doubt(each) for each in these),
            remark=" ".join(
                words.sentence(text.removeprefix(f"{_CANNOT_TELL}: ")) for text in dict.fromkeys(remarks)
            ),
            leading=leading,
        )


def _lacking(facts: Sequence[ElementReport]) -> str:
    """The facts that have no value, and why."""
    without = [each for each in facts if each.value is None]
    if not without:
        return ""
    names = list(dict.fromkeys(_named(each) for each in without))
    reasons = list(dict.fromkeys(each.reason.rstrip(".") for each in without if each.reason))
    return f"Without a value: {words.listed(names)}" + (f" ({'; '.join(reasons)})." if reasons else ".")


def _is_halved(judged: Sequence[ElementReport]) -> bool:
    return max((each.half or 1 for each in judged), default=1) > 1


def _signed(element: ElementReport) -> bool:
    """Deviations carry their sign; absolute values, such as a height above ground, do not."""
    return element.limit is None or element.limit[0] is None or element.limit[0] <= 0


def _lowered(title: str) -> str:
    return title[:1].lower() + title[1:]
