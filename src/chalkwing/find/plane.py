"""Geometry of turns in a plane of north and east [m], for many candidates at once."""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.turns import Ints
from chalkwing.units import Floats


@compiled
def arcs(first: Ints, last: Ints, north: Floats, east: Floats) -> Floats:
    """Center (north, east) and radius [m] of the circle nearest to each stretch of a path, shape (n, 3).

    Linear least squares after Kasa (1976), IEEE Trans. Instrum. Meas. 25(1).
    """
    found = np.full((len(first), 3), np.nan)
    for one in range(len(first)):
        x, y = north[first[one] : last[one] + 1], east[first[one] : last[one] + 1]
        if len(x) < 4:
            continue
        middle_x, middle_y = x.mean(), y.mean()
        u, v = x - middle_x, y - middle_y
        xx, yy, xy = (u * u).sum(), (v * v).sum(), (u * v).sum()
        z = u * u + v * v
        zx, zy = 0.5 * (z * u).sum(), 0.5 * (z * v).sum()
        flat = xx * yy - xy * xy
        if flat <= 1e-9 * (xx + yy) ** 2:
            continue
        a, b = (zx * yy - zy * xy) / flat, (zy * xx - zx * xy) / flat
        found[one, 0], found[one, 1] = middle_x + a, middle_y + b
        found[one, 2] = np.sqrt(a * a + b * b + (xx + yy) / len(x))
    return found


@compiled
def off_same_center(spans: Ints, side: Ints, arc: Floats) -> Floats:
    """How far the centers of turns lie from the middle of those on the same side: rms, in parts of the mean
    radius, for each candidate; ``nan`` where no side was turned to twice."""
    found = np.full(len(spans), np.nan)
    for row in range(len(spans)):
        off, radius, count, repeated = 0.0, 0.0, 0, 0
        for way in (-1, 1):
            north = east = squares = 0.0
            turns = 0
            for span in spans[row]:
                if span < 0 or side[span] != way or np.isnan(arc[span, 0]):
                    continue
                north += arc[span, 0]
                east += arc[span, 1]
                radius += arc[span, 2]
                turns += 1
                count += 1
            if turns < 2:
                continue
            north, east = north / turns, east / turns
            for span in spans[row]:
                if span >= 0 and side[span] == way and not np.isnan(arc[span, 0]):
                    squares += (arc[span, 0] - north) ** 2 + (arc[span, 1] - east) ** 2
            off += squares * turns / (turns - 1)
            repeated += turns
        if repeated > 0:
            found[row] = np.sqrt(off / repeated) / (radius / count)
    return found


@compiled
def off_line(spans: Ints, first: Ints, last: Ints, north: Floats, east: Floats, arc: Floats) -> Floats:
    """How far the places where turns meet lie from a straight line: rms, in parts of the mean radius.

    The places are the first start, the middle of each passage and the last end. ``nan`` for two turns: if
    these turn as far, one to either side, their three places lie in a line whatever they go by.
    """
    found = np.full(len(spans), np.nan)
    for row in range(len(spans)):
        count = 0
        while count < spans.shape[1] and spans[row, count] >= 0:
            count += 1
        if count < 3:
            continue
        x, y = np.empty(count + 1), np.empty(count + 1)
        radius = 0.0
        for place in range(count + 1):
            before = last[spans[row, place - 1]] if place > 0 else first[spans[row, 0]]
            after = first[spans[row, place]] if place < count else before
            x[place] = 0.5 * (north[before] + north[after])
            y[place] = 0.5 * (east[before] + east[after])
            radius += arc[spans[row, place], 2] if place < count else 0.0
        u, v = x - x.mean(), y - y.mean()
        xx, yy, xy = (u * u).sum(), (v * v).sum(), (u * v).sum()
        across = 0.5 * (xx + yy - np.sqrt((xx - yy) ** 2 + 4.0 * xy * xy))
        found[row] = np.sqrt(max(across, 0.0) / (count - 1)) / (radius / count)
    return found


@compiled
def off_parallelogram(spans: Ints, first: Ints, last: Ints, north: Floats, east: Floats) -> Floats:
    """How far four corners in succession are from a parallelogram, and the fifth from the first, in parts of
    the mean side: the worst of all such; ``nan`` for fewer than four corners. A corner is the middle of its
    turn."""
    found = np.full(len(spans), np.nan)
    for row in range(len(spans)):
        worst = -1.0
        for begin in range(spans.shape[1] - 3):
            if spans[row, begin + 3] < 0:
                break
            x, y = np.empty(4), np.empty(4)
            for corner in range(4):
                span = spans[row, begin + corner]
                x[corner] = 0.5 * (north[first[span]] + north[last[span]])
                y[corner] = 0.5 * (east[first[span]] + east[last[span]])
            side = 0.0
            for corner in range(3):
                side += np.hypot(x[corner + 1] - x[corner], y[corner + 1] - y[corner]) / 3.0
            gap = np.hypot(x[0] - x[1] + x[2] - x[3], y[0] - y[1] + y[2] - y[3])
            worst = max(worst, gap / max(side, 1.0))
            if begin + 4 < spans.shape[1] and spans[row, begin + 4] >= 0:
                again = spans[row, begin + 4]
                off_north = 0.5 * (north[first[again]] + north[last[again]]) - x[0]
                off_east = 0.5 * (east[first[again]] + east[last[again]]) - y[0]
                worst = max(worst, np.hypot(off_north, off_east) / max(side, 1.0))
        if worst >= 0.0:
            found[row] = worst
    return found


@compiled
def lowest_and_highest(first: Ints, last: Ints, values: Floats) -> Floats:
    """The least and the greatest value over each stretch, shape (n, 2)."""
    found = np.empty((len(first), 2))
    for one in range(len(first)):
        found[one, 0] = values[first[one] : last[one] + 1].min()
        found[one, 1] = values[first[one] : last[one] + 1].max()
    return found


@compiled
def revolved(first: Ints, last: Ints, rounds: Floats, heading: Floats, north: Floats, east: Floats) -> Floats:
    """How far (north, east) each path moves until its heading has come round ``rounds`` times, in how many
    samples, and the mean radius of its turns through the air and over the ground: shape (n, 4).

    Where the path ends a little short, the rest is added as an arc flown on from its end.
    """
    found = np.empty((len(first), 4))
    for one in range(len(first)):
        begin, until = first[one], last[one]
        wanted = 2.0 * np.pi * rounds[one]
        at = begin
        while at < until and abs(heading[at] - heading[begin]) < wanted:
            at += 1
        turned = max(abs(heading[at] - heading[begin]), 0.1)
        found[one, 0], found[one, 1] = north[at] - north[begin], east[at] - east[begin]
        found[one, 2] = at - begin
        length = 0.0
        for step in range(begin, at):
            length += np.hypot(north[step + 1] - north[step], east[step + 1] - east[step])
        found[one, 3] = length / turned
        rest = wanted - turned
        if rest > 0.0 and at > begin:
            side = np.sign(heading[at] - heading[begin])
            step_north, step_east = north[at] - north[at - 1], east[at] - east[at - 1]
            track = np.arctan2(step_east, step_north) + 0.5 * side * rest
            chord = 2.0 * found[one, 3] * np.sin(0.5 * rest)
            found[one, 0] += chord * np.cos(track)
            found[one, 1] += chord * np.sin(track)
            found[one, 2] += found[one, 2] * rest / turned
    return found
