"""Finds where a smooth function of time crosses zero, also where it barely does."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

Function = Callable[[float], float]

#: A crossing is found to this many seconds.
_TOLERANCE_S = 0.01
_MOST_STEPS = 60


def crossings(function: Function, start_s: float, end_s: float, step_s: float, graze: float) -> list[tuple[float, int]]:
    """Times in [start_s, end_s) at which ``function`` crosses zero, each with +1 (upward) or -1 (downward).

    The function is sampled every ``step_s`` from one step before to one step after; where a turning point may come
    within ``graze`` of zero it is looked at closely, so that a pair of crossings between two samples is not lost.
    """
    count = int((end_s - start_s) / step_s) + 3
    times = [start_s + step_s * (n - 1) for n in range(count + 1)]
    values = [function(t) for t in times]
    knots = [(times[0], values[0])]
    for n in range(1, count):
        knots.extend(_turning_point(function, times[n - 1 : n + 2], values[n - 1 : n + 2], graze))
        knots.append((times[n], values[n]))
    knots.append((times[-1], values[-1]))
    knots.sort()
    found = []
    for (t0, f0), (t1, f1) in pairwise(knots):
        if (f0 < 0.0) != (f1 < 0.0):
            root = _root(function, t0, f0, t1, f1)
            if start_s <= root < end_s:
                found.append((root, 1 if f1 > f0 else -1))
    return found


def _turning_point(function: Function, t: list[float], f: list[float], graze: float) -> list[tuple[float, float]]:
    """Return a point on the other side of zero near a turning point that the three samples hide, if there is one."""
    side = 1.0 if f[1] >= 0.0 else -1.0
    low = [side * value for value in f]
    if min(low) < 0.0 or low[1] > low[0] or low[1] > low[2]:
        return []
    step, middle, (a, b, c) = t[1] - t[0], t[1], low
    for _ in range(4):
        bend = a - 2.0 * b + c
        if bend <= 0.0 or b - (a - c) ** 2 / (8.0 * bend) > graze:
            return []
        middle, step = middle + 0.5 * step * (a - c) / bend, step / 6.0
        a, b, c = (side * function(middle + k * step) for k in (-1.0, 0.0, 1.0))
        if b < 0.0:
            return [(middle, side * b)]
    return []


def _root(function: Function, t0: float, f0: float, t1: float, f1: float) -> float:
    """Crossing between two times of opposite sign: false position with the Illinois weight."""
    kept = 0
    for _ in range(_MOST_STEPS):
        middle = t1 - f1 * (t1 - t0) / (f1 - f0)
        value = function(middle)
        nearest = min(abs(middle - t0), abs(middle - t1))
        if (value < 0.0) == (f1 < 0.0):
            t1, f1 = middle, value
            f0 = f0 / 2.0 if kept == 1 else f0
            kept = 1
        else:
            t0, f0 = middle, value
            f1 = f1 / 2.0 if kept == -1 else f1
            kept = -1
        if value == 0.0 or nearest < _TOLERANCE_S or abs(t1 - t0) < _TOLERANCE_S:
            return middle
    return 0.5 * (t0 + t1)
