"""Sound mornings of all seasons, and the level of each of their hours in a form that two versions can be compared by.

A version that raises a level without need shows as a difference between two of these files.
"""

from __future__ import annotations

import json
import os
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from briefing import knowledge
from briefing.core.climate import normals_at
from briefing.core.wind.heat import humidity_from_dewpoint_pct
from briefing.core.wind.shape import equivalent_ellipse
from briefing.pipeline.build import Built
from briefing.pipeline.shape import lake_shape
from briefing.profile.files import load_profile
from briefing.profile.model import LakeProfile, Stations
from briefing.resources import config_path
from briefing.tools.attack.bases import ALERTS, GRID, METAR, TEXT_ROUTE, Base
from briefing.tools.attack.bodies import (
    BUOY,
    SITE,
    STATIONS,
    Answer,
    Bodies,
    Scene,
    Sky,
    alert,
    alerts_answer,
    observation,
    observations_of,
    points_body,
    sealed,
    sound_bodies,
    square,
    water_daily,
    water_latest,
)
from briefing.tools.attack.drive import Memory, made
from briefing.vocabulary import Level

LAKES = ("sedgemary-lake", "tallwick-reservoir", "halvorsby-lake", "corviston-reservoir")
_MARK = {Level.WITHIN_LIMITS: "w", Level.CAUTION: "c", Level.UNKNOWN: "u", Level.STOP: "S"}
_SHORT = {"sustained_wind": "wind", "cold_water": "cold", "data_age": "age", "darkness": "dark", "visibility": "sight",
          "tailwater": "dam"}  # fmt: skip
HEAD = """\
# The level of every hour of sound mornings: w within limits, c caution, u not known, S stop, with what is above within.
# One line an hour run; darkness and dam are left out of the reasons. Compare two versions with diff.
"""


def write(path: Path, mornings: int) -> str:
    """Write the file; returns a sentence about it."""
    count = 0
    with path.open("w", encoding="utf-8") as file:
        file.write(HEAD)
        for base, about in sound_mornings(mornings):
            _, built = made(base, base.bodies, Memory(), base.now)
            file.write("\n".join(_lines(base, about, built)) + "\n")
            count += 1
    return f"{count} sound mornings written to {path}"


def sound_mornings(mornings: int) -> Iterator[tuple[Base, str]]:
    """Recorded mornings, where there are reference data, and composed ones up to the number wanted."""
    recorded = list(_recorded())
    yield from recorded[:mornings]
    for number in range(max(0, mornings - len(recorded))):
        yield _composed(number)


def _lines(base: Base, about: str, built: Built) -> list[str]:
    zone = base.profile.zone
    runs: list[tuple[str, str, str]] = []
    for one in built.hazards.levels:
        why = sorted(
            {
                f"{_SHORT.get(f.name, f.name)}{'' if f.level is one.level else '=' + _MARK[f.level]}"
                for f in one.factors
                if f.level is not Level.WITHIN_LIMITS and not f.standing and f.name not in ("darkness", "tailwater")
            }
        )
        at, said = f"{one.hour.astimezone(zone):%H}", f"{_MARK[one.level]} {','.join(why)}".strip()
        if runs and runs[-1][2] == said:
            runs[-1] = (runs[-1][0], at, said)
        else:
            runs.append((at, at, said))
    off = built.briefing.day.off_water_by
    out = [f"{base.id} {base.profile.id} {base.day} {base.profile.craft.value}: {about}"]
    out += [f"  {base.id} {first}-{last} {said}" for first, last, said in runs]
    return [
        *out,
        f"  {base.id} off {f'{off.astimezone(zone):%H:%M}' if off else 'none'} | {built.briefing.day.line()}",
    ]


# -- composed mornings ------------------------------------------------------------------------------------------------


@lru_cache(maxsize=8)
def _lake(name: str) -> tuple[LakeProfile, Any, Any]:
    path = config_path(f"lakes/{name}.toml")
    profile = load_profile(path)
    named = {"usgs_sites": [SITE.removeprefix("USGS-")], "airport": STATIONS[0], "buoy": BUOY}
    normals = normals_at(knowledge.load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m)
    return profile.model_copy(update={"stations": Stations.model_validate(named)}), lake_shape(profile, path), normals


def _composed(number: int) -> tuple[Base, str]:
    rng = random.Random(f"sound:{number}")
    profile, shape, normals = _lake(LAKES[number % len(LAKES)])
    day = date(2026, 1, 1) + timedelta(days=rng.randrange(365))
    normal_c = float(normals.mean_c[day.timetuple().tm_yday - 1])
    now, launch, back, begin, end = (
        _local(day, hour, minute, profile.zone)
        for hour, minute in ((5, 40), (7, 0), (13, 0), (rng.randrange(6, 13), 0), (rng.randrange(13, 20), 0))
    )
    rough = begin, end
    calm, storm = _weather(rng, normal_c)
    sky = Sky(calm, storm)
    model = Sky({**calm, "wind_mps": calm["wind_mps"] + 0.4}, storm)
    scene = Scene((profile.latitude, profile.longitude), now, rough, sky, sky, model, rng.choice([0.5, 2.0, 5.0, 10.5]))
    bodies = sound_bodies(scene)
    about = _thunder_layers(rng, bodies) + _warnings(rng, scene, bodies) + _services(rng, scene, bodies, calm, normal_c)
    base = Base(
        id=f"c{number:03d}", holder="", route="", part="", scene=scene, bodies=sealed(bodies), profile=profile,
        shape=shape, normals=normals, day=day, launch=launch, back=back,
    )  # fmt: skip
    return base, f"{about}wind {calm['wind_mps']:.1f} to {storm['wind_mps']:.1f}, air {normal_c:.0f} C"


def _local(day: date, hour: int, minute: int, zone: ZoneInfo) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone).astimezone(UTC)


def _weather(rng: random.Random, normal_c: float) -> tuple[dict[str, Any], dict[str, Any]]:
    air = round(normal_c + rng.uniform(-5, 6), 1)
    wind = round(rng.choice([0.5, 1.5, 2.5, 3.5, 5.0]), 1)
    peak = round(wind + rng.choice([0.0, 0.5, 2.0, 4.0, 7.0]), 1)
    stormy = rng.random() < 0.3
    words = rng.choice(["Mostly Sunny", "Cloudy", "Partly Cloudy", "Patchy Fog", "Sunny"])
    weather = None
    if stormy:
        words = rng.choice(["Chance Showers And Thunderstorms", "Thunderstorms Likely", "Slight Chance Thunderstorms"])
        weather = (rng.choice(["chance", "likely", "isolated"]), "thunderstorms")
    elif rng.random() < 0.4:
        words, weather = rng.choice(["Rain Showers Likely", "Chance Rain", "Light Rain"]), ("likely", "rain_showers")
    dew = round(air - rng.uniform(0.5, 12), 1)
    calm = {"air_c": air, "dew_c": dew, "wind_mps": wind, "from_deg": rng.randrange(36) * 10.0,
            "gust_mps": round(wind * 1.5, 1),
            "humid_pct": round(float(humidity_from_dewpoint_pct(air, dew)), 1)}  # fmt: skip
    rough = {"wind_mps": peak, "gust_mps": round(peak * rng.choice([1.3, 1.6]), 1), "words": words, "weather": weather,
             "thunder_pct": rng.choice([12.0, 25.0, 45.0]) if stormy else rng.choice([0.0, 3.0, 8.0]),
             "lightning": rng.choice([2.0, 3.0, 4.0]) if stormy else 1.0, "rain_pct": 60.0 if weather else 10.0,
             "cape": rng.choice([900.0, 2600.0]) if stormy else rng.choice([0.0, 200.0, 600.0]),
             "code": 95 if stormy else 61 if weather else 2,
             "sight_m": rng.choice([16093.44, 16093.44, 16093.44, 3000.0, 800.0])}  # fmt: skip
    return calm, rough


def _thunder_layers(rng: random.Random, bodies: Bodies) -> str:
    """Offices leave thunder layers empty: which ones this one fills."""
    grid = bodies[GRID].data["properties"]  # type: ignore[union-attr]
    kept = rng.choice(["both", "probability", "level", "words alone", "none"])
    if kept in ("level", "words alone", "none"):
        grid["probabilityOfThunder"] = {"values": []}
    if kept in ("probability", "words alone", "none"):
        grid["lightningActivityLevel"] = {"values": []}
    if kept == "none":
        grid["weather"] = {"values": []}
    return f"thunder layers: {kept}; "


#: Names of events by which mornings are drawn; written out, so that two versions of the program draw the same.
_EVENTS = [
    "Tornado Warning",
    "Severe Thunderstorm Warning",
    "Special Marine Warning",
    "Extreme Wind Warning",
    "Snow Squall Warning",
    "Dust Storm Warning",
    "Blowing Dust Warning",
    "Tornado Watch",
    "Severe Thunderstorm Watch",
    "High Wind Warning",
    "High Wind Watch",
    "Wind Advisory",
    "Tropical Storm Warning",
    "Tropical Storm Watch",
    "Tropical Storm Local Statement",
    "Hurricane Warning",
    "Hurricane Watch",
    "Hurricane Local Statement",
    "Hurricane Force Wind Warning",
    "Hurricane Force Wind Watch",
    "Typhoon Warning",
    "Typhoon Watch",
    "Storm Surge Warning",
    "Storm Surge Watch",
    "Lake Wind Advisory",
    "Small Craft Advisory",
    "Small Craft Advisory For Hazardous Seas",
    "Small Craft Advisory For Winds",
    "Small Craft Advisory For Rough Bar",
    "Brisk Wind Advisory",
    "Gale Warning",
    "Gale Watch",
    "Storm Warning",
    "Storm Watch",
    "Hazardous Seas Warning",
    "Hazardous Seas Watch",
    "Lake Effect Snow Warning",
    "Special Weather Statement",
    "Severe Weather Statement",
    "Marine Weather Statement",
    "Dense Fog Advisory",
    "Freezing Fog Advisory",
    "Dense Smoke Advisory",
    "Blowing Dust Advisory",
    "Dust Advisory",
    "Air Quality Alert",
    "Air Stagnation Advisory",
    "Ashfall Advisory",
    "Ashfall Warning",
    "Extreme Heat Warning",
    "Excessive Heat Warning",
    "Heat Advisory",
    "Extreme Heat Watch",
    "Excessive Heat Watch",
    "Extreme Cold Warning",
    "Wind Chill Warning",
    "Winter Storm Warning",
    "Ice Storm Warning",
    "Blizzard Warning",
    "Heavy Freezing Spray Warning",
    "Cold Weather Advisory",
    "Wind Chill Advisory",
    "Extreme Cold Watch",
    "Wind Chill Watch",
    "Winter Weather Advisory",
    "Winter Storm Watch",
    "Freezing Spray Advisory",
    "Heavy Freezing Spray Watch",
    "Lake Effect Snow Advisory",
    "Flash Flood Warning",
    "Flash Flood Watch",
    "Flood Warning",
    "Flood Advisory",
    "Flood Watch",
    "Flash Flood Statement",
    "Flood Statement",
    "Lakeshore Flood Warning",
    "Lakeshore Flood Advisory",
    "Lakeshore Flood Watch",
    "Hydrologic Outlook",
    "Freeze Warning",
    "Freeze Watch",
    "Hard Freeze Warning",
    "Hard Freeze Watch",
    "Frost Advisory",
    "Red Flag Warning",
    "Fire Weather Watch",
    "Beach Hazards Statement",
    "Rip Current Statement",
    "High Surf Advisory",
    "High Surf Warning",
    "911 Telephone Outage",
    "911 Telephone Outage Emergency",
    "Civil Danger Warning",
    "Evacuation Immediate",
    "Evacuation - Immediate",
    "Hazardous Materials Warning",
    "Shelter In Place Warning",
    "Radiological Hazard Warning",
    "Nuclear Power Plant Warning",
    "Tsunami Warning",
    "Earthquake Warning",
    "Volcano Warning",
    "Law Enforcement Warning",
    "Fire Warning",
]
_MORE_EVENTS = ("Dam Failure Statement", "Child Abduction Emergency", "Blue Alert", "Local Area Emergency",
                "Short Term Forecast", "Required Weekly Test", "Low Water Advisory")  # fmt: skip


def _warnings(rng: random.Random, scene: Scene, bodies: Bodies) -> str:
    """Up to three warnings of any kind, over the lake or elsewhere, with or without codes."""
    found = []
    for _ in range(rng.choice([0, 0, 1, 1, 2, 3])):
        event = rng.choice(_EVENTS) if rng.random() < 0.9 else rng.choice(_MORE_EVENTS)
        begin = scene.now + timedelta(hours=rng.choice([-5, -1, 2, 5, 30]))
        place = scene.place if rng.random() < 0.8 else (scene.place[0] + 2.0, scene.place[1] - 2.0)
        severity = rng.choice(["Minor", "Moderate", "Severe"])
        one = alert(scene, event, begin, begin + timedelta(hours=rng.choice([2, 6, 20])), severity=severity,
                    geometry=square(place) if rng.random() < 0.5 else None)  # fmt: skip
        found.append((event, severity, one))
    bodies[ALERTS] = alerts_answer([one for *_, one in found])
    return f"warnings: {'; '.join(f'{event} ({severity})' for event, severity, _ in found)}; " if found else ""


def _services(rng: random.Random, scene: Scene, bodies: Bodies, calm: dict[str, Any], normal_c: float) -> str:
    """What the stations and the gauge say, and which service is out."""
    wind = calm["wind_mps"]
    bodies[observations_of(STATIONS[0])] = Answer(
        [observation(scene, STATIONS[0], 20, wind + rng.uniform(-0.4, 1.0), rng.choice([None, wind * 1.7]))]
    )
    water_c = max(1.0, normal_c + rng.uniform(-2, 3))
    bodies["/usgs/latest"], bodies["/usgs/daily"] = (
        Answer(water_latest(scene, water_c)),
        Answer(water_daily(scene, water_c)),
    )
    out = rng.choice(["", "", "", "", "grid", "text", "observations", "gauge", "abroad", "warnings"])
    broken = Answer({"title": "trouble"}, 503, "application/problem+json")
    routes = {"grid": [GRID], "text": [TEXT_ROUTE], "gauge": ["/usgs/latest", "/usgs/daily"], "warnings": [ALERTS],
              "observations": [observations_of(one) for one in STATIONS]}  # fmt: skip
    for route in routes.get(out, ()):
        bodies[route] = broken
    if out == "abroad":
        problem = {"type": "https://api.weather.gov/problems/InvalidPoint", "title": "Data Unavailable"}
        bodies["/nws/points"] = Answer(problem, 404, "application/problem+json")
    return f"out: {out}; " if out else ""


# -- recorded mornings ------------------------------------------------------------------------------------------------

#: grid body, latitude, longitude, time zone, beside a station's body
_RECORDED = (
    ("ALY_20260715_thunder", 42.73, -73.75, "America/New_York", "KALB_20260715"),
    ("MPX_20260304_spans_dst_start", 44.99, -93.14, "America/Chicago", "KMSP_20260304"),
    ("GUM_20260514_float_noise", 13.43, 144.80, "Pacific/Guam", "PGRO_20260514_stale_9h"),
    ("OAX_20241203_lightning_level", 41.22, -96.64, "America/Chicago", ""),
    ("AFG_20260602_no_thunder_layer", 69.51, -157.04, "America/Anchorage", ""),
)


def _recorded() -> Iterator[tuple[Base, str]]:
    """Recorded grids, looked at some hours after they were issued, with and without recorded warnings."""
    folder = Path(os.environ.get("BRIEFING_REFERENCE_DATA", "")) / "samples" / "nws"
    if not folder.is_dir():
        return
    for name, north, east, zone, station in _RECORDED:
        if north > 66.0:
            continue  # where no season exists the page has its own test
        grid = json.loads((folder / f"gridpoint_raw_{name}.json").read_bytes())
        issued = datetime.fromisoformat(grid["properties"]["updateTime"])
        for number, hours in enumerate((1.0, 3.0, 5.0)):
            for listed in (False, True):
                yield _recording(folder, grid, name, (north, east), zone, station, issued, hours, number, listed)


def _recording(
    folder: Path, grid: Any, name: str, place: tuple[float, float], zone: str, station: str, issued: datetime,
    hours: float, number: int, listed: bool,
) -> tuple[Base, str]:  # fmt: skip
    now = (issued + timedelta(hours=hours)).replace(second=0, microsecond=0)
    first, _, normals = _lake(LAKES[number])
    profile = first.model_copy(
        update={
            "latitude": place[0],
            "longitude": place[1],
            "time_zone": zone,
            "shoreline": None,
            "ramps": (),
            "spots": (),
        }
    )
    normals = normals_at(knowledge.load_normals_table(), place[0], place[1], profile.elevation_m)
    scene = Scene(place, now, (now, now), issued_h=hours)
    bodies = sound_bodies(scene)
    # the recorded cell is handed out under the path that the composed position names
    bodies[GRID] = Answer({**grid, "properties": {**grid["properties"], "gridId": "TST", "gridX": 31, "gridY": 22}})
    bodies[METAR] = Answer([], kind="application/json")
    if station:
        observed = json.loads((folder / f"observation_{station}.json").read_bytes())
        bodies[observations_of(STATIONS[0])] = Answer(observed.get("features", [observed]))
    if listed:
        recorded = json.loads((folder / "alerts_active_subset_20260715.json").read_bytes())
        bodies[ALERTS] = Answer({**recorded, "updated": now.isoformat()})
    bodies["/nws/points"] = Answer(points_body(place))
    shape = equivalent_ellipse(profile.area_km2, None, lat_deg=place[0], lon_deg=place[1])
    launch = now + timedelta(hours=1)
    base = Base(
        id=f"r_{name[:3]}_{number}{'a' if listed else ''}", holder="", route="", part="", scene=replace(scene),
        bodies=sealed(bodies), profile=profile, shape=shape, normals=normals, day=now.astimezone(ZoneInfo(zone)).date(),
        launch=launch, back=launch + timedelta(hours=6),
    )  # fmt: skip
    return base, f"recorded grid {name}, {hours:g} h after its issue{', recorded warnings' if listed else ''}"
