"""The whole debrief on a page: what can be decided, once; then each maneuver; the caution last."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from chalkwing import words
from chalkwing.cli.text.maneuver import INDENT, Truth, print_maneuver
from chalkwing.cli.text.story import correction_lines, in_zone, story_table, unfit_lines
from chalkwing.debriefs import Debrief, ManeuverReport, RecordingReport, WindReport

MOST_WINDS = 6
"""Stretches of wind shown on a page."""


def print_debrief(
    console: Console,
    debrief: Debrief,
    *,
    truths: Mapping[int, Truth] | None = None,
    facts: bool = True,
    zone: str | None = None,
    left_out: int = 0,
) -> None:
    """Print the page. ``truths`` holds true values by the maneuver's place in the list (the demo).

    Times of day are told in ``zone``, UTC unless given. ``left_out`` maneuvers were found and not asked for.
    """
    start = in_zone(start_utc(debrief), zone)
    _print_head(console, debrief, start, zone or "UTC", left_out)
    for k, maneuver in enumerate(debrief.maneuvers):
        flight = debrief.flights[maneuver.flight - 1]
        print_maneuver(
            console,
            maneuver,
            number=maneuver.number or k + 1,
            start_utc=start,
            kinds=(flight.airspeed_kind, flight.altitude_kind),
            truth=None if truths is None else truths.get(k, {}),
            facts=facts,
            remarks=tuple(correction_lines(debrief, maneuver, start)),
        )
    console.print(Text(debrief.caution, style="italic"))


def start_utc(debrief: Debrief) -> str | None:
    """The time of day at which seconds are 0, where it is known."""
    starts = [each.start_utc for each in debrief.recordings if each.start_utc and each.start_s == 0.0]
    return starts[0] if starts else None


def _print_head(console: Console, debrief: Debrief, start: str | None, zone: str, left_out: int) -> None:
    for recording in debrief.recordings:
        console.print(Text(f"Debrief of {recording.source}", style="bold"))
        console.print(_under(_recorded(recording, zone)))
    _print_entry(console, "What this recording can decide", f"{debrief.decides} {words.DOUBT_SAID}")
    _print_entry(console, "Held against", f"{debrief.standard_title}.")
    _print_entry(
        console,
        "Airplane",
        debrief.airplane_title or "none given (--airplane); a broad light airplane stands in.",
    )
    _print_entry(console, "Maneuvers found", _found(debrief, left_out))
    console.print(Text("The lesson", style="dim"))
    console.print(Padding(story_table(debrief, start), (0, 0, 0, INDENT), expand=False))
    unfit = unfit_lines(debrief)
    if unfit:
        _print_entry(console, "Corrections that fit nothing here any more", "\n".join(unfit))
    _print_entry(console, "Wind found", "\n".join(_wind_lines(debrief, start)))
    if debrief.stall_speeds:
        _print_entry(console, "Stall speed of the day", "\n".join(_stall_lines(debrief)))
    notes = words.noted(debrief)
    if notes:
        _print_entry(console, "Noted while reading", "\n".join(notes))
    console.print()


def _recorded(recording: RecordingReport, zone: str) -> str:
    begun = in_zone(recording.start_utc, zone)
    when = f"{begun[:10]} from {words.clock(begun, 0.0)} {zone}, " if begun else ""
    return (
        f"{when}{words.lasting(recording.duration_s)}, {recording.rows:,} rows, "
        f"{len(recording.channels)} channels ({recording.reader})."
    )


def _found(debrief: Debrief, left_out: int) -> str:
    """How many of each kind, in the order in which they were first flown."""
    counts = Counter(_in_text(maneuver.title) for maneuver in debrief.maneuvers)
    more = f" Left out: {left_out} (--only, --from, --to)." if left_out else ""
    if not counts:
        return f"none of those asked for.{more}" if left_out else "none of the known kinds."
    return f"{words.listed([_counted(title, count) for title, count in counts.items()])}.{more}"


def _in_text(title: str) -> str:
    """A title within a sentence; the letter of S-turns stays what it is."""
    return title if title[1:2] == "-" else title[:1].lower() + title[1:]


def _counted(title: str, count: int) -> str:
    """``2 steep turns``; a title that is plural by itself gets how often instead."""
    if title.endswith("s") or "turns" in title:
        return title if count == 1 else f"{title} ({count} times)"
    return f"{count} {title}" if count == 1 else f"{count} {title}s"


def _wind_lines(debrief: Debrief, start: str | None) -> list[str]:
    """Every stretch of a short flight; of a long one those with a maneuver in them, or the first few."""
    rows = debrief.wind
    if len(rows) > MOST_WINDS:
        flown = [row for row in rows if any(_overlaps(row, each) for each in debrief.maneuvers)]
        rows = tuple(flown or rows)[:MOST_WINDS]
    lines = [_wind_line(row, start) for row in rows]
    left = len(debrief.wind) - len(rows)
    return [*lines, f"and {left} stretches more (--format json has all)."] if left else lines


def _overlaps(row: WindReport, maneuver: ManeuverReport) -> bool:
    return row.start_s < maneuver.end_s and row.end_s > maneuver.start_s


def _wind_line(row: WindReport, start: str | None) -> str:
    return (
        f"{words.clock(start, row.start_s)} to {words.clock(start, row.end_s)}, about "
        f"{words.number(round(row.altitude_ft, -2), 0)} ft: {words.wind_from(row)} at {words.wind_speed(row)}"
    )


def _stall_lines(debrief: Debrief) -> Iterator[str]:
    """The same words as on the page and the print, each with how far it can be trusted."""
    # The room of the views loads what draws; only a flight with stalls waits for it.
    from chalkwing.views.stall_speed import stall_speeds_said

    for said, row in zip(stall_speeds_said(debrief), debrief.stall_speeds, strict=True):
        yield f"{said} {words.sentence(row.note)}"


def _print_entry(console: Console, title: str, said: str) -> None:
    console.print(Text(title, style="dim"))
    console.print(_under(said))


def _under(said: str) -> Padding:
    return Padding(Text(said), (0, 0, 0, INDENT), expand=False)
