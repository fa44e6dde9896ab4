"""Daily means of air temperature on local days, from archive, past days and forecast."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from briefing.core.hours import HourSeries
from briefing.core.readings import DailyAir

_ENOUGH = 0.9  # share of a day's hours that must be known


def day_bounds(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the instants at which a local day begins and ends; 23 or 25 hours apart at a clock change."""
    begin = datetime.combine(day, time(0), tzinfo=zone).astimezone(UTC)
    return begin, datetime.combine(day + timedelta(days=1), time(0), tzinfo=zone).astimezone(UTC)


def mean_of_day(series: HourSeries, day: date, zone: ZoneInfo) -> float:
    """Mean of the air temperature over a local day in C; NaN when over a tenth of its hours is missing."""
    begin, end = day_bounds(day, zone)
    values = series.window(begin, end, ("air_c",)).values("air_c")
    known = np.isfinite(values)
    return float(values[known].mean()) if values.size and known.mean() >= _ENOUGH else float("nan")


def daily_air(past: Sequence[HourSeries], ahead: HourSeries, first: date, now: datetime, zone: ZoneInfo) -> DailyAir:
    """Join the past (the first series that has a day counts) and the merged hours ahead into consecutive days.

    Days before today are modelled values, today and later ones forecasts with their lead in days.
    """
    today = now.astimezone(zone).date()
    last = max(today, (ahead.start + timedelta(hours=ahead.hours - 1)).astimezone(zone).date())
    first = min(first, today)
    means: list[float] = []
    kinds: list[str] = []
    leads: list[int] = []
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        options = [ahead] if day >= today else [*past, ahead]
        mean = next((value for value in (mean_of_day(one, day, zone) for one in options) if value == value), np.nan)
        means.append(mean)
        kinds.append("missing" if mean != mean else "forecast" if day >= today else "modelled")
        leads.append(max(0, (day - today).days))
    while kinds[-1] == "missing" and leads[-1] > 0:  # days after the forecast's end
        means.pop()
        kinds.pop()
        leads.pop()
    name = "modelled and forecast air temperature"
    return DailyAir(first, np.array(means), tuple(kinds), np.array(leads, dtype=np.int16), "air", name)
