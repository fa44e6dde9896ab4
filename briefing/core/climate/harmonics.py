"""Yearly curves as harmonics, fitted to averages of months rather than to points in their middles.

The calendar has 366 days: index 0 is 1 January, index 59 is 29 February.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

DAYS = 366
MONTH_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


@lru_cache(maxsize=8)
def day_basis(terms: int) -> Floats:
    """Constant, cos 1, sin 1, cos 2, sin 2 ... at the middle of each day; shape (366, terms), terms odd.

    The result is shared: don't change it.
    """
    angle = 2.0 * np.pi * (np.arange(DAYS) + 0.5) / DAYS
    columns = [np.ones(DAYS)]
    for order in range(1, (terms - 1) // 2 + 1):
        columns += [np.cos(order * angle), np.sin(order * angle)]
    return np.stack(columns, axis=1)


@lru_cache(maxsize=8)
def slope_basis(terms: int) -> Floats:
    """Rise per day of each column of ``day_basis``; shape (366, terms)."""
    angle = 2.0 * np.pi * (np.arange(DAYS) + 0.5) / DAYS
    columns = [np.zeros(DAYS)]
    for order in range(1, (terms - 1) // 2 + 1):
        rate = 2.0 * np.pi * order / DAYS
        columns += [-rate * np.sin(order * angle), rate * np.cos(order * angle)]
    return np.stack(columns, axis=1)


def month_means(daily: Floats) -> Floats:
    """Averages of the 12 months of a daily curve; (366, ...) to (12, ...)."""
    edges = np.concatenate(([0], np.cumsum(MONTH_DAYS)))
    return np.stack([daily[a:b].mean(axis=0) for a, b in pairwise(edges)])


@lru_cache(maxsize=8)
def _fitting_matrix(terms: int) -> Floats:
    return np.asarray(np.linalg.pinv(month_means(day_basis(terms))), dtype=float)


def fit_months(months: Floats, terms: int) -> Floats:
    """Coefficients whose curve, averaged over each month, comes closest to ``months``; (..., 12) to (..., terms).

    Least squares on the harmonics integrated over the months, so that the curve is not flattened as it is when
    averages are pinned at mid-month (Epstein 1991, *J. Climate* 4, 365-368).
    """
    return np.asarray(months, dtype=float) @ _fitting_matrix(terms).T
