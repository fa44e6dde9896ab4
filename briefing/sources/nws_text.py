"""US National Weather Service, second path: the hourly forecast as text. It says ranges of wind and no gust."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

import numpy as np

from briefing.core.hours import HourSeries, Origin
from briefing.core.plausible import Plausible
from briefing.sources.bodies import NAN, Read, load_json, read_instant, read_number, read_plausible, rows, table
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.intervals import Piece, full_hour, spread
from briefing.sources.result import (
    GUST_NOTE,
    LONGEST,
    PAST,
    ParsedHours,
    extent,
    field_with,
    judged_hours,
)
from briefing.sources.service_limits import SHARE_HOURLY
from briefing.sources.thunder_words import thunder_in_words
from briefing.sources.units_in import conversion, degrees_of_point

_GEO = {"Accept": "application/geo+json"}


def retrieve_hourly(source: Source, path: str) -> Reply:
    """Get the hourly text forecast."""
    return source.get(Ask(source.fetcher.urls.nws + path, params={"units": "us"}, headers=_GEO, share_for=SHARE_HOURLY))


_WIND_TEXT = re.compile(
    r"(?:around |near |up to )?(\d{1,3}(?:\.\d+)?)(?: ?(?:to|-) ?(\d{1,3}(?:\.\d+)?))? ?(mph|km/h|kt|knots)",
    re.IGNORECASE | re.ASCII,
)


def read_wind_text(value: object) -> tuple[float, float] | None:
    """Read wind as text ("2 to 17 mph") into its lower and upper speed in m/s; None when it can't be read."""
    if isinstance(value, dict):
        return _wind_quantity(value)
    words = " ".join(value.split()) if isinstance(value, str) else ""
    if words.lower() == "calm":
        return 0.0, 0.0
    match = _WIND_TEXT.fullmatch(words)
    scale = conversion("wind_mps", match.group(3).lower()) if match else None
    if match is None or scale is None:
        return None
    low = float(match.group(1)) * scale[0]
    high = float(match.group(2)) * scale[0] if match.group(2) else low
    return min(low, high), max(low, high)


def _wind_quantity(value: Mapping[str, Any]) -> tuple[float, float] | None:
    """Read the form with numbers: {"unitCode": ..., "value", "minValue", "maxValue": ...}, whichever is the largest.

    As in a text, the upper of two numbers counts in whatever order they stand. One that can't be read may be it.
    """
    scale = conversion("wind_mps", value.get("unitCode"))
    read = [read_number(value.get(key)) for key in ("value", "minValue", "maxValue")]
    given = [number for number, _ in read if number == number]
    if scale is None or not given or any(damaged for _, damaged in read):
        return None
    return min(given) * scale[0], max(given) * scale[0]


def parse_hourly(body: bytes | str, retrieved_at: datetime, limits: Plausible) -> ParsedHours:
    """Read the hourly text forecast; of a range of wind the upper number counts, and a gust is hardly ever there.

    Times come from each period's own instants, so a clock change costs or doubles no hour.
    """
    properties = table(table(load_json(body)).get("properties"))
    issued = read_instant(properties.get("updateTime"))
    if issued is None:
        return ParsedHours(None, None, ("NWS text forecast: it says not when it was issued, not used.",))
    found: dict[str, list[Piece]] = {}
    unread = 0
    for period in rows(properties.get("periods")):
        start, end = (read_instant(table(period).get(key)) for key in ("startTime", "endTime"))
        if start is None or end is None or end <= start:
            unread += 1
            continue
        for name, (value, damaged) in _period(table(period), limits).items():
            found.setdefault(name, []).append(Piece(start, end, value, damaged))
    window = (full_hour(issued - PAST), full_hour(issued + LONGEST))
    begin, hours = extent([piece for pieces in found.values() for piece in pieces], window)
    notes = (f"NWS text forecast: {unread} periods without readable times were skipped.",) if unread else ()
    if hours == 0:
        return ParsedHours(None, issued, ("NWS text forecast: it holds no period that could be read.",), notes)
    origin = Origin("nws_text", "National Weather Service hourly text forecast", "forecast", issued, retrieved_at)
    fields = {}
    for name, pieces in found.items():
        values, marks = spread(pieces, begin, hours, "most" if name in _CALM_FIELDS else "max")
        fields[name] = field_with(values, marks | np.isnan(values) if unread else marks, origin)
    series = HourSeries(begin, hours, fields)
    return judged_hours("NWS text forecast", series, issued, retrieved_at, notes, GUST_NOTE)


_CALM_FIELDS = frozenset({"wind_from_deg", "air_c", "dewpoint_c", "humidity_pct"})


def _period(period: Mapping[str, Any], limits: Plausible) -> dict[str, Read]:
    out = {
        "wind_mps": _wind_of("wind_mps", period.get("windSpeed"), limits),
        "wind_from_deg": _direction_of(period.get("windDirection")),
        "air_c": _quantity("air_c", period.get("temperature"), period.get("temperatureUnit"), limits),
        "dewpoint_c": _quantity("dewpoint_c", period.get("dewpoint"), None, limits),
        "humidity_pct": _quantity("humidity_pct", period.get("relativeHumidity"), None, limits),
        "precip_chance_pct": _quantity("precip_chance_pct", period.get("probabilityOfPrecipitation"), None, limits),
        "thunder_words_pct": thunder_in_words(period.get("shortForecast")),
    }
    if period.get("windGust") is not None:
        out["gust_mps"] = _wind_of("gust_mps", period["windGust"], limits)
    return out


def _wind_of(field: str, value: object, limits: Plausible) -> Read:
    if value is None or value == "":
        return NAN, False
    pair = read_wind_text(value)
    if pair is None or not limits.holds(field, pair[1]):
        return NAN, True
    return pair[1], False


def _direction_of(value: object) -> Read:
    if value is None or value == "":
        return NAN, False
    found = degrees_of_point(value)
    return (NAN, True) if found is None else (found, False)


def _quantity(field: str, value: object, unit: object, limits: Plausible) -> Read:
    if isinstance(value, dict):
        quantity: Mapping[str, Any] = value
        value, unit = quantity.get("value"), quantity.get("unitCode")
    if value is None:
        return NAN, False
    scale = conversion(field, unit)
    return (NAN, True) if scale is None else read_plausible(field, value, scale[0], scale[1], limits)
