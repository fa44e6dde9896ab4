"""The air of each day as the slab needs it: gaps filled from the normals, forecasts drawn towards them by lead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate.normals import AirNormals
from briefing.core.readings import DailyAir
from briefing.core.water.slab import Floats

DAY_MEMORY = 0.75  # correlation of the air's anomaly from day to day
FIRST_LEAD_ERROR_C = 1.0
LEAD_ERROR_GROWTH_C = 1 / 3  # a day: 3 C at day 7


@dataclass(frozen=True)
class DayWeather:
    """Air by day, all of shape (days,): best estimate, its spread, normal gap to the dew point, time of year."""

    air_c: Floats
    air_sd_c: Floats
    depression_c: Floats
    day_of_year: NDArray[np.int64]  # 0..365, 29 February is 59
    known: NDArray[np.bool_]

    @property
    def season(self) -> tuple[Floats, Floats]:
        """Cosine and sine of the time of year, each (days,)."""
        angle = 2 * np.pi * self.day_of_year / 366
        return np.asarray(np.cos(angle)), np.asarray(np.sin(angle))


def leap_day_index(days: Sequence[date]) -> NDArray[np.int64]:
    """Index of days into arrays of 366 days of the year."""
    first = date(2000, 1, 1)
    return np.array([(date(2000, day.month, day.day) - first).days for day in days], dtype=np.int64)


def lead_error_c(lead_days: NDArray[np.int64] | Floats) -> Floats:
    """Spread of the error of a daily air forecast, 1 C at day 1 to 3 C at day 7; nil at lead 0."""
    error = FIRST_LEAD_ERROR_C + LEAD_ERROR_GROWTH_C * (np.asarray(lead_days, float) - 1)
    return np.asarray(np.where(np.asarray(lead_days) > 0, error, 0.0))


def shrink(air_c: Floats, normal_c: Floats, day_sd_c: Floats, error_c: Floats) -> tuple[Floats, Floats]:
    """Draw a forecast towards the normal by the worth it has; returns the estimate and its spread, C."""
    worth = day_sd_c**2 / (day_sd_c**2 + error_c**2)
    return normal_c + worth * (air_c - normal_c), error_c * np.sqrt(worth)


def fill_gaps(anomaly_c: Floats, day_sd_c: Floats) -> tuple[Floats, Floats]:
    """Bridge missing days (NaN) of an anomaly that fades by 0.75 a day: estimate and its spread, C.

    Between two known days this is the exact interpolation of a first-order autoregressive series.
    """
    known = np.flatnonzero(~np.isnan(anomaly_c))
    if known.size == 0:
        return np.zeros_like(anomaly_c), day_sd_c.copy()
    index = np.arange(anomaly_c.size)
    after = np.searchsorted(known, index)
    left, right = known[np.maximum(after - 1, 0)], known[np.minimum(after, known.size - 1)]
    far = 10_000
    to_left = np.where(left <= index, index - left, far)
    to_right = np.where(right >= index, right - index, far)
    a, b = DAY_MEMORY**to_left, DAY_MEMORY**to_right
    both = np.maximum(1 - (a * b) ** 2, 1e-12)
    value = (np.nan_to_num(anomaly_c[left]) * a * (1 - b**2) + np.nan_to_num(anomaly_c[right]) * b * (1 - a**2)) / both
    spread = day_sd_c * np.sqrt(np.maximum((1 - a**2) * (1 - b**2) / both, 0.0))
    missing = np.isnan(anomaly_c)
    return np.where(missing, value, anomaly_c), np.where(missing, spread, 0.0)


def day_weather(air: DailyAir, normals: AirNormals, start: date, days: int) -> DayWeather:
    """Lay the air over ``days`` days from ``start``.

    Days without air get the normal and what is left of the nearest days' anomaly. A value's spread grows with its
    lead; a filled day's holds the spread of single days and the error of the normals.
    """
    calendar = [start + timedelta(days=number) for number in range(days)]
    of_year = leap_day_index(calendar)
    normal, day_sd = normals.mean_c[of_year], normals.day_sd_c[of_year]
    values, lead = np.full(days, np.nan), np.zeros(days, dtype=np.int64)
    shift = (air.start - start).days
    first, last = max(shift, 0), min(shift + air.mean_c.size, days)
    if last > first:
        values[first:last] = air.mean_c[first - shift : last - shift]
        lead[first:last] = np.maximum(air.lead_days[first - shift : last - shift], 0)
    values[np.abs(values) > 65.0] = np.nan
    known = ~np.isnan(values)
    error = lead_error_c(lead)
    shrunk, spread = shrink(values, normal, day_sd, error)
    anomaly, gap_spread = fill_gaps(shrunk - normal, np.hypot(day_sd, normals.error_c))
    return DayWeather(
        air_c=normal + anomaly,
        air_sd_c=np.where(known, spread, gap_spread),
        depression_c=np.maximum(normal - normals.dewpoint_c[of_year], 0.0),
        day_of_year=of_year,
        known=known,
    )
