"""Facts of a stall and of slow flight that are not read from the draws alone: seen or not seen."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from chalkwing.judge.facts import PRESSURE_MOVED, RPM, RPM_MOVED, SHARE_MOVED, Fact
from chalkwing.judge.flown import Flown
from chalkwing.judge.spells import BREAK_DOUBT
from chalkwing.judge.spells import second_stall as second_places
from chalkwing.units import FOOT, INCH_OF_MERCURY, Floats

SURE = 0.95
BEFORE, AFTER = 5.0, 10.0
"""Seconds before the break that show the power then set, and after it in which power is added to recover."""
REGAINED, REGAINED_WITHIN = 100.0 * FOOT, 120.0
"""How near [m] to the altitude asked for counts as back there, in how many seconds. Our own."""
SOON = 1.5
"""At one row a second the order of what happens closer together than this [s] is not known."""
_ENGINE = (
    ("throttle", 0.01, SHARE_MOVED, "throttle", "%"),
    ("power", 0.01, SHARE_MOVED, "power", "%"),
    ("manifold_pressure", INCH_OF_MERCURY, PRESSURE_MOVED, "manifold pressure", "inHg"),
    ("engine_speed", RPM, RPM_MOVED, "engine speed", "rpm"),
)
"""Channels that show power: SI of one unit, the rise that counts, and their words."""


def middle(flown: Flown, event: str) -> float | None:
    """The median time [s] of an event, None where most draws have none."""
    places = flown.points[0].get(event)
    if places is None or np.mean(np.isfinite(places)) < 0.5:
        return None
    return float(np.nanmedian(flown.time(places)))


def second_stall(flown: Flown) -> Fact:
    """Whether the wing let go a second time within ten seconds of being unloaded."""
    places = second_places(flown)
    share = float(np.mean(np.isfinite(places)))
    if share >= SURE:
        after = float(np.nanmedian(places - flown.points[0]["breaks"])) * flown.interval
        return Fact(1.0, "seen", f"the wing let go again {after:.0f} s after the break", origin="derived")
    if share <= 1.0 - SURE:
        return Fact(0.0, "seen", "no second letting go within 10 s", origin="derived")
    return Fact(None, "seen", f"cannot tell: a second letting go has a probability of {100.0 * share:.0f} %")


def power_added(flown: Flown) -> Fact:
    """Whether power rose about the recovery, and when, from the best of what was recorded."""
    broke = middle(flown, "breaks")
    if broke is None:
        return Fact(None, "seen", "no break was found")
    for name, unit, least, word, spoken in _ENGINE:
        times, values = flown.motion.recording.samples(name)
        before = (times >= broke - BEFORE) & (times < broke - 0.5)
        after = (times >= broke - 0.5) & (times <= broke + AFTER)
        if before.any() and np.count_nonzero(after) >= 3:
            set_before = float(np.median(values[before])) / unit
            return _rise(flown, broke, times[after], values[after] / unit, set_before, least, word, spoken)
    return Fact(None, "seen", "no throttle, power, manifold pressure or engine speed recorded")


def _rise(
    flown: Flown, broke: float, times: Floats, values: Floats, before: float, least: float, word: str,
    unit: str,
) -> Fact:  # fmt: skip
    most = float(np.max(values))
    if most - before < least:
        return Fact(0.0, "seen", f"{word} stayed at {before:.0f} {unit}", origin="measured")
    risen = float(times[np.argmax(values - before >= least)])
    said = f"{word} from {before:.0f} to {most:.0f} {unit}, beginning {risen - broke:+.1f} s from the break"
    unloaded = middle(flown, "unloads")
    if unloaded is not None and abs(risen - unloaded) <= SOON:
        said += "; whether before or after the unloading cannot be told this close"
    elif unloaded is not None:
        said += "; before the unloading" if risen < unloaded else "; after the unloading"
    return Fact(1.0, "seen", said, origin="measured")


def stall_warning(flown: Flown) -> Fact:
    """Whether a recorded stall warning sounded, how long, and how long before the break."""
    begin, end = flown.occurrence.start, flown.occurrence.end
    times, values = flown.motion.recording.samples("stall_warning")
    within = (times >= begin) & (times <= end)
    if np.count_nonzero(within) < 2:
        return Fact(None, "seen", "no stall warning recorded: it is not in the data")
    times, sounding = times[within], values[within] > 0.5
    if not sounding.any():
        return Fact(0.0, "seen", "the warning did not sound", origin="measured")
    lasted = float(np.mean(sounding)) * (end - begin)
    said = f"sounded for {lasted:.0f} s in all"
    broke = middle(flown, "breaks")
    if broke is not None:
        said += f", first {broke - float(times[np.argmax(sounding)]):.1f} s before the break"
    return Fact(1.0, "seen", said, origin="measured")


def altitude_regained(flown: Flown, assigned: float | None) -> Fact:
    """Seconds from the break until the altitude came back within 100 ft of the assigned or entry altitude."""
    broke, motion = middle(flown, "breaks"), flown.motion
    if broke is None:
        return Fact(None, "s", "no break was found")
    aim = motion.at("altitude", flown.occurrence.start) if assigned is None else assigned
    named = "the entry altitude" if assigned is None else "the assigned altitude"
    lowest = middle(flown, "lowest") or broke
    first, last = motion.index(lowest), motion.index(broke + REGAINED_WITHIN)
    off = motion["altitude"][first : last + 1] - aim
    back = np.flatnonzero(off >= -REGAINED)
    if len(back):
        after = float(motion.time[first + back[0]]) - broke
        return Fact(after, "s", f"within 100 ft of {named}", BREAK_DOUBT, "derived")
    nearest = float(np.max(off)) / FOOT
    said = f"not back within 100 ft of {named} in {REGAINED_WITHIN:.0f} s: {nearest:+.0f} ft at the nearest"
    return Fact(None, "s", said)


SEEN: dict[str, Callable[[Flown], Fact]] = {
    "second_stall": second_stall,
    "power_added": power_added,
    "stall_warning": stall_warning,
}
"""By the name of the quantity."""
