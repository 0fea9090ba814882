"""What the ideal pilot does at every instant, told in numbers: the load factor and bank that meet the task.

A law is a way to bank and a way to go up or down, each a tuple of numbers, and so is the event that ends it.
The formulas are written once: as plain Python they answer for one instant, and the compiled kernel that flies
a whole phase (``air_kernel``) calls the same code. The airspeed and the path angle are approached with a lag
of about what a pilot takes; bank and load factor are exact.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from chalkwing.compiled import compilable
from chalkwing.dynamics import (
    PointMass,
    angle_of_attack,
    lift_coefficient,
    nose_offset,
    specific_excess_thrust,
    state_rates,
)
from chalkwing.refly import AirColumn
from chalkwing.units import STANDARD_GRAVITY


class AirState(NamedTuple):
    """Position over the ground [m] from the entry, true airspeed [m/s], path angle and air heading [rad]."""

    north: float
    east: float
    height: float
    true_airspeed: float
    path_angle: float
    air_heading: float


class Controls(NamedTuple):
    """Bank about the velocity [rad, right positive], load factor, throttle."""

    bank: float
    load_factor: float
    throttle: float


class LocalAir(NamedTuple):
    """The air at one height: density [kg/m³], its velocity [m/s] and the change of that with height [1/s]."""

    density: float
    wind_north: float
    wind_east: float
    wind_north_gradient: float
    wind_east_gradient: float


ROLLED, EASED, FOLLOWED, CIRCLED = 0, 1, 2, 3


class Banking(NamedTuple):
    """How the bank is found, all angles [rad], right positive.

    ``ROLLED``: from ``start`` to ``bank`` at ``rate`` [rad/s, unsigned], then held. ``EASED``: ``bank`` taken
    off by the heading left to ``heading``, of ``angle`` (unsigned) in all. ``FOLLOWED``: the course
    ``heading`` made good with at most ``bank``, in ``lag`` [s]. ``CIRCLED``: a circle of ``radius`` [m, right
    positive] over the ground.
    """

    how: int
    bank: float = 0.0
    start: float = 0.0
    rate: float = 0.0
    heading: float = 0.0
    angle: float = 1.0
    lag: float = 1.0
    radius: float = math.inf


SPEED_HELD, LEVEL_HELD = 0, 1


class Rising(NamedTuple):
    """How the path is led up or down, and the throttle.

    ``SPEED_HELD``: the true airspeed ``level + slope h + curve h²`` by height h [m] is held by the path angle
    at a ``throttle``, come back to in ``speed_lag`` [s] with an acceleration between ``least`` and ``most``
    [m/s²]. ``LEVEL_HELD``: the path goes level with a lift of at most ``pull`` upward, at a ``throttle``, or
    where that is nan at the one that holds the speed. Both with a lag of ``path_lag`` [s].
    """

    how: int
    path_lag: float
    throttle: float
    level: float = 0.0
    slope: float = 0.0
    curve: float = 0.0
    speed_lag: float = 1.0
    least: float = -math.inf
    most: float = math.inf
    pull: float = math.inf


class Linear(NamedTuple):
    """A sum: a constant, and weights of the time since the phase began [s] and of each part of the state."""

    constant: float = 0.0
    time: float = 0.0
    north: float = 0.0
    east: float = 0.0
    height: float = 0.0
    true_airspeed: float = 0.0
    path_angle: float = 0.0
    air_heading: float = 0.0


PLAIN, BANKED, NOSED, TURNED = 0, 1, 2, 3


class Ending(NamedTuple):
    """What is below zero until a phase is over: the smaller of two sums, and what ``how`` adds to the first.

    ``BANKED``: less the size of the bank that ``banking`` asks for. ``NOSED``: the nose's offset from the air
    heading in a level turn at the bank of ``banking``. ``TURNED``: the heading that a roll-out takes from the
    bank of ``banking`` at its rate, less the heading left to the one that makes good its ``heading``.
    """

    how: int
    first: Linear
    second: Linear
    banking: Banking


@compilable
def air_at(column: AirColumn, height: float) -> LocalAir:
    """The air [m] above the entry, from a column of even steps; beyond it its ends hold."""
    heights = column.height
    spacing = heights[1] - heights[0]
    k = min(max(int((height - heights[0]) // spacing), 0), len(heights) - 2)
    over = min(max(height - heights[k], 0.0), spacing)
    thinning = (column.density[k + 1] - column.density[k]) / spacing
    north = (column.wind_north[k + 1] - column.wind_north[k]) / spacing
    east = (column.wind_east[k + 1] - column.wind_east[k]) / spacing
    return LocalAir(
        column.density[k] + thinning * over,
        column.wind_north[k] + north * over,
        column.wind_east[k] + east * over,
        north,
        east,
    )


@compilable
def air_ahead(state: AirState, air: LocalAir) -> float:
    """Acceleration [m/s²] of the air along the heading that climbing through its gradient meets."""
    climb = state.true_airspeed * math.sin(state.path_angle)
    north, east = air.wind_north_gradient * climb, air.wind_east_gradient * climb
    return north * math.cos(state.air_heading) + east * math.sin(state.air_heading)


@compilable
def lift_upward(state: AirState, air: LocalAir, path_angle: float, lag: float) -> float:
    """Load factor times cos(bank) with which the path goes to ``path_angle`` [rad] within the lag."""
    rate = (path_angle - state.path_angle) / lag
    curving = state.true_airspeed * rate - air_ahead(state, air) * math.sin(state.path_angle)
    return math.cos(state.path_angle) + curving / STANDARD_GRAVITY


@compilable
def heading_for(course: float, state: AirState, air: LocalAir) -> float:
    """The heading [rad] that makes good a course at this height, continuous with it."""
    level = state.true_airspeed * math.cos(state.path_angle)
    across = air.wind_east * math.cos(course) - air.wind_north * math.sin(course)
    return course + math.asin(max(min(-across / level, 1.0), -1.0))


@compilable
def holding_throttle(airplane: PointMass, load: float, density: float, speed: float) -> float:
    """The throttle that holds the airspeed in level flight: as ``throttle_for_excess``, for one instant."""
    idle = specific_excess_thrust(airplane, 0.0, load, density, speed)
    half = specific_excess_thrust(airplane, 0.5, load, density, speed)
    full = specific_excess_thrust(airplane, 1.0, load, density, speed)
    bend = 2.0 * (idle + full - 2.0 * half)
    slope = full - idle - bend
    if idle > 0.0:
        return -idle / slope
    if full < 0.0:
        return 1.0 - full / (slope + 2.0 * bend)
    return -2.0 * idle / (slope + math.sqrt(max(slope * slope - 4.0 * bend * idle, 1e-12)))


class _Held(NamedTuple):
    """What holding a speed needs of one state: everything that does not depend on the load factor, once."""

    spare: float
    against: float
    climb: float
    ahead: float
    lag_load: float
    sine: float
    cosine: float
    path_angle: float


@compilable
def _held(rising: Rising, airplane: PointMass, state: AirState, air: LocalAir) -> _Held:
    speed, sine, cosine = state.true_airspeed, math.sin(state.path_angle), math.cos(state.path_angle)
    ahead = air_ahead(state, air)
    # Drag is a parabola in the load factor: excess = spare - against n² holds exactly.
    spare = specific_excess_thrust(airplane, rising.throttle, 0.0, air.density, speed)
    against = spare - specific_excess_thrust(airplane, rising.throttle, 1.0, air.density, speed)
    wanted = (rising.curve * state.height + rising.slope) * state.height + rising.level
    changing = (2.0 * rising.curve * state.height + rising.slope) * speed * sine
    gain = min(max(changing + (wanted - speed) / rising.speed_lag, rising.least), rising.most)
    lag_load = speed / (rising.path_lag * STANDARD_GRAVITY)
    return _Held(spare, against, gain + ahead * cosine, ahead, lag_load, sine, cosine, state.path_angle)


@compilable
def _upward(held: _Held, load: float) -> tuple[float, float]:
    """(load factor times cos(bank) wanted, its derivative by the load factor that makes the drag)."""
    sine = (held.spare - held.against * load * load - held.climb) / STANDARD_GRAVITY
    sine = max(min(sine, 0.7), -0.7)
    turn = held.lag_load * (math.asin(sine) - held.path_angle)
    wanted = held.cosine + turn - held.ahead * held.sine / STANDARD_GRAVITY
    by_load = -2.0 * held.against * load / STANDARD_GRAVITY / math.sqrt(1.0 - sine * sine)
    return wanted, by_load * held.lag_load


@compilable
def _load_at(held: _Held, bank: float) -> float:
    """The load factor that goes with a given bank [rad]: Newton's rule on a monotone equation."""
    across = math.cos(bank)
    load = 1.0 / across
    for _ in range(8):
        wanted, by_load = _upward(held, load)
        step = (load * across - wanted) / (across - by_load)
        load -= step
        if abs(step) < 1e-10:
            break
    return max(load, 0.0)


@compilable
def _circled(held: _Held, radius: float, state: AirState, air: LocalAir) -> tuple[float, float]:
    """(bank [rad], load factor) on a circle over the ground, ``radius`` [m] positive to the right.

    Forces across the track are to make GS²/R: g n sin(bank) cos(d) + H sin(d) = GS²/R, with the drift
    d = heading less track and H what thrust, drag and the tilted lift give along the heading. Derived.
    """
    level = state.true_airspeed * held.cosine
    north = level * math.cos(state.air_heading) + air.wind_north
    east = level * math.sin(state.air_heading) + air.wind_east
    drift = state.air_heading - math.atan2(east, north)
    cosine, sine = math.cos(drift) * STANDARD_GRAVITY, math.sin(drift)
    needed = (north * north + east * east) / radius
    load, upward, sideward = 1.2, 1.0, 0.0
    for _ in range(12):
        upward, by_load = _upward(held, load)
        excess = held.spare - held.against * load * load
        along = excess * held.cosine - STANDARD_GRAVITY * upward * held.sine
        sideward = (needed - along * sine) / cosine
        found = math.hypot(upward, sideward)
        # Newton's rule for load = |(upward, sideward)|; sideward hardly depends on the load.
        step = (load - found) / (1.0 - by_load * upward / max(found, 0.1))
        load = max(load - step, 0.05)
        if abs(step) < 1e-9:
            break
    return math.atan2(sideward, upward), load


@compilable
def bank_for(banking: Banking, time: float, state: AirState, air: LocalAir) -> float:
    """The bank about the velocity [rad] that is asked for; not of a circle, where it hangs on the load."""
    if banking.how == EASED:
        # At a steady roll rate -ln cos(bank) is proportional to the heading left.
        left = math.copysign(1.0, banking.bank) * (banking.heading - state.air_heading) / banking.angle
        eased = math.acos(math.cos(banking.bank) ** min(max(left, 0.0), 1.0))
        return math.copysign(eased, banking.bank)
    if banking.how == FOLLOWED:
        error = heading_for(banking.heading, state, air) - state.air_heading
        error = math.pi - (math.pi - error) % (2.0 * math.pi)
        bank = state.true_airspeed * error / (banking.lag * STANDARD_GRAVITY)
        return max(min(bank, banking.bank), -banking.bank)
    if banking.bank >= banking.start:
        return min(banking.start + banking.rate * time, banking.bank)
    return max(banking.start - banking.rate * time, banking.bank)


@compilable
def controls(
    banking: Banking, rising: Rising, airplane: PointMass, time: float, state: AirState, air: LocalAir
) -> Controls:
    """The controls at a time since the phase began [s], in a state and the air there."""
    if rising.how == LEVEL_HELD:
        bank = bank_for(banking, time, state, air)
        load = min(lift_upward(state, air, 0.0, rising.path_lag), rising.pull) / math.cos(bank)
        throttle = rising.throttle
        if math.isnan(throttle):
            throttle = holding_throttle(airplane, load, air.density, state.true_airspeed)
        return Controls(bank, load, throttle)
    held = _held(rising, airplane, state, air)
    if banking.how == CIRCLED:
        bank, load = _circled(held, banking.radius, state, air)
        return Controls(bank, load, rising.throttle)
    bank = bank_for(banking, time, state, air)
    return Controls(bank, _load_at(held, bank), rising.throttle)


@compilable
def _summed(sum_of: Linear, time: float, state: AirState) -> float:
    total = sum_of.constant + sum_of.time * time
    total += sum_of.north * state.north + sum_of.east * state.east + sum_of.height * state.height
    total += sum_of.true_airspeed * state.true_airspeed
    return total + sum_of.path_angle * state.path_angle + sum_of.air_heading * state.air_heading


@compilable
def ended(
    ending: Ending, rising: Rising, airplane: PointMass, time: float, state: AirState, air: LocalAir
) -> float:
    """Below zero until the phase is over."""
    first, banking = _summed(ending.first, time, state), ending.banking
    if ending.how == BANKED:
        first -= abs(controls(banking, rising, airplane, time, state, air).bank)
    elif ending.how == NOSED:
        lift = lift_coefficient(airplane, 1.0 / math.cos(banking.bank), air.density, state.true_airspeed)
        first += nose_offset(state.path_angle, angle_of_attack(airplane, lift), banking.bank)
    elif ending.how == TURNED:
        side = math.copysign(1.0, banking.bank)
        left = side * (heading_for(banking.heading, state, air) - state.air_heading) % (2.0 * math.pi)
        lead = -math.log(math.cos(banking.bank)) * STANDARD_GRAVITY / (state.true_airspeed * banking.rate)
        first += lead - left
    return min(first, _summed(ending.second, time, state))


@compilable
def rates_under(
    controlled: Controls, airplane: PointMass, state: AirState, air: LocalAir
) -> tuple[float, float, float, float, float, float]:
    """Rates of the state [per s] under these controls."""
    excess = specific_excess_thrust(
        airplane, controlled.throttle, controlled.load_factor, air.density, state.true_airspeed
    )
    return state_rates(
        state.true_airspeed,
        state.path_angle,
        state.air_heading,
        controlled.bank,
        controlled.load_factor,
        excess,
        air.wind_north,
        air.wind_east,
        air.wind_north_gradient,
        air.wind_east_gradient,
    )


@compilable
def moved(state: AirState, rates: tuple[float, float, float, float, float, float], step: float) -> AirState:
    """The state a ``step`` [s] on at these rates."""
    return AirState(
        state.north + step * rates[0],
        state.east + step * rates[1],
        state.height + step * rates[2],
        state.true_airspeed + step * rates[3],
        state.path_angle + step * rates[4],
        state.air_heading + step * rates[5],
    )
