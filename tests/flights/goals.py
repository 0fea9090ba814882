"""What a pilot is asked to fly, with the errors they are asked to make. SI; errors: flown minus asked.

Errors are goals, not outcomes: a pilot steers for them, and the truth is measured afterwards from the flight.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Leg:
    """Ordinary flying. With ``turn`` (signed heading change) it ends when turned, else after ``duration``.

    ``vertical`` is hold (at ``altitude`` by the altimeter), climb or descend; a climb or descent without a
    turn ends on reaching ``altitude`` or after ``duration``. ``until_steady`` adds time, if need be, until
    speed and altitude have settled.
    """

    label: str
    altitude: float
    airspeed: float
    duration: float = 30.0
    turn: float = 0.0
    bank: float = 0.35
    vertical: str = "hold"
    flaps: float = 0.0
    power: float | None = None
    until_steady: bool = False


@dataclass(frozen=True)
class LazyEight:
    """One eight, two halves; ``direction`` +1 right first. Errors are those wanted at the two 180° points.

    ``break_off`` is the heading change in radians over both halves after which the pilot gives up.
    """

    direction: int
    bank: float
    pitch_up: float
    altitude_errors: tuple[float, float]
    airspeed_error: float
    heading_errors: tuple[float, float]
    chained: bool = False
    chain_goes_on: bool = False
    break_off: float | None = None


@dataclass(frozen=True)
class Chandelle:
    """A maximum climbing turn of 180°; ``pitch_up`` above the level attitude, at 90°."""

    direction: int
    bank: float
    pitch_up: float
    heading_error: float
    break_off: float | None = None


@dataclass(frozen=True)
class SteepTurn:
    """``turns`` times 360° at ``bank``, with excursions of the stated size wanted on the way."""

    direction: int
    bank: float
    turns: int
    altitude_excursion: float
    airspeed_excursion: float
    bank_excursion: float
    heading_error: float
    add_power: bool
    phase: float
    roll_in_rate: float = 0.14
    straight_into_next: bool = False
    break_off: float | None = None


Goal = Leg | LazyEight | Chandelle | SteepTurn
