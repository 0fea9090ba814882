"""How far two recorders' clocks are apart, found from the motion they both recorded.

Both recordings are turned into the same few signals (place, speed, climb, turn), whose product summed over
all shifts (by fast Fourier transform) gives the shift to the second; the minimum of their squared difference,
as a parabola, gives it to a fraction of the recording interval, and its curvature gives the sd.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy import fft

from chalkwing.recordings.cleaning import EARTH_RADIUS
from chalkwing.recordings.recording import Recording
from chalkwing.units import Floats

LEAST_OVERLAP = 60.0
"""Less common flying than this cannot tell two flights apart [s]."""
SURE_CORRELATION = 0.85
_COARSE, _FINE = 1.0, 0.25
_FARTHEST = 300.0
"""Two recorders in one cockpit agree on the place within this at the right shift, median [m]."""
_NEAR_RANGE = 120.0
_BRIDGED = 6.0
_LONGEST = 2e5
"""A recording longer than two days is not one flight, and its clock is not to be trusted [s]."""
_MOST_OF = 0.6
_LEAST_CORRELATION = 0.5
_TELLING = 0.1
"""A signal has its say when its variance is this part of the usual."""
_USUAL = {"north": 20.0, "east": 20.0, "speed": 5.0, "turn": 0.05, "climb": 2.0}
"""Size of each signal in ordinary maneuvering [m/s; turn: rad/s]; only their ratios matter."""

Signals = Mapping[str, tuple[Floats, Floats]]


@dataclass(frozen=True)
class Alignment:
    """``offset`` [s] to add to the second recording's times, its sd, and how it was found."""

    offset: float
    sd: float
    correlation: float
    overlap: float
    signals: tuple[str, ...]


def aligned(first: Recording, second: Recording, *, guess: float | None) -> Alignment | None:
    """The shift of ``second`` that makes its motion that of ``first``; None when they are not one flight.

    Parameters
    ----------
    guess
        The shift that the two clocks suggest [s], searched within two minutes first; None, or when that
        fails (a clock may be off by hours), every shift is tried.
    """
    one, other = signals_of(first), signals_of(second)
    names = tuple(name for name in one if name in other)
    if not names or max(first.duration, second.duration) > _LONGEST:
        return None
    # Without the clocks' word two flights could agree in a short stretch by chance: more must overlap.
    shorter = min(_recorded(first), _recorded(second))
    trials = [(-np.inf, np.inf, max(LEAST_OVERLAP, _MOST_OF * shorter))]
    if guess is not None:
        trials.insert(0, (guess - _NEAR_RANGE, guess + _NEAR_RANGE, LEAST_OVERLAP))
    for low, high, least_overlap in trials:
        coarse = _coarse(one, other, names, (low, high), least_overlap)
        if coarse is None or coarse[1] < SURE_CORRELATION:
            continue
        found = _refined(one, other, names, *coarse)
        if found is not None and _same_place(first, second, found.offset):
            return found
    return None


def _recorded(recording: Recording) -> float:
    """Time covered by rows [s]."""
    return recording.duration - sum(gap.end - gap.start for gap in recording.gaps)


def signals_of(recording: Recording) -> Signals:
    """The motion as signals any two recorders may share: name to times [s] and values."""
    signals: dict[str, tuple[Floats, Floats]] = {}
    _put_speed(recording, signals)
    _put_turn(recording, signals)
    for name in ("pressure_altitude", "altimeter_altitude", "geometric_altitude"):
        time, altitude = recording.samples(name)
        if len(time) > 10:
            signals["climb"] = _rate(time, altitude)
            break
    return signals


def _put_speed(recording: Recording, signals: dict[str, tuple[Floats, Floats]]) -> None:
    """North and east velocity from the path, ground speed beside it for recorders without position."""
    place = (
        recording.table.select("time", "latitude", "longitude").drop_nulls()
        if "latitude" in recording
        else None
    )
    if place is not None and place.height > 10:
        time = place["time"].to_numpy()
        latitude, longitude = place["latitude"].to_numpy(), place["longitude"].to_numpy()
        signals["north"] = _rate(time, EARTH_RADIUS * latitude)
        signals["east"] = _rate(time, EARTH_RADIUS * np.cos(latitude.mean()) * np.unwrap(longitude))
    for name in ("ground_speed", "true_airspeed", "indicated_airspeed"):
        time, speed = recording.samples(name)
        if len(time) > 10:
            signals["speed"] = (time, speed)
            return
    if "north" in signals:
        time = signals["north"][0]
        signals["speed"] = (time, np.hypot(signals["north"][1], signals["east"][1]))


def _put_turn(recording: Recording, signals: dict[str, tuple[Floats, Floats]]) -> None:
    for name in ("heading_true", "heading_magnetic", "track"):
        time, angle = recording.samples(name)
        if len(time) > 10:
            signals["turn"] = _rate(time, np.unwrap(angle))
            return
    if "north" in signals:
        time = signals["north"][0]
        signals["turn"] = _rate(time, np.unwrap(np.arctan2(signals["east"][1], signals["north"][1])))


def _rate(time: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Rate of change over about two seconds, centered, at the times of the values."""
    half = max(1, min(round(1.0 / max(float(np.median(np.diff(time))), 1e-3)), len(time) // 4))
    later, earlier = slice(2 * half, None), slice(None, -2 * half)
    return time[half:-half], (values[later] - values[earlier]) / (time[later] - time[earlier])


def _sampled(signal: tuple[Floats, Floats], grid: Floats) -> Floats:
    """A signal at the grid's times, ``nan`` in its gaps and outside it."""
    time, values = signal
    after = np.searchsorted(time, grid).clip(1, len(time) - 1)
    gap = time[after] - time[after - 1] > _BRIDGED
    outside = (grid < time[0]) | (grid > time[-1])
    return np.where(gap | outside, np.nan, np.interp(grid, time, values))


def _coarse(
    one: Signals, other: Signals, names: tuple[str, ...], allowed: tuple[float, float], least_overlap: float
) -> tuple[float, float] | None:
    """The allowed shift of the highest correlation, and that correlation.

    Signals are pooled in units of their usual size in maneuvers, so that one which hardly varies in these
    recordings (speed in cruise, say, which is mostly noise then) hardly counts.
    """
    grid_one, grid_other = _grid(one, names), _grid(other, names)
    size = fft.next_fast_len(len(grid_one) + len(grid_other))
    sums = np.array(
        [
            _products(
                _sampled(one[name], grid_one) / _USUAL[name],
                _sampled(other[name], grid_other) / _USUAL[name],
                size,
            )
            for name in names
        ]
    )
    covariance, variance_one, variance_other, count = np.moveaxis(sums, 1, 0)
    pooled = covariance.sum(0) / np.sqrt(np.maximum(variance_one.sum(0) * variance_other.sum(0), 1e-9))
    lags = np.arange(size)
    lags = np.where(lags >= len(grid_one), lags - size, lags)
    shift = lags * _COARSE + grid_one[0] - grid_other[0]
    usable = (count.max(0) * _COARSE >= least_overlap) & (shift >= allowed[0]) & (shift <= allowed[1])
    if not usable.any():
        return None
    best = int(np.argmax(np.where(usable, pooled, -np.inf)))
    spread = np.sqrt(variance_one[:, best] * variance_other[:, best])
    telling = spread > _TELLING * np.maximum(count[:, best], 1)
    each = covariance[telling, best] / spread[telling]
    # Two takeoffs and landings are alike in every lesson: no signal that varies may contradict the rest.
    if not len(each) or each.min() < _LEAST_CORRELATION:
        return None
    return float(shift[best]), float(pooled[best])


def _grid(signals: Signals, names: tuple[str, ...]) -> Floats:
    start = min(signals[name][0][0] for name in names)
    end = max(signals[name][0][-1] for name in names)
    return np.arange(start, end + _COARSE / 2, _COARSE)


def _products(a: Floats, b: Floats, size: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Sums over the pairs of two signals with gaps, at every shift of the second: item k pairs
    ``a[i + k]`` with ``b[i]``.

    Returns the centered products, the centered squares of each, and the number of pairs. All sums over pairs
    are themselves correlations.
    """
    in_a, in_b = np.isfinite(a).astype(float), np.isfinite(b).astype(float)
    if not in_a.any() or not in_b.any():
        return np.zeros(size), np.zeros(size), np.zeros(size), np.zeros(size)
    a, b = np.where(in_a > 0, a - np.nanmean(a), 0.0), np.where(in_b > 0, b - np.nanmean(b), 0.0)

    def summed(x: Floats, y: Floats) -> Floats:
        return np.asarray(fft.irfft(fft.rfft(x, size) * np.conj(fft.rfft(y, size)), size))

    count = np.round(summed(in_a, in_b))
    pairs = np.maximum(count, 1.0)
    sum_a, sum_b = summed(a, in_b), summed(in_a, b)
    return (
        summed(a, b) - sum_a * sum_b / pairs,
        np.maximum(summed(a * a, in_b) - sum_a**2 / pairs, 0.0),
        np.maximum(summed(in_a, b * b) - sum_b**2 / pairs, 0.0),
        count,
    )


def _refined(
    one: Signals, other: Signals, names: tuple[str, ...], shift: float, correlation: float
) -> Alignment | None:
    """The shift of least squared difference near ``shift``, by parabolas through it and its neighbors."""
    start = max(min(one[n][0][0] for n in names), min(other[n][0][0] for n in names) + shift)
    end = min(max(one[n][0][-1] for n in names), max(other[n][0][-1] for n in names) + shift)
    grid = np.arange(start, end, _FINE)
    if len(grid) * _FINE < LEAST_OVERLAP:
        return None
    trials = shift + np.arange(-2.0, 2.0 + _FINE / 2, _FINE)
    reference = {name: _sampled(one[name], grid) for name in names}
    weighted, information = np.zeros(len(trials)), 0.0
    for name in names:
        misfits = np.array(
            [_misfit(reference[name], _sampled(other[name], grid - trial)) for trial in trials]
        )
        curve, value = _curve(misfits, reference[name], _sampled(other[name], grid - shift))
        weighted += curve
        information += value
    best = int(np.clip(np.argmin(weighted), 1, len(trials) - 2))
    below, here, above = weighted[best - 1 : best + 2]
    bend = below - 2 * here + above
    offset = float(trials[best] + (0.5 * _FINE * (below - above) / bend if bend > 0 else 0.0))
    sd = 1.0 / np.sqrt(information) if information > 0 else float("inf")
    return Alignment(offset, float(sd), correlation, float(len(grid) * _FINE), names)


def _misfit(a: Floats, b: Floats) -> float:
    """Variance of the difference: a constant bias between the recorders does not count."""
    difference = a - b
    return float(np.nanvar(difference)) if np.isfinite(difference).any() else np.inf


def _curve(misfits: Floats, a: Floats, b: Floats) -> tuple[Floats, float]:
    """A signal's misfit in units of its least, times the independent samples; and what it tells of the shift.

    The information is the mean squared slope over the noise, times the number of independent samples; noise
    that lasts (the filters of receivers do) makes those fewer.
    """
    noise = max(float(misfits.min()), 1e-12)
    difference = a - b
    independent = _independent_samples(difference)
    slope = np.diff(a) / _FINE
    return misfits / noise * independent, independent * float(np.nanmean(slope**2)) / noise


def _independent_samples(difference: Floats) -> float:
    """Length of the difference over its correlation time."""
    centered = difference[np.isfinite(difference)]
    centered = centered - centered.mean() if len(centered) else centered
    power = float(np.sum(centered**2))
    if len(centered) < 8 or power == 0:
        return max(len(centered) * _FINE, 1.0)
    lag, total = 1, 1.0
    while lag < min(len(centered) // 2, 400):
        together = float(np.sum(centered[lag:] * centered[:-lag])) / power
        if together < 0.1:
            break
        total += 2 * together
        lag += 1
    return max(len(centered) / total, 1.0)


def _same_place(first: Recording, second: Recording, offset: float) -> bool:
    """Whether positions agree at the shift found; True when one of the two has none."""
    if "latitude" not in first or "latitude" not in second:
        return True
    one = first.table.select("time", "latitude", "longitude").drop_nulls()
    other = second.table.select("time", "latitude", "longitude").drop_nulls()
    when = one["time"].to_numpy()
    latitude = _sampled((other["time"].to_numpy() + offset, other["latitude"].to_numpy()), when)
    longitude = _sampled((other["time"].to_numpy() + offset, other["longitude"].to_numpy()), when)
    north = EARTH_RADIUS * (one["latitude"].to_numpy() - latitude)
    east = EARTH_RADIUS * np.cos(latitude) * (one["longitude"].to_numpy() - longitude)
    apart = np.hypot(north, east)
    return bool(np.isfinite(apart).any() and np.nanmedian(apart) < _FARTHEST)
