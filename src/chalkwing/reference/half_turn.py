"""Half a lazy eight as the program's bounds: what is asked, what may vary, where to start, what came out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.dynamics import PointMass, angle_of_attack_for, load_factor, path_bank, stall_speed
from chalkwing.reference import collocation as program
from chalkwing.reference.collocation import COUNT, LAYOUT, ROWS
from chalkwing.reference.interval import HEIGHT_SCALE, INTERVALS, TIME_SCALE, radau_points
from chalkwing.reference.situation import Situation
from chalkwing.units import STANDARD_GRAVITY, Floats, deg_to_rad, kt_to_mps, rad_to_deg

SHORTEST, LONGEST = 1.5, 90.0
"""Bounds of a leg's duration [s]. A solution that rests on one is no solution: smoothness alone would let
the first and last leg grow without end."""

LEAST_PITCH_SLOPE = 0.05
"""Pitch changes at least so fast [deg/s] inside a leg; else the optimum holds it still for seconds. Twice
that leaves no way to fly a shallow eight: its last leg takes 40 s, and nose-down is only 2 degrees."""

LEAST_PITCH_SHARE = 0.005
"""Where a nose-up is asked for, at least by this share of it a second, if that is less: 0.05 at 10°."""

LEAST_ROLL_SLOPE = 0.004
"""Bank changes at least by this share of its maximum a second inside a leg; at 0.01 none could last 50 s."""

STEEPEST_PITCH = 60.0
_HEADINGS = np.pi / 4.0 * np.arange(1, 5)
_NODES = np.arange(COUNT + 1)
_LEG = np.minimum(_NODES // INTERVALS, 3)
_ROLLING = np.array([1.0, 1.0, -1.0, -1.0])[_LEG]
_PITCHING = np.array([1.0, -1.0, -1.0, 1.0])[_LEG]


@dataclass(frozen=True)
class Task:
    """Half an eight to be solved; SI and radians, airspeeds true, margins equivalent airspeed.

    ``nose_up`` is pitch at 45° above the entry's; None leaves it free, and then ``slowest_margin`` [m/s]
    shapes the turn: what the slowest point has over the stall at the load carried (``top_margin`` sees to it,
    with a margin ``pinned`` at a node). ``margin`` [m/s] is the least of all nodes. It and the last three can
    be relaxed to see what stands in the way.
    """

    situation: Situation
    entry_speed: float
    maximum_bank: float
    nose_up: float | None
    margin: float
    slowest_margin: float | None = None
    pinned: tuple[int, float] | None = None
    full_throttle: float = 1.0
    idle: float = 0.0
    longest: float = LONGEST

    def relaxed(self) -> Task:
        """The same without bounds on throttle and stall, and with time to spare."""
        return replace(self, margin=-1000.0, full_throttle=5.0, idle=-2.0, longest=4.0 * LONGEST)


@dataclass(frozen=True)
class Half:
    """A solved half: the program's ``vector`` and its multipliers, and whether it truly ``solved``."""

    task: Task
    vector: Floats
    bound_multipliers: Floats
    row_multipliers: Floats
    solved: bool
    cost: float

    @property
    def durations(self) -> Floats:
        """Of the four legs [s]."""
        return TIME_SCALE * self.vector[LAYOUT.durations]

    @property
    def throttle(self) -> float:
        """The throttle that closes the turn."""
        return float(self.vector[LAYOUT.throttle[0]])

    @property
    def node_times(self) -> Floats:
        """Times of the 33 nodes [s]."""
        steps = np.repeat(self.durations / INTERVALS, INTERVALS)
        return np.concatenate(([0.0], np.cumsum(steps)))

    def states_at(self, time: Floats) -> Floats:
        """True airspeed [m/s], path angle, air heading [rad] and height change [m] at times, (n, 4)."""
        k, since = self._interval(time)
        places = np.concatenate(([0.0], radau_points()))
        share = since / np.diff(self.node_times)[k]
        states, inner = self.vector[LAYOUT.states], self.vector[LAYOUT.inner]
        known = np.concatenate((states[k, None], inner[k], states[k + 1, None]), axis=1)
        weights = np.ones((len(time), len(places)))
        for i, place in enumerate(places):
            for other in np.delete(places, i):
                weights[:, i] *= (share - other) / (place - other)
        scale = np.array([self.task.entry_speed, 1.0, 1.0, HEIGHT_SCALE])
        result: Floats = np.einsum("ni,nij->nj", weights, known) * scale
        return result

    def _interval(self, time: Floats) -> tuple[program.Indices, Floats]:
        """In which interval each time lies, and how long after its start."""
        times = self.node_times
        k = np.clip(np.searchsorted(times, time, side="right") - 1, 0, COUNT - 1)
        return k, time - times[k]

    def attitude(self, time: Floats) -> tuple[Floats, Floats]:
        """Bank (into the turn) and pitch [rad] at times [s]: exact, from their second derivatives."""
        k, since = self._interval(time)
        start, control = self.vector[LAYOUT.attitudes][k], self.vector[LAYOUT.controls][k]
        bank = start[:, 0] + start[:, 1] * since + 0.5 * control[:, 0] * since**2
        pitch = start[:, 2] + start[:, 3] * since + 0.5 * control[:, 1] * since**2
        return deg_to_rad(bank), deg_to_rad(pitch)

    def margins(self) -> tuple[Floats, Floats]:
        """Times [s] and margins over the stall at the load carried [m/s, equivalent airspeed], finely."""
        airplane = self.task.situation.stall_airplane
        fine = np.linspace(0.0, self.node_times[-1], 8 * COUNT + 1)
        states = self.states_at(fine)
        speed, path, height = states[:, 0], states[:, 1], states[:, 3]
        bank, pitch = self.attitude(fine)
        density: Floats = self.task.situation.density(height)
        attack = angle_of_attack_for(path, pitch, path_bank(path, pitch, bank))
        load = load_factor(airplane, attack, density, speed)
        stalling = stall_speed(airplane, np.maximum(load, 0.0), density)
        return fine, (speed - stalling) * np.sqrt(density / SEA_LEVEL_DENSITY)

    def on_duration_bound(self) -> Literal["shortest", "longest"] | None:
        """Which bound of its duration some leg rests on."""
        if np.any(self.durations < SHORTEST + 0.05):
            return "shortest"
        return "longest" if np.any(self.durations > self.task.longest - 0.05) else None


def solve_half(task: Task, *, start: Half | None = None) -> Half:
    """Run the optimizer on ``task``, from the solution of a task like it or from a plain guess."""
    lowest, highest = _bounds(task)
    least, most = _row_bounds(task)
    solver = program.solver(nearby=start is not None)
    begin: dict[str, Floats] = {"x0": _guess(task)}
    if start is not None:
        begin = {"x0": start.vector, "lam_x0": start.bound_multipliers, "lam_g0": start.row_multipliers}
    answer = solver(
        **begin,
        p=_parameters(task),
        lbx=lowest,
        ubx=highest,
        lbg=least,
        ubg=most,
    )
    vector, of_bounds, of_rows = (np.array(answer[name]).ravel() for name in ("x", "lam_x", "lam_g"))
    half = Half(
        task,
        vector,
        of_bounds,
        of_rows,
        bool(solver.stats()["success"]),
        float(answer["f"]),
    )
    return replace(half, solved=half.solved and half.on_duration_bound() is None)


def _parameters(task: Task) -> Floats:
    heights = np.linspace(-100.0, 400.0, 6)
    density: Floats = task.situation.density(heights)
    quadratic, linear, constant = np.polyfit(heights, np.log(density), 2)
    airplane: PointMass = task.situation.stall_airplane
    return np.array([*airplane, constant, linear, quadratic, task.entry_speed])


def _bounds(task: Task) -> tuple[Floats, Floats]:
    low, high = np.full(program.SIZE, -np.inf), np.full(program.SIZE, np.inf)
    low[LAYOUT.durations], high[LAYOUT.durations] = SHORTEST / TIME_SCALE, task.longest / TIME_SCALE
    low[LAYOUT.throttle], high[LAYOUT.throttle] = task.idle, task.full_throttle
    _bound_states(task, low, high)
    _bound_attitudes(task, low, high)
    return low, high


def _bound_states(task: Task, low: Floats, high: Floats) -> None:
    for places in (LAYOUT.states, LAYOUT.inner):
        low[places] = (0.25, -0.8, -0.3, -4.0)
        high[places] = (2.0, 0.8, 3.5, 12.0)
    first, last = LAYOUT.states[0], LAYOUT.states[-1]
    low[first] = high[first] = (1.0, 0.0, 0.0, 0.0)
    low[last[[0, 3]]] = high[last[[0, 3]]] = (1.0, 0.0)


def _bound_attitudes(task: Task, low: Floats, high: Floats) -> None:
    steepest = float(rad_to_deg(task.maximum_bank))
    level = float(rad_to_deg(task.situation.level_attack(task.entry_speed)))
    bank, roll_rate, pitch, pitch_rate = LAYOUT.attitudes.T
    low[bank], high[bank] = -1.0, steepest
    low[pitch], high[pitch] = -STEEPEST_PITCH, STEEPEST_PITCH
    _one_way(low, high, roll_rate, _ROLLING, LEAST_ROLL_SLOPE * steepest)
    _one_way(low, high, pitch_rate, _PITCHING, least_pitch_slope(task.nose_up))
    at_45, at_90, at_135 = INTERVALS, 2 * INTERVALS, 3 * INTERVALS
    for node, value in ((0, 0.0), (at_45, 0.5), (at_90, 1.0), (at_135, 0.5), (COUNT, 0.0)):
        low[bank[node]] = high[bank[node]] = value * steepest
    low[pitch[[0, at_90, COUNT]]] = high[pitch[[0, at_90, COUNT]]] = level
    # At their highest and lowest, bank and pitch stand still for the instant.
    turning = np.array([roll_rate[at_90], pitch_rate[at_45], pitch_rate[at_135]])
    low[turning] = high[turning] = 0.0


def least_pitch_slope(nose_up: float | None) -> float:
    """How fast pitch must change inside a leg [deg/s], for the nose-up asked for [rad]."""
    if nose_up is None:
        return LEAST_PITCH_SLOPE
    return min(LEAST_PITCH_SLOPE, LEAST_PITCH_SHARE * float(rad_to_deg(nose_up)))


def _one_way(low: Floats, high: Floats, rate: program.Indices, way: Floats, least: float) -> None:
    rising, falling = rate[way > 0], rate[way < 0]
    low[rising], high[falling] = least, -least


def _row_bounds(task: Task) -> tuple[Floats, Floats]:
    least, most = np.zeros(program.ROW_COUNT), np.zeros(program.ROW_COUNT)
    least[ROWS.heading] = most[ROWS.heading] = _HEADINGS
    root = float(np.sqrt(task.situation.density() / SEA_LEVEL_DENSITY))
    least[ROWS.margin], most[ROWS.margin] = task.margin / root / task.entry_speed, np.inf
    if task.pinned is not None:
        row = ROWS.margin[task.pinned[0] - 1]
        least[row] = most[row] = task.pinned[1] / root / task.entry_speed
    if task.nose_up is None:
        least[ROWS.nose_up], most[ROWS.nose_up] = 0.5, STEEPEST_PITCH
    else:
        least[ROWS.nose_up] = most[ROWS.nose_up] = float(rad_to_deg(task.nose_up))
    return least, most


_USUAL_BANK, _USUAL_SPEED = deg_to_rad(30.0), kt_to_mps(100.0)
_USUAL_DURATIONS = np.array([19.0, 8.5, 9.0, 20.0])


def _guess(task: Task) -> Floats:
    """A plausible half: cosine blends between the points, speed from energy, the path a little late."""
    up = deg_to_rad(10.0) if task.nose_up is None else task.nose_up
    level = task.situation.level_attack(task.entry_speed)
    quick = (task.entry_speed / _USUAL_SPEED / (task.maximum_bank / _USUAL_BANK)) ** 0.7
    durations = _USUAL_DURATIONS * np.clip(quick, 0.5, 2.2)
    vector = np.zeros(program.SIZE)
    vector[LAYOUT.durations] = durations / TIME_SCALE
    vector[LAYOUT.throttle] = 0.9 * task.situation.level_throttle(task.entry_speed)
    ends = np.concatenate(([0.0], np.cumsum(durations)))
    times = np.concatenate(([0.0], np.cumsum(np.repeat(durations / INTERVALS, INTERVALS))))
    steepest = task.maximum_bank
    bank = np.interp(times, ends, steepest * np.array([0.0, 0.5, 1.0, 0.5, 0.0]))
    pitch = _blended(times, ends, level + up * np.array([0.0, 1.0, 0.0, -0.4, 0.0]))
    vector[LAYOUT.attitudes] = np.degrees(
        np.column_stack((bank, np.gradient(bank, times), pitch, np.gradient(pitch, times)))
    )
    vector[LAYOUT.states] = _guessed_states(task, times, ends)
    steps = np.diff(times)
    for j, place in enumerate(radau_points()[:-1]):
        vector[LAYOUT.inner[:, j]] = _guessed_states(task, times[:-1] + place * steps, ends)
    return vector


def _guessed_states(task: Task, times: Floats, ends: Floats) -> Floats:
    up = deg_to_rad(10.0) if task.nose_up is None else task.nose_up
    rise = 0.42 * np.sin(up) * task.entry_speed * ends[1]
    most = 0.25 * task.entry_speed**2 / STANDARD_GRAVITY
    height = _blended(times, ends, min(rise, most) * np.array([0.0, 0.75, 1.0, 0.7, 0.0]))
    speed = np.sqrt(task.entry_speed**2 - 2.0 * STANDARD_GRAVITY * np.maximum(height, 0.0))
    finely = np.linspace(0.0, ends[-1], 400)
    climb = np.gradient(
        _blended(finely, ends, min(rise, most) * np.array([0.0, 0.75, 1.0, 0.7, 0.0])), finely
    )
    path = np.arcsin(np.clip(np.interp(times, finely, climb) / speed, -0.4, 0.4))
    heading = np.interp(times, ends, np.concatenate(([0.0], _HEADINGS)))
    return np.column_stack((speed / task.entry_speed, path, heading, height / HEIGHT_SCALE))


def _blended(times: Floats, ends: Floats, values: Floats) -> Floats:
    """Cosine blends from one value to the next."""
    leg = np.clip(np.searchsorted(ends, times, side="right") - 1, 0, len(ends) - 2)
    share = (times - ends[leg]) / (ends[leg + 1] - ends[leg])
    result: Floats = values[leg] + (values[leg + 1] - values[leg]) * 0.5 * (1.0 - np.cos(np.pi * share))
    return result
