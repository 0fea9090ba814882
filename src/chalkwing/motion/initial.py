"""Where the estimator starts: knots, a first path, a first wind, bank from the turn of the path.

The starting point need only be near enough for the iteration to fall into the right valley; nothing of it
survives except through the data.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from chalkwing import air
from chalkwing.motion import bridging
from chalkwing.motion import layout as at
from chalkwing.motion.observations import Observations, Samples
from chalkwing.motion.priors import Priors
from chalkwing.units import STANDARD_GRAVITY, Floats

TURNING = 0.03
"""Turn rate of the path [rad/s] above which knots are fine (about 9 degrees of bank at 100 kt)."""
CHANGING = 0.5
"""Change of climb or speed [m/s2] above which they are."""
MARGIN = 4
"""They stay so for as long before and after [s]."""
BANKED, LEAST_SHARE, WILD = np.radians(12.0), 0.7, np.radians(8.0)
"""Recorded attitude is believed if in turns beyond ``BANKED`` it shows this share of the bank that the turn
needs, with a median departure under ``WILD``."""


@dataclass(frozen=True)
class FirstPath:
    """A rough path on a 1 s grid: time, north, east, height [m], ground velocity [m/s], shape (n,) each."""

    time: Floats
    north: Floats
    east: Floats
    height: Floats
    u_north: Floats
    u_east: Floats
    u_up: Floats
    temperature: Floats
    pressure_altitude: Floats

    @property
    def speed(self) -> Floats:
        """Ground speed [m/s]."""
        return np.hypot(self.u_north, self.u_east)


def first_path(seen: Observations, *, start: float, end: float, temperature: Samples | None) -> FirstPath:
    """Interpolate and smooth what was recorded between ``start`` and ``end`` [s]."""
    time = np.arange(start, end + 0.5, 1.0)
    north, east = (_resample(seen.samples[kind], time) for kind in (at.SEES_NORTH, at.SEES_EAST))
    if at.SEES_U_NORTH in seen:
        u_north, u_east = (_resample(seen.samples[kind], time) for kind in (at.SEES_U_NORTH, at.SEES_U_EAST))
    else:
        spans = _recorded_spans(time, seen.samples[at.SEES_NORTH].time)
        u_north, u_east = (_rates(axis, time, spans) for axis in (north, east))
    sees_height = at.SEES_HEIGHT in seen
    height = _resample(seen.samples[at.SEES_HEIGHT if sees_height else at.SEES_PRESSURE], time)
    pressure = _resample(seen.samples[at.SEES_PRESSURE], time) if at.SEES_PRESSURE in seen else height
    smooth = gaussian_filter1d(height, 2.0)
    warm = (
        np.interp(time, temperature.time, temperature.value)
        if temperature is not None
        else np.asarray(air.standard_temperature(pressure))
    )
    return FirstPath(
        time,
        north,
        east,
        height,
        u_north,
        u_east,
        np.gradient(smooth, time),
        warm,
        gaussian_filter1d(pressure, 2.0),
    )


def _recorded_spans(time: Floats, recorded: Floats) -> list[slice]:
    """The stretches of ``time`` between gaps of the recording."""
    gaps = bridging.gaps_in(recorded, start=float(time[0]), end=float(time[-1]))
    starts = [0, *(int(np.searchsorted(time, gap[1])) for gap in gaps)]
    ends = [*(int(np.searchsorted(time, gap[0], side="right")) for gap in gaps), len(time)]
    return [slice(a, b) for a, b in zip(starts, ends, strict=True) if b - a >= 2]


def _rates(axis: Floats, time: Floats, spans: list[slice]) -> Floats:
    """Smoothed rate of a position [m/s], span by span: what bridges a gap must not color its edges."""
    rate = np.gradient(axis, time)
    for span in spans:
        rate[span] = gaussian_filter1d(np.gradient(axis[span], time[span]), 1.2, mode="nearest")
    return rate


def _resample(samples: Samples, time: Floats) -> Floats:
    """Monotone cubic interpolation: no overshoot where a gap is bridged."""
    keep = np.concatenate(([True], np.diff(samples.time) > 1e-3))
    curve = PchipInterpolator(samples.time[keep], samples.value[keep], extrapolate=False)
    inside = np.clip(time, samples.time[0], samples.time[-1])
    return np.asarray(curve(inside))


def first_wind(path: FirstPath) -> tuple[float, float]:
    """One mean wind [m/s north, east] for the whole flight, from how ground speed varies through turns.

    Along a turn, speed through the air changes with height as energy is traded, else slowly. So
    ``|u|^2 + 2 g h = 2 u . W + const`` window by window: linear in the wind W. Windows that do not turn say
    nothing and are left out.
    """
    energy = path.speed**2 + 2.0 * STANDARD_GRAVITY * gaussian_filter1d(path.height, 2.0)
    track = np.unwrap(np.arctan2(path.u_east, path.u_north))
    window = 60
    normal, right = np.eye(2) * 5.0, np.zeros(2)
    for first in range(0, max(len(path.time) - window, 1), window // 2):
        part = slice(first, first + window)
        if np.ptp(track[part]) < 1.5 or len(path.time[part]) < 20:
            continue
        trend = np.vander(np.linspace(-1, 1, len(path.time[part])), 3)
        known = np.column_stack((2 * path.u_north[part], 2 * path.u_east[part]))
        both = np.column_stack((known, energy[part]))
        left = both - trend @ np.linalg.lstsq(trend, both, rcond=None)[0]
        # Scale to airspeed units so that fast and slow windows count alike.
        left /= 2.0 * max(float(np.mean(path.speed[part])), 10.0)
        normal += left[:, :2].T @ left[:, :2]
        right += left[:, :2].T @ left[:, 2]
    wind = np.linalg.solve(normal, right)
    limit = 0.6 * float(np.median(path.speed))
    size = float(np.hypot(*wind))
    scale = min(1.0, limit / size) if size > 0 else 1.0
    return float(wind[0] * scale), float(wind[1] * scale)


def bridged(path: FirstPath, seen: Observations, wind: tuple[float, float]) -> FirstPath:
    """The path with each gap filled by the turn that was most likely flown in it."""
    place, velocity = (path.north, path.east), (path.u_north, path.u_east)
    times = seen.samples[at.SEES_NORTH].time
    for gap in bridging.gaps_in(times, start=float(path.time[0]), end=float(path.time[-1])):
        place, velocity = bridging.bridge(path.time, place, velocity, gap, wind)
    return replace(path, north=place[0], east=place[1], u_north=velocity[0], u_east=velocity[1])


def wind_from_instruments(path: FirstPath, seen: Observations) -> tuple[float, float] | None:
    """Mean wind from recorded heading and airspeed against ground velocity, over all directions flown.

    None where they were not recorded.
    """
    if at.SEES_HEADING not in seen or not (at.SEES_INDICATED in seen or at.SEES_TRUE in seen):
        return None
    heading = seen.samples[at.SEES_HEADING]
    angle = np.interp(path.time, heading.time, np.unwrap(heading.value))
    ratio = np.sqrt(np.asarray(air.density(pressure_altitude=path.pressure_altitude)) / 1.225)
    true = (
        np.interp(path.time, *_pair(seen.samples[at.SEES_INDICATED])) / ratio
        if at.SEES_INDICATED in seen
        else np.interp(path.time, *_pair(seen.samples[at.SEES_TRUE]))
    )
    north, east = path.u_north - true * np.cos(angle), path.u_east - true * np.sin(angle)
    return float(np.median(north)), float(np.median(east))


def _pair(samples: Samples) -> tuple[Floats, Floats]:
    return samples.time, samples.value


def first_lag(path: FirstPath, seen: Observations, wind: tuple[float, float]) -> float:
    """How late [s] recorded attitude is against the positions: where bank best matches the turn of the path.

    0 where bank was not recorded or the flight hardly turns.
    """
    if at.SEES_BANK not in seen:
        return 0.0
    turn = np.tan(_turning_bank(path, wind))
    if np.std(turn) < 0.05:
        return 0.0
    shifts = np.arange(-2.0, 2.05, 0.1)
    match = [float(np.corrcoef(turn, np.tan(_recorded_bank(path, seen, shift)))[0, 1]) for shift in shifts]
    return float(shifts[int(np.argmax(match))])


def attitude_believable(path: FirstPath, seen: Observations, wind: tuple[float, float]) -> bool:
    """Whether recorded bank follows the turn of the path.

    A tilt not aided by satellites or gyroscopes feels the resultant of turn and gravity as down: it reads
    level in a sustained turn. Such an attitude is worse than none. A flight that hardly turns proves nothing.
    """
    if at.SEES_BANK not in seen:
        return True
    turn = _turning_bank(path, wind)
    banked = (np.abs(turn) > BANKED) & (np.abs(turn) < 1.0)
    if np.count_nonzero(banked) < 20:
        return True
    bank = _recorded_bank(path, seen, first_lag(path, seen, wind))[banked]
    share = float(np.sum(bank * turn[banked]) / np.sum(turn[banked] ** 2))
    rest = float(np.median(np.abs(bank - share * turn[banked])))
    return LEAST_SHARE < share < 1.0 / LEAST_SHARE and rest < WILD


def _recorded_bank(path: FirstPath, seen: Observations, lag: float) -> Floats:
    """Recorded bank [rad] on the path's grid, taken ``lag`` [s] later and kept off the vertical."""
    return np.clip(np.interp(path.time + lag, *_pair(seen.samples[at.SEES_BANK])), -1.2, 1.2)


def _turning_bank(path: FirstPath, wind: tuple[float, float]) -> Floats:
    """The bank that a coordinated level turn along the path needs [rad]."""
    v_north, v_east = path.u_north - wind[0], path.u_east - wind[1]
    speed = np.maximum(np.hypot(v_north, v_east), 10.0)
    rate = np.gradient(np.unwrap(np.arctan2(v_east, v_north)), path.time)
    return np.asarray(gaussian_filter1d(np.arctan(np.clip(speed * rate / STANDARD_GRAVITY, -3.0, 3.0)), 1.0))


def knot_times(path: FirstPath) -> Floats:
    """Knots 1 s apart where the path turns, climbs anew or changes speed, 2 s apart in steady flight."""
    rate = np.gradient(np.unwrap(np.arctan2(path.u_east, path.u_north)), path.time)
    pull = np.gradient(gaussian_filter1d(path.u_up, 2.0), path.time)
    gain = np.gradient(gaussian_filter1d(path.speed, 2.0), path.time)
    busy = (np.abs(rate) > TURNING) | (np.abs(pull) > CHANGING) | (np.abs(gain) > CHANGING)
    keep = (maximum_filter1d(busy.astype(np.int8), 2 * MARGIN + 1) > 0) | (np.arange(len(busy)) % 2 == 0)
    keep[-1] = True
    return np.asarray(path.time[keep])


def air_table(path: FirstPath, knots: Floats, origin_height: float) -> tuple[Floats, Floats]:
    """Properties of the air at each knot: the table ``linearize`` takes (K, 4), and density ratio (K,)."""
    pressure = np.interp(knots, path.time, path.pressure_altitude)
    warm = np.interp(knots, path.time, gaussian_filter1d(path.temperature, 10.0))
    deviation = np.asarray(air.isa_deviation(pressure_altitude=pressure, temperature=warm))
    true = np.maximum(np.interp(knots, path.time, path.speed), 20.0)
    calibrated = np.asarray(
        air.calibrated_from_true(true_airspeed=true, pressure_altitude=pressure, isa_deviation=deviation)
    )
    density = np.asarray(air.density(pressure_altitude=pressure, isa_deviation=deviation))
    table = np.empty((len(knots), 4))
    table[:, 0] = calibrated / true
    table[:, 1] = -0.5 / warm
    # One geometric meter is this many meters of pressure altitude in air of another temperature.
    table[:, 2] = np.median(np.asarray(air.standard_temperature(pressure)) / warm)
    middle = float(np.median(path.height))
    table[:, 3] = float(np.median(path.pressure_altitude)) + table[:, 2] * (origin_height - middle)
    return table, density / 1.225


def first_states(
    path: FirstPath, knots: Floats, wind: tuple[float, float], density: Floats, priors: Priors
) -> Floats:
    """States at the knots (K, N) from the rough path and wind."""
    states = np.zeros((len(knots), len(priors.state_sd)))
    for column, values in (
        (at.NORTH, path.north),
        (at.EAST, path.east),
        (at.HEIGHT, path.height),
        (at.U_NORTH, path.u_north),
        (at.U_EAST, path.u_east),
        (at.U_UP, path.u_up),
    ):
        states[:, column] = np.interp(knots, path.time, values)
    bank = _turning_bank(path, wind)
    states[:, at.ROLL] = np.interp(knots, path.time, bank)
    states[:, at.ROLL_RATE] = np.interp(knots, path.time, np.gradient(bank, path.time))
    states[:, at.WIND_NORTH], states[:, at.WIND_EAST] = wind
    speed = np.maximum(np.hypot(path.u_north - wind[0], path.u_east - wind[1]), 10.0)
    equivalent = np.interp(knots, path.time, speed) * np.sqrt(density)
    states[:, at.THRUST] = _level_thrust(equivalent, priors)
    return states


def _level_thrust(equivalent: Floats, priors: Priors) -> Floats:
    """The thrust state that would hold level flight, smoothed: where the power roughly was."""
    ratio = (equivalent / priors.plane.best_glide) ** 2
    drag = 0.5 * priors.plane.glide_drag * (ratio + 1.0 / np.maximum(ratio, 0.2))
    return np.full(len(equivalent), float(np.median(drag)))
