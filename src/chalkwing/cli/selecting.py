"""Which maneuvers of a debrief are shown: those of some kinds, those in a stretch of time."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from chalkwing.cli.refusal import Refused

if TYPE_CHECKING:
    from chalkwing.find.corrections import Clock
    from chalkwing.trunk import Debriefed


def known_kinds(names: Collection[str], folders: tuple[Path, ...] = ()) -> tuple[str, ...]:
    """The kinds that ``names`` mean; only their letters matter. Refuses an unknown one with the list."""
    from chalkwing.maneuvers import definition

    return tuple(definition(re.sub(r"[\s-]+", "_", name.strip().lower()), folders).kind for name in names)


def selected(
    found: Debriefed, *, kinds: Collection[str], start: str | None, end: str | None, zone: str | None
) -> Debriefed:
    """The debrief with only the maneuvers asked for; each keeps its number in the lesson."""
    if not kinds and start is None and end is None:
        return found
    clock = _clock(found, zone)
    first = 0.0 if start is None else _seconds(start, clock, "--from")
    last = clock.end if end is None else _seconds(end, clock, "--to")
    if first >= last:
        raise Refused("--to: it must lie after --from.")
    attempts = tuple(
        each
        for each in found.attempts
        if (not kinds or each.report.kind in kinds)
        and each.report.end_s > first
        and each.report.start_s < last
    )
    marks = tuple(each for each in found.debrief.marks if first <= each.t_s <= last)
    told = replace(found.debrief, maneuvers=tuple(each.report for each in attempts), marks=marks)
    return replace(found, debrief=told, attempts=attempts)


def _clock(found: Debriefed, zone: str | None) -> Clock:
    from chalkwing.cli.text.page import start_utc
    from chalkwing.find.corrections import Clock

    begun = start_utc(found.debrief)
    end = max(each.start_s + each.duration_s for each in found.debrief.recordings)
    return Clock(None if begun is None else datetime.fromisoformat(begun), end, zone)


def _seconds(text: str, clock: Clock, option: str) -> float:
    """A time of day, or minutes or seconds from the earliest row, as a debrief tells them."""
    from chalkwing.errors import UnfitCorrection
    from chalkwing.find.corrections.moments import Moment, read_clock

    counted = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(min|s)?", text.strip())
    written = read_clock(text)
    if counted is None and written is None:
        raise Refused(
            f"{option}: {text!r} is neither a time of day such as 10:42 nor one from the first row such as "
            "12min or 245s."
        )
    if counted is None:
        moment = Moment(clock=written)
    else:
        moment = Moment(seconds=float(counted[1]) * (1.0 if counted[2] == "s" else 60.0))
    try:
        return clock.span(moment).start
    except UnfitCorrection as error:
        raise Refused(f"{option}: {error}") from error
