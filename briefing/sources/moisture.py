"""Air temperature, dew point and humidity of one body, held against each other: any two of them give the third.

Where they contradict each other beyond rounding, nobody knows which is wrong, and heat must not be called off by it.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np

from briefing.core.hours import Floats, HourField, HourSeries
from briefing.core.wind.heat import humidity_from_dewpoint_pct
from briefing.sources.intervals import Bools

_FIELDS = ("air_c", "dewpoint_c", "humidity_pct")
#: A dew point this far (K) above the air, and a humidity this far (points) from that of the dew point, is no rounding.
_ABOVE_K, _APART_PCT = 1.5, 25.0
#: With both below it heat can't be meant, and over ice other formulas are in use.
_COLD_C = 0.0
#: Air that humidity and dew point allow for: hotter by this (K) than was sent, and no hotter than air ever is (C).
_HOTTER_K, _HOTTEST_C, _DRIEST_PCT = 3.0, 52.0, 5.0


def moisture_doubts(name: str, series: HourSeries, since: datetime) -> tuple[str, ...]:
    """Say that the three contradict each other in hours from ``since`` on; empty where they don't."""
    lost, apart = _contradicting(series)
    hours = int(((lost | apart) & (np.arange(series.hours) >= series.index_of(since))).sum())
    if not hours:
        return ()
    said = "air temperature, dew point and humidity contradict each other"
    return (f"{name}: {said}, in {hours} of its hours: heat is in doubt, judged by the worse or not known.",)


def with_sound_moisture(series: HourSeries) -> HourSeries:
    """Take out what nobody can tell the heat from, and take the moister reading where only the humidity is in doubt."""
    lost, apart = _contradicting(series)
    if not (lost | apart).any():
        return series
    implied = humidity_from_dewpoint_pct(series.values("air_c"), series.values("dewpoint_c"))
    humid = series["humidity_pct"]
    moister = replace(humid, values=np.where(apart, np.fmax(humid.values, implied), humid.values))
    fields = {**series.fields, "humidity_pct": moister}
    return replace(series, fields={**fields, **{one: _refused(fields[one], lost) for one in _FIELDS if one in fields}})


def _refused(field: HourField, hours: Bools) -> HourField:
    index = np.where(hours, -1, field.origin_index).astype(np.int16)
    values = np.where(hours, np.nan, field.values)
    return replace(field, values=values, origin_index=index, damaged=field.damaged | hours)


def _contradicting(series: HourSeries) -> tuple[Bools, Bools]:
    """Hours in which the air itself may be warmer than was sent, and the other ones that contradict; shape (hours,)."""
    air, dew, humid = (series.values(name) for name in _FIELDS)
    with np.errstate(invalid="ignore", divide="ignore"):
        warm = np.fmax(air, dew) > _COLD_C
        above = warm & (dew > air + _ABOVE_K)
        apart = warm & (np.abs(humid - humidity_from_dewpoint_pct(air, dew)) > _APART_PCT)
        other = _air_c(dew, humid)
        hotter = apart & (humid >= _DRIEST_PCT) & (other > air + _HOTTER_K) & (other <= _HOTTEST_C)
    lost = above | hotter
    return lost, apart & ~lost


def _air_c(dewpoint_c: Floats, humidity_pct: Floats) -> Floats:
    """Air temperature in C that a dew point (C) and a humidity (%) belong to; the inverse of the same Magnus form."""
    power = 17.625 * dewpoint_c / (243.04 + dewpoint_c) - np.log(humidity_pct / 100.0)
    return np.asarray(243.04 * power / (17.625 - power), float)
