"""Common errors as changes of a schedule: what bank, nose or power the pilot flies instead of the plan's.

Everything else stays as planned: a pilot who errs in one thing still flies the rest of the picture, and the
question is what comes of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from chalkwing.maneuvers.vocabulary import Change
from chalkwing.refly.legs import LegSchedule
from chalkwing.units import Floats

_FULL = 0.999
"""Share of the steepest bank that counts as held there."""


def mistaken(schedule: LegSchedule, change: Change, by: float) -> LegSchedule:
    """The schedule with one thing changed ``by`` so much [SI], as ``maneuvers.vocabulary.CHANGES`` says.

    ``entry_speed`` is no part of a schedule: it comes back as it was.
    """
    changed = _WAYS[change](schedule, by)
    return replace(changed, throttle=np.clip(changed.throttle, 0.0, 1.0))


def _coming_off(schedule: LegSchedule) -> float:
    """When the bank begins to come off [s]."""
    bank = schedule.bank_into_turn.ravel()
    return float(schedule.times.ravel()[np.flatnonzero(bank >= _FULL * np.max(bank))[-1]])


def _read(schedule: LegSchedule, rows: Floats, at: Floats) -> Floats:
    """Rows of a schedule at other times [s]; beyond its ends as at the ends."""
    read: Floats = np.interp(at, schedule.times.ravel(), rows.ravel())
    return read


def _nose_late(schedule: LegSchedule, delay: float) -> LegSchedule:
    highest = float(schedule.times.ravel()[np.argmax(schedule.pitch_above_level)])
    at = np.where(schedule.times > highest, np.maximum(highest, schedule.times - delay), schedule.times)
    return replace(schedule, pitch_above_level=_read(schedule, schedule.pitch_above_level, at))


def _nose_behind(schedule: LegSchedule, delay: float) -> LegSchedule:
    pitch = _read(schedule, schedule.pitch_above_level, schedule.times - delay)
    return replace(schedule, pitch_above_level=pitch)


def _nose_down(schedule: LegSchedule, times: float) -> LegSchedule:
    pitch = schedule.pitch_above_level
    return replace(schedule, pitch_above_level=np.where(pitch < 0.0, times * pitch, pitch))


def _nose_creep(schedule: LegSchedule, by: float) -> LegSchedule:
    """The nose goes on by so much while the bank comes off."""
    start = _coming_off(schedule)
    share = np.clip((schedule.times - start) / (schedule.duration - start), 0.0, 1.0)
    return replace(schedule, pitch_above_level=schedule.pitch_above_level + by * share)


def _bank_held(schedule: LegSchedule, delay: float) -> LegSchedule:
    """Held so long, then taken off as planned; where no leg follows to catch up in, all the quicker."""
    start, times = _coming_off(schedule), schedule.times
    left = schedule.duration - start
    in_last = start >= float(schedule.ends[-2]) - 1e-6
    quicker = left / max(left - delay, 0.2 * left) if in_last else 1.0
    at = np.where(times > start, start + quicker * np.maximum(0.0, times - start - delay), times)
    return replace(schedule, bank_into_turn=_read(schedule, schedule.bank_into_turn, at))


def _bank_creep(schedule: LegSchedule, by: float) -> LegSchedule:
    """The bank grows on by so much between the end of rolling in and the beginning of rolling out."""
    bank = schedule.bank_into_turn
    steepest = float(np.max(bank))
    rolled_in = float(schedule.times.ravel()[np.argmax(bank.ravel() >= _FULL * steepest)])
    held = max(_coming_off(schedule) - rolled_in, 1e-6)
    share = np.clip((schedule.times - rolled_in) / held, 0.0, 1.0)
    return replace(schedule, bank_into_turn=bank * (1.0 + by / steepest * share))


def _roll_in(schedule: LegSchedule, times: float) -> LegSchedule:
    """So many times as fast to the bank of the first leg's end, which is there too early."""
    first = float(schedule.durations[0])
    at = np.where(schedule.times < first, np.minimum(times * schedule.times, first), schedule.times)
    return replace(schedule, bank_into_turn=_read(schedule, schedule.bank_into_turn, at))


def _roll_out(schedule: LegSchedule, times: float) -> LegSchedule:
    start = _coming_off(schedule)
    at = np.where(schedule.times > start, start + times * (schedule.times - start), schedule.times)
    return replace(schedule, bank_into_turn=_read(schedule, schedule.bank_into_turn, at))


def _roll_late(schedule: LegSchedule, delay: float) -> LegSchedule:
    """The roll begun so much late; from the first leg's end on as planned."""
    first = float(schedule.durations[0])
    at = np.where(schedule.times <= first, schedule.times - delay, schedule.times)
    return replace(schedule, bank_into_turn=_read(schedule, schedule.bank_into_turn, at))


_WAYS: Mapping[Change, Callable[[LegSchedule, float], LegSchedule]] = {
    "entry_speed": lambda schedule, _: schedule,
    "throttle": LegSchedule.with_more_throttle,
    "nose_up": LegSchedule.with_nose_up,
    "nose_down": _nose_down,
    "nose_late": _nose_late,
    "nose_behind": _nose_behind,
    "nose_creep": _nose_creep,
    "steepest_bank": LegSchedule.with_steepest_bank,
    "bank_held": _bank_held,
    "bank_creep": _bank_creep,
    "roll_in": _roll_in,
    "roll_out": _roll_out,
    "roll_late": _roll_late,
}
