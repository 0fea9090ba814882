"""How well what was measured on board agrees with what is reconstructed while that channel is withheld."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from chalkwing.motion import Motion
from chalkwing.recordings import Recording, read
from chalkwing.trunk import reconstructions
from chalkwing.units import DEGREE, KNOT, Floats, wrap_compass

ATTITUDE = ("bank", "pitch", "heading_magnetic", "heading_true")
INERTIAL = (
    "roll_rate", "pitch_rate", "yaw_rate", "load_factor", "lateral_load", "longitudinal_load",
    "angle_of_attack", "sideslip",
)  # fmt: skip
PITOT = ("indicated_airspeed", "calibrated_airspeed", "true_airspeed")
WIND = ("wind_from", "wind_speed")
TRACK = (
    "latitude", "longitude", "geometric_altitude", "ground_speed", "track", "velocity_north", "velocity_east",
    "vertical_speed",
)  # fmt: skip
STEEP = 15.0 * DEGREE
LEVEL = 5.0 * DEGREE
FILES = {
    "panel_a": "panel/panel_a.csv.gz",
    "panel_b": "panel/panel_b.csv.gz",
    "uav": "uav/drone_5hz.csv.gz",
    "stall": "stall/deceleration_to_stall.csv.gz",
}


@dataclass(frozen=True)
class Agreement:
    """Reconstructed against measured, in the pilot's unit, at the measured rows of all flights."""

    measured: Floats
    derived: Floats
    sd: Floats

    @property
    def error(self) -> Floats:
        return self.derived - self.measured

    @property
    def correlation(self) -> float:
        return float(np.corrcoef(self.measured, self.derived)[0, 1])

    @property
    def median(self) -> float:
        """Median absolute error."""
        return float(np.median(np.abs(self.error)))

    @property
    def rms(self) -> float:
        return float(np.sqrt(np.mean(self.error**2)))

    @property
    def offset(self) -> float:
        return float(np.median(self.error))

    @property
    def held(self) -> float:
        """Share of rows [%] whose 95 % interval holds what was measured, as it was recorded."""
        return float(100 * np.mean(np.abs(self.error) <= 1.96 * self.sd))

    def where(self, chosen: np.ndarray) -> Agreement:
        return Agreement(self.measured[chosen], self.derived[chosen], self.sd[chosen])


@cache
def recording(path: Path) -> Recording:
    return read(path)[0]


@cache
def motions(path: Path, withheld: tuple[str, ...]) -> tuple[Motion, ...]:
    """The flights of a file, reconstructed without some of its channels."""
    return tuple(flight.motion for flight in reconstructions(path, ignore=withheld).flights)


def without_attitude(path: Path) -> tuple[Motion, ...]:
    return motions(path, (*ATTITUDE, *INERTIAL))


def without_pitot(path: Path) -> tuple[Motion, ...]:
    return motions(path, (*PITOT, *WIND))


def track_alone(path: Path) -> tuple[Motion, ...]:
    """Positions, altitude and velocities over the ground: what a portable receiver writes."""
    every = tuple(sorted(set(recording(path).channels) - set(TRACK)))
    return motions(path, every)


def compare(path: Path, channel: str, quantity: str, unit: float, flown: Iterable[Motion]) -> Agreement:
    """``quantity`` of the Motions against ``channel`` as recorded, outside gaps."""
    time, measured = recording(path).samples(channel)
    columns = []
    for motion in flown:
        inside = (time >= motion.start) & (time <= motion.end)
        inside[inside] &= ~motion.in_gap[[motion.index(at) for at in time[inside]]]
        at = time[inside]
        columns.append(
            [
                measured[inside] / unit,
                np.interp(at, motion.time, motion[quantity]) / unit,
                np.interp(at, motion.time, motion.sds[quantity]) / unit,
            ]
        )
    return Agreement(*(np.concatenate(parts) for parts in zip(*columns, strict=True)))


def bank(path: Path, flown: Iterable[Motion]) -> Agreement:
    return compare(path, "bank", "bank", DEGREE, flown)


def leveled(agreement: Agreement) -> Agreement:
    """The same with the panel's zero offset taken out: the median difference while nearly level."""
    level = np.abs(agreement.measured) * DEGREE < LEVEL
    offset = float(np.median(agreement.error[level])) if level.any() else 0.0
    return Agreement(agreement.measured + offset, agreement.derived, agreement.sd)


@dataclass(frozen=True)
class MeanWind:
    """Where the wind came from [deg true] and its speed [kt], on average, and a component's typical sd."""

    from_deg_true: float
    speed_kt: float
    sd_kt: float


def mean_wind(flown: Iterable[Motion]) -> MeanWind:
    parts = list(flown)
    north, east, sd_north, sd_east = (
        float(np.concatenate([column(motion) for motion in parts]).mean()) / KNOT for column in _WIND_COLUMNS
    )
    comes_from = float(wrap_compass(np.arctan2(-east, -north))) / DEGREE
    return MeanWind(comes_from, float(np.hypot(north, east)), float(np.hypot(sd_north, sd_east) / np.sqrt(2)))


_WIND_COLUMNS: tuple[Callable[[Motion], Floats], ...] = (
    lambda motion: motion["wind_north"],
    lambda motion: motion["wind_east"],
    lambda motion: motion.sds["wind_north"],
    lambda motion: motion.sds["wind_east"],
)


def wind_difference(path: Path, flown: Iterable[Motion]) -> float:
    """RMS length [kt] of the difference between the wind as recorded on board and as reconstructed."""
    kept = recording(path)
    time, comes_from = kept.samples("wind_from")
    speed = np.interp(time, *kept.samples("wind_speed"))
    north, east = -speed * np.cos(comes_from), -speed * np.sin(comes_from)
    squares = []
    for motion in flown:
        inside = (time >= motion.start) & (time <= motion.end)
        off = [
            np.interp(time[inside], motion.time, motion[f"wind_{axis}"]) - recorded[inside]
            for axis, recorded in (("north", north), ("east", east))
        ]
        squares.append(off[0] ** 2 + off[1] ** 2)
    return float(np.sqrt(np.mean(np.concatenate(squares))) / KNOT)


def sections(data: Path) -> dict[str, str]:
    """The tables of real recordings for the accuracy document."""
    from tests.real.passages import files, passage

    passages = [passage(path) for path in files(data)]
    told = ["| recording | airborne hours | flights | what was found |", "| --- | --- | --- | --- |"]
    told += [f"| {each.name} | {each.hours:.1f} | {each.flights} | {each.told()} |" for each in passages]
    rows = [
        "| recording | quantity | correlation | median error | RMS | offset | 95 % band holds |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for name, file in FILES.items():
        path = data / file
        for title, agreement, unit in (
            ("bank", bank(path, without_attitude(path)), "°"),
            ("bank beyond 15°", _steep(bank(path, without_attitude(path))), "°"),
            *_airspeeds(path),
        ):
            rows.append(
                f"| {name} | {title} | {agreement.correlation:.3f} | {agreement.median:.1f}{unit} "
                f"| {agreement.rms:.1f}{unit} | {agreement.offset:+.1f}{unit} | {agreement.held:.0f} % |"
            )
    winds = ["| recording | from what | wind |", "| --- | --- | --- |"]
    for name in ("panel_a", "panel_b", "uav"):
        path = data / FILES[name]
        for title, flown in (
            ("all that was recorded", motions(path, ())),
            ("without pitot", without_pitot(path)),
            ("track alone", track_alone(path)),
        ):
            wind = mean_wind(flown)
            winds.append(
                f"| {name} | {title} | from {wind.from_deg_true:.0f}° true at {wind.speed_kt:.1f} kt, "
                f"each component ±{wind.sd_kt:.1f} kt |"
            )
    winds.append(f"| uav | {_autopilot(data / FILES['uav'])} |")
    return {
        "real passages": "\n".join(told),
        "real agreement": "\n".join(rows),
        "real wind": "\n".join(winds),
    }


def _autopilot(path: Path) -> str:
    """The wind by the drone's own autopilot while it flew, and how far ours lies from it."""
    (flown,) = motions(path, WIND)
    kept = recording(path).between(flown.start, flown.end)
    comes_from, speed = (kept.samples(name)[1] for name in WIND)
    low, middle, high = np.quantile(speed / KNOT, [0.05, 0.5, 0.95])
    return (
        f"the autopilot's own | from {np.median(comes_from) / DEGREE:.0f}° true at {middle:.1f} kt, nine "
        f"tenths of its values from {low:.0f} to {high:.0f} kt; ours lies "
        f"{wind_difference(path, [flown]):.1f} kt from it (RMS of the vector)"
    )


def _steep(agreement: Agreement) -> Agreement:
    return agreement.where(np.abs(agreement.measured) * DEGREE > STEEP)


def _airspeeds(path: Path) -> list[tuple[str, Agreement, str]]:
    """Airspeed as measured against airspeed without a pitot, for whichever was recorded."""
    for channel, quantity in (
        ("indicated_airspeed", "calibrated_airspeed"),
        ("true_airspeed", "true_airspeed"),
    ):
        if channel in recording(path):
            return [("airspeed", compare(path, channel, quantity, KNOT, without_pitot(path)), " kt")]
    return []
