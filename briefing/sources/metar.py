"""Airport reports as JSON of the US Aviation Weather Center: a second way to the same observations."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from briefing.core.plausible import Plausible
from briefing.core.readings import WindReading
from briefing.sources.bodies import NAN, Read, load_json, read_epoch, read_number, read_plausible, table, text
from briefing.sources.distance import distance_km
from briefing.sources.http import Ask, Reply, Source
from briefing.sources.observed import Observed, ParsedWind, known, observed, of_last_hour
from briefing.sources.raw_wind import raw_wind
from briefing.sources.service_limits import SHARE_OBSERVED
from briefing.sources.urls import BaseUrls

CREDIT = "Airport reports: Aviation Weather Center, NOAA (public domain)"
_KNOT = 1852.0 / 3600.0
_MILE_M = 1609.344
_MILES = re.compile(r"(?:(?P<whole>\d{1,2})\s+)?(?P<above>\d{1,2})/(?P<below>\d{1,2})", re.ASCII)


def retrieve_reports(source: Source, airports: Sequence[str]) -> Reply:
    """Ask for the reports of the last two hours; an empty body means that there are none."""
    return source.get(reports_ask(source.fetcher.urls, airports))


def reports_ask(urls: BaseUrls, airports: Sequence[str]) -> Ask:
    """The request for the reports of some airports."""
    params = {"ids": ",".join(airports), "format": "json", "hours": "2"}
    return Ask(f"{urls.metar}/metar", params, empty_ok=True, store=False, fresh=True, share_for=SHARE_OBSERVED)


def parse_reports(
    body: bytes | str, place: tuple[float, float], limits: Plausible, now: datetime | None = None
) -> ParsedWind:
    """Read reports, put together as what each station measured in its last hour, nearest station first.

    ``place`` is the lake's (latitude, longitude). The observed time counts, not the rounded one. A gust that is not
    there means that none was reported. With ``now`` what is too old for it is left out and said.
    """
    if not body.strip():
        return ParsedWind((), ("Airport reports: there are none.",))
    data = load_json(body)
    if not isinstance(data, list):
        return ParsedWind((), ("Airport reports: the answer is no list of reports.",))
    by_station: dict[str, list[Observed]] = {}
    unplaced = 0
    for row in map(table, data):
        station, at = text(row.get("icaoId")).upper(), read_epoch(row.get("obsTime"))
        if not station or at is None:
            unplaced += 1
        else:
            by_station.setdefault(station, []).append(_report(row, station, at, place, limits))
    found = [of_last_hour(reports, f"Airport {station}", now) for station, reports in by_station.items()]
    lost = (f"Airport reports: {unplaced} without station or time were skipped.",) if unplaced else ()
    readings = [reading for one in found for reading in one.readings]
    readings.sort(key=lambda item: (item.distance_km is None, item.distance_km or 0.0, item.name))
    return ParsedWind(
        tuple(readings),
        (*lost, *(said for one in found for said in one.problems)),
        (*lost, *(said for one in found for said in one.serious)),
    )


def _report(
    row: Mapping[str, Any], station: str, at: datetime, place: tuple[float, float], limits: Plausible
) -> Observed:
    variable = text(row.get("wdir")).upper() == "VRB"
    read = {
        "wind_mps": read_plausible("wind_mps", row.get("wspd"), _KNOT, 0.0, limits),
        "gust_mps": read_plausible("gust_mps", row.get("wgst"), _KNOT, 0.0, limits),
        "wind_from_deg": (NAN, False)
        if variable
        else read_plausible("wind_from_deg", row.get("wdir"), 1.0, 0.0, limits),
    }
    read["visibility_m"] = _visibility(row.get("visib"), limits)
    reading = WindReading(
        time=at,
        wind_mps=None,
        gust_mps=None,
        wind_from_deg=None,
        source="metar",
        name=text(row.get("name")) or station,
        distance_km=_distance(row, place),
        air_c=known(read_plausible("air_c", row.get("temp"), 1.0, 0.0, limits)),
        pressure_hpa=known(read_plausible("pressure_hpa", row.get("slp"), 1.0, 0.0, limits)),
        visibility_m=known(read["visibility_m"]),
    )
    return observed(reading, read, raw_wind(text(row.get("rawOb"))), limits)


def _visibility(value: object, limits: Plausible) -> Read:
    """Statute miles as a number, or as text: ``10+`` (or more), ``M1/4`` (less than), ``1 1/2``."""
    if not isinstance(value, str):
        return read_plausible("visibility_m", value, _MILE_M, 0.0, limits)
    told = value.strip().upper().removesuffix("SM").removesuffix("+").removeprefix("P").removeprefix("M")
    if not told:
        return NAN, False
    parts = _MILES.fullmatch(told)
    number: object = told
    if parts is not None and int(parts["below"]):
        number = int(parts["whole"] or 0) + int(parts["above"]) / int(parts["below"])
    return read_plausible("visibility_m", number, _MILE_M, 0.0, limits)


def _distance(row: Mapping[str, Any], place: tuple[float, float]) -> float | None:
    north, east = read_number(row.get("lat"))[0], read_number(row.get("lon"))[0]
    if not (abs(north) <= 90.0 and abs(east) <= 180.0):
        return None
    return distance_km(place, (north, east))
