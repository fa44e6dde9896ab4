"""Airport reports as JSON of the US Aviation Weather Center: a second way to the same observations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from briefing.core.plausible import Plausible
from briefing.core.readings import WindReading
from briefing.sources.bodies import NAN, Read, load_json, read_epoch, read_number, read_plausible, table, text
from briefing.sources.distance import distance_km
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.nws_observations import ParsedWind
from briefing.sources.raw_wind import raw_wind
from briefing.sources.service_limits import SHARE_OBSERVED
from briefing.sources.urls import BaseUrls

CREDIT = "Airport reports: Aviation Weather Center, NOAA (public domain)"
_KNOT = 1852.0 / 3600.0
_MILE_M = 1609.344


def retrieve_reports(source: Source, airports: Sequence[str]) -> Reply:
    """Ask for the reports of the last two hours; an empty body means that there are none."""
    return source.get(reports_ask(source.fetcher.urls, airports))


def reports_ask(urls: BaseUrls, airports: Sequence[str]) -> Ask:
    """The request for the reports of some airports."""
    params = {"ids": ",".join(airports), "format": "json", "hours": "2"}
    return Ask(f"{urls.metar}/metar", params, empty_ok=True, store=False, fresh=True, share_for=SHARE_OBSERVED)


def parse_reports(body: bytes | str, place: tuple[float, float], limits: Plausible) -> ParsedWind:
    """Read reports; of a station with several the newest is kept. ``place`` is the lake's (latitude, longitude).

    The observed time counts, not the rounded one. A gust that is not there means that none was reported.
    """
    if not body.strip():
        return ParsedWind((), ("Airport reports: there are none.",))
    data = load_json(body)
    if not isinstance(data, list):
        return ParsedWind((), ("Airport reports: the answer is no list of reports.",))
    newest: dict[str, WindReading] = {}
    problems = []
    for row in data:
        reading, problem = _report(table(row), place, limits)
        if problem:
            problems.append(problem)
        if reading is None:
            continue
        known = newest.get(text(table(row).get("icaoId")))
        if known is None or reading.time > known.time:
            newest[text(table(row).get("icaoId"))] = reading
    ordered = sorted(newest.values(), key=lambda item: (item.distance_km is None, item.distance_km or 0.0, item.name))
    return ParsedWind(tuple(ordered), tuple(problems))


def _report(row: Mapping[str, Any], place: tuple[float, float], limits: Plausible) -> tuple[WindReading | None, str]:
    station = text(row.get("icaoId"))
    at = read_epoch(row.get("obsTime"))
    if not station or at is None:
        return None, "Airport reports: one without station or time was skipped."
    wind, odd_wind = read_plausible("wind_mps", row.get("wspd"), _KNOT, 0.0, limits)
    gust, odd_gust = read_plausible("gust_mps", row.get("wgst"), _KNOT, 0.0, limits)
    variable = text(row.get("wdir")).upper() == "VRB"
    direction = NAN if variable else read_plausible("wind_from_deg", row.get("wdir"), 1.0, 0.0, limits)[0]
    raw = raw_wind(text(row.get("rawOb")))
    problem = (
        f"Airport {station}: its wind or gust can't be true or read and was refused." if odd_wind or odd_gust else ""
    )
    if wind != wind and raw is not None:
        wind, direction = raw.wind_mps, NAN if raw.wind_from_deg is None else raw.wind_from_deg
    if raw is not None and raw.gust_mps is not None:
        gust = max(raw.gust_mps, gust) if gust == gust else raw.gust_mps
    if wind != wind or (odd_gust and raw is None):
        return None, problem or f"Airport {station}: its report has no usable wind."
    return (
        WindReading(
            time=at,
            wind_mps=wind,
            gust_mps=None if gust != gust else max(gust, wind),
            wind_from_deg=None if direction != direction or wind == 0.0 else direction,
            source="metar",
            name=text(row.get("name")) or station,
            distance_km=_distance(row, place),
            air_c=_or_none(read_plausible("air_c", row.get("temp"), 1.0, 0.0, limits)),
            pressure_hpa=_or_none(read_plausible("pressure_hpa", row.get("slp"), 1.0, 0.0, limits)),
            visibility_m=_or_none(_visibility(row.get("visib"), limits)),
        ),
        problem,
    )


def _visibility(value: object, limits: Plausible) -> Read:
    """Statute miles as a number, or as text such as ``10+`` ("or more")."""
    number = value.strip().removesuffix("+") if isinstance(value, str) else value
    return read_plausible("visibility_m", number, _MILE_M, 0.0, limits)


def _distance(row: Mapping[str, Any], place: tuple[float, float]) -> float | None:
    north, east = read_number(row.get("lat"))[0], read_number(row.get("lon"))[0]
    if not (abs(north) <= 90.0 and abs(east) <= 180.0):
        return None
    return distance_km(place, (north, east))


def _or_none(read: Read) -> float | None:
    return None if read[0] != read[0] else read[0]
