"""Wind now from stations of the US National Weather Service, checked against the raw reports where there are any."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from briefing.core.plausible import Plausible
from briefing.core.readings import WindReading
from briefing.sources.bodies import NAN, Read, load_json, read_instant, read_number, read_plausible, rows, table, text
from briefing.sources.distance import distance_km
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.observed import HOUR, Observed, ParsedWind, known, observed, of_last_hour
from briefing.sources.raw_wind import raw_wind
from briefing.sources.service_limits import SHARE_OBSERVED
from briefing.sources.tables import ahead
from briefing.sources.units_in import conversion

_GEO = {"Accept": "application/geo+json"}
_QUANTITIES = {
    "wind_mps": "windSpeed",
    "gust_mps": "windGust",
    "wind_from_deg": "windDirection",
    "air_c": "temperature",
    "visibility_m": "visibility",
    "pressure_hpa": "seaLevelPressure",
}
_REFUSED_QUALITY = frozenset({"X", "B", "Q"})  # failed, subjectively bad, questioned
#: A station may report every minute, and twice in some: enough for an hour of them.
_MOST_REPORTS = 90


def retrieve_stations(source: Source, path: str, keep_for: timedelta) -> Reply:
    """Ask for the stations near a grid cell, nearest first; only a list that can be read is kept."""
    ask = Ask(source.fetcher.urls.nws + path, {"limit": "3"}, _GEO, keep_for=keep_for)
    return source.get_whole(ask, lambda body: not stations_problem(body))


def parse_stations(body: bytes | str, most: int = 3) -> tuple[str, ...]:
    """Read the ids of the nearest stations, in the order given; empty when none can be read."""
    return tuple(dict.fromkeys(name for name in _station_names(body) if name))[:most]


def stations_problem(body: bytes | str, most: int = 3) -> str:
    """Say that a list of stations, or one of its nearest, can't be read; "" when they can."""
    names = _station_names(body)
    if not any(names):
        return "NWS stations: the list names no station that could be read."
    return "" if all(names[:most]) else "NWS stations: one of the nearest stations could not be read."


def _station_names(body: bytes | str) -> list[str]:
    """Ids of a list of stations in its order, "" for one that can't be read."""
    features = rows(table(load_json(body)).get("features"))
    ids = [text(table(table(feature).get("properties")).get("stationIdentifier")).upper() for feature in features]
    return [name if re.fullmatch(r"[A-Z0-9]{3,8}", name) else "" for name in ids]


def retrieve_observation(source: Source, station: str) -> Reply:
    """Ask for the newest observations of a station: at least those of an hour."""
    url = f"{source.fetcher.urls.nws}/stations/{station}/observations"
    params = {"limit": str(_MOST_REPORTS)}
    return source.get(Ask(url, params, _GEO, store=False, fresh=True, share_for=SHARE_OBSERVED))


def parse_observations(
    body: bytes | str, station: str, place: tuple[float, float], limits: Plausible, now: datetime | None = None
) -> ParsedWind:
    """Read a collection of observations, or a single one, as what the station measured in its last hour.

    ``place`` is the lake's (latitude, longitude). A wind that can't be true is refused and the raw report of the same
    body is used in its place; of two that can be true and differ widely the higher counts. With ``now`` what is too
    old for it is left out and said.
    """
    data = table(load_json(body))
    features = rows(data.get("features")) if "features" in data else [data]
    reports, undated = [], 0
    for feature in features:
        properties = table(table(feature).get("properties"))
        at = read_instant(properties.get("timestamp"))
        if at is None:
            undated += 1
        else:
            reports.append(_report(table(feature), properties, at, station, place, limits))
    found = of_last_hour(reports, f"Station {station}", now)
    lost = [f"Station {station}: an observation without a readable time was skipped."] if undated else []
    if len(features) >= _MOST_REPORTS and not _reaches_an_hour(reports, now):
        lost.append(f"Station {station}: its reports of the last hour were not all read.")
    none = () if features else (f"Station {station}: it has no observations.",)
    return ParsedWind(found.readings, (*lost, *found.problems, *none), (*lost, *found.serious))


def _reaches_an_hour(reports: Sequence[Observed], now: datetime | None) -> bool:
    """Tell whether the oldest report lies an hour before the newest, so that none of the hour was left out."""
    times = [one.reading.time for one in reports if now is None or not ahead(one.reading.time, now)]
    return bool(times) and max(times) - min(times) >= HOUR


def _report(
    feature: Mapping[str, Any],
    properties: Mapping[str, Any],
    at: datetime,
    station: str,
    place: tuple[float, float],
    limits: Plausible,
) -> Observed:
    read = {field: _measured(properties.get(key), field, limits) for field, key in _QUANTITIES.items()}
    spot = _position(feature)
    reading = WindReading(
        time=at,
        wind_mps=None,
        gust_mps=None,
        wind_from_deg=None,
        source="nws_station",
        name=text(properties.get("stationName")) or station,
        distance_km=None if spot is None else distance_km(place, spot),
        air_c=known(read["air_c"]),
        pressure_hpa=known(read["pressure_hpa"]),
        visibility_m=known(read["visibility_m"]),
    )
    return observed(reading, read, raw_wind(text(properties.get("rawMessage"))), limits)


def _measured(value: object, field: str, limits: Plausible) -> Read:
    """Read ``{"value", "unitCode", "qualityControl"}``; a reading that failed its check is refused as damaged."""
    if value is None:
        return NAN, False
    if not isinstance(value, dict) or "value" not in value:
        return NAN, True
    if value["value"] is None:
        return NAN, False
    scale = conversion(field, value.get("unitCode"))
    if scale is None or text(value.get("qualityControl")).rpartition(":")[2] in _REFUSED_QUALITY:
        return NAN, True
    return read_plausible(field, value["value"], scale[0], scale[1], limits)


def _position(feature: Mapping[str, Any]) -> tuple[float, float] | None:
    pair = [read_number(number)[0] for number in rows(table(feature.get("geometry")).get("coordinates"))[:2]]
    if len(pair) != 2 or not (abs(pair[0]) <= 180.0 and abs(pair[1]) <= 90.0):
        return None
    return pair[1], pair[0]
