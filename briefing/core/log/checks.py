"""Forecasts held against what came: one ``Check`` for each value, class of lead and kind of observer.

A forecast wind is the hour's highest at 10 m; a station reports a mean of some minutes, often from land some kilometres
away, and a user feels the wind low over the water. What a correction learns from them is what this lake's observers see
beside its forecasts, not an error of the forecast model.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from briefing.core.hours import HourSeries
from briefing.core.log.parameters import LeadClass
from briefing.core.readings import WaterReading, WindReading
from briefing.vocabulary import Zone

#: Origins that count as a forecast; a modelled hour is one too, an observed one isn't.
_FORECAST = ("forecast", "modelled")
WIND, GUST, WATER = "wind_mps", "gust_mps", "water_c"


@dataclass(frozen=True, slots=True)
class Check:
    """A forecast value and what came.

    element: ``wind_mps``, ``gust_mps``, ``water_c``, ``thunder_pct`` (observed 0 or 100) or ``nest_start_day``
    (days of the year). lead: name of its class. low, high: the stated 80 % range, None where none was stated. from_deg:
    forecast direction. kind: ``station``, ``user`` or ``gauge``; name: who saw it.
    """

    element: str
    time: datetime
    lead: str
    lead_h: float
    forecast: float
    observed: float
    kind: str
    name: str
    low: float | None = None
    high: float | None = None
    from_deg: float | None = None

    @property
    def error(self) -> float:
        """Observed less forecast: positive when the forecast was too low."""
        return self.observed - self.forecast


@dataclass(frozen=True, slots=True)
class Issued:
    """A forecast as it stood when it was stored."""

    made_at: datetime
    hours: HourSeries


@dataclass(frozen=True, slots=True)
class WaterStated:
    """Water temperature of a day as a briefing stated it, with its 80 % range (C); ``day`` is local."""

    made_at: datetime
    day: date
    mean_c: float
    low_c: float | None
    high_c: float | None


def lead_class(lead_h: float, leads: Sequence[LeadClass]) -> str:
    """Name of the class a lead falls in; empty when in none."""
    return next((one.name for one in leads if one.low_h <= lead_h < one.high_h), "")


def wind_checks(
    issued: Iterable[Issued], winds: Iterable[WindReading], leads: Sequence[LeadClass]
) -> tuple[Check, ...]:
    """Hold forecasts against winds measured or seen after they were made.

    Of the stations the nearest that gave a wind in an hour counts, the user's own wind apart from it. Of the forecasts
    in a class of lead the newest counts. A damaged, missing or observed hour of a forecast is no forecast.
    """
    stored = sorted(issued, key=lambda one: one.made_at)
    out: list[Check] = []
    for wind in _one_an_hour(winds):
        newest: dict[str, Issued] = {}
        for one in stored:
            lead_h = (wind.time - one.made_at).total_seconds() / 3600.0
            name = lead_class(lead_h, leads)
            if name:
                newest[name] = one
        for name, one in newest.items():
            out += _wind_pair(name, one, wind)
    return tuple(out)


def _one_an_hour(winds: Iterable[WindReading]) -> list[WindReading]:
    """The nearest station of each hour and the user's last word in it, by time."""
    best: dict[tuple[datetime, bool], WindReading] = {}
    for wind in winds:
        if wind.wind_mps is None:
            continue
        key = (wind.time.replace(minute=0, second=0, microsecond=0), wind.source == "user")
        there = best.get(key)
        if there is None or _rank(wind) < _rank(there):
            best[key] = wind
    return sorted(best.values(), key=lambda wind: (wind.time, wind.source))


def _rank(wind: WindReading) -> tuple[float, float]:
    """Nearest first, then the latest."""
    far = float("inf") if wind.distance_km is None else wind.distance_km
    return (0.0 if wind.source == "user" else far, -wind.time.timestamp())


def _wind_pair(lead: str, one: Issued, wind: WindReading) -> list[Check]:
    index = one.hours.index_of(wind.time)
    lead_h = (wind.time - one.made_at).total_seconds() / 3600.0
    direction = _forecast_at(one.hours, "wind_from_deg", index)
    kind = "user" if wind.source == "user" else "station"
    out = []
    for element, seen in ((WIND, wind.wind_mps), (GUST, wind.gust_mps)):
        value = _forecast_at(one.hours, element, index)
        if value is not None and seen is not None:
            out.append(Check(element, wind.time, lead, lead_h, value, seen, kind, wind.name, from_deg=direction))
    return out


def _forecast_at(hours: HourSeries, name: str, index: int) -> float | None:
    field = hours[name]
    if not 0 <= index < hours.hours or field.damaged[index] or np.isnan(field.values[index]):
        return None
    origin = field.origin_at(index)
    return float(field.values[index]) if origin is not None and origin.kind in _FORECAST else None


def water_checks(
    stated: Iterable[WaterStated], readings: Iterable[tuple[WaterReading, date]], leads: Sequence[LeadClass]
) -> tuple[Check, ...]:
    """Hold the stated water temperature of a day against later readings of the main lake on that day.

    Readings come with their local day. A briefing made after the reading knew it already and is left out.
    """
    known = sorted(stated, key=lambda one: one.made_at)
    out: list[Check] = []
    for reading, day in readings:
        if reading.zone is not Zone.MAIN:
            continue
        newest: dict[str, tuple[WaterStated, float]] = {}
        for one in known:
            lead_h = (reading.time - one.made_at).total_seconds() / 3600.0
            name = lead_class(lead_h, leads)
            if name and one.day == day:
                newest[name] = (one, lead_h)
        for name, (one, lead_h) in newest.items():
            kind = "user" if reading.source == "user" else "gauge"
            out.append(
                Check(WATER, reading.time, name, lead_h, one.mean_c, reading.temperature_c, kind, reading.name,
                      one.low_c, one.high_c)
            )  # fmt: skip
    return tuple(out)


def thunder_checks(
    issued: Iterable[Issued],
    outings: Iterable[tuple[datetime, datetime]],
    heard: Sequence[datetime],
    leads: Sequence[LeadClass],
) -> tuple[Check, ...]:
    """Hold the chance of thunder against outings of the log: heard within it (100) or not (0).

    The highest chance of the outing's hours counts, and the newest forecast before the launch in each class. Only
    outings with both ends known are given, for elsewhere nobody listened.
    """
    stored = sorted(issued, key=lambda one: one.made_at)
    out: list[Check] = []
    for begin, end in outings:
        came = 100.0 if any(begin <= instant <= end for instant in heard) else 0.0
        newest: dict[str, tuple[Issued, float]] = {}
        for one in stored:
            lead_h = (begin - one.made_at).total_seconds() / 3600.0
            name = lead_class(lead_h, leads)
            if name:
                newest[name] = (one, lead_h)
        for name, (one, lead_h) in newest.items():
            window = one.hours.window(begin, end)
            chance = window.values("thunder_pct")
            if chance.size and np.isfinite(chance).all():
                out.append(Check("thunder_pct", begin, name, lead_h, float(chance.max()), came, "user", "your outing"))
    return tuple(out)


def nest_check(time: datetime, seen: date, low: date | None, middle: date | None, high: date | None) -> Check:
    """Hold the stated date of the first nests, with its 80 % span, against the day they were seen; days of the year."""

    def day_of(value: date | None) -> float | None:
        return None if value is None else float(value.timetuple().tm_yday)

    forecast = day_of(middle)
    if forecast is None:
        raise ValueError("no date was stated")
    return Check(
        "nest_start_day", time, "as stated", 0.0, forecast, float(day_of(seen) or 0.0), "user", "your sign",
        day_of(low), day_of(high),
    )  # fmt: skip


def morning_of(time: datetime) -> date:
    """The day that values of one morning share; errors within it are not independent."""
    return (time - timedelta(hours=3)).date()
