"""Composes the bodies of every service for one made-up morning, in the services' documented shapes."""

from __future__ import annotations

import json
import math
import pickle
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from briefing.core.wind.heat import humidity_from_dewpoint_pct
from briefing.sources.open_meteo import FORECAST_DAYS, PAST_DAYS, VARIABLES

GEO, JSON, TEXT = "application/geo+json", "application/json", "text/plain"
KMH = 3.6
KNOT = 1852.0 / 3600.0
MPH = 0.44704
HOUR = timedelta(hours=1)
GRID_PATH = "/gridpoints/TST/31,22"
STATIONS = ("KTSA", "KTSB", "KTSC")
BUOY, SITE = "45999", "USGS-01999999"
ZONES = ("FLZ999", "FLC999")


@dataclass
class Answer:
    """What a service sends: ``data`` is what its JSON holds, or text, or bytes; ``fails`` raises instead of answering.

    cut: bytes left of the body, None for all of it. sealed: the body of a sound morning, which is written once.
    """

    data: Any = None
    status: int = 200
    kind: str = GEO
    headers: dict[str, str] = field(default_factory=dict)
    fails: str = ""  # timeout | broken | refused
    cut: int | None = None
    sealed: bytes | None = None

    def content(self) -> bytes:
        """The body as sent; a JSON of NaN or Infinity is sent as careless programs write it."""
        if self.sealed is not None:
            return self.sealed
        if isinstance(self.data, bytes):
            raw = self.data
        elif isinstance(self.data, str):
            raw = self.data.encode()
        else:
            raw = json.dumps(self.data).encode()
        return raw if self.cut is None else raw[: self.cut]


Route = Answer | Callable[[Mapping[str, str]], Answer]
Bodies = dict[str, Route]


def opened(answer: Answer) -> Answer:
    """A copy of an answer that may be changed."""
    copy: Answer = pickle.loads(pickle.dumps(answer))  # faster than deepcopy
    copy.sealed = None
    return copy


def sealed(bodies: Bodies) -> Bodies:
    """The same bodies, each written once; their answers are not to be changed any more."""
    for path, route in bodies.items():
        if isinstance(route, Answer) and not path.endswith("/observations"):
            route.sealed = route.content()
    return bodies


CALM: Mapping[str, Any] = {
    "wind_mps": 2.0, "gust_mps": 3.5, "from_deg": 160.0, "air_c": 25.0, "dew_c": 17.0, "humid_pct": 60.0,
    "cloud_pct": 30.0, "rain_mm": 0.0, "rain_pct": 5.0, "thunder_pct": 2.0, "lightning": 1.0, "weather": None,
    "words": "Mostly Sunny", "cape": 150.0, "code": 2, "sight_m": 16093.44,
}  # fmt: skip


@dataclass(frozen=True)
class Sky:
    """What one forecast says: ``rough`` over ``calm`` during the rough hours; a value of None is left out of bodies."""

    calm: Mapping[str, Any] = field(default_factory=dict)
    rough: Mapping[str, Any] = field(default_factory=dict)

    def at(self, name: str, rough: bool) -> Any:
        """Value of a quantity in a rough or calm hour."""
        found = {**CALM, **self.calm, **(self.rough if rough else {})}
        return found[name]


@dataclass(frozen=True)
class Scene:
    """One place and time; ``rough`` is the span of the rough hours, ``issued`` when the forecasts were."""

    place: tuple[float, float]
    now: datetime
    rough: tuple[datetime, datetime]
    grid: Sky = Sky()
    text: Sky = Sky()
    model: Sky = Sky()
    issued_h: float = 2.0

    @property
    def issued(self) -> datetime:
        """When the weather service's forecasts were issued."""
        return (self.now - timedelta(hours=self.issued_h)).replace(second=0, microsecond=0)

    def is_rough(self, at: datetime) -> bool:
        """Tell whether the hour that begins at ``at`` is a rough one."""
        return self.rough[0] < at + HOUR and at < self.rough[1]


def instant(at: datetime) -> str:
    """Write an instant as the US services do."""
    return at.astimezone(UTC).isoformat()


# -- the weather service ----------------------------------------------------------------------------------------------

#: layer: (name in a sky, unit, factor)
GRID_LAYERS: Mapping[str, tuple[str, str | None, float]] = {
    "windSpeed": ("wind_mps", "wmoUnit:km_h-1", KMH),
    "windGust": ("gust_mps", "wmoUnit:km_h-1", KMH),
    "windDirection": ("from_deg", "wmoUnit:degree_(angle)", 1.0),
    "temperature": ("air_c", "wmoUnit:degC", 1.0),
    "dewpoint": ("dew_c", "wmoUnit:degC", 1.0),
    "relativeHumidity": ("humid_pct", "wmoUnit:percent", 1.0),
    "skyCover": ("cloud_pct", "wmoUnit:percent", 1.0),
    "quantitativePrecipitation": ("rain_mm", "wmoUnit:mm", 1.0),
    "probabilityOfPrecipitation": ("rain_pct", "wmoUnit:percent", 1.0),
    "visibility": ("sight_m", "wmoUnit:m", 1.0),
    "probabilityOfThunder": ("thunder_pct", None, 1.0),
    "lightningActivityLevel": ("lightning", None, 1.0),
}
GRID_HOURS = 66


def grid_body(scene: Scene) -> dict[str, Any]:
    """A raw grid: layers of intervals that begin six hours ago."""
    begin = scene.now.replace(minute=0, second=0, microsecond=0) - 6 * HOUR
    properties: dict[str, Any] = {
        "updateTime": instant(scene.issued),
        "validTimes": f"{instant(begin)}/P2DT18H",
        "gridId": "TST",
        "gridX": "31",
        "gridY": "22",
        "forecastOffice": "https://api.weather.gov/offices/TST",
    }
    for key, (name, unit, factor) in GRID_LAYERS.items():
        values = [scene.grid.at(name, scene.is_rough(begin + n * HOUR)) for n in range(GRID_HOURS)]
        layer: dict[str, Any] = {} if unit is None else {"uom": unit}
        scaled = [None if one is None else round(one * factor, 3) for one in values]
        properties[key] = {**layer, "values": [] if all(one is None for one in scaled) else _runs(begin, scaled)}
    said = [scene.grid.at("weather", scene.is_rough(begin + n * HOUR)) for n in range(GRID_HOURS)]
    properties["weather"] = {"values": _runs(begin, [weather_entry(one) for one in said])}
    properties["hazards"] = {"values": []}
    return {"type": "Feature", "geometry": None, "properties": properties}


def weather_entry(said: object) -> list[dict[str, Any]]:
    """One value of the weather layer: ("likely", "thunderstorms"), or None for "nothing"."""
    coverage, weather = said if isinstance(said, tuple) else (None, None)
    return [{"coverage": coverage, "weather": weather, "intensity": None, "attributes": []}]


def _runs(begin: datetime, values: list[Any]) -> list[dict[str, Any]]:
    """Equal values of hours in a row as one interval."""
    out: list[dict[str, Any]] = []
    first = 0
    for n in range(1, len(values) + 1):
        if n == len(values) or values[n] != values[first]:
            out.append({"validTime": f"{instant(begin + first * HOUR)}/PT{n - first}H", "value": values[first]})
            first = n
    return out


def text_body(scene: Scene) -> dict[str, Any]:
    """An hourly text forecast of three days, in miles an hour."""
    begin = scene.now.replace(minute=0, second=0, microsecond=0)
    periods = []
    for number in range(60):
        at = begin + number * HOUR
        rough = scene.is_rough(at)
        high = round(scene.text.at("wind_mps", rough) / MPH)
        periods.append(
            {
                "number": number + 1,
                "name": "",
                "startTime": instant(at),
                "endTime": instant(at + HOUR),
                "isDaytime": True,
                "temperature": round(scene.text.at("air_c", rough) * 1.8 + 32),
                "temperatureUnit": "F",
                "probabilityOfPrecipitation": _quantity("percent", scene.text.at("rain_pct", rough)),
                "dewpoint": _quantity("degC", scene.text.at("dew_c", rough)),
                "relativeHumidity": _quantity("percent", scene.text.at("humid_pct", rough)),
                "windSpeed": f"{max(1, high - 5)} to {high} mph" if rough else f"{high} mph",
                "windDirection": "SSE",
                "shortForecast": scene.text.at("words", rough),
                "detailedForecast": "",
            }
        )
    return {"type": "Feature", "geometry": None,
            "properties": {"updateTime": instant(scene.issued), "periods": periods}}  # fmt: skip


def _quantity(unit: str, value: float | None) -> dict[str, Any]:
    return {"unitCode": f"wmoUnit:{unit}", "value": value}


def points_body(place: tuple[float, float], kind: str = "land") -> dict[str, Any]:
    """Where a position belongs."""
    base = "https://api.weather.gov"
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [place[1], place[0]]},
        "properties": {
            "type": kind,
            "gridId": "TST",
            "gridX": 31,
            "gridY": 22,
            "forecast": f"{base}{GRID_PATH}/forecast",
            "forecastGridData": f"{base}{GRID_PATH}",
            "forecastHourly": f"{base}{GRID_PATH}/forecast/hourly",
            "observationStations": f"{base}{GRID_PATH}/stations",
            "forecastZone": f"{base}/zones/forecast/{ZONES[0]}",
            "county": f"{base}/zones/county/{ZONES[1]}",
            "timeZone": "America/New_York",
        },
    }


def stations_body() -> dict[str, Any]:
    """The nearest stations."""
    return {
        "type": "FeatureCollection",
        "features": [{"type": "Feature", "properties": {"stationIdentifier": name, "name": name}} for name in STATIONS],
    }


def observation(
    scene: Scene, station: str, minutes: float, wind_mps: float | None, gust_mps: float | None, **changed: Any
) -> dict[str, Any]:
    """One observation, so many minutes old; ``changed`` replaces single properties."""

    def measured(unit: str, value: float | None) -> dict[str, Any]:
        return {**_quantity(unit, value), "qualityControl": "Z" if value is None else "V"}

    properties = {
        "station": f"https://api.weather.gov/stations/{station}",
        "stationId": station,
        "stationName": f"Composed field {station}",
        "timestamp": instant((scene.now - timedelta(minutes=minutes)).replace(second=0, microsecond=0)),
        "rawMessage": "",
        "temperature": measured("degC", 24.0),
        "windDirection": measured("degree_(angle)", None if wind_mps is None else 160.0),
        "windSpeed": measured("km_h-1", None if wind_mps is None else round(wind_mps * KMH, 3)),
        "windGust": measured("km_h-1", None if gust_mps is None else round(gust_mps * KMH, 3)),
        "seaLevelPressure": measured("Pa", 101500.0),
        "visibility": measured("m", 16093.44),
    }
    point = {"type": "Point", "coordinates": [scene.place[1] + 0.05, scene.place[0] + 0.02]}
    return {"type": "Feature", "geometry": point, "properties": {**properties, **changed}}


def listed_observations(features: list[Any], query: Mapping[str, str]) -> dict[str, Any]:
    """What a station's list gives for a query: the newest ``limit`` of ``start`` to ``end``, in the order given."""
    found = [one for one in features if _inside(one, query)]
    most = int(query["limit"]) if query.get("limit", "").isdigit() else 500
    newest = sorted(range(len(found)), key=lambda n: _stamp(found[n]), reverse=True)[:most]
    return {"type": "FeatureCollection", "features": [found[n] for n in sorted(newest)]}


def _stamp(feature: Any) -> str:
    try:
        return str(feature["properties"]["timestamp"])
    except (TypeError, KeyError):
        return ""


def _inside(feature: Any, query: Mapping[str, str]) -> bool:
    try:
        at = datetime.fromisoformat(feature["properties"]["timestamp"])
        first, last = (datetime.fromisoformat(query[key]) if key in query else None for key in ("start", "end"))
        return (first is None or at >= first) and (last is None or at <= last)
    except (TypeError, ValueError, KeyError, AttributeError):
        return True  # what can't be dated is not filtered away here: the program must deal with it


def alert(scene: Scene, event: str, begin: datetime, end: datetime | None, **changed: Any) -> dict[str, Any]:
    """One warning as the service lists it; ``changed`` replaces single properties, ``geometry`` its shape."""
    geometry = changed.pop("geometry", None)
    sent = min(scene.now - 2 * HOUR, begin)
    made = f"urn:oid:2.49.0.1.840.0.{abs(hash_of(event, instant(begin))):040x}.001.1"
    properties = {
        "id": made,
        "areaDesc": "Composed County",
        "geocode": {"UGC": list(ZONES[:1])},
        "affectedZones": [f"https://api.weather.gov/zones/forecast/{ZONES[0]}"],
        "references": [],
        "sent": instant(sent),
        "effective": instant(sent),
        "onset": instant(begin),
        "expires": None if end is None else instant(end),
        "ends": None if end is None else instant(end),
        "status": "Actual",
        "messageType": "Alert",
        "category": "Met",
        "severity": "Moderate",
        "certainty": "Likely",
        "urgency": "Expected",
        "event": event,
        "senderName": "NWS Composed Office",
        "headline": f"{event} issued by NWS Composed Office",
        "description": "A composed message.",
        "instruction": "",
        "response": "Prepare",
    }
    return {"id": f"https://api.weather.gov/alerts/{made}", "type": "Feature", "geometry": geometry,
            "properties": {**properties, **changed}}  # fmt: skip


def hash_of(*words: str) -> int:
    """A number from words, the same in every run."""
    found = 7
    for letter in "|".join(words):
        found = (found * 131 + ord(letter)) % (1 << 61)
    return found


def square(place: tuple[float, float], half_deg: float = 0.4) -> dict[str, Any]:
    """A polygon around a place."""
    north, east = place
    ring = [[east - half_deg, north - half_deg], [east + half_deg, north - half_deg],
            [east + half_deg, north + half_deg], [east - half_deg, north + half_deg],
            [east - half_deg, north - half_deg]]  # fmt: skip
    return {"type": "Polygon", "coordinates": [[[round(x, 4), round(y, 4)] for x, y in ring]]}


def alerts_answer(features: list[Any], **more: Any) -> Answer:
    """A list of warnings."""
    return Answer({"type": "FeatureCollection", "features": features, "title": "current watches", **more})


# -- the model service ------------------------------------------------------------------------------------------------

_MODEL_UNITS = {
    "time": "unixtime", "temperature_2m": "°C", "dew_point_2m": "°C", "relative_humidity_2m": "%",
    "precipitation": "mm", "precipitation_probability": "%", "weather_code": "wmo code", "cloud_cover": "%",
    "pressure_msl": "hPa", "wind_speed_10m": "km/h", "wind_direction_10m": "°", "wind_gusts_10m": "km/h",
    "cape": "J/kg", "visibility": "m", "shortwave_radiation": "W/m²",
}  # fmt: skip
_MODEL_NAMES: Mapping[str, tuple[str, float]] = {
    "wind_speed_10m": ("wind_mps", KMH), "wind_gusts_10m": ("gust_mps", KMH), "wind_direction_10m": ("from_deg", 1.0),
    "temperature_2m": ("air_c", 1.0), "dew_point_2m": ("dew_c", 1.0), "relative_humidity_2m": ("humid_pct", 1.0),
    "precipitation": ("rain_mm", 1.0), "precipitation_probability": ("rain_pct", 1.0), "weather_code": ("code", 1.0),
    "cloud_cover": ("cloud_pct", 1.0), "cape": ("cape", 1.0), "visibility": ("sight_m", 1.0),
}  # fmt: skip


def model_body(scene: Scene, first_day: int = -PAST_DAYS, days: int = PAST_DAYS + FORECAST_DAYS) -> dict[str, Any]:
    """Past days and forecast; ``first_day`` counts from the UTC day of now."""
    midnight = scene.now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    begin = midnight + timedelta(days=first_day)
    times = [begin + n * HOUR for n in range(24 * days)]
    columns: dict[str, list[Any]] = {"time": [int(at.timestamp()) for at in times]}
    for variable, (_, back) in VARIABLES.items():
        columns[variable] = [_model_value(scene, variable, at - back * HOUR) for at in times]
    return {
        "latitude": round(scene.place[0] + 0.01, 4),
        "longitude": round(scene.place[1] + 0.01, 4),
        "generationtime_ms": 0.5,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 36.0,
        "hourly_units": dict(_MODEL_UNITS),
        "hourly": columns,
    }


def _model_value(scene: Scene, variable: str, at: datetime) -> Any:
    if variable == "relative_humidity_2m":
        air, dew = (_model_value(scene, name, at) for name in ("temperature_2m", "dew_point_2m"))
        told = scene.model.at("humid_pct", scene.is_rough(at))
        known = told is not None and air is not None and dew is not None
        return round(float(humidity_from_dewpoint_pct(air, dew))) if known else told
    if variable in _MODEL_NAMES:
        name, factor = _MODEL_NAMES[variable]
        value = scene.model.at(name, scene.is_rough(at))
        if name == "air_c" and value is not None:
            value = value + round(2.0 * math.sin(2 * math.pi * (at.hour - 14) / 24), 1)
        return None if value is None else round(value * factor, 1) if factor != 1.0 else value
    course = math.sin(2 * math.pi * (at.hour - 14) / 24)
    return {"pressure_msl": round(1015 + course, 1), "shortwave_radiation": round(max(0.0, 600 * course), 1)}[variable]


def archive_route(scene: Scene) -> Callable[[Mapping[str, str]], Answer]:
    """Hourly air temperature of the days asked for."""

    def serve(query: Mapping[str, str]) -> Answer:
        first, last = (date.fromisoformat(query[key]) for key in ("start_date", "end_date"))
        today = scene.now.astimezone(UTC).date()
        body = model_body(scene, (first - today).days, (last - first).days + 1)
        kept = ("time", "temperature_2m")
        body["hourly"] = {name: body["hourly"][name] for name in kept}
        body["hourly_units"] = {name: _MODEL_UNITS[name] for name in kept}
        return Answer(body, kind=JSON)

    return serve


# -- water, airports, buoys -------------------------------------------------------------------------------------------


def water_value(code: str, at: str, value: str, daily: bool, **changed: Any) -> dict[str, Any]:
    """One value of a gauge."""
    row = {
        "monitoring_location_id": SITE,
        "parameter_code": code,
        "statistic_id": "00003" if daily else "00011",
        "time": at,
        "time_series_id": f"series-{code}-{'day' if daily else 'now'}",
        "unit_of_measure": "degC" if code == "00010" else "ft",
        "value": value,
        "approval_status": "Provisional",
        "qualifier": None,
        "last_modified": at,
    }
    return {"type": "Feature", "geometry": None, "properties": {**row, **changed}}


def water_latest(scene: Scene, water_c: float, minutes: float = 40.0) -> dict[str, Any]:
    """Newest water temperature and level."""
    at = instant((scene.now - timedelta(minutes=minutes)).replace(second=0, microsecond=0))
    return collection([water_value("00010", at, f"{water_c:.1f}", False), water_value("62614", at, "118.20", False)])


def water_daily(scene: Scene, water_c: float, days: int = 12) -> dict[str, Any]:
    """Daily means up to yesterday."""
    today = scene.now.date()
    return collection(
        [
            water_value(code, (today - timedelta(days=n)).isoformat(), value, True)
            for n in range(days, 0, -1)
            for code, value in (("00010", f"{water_c:.1f}"), ("62614", "118.20"))
        ]
    )


def collection(features: list[Any]) -> dict[str, Any]:
    """A list of features as the water service sends it."""
    return {"type": "FeatureCollection", "features": features, "numberReturned": len(features), "links": []}


def site_body(kind: str = "LK", name: str = "Lake, Reservoir, Impoundment") -> dict[str, Any]:
    """What sort of place the gauge stands at."""
    row = {"id": SITE, "agency_code": "USGS", "monitoring_location_name": "COMPOSED LAKE AT DOCK",
           "site_type": name, "site_type_code": kind}  # fmt: skip
    return collection([{"type": "Feature", "id": SITE, "geometry": None, "properties": row}])


def report(
    scene: Scene, station: str, minutes: float, wind_kt: int | None, gust_kt: int | None, **changed: Any
) -> dict[str, Any]:
    """One airport report, so many minutes old."""
    at = scene.now - timedelta(minutes=minutes)
    group = "/////KT" if wind_kt is None else f"160{wind_kt:02d}{'' if gust_kt is None else f'G{gust_kt:02d}'}KT"
    row = {
        "icaoId": station,
        "obsTime": int(at.timestamp()),
        "reportTime": instant(at),
        "temp": 24,
        "dewp": 17,
        "wdir": 160,
        "wspd": wind_kt,
        **({} if gust_kt is None else {"wgst": gust_kt}),
        "visib": "10+",
        "slp": 1015.2,
        "metarType": "METAR",
        "lat": scene.place[0] + 0.05,
        "lon": scene.place[1],
        "name": f"Composed airport {station}",
        "rawOb": f"METAR {station} {at:%d%H%M}Z {group} 10SM FEW050 24/17 A2998 RMK AO2",
    }
    return {**row, **changed}


BUOY_HEAD = (
    "#YY  MM DD hh mm WDIR WSPD GST  WVHT   DPD   APD MWD   PRES  ATMP  WTMP  DEWP  VIS PTDY  TIDE\n"
    "#yr  mo dy hr mn degT m/s  m/s     m   sec   sec degT   hPa  degC  degC  degC  nmi  hPa    ft\n"
)


def buoy_row(scene: Scene, minutes: float, wind: str, gust: str, water: str = "26.0") -> str:
    """One row of a buoy's table."""
    at = scene.now - timedelta(minutes=minutes)
    lead = f"{at:%Y %m %d %H %M} 160 {wind:>4} {gust:>4}    MM    MM    MM  MM"
    return f"{lead} 1015.0  24.5 {water:>5}    MM   MM   MM    MM\n"


# -- all of them ------------------------------------------------------------------------------------------------------


def sound_bodies(scene: Scene) -> Bodies:
    """A sound morning: every service answers, nothing is in force, the water is mild, the stations agree."""
    bodies: Bodies = {
        f"/nws{GRID_PATH}": Answer(grid_body(scene)),
        f"/nws{GRID_PATH}/forecast/hourly": Answer(text_body(scene)),
        f"/nws{GRID_PATH}/stations": Answer(stations_body()),
        "/nws/points": Answer(points_body(scene.place)),
        "/nws/alerts/active": alerts_answer([]),
        "/open_meteo/forecast": Answer(model_body(scene), kind=JSON),
        "/open_meteo_archive/archive": archive_route(scene),
        "/usgs/latest": Answer(water_latest(scene, 26.0)),
        "/usgs/daily": Answer(water_daily(scene, 26.0)),
        "/usgs/sensors": Answer(collection([])),
        "/usgs/sites": Answer(site_body()),
        "/metar/metar": Answer([report(scene, STATIONS[0], 30, 4, None)], kind=JSON),
        f"/ndbc/{BUOY}.txt": Answer(BUOY_HEAD + buoy_row(scene, 15, "2.0", "3.0"), kind=TEXT),
    }
    for station in STATIONS:
        bodies[observations_of(station)] = Answer([observation(scene, station, 25, 2.0, 3.5)])
    return bodies


def observations_of(station: str) -> str:
    """Route of a station's observations; its answer holds the list of all, which is cut to what is asked for."""
    return f"/nws/stations/{station}/observations"
