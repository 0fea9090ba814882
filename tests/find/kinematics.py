"""Flights drawn by hand: bank, path angle and speed against time, integrated to heading and altitude.

No dynamics and no controller: quick, exact and easy to reason about, for unit tests of the finder. How well
it finds what an airplane flies is measured on simulated lessons instead (``test_accuracy.py``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, Floats

INTERVAL = 0.25
ENTRY_SPEED = 105.0 * KNOT
CHAINED = 4.0
LEVEL = 2.0 * DEGREE  # as a roll-in's start and a rollout's end are defined


@dataclass(frozen=True)
class Flown:
    """What was drawn: its kind, direction (+1 right), start and end [s], and the passages between parts."""

    kind: str
    direction: int
    start: float
    end: float
    passages: tuple[float, ...] = ()
    status: str = "complete"


@dataclass
class Sketch:
    """A flight being drawn. Every stretch appends samples of bank, path angle [rad] and speed [m/s]."""

    bank: list[Floats] = field(default_factory=list)
    path_angle: list[Floats] = field(default_factory=list)
    speed: list[Floats] = field(default_factory=list)
    flown: list[Flown] = field(default_factory=list)

    @property
    def now(self) -> float:
        return INTERVAL * sum(len(part) for part in self.bank)

    def stretch(
        self, bank: Floats, path_angle: Floats | float = 0.0, speed: Floats | float | None = None
    ) -> None:
        """Append samples; with no speed, energy is kept from where the flight now is."""
        path = np.broadcast_to(np.asarray(path_angle, dtype=float), bank.shape).copy()
        if speed is None:
            speed = _kept_energy(path, self._speed_now())
        self.bank.append(np.asarray(bank, dtype=float))
        self.path_angle.append(path)
        self.speed.append(np.broadcast_to(np.asarray(speed, dtype=float), bank.shape).copy())

    def _speed_now(self) -> float:
        return float(self.speed[-1][-1]) if self.speed else ENTRY_SPEED

    def level(self, seconds: float, *, speed: float = ENTRY_SPEED) -> Sketch:
        """Straight and level, coming smoothly to ``speed``."""
        count = round(seconds / INTERVAL)
        start = self._speed_now()
        blend = np.clip(np.arange(count) * INTERVAL / 15.0, 0.0, 1.0)
        self.stretch(np.zeros(count), 0.0, start + (speed - start) * blend)
        return self

    def turn(
        self,
        heading: float,
        *,
        bank: float,
        roll_in: float = 3.0,
        climb: float = 0.0,
        speed: float | None = None,
        kind: str | None = None,
    ) -> Sketch:
        """A turn through ``heading`` (right positive) at ``bank``, climbing at ``climb``, all in degrees."""
        side = int(np.sign(heading))
        speed = self._speed_now() if speed is None else speed

        def drawn(seconds: float) -> tuple[Floats, Floats, Floats]:
            t = _clock(seconds)
            rolled = np.clip(np.minimum(t, seconds - t) / roll_in, 0.0, 1.0)
            shape = 0.5 - 0.5 * np.cos(np.pi * rolled)
            return side * bank * DEGREE * shape, climb * DEGREE * shape, np.full(len(t), speed)

        self._fitted(drawn, abs(heading), kind, side)
        return self

    def half(
        self, heading: float, *, peak_bank: float = 30.0, peak_path: float = 9.0, drop: float = 1.0
    ) -> tuple[float, float]:
        """One half of a lazy eight through ``heading`` degrees; where it starts and is level again [s]."""
        side = float(np.sign(heading))
        entry = self._speed_now()

        def drawn(seconds: float) -> tuple[Floats, Floats, Floats]:
            phase = _clock(seconds) / seconds
            bank = side * peak_bank * DEGREE * np.sin(np.pi * phase) ** 1.3
            path = peak_path * DEGREE * np.sin(2 * np.pi * phase)
            path = np.where(path < 0, path * drop, path)
            return bank, path, _kept_energy(path, entry)

        return self._fitted(drawn, abs(heading), None, int(side))

    def lazy_eight(self, first: int = 1, **shape: float) -> Sketch:
        """Two halves, the first to the right if ``first`` is +1."""
        passed_level = bool(self.flown) and self.now - self.flown[-1].end < CHAINED
        if passed_level:
            self.flown[-1] = replace(self.flown[-1], end=self.now)  # it ends where the wings pass level
        begun = self.now
        start, _ = self.half(180.0 * first, **shape)
        start = begun if passed_level else start
        passage = self.now
        _, end = self.half(-180.0 * first, **shape)
        self.flown.append(Flown("lazy_eight", first, start, end, (passage,)))
        return self

    def chandelle(
        self, first: int = 1, *, bank: float = 30.0, path: float = 9.0, heading: float = 180.0
    ) -> Sketch:
        """Constant bank to half way while the nose rises, then the bank taken off steadily."""
        entry = self._speed_now()

        def drawn(seconds: float) -> tuple[Floats, Floats, Floats]:
            t = _clock(seconds)
            half = 0.42 * seconds
            rolled = np.clip(t / 3.0, 0.0, 1.0) * np.clip((seconds - t) / (seconds - half), 0.0, 1.0)
            rise = np.interp(t / seconds, [0.0, 0.42, 0.8, 1.0], [0.0, 1.0, 0.7, 0.2])
            climb = path * DEGREE * rise
            return first * bank * DEGREE * rolled, climb, np.maximum(_kept_energy(climb, entry), 28.0)

        self._fitted(drawn, heading, "chandelle", first)
        return self

    def _fitted(
        self,
        drawn: Callable[[float], tuple[Floats, Floats, Floats]],
        heading: float,
        kind: str | None,
        side: int,
    ) -> tuple[float, float]:
        """Append what ``drawn`` gives for the duration that turns the nose through ``heading`` degrees."""
        low, high = 2.0, 600.0
        for _ in range(40):
            middle = 0.5 * (low + high)
            bank, _, speed = drawn(middle)
            turned = abs(float(np.sum(_turn_rate(bank, speed)))) * INTERVAL / DEGREE
            low, high = (middle, high) if turned < heading else (low, middle)
        start = self.now
        bank, path, speed = drawn(high)
        self.stretch(bank, path, speed)
        banked = np.flatnonzero(np.abs(bank) > LEVEL)
        level = start + INTERVAL * (1 + int(banked[-1]))
        start += INTERVAL * int(banked[0])
        if kind is not None:
            self.flown.append(Flown(kind, side, start, level))
        return start, level

    def table(self) -> dict[str, Floats]:
        """Everything a Motion holds that the finder reads, without noise."""
        bank, path = np.concatenate(self.bank), np.concatenate(self.path_angle)
        speed = np.concatenate(self.speed)
        altitude = 1500.0 + np.cumsum(speed * np.sin(path)) * INTERVAL
        turn_rate = _turn_rate(bank, speed)
        heading = np.cumsum(turn_rate) * INTERVAL
        load = 1.0 / np.cos(bank)
        return truth_table(
            time=np.arange(len(bank), dtype=np.float64) * INTERVAL,
            bank=bank,
            pitch=path + 4.0 * DEGREE * load * (50.0 / speed) ** 2,
            heading=heading,
            altitude=altitude,
            speed=speed,
        )


def truth_table(
    *, time: Floats, bank: Floats, pitch: Floats, heading: Floats, altitude: Floats, speed: Floats
) -> dict[str, Floats]:
    """The quantities the finder reads, completed from six that define the rest."""
    vertical = np.gradient(altitude, time)
    return {
        "time": time,
        "bank": bank,
        "roll_rate": np.gradient(bank, time),
        "pitch": pitch,
        "pitch_rate": np.gradient(pitch, time),
        "heading_true": heading,
        "turn_rate": np.gradient(heading, time),
        "path_angle": np.arcsin(np.clip(vertical / np.maximum(speed, 1.0), -1.0, 1.0)),
        "altitude": altitude,
        "geometric_altitude": altitude,
        "pressure_altitude": altitude,
        "vertical_speed": vertical,
        "airspeed": speed,
        "true_airspeed": speed,
        "calibrated_airspeed": speed,
        "load_factor": 1.0 / np.maximum(np.cos(bank), 0.2),
        "specific_energy": altitude + speed**2 / (2 * STANDARD_GRAVITY),
        "specific_energy_rate": np.gradient(altitude + speed**2 / (2 * STANDARD_GRAVITY), time),
    }


def _clock(seconds: float) -> Floats:
    return np.arange(max(round(seconds / INTERVAL), 2), dtype=np.float64) * INTERVAL


def _turn_rate(bank: Floats, speed: Floats) -> Floats:
    return np.asarray(STANDARD_GRAVITY * np.tan(bank) / speed)


def _kept_energy(path: Floats, entry: float) -> Floats:
    """Speed along ``path`` when height is traded for speed and nothing else: dV/dt = -g sin(path)."""
    return np.maximum(entry - np.cumsum(STANDARD_GRAVITY * np.sin(path)) * INTERVAL, 25.0)


def mirrored(table: Mapping[str, Floats]) -> dict[str, Floats]:
    """The same flight with left and right exchanged."""
    odd = {"bank", "roll_rate", "heading_true", "turn_rate"}
    return {name: -values if name in odd else values for name, values in table.items()}
