"""The requirement's table: each measure, its bound for each column, and how it is told."""

from __future__ import annotations

from dataclasses import dataclass

from tests.flights.accuracy import statistics as of
from tests.flights.accuracy.statistics import Figure, OfSums, OfValues


@dataclass(frozen=True)
class Bound:
    """From ``low`` to ``high``, both ends included."""

    low: float | None = None
    high: float | None = None

    def miss(self, value: float) -> float:
        """By how much the bound is missed; 0 when met."""
        below = self.low - value if self.low is not None else 0.0
        above = value - self.high if self.high is not None else 0.0
        return max(below, above, 0.0)

    def told(self, unit: str) -> str:
        if self.low is not None and self.high is not None:
            return f"{self.low:g} to {self.high:g}{unit}"
        return f"≥ {self.low:g}{unit}" if self.low is not None else f"≤ {self.high:g}{unit}"


@dataclass(frozen=True)
class Measure:
    """One row: ``bounds`` by column; None where the requirement asks for nothing there."""

    title: str
    unit: str
    digits: int
    of: OfSums | OfValues
    bounds: dict[str, Bound | None]

    def told(self, figure: Figure) -> str:
        return f"{figure.value:.{self.digits}f}{self.unit}"

    def interval(self, figure: Figure) -> str:
        return f"{figure.low:.{self.digits}f} to {figure.high:.{self.digits}f}"

    def outcome(self, figure: Figure, bound: Bound | None) -> str:
        """Whether the value as it is told meets its bound, else by how much it misses."""
        if bound is None:
            return "no bound"
        miss = bound.miss(round(figure.value, self.digits))
        return "met" if miss == 0.0 else f"**missed by {miss:.{self.digits}f}{self.unit}**"


def _two(avionics: float, track: float, *, least: bool = False) -> dict[str, Bound | None]:
    def bound(value: float) -> Bound:
        return Bound(low=value) if least else Bound(high=value)

    return {"avionics": bound(avionics), "track": bound(track), "track+sheet": bound(track)}


_PITCH: dict[str, Bound | None] = {
    "avionics": Bound(high=1.0), "track": None, "track+sheet": Bound(high=3.0)
}  # fmt: skip
_HOLD: dict[str, Bound | None] = dict.fromkeys(("avionics", "track", "track+sheet"), Bound(90.0, 98.0))

COVERED = {
    "bank": "bank",
    "pitch": "pitch",
    "calibrated_airspeed": "calibrated airspeed",
    "heading_true": "true heading",
    "wind components": "wind, each component",
}

MEASURES: tuple[Measure, ...] = (
    Measure("bank, RMS in maneuvers outside gaps", "°", 2, of.rms("bank"), _two(1.0, 2.0)),
    Measure("pitch, RMS in maneuvers outside gaps", "°", 2, of.rms("pitch"), _PITCH),
    Measure("calibrated airspeed, RMS in maneuvers outside gaps", " kt", 2,
            of.rms("calibrated_airspeed"), _two(1.5, 3.5)),
    Measure("wind vector, RMS after the first 360° of turning", " kt", 2, of.rms("wind vector"), _two(2, 3)),
    Measure("exit minus entry of a lazy eight: altitude, RMS", " ft", 1,
            of.eight_change("altitude"), _two(12, 20)),
    Measure("exit minus entry of a lazy eight: airspeed, RMS", " kt", 2,
            of.eight_change("calibrated_airspeed"), _two(1.5, 3)),
    Measure("exit minus entry of a lazy eight: heading, RMS", "°", 2,
            of.eight_change("heading_true"), _two(1.5, 3)),
    *(
        Measure(f"95 % intervals that hold the truth: {words}", " %", 1, of.coverage(name), _HOLD)
        for name, words in COVERED.items()
    ),
    *(
        Measure(f"sharpness, mean sd / RMS: {words}", "", 2, of.sharpness(name), _two(1.5, 1.5))
        for name, words in COVERED.items()
    ),
    Measure("maneuvers found, F1 at IoU ≥ 0.5", "", 3, of.f1(), _two(0.98, 0.95, least=True)),
    Measure("start, median error", " s", 1, of.edge("start", 0.5), _two(2, 3)),
    Measure("start, p90 error", " s", 1, of.edge("start", 0.9), _two(6, 10)),
    Measure("end, median error", " s", 1, of.edge("end", 0.5), _two(2, 3)),
    Measure("end, p90 error", " s", 1, of.edge("end", 0.9), _two(6, 10)),
    Measure("verdicts that contradict the truth", " %", 1, of.contradictions(), _two(1, 2)),
    Measure("elements that cannot be told", " %", 1, of.undecided(), _two(10, 25)),
)  # fmt: skip
"""The rows of "What it must show" that lessons decide; false maneuvers come from ordinary flying."""
