"""Dates of the nests, the chance of a pause, and weighted quantiles over particles."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.season import Season
from briefing.core.phase.shares import DateSpan

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

#: Names of the dates and the share of the season's nests by which each is set.
EVENTS = (("nest_start", 0.05), ("nest_middle", 0.50), ("nest_end", 0.95))
#: A season in which fewer nests than this are made for each male counts as none.
FEWEST_NESTS = 0.05
_PAUSE_LOOK_BACK = 10
_PAUSE_DAYS = 5
_RELEVANT = 0.05


def crossing_days(cumulated: Singles, share: float) -> Floats:
    """Day (with fraction) on which each particle passes ``share`` of its total; NaN where the season has no nests.

    cumulated has shape (days, particles).
    """
    total = cumulated[-1].astype(float)
    goal = share * total
    after = np.minimum((cumulated < goal).sum(axis=0), cumulated.shape[0] - 1)
    before = np.maximum(after - 1, 0)
    columns = np.arange(total.size)
    low, high = cumulated[before, columns].astype(float), cumulated[after, columns].astype(float)
    part = (goal - low) / np.maximum(high - low, 1e-12)
    return np.asarray(np.where(total < FEWEST_NESTS, np.nan, before + np.clip(part, 0.0, 1.0)))


def weighted_quantiles(values: Floats, weights: Floats, shares: Sequence[float]) -> Floats:
    """Quantiles of weighted values; linear between the middles of the steps."""
    order = np.argsort(values, kind="stable")
    position = np.cumsum(weights[order]) - 0.5 * weights[order]
    return np.asarray(np.interp(np.asarray(shares) * weights.sum(), position, values[order]))


def moments(values: Floats, weights: Floats) -> tuple[float, float]:
    """Weighted mean and sd, over the values that are numbers; (nan, nan) when there are none."""
    good = np.isfinite(values)
    if not good.any():
        return float("nan"), float("nan")
    weight = weights[good] / weights[good].sum()
    mean = float(weight @ values[good])
    return mean, float(np.sqrt(weight @ np.square(values[good] - mean)))


def span_days(days: Floats, weights: Floats, floor_sd_days: float) -> tuple[float, float, float] | None:
    """10, 50 and 90 % points in days of the season; None when most particles have no nests.

    The span is widened about the median to no less than that of a normal of ``floor_sd_days``.
    """
    good = np.isfinite(days)
    if weights[good].sum() < 0.5:
        return None
    low, middle, high = weighted_quantiles(days[good], weights[good], (0.1, 0.5, 0.9))
    _, spread = moments(days, weights)
    stretch = max(1.0, floor_sd_days / max(spread, 1e-9))
    return float(middle + stretch * (low - middle)), float(middle), float(middle + stretch * (high - middle))


def date_spans(laid: Singles, weights: Floats, season: Season, floor_sd_days: float) -> tuple[DateSpan, ...]:
    """Start, middle and end of the nests with their 80 % spans."""
    spans = []
    for name, share in EVENTS:
        points = span_days(crossing_days(laid, share), weights, floor_sd_days)
        if points is None:
            spans.append(DateSpan(name, None, None, None))
        else:
            spans.append(DateSpan(name, *(season.date_at(point) for point in points)))
    return tuple(spans)


def pause_chance(ease: Singles, busy: Floats, weights: Floats, today: int, ratio: float) -> float | None:
    """Chance that cold cuts laying to under ``ratio`` of its recent best within five days; None out of season.

    ease (days, particles) is the answer to cold alone; busy (particles,) the share of fish that lay or are about to.
    """
    if float(weights @ busy) < _RELEVANT:
        return None
    ahead = ease[today + 1 : today + 1 + _PAUSE_DAYS]
    if ahead.shape[0] == 0:
        return None
    best = ease[max(today - _PAUSE_LOOK_BACK, 0) : today + 1].max(axis=0)
    best = np.maximum.accumulate(np.vstack([best[None], ahead]), axis=0)[:-1]
    paused = (ahead < ratio * best).any(axis=0)
    return float(np.average(paused, weights=weights * np.maximum(busy, 1e-9)))
