"""Daily means of air temperature on local days, from archive, past days and forecast."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from briefing.core.hours import Floats, HourSeries
from briefing.core.readings import DailyAir

_ENOUGH = 0.9  # share of a day's hours that must be known


def day_bounds(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the instants at which a local day begins and ends; 23 or 25 hours apart at a clock change."""
    begin = datetime.combine(day, time(0), tzinfo=zone).astimezone(UTC)
    return begin, datetime.combine(day + timedelta(days=1), time(0), tzinfo=zone).astimezone(UTC)


def mean_of_day(series: HourSeries, day: date, zone: ZoneInfo) -> float:
    """Mean of the air temperature over a local day in C; NaN when over a tenth of its hours is missing."""
    return _mean(series.values("air_c"), series.start, *day_bounds(day, zone))


def _mean(values: Floats, start: datetime, begin: datetime, end: datetime) -> float:
    """Mean over the hours that overlap [begin, end) of values from ``start`` on; hours beyond them are missing."""
    first = int((begin - start).total_seconds() // 3600)
    last = -(-int((end - start).total_seconds()) // 3600)
    there = values[max(first, 0) : max(last, 0)]
    known = there[np.isfinite(there)]
    return float(known.mean()) if known.size and known.size >= _ENOUGH * (last - first) else float("nan")


def daily_air(past: Sequence[HourSeries], ahead: HourSeries, first: date, now: datetime, zone: ZoneInfo) -> DailyAir:
    """Join the past (the first series that has a day counts) and the merged hours ahead into consecutive days.

    Days before today are modelled values, today and later ones forecasts with their lead in days.
    """
    today = now.astimezone(zone).date()
    last = max(today, (ahead.start + timedelta(hours=ahead.hours - 1)).astimezone(zone).date())
    first = min(first, today)
    before, rest = [(one.values("air_c"), one.start) for one in past], (ahead.values("air_c"), ahead.start)
    means: list[float] = []
    kinds: list[str] = []
    leads: list[int] = []
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        bounds = day_bounds(day, zone)
        options = [rest] if day >= today else [*before, rest]
        mean = next((value for value in (_mean(*one, *bounds) for one in options) if value == value), np.nan)
        means.append(mean)
        kinds.append("missing" if mean != mean else "forecast" if day >= today else "modelled")
        leads.append(max(0, (day - today).days))
    while kinds[-1] == "missing" and leads[-1] > 0:  # days after the forecast's end
        means.pop()
        kinds.pop()
        leads.pop()
    name = "modelled and forecast air temperature"
    return DailyAir(first, np.array(means), tuple(kinds), np.array(leads, dtype=np.int16), "air", name)
