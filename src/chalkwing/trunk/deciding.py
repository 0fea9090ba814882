"""What the recordings of a lesson can decide, and how near to a limit they leave things open: in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.debriefs import ManeuverReport
from chalkwing.motion import Motion
from chalkwing.units import DEGREE, FOOT, KNOT
from chalkwing.words import listed

_SURE = 1.645
"""A value this many sds inside or outside its limit is inside or outside with a probability of 0.95."""


@dataclass(frozen=True)
class _Spoken:
    """A kind of limit: its word, the Motion's quantity, its unit, and the half width most often published."""

    word: str
    quantity: str
    unit: str
    scale: float
    usual: float


_SPOKEN = (
    _Spoken("altitude", "altitude", " ft", FOOT, 100.0),
    _Spoken("airspeed", "airspeed", " kt", KNOT, 10.0),
    _Spoken("heading", "heading_true", "°", DEGREE, 10.0),
    _Spoken("bank", "bank", "°", DEGREE, 5.0),
)
_CHANNEL_WORDS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("bank", ("bank",)),
    ("pitch", ("pitch",)),
    ("heading", ("heading_true", "heading_magnetic")),
    ("airspeed", ("indicated_airspeed", "calibrated_airspeed", "true_airspeed")),
    ("pressure altitude", ("pressure_altitude", "altimeter_altitude", "static_pressure")),
)
_TOO_RARE = 0.35
"""Share of a flight without a recorded row near by from which maneuvers cannot be told (see ``find``)."""


def decides(motions: Sequence[Motion], maneuvers: Sequence[ManeuverReport]) -> str:
    """In words: what was recorded, what had to be derived, and how near to a limit nothing can be told."""
    present = {name for motion in motions for name in motion.recording.channels}
    measured = [word for word, names in _CHANNEL_WORDS if present.intersection(names)]
    derived = [word for word, names in _CHANNEL_WORDS if not present.intersection(names)]
    said = []
    if measured:
        said.append(f"Recorded on board: {listed(measured)}.")
    if derived:
        said.append(f"Not recorded, so derived from the path through the air: {listed(derived)}.")
    said.append(_bands(motions, maneuvers))
    rare = [motion for motion in motions if float(np.mean(motion.in_gap)) > _TOO_RARE]
    if rare:
        spacing = max(_row_spacing(motion) for motion in rare)
        said.append(
            f"Rows come only about every {spacing:.0f} s: "
            "which maneuvers were flown, and where they began and ended, cannot be told."
        )
    return " ".join(said)


def _row_spacing(motion: Motion) -> float:
    """Median time [s] between rows of the flight."""
    times = motion.recording.between(motion.start, motion.end).time
    return float(np.median(np.diff(times))) if len(times) > 1 else motion.end - motion.start


def _bands(motions: Sequence[Motion], maneuvers: Sequence[ManeuverReport]) -> str:
    """How far from its limit a value must lie to be decided, and for what no distance is enough."""
    doubts = {spoken: _SURE * _typical_sd(spoken, motions, maneuvers) for spoken in _SPOKEN}
    near = [
        f"{doubt:.{0 if doubt >= 9.5 else 1}f}{spoken.unit} of {spoken.word}"
        for spoken, doubt in doubts.items()
        if doubt < spoken.usual
    ]
    hopeless = [
        f"{spoken.word} (±{spoken.usual:.0f}{spoken.unit})"
        for spoken, doubt in doubts.items()
        if doubt >= spoken.usual
    ]
    said = [f"Nearer to a limit than {listed(near)} it cannot tell inside from outside."] if near else []
    if hopeless:
        said.append(f"For the usual limits of {listed(hopeless)} it is too coarse altogether.")
    return " ".join(said)


def _typical_sd(spoken: _Spoken, motions: Sequence[Motion], maneuvers: Sequence[ManeuverReport]) -> float:
    """The median sd of the elements of this kind, or of the quantity itself where nothing was judged."""
    sds = [
        each.sd
        for maneuver in maneuvers
        for each in maneuver.elements
        if each.sd is not None and each.limit is not None and spoken.word in each.id.split("_")
    ]
    if not sds:
        sds = [float(np.median(motion.sds[spoken.quantity])) / spoken.scale for motion in motions]
    return float(np.median(sds))
