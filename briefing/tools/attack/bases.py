"""The sound mornings that are attacked. In each exactly one input carries the hazard, so that its loss must show."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from briefing import knowledge
from briefing.core.climate import normals_at
from briefing.core.climate.normals import AirNormals
from briefing.core.readings import WaterReading
from briefing.core.wind.shape import LakeShape, equivalent_ellipse
from briefing.pipeline.shape import lake_shape
from briefing.profile.files import load_profile
from briefing.profile.model import LakeProfile, Stations
from briefing.resources import config_path
from briefing.tools.attack.bodies import (
    BUOY,
    BUOY_HEAD,
    GRID_PATH,
    SITE,
    STATIONS,
    TEXT,
    Answer,
    Bodies,
    Scene,
    Sky,
    alert,
    alerts_answer,
    buoy_row,
    collection,
    observation,
    observations_of,
    points_body,
    report,
    sealed,
    sound_bodies,
    square,
    water_daily,
    water_latest,
)
from briefing.vocabulary import Craft, Zone

STRONG: Mapping[str, Any] = {"wind_mps": 9.5, "gust_mps": 10.8}  # the gust alone is no stop
GUSTY: Mapping[str, Any] = {"wind_mps": 3.6, "gust_mps": 13.0}
GRID, TEXT_ROUTE, ALERTS = f"/nws{GRID_PATH}", f"/nws{GRID_PATH}/forecast/hourly", "/nws/alerts/active"
MODEL, LATEST, DAILY = "/open_meteo/forecast", "/usgs/latest", "/usgs/daily"
METAR, BUOY_ROUTE = "/metar/metar", f"/ndbc/{BUOY}.txt"


@dataclass(frozen=True)
class Base:
    """One sound morning. ``holder`` is the factor that makes hours stop; ``route`` the body that carries it.

    part names the layer, column or field within the body. water_c: the user's own reading of yesterday, None for none.
    """

    id: str
    holder: str
    route: str
    part: str
    scene: Scene
    bodies: Bodies
    profile: LakeProfile
    shape: LakeShape
    normals: AirNormals
    day: date
    launch: datetime
    back: datetime
    water: tuple[WaterReading, ...] = ()
    level: str = "stop"
    covered: bool = True

    @property
    def now(self) -> datetime:
        """The instant at which the morning is made."""
        return self.scene.now


@dataclass(frozen=True)
class _Place:
    lake: str
    day: date
    now: tuple[int, int] = (6, 20)
    launch: tuple[int, int] = (7, 0)
    back: tuple[int, int] = (13, 0)
    craft: Craft | None = None
    measured: bool = True  # whether the user measured the water yesterday: 27 C
    far_north: bool = False


SUMMER = _Place("sedgemary-lake", date(2026, 7, 11))


@lru_cache(maxsize=32)
def _profile(place: _Place) -> tuple[LakeProfile, LakeShape, AirNormals]:
    path = config_path(f"lakes/{place.lake}.toml")
    profile = load_profile(path)
    shape = lake_shape(profile, path)
    changes: dict[str, Any] = {
        "stations": Stations.model_validate(
            {"usgs_sites": [SITE.removeprefix("USGS-")], "airport": STATIONS[0], "buoy": BUOY}
        ),
        "alone": False,
    }
    if place.craft is not None:
        changes["craft"] = place.craft
    if place.far_north:
        changes |= {"latitude": 69.52, "longitude": -157.1, "time_zone": "America/Anchorage", "shoreline": None,
                    "ramps": (), "spots": ()}  # fmt: skip
    profile = profile.model_copy(update=changes)
    if place.far_north:
        shape = equivalent_ellipse(profile.area_km2, None, lat_deg=69.52, lon_deg=-157.1)
    normals = normals_at(knowledge.load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m)
    return profile, shape, normals


@dataclass
class _Draft:
    """A morning while it is put together."""

    place: _Place
    number: int  # variant: when the rough hours begin, how strong they are
    profile: LakeProfile = field(init=False)
    scene: Scene = field(init=False)

    def __post_init__(self) -> None:
        self.profile = _profile(self.place)[0]
        rough = self.at(*self.place.launch) + timedelta(hours=self.number % 3), self.at(*self.place.back)
        self.scene = Scene((self.profile.latitude, self.profile.longitude), self.at(*self.place.now), rough)

    def at(self, hour: int, minute: int = 0) -> datetime:
        """An instant of the day by the lake's clock, as UTC."""
        day = self.place.day
        local = datetime(day.year, day.month, day.day, hour, minute, tzinfo=ZoneInfo(self.profile.time_zone))
        return local.astimezone(UTC)

    def with_sky(self, grid: Sky = Sky(), text: Sky = Sky(), model: Sky = Sky()) -> Bodies:  # noqa: B008
        """Take the forecasts and make the bodies."""
        self.scene = replace(self.scene, grid=grid, text=text, model=model)
        return sound_bodies(self.scene)

    def base(self, name: str, holder: str, route: str, part: str, bodies: Bodies, **more: Any) -> Base:
        """The finished morning."""
        profile, shape, normals = _profile(self.place)
        yesterday = self.scene.now - timedelta(days=1)
        water = (WaterReading("own", yesterday, 27.5, Zone.MAIN, "hull"),) if self.place.measured else ()
        return Base(
            id=f"{name}.{self.number}",
            holder=holder,
            route=route,
            part=part,
            scene=self.scene,
            bodies=sealed(bodies),
            profile=profile,
            shape=shape,
            normals=normals,
            day=self.place.day,
            launch=self.at(*self.place.launch),
            back=self.at(*self.place.back),
            water=water,
            **more,
        )


def _wind_grid(number: int) -> Base:
    draft = _Draft(SUMMER, number)
    bodies = draft.with_sky(grid=Sky(rough=STRONG))
    return draft.base("wind_grid", "sustained_wind", GRID, "windSpeed", bodies)


def _gust_grid(number: int) -> Base:
    draft = _Draft(SUMMER, number)
    bodies = draft.with_sky(grid=Sky(rough=GUSTY))
    return draft.base("gust_grid", "gust", GRID, "windGust", bodies)


def _marine(name: str, holder: str, part: str, rough: Mapping[str, Any]) -> Callable[[int], Base]:
    """A grid of the marine kind: there is no text forecast for it."""

    def make(number: int) -> Base:
        draft = _Draft(SUMMER, number)
        bodies = draft.with_sky(grid=Sky(rough=rough))
        bodies["/nws/points"] = Answer(points_body(draft.scene.place, "marine"))
        body = {"type": "https://api.weather.gov/problems/MarineForecastNotSupported", "status": 404}
        bodies[TEXT_ROUTE] = Answer(body, 404, "application/problem+json")
        return draft.base(name, holder, GRID, part, bodies)

    return make


def _thunder(name: str, part: str, rough: Mapping[str, Any], calm: Mapping[str, Any]) -> Callable[[int], Base]:
    def make(number: int) -> Base:
        draft = _Draft(SUMMER, number)
        bodies = draft.with_sky(grid=Sky(calm, {"rain_pct": 55.0, **rough}))
        return draft.base(name, "thunder", GRID, part, bodies)

    return make


def _text_only(name: str, holder: str, part: str, rough: Mapping[str, Any]) -> Callable[[int], Base]:
    """The grid is in trouble, so the hourly text carries the day."""

    def make(number: int) -> Base:
        draft = _Draft(SUMMER, number)
        bodies = draft.with_sky(text=Sky(rough=rough))
        problem = {"type": "https://api.weather.gov/problems/ForecastMissingData", "title": "Forecast Grid Invalid"}
        bodies[GRID] = Answer(problem, 503, "application/problem+json")
        return draft.base(name, holder, TEXT_ROUTE, part, bodies)

    return make


def _abroad(name: str, holder: str, part: str, rough: Mapping[str, Any]) -> Callable[[int], Base]:
    """A place that the US service does not cover: the model carries the day."""

    def make(number: int) -> Base:
        draft = _Draft(SUMMER, number)
        bodies = draft.with_sky(model=Sky(rough=rough))
        problem = {"type": "https://api.weather.gov/problems/InvalidPoint", "title": "Data Unavailable For Point"}
        bodies["/nws/points"] = Answer(problem, 404, "application/problem+json")
        return draft.base(name, holder, MODEL, part, bodies, covered=False)

    return make


#: Events that mean stop for the craft of these mornings, with their severity as issued.
STOP_EVENTS = (
    ("Wind Advisory", "Moderate", "WIY"), ("Lake Wind Advisory", "Moderate", "LWY"),
    ("Severe Thunderstorm Watch", "Severe", "SVA"), ("Severe Thunderstorm Warning", "Severe", "SVW"),
    ("Special Marine Warning", "Severe", "MAW"), ("Gale Warning", "Moderate", "GLW"),
    ("Small Craft Advisory", "Minor", "SCY"), ("High Wind Watch", "Severe", "HWA"),
    ("Brisk Wind Advisory", "Minor", "BWY"), ("Tropical Storm Watch", "Severe", "TRA"),
    ("Tornado Watch", "Extreme", "TOA"), ("Storm Warning", "Severe", "SRW"),
)  # fmt: skip


def _alert(name: str, shaped: bool, coded: bool = False) -> Callable[[int], Base]:
    """Calm forecasts, one warning; ``shaped``: with a polygon over the lake; ``coded``: with event codes."""

    def make(number: int) -> Base:
        draft = _Draft(SUMMER, number)
        bodies = draft.with_sky()
        event, severity, code = STOP_EVENTS[number % len(STOP_EVENTS)]
        codes = {"SAME": ["NWS"], "NationalWeatherService": [code]}
        one = alert(
            draft.scene,
            event,
            draft.scene.rough[0],
            draft.scene.rough[1] + timedelta(hours=6),
            severity=severity,
            geometry=square(draft.scene.place) if shaped else None,
            **({"eventCode": codes} if coded else {}),
        )
        bodies[ALERTS] = alerts_answer([one])
        return draft.base(name, "alerts", ALERTS, event, bodies)

    return make


STATEMENT = (
    "At 700 AM EDT, Doppler radar was tracking {what} near the lake, moving east at 20 knots. "
    "HAZARD...{hazard}. SOURCE...Radar indicated. Small craft could be damaged."
)


def _marine_text(number: int) -> Base:
    """A statement of a marine office, which only its words make a stop."""
    draft = _Draft(SUMMER, number)
    bodies = draft.with_sky()
    event = ("Marine Weather Statement", "Special Weather Statement", "Severe Weather Statement")[number % 3]
    said = STATEMENT.format(what="strong thunderstorms", hazard="Wind gusts 34 knots or greater and lightning")
    one = alert(draft.scene, event, draft.scene.rough[0], draft.scene.rough[1] + timedelta(hours=6), description=said)
    bodies[ALERTS] = alerts_answer([one])
    return draft.base("marine_text", "alerts", ALERTS, event, bodies)


OUT = replace(SUMMER, now=(8, 10))


def _station(name: str, wind_mps: float, gust_mps: float | None, holder: str, part: str) -> Callable[[int], Base]:
    """Calm forecasts, and a station that measures otherwise while the user is out."""

    def make(number: int) -> Base:
        draft = _Draft(OUT, number)
        bodies = draft.with_sky()
        scene = draft.scene
        for station in STATIONS[1:]:
            bodies[observations_of(station)] = Answer([observation(scene, station, 30, 2.0, None)])
        bodies[METAR] = Answer([report(scene, STATIONS[0], 30, 4, None)], kind="application/json")
        bodies[observations_of(STATIONS[0])] = Answer(
            [observation(scene, STATIONS[0], 12 + 5 * (number % 3), wind_mps, gust_mps)]
        )
        return draft.base(name, holder, observations_of(STATIONS[0]), part, bodies)

    return make


def _airport(name: str, wind_kt: int, gust_kt: int | None, holder: str, part: str) -> Callable[[int], Base]:
    """Stations fail, and the airport's report is what is measured."""

    def make(number: int) -> Base:
        draft = _Draft(OUT, number)
        bodies = draft.with_sky()
        for station in STATIONS:
            bodies[observations_of(station)] = Answer({"title": "trouble"}, 503, "application/problem+json")
        bodies[METAR] = Answer(
            [report(draft.scene, STATIONS[0], 14 + 5 * (number % 3), wind_kt, gust_kt)], kind="application/json"
        )
        return draft.base(name, holder, METAR, part, bodies)

    return make


def _buoy(number: int) -> Base:
    draft = _Draft(OUT, number)
    bodies = draft.with_sky()
    gust_alone = number % 2 == 1
    wind, gust = ("3.0", "13.0") if gust_alone else ("10.5", "14.0")
    rows = buoy_row(draft.scene, 12, wind, gust) + "".join(
        buoy_row(draft.scene, 22 + 10 * n, wind, gust) for n in range(4)
    )
    bodies[BUOY_ROUTE] = Answer(BUOY_HEAD + rows, kind=TEXT)
    holder, part = ("gust", "GST") if gust_alone else ("sustained_wind", "WSPD")
    return draft.base("buoy", holder, BUOY_ROUTE, part, bodies)


AUTUMN = _Place("tallwick-reservoir", date(2026, 10, 3), measured=False)


def _cold_water(number: int) -> Base:
    """A wind that only cold water makes a stop; the gauge alone knows that the water is cold."""
    draft = _Draft(AUTUMN, number)
    sky = Sky({"air_c": 19.0, "dew_c": 9.0}, {"wind_mps": 6.6, "gust_mps": 9.0})
    bodies = draft.with_sky(grid=sky, text=sky, model=sky)
    bodies[LATEST] = Answer(water_latest(draft.scene, 13.0))
    bodies[DAILY] = Answer(water_daily(draft.scene, 13.0))
    return draft.base("cold_water", "sustained_wind", LATEST, "00010", bodies)


SPRING = _Place("tallwick-reservoir", date(2026, 3, 21), measured=False)


def _no_gauge(number: int) -> Base:
    """A wind that only cold water makes a stop; no gauge, and a season that is cold by itself."""
    draft = _Draft(SPRING, number)
    sky = Sky({"air_c": 13.0, "dew_c": 5.0}, {"wind_mps": 7.5, "gust_mps": 10.3})
    bodies = draft.with_sky(grid=sky, text=sky, model=sky)
    bodies[LATEST], bodies[DAILY] = Answer(collection([])), Answer(collection([]))
    return draft.base("no_gauge", "sustained_wind", LATEST, "00010", bodies)


def _fog(number: int) -> Base:
    draft = _Draft(replace(SUMMER, craft=Craft.BASS_BOAT), number)
    bodies = draft.with_sky(grid=Sky(rough={"sight_m": 250.0}))
    return draft.base("fog_grid", "visibility", GRID, "visibility", bodies)


def _heat(number: int) -> Base:
    draft = _Draft(SUMMER, number)
    bodies = draft.with_sky(grid=Sky(rough={"air_c": 44.0, "dew_c": 31.0, "humid_pct": 51.0}))
    return draft.base("heat_grid", "heat", GRID, "temperature", bodies)


def _far_north(number: int) -> Base:
    place = _Place("sedgemary-lake", date(2026, 6, 2), measured=False, far_north=True)
    draft = _Draft(place, number)
    sky = Sky({"air_c": 4.0, "dew_c": 1.0}, STRONG)
    bodies = draft.with_sky(grid=sky, text=sky, model=sky)
    return draft.base("far_north", "sustained_wind", GRID, "windSpeed", bodies)


#: How a made-up morning is made, by name; each takes the number of a variant.
MAKERS: Mapping[str, Callable[[int], Base]] = {
    "wind_grid": _wind_grid,
    "gust_grid": _gust_grid,
    "marine_wind": _marine("marine_wind", "sustained_wind", "windSpeed", STRONG),
    "marine_gust": _marine("marine_gust", "gust", "windGust", GUSTY),
    "thunder_pct": _thunder("thunder_pct", "probabilityOfThunder", {"thunder_pct": 45.0}, {"lightning": None}),
    "thunder_level": _thunder("thunder_level", "lightningActivityLevel", {"lightning": 4.0}, {"thunder_pct": None}),
    "thunder_weather": _thunder(
        "thunder_weather",
        "weather",
        {"weather": ("likely", "thunderstorms")},
        {"thunder_pct": None, "lightning": None},
    ),
    "wind_text": _text_only("wind_text", "sustained_wind", "windSpeed", {"wind_mps": 10.5}),
    "thunder_text": _text_only("thunder_text", "thunder", "shortForecast", {"words": "Thunderstorms Likely"}),
    "wind_model": _abroad("wind_model", "sustained_wind", "wind_speed_10m", STRONG),
    "gust_model": _abroad("gust_model", "gust", "wind_gusts_10m", GUSTY),
    "cape_model": _abroad("cape_model", "thunder", "cape", {"cape": 2800.0, "rain_pct": 45.0}),
    "code_model": _abroad("code_model", "thunder", "weather_code", {"code": 95, "rain_pct": 60.0, "cape": 300.0}),
    "alert_zone": _alert("alert_zone", shaped=False),
    "alert_shape": _alert("alert_shape", shaped=True),
    "alert_code": _alert("alert_code", shaped=False, coded=True),
    "marine_text": _marine_text,
    "station_wind": _station("station_wind", 10.5, None, "sustained_wind", "windSpeed"),
    "station_gust": _station("station_gust", 4.0, 15.3, "gust", "windGust"),
    "airport_wind": _airport("airport_wind", 21, None, "sustained_wind", "wspd"),
    "airport_gust": _airport("airport_gust", 8, 30, "gust", "wgst"),
    "buoy": _buoy,
    "cold_water": _cold_water,
    "no_gauge": _no_gauge,
    "fog_grid": _fog,
    "heat_grid": _heat,
    "far_north": _far_north,
}
VARIANTS = 12


@lru_cache(maxsize=512)
def base_of(name: str, number: int) -> Base:
    """A sound morning by the name of its maker and the number of its variant."""
    return MAKERS[name](number % VARIANTS)
