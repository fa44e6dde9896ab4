"""Scores of daily water temperatures against measured ones, and the simple estimates they are held against."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.slab import Floats
from briefing.evaluate.water_lakes import MeasuredLake

RANGE80 = 1.2816
THRESHOLDS_C = (10.0, 15.0, 18.0)
#: Fading times tried for the damped anomaly, days; the best on the lake's own record is taken, in its favour.
DAMPING_DAYS = (5, 10, 20, 30, 45, 60, 90)
_LEAST_DAYS_OF_WEEK = 5
_LEAST_OTHER_DAYS = 180
_JULY_END = 213  # index in a leap year


@dataclass(frozen=True)
class Score:
    """Error over the scored days of one lake: RMSE (mean over the columns' own), mean error, share within the 80 %
    range (NaN: no range), days."""

    rmse_c: float
    bias_c: float
    cover80: float
    n: int


def score(estimate_c: Floats, variance_c2: Floats | None, truth_c: Floats, days: NDArray[np.bool_]) -> Score:
    """Score columns (days, columns) of one lake against its truth (days,); ``days`` says which count, same shape."""
    counted = days & ~np.isnan(estimate_c) & ~np.isnan(truth_c)[:, None]
    error = (estimate_c - truth_c[:, None])[counted]
    squares = np.where(counted, (estimate_c - truth_c[:, None]) ** 2, 0.0).sum(axis=0)
    scored = counted.sum(axis=0)
    if error.size == 0:
        return Score(np.nan, np.nan, np.nan, 0)
    cover = np.nan
    if variance_c2 is not None:
        cover = float((np.abs(error) <= RANGE80 * np.sqrt(variance_c2[counted])).mean())
    number = round(error.size / estimate_c.shape[1])
    rmse = np.sqrt(squares[scored > 0] / scored[scored > 0]).mean()
    return Score(float(rmse), float(error.mean()), cover, number)


def climatology(lake: MeasuredLake) -> Floats:
    """Two harmonics through the lake's other years, (days,); NaN in years for which the others hold too little.

    A favoured baseline: the product has no such years.
    """
    of_year, year = lake.day_of_year, lake.year
    angle = 2 * np.pi * of_year / 366
    waves = [np.ones_like(angle), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)]
    design = np.stack(waves, axis=1)
    out = np.full(lake.water_c.size, np.nan)
    for one in np.unique(year):
        others = (year != one) & ~np.isnan(lake.water_c)
        if others.sum() < _LEAST_OTHER_DAYS:
            continue
        # A trace of ridge keeps lakes without winter readings from running away in winter.
        matrix = design[others].T @ design[others] + 1e-3 * others.sum() * np.diag([0.0, 1, 1, 1, 1])
        coefficients = np.linalg.solve(matrix, design[others].T @ lake.water_c[others])
        out[year == one] = np.maximum(design[year == one] @ coefficients, 0.0)
    return out


def last_before(readings_c: Floats, lead_days: int) -> tuple[Floats, NDArray[np.int64]]:
    """Last reading known ``lead_days`` before each day, and its age in days; (days, columns), NaN before the first.

    At lead 0 a day's own reading is not counted.
    """
    days, columns = readings_c.shape
    index = np.where(np.isnan(readings_c), -1, np.arange(days)[:, None])
    latest = np.maximum.accumulate(index, axis=0)
    shift = max(lead_days, 1)
    known = np.vstack([np.full((shift, columns), -1), latest[:-shift]])
    value = np.where(known >= 0, np.take_along_axis(readings_c, np.maximum(known, 0), axis=0), np.nan)
    return value, np.asarray(np.arange(days)[:, None] - known, dtype=np.int64)


def damped_anomaly(climate_c: Floats, readings_c: Floats, lead_days: int, damping_days: float) -> Floats:
    """Climatology plus the last reading's anomaly, fading with its age; (days, columns)."""
    value, age = last_before(readings_c, lead_days)
    place = np.clip(np.arange(climate_c.size)[:, None] - age, 0, climate_c.size - 1)
    return np.asarray(climate_c[:, None] + (value - climate_c[place]) * np.exp(-age / damping_days))


def best_damping(climate_c: Floats, readings_c: Floats, truth_c: Floats) -> float:
    """Fading time with the least error on the lake's own record: chosen in the baseline's favour."""
    every = np.ones(readings_c.shape, dtype=bool)
    errors = [
        score(damped_anomaly(climate_c, readings_c, 3, days), None, truth_c, every).rmse_c for days in DAMPING_DAYS
    ]
    return float(DAMPING_DAYS[int(np.argmin(np.nan_to_num(errors, nan=np.inf)))])


def week_means(values_c: Floats) -> Floats:
    """Mean of a day and the six before it, (days, columns); NaN where fewer than five are known."""
    known = ~np.isnan(values_c)
    zero = np.zeros((1, values_c.shape[1]))
    total = np.cumsum(np.vstack([zero, np.where(known, values_c, 0.0)]), axis=0)
    count = np.cumsum(np.vstack([zero, known]), axis=0)
    index = np.arange(values_c.shape[0])
    since = np.maximum(index - 6, 0)
    number = count[index + 1] - count[since]
    mean = (total[index + 1] - total[since]) / np.maximum(number, 1)
    return np.where(number >= _LEAST_DAYS_OF_WEEK, mean, np.nan)


def passing_errors(lake: MeasuredLake, week_c: Floats, threshold_c: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Days by which the estimated first passing is late, one for each year and column with both dates.

    Also whether the passing itself was measured: the day before had a 7-day mean too. Where the sensor was away, the
    measured date is only the first on which it was back, and an estimate that passes earlier may well be right.

    week_c: estimated mean of a day and the six before it, (days, columns), as it was seen on that day. Passing: first
    day from January to July on which the 7-day mean lies above the threshold. A year counts when the measured mean lay
    below the threshold before it passed.
    """
    truth = week_means(lake.water_c[:, None])[:, 0]
    of_year, year = lake.day_of_year, lake.year
    errors: list[float] = []
    seen: list[bool] = []
    for one in np.unique(year):
        days = np.flatnonzero((year == one) & (of_year < _JULY_END))
        measured = truth[days]
        above = np.flatnonzero(measured > threshold_c)
        if above.size == 0 or not (measured[: above[0]] <= threshold_c).any():
            continue
        for column in range(week_c.shape[1]):
            passed = np.flatnonzero(week_c[days, column] > threshold_c)
            if passed.size:
                errors.append(float(passed[0] - above[0]))
                seen.append(not np.isnan(measured[above[0] - 1]))
    return np.array(errors), np.array(seen, dtype=bool)
