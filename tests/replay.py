"""A loopback server that replays bodies of the data services by path, and two recorded mornings to serve.

The weather service's bodies come from the reference data as recorded. All else is composed here to the services'
documented shapes: lists of stations, warnings, Open-Meteo, US Geological Survey, airport and buoy bodies.
"""

from __future__ import annotations

import json
import math
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

from briefing.sources.urls import BaseUrls, variable_of

GEO = "application/geo+json"
JSON = "application/json"


@dataclass(frozen=True)
class Answer:
    """What the server sends: status, body, headers."""

    body: bytes = b""
    status: int = 200
    headers: Mapping[str, str] = field(default_factory=lambda: {"Content-Type": JSON})


def answer(body: object, status: int = 200, kind: str = JSON, **headers: str) -> Answer:
    """Make an answer from bytes, text or something for JSON."""
    raw = body if isinstance(body, bytes) else body.encode() if isinstance(body, str) else json.dumps(body).encode()
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Answer(raw, status, {"Content-Type": kind, **named})


Route = Answer | list[Answer] | Callable[[dict[str, str]], Answer]

_SERVICES = ("nws", "open_meteo", "open_meteo_archive", "usgs", "metar", "ndbc")


class ReplayServer:
    """Serves routes such as ``/nws/points/1,2`` on 127.0.0.1; a list is served one by one, its last one for ever.

    ``seen`` holds (path, query, headers) of all requests. Anything that has no route is answered 404.
    """

    def __init__(self, routes: Mapping[str, Route]) -> None:
        self.routes = dict(routes)
        self.seen: list[tuple[str, dict[str, str], dict[str, str]]] = []
        self._served: dict[str, int] = {}
        self._lock = threading.Lock()
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self._server.daemon_threads = True
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)

    def __enter__(self) -> ReplayServer:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self._server.server_address[1]}"

    def urls(self) -> BaseUrls:
        """Base addresses of all services at this server."""
        return BaseUrls(**{name: f"{self.address}/{name}" for name in _SERVICES})

    def environment(self) -> dict[str, str]:
        """Environment variables that point a whole run of the program at this server."""
        return {variable_of(name): f"{self.address}/{name}" for name in _SERVICES}

    def paths(self) -> list[str]:
        """Paths asked for so far, in order."""
        with self._lock:
            return [path for path, _, _ in self.seen]

    def _pick(self, path: str, query: dict[str, str], headers: dict[str, str]) -> Answer:
        with self._lock:
            self.seen.append((path, query, headers))
            route = self.routes.get(path)
            if isinstance(route, list):
                turn = self._served.get(path, 0)
                self._served[path] = turn + 1
                return route[min(turn, len(route) - 1)]
        if route is None:
            return answer({"title": "Not Found", "status": 404}, 404, "application/problem+json")
        return route if isinstance(route, Answer) else route(query)

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        outer = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"
            # Head and body are two writes: held back, the second would wait for the first one's receipt.
            disable_nagle_algorithm = True

            def do_GET(self) -> None:
                parts = urlsplit(self.path)
                query = {name: values[-1] for name, values in parse_qs(parts.query).items()}
                reply = outer._pick(parts.path, query, {name.lower(): value for name, value in self.headers.items()})
                if "Date" in reply.headers:
                    self.send_response_only(reply.status)
                else:
                    self.send_response(reply.status)
                for name, value in reply.headers.items():
                    self.send_header(name, value)
                if "Content-Length" not in reply.headers:
                    self.send_header("Content-Length", str(len(reply.body)))
                self.end_headers()
                self.wfile.write(reply.body)

            def log_message(self, format: str, *args: object) -> None:
                """Keep the test's output clean."""

        return Handler


@dataclass(frozen=True)
class Morning:
    """A recorded place and time, and the routes that replay it."""

    latitude: float
    longitude: float
    time_zone: str
    now: datetime
    routes: Mapping[str, Route]
    station: str


def albany(reference: Path) -> Morning:
    """A summer day with thunder, 2026-07-15."""
    now = datetime(2026, 7, 15, 20, 5, tzinfo=UTC)
    alerts = [
        composed_alert("Air Quality Alert", now - timedelta(hours=6), now + timedelta(hours=18)),
        {**composed_alert("Tornado Warning", now, now + timedelta(hours=1), status="Test")},
    ]
    names = ("points_42.745_-73.752_ALY_20260715", "ALY_20260715", "gridpoint_raw_ALY_20260715_thunder")
    return _morning(reference, names, "KALB", (42.745, -73.752), "America/New_York", now, alerts)


def minneapolis(reference: Path) -> Morning:
    """Late winter before the clock change of 8 March, 2026-03-04."""
    now = datetime(2026, 3, 4, 18, 35, tzinfo=UTC)
    names = ("points_45.000_-93.000_MPX_20260304", "MPX_20260304_spans_dst_start", "")
    names = (names[0], names[1], f"gridpoint_raw_{names[1]}")
    return _morning(reference, names, "KMSP", (44.996, -93.156), "America/Chicago", now, [])


def _morning(
    reference: Path,
    names: tuple[str, str, str],
    station: str,
    place: tuple[float, float],
    zone: str,
    now: datetime,
    alerts: list[dict[str, Any]],
) -> Morning:
    folder = reference / "samples" / "nws"

    def body(name: str) -> bytes:
        return (folder / f"{name}.json").read_bytes()

    grid = json.loads(body(names[2]))["properties"]
    points = json.loads(body(names[0]))
    links, cell = points["properties"], "{gridId}/{gridX},{gridY}".format(**grid)
    for key in ("forecastGridData", "forecastHourly", "forecast", "observationStations"):
        # the position and the grid were recorded apart, and not always of one cell
        links[key] = links[key].replace("{gridId}/{gridX},{gridY}".format(**links), cell)
    paths = {key: urlsplit(links[key]).path for key in ("forecastGridData", "forecastHourly", "forecast")}
    day = names[1][4:12]
    routes: dict[str, Route] = {
        f"/nws/points/{place[0]:g},{place[1]:g}": answer(points, kind=GEO),
        f"/nws{paths['forecastGridData']}": answer(
            body(names[2]), kind=GEO, Last_Modified="Wed, 04 Mar 2026 18:00:00 GMT"
        ),
        f"/nws{paths['forecastHourly']}": answer(body(f"forecast_hourly_{names[1]}"), kind=GEO),
        f"/nws{paths['forecast']}": answer(body(f"forecast_12h_{names[1]}"), kind=GEO),
        f"/nws{urlsplit(links['observationStations']).path}": answer(composed_stations(station), kind=GEO),
        f"/nws/stations/{station}/observations": answer(body(f"observation_{station}_{day}"), kind=GEO),
        "/nws/alerts/active": answer({"type": "FeatureCollection", "features": alerts}, kind=GEO),
        **composed_rest(place, now, station),
    }
    return Morning(place[0], place[1], zone, now, routes, station)


def composed_rest(place: tuple[float, float], now: datetime, station: str) -> dict[str, Route]:
    """Routes of all services but the weather service, composed to their documented shapes."""
    return {
        "/open_meteo/forecast": answer(composed_open_meteo(place, now)),
        "/open_meteo_archive/archive": lambda query: answer(composed_archive(place, query)),
        "/usgs/collections/latest-continuous/items": answer(composed_usgs(now, 0), kind=GEO),
        "/usgs/collections/daily/items": answer(composed_usgs(now, 10), kind=GEO),
        "/usgs/collections/time-series-metadata/items": answer({"type": "FeatureCollection", "features": []}, kind=GEO),
        "/usgs/collections/monitoring-locations/items": lambda query: answer(composed_site(query["id"]), kind=GEO),
        "/metar/metar": answer(composed_metar(place, now, station)),
        "/ndbc/45999.txt": answer(composed_buoy(now), kind="text/plain"),
    }


def composed_stations(*stations: str) -> dict[str, Any]:
    """A list of stations near a grid cell."""
    features = [{"type": "Feature", "properties": {"stationIdentifier": name, "name": name}} for name in stations]
    return {"type": "FeatureCollection", "features": features}


def composed_alert(event: str, begin: datetime, end: datetime, **changed: object) -> dict[str, Any]:
    """One warning; ``changed`` overrides single properties."""
    properties = {
        "id": f"urn:composed:{event.replace(' ', '-').lower()}:{begin:%Y%m%d%H%M}",
        "event": event,
        "status": "Actual",
        "messageType": "Alert",
        "severity": "Moderate",
        "certainty": "Likely",
        "urgency": "Expected",
        "sent": begin.isoformat(),
        "effective": begin.isoformat(),
        "onset": begin.isoformat(),
        "expires": end.isoformat(),
        "ends": end.isoformat(),
        "headline": f"{event} (composed)",
        "description": "A composed message.",
        "instruction": "",
        "areaDesc": "A composed area",
        "senderName": "A composed office",
        "references": [],
        "eventCode": {"SAME": ["NWS"]},
        "response": "Avoid",
    }
    return {"type": "Feature", "geometry": None, "properties": {**properties, **changed}}


OPEN_METEO_UNITS = {
    "time": "unixtime",
    "temperature_2m": "°C",
    "dew_point_2m": "°C",
    "relative_humidity_2m": "%",
    "precipitation": "mm",
    "precipitation_probability": "%",
    "weather_code": "wmo code",
    "cloud_cover": "%",
    "pressure_msl": "hPa",
    "wind_speed_10m": "km/h",
    "wind_direction_10m": "°",
    "wind_gusts_10m": "km/h",
    "cape": "J/kg",
    "visibility": "m",
    "shortwave_radiation": "W/m²",
}


def composed_open_meteo(place: tuple[float, float], now: datetime, days: tuple[int, int] = (7, 8)) -> dict[str, Any]:
    """Past days and forecast: a plain daily course, gusts 1.5 times the wind."""
    body: dict[str, Any] = json.loads(_composed(place, now, days))
    return body


@cache
def _composed(place: tuple[float, float], now: datetime, days: tuple[int, int]) -> str:
    midnight = now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    begin = midnight - timedelta(days=days[0])
    hours = 24 * sum(days)
    course = [math.sin(2 * math.pi * (number % 24 - 9) / 24) for number in range(hours)]
    constant = {"precipitation": 0, "precipitation_probability": 10, "weather_code": 2, "cloud_cover": 40, "cape": 300}
    columns: dict[str, list[float]] = {
        "time": [int(begin.timestamp()) + 3600 * number for number in range(hours)],
        "temperature_2m": [round(18 + 6 * value, 1) for value in course],
        "dew_point_2m": [round(12 + value, 1) for value in course],
        "relative_humidity_2m": [round(65 - 20 * value) for value in course],
        "pressure_msl": [round(1015 + value, 1) for value in course],
        "wind_speed_10m": [round(12 + 6 * value, 1) for value in course],
        "wind_direction_10m": [210] * hours,
        "wind_gusts_10m": [round(1.5 * (12 + 6 * value), 1) for value in course],
        "visibility": [24140] * hours,
        "shortwave_radiation": [round(max(0.0, 700 * value), 1) for value in course],
        **{name: [value] * hours for name, value in constant.items()},
    }
    body = {
        "latitude": round(place[0] + 0.01, 4),
        "longitude": round(place[1] + 0.01, 4),
        "generationtime_ms": 0.5,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 110.0,
        "hourly_units": OPEN_METEO_UNITS,
        "hourly": columns,
    }
    return json.dumps(body)


def composed_archive(place: tuple[float, float], query: Mapping[str, str]) -> dict[str, Any]:
    """Hourly air temperature of the days asked for."""
    first, last = date.fromisoformat(query["start_date"]), date.fromisoformat(query["end_date"])
    begin = datetime(first.year, first.month, first.day, tzinfo=UTC)
    body = composed_open_meteo(place, begin, (0, (last - first).days + 1))
    kept = {name: body["hourly"][name] for name in ("time", "temperature_2m")}
    return {**body, "hourly": kept, "hourly_units": {name: OPEN_METEO_UNITS[name] for name in kept}}


def composed_usgs(now: datetime, days: int, site: str = "USGS-01999999") -> dict[str, Any]:
    """Newest values (``days`` 0) or daily means of water temperature and level."""
    rows = []
    times = (
        [(now - timedelta(minutes=35)).isoformat()]
        if days == 0
        else [(now.date() - timedelta(days=number)).isoformat() for number in range(days, 0, -1)]
    )
    for number, at in enumerate(times):
        for code, value, unit in (("00010", 21.0 + 0.1 * number, "degC"), ("62614", 612.4 - 0.1 * number, "ft")):
            rows.append(
                {
                    "monitoring_location_id": site,
                    "parameter_code": code,
                    "statistic_id": "00011" if days == 0 else "00003",
                    "time": at,
                    "time_series_id": f"{code}-{'now' if days == 0 else 'daily'}",
                    "unit_of_measure": unit,
                    "value": f"{value:.2f}",
                    "approval_status": "Provisional",
                    "qualifier": None,
                }
            )
    features = [{"type": "Feature", "geometry": None, "properties": row} for row in rows]
    return {"type": "FeatureCollection", "features": features, "numberReturned": len(rows), "links": []}


def composed_site(site: str, code: str | None = "LK", name: str = "A COMPOSED LAKE NEAR A TOWN") -> dict[str, Any]:
    """Where a gauge stands."""
    row = {"id": site, "monitoring_location_name": name, "site_type": "as coded", "site_type_code": code}
    return {"type": "FeatureCollection", "features": [{"type": "Feature", "id": site, "properties": row}], "links": []}


def composed_metar(place: tuple[float, float], now: datetime, station: str) -> list[dict[str, Any]]:
    """One airport report, half an hour old, with a gust."""
    return [
        {
            "icaoId": station,
            "obsTime": int((now - timedelta(minutes=30)).timestamp()),
            "temp": 20,
            "dewp": 12,
            "wdir": 250,
            "wspd": 12,
            "wgst": 19,
            "visib": "10+",
            "slp": 1014.2,
            "lat": place[0] + 0.05,
            "lon": place[1],
            "name": f"Composed airport {station}",
            "rawOb": f"METAR {station} 151935Z 25012G19KT 10SM FEW050 20/12 A2995",
        }
    ]


def composed_buoy(now: datetime) -> str:
    """A buoy's table of three rows; the newest has no waves."""
    head = "#YY  MM DD hh mm WDIR WSPD GST  WVHT   DPD   APD MWD   PRES  ATMP  WTMP  DEWP  VIS PTDY  TIDE\n"
    head += "#yr  mo dy hr mn degT m/s  m/s     m   sec   sec degT   hPa  degC  degC  degC  nmi  hPa    ft\n"
    rows = ""
    for number in range(3):
        at = now - timedelta(minutes=15 + 10 * number)
        rows += (
            f"{at:%Y %m %d %H %M} 240  6.0  8.0    MM    MM    MM  MM 1014.0  19.5  20.{number}    MM   MM   MM    MM\n"
        )
    return head + rows
