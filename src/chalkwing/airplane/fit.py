"""The airplane's model fitted to the flight manual's numbers, with what they leave open.

Least squares: each handbook number against what the model of ``dynamics`` would print, over the doubt that
such a number has, together with the generic beliefs (``priors.py``) over theirs. The sd of each fitted number
is from the covariance at the solution, (JᵀJ)⁻¹, widened where the handbook numbers disagree with the model or
with one another by more than their doubts allow. A number that the file gives itself is held.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.airplane import predict
from chalkwing.airplane.bridge import Frame, point_mass
from chalkwing.airplane.handbook import Configuration, Handbook, LevelFlight, Stall
from chalkwing.airplane.least_squares import least_squares
from chalkwing.airplane.priors import Spread, finite_wing_lift_slope, generic_priors, usual_propeller_diameter
from chalkwing.dynamics import PointMass
from chalkwing.units import DEGREE, FOOT_PER_MINUTE, KNOT, STANDARD_GRAVITY, Floats

Origin = Literal["given", "fitted", "assumed"]

STALL_SD, SPEED_SD, GLIDE_SPEED_SD, RATIO_SD, ATTITUDE_SD = 1.0 * KNOT, 0.02, 2.0 * KNOT, 0.05, 1.0 * DEGREE
UNKNOWN_TORQUE_SD = 0.03
CLIMB_SD, CLIMB_SHARE = 30.0 * FOOT_PER_MINUTE, 0.06
"""What a handbook number is worth: rounding, a new airplane, a test pilot's hand. Common practice, no source.
Level speeds and glide ratios relative, the rest absolute; a level speed whose engine speed is unknown is
worth less."""

OPEN = 0.7
"""A number whose sd stays above this share of what was believed before is called poorly determined."""
UNTOUCHED = 0.97
TOGETHER = 0.9
"""From this correlation two numbers are known in combination rather than each."""


@dataclass(frozen=True)
class FittedNumber:
    """A number of the model: its ``sd`` is 0 where the file gave it; ``prior`` is None there."""

    name: str
    value: float
    sd: float
    origin: Origin
    prior: Spread | None


@dataclass(frozen=True)
class Residual:
    """A handbook number beside the model's; ``unit`` is one of kt, ft_per_min, ratio, deg. SI inside.

    ``sd`` is the doubt the handbook number was given in the fit; ``path`` where it stands in the file.
    """

    path: str
    what: str
    unit: str
    handbook: float
    model: float
    sd: float

    @property
    def standardized(self) -> float:
        """Model less handbook over the sd."""
        return (self.model - self.handbook) / self.sd


@dataclass(frozen=True)
class Fit:
    """What came of it.

    ``together`` names pairs of which rather the combination is known, with their correlation; ``at_edge``
    numbers that came to the edge of what is believable; ``widened`` the factor, 1 or more, on every sd.
    """

    numbers: Mapping[str, FittedNumber]
    residuals: tuple[Residual, ...]
    together: tuple[tuple[str, str, float], ...]
    at_edge: tuple[str, ...] = ()
    widened: float = 1.0

    def value(self, name: str) -> float:
        """The value of a number."""
        return self.numbers[name].value

    @property
    def assumed(self) -> tuple[str, ...]:
        """Names of the numbers on which nothing in the file bears."""
        return tuple(n.name for n in self.numbers.values() if n.origin == "assumed")

    @property
    def poorly_determined(self) -> tuple[str, ...]:
        """Names of the numbers that the handbook numbers narrow by less than three tenths, or not at all."""
        return tuple(
            n.name for n in self.numbers.values() if n.prior is not None and n.sd > OPEN * n.prior.sd
        )


def fit(
    frame: Frame,
    handbook: Handbook,
    given: Mapping[str, float],
    *,
    engines: int = 1,
    propeller_diameter: float | None = None,
    rated_engine_speed: float | None = None,
    lapse_known: float | None = None,
) -> Fit:
    """Fit the model to a handbook.

    Parameters
    ----------
    frame, handbook
        Geometry and power; the manual's rows, of which at least one clean stall, or ``given["lift_max"]``.
    given
        Numbers of the model that the file gives itself, SI, by name; they are held.
    engines, propeller_diameter
        For the belief about windmilling drag; the diameter [m] as usual for the power unless known.
    rated_engine_speed
        [rad/s], at which rated power is made.
    lapse_known
        A ``power_dropoff`` that the kind of engine settles.
    """
    held = dict(given)
    if frame.governed:
        held["propeller_drag_open"] = 0.0  # the governor coarsens the blades as power comes on
    if lapse_known is not None:
        held.setdefault("power_dropoff", lapse_known)
    beliefs = _beliefs(frame, engines, propeller_diameter)
    lifts = _largest_lifts(frame, handbook.stalls, held)
    held |= {name: number.value for name, number in lifts.items()}
    free = [name for name in beliefs if name not in held]
    problem = _Problem(frame, handbook, rated_engine_speed, held, free, [beliefs[name] for name in free])
    solution, covariance, at_edge = problem.solve()
    residuals, sds = problem.residuals(solution), np.sqrt(np.diag(covariance))
    widened = problem.disagreement(solution)
    numbers = {name: FittedNumber(name, held[name], 0.0, "given", None) for name in beliefs if name in held}
    for name, value, sd in zip(free, solution, sds, strict=True):
        origin: Origin = "assumed" if sd > UNTOUCHED * beliefs[name].sd else "fitted"
        # However much the numbers disagree, no less is known than before the handbook was opened.
        doubt = min(float(sd) * widened, beliefs[name].sd)
        numbers[name] = FittedNumber(name, float(value), doubt, origin, beliefs[name])
    ordered = {name: numbers[name] for name in beliefs} | lifts
    edges = tuple(name for name, edge in zip(free, at_edge, strict=True) if edge)
    return Fit(ordered, residuals, _together(free, covariance), edges, widened)


def _beliefs(frame: Frame, engines: int, diameter: float | None) -> dict[str, Spread]:
    """What is believed of each number before the handbook is opened."""
    common = generic_priors()
    disk = diameter if diameter is not None else usual_propeller_diameter(frame.power / engines)
    scale = engines * disk**2
    windmilling = Spread(common.propeller_drag.mean * scale, common.propeller_drag.sd * scale)
    return {
        "zero_lift_drag": common.zero_lift_drag,
        "span_efficiency": common.span_efficiency,
        "propeller_efficiency": common.propeller_efficiency,
        "propeller_drag_area": windmilling,
        "propeller_drag_open": windmilling,
        "power_dropoff": common.power_dropoff,
        "lift_slope": Spread(float(finite_wing_lift_slope(frame.aspect_ratio)), common.lift_slope.sd),
        "zero_lift_angle": common.zero_lift_angle,
    }


def _largest_lifts(
    frame: Frame, stalls: Sequence[Stall], held: Mapping[str, float]
) -> dict[str, FittedNumber]:
    """Largest lift coefficients from the stall speeds alone: no belief may move a stall speed."""
    found = {}
    names: tuple[tuple[str, Configuration], ...] = (("lift_max", "clean"), ("lift_max_landing", "landing"))
    for name, configuration in names:
        if name in held:
            found[name] = FittedNumber(name, held[name], 0.0, "given", None)
            continue
        rows = [stall for stall in stalls if stall.configuration == configuration]
        if rows:
            logs = [np.log(_lift(frame, stall)) for stall in rows]
            sds = [2.0 * STALL_SD / stall.speed for stall in rows]
            value = float(np.exp(np.mean(logs)))
            sd = value * float(np.sqrt(np.mean(np.square(sds)) / len(rows)))
            found[name] = FittedNumber(name, value, sd, "fitted", None)
    return found


def _lift(frame: Frame, stall: Stall) -> float:
    pressure = 0.5 * SEA_LEVEL_DENSITY * stall.speed**2
    return stall.mass * STANDARD_GRAVITY / (frame.wing_area * pressure)


def _together(free: Sequence[str], covariance: Floats) -> tuple[tuple[str, str, float], ...]:
    sds = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(sds, sds)
    pairs = [(i, j) for i in range(len(free)) for j in range(i)]
    return tuple(
        (free[j], free[i], float(correlation[i, j])) for i, j in pairs if abs(correlation[i, j]) > TOGETHER
    )


@dataclass(frozen=True)
class _Problem:
    frame: Frame
    handbook: Handbook
    rated_engine_speed: float | None
    held: Mapping[str, float]
    free: Sequence[str]
    beliefs: Sequence[Spread]

    def solve(self) -> tuple[Floats, Floats, list[bool]]:
        """Values of the free numbers, their covariance, and which of them lie on a bound."""
        start = np.array([belief.mean for belief in self.beliefs])
        sds = np.array([belief.sd for belief in self.beliefs])
        bears = any(
            (
                self.handbook.level_flights,
                self.handbook.climbs,
                self.handbook.glides,
                self.handbook.level_attitudes,
            )
        )
        if not bears or not self.free:
            return start, np.diag(sds**2), [False] * len(start)
        # In units of the beliefs' sds the problem is well scaled; 4.5 of them is beyond any airplane, and
        # the low bound keeps every number on the side of zero where it belongs.
        reach = np.minimum(4.5, np.where(start > 0, 0.95 * start / sds, 4.5))
        high = np.full(len(start), 4.5)
        solution, slopes = least_squares(lambda x: self._misfit(start + sds * x), low=-reach, high=high)
        covariance = np.linalg.inv(slopes.T @ slopes) * np.outer(sds, sds)
        at_edge = [bool(edge) for edge in (solution <= -reach) | (solution >= high)]
        return start + sds * solution, covariance.astype(np.float64), at_edge

    def disagreement(self, values: Floats) -> float:
        """Root mean square of the misfit per handbook number, at least 1 (Birge's ratio).

        With as many beliefs as unknowns, the sum of squares is expected to be the count of handbook numbers.
        """
        misfit = self._misfit(values)
        count = len(misfit) - len(values)
        return max(1.0, float(np.sqrt(misfit @ misfit / count))) if count else 1.0

    def residuals(self, values: Floats) -> tuple[Residual, ...]:
        numbers = dict(self.held) | dict(zip(self.free, values.tolist(), strict=True))

        def at(mass: float) -> PointMass:
            return point_mass(self.frame, numbers, mass=mass)

        found: list[Residual] = []
        book = self.handbook
        for stall in book.stalls:
            largest = numbers["lift_max" if stall.configuration == "clean" else "lift_max_landing"]
            speed = predict.stall_speed(at(stall.mass)._replace(max_lift=largest))
            what = f"stall, {stall.configuration}"
            found.append(Residual(stall.path, what, "kt", stall.speed, speed, STALL_SD))
        found.extend(self._level(level, at(level.mass)) for level in book.level_flights)
        for climb in book.climbs:
            rate = predict.climb_rate(at(climb.mass), climb)
            doubt = float(np.hypot(CLIMB_SD, CLIMB_SHARE * climb.rate))
            found.append(Residual(climb.path, "rate of climb", "ft_per_min", climb.rate, rate, doubt))
        for glide in book.glides:
            speed, ratio = predict.best_glide(at(glide.mass))
            if glide.speed is not None:
                found.append(
                    Residual(glide.path, "best glide speed", "kt", glide.speed, speed, GLIDE_SPEED_SD)
                )
            if glide.ratio is not None:
                # A glide a little off its best speed is still the best glide's ratio: the optimum is flat.
                doubt = RATIO_SD * glide.ratio
                found.append(Residual(glide.path, "glide ratio", "ratio", glide.ratio, ratio, doubt))
        for attitude in book.level_attitudes:
            pitch = predict.level_pitch(at(attitude.mass), attitude)
            found.append(Residual(attitude.path, "pitch attitude", "deg", attitude.pitch, pitch, ATTITUDE_SD))
        return tuple(found)

    def _level(self, row: LevelFlight, airplane: PointMass) -> Residual:
        throttle = predict.throttle_for(row, airplane, self.frame, self.rated_engine_speed)
        speed = predict.level_airspeed(
            airplane, throttle=throttle, density=row.density, near=row.true_airspeed
        )
        guessed = not self.frame.governed and row.power_share is not None and row.engine_speed is None
        doubt = float(np.hypot(SPEED_SD, UNKNOWN_TORQUE_SD if guessed else 0.0)) * row.true_airspeed
        return Residual(row.path, "level true airspeed", "kt", row.true_airspeed, speed, doubt)

    def _misfit(self, values: Floats) -> Floats:
        numbers = [r.standardized for r in self.residuals(values) if not r.what.startswith("stall")]
        priors = [(value - b.mean) / b.sd for value, b in zip(values, self.beliefs, strict=True)]
        return np.array(numbers + priors)
