"""The data services on the loopback address: made-up bodies in their documented shapes, and a count of what was asked.

Grid cells of the US service are 2.5 km wide, its zones half a degree, its stations a degree apart. For the long runs of
the service only.
"""

from __future__ import annotations

import json
import math
import threading
from collections import Counter
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType
from typing import Any, Self
from urllib.parse import parse_qs, urlsplit

from briefing.sources.open_meteo import FORECAST_DAYS, PAST_DAYS, VARIABLES
from briefing.sources.service_limits import LIMITS
from briefing.sources.urls import variable_of

SERVICES = tuple(LIMITS)
_UNITS = {
    "temperature_2m": "°C", "dew_point_2m": "°C", "relative_humidity_2m": "%", "precipitation": "mm",
    "precipitation_probability": "%", "weather_code": "wmo code", "cloud_cover": "%", "pressure_msl": "hPa",
    "wind_speed_10m": "km/h", "wind_direction_10m": "°", "wind_gusts_10m": "km/h", "cape": "J/kg", "visibility": "m",
    "shortwave_radiation": "W/m²",
}  # fmt: skip
_USUAL = {"temperature_2m": 18.0, "dew_point_2m": 11.0, "relative_humidity_2m": 60.0, "pressure_msl": 1015.0,
          "wind_speed_10m": 11.0, "wind_direction_10m": 210.0, "wind_gusts_10m": 17.0,
          "visibility": 24000.0}  # fmt: skip


class LoopbackServices:
    """Use it in a ``with`` block. ``asked``: requests by service. ``places``: places asked for, by service."""

    def __init__(self, now: datetime) -> None:
        self.now = now
        self.asked: Counter[str] = Counter()
        self.places: Counter[str] = Counter()
        self._lock = threading.Lock()
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self._server.daemon_threads = True

    def __enter__(self) -> Self:
        threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._server.shutdown()
        self._server.server_close()

    def environment(self) -> dict[str, str]:
        """Environment variables that point the program here."""
        base = f"http://127.0.0.1:{self._server.server_address[1]}"
        return {variable_of(name): f"{base}/{name}" for name in SERVICES}

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        outer = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"
            # Head and body are two writes: held back, the second would wait for the first one's receipt.
            disable_nagle_algorithm = True

            def do_GET(self) -> None:
                parts = urlsplit(self.path)
                found = outer.answer(parts.path, {name: one[-1] for name, one in parse_qs(parts.query).items()})
                raw = json.dumps({} if found is None else found).encode()
                self.send_response(404 if found is None else 200)
                self.send_header("Content-Type", "application/json")
                self.send_header("Content-Length", str(len(raw)))
                self.end_headers()
                self.wfile.write(raw)

            def log_message(self, *_: object) -> None:
                """Requests are counted, not logged."""

        return Handler

    def answer(self, path: str, query: Mapping[str, str]) -> Any:
        """Return a body, or None for "not there"; the request is counted."""
        service, _, tail = path.strip("/").partition("/")
        names = ("latitude", "monitoring_location_id", "id", "ids")
        places = next((len(query[name].split(",")) for name in names if name in query), 1)
        with self._lock:
            self.asked[service] += 1
            self.places[service] += places
        if service in ("open_meteo", "open_meteo_archive"):
            return self._models(query)
        if service == "usgs":
            collection = tail.split("/")[1]
            if collection == "monitoring-locations":
                return {"features": [{"id": query["id"], "properties": {"site_type_code": "LK"}}], "links": []}
            return self._gauges(collection, query["monitoring_location_id"].split(","))
        return self._weather_service(tail) if service == "nws" else None

    def _models(self, query: Mapping[str, str]) -> Any:
        pairs = zip(query["latitude"].split(","), query["longitude"].split(","), strict=True)
        if "start_date" in query:
            first, last = date.fromisoformat(query["start_date"]), date.fromisoformat(query["end_date"])
            begin, days = datetime(first.year, first.month, first.day, tzinfo=UTC), (last - first).days + 1
        else:
            begin = self.now.replace(hour=0, minute=0, second=0, microsecond=0) - timedelta(days=PAST_DAYS)
            days = PAST_DAYS + FORECAST_DAYS
        variables = query["hourly"].split(",")
        items = [
            _model(float(north), float(east), begin, 24 * days, variables) | ({"location_id": number} if number else {})
            for number, (north, east) in enumerate(pairs)
        ]
        return items if len(items) > 1 else items[0]

    def _gauges(self, collection: str, sites: list[str]) -> Any:
        days = 30 if collection == "daily" else 1
        features = [
            {"properties": _value(site, code, self.now, number, collection == "daily")}
            for site in sites
            for code in ("00010", "62614")
            for number in range(days)
        ]
        return {"features": [] if collection == "time-series-metadata" else features, "links": []}

    def _weather_service(self, tail: str) -> Any:
        parts = tail.split("/")
        base = "https://api.weather.gov"
        if parts[0] == "points":
            north, east = map(float, parts[1].split(","))
            cell = f"{base}/gridpoints/TST/{math.floor(east * 40)},{math.floor(north * 40)}"
            zone = f"{(math.floor(north * 2) * 37 + math.floor(-east * 2)) % 1000:03d}"
            links = {"forecastGridData": cell, "forecastHourly": f"{cell}/forecast/hourly",
                     "observationStations": f"{cell}/stations", "type": "land",
                     "forecastZone": f"{base}/zones/forecast/TSZ{zone}",
                     "county": f"{base}/zones/county/TSC{zone}"}  # fmt: skip
            return {"properties": links}
        if tail.startswith("alerts/"):
            return {"type": "FeatureCollection", "features": []}
        if parts[-1] == "stations":
            east, north = (int(one) // 40 for one in parts[2].split(","))
            names = [f"K{_letters(abs(north) * 7 + abs(east) * 31 + step)}" for step in (0, 1, 40)]
            return {"features": [{"properties": {"stationIdentifier": name}} for name in names]}
        if parts[0] == "stations":
            return _observation(self.now)
        return _grid(self.now) if parts[0] == "gridpoints" and len(parts) == 3 else None


def _letters(number: int) -> str:
    return "".join(chr(ord("A") + number // step % 26) for step in (676, 26, 1))


def _model(north: float, east: float, begin: datetime, hours: int, variables: list[str]) -> dict[str, Any]:
    wave = [math.sin(2 * math.pi * (hour % 24 - 9) / 24) for hour in range(hours)]
    columns: dict[str, list[float]] = {"time": [int(begin.timestamp()) + 3600 * hour for hour in range(hours)]}
    for name in variables:
        if name in VARIABLES:
            usual = _USUAL.get(name, 0.0)
            columns[name] = [round(usual * (1.0 + 0.2 * value), 1) for value in wave]
    return {"latitude": north, "longitude": east, "elevation": 60.0, "timezone": "GMT",
            "hourly_units": {"time": "unixtime", **{name: _UNITS[name] for name in columns if name in _UNITS}},
            "hourly": columns}  # fmt: skip


def _value(site: str, code: str, now: datetime, number: int, daily: bool) -> dict[str, Any]:
    at = (now.date() - timedelta(days=number + 1)).isoformat() if daily else (now - timedelta(minutes=40)).isoformat()
    value, unit = ("17.5", "degC") if code == "00010" else ("612.40", "ft")
    return {"monitoring_location_id": site, "parameter_code": code, "statistic_id": "00003" if daily else "00011",
            "time": at, "time_series_id": f"{site}-{code}", "unit_of_measure": unit, "value": value,
            "approval_status": "Provisional"}  # fmt: skip


def _observation(now: datetime) -> Any:
    properties = {
        "timestamp": (now - timedelta(minutes=25)).isoformat(),
        "windSpeed": {"unitCode": "wmoUnit:km_h-1", "value": 9.3, "qualityControl": "V"},
        "windDirection": {"unitCode": "wmoUnit:degree_(angle)", "value": 210, "qualityControl": "V"},
    }
    return {"features": [{"geometry": {"type": "Point", "coordinates": [-84.0, 31.0]}, "properties": properties}]}


def _grid(now: datetime) -> Any:
    issued = now - timedelta(hours=1)
    span = f"{(issued - timedelta(hours=6)).replace(minute=0).isoformat()}/P8D"
    layers = {"windSpeed": ("wmoUnit:km_h-1", 14.8), "windGust": ("wmoUnit:km_h-1", 24.1),
              "windDirection": ("wmoUnit:degree_(angle)", 210),
              "probabilityOfThunder": ("wmoUnit:percent", 4)}  # fmt: skip
    values = {
        name: {"uom": unit, "values": [{"validTime": span, "value": value}]} for name, (unit, value) in layers.items()
    }
    return {"properties": {"updateTime": issued.isoformat(), **values}}
