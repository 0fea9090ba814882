"""A turn through the air as a nonlinear program: direct collocation of the equations of motion.

One program serves every airplane and day, because all that differs comes in as parameters and bounds. Four
legs of free duration hold eight intervals each. In an interval the second derivatives of bank and pitch are
constant, so that both attitudes are known exactly; speed, path angle, air heading and height follow the
equations of motion of ``chalkwing.dynamics`` (the same functions, called with symbols) at Radau points of
third degree, which damp the path's quick answer to the nose instead of following it into instability.

The derivatives are those of one interval, evaluated once per interval and put in their places. Left to itself
the optimizer's library would either unroll all 32 (a second to build, 30 MB to keep) or differentiate them
densely (four times slower to solve). So it builds in about a tenth of a second, and nothing is kept on disk.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from chalkwing.dynamics import (
    PointMass,
    air_heading_rate,
    airspeed_rate,
    angle_of_attack_for,
    load_factor,
    nose_offset,
    path_angle_rate,
    path_bank,
    specific_excess_thrust,
    stall_speed,
)
from chalkwing.units import DEGREE, Floats

Indices = npt.NDArray[np.int64]

LEGS, INTERVALS, POINTS = 4, 8, 3
COUNT = LEGS * INTERVALS
TIME_SCALE, HEIGHT_SCALE = 10.0, 100.0
"""Durations [s] and heights [m] of one unit inside the program."""
ROLL_UNIT, PITCH_UNIT = 1.0, 0.5
"""Second derivatives of bank and pitch [deg/s²] that weigh, each second, as much as the second itself."""

AIRPLANE = len(PointMass._fields)
PARAMETERS = AIRPLANE + 4
"""The airplane, three coefficients of the logarithm of density over height, and the entry speed."""


class Layout(NamedTuple):
    """Where each variable stands in the program's vector.

    ``durations`` (4,), ``throttle`` (1,); ``states`` (33, 4) at the nodes and ``inner`` (32, 2, 4) between
    them: airspeed over entry speed, path angle [rad], air heading [rad], height; ``attitudes`` (33, 4): bank
    and its rate, pitch and its rate [degrees, s]; ``controls`` (32, 2): second derivatives of bank and pitch.
    """

    durations: Indices
    throttle: Indices
    states: Indices
    inner: Indices
    attitudes: Indices
    controls: Indices


class Rows(NamedTuple):
    """Where each constraint stands.

    ``motion`` (32, 16), ``heading`` (4,) of the nose at the legs' ends, ``margin`` (31,) over the stall at
    the load carried at the inner nodes [entry speeds], ``nose_up`` (1,) from the start to
    the first leg's end, ``joins`` (2,): roll rate at both ends added up, pitch rate at end less start.
    """

    motion: Indices
    heading: Indices
    margin: Indices
    nose_up: Indices
    joins: Indices


_SHAPES = ((LEGS,), (1,), (COUNT + 1, 4), (COUNT, POINTS - 1, 4), (COUNT + 1, 4), (COUNT, 2))
_ROW_SHAPES = ((COUNT, 4 * POINTS + 4), (LEGS,), (COUNT - 1,), (1,), (2,))


def _numbered(shapes: tuple[tuple[int, ...], ...]) -> list[Indices]:
    ends = np.cumsum([0] + [int(np.prod(shape)) for shape in shapes])
    return [np.arange(a, b).reshape(s) for a, b, s in zip(ends[:-1], ends[1:], shapes, strict=True)]


LAYOUT, ROWS = Layout(*_numbered(_SHAPES)), Rows(*_numbered(_ROW_SHAPES))
SIZE = int(LAYOUT.controls[-1, -1]) + 1
ROW_COUNT = int(ROWS.joins[-1]) + 1


def _interval_columns() -> Indices:
    """Which variables each interval sees, (32, 28): states, attitudes, controls, duration, throttle."""
    leg = np.repeat(LAYOUT.durations, INTERVALS)
    parts = (
        LAYOUT.states[:-1],
        LAYOUT.inner.reshape(COUNT, -1),
        LAYOUT.states[1:],
        LAYOUT.attitudes[:-1],
        LAYOUT.attitudes[1:],
        LAYOUT.controls,
        leg[:, None],
        np.repeat(LAYOUT.throttle, COUNT)[:, None],
    )
    return np.concatenate(parts, axis=1)


COLUMNS = _interval_columns()
_WIDTH = COLUMNS.shape[1]
_MOTION_ROWS = 4 * POINTS + 4
_DEPTH = _MOTION_ROWS + 2
"""Rows of one interval: its motion, then the nose's heading and the stall margin at its end."""
_LEG_ENDS = np.arange(INTERVALS - 1, COUNT, INTERVALS)


def _row_of(interval: int, row: int) -> int:
    """The program's row for one interval's row; -1 where the program has no use for it."""
    if row < _MOTION_ROWS:
        return int(ROWS.motion[interval, row])
    if row == _MOTION_ROWS:
        return int(ROWS.heading[interval // INTERVALS]) if interval in _LEG_ENDS else -1
    return int(ROWS.margin[interval]) if interval < COUNT - 1 else -1


@lru_cache(maxsize=1)
def solver() -> Any:
    """The optimizer's solver of the program, built at the first call in a process."""
    import casadi as ca

    # The equations of motion call numpy's functions, which are to return the library's own type for symbols.
    ca.GlobalOptions.setNumpyMode(1)
    interval, jacobian, hessian = _interval_functions(ca)
    x, p = ca.MX.sym("x", SIZE), ca.MX.sym("p", PARAMETERS)
    seen = ca.reshape(x[COLUMNS.ravel().tolist()], _WIDTH, COUNT)
    values, cost = interval.map(COUNT)(seen, ca.repmat(p, 1, COUNT))
    g = ca.vertcat(ca.vec(values)[_picked()], *_linear(x))
    problem = {"x": x, "p": p, "f": ca.sum2(cost), "g": g}
    options = {
        "print_time": False,
        "jac_g": _jacobian(ca, x, p, g, seen, jacobian),
        "hess_lag": _hessian(ca, x, p, seen, hessian),
        "ipopt": {"print_level": 0, "sb": "yes", "tol": 1e-6, "max_iter": 80, "mu_init": 1e-2},
    }
    return ca.nlpsol("air_path", "ipopt", problem, options)


def radau_points() -> Floats:
    """The collocation points of an interval of length 1; the last is its end."""
    import casadi

    return np.array(casadi.collocation_points(POINTS, "radau"))


def _picked() -> list[int]:
    """Where, among all intervals' rows, the program's nonlinear rows stand, in the program's order."""
    placed = [(_row_of(k, r), k * _DEPTH + r) for k in range(COUNT) for r in range(_DEPTH)]
    return [source for row, source in sorted(placed) if row >= 0]


def _linear(x: Any) -> list[Any]:
    bank_rate, pitch, pitch_rate = (LAYOUT.attitudes[:, column] for column in (1, 2, 3))
    return [
        x[int(pitch[INTERVALS])] - x[int(pitch[0])],
        x[int(bank_rate[0])] + x[int(bank_rate[-1])],
        x[int(pitch_rate[-1])] - x[int(pitch_rate[0])],
    ]


def _linear_entries() -> list[tuple[int, int, float]]:
    """Row, column and value of the derivatives of the linear rows."""
    bank_rate, pitch, pitch_rate = (LAYOUT.attitudes[:, column] for column in (1, 2, 3))
    up, roll, nose = int(ROWS.nose_up[0]), int(ROWS.joins[0]), int(ROWS.joins[1])
    return [
        (up, int(pitch[INTERVALS]), 1.0),
        (up, int(pitch[0]), -1.0),
        (roll, int(bank_rate[0]), 1.0),
        (roll, int(bank_rate[-1]), 1.0),
        (nose, int(pitch_rate[-1]), 1.0),
        (nose, int(pitch_rate[0]), -1.0),
    ]


def _interval_functions(ca: Any) -> tuple[Any, Any, Any]:
    """One interval's rows and cost, the rows' derivatives, and the second derivatives of the Lagrangian."""
    z, p = ca.SX.sym("z", _WIDTH), ca.SX.sym("p", PARAMETERS)
    rows, cost = _interval(ca, z, p)
    weight, cost_weight = ca.SX.sym("l", _DEPTH), ca.SX.sym("s")
    lagrangian = cost_weight * cost + ca.dot(weight, rows)
    second = ca.triu(ca.hessian(lagrangian, z)[0])
    return (
        ca.Function("interval", [z, p], [rows, cost]),
        ca.Function("slopes", [z, p], [ca.jacobian(rows, z)]),
        ca.Function("curvature", [z, p, weight, cost_weight], [second]),
    )


def _interval(ca: Any, z: Any, p: Any) -> tuple[Any, Any]:
    """Rows and cost of one interval: see ``_interval_columns`` for ``z``."""
    nodes = ca.reshape(z[: 4 * (POINTS + 1)], 4, POINTS + 1)
    start, end, control = z[16:20], z[20:24], z[24:26]
    step = z[26] * TIME_SCALE / INTERVALS
    places = ca.collocation_points(POINTS, "radau")
    slopes = ca.collocation_coeff(places)[0]
    rows = []
    for j, place in enumerate(places):
        bank, _, pitch, _ = ca.vertsplit(_attitude(ca, start, control, place * step))
        rates, nose, margin = _motion(ca, nodes[:, j + 1], bank * DEGREE, pitch * DEGREE, z[27], p)
        rows.append(nodes @ slopes[:, j] - step * rates)
    rows += [_attitude(ca, start, control, step) - end, nose, margin]
    effort = (control[0] / ROLL_UNIT) ** 2 + (control[1] / PITCH_UNIT) ** 2
    return ca.vertcat(*rows), step * (1.0 + effort)


def _attitude(ca: Any, start: Any, control: Any, time: Any) -> Any:
    """Bank, its rate, pitch, its rate ``time`` after the interval's start."""
    bank, roll_rate, pitch, pitch_rate = ca.vertsplit(start)
    rolling, pitching = ca.vertsplit(control)
    return ca.vertcat(
        bank + roll_rate * time + 0.5 * rolling * time**2,
        roll_rate + rolling * time,
        pitch + pitch_rate * time + 0.5 * pitching * time**2,
        pitch_rate + pitching * time,
    )


def _motion(ca: Any, state: Any, bank: Any, pitch: Any, throttle: Any, p: Any) -> tuple[Any, Any, Any]:
    """Rates of a state in the program's units, the nose's heading, the margin over the stall."""
    airplane = PointMass(*ca.vertsplit(p[:AIRPLANE]))
    entry_speed = p[AIRPLANE + 3]
    share, climb, heading, up = ca.vertsplit(state)
    speed, height = entry_speed * share, HEIGHT_SCALE * up
    density = ca.exp(p[AIRPLANE] + height * (p[AIRPLANE + 1] + height * p[AIRPLANE + 2]))
    rolled = path_bank(climb, pitch, bank)
    attack = angle_of_attack_for(climb, pitch, rolled)
    load = load_factor(airplane, attack, density, speed)
    excess = specific_excess_thrust(airplane, throttle, load, density, speed)
    rates = ca.vertcat(
        airspeed_rate(climb, excess) / entry_speed,
        path_angle_rate(speed, climb, rolled, load),
        air_heading_rate(speed, climb, rolled, load),
        speed * ca.sin(climb) / HEIGHT_SCALE,
    )
    # Where the wing pushes down there is no stall to keep from; the floor keeps the root's slope finite.
    stalling = stall_speed(airplane, ca.fmax(load, 0.05), density)
    return rates, heading + nose_offset(climb, attack, rolled), (speed - stalling) / entry_speed


def _jacobian(ca: Any, x: Any, p: Any, g: Any, seen: Any, slopes: Any) -> Any:
    """The derivatives of all rows: those of the intervals in their places, then the linear rows'."""
    blocks = slopes.map(COUNT)(seen, ca.repmat(p, 1, COUNT))
    inside = list(zip(*slopes.sparsity_out(0).get_triplet(), strict=True))
    entries: list[tuple[int, int, int]] = []
    for k in range(COUNT):
        for n, (row, column) in enumerate(inside):
            place = _row_of(k, row)
            if place >= 0:
                entries.append((place, int(COLUMNS[k, column]), k * len(inside) + n))
    linear = _linear_entries()
    first = COUNT * len(inside)
    entries += [(row, column, first + n) for n, (row, column, _) in enumerate(linear)]
    numbers = ca.vertcat(blocks.nz[:], ca.DM([value for *_, value in linear]))
    matrix = _placed(ca, entries, numbers, ROW_COUNT)
    return ca.Function("slopes_of_all", [x, p], [g, matrix], ["x", "p"], ["g", "jac_g_x"])


def _hessian(ca: Any, x: Any, p: Any, seen: Any, curvature: Any) -> Any:
    """The second derivatives of the Lagrangian, upper triangle: the intervals' added up where they share."""
    of_cost, of_rows = ca.MX.sym("s"), ca.MX.sym("l", ROW_COUNT)
    # Rows that the program does not use weigh nothing: they read a zero put after the last weight.
    weights = ca.vertcat(of_rows, 0.0)
    reading = [
        _row_of(k, r) if _row_of(k, r) >= 0 else ROW_COUNT for k in range(COUNT) for r in range(_DEPTH)
    ]
    per_interval = ca.reshape(weights[reading], _DEPTH, COUNT)
    blocks = curvature.map(COUNT)(seen, ca.repmat(p, 1, COUNT), per_interval, ca.repmat(of_cost, 1, COUNT))
    inside = list(zip(*curvature.sparsity_out(0).get_triplet(), strict=True))
    entries = []
    for k in range(COUNT):
        for n, (row, column) in enumerate(inside):
            i, j = sorted((int(COLUMNS[k, row]), int(COLUMNS[k, column])))
            entries.append((i, j, k * len(inside) + n))
    matrix = _placed(ca, entries, blocks.nz[:], SIZE)
    names = ["x", "p", "lam_f", "lam_g"]
    return ca.Function("curvature_of_all", [x, p, of_cost, of_rows], [matrix], names, ["triu_hess_gamma_x_x"])


def _placed(ca: Any, entries: list[tuple[int, int, int]], numbers: Any, height: int) -> Any:
    """A sparse matrix with ``SIZE`` columns: each (row, column, n) adds the n-th of ``numbers`` there."""
    places = sorted({(column, row) for row, column, _ in entries})
    order = {place: n for n, place in enumerate(places)}
    pattern = ca.Sparsity.triplet(height, SIZE, [row for _, row in places], [column for column, _ in places])
    to = [order[column, row] for row, column, _ in entries]
    gather = ca.DM.triplet(
        to, [n for *_, n in entries], ca.DM.ones(len(entries)), len(places), numbers.shape[0]
    )
    return ca.MX(pattern, ca.mtimes(gather, numbers))
