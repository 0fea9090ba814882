"""A point mass flown by Newton's law in the ground's frame: the judge of every planned control history.

Nothing of ``dynamics.equations`` is used here. The state is position and velocity over the ground; lift,
drag, thrust and weight act on it; the air's velocity is subtracted to get the airspeed, so that a wind
gradient acts by itself. ``scipy`` integrates, leg by leg, because controls may jump between legs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import make_interp_spline

from chalkwing.reference import Reference, Situation
from chalkwing.units import Floats

GRAVITY = 9.80665


@dataclass(frozen=True)
class Flown:
    """As integrated: time (n,), position north, east, up [m] and velocity over the ground [m/s], (n, 3)."""

    time: Floats
    position: Floats
    velocity: Floats
    airspeed: Floats
    air_velocity: Floats


def situation_of(reference: Reference) -> Situation:
    return Situation(
        reference.sheet,
        reference.mass,
        reference.conditions,
        reference.entry_altitude,
        float(reference["heading_true"][0]),
    )


def path_bank(reference: Reference) -> Floats:
    """Bank about the velocity, right positive, from the attitude: sin(bank) cos(pitch) / cos(path)."""
    side = np.where(reference["part"] % 2 == 1, 1.0, -1.0) * (1.0 if reference.direction == "right" else -1.0)
    if reference.kind not in ("s_turns", "eights_on_pylons"):
        side = np.full_like(side, 1.0 if reference.direction == "right" else -1.0)
    bank = side * reference["bank_into_turn"]
    return np.arcsin(np.sin(bank) * np.cos(reference["pitch"]) / np.cos(reference["path_angle"]))


def fly(reference: Reference, *, tolerance: float = 1e-9) -> Flown:
    """Fly the Reference's bank, load factor and throttle by time, from its first state."""
    situation = situation_of(reference)
    banks = path_bank(reference)
    speed, climb = reference["true_airspeed"][0], reference["path_angle"][0]
    heading = air_heading(reference, banks)[0]
    wind_north, wind_east = situation.wind(0.0)
    state = np.array(
        [
            0.0,
            0.0,
            0.0,
            speed * np.cos(climb) * np.cos(heading) + wind_north,
            speed * np.cos(climb) * np.sin(heading) + wind_east,
            speed * np.sin(climb),
        ]
    )
    times, states = [np.array([0.0])], [state[:, None]]
    for first, last in _stretches(reference.time):
        inside = slice(first, last + 1)
        time = reference.time[inside]
        degree = min(3, len(time) - 1)
        columns = np.stack((banks[inside], reference["load_factor"][inside], reference["throttle"][inside]))
        controls = make_interp_spline(time, columns.T, k=degree)
        found = solve_ivp(
            lambda t, y, controls=controls: _rates(situation, y, controls(t)),
            (time[0], time[-1]),
            state,
            t_eval=time[1:],
            rtol=tolerance,
            atol=tolerance,
        )
        assert found.success
        state = found.y[:, -1]
        times.append(found.t)
        states.append(found.y)
    table = np.concatenate(states, axis=1).T
    air = np.stack([_air_velocity(situation, row) for row in table])
    return Flown(np.concatenate(times), table[:, :3], table[:, 3:], np.linalg.norm(air, axis=1), air)


def _stretches(time: Floats) -> list[tuple[int, int]]:
    """First and last row of each leg: where one joins the next the instant stands twice."""
    joins = np.flatnonzero(np.diff(time) <= 1e-9)
    edges = [-1, *joins.tolist(), len(time) - 1]
    return [(a + 1, b) for a, b in pairwise(edges) if b - a > 1]


def _air_velocity(situation: Situation, state: Floats) -> Floats:
    north, east = situation.wind(float(state[2]))
    return np.array([state[3] - north, state[4] - east, state[5]])


def _rates(situation: Situation, state: Floats, controls: Floats) -> Floats:
    bank, load, throttle = controls
    air = _air_velocity(situation, state)
    speed = float(np.linalg.norm(air))
    ahead = air / speed
    right = np.array([-ahead[1], ahead[0], 0.0]) / np.hypot(ahead[0], ahead[1])
    above = np.cross(ahead, -right) if np.cross(ahead, -right)[2] > 0 else np.cross(ahead, right)
    lift = load * GRAVITY * (np.cos(bank) * above + np.sin(bank) * right)
    sheet, mass = situation.sheet, situation.mass
    density = float(situation.density(float(state[2])))
    pull = float(sheet.thrust(true_airspeed=speed, density=density, throttle=float(throttle)))
    pull -= float(sheet.drag(true_airspeed=speed, density=density, load_factor=float(load), mass=mass))
    force = lift + pull / mass * ahead - np.array([0.0, 0.0, GRAVITY])
    return np.concatenate((state[3:], force))


def air_heading(reference: Reference, banks: Floats) -> Floats:
    """The direction of flight through the air: the nose less its offset in the bank."""
    attack, climb = reference["angle_of_attack"], reference["path_angle"]
    across = np.sin(attack) * np.sin(banks)
    along = np.cos(attack) * np.cos(climb) - np.sin(attack) * np.cos(banks) * np.sin(climb)
    return reference["heading_true"] - np.arctan2(across, along)


def work(reference: Reference) -> Floats:
    """Energy height gained [m] by the work of thrust and drag along the plan's own speeds."""
    situation = situation_of(reference)
    density = np.asarray(situation.density(reference["height_change"]))
    speed, sheet, mass = reference["true_airspeed"], reference.sheet, reference.mass
    pull = sheet.thrust(true_airspeed=speed, density=density, throttle=reference["throttle"])
    pull = pull - sheet.drag(
        true_airspeed=speed, density=density, load_factor=reference["load_factor"], mass=mass
    )
    rate = speed * pull / (mass * GRAVITY)
    gained = 0.5 * (rate[1:] + rate[:-1]) * np.diff(reference.time)
    return np.concatenate(([0.0], np.cumsum(gained)))


def cut(reference: Reference, part: int, leg: str) -> Reference:
    """The plan of one leg alone, as a Reference that begins there."""
    span = next(each for each in reference.legs if each.part == part and each.name == leg)
    inside = (reference["part"] == part) & (reference.time >= span.start) & (reference.time <= span.end)
    # At a join the instant stands twice; a leg's own rows are the later of the first pair, the earlier of the
    # last.
    rows = np.flatnonzero(inside)
    if reference.time[rows[1]] - reference.time[rows[0]] < 1e-9:
        rows = rows[1:]
    if reference.time[rows[-1]] - reference.time[rows[-2]] < 1e-9:
        rows = rows[:-1]
    values = {name: column[rows] for name, column in reference.values.items()}
    return replace(reference, time=reference.time[rows] - reference.time[rows[0]], values=values)


def wing_and_line(turn: Reference, plan: Reference, part: int) -> tuple[Floats, Floats]:
    """Unit vectors along the low wing and to the pylon, (n, 3) north, east, down, as integrated.

    The pylon stands where the wing points at first, on the ground: as far below as ``entry_height`` and the
    height changed since say.
    """
    started = height_above_pylon(turn, plan)
    flown = fly(turn)
    banks = path_bank(turn)
    side = np.sign(banks[0])
    air = flown.air_velocity / flown.airspeed[:, None]
    ahead = np.stack((air[:, 0], air[:, 1], -air[:, 2]), axis=1)
    right = np.stack((-ahead[:, 1], ahead[:, 0], np.zeros(len(ahead))), axis=1)
    right /= np.linalg.norm(right, axis=1)[:, None]
    below = np.cross(ahead, right)
    wing = side * (np.cos(banks)[:, None] * right + np.sin(banks)[:, None] * below)
    pylon = wing[0] * started / wing[0, 2]
    here = np.stack((flown.position[:, 0], flown.position[:, 1], -flown.position[:, 2]), axis=1)
    line = pylon - here
    return wing, line / np.linalg.norm(line, axis=1)[:, None]


def height_above_pylon(turn: Reference, plan: Reference) -> float:
    return plan.fact("entry_height") + float(turn["height_change"][0] - plan["height_change"][0])


def radius_of_bank_schedule(reference: Reference) -> Floats:
    """Distance from the circle's center [m] flown by bank and load factor against heading, not time."""
    situation = situation_of(reference)
    banks = path_bank(reference)
    headings = air_heading(reference, banks)
    leg = reference.legs[1]
    rows = np.flatnonzero((reference.time > leg.start + 1e-6) & (reference.time < leg.end - 1e-6))
    order = rows[np.argsort(headings[rows])]
    controls = make_interp_spline(
        headings[order], np.stack((banks[order], reference["load_factor"][order]), axis=1), k=3
    )
    first = rows[0]
    turned = [0.0]

    def rates(_: float, state: Floats) -> Floats:
        air = _air_velocity(situation, state)
        heading = float(np.arctan2(air[1], air[0]))
        near = headings[order[0]] if not turned[0] else turned[0]
        heading += 2.0 * np.pi * round((near - heading) / (2.0 * np.pi))
        turned[0] = heading
        bank, load = controls(np.clip(heading, headings[order[0]], headings[order[-1]]))
        return _rates(situation, state, np.array([bank, load, 0.0]))

    level = reference["true_airspeed"][first] * np.cos(reference["path_angle"][first])
    wind_north, wind_east = situation.wind(float(reference["height_change"][first]))
    start = [
        reference["ground_north"][first],
        reference["ground_east"][first],
        reference["height_change"][first],
        level * np.cos(headings[first]) + wind_north,
        level * np.sin(headings[first]) + wind_east,
        reference["true_airspeed"][first] * np.sin(reference["path_angle"][first]),
    ]
    turned[0] = float(headings[first])
    last = float(reference.time[rows[-1]] - reference.time[first])
    found = solve_ivp(rates, (0.0, last), start, rtol=1e-8, atol=1e-8, max_step=0.25)
    north, east = found.y[0], found.y[1]
    table = np.column_stack((2.0 * north, 2.0 * east, np.ones_like(north)))
    center = np.linalg.lstsq(table, north**2 + east**2, rcond=None)[0][:2]
    return np.hypot(north - center[0], east - center[1])


def drag_work(reference: Reference) -> float:
    """Energy height [m] that drag alone takes along the plan: the scale of an energy balance."""
    situation = situation_of(reference)
    density = np.asarray(situation.density(reference["height_change"]))
    speed = reference["true_airspeed"]
    load, mass = reference["load_factor"], reference.mass
    pull = reference.sheet.drag(true_airspeed=speed, density=density, load_factor=load, mass=mass)
    rate = speed * pull / (mass * GRAVITY)
    return float(np.sum(0.5 * (rate[1:] + rate[:-1]) * np.diff(reference.time)))
