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

from chalkwing.reference.interval import (
    DEPTH,
    INTERVALS,
    MOTION_ROWS,
    PARAMETERS,
    POINTS,
    TIME_SCALE,
    WIDTH,
    effort,
    functions,
)

Indices = npt.NDArray[np.int64]

LEGS = 4
COUNT = LEGS * INTERVALS


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
_ROW_SHAPES = ((COUNT, MOTION_ROWS), (LEGS,), (COUNT - 1,), (1,), (2,))


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
_LEG_ENDS = np.arange(INTERVALS - 1, COUNT, INTERVALS)


def _row_of(interval: int, row: int) -> int:
    """The program's row for one interval's row; -1 where the program has no use for it."""
    if row < MOTION_ROWS:
        return int(ROWS.motion[interval, row])
    if row == MOTION_ROWS:
        return int(ROWS.heading[interval // INTERVALS]) if interval in _LEG_ENDS else -1
    return int(ROWS.margin[interval]) if interval < COUNT - 1 else -1


_IPOPT = {
    "print_level": 0,
    "sb": "yes",
    "tol": 1e-6,
    "max_iter": 80,
    "mu_init": 1e-3,
    "mumps_pivot_order": 0,  # minimum degree: the quickest of its orders here
}
_FROM_NEARBY = {
    "mu_init": 1e-4,
    "warm_start_init_point": "yes",
    "warm_start_bound_push": 1e-3,
    "warm_start_bound_frac": 1e-3,
    "warm_start_mult_bound_push": 1e-3,
    "warm_start_slack_bound_push": 1e-3,
    "warm_start_slack_bound_frac": 1e-3,
}
"""How to go on from a solution nearby, multipliers and all: in half the iterations, where it is near."""


@lru_cache(maxsize=2)
def solver(*, nearby: bool = False) -> Any:
    """The optimizer's solver of the program, built at the first call in a process.

    ``nearby`` is for starting from a solution of almost the same task, with its multipliers.
    """
    import casadi as ca

    # The equations of motion call numpy's functions, which are to return the library's own type for symbols.
    ca.GlobalOptions.setNumpyMode(1)
    interval, jacobian, hessian = functions(ca)
    x, p = ca.MX.sym("x", SIZE), ca.MX.sym("p", PARAMETERS)
    seen = ca.reshape(x[COLUMNS.ravel().tolist()], WIDTH, COUNT)
    values = interval.map(COUNT)(seen, ca.repmat(p, 1, COUNT))
    g = ca.vertcat(ca.vec(values)[_picked()], *_linear(x))
    problem = {"x": x, "p": p, "f": _cost(ca, x), "g": g}
    options = {
        "print_time": False,
        "jac_g": _jacobian(ca, x, p, g, seen, jacobian),
        "hess_lag": _hessian(ca, x, p, seen, hessian),
        "ipopt": {**_IPOPT, **_FROM_NEARBY} if nearby else _IPOPT,
    }
    return ca.nlpsol("air_path", "ipopt", problem, options)


def _cost(ca: Any, x: Any) -> Any:
    """The sum of all intervals' costs, from the few variables it hangs on: its slope is wanted often."""
    steps = x[np.repeat(LAYOUT.durations, INTERVALS).tolist()] * (TIME_SCALE / INTERVALS)
    rolling, pitching = (x[LAYOUT.controls[:, column].tolist()] for column in (0, 1))
    return ca.dot(steps, 1.0 + effort(rolling, pitching))


def _picked() -> list[int]:
    """Where, among all intervals' rows, the program's nonlinear rows stand, in the program's order."""
    placed = [(_row_of(k, r), k * DEPTH + r) for k in range(COUNT) for r in range(DEPTH)]
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
    reading = [_row_of(k, r) if _row_of(k, r) >= 0 else ROW_COUNT for k in range(COUNT) for r in range(DEPTH)]
    per_interval = ca.reshape(weights[reading], DEPTH, COUNT)
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
