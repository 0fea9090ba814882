"""Stalls, slow flight and descents of known truth: profiles in which every event's time was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from tests.judge.synthetic import INTERVAL, Error, Flight, Path, fly, level, smooth

from chalkwing.find.occurrence import Border
from chalkwing.units import DEGREE, FOOT, KNOT, STANDARD_GRAVITY, Floats

STALL_SPEED = 50.0 * KNOT
ALTITUDE = 4500.0 * FOOT
BREAK = 24.0
"""Seconds from the start of a stall to its break."""
SETTLE = 30.0
"""Seconds of straight and level flight before everything."""


@dataclass(frozen=True)
class Stalled:
    """A stall's path with what is true of it; times [s] from its start, the height lost [m]."""

    path: Path
    load: Floats
    breaks: float
    lowest: float
    height_lost: float


def stall(
    *, bank: float = 0.0, wing_drop: float = 0.0, load: float = 1.0, again: bool = False, pitch: float = 14.0,
    speed: float = STALL_SPEED, seconds: float = 60.0,
) -> Stalled:  # fmt: skip
    """Slowing by 1 kt a second to ``speed`` * sqrt(``load``) at the break, the wing letting go, a recovery.

    ``bank`` [deg] in the turn, ``wing_drop`` [deg] right positive, ``load`` the load factor until the break;
    ``again``: the pull ends in a second stall.
    """
    fine = 0.01
    t = np.arange(0.0, seconds, fine)
    since = t - BREAK
    loads = np.full(len(t), load)
    loads += (0.6 - load) * smooth(since / 0.5)  # the wing lets go
    loads += 0.4 * smooth((since - 2.0) / 0.8)  # the dive
    loads += 0.3 * smooth((since - 4.0) / 1.0)  # the pull
    end_of_pull = 4.0 + (0.26 if again else 0.0)
    if again:
        loads -= 0.7 * smooth((since - 7.0) / 0.5) - 0.7 * smooth((since - 9.0) / 0.8)
    climb = STANDARD_GRAVITY * np.cumsum(np.where(since > 0.0, loads - 1.0, 0.0)) * fine
    leveled = np.flatnonzero((since > end_of_pull + 1.0) & (climb > 500.0 * FOOT / 60.0))[0]
    climb[leveled:] = 500.0 * FOOT / 60.0
    loads[leveled:] = 1.0
    altitude = ALTITUDE + np.cumsum(climb) * fine
    stalled = speed * np.sqrt(load)
    v = np.where(since < 0.0, stalled - since * KNOT, stalled)
    for k in range(1, len(t)):
        if since[k] >= 0.0:
            v[k] = v[k - 1] - fine * STANDARD_GRAVITY * climb[k] / v[k - 1]
    nose = 4.0 + (pitch - 4.0) * np.clip(t / BREAK, 0.0, 1.0)
    nose += -(pitch + 6.0) * smooth(since / 2.5) + 11.0 * smooth((since - 4.0) / 4.0)
    rolled = bank * smooth(t / 3.0) * (1.0 - smooth((since - 3.0) / 2.0))
    rolled = rolled + wing_drop * smooth(since / 1.5) * (1.0 - smooth((since - 2.5) / 2.0))
    every = round(INTERVAL / fine)
    path = Path(rolled[::every] * DEGREE, v[::every], altitude[::every], nose[::every] * DEGREE)
    lowest = int(np.argmin(altitude))
    return Stalled(path, loads[::every], BREAK, float(t[lowest]), float(ALTITUDE - altitude[lowest]))


def fly_stall(
    one: Stalled, *, kind: str = "power_off_stall", border_error: float = 0.0, border_sd: float = 1.0,
    errors: Mapping[str, Error] | None = None, seed: int | None = None, measured: bool = True,
    samples: Mapping[str, tuple[Floats, Floats]] | None = None, extra: Mapping[str, Floats] | None = None,
) -> Flight:  # fmt: skip
    """Fly it between level stretches; the finder's border of the break is off by ``border_error`` [s]."""
    path = one.path
    before = level(SETTLE, speed=float(path.speed[0]), altitude=float(path.altitude[0]))
    after = level(20.0, speed=float(path.speed[-1]), altitude=float(path.altitude[-1]))
    load = np.concatenate([np.ones(len(before.bank)), one.load, np.ones(len(after.bank))])
    flight = fly(
        [path], kind=kind, before=before, after=after, errors=errors, seed=seed, measured=measured,
        samples=samples, extra={"load_factor": load, **(extra or {})},
    )  # fmt: skip
    border = Border("breaks", SETTLE + one.breaks + border_error, border_sd)
    part = replace(flight.occurrence.parts[0], direction="none")
    occurrence = replace(flight.occurrence, direction="none", parts=(part,), borders=(border,))
    return replace(flight, occurrence=occurrence)


def spell(path: Path, *, kind: str, borders: tuple[Border, ...] = (), **keywords: object) -> Flight:
    """Fly any path as one spell; border times count from its start."""
    before = level(SETTLE, speed=float(path.speed[0]), altitude=float(path.altitude[0]))
    after = level(20.0, speed=float(path.speed[-1]), altitude=float(path.altitude[-1]))
    flight = fly([path], kind=kind, before=before, after=after, **keywords)  # type: ignore[arg-type]
    part = replace(flight.occurrence.parts[0], direction="none")
    moved = tuple(replace(border, time=border.time + SETTLE) for border in borders)
    return replace(
        flight, occurrence=replace(flight.occurrence, direction="none", parts=(part,), borders=moved)
    )
