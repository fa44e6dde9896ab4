"""Open-Meteo: modelled hours of the past days and the forecast, and the season so far from its archive.

Asked in UTC with plain seconds, so that no clock change can shift a row. Gusts, rain and radiation are of the hour
before their time stamp and are moved to the hour they describe. A null is missing, never zero. The service names no
issue time: its values count as issued some hours before the body was made, which is never after it was retrieved, nor
after what its headers, its first and last hour, and an earlier arrival of the same bytes allow.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from briefing.core.advice.measures import either
from briefing.core.hours import Floats, HourField, HourSeries, Origin
from briefing.core.plausible import Plausible
from briefing.sources.bodies import NAN, load_json, read_epoch, read_number, read_plausible_column, table
from briefing.sources.distance import distance_km
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.intervals import Bools
from briefing.sources.result import ParsedHours, all_damaged, field_with, judged_hours
from briefing.sources.service_limits import SHARE_HOURLY
from briefing.sources.tables import age
from briefing.sources.units_in import conversion
from briefing.sources.urls import BaseUrls, degrees
from briefing.units import MILE_M, m_to_ft

CREDIT = "Weather data by Open-Meteo.com (CC BY 4.0, free for non-commercial use)"
PAST_DAYS, FORECAST_DAYS = 7, 8
_HOUR = timedelta(hours=1)
_GUST_NOTE = "doubtful: the model's gust was below its wind and was raised to it"
_FAR_KM, _HIGH_M = 5.0, 100.0
_JUMP_C, _FLAT_HOURS = 20.0, 30
_MOST_ROWS = 24 * 800  # two years and some; anything longer is no answer to our question

#: variable -> (field, hours to move it back by)
VARIABLES: Mapping[str, tuple[str, int]] = {
    "temperature_2m": ("air_c", 0),
    "dew_point_2m": ("dewpoint_c", 0),
    "relative_humidity_2m": ("humidity_pct", 0),
    "precipitation": ("precip_mm", 1),
    "precipitation_probability": ("precip_chance_pct", 1),
    "weather_code": ("weather_code", 0),
    "cloud_cover": ("cloud_pct", 0),
    "pressure_msl": ("pressure_hpa", 0),
    "wind_speed_10m": ("wind_mps", 0),
    "wind_direction_10m": ("wind_from_deg", 0),
    "wind_gusts_10m": ("gust_mps", 1),
    "cape": ("cape_jkg", 0),
    "visibility": ("visibility_m", 0),
    "shortwave_radiation": ("shortwave_wm2", 1),
}
_FIXED = {
    "timezone": "GMT",
    "timeformat": "unixtime",
    "wind_speed_unit": "kmh",
    "temperature_unit": "celsius",
    "precipitation_unit": "mm",
    "cell_selection": "land",
}


Place = tuple[float, float]


def retrieve_forecast(source: Source, latitude: float, longitude: float) -> Reply:
    """Ask for past days and forecast at a position rounded to 0.01 degree."""
    return source.get(forecast_ask(source.fetcher.urls, [(latitude, longitude)]))


def retrieve_archive(
    source: Source, latitude: float, longitude: float, first: date, last: date, keep_for: timedelta
) -> Reply:
    """Ask for hourly air temperature of whole UTC days, both ends included."""
    return source.get(archive_ask(source.fetcher.urls, [(latitude, longitude)], first, last, keep_for))


def forecast_ask(urls: BaseUrls, places: Sequence[Place]) -> Ask:
    """The request for past days and forecast; of several places the answer is a list in their order."""
    params = _places(places) | {"hourly": ",".join(VARIABLES)}
    params |= {"past_days": str(PAST_DAYS), "forecast_days": str(FORECAST_DAYS)}
    return _ask(urls, urls.open_meteo + "/forecast", params, None)


def archive_ask(urls: BaseUrls, places: Sequence[Place], first: date, last: date, keep_for: timedelta) -> Ask:
    """The request for hourly air temperature of whole UTC days, for one place or several."""
    params = _places(places) | {"hourly": "temperature_2m"}
    params |= {"start_date": first.isoformat(), "end_date": last.isoformat()}
    return _ask(urls, urls.open_meteo_archive + "/archive", params, keep_for)


def _places(places: Sequence[Place]) -> dict[str, str]:
    north, east = ([degrees(place[axis], 2) for place in places] for axis in (0, 1))
    return {"latitude": ",".join(north), "longitude": ",".join(east)}


def _ask(urls: BaseUrls, url: str, params: dict[str, str], keep_for: timedelta | None) -> Ask:
    key = {"apikey": urls.open_meteo_key} if urls.open_meteo_key else {}
    return Ask(url, params | _FIXED | key, keep_for=keep_for, share_for=SHARE_HOURLY)


def parse_hours(
    body: bytes | str,
    retrieved_at: datetime,
    place: tuple[float, float],
    assumed_age: timedelta,
    limits: Plausible,
    *,
    made_by: datetime | None = None,
    days: tuple[int, int] | None = None,
) -> ParsedHours:
    """Read hourly values; ``place`` is the (latitude, longitude) asked for, ``assumed_age`` that of the issue.

    made_by: the latest instant at which the body can have been made, by its headers and earlier arrivals. days: past
    and coming days that were asked for; an answer that begins or ends earlier was made on an earlier day, and one whose
    own day lies ahead of now, or that does not begin with a day, is refused. So is one of another clock than UTC.

    A variable with another unit than known, of another length than the times, or that is no list is marked damaged in
    all hours. Columns that hold nulls throughout are missing.
    """
    data = table(load_json(body))
    hourly, units = table(data.get("hourly")), table(data.get("hourly_units"))
    times = hourly.get("time")
    if units.get("time") != "unixtime" or not isinstance(times, list) or not 0 < len(times) <= _MOST_ROWS:
        return ParsedHours(None, None, ("Open-Meteo: its hours could not be read, not used.",))
    index = _positions(times)
    if index is None:
        return ParsedHours(None, None, ("Open-Meteo: its times are no row of full hours, not used.",))
    begin, places = index
    lengths = [len(column) for name in VARIABLES if isinstance(column := hourly.get(name), list)]
    if 2 * lengths.count(len(times)) < len(lengths):  # a column that happens to fit may be shifted
        return ParsedHours(None, None, ("Open-Meteo: its columns don't fit its times, not used.",))
    if days is not None and (ahead := begin + timedelta(days=days[0]) - retrieved_at) > age("ahead"):
        late = f"its days begin {max(ahead // timedelta(hours=1), 1)} h ahead of now, not used."
        return ParsedHours(None, None, (f"Open-Meteo: {late}",))
    odd = "" if days is None else _not_as_asked(data, begin)
    if odd:
        return ParsedHours(None, None, (odd,))
    bounds = [retrieved_at, retrieved_at if made_by is None else made_by]
    bounds += [] if days is None else _latest_days(begin, begin + len(places) * _HOUR, days)
    issued = min(bounds) - assumed_age
    problems, note = _cell(data, place)
    origin = Origin("open_meteo", "Open-Meteo model forecast", "forecast", issued, retrieved_at, note=note)
    fields: dict[str, HourField] = {}
    notes: list[str] = []
    for variable, (field, back) in VARIABLES.items():
        if variable not in hourly:
            continue
        read = _column(hourly[variable], field, units.get(variable), places, limits)
        if read is None:
            notes.append(f"Open-Meteo: {variable} could not be read and was refused.")
            fields[field] = all_damaged(len(places))
            continue
        values, damaged = (_moved(read[0], back), _moved(read[1], back)) if back else read
        fields[field] = field_with(values, damaged.astype(bool), origin)
        if np.isnan(values).mean() > 0.1:
            notes.append(f"Open-Meteo: {variable} has {int(np.isnan(values).sum())} of {values.size} hours missing.")
    if "air_c" in fields:
        fields["air_c"] = _without_faults(fields["air_c"], notes)
    series = HourSeries(begin, len(places), fields)
    found = judged_hours("Open-Meteo", series, issued, retrieved_at, notes, _GUST_NOTE)
    return replace(found, problems=tuple(problems))


def _not_as_asked(data: Mapping[str, Any], begin: datetime) -> str:
    """Say how an answer contradicts a question for whole days in UTC; "" when it does not."""
    offset, damaged = read_number(data.get("utc_offset_seconds"))
    if damaged or abs(offset) > 0.0:
        return "Open-Meteo: its clock is not the one asked for, so that its hours are in doubt; not used."
    if begin.hour:
        said = f"its first hour is not the one asked for ({begin:%H:%M} in place of 00:00 UTC)"
        return f"Open-Meteo: {said}, so that its hours and age are in doubt; not used."
    return ""


def _latest_days(begin: datetime, end: datetime, days: tuple[int, int]) -> list[datetime]:
    """Ends of the days on which an answer of so many past and coming whole days can have been made."""
    return [begin + timedelta(days=days[0] + 1), end - timedelta(days=days[1] - 1)]


def _positions(times: list[Any]) -> tuple[datetime, list[int]] | None:
    """Start and the row number of each consecutive hour; None unless the times are full hours that rise."""
    if set(map(type, times)) == {int} and read_epoch(times[0]) and read_epoch(times[-1]):
        seconds = np.array(times)  # those between are believed if they rise
    else:
        instants = [read_epoch(value) for value in times]
        seconds = np.array([instant.timestamp() for instant in instants if instant is not None])
        if seconds.size != len(times):
            return None
    steps = (seconds - seconds[0]) // 3600
    if (seconds % 3600).any() or (np.diff(steps) <= 0).any() or steps[-1] >= _MOST_ROWS:
        return None
    rows_of = np.full(int(steps[-1]) + 1, -1)
    rows_of[steps.astype(int)] = np.arange(steps.size)
    return datetime.fromtimestamp(float(seconds[0]), UTC), rows_of.tolist()


def _column(
    column: object, field: str, unit: object, places: list[int], limits: Plausible
) -> tuple[Floats, Bools] | None:
    scale = conversion(field, unit)
    if not isinstance(column, list) or scale is None or len(column) != max(places) + 1:
        return None
    values, damaged = read_plausible_column(field, column, scale[0], scale[1], limits)
    rows = np.array(places)
    return np.where(rows >= 0, values[rows], NAN), (rows >= 0) & damaged[rows]


def _moved(values: Any, back: int) -> Any:
    """Move a column to earlier hours; the hours at the end, of which nothing is known, are missing."""
    filler = np.full(back, NAN) if values.dtype == float else np.zeros(back, bool)
    return np.concatenate([values[back:], filler])


def _without_faults(field: HourField, notes: list[str]) -> HourField:
    """Refuse air temperatures around an impossible jump, and long runs of one value: signs of corrupted data."""
    values = field.values
    with np.errstate(invalid="ignore"):
        jump = np.abs(np.diff(values)) > _JUMP_C
        still = np.diff(values) == 0.0
    hurt = np.zeros(values.size, bool)
    hurt[:-1] |= jump
    hurt[1:] |= jump
    run = 0
    for index, same in enumerate(still):
        run = run + 1 if same else 0
        if run >= _FLAT_HOURS - 1:
            hurt[index + 1 - run : index + 2] = True
    if not hurt.any():
        return field
    notes.append(f"Open-Meteo: {int(hurt.sum())} air temperatures look corrupted (a jump or a standstill), refused.")
    return field_with(values, field.damaged | hurt, field.origins[0])


def _cell(data: Mapping[str, Any], place: tuple[float, float]) -> tuple[list[str], str]:
    """Say how far the model's cell lies from the place asked for, as a problem when it is far."""
    north, east = read_number(data.get("latitude"))[0], read_number(data.get("longitude"))[0]
    height = read_number(data.get("elevation"))[0]
    if not (abs(north) <= 90.0 and abs(east) <= 180.0):
        return ["Open-Meteo: it says not for which place its values are."], "place of the model cell unknown"
    away = distance_km(place, (north, east))
    far = either(f"{away * 1000.0 / MILE_M:.0f} mi", f"{away:.0f} km")
    high = either(f"{m_to_ft(height):.0f} ft", f"{height:.0f} m") if height == height else ""
    note = f"model cell {far} away" + (f" at {high}" if high else "")
    if away <= _FAR_KM:
        return [], note
    return [f"Open-Meteo: its values are for a cell {far} away; wind and temperature may differ."], note


def hours_of(body: bytes) -> bytes:
    """Hours and values of a body, without what differs from answer to answer, as how long the service worked on it.

    A body that can't be read stands for itself.
    """
    try:
        hours = json.loads(body)["hourly"]
    except (ValueError, TypeError, KeyError, RecursionError):
        return body
    return json.dumps(hours, sort_keys=True).encode()


def height_problem(body: bytes | str, lake_elevation_m: float | None) -> str:
    """Say in a sentence that the cell's height differs much from the lake's; "" when it doesn't or isn't known."""
    height = read_number(table(load_json(body)).get("elevation"))[0]
    if lake_elevation_m is None or height != height or abs(height - lake_elevation_m) <= _HIGH_M:
        return ""
    difference = height - lake_elevation_m
    word = "above" if difference > 0 else "below"
    size = either(f"{m_to_ft(abs(difference)):.0f} ft", f"{abs(difference):.0f} m")
    return f"Open-Meteo: its cell lies {size} {word} the lake; its temperatures may differ."
