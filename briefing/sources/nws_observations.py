"""Wind now from stations of the US National Weather Service, checked against the raw report where there is one."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from briefing.core.plausible import Plausible
from briefing.core.readings import WindReading
from briefing.sources.bodies import NAN, Read, load_json, read_instant, read_number, read_plausible, rows, table, text
from briefing.sources.distance import distance_km
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.raw_wind import RawWind, raw_wind
from briefing.sources.service_limits import SHARE_OBSERVED
from briefing.sources.units_in import conversion

_GEO = {"Accept": "application/geo+json"}
_REFUSED_QUALITY = frozenset({"X", "B", "Q"})  # failed, subjectively bad, questioned
_CLOSE_MPS = 2.6  # five knots between a field and its raw report: both rounded, minutes apart at most


@dataclass(frozen=True)
class ParsedWind:
    """Readings of wind, newest first within a station, and what was wrong in whole sentences."""

    readings: tuple[WindReading, ...]
    problems: tuple[str, ...] = ()


def retrieve_stations(source: Source, path: str, keep_for: timedelta) -> Reply:
    """Ask for the stations near a grid cell, nearest first."""
    return source.get(Ask(source.fetcher.urls.nws + path, {"limit": "3"}, _GEO, keep_for=keep_for))


def parse_stations(body: bytes | str, most: int = 3) -> tuple[str, ...]:
    """Read the ids of the nearest stations, in the order given; empty when none can be read."""
    features = rows(table(load_json(body)).get("features"))
    ids = [text(table(table(feature).get("properties")).get("stationIdentifier")) for feature in features]
    return tuple(name for name in dict.fromkeys(ids) if re.fullmatch(r"[A-Z0-9]{3,8}", name))[:most]


def retrieve_observation(source: Source, station: str) -> Reply:
    """Ask for the newest observation of a station."""
    url = f"{source.fetcher.urls.nws}/stations/{station}/observations"
    return source.get(Ask(url, {"limit": "1"}, _GEO, store=False, fresh=True, share_for=SHARE_OBSERVED))


def parse_observations(body: bytes | str, station: str, place: tuple[float, float], limits: Plausible) -> ParsedWind:
    """Read a collection of observations, or a single one; ``place`` is the lake's (latitude, longitude).

    A wind that can't be true is refused and the raw report of the same body is used in its place; of two that can be
    true and differ widely the higher counts. A reading without any wind is left out and said.
    """
    data = table(load_json(body))
    features = rows(data.get("features")) if "features" in data else [data]
    readings, problems = [], []
    for feature in features:
        properties = table(table(feature).get("properties"))
        at = read_instant(properties.get("timestamp"))
        if at is None:
            problems.append(f"Station {station}: an observation without a readable time was skipped.")
            continue
        reading, said = _reading(table(feature), properties, at, station, place, limits)
        problems += said
        if reading is not None:
            readings.append(reading)
    if not features:
        problems.append(f"Station {station}: it has no observations.")
    readings.sort(key=lambda reading: reading.time, reverse=True)
    return ParsedWind(tuple(readings), tuple(problems))


def _reading(
    feature: Mapping[str, Any],
    properties: Mapping[str, Any],
    at: datetime,
    station: str,
    place: tuple[float, float],
    limits: Plausible,
) -> tuple[WindReading | None, list[str]]:
    read = {
        field: _measured(properties.get(key), field, limits)
        for field, key in (
            ("wind_mps", "windSpeed"),
            ("gust_mps", "windGust"),
            ("wind_from_deg", "windDirection"),
            ("air_c", "temperature"),
            ("visibility_m", "visibility"),
        )
    }
    read["pressure_hpa"] = _measured(properties.get("seaLevelPressure"), "pressure_hpa", limits)
    raw = raw_wind(text(properties.get("rawMessage")))
    wind, gust, direction, problems = _checked_wind(read, raw, station)
    if wind is None:
        return None, [*problems, f"Station {station}: its newest report has no usable wind."]
    spot = _position(feature)
    return (
        WindReading(
            time=at,
            wind_mps=wind,
            gust_mps=gust,
            wind_from_deg=None if wind == 0.0 else direction,
            source="nws_station",
            name=text(properties.get("stationName")) or station,
            distance_km=None if spot is None else distance_km(place, spot),
            air_c=_known(read["air_c"]),
            pressure_hpa=_known(read["pressure_hpa"]),
            visibility_m=_known(read["visibility_m"]),
        ),
        problems,
    )


def _checked_wind(
    read: Mapping[str, Read], raw: RawWind | None, station: str
) -> tuple[float | None, float | None, float | None, list[str]]:
    """Wind, gust, direction (each None when not known) and what was refused."""
    wind, gust, direction = (_known(read[field]) for field in ("wind_mps", "gust_mps", "wind_from_deg"))
    problems = []
    if read["wind_mps"][1]:
        problems.append(f"Station {station}: its wind can't be true or read and was refused.")
    elif raw is not None and wind is not None and abs(wind - raw.wind_mps) > _CLOSE_MPS:
        problems.append(f"Station {station}: its wind differs from its raw report, the higher is used.")
        wind = max(wind, raw.wind_mps)
    if read["gust_mps"][1]:
        problems.append(f"Station {station}: its gust can't be true or read and was refused.")
    if read["gust_mps"][1] and raw is None:
        return None, None, None, problems  # a gust was sent and nobody knows which: no reading is better
    if raw is not None:
        if wind is None:
            wind, direction = raw.wind_mps, raw.wind_from_deg
        gust = max((value for value in (gust, raw.gust_mps) if value is not None), default=None)
    if gust is not None and wind is not None and gust < wind:
        gust = wind
    return wind, gust, direction, problems


def _measured(value: object, field: str, limits: Plausible) -> Read:
    """Read ``{"value", "unitCode", "qualityControl"}``; a reading that failed its check is refused as damaged."""
    if value is None:
        return NAN, False
    if not isinstance(value, dict) or "value" not in value:
        return NAN, True
    if value["value"] is None:
        return NAN, False
    scale = conversion(field, value.get("unitCode"))
    if scale is None or text(value.get("qualityControl")) in _REFUSED_QUALITY:
        return NAN, True
    return read_plausible(field, value["value"], scale[0], scale[1], limits)


def _known(read: Read) -> float | None:
    return None if read[0] != read[0] else read[0]


def _position(feature: Mapping[str, Any]) -> tuple[float, float] | None:
    pair = [read_number(number)[0] for number in rows(table(feature.get("geometry")).get("coordinates"))[:2]]
    if len(pair) != 2 or not (abs(pair[0]) <= 180.0 and abs(pair[1]) <= 90.0):
        return None
    return pair[1], pair[0]
