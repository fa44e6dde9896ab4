"""A made-up lake in the hills and its air, for the tests of the water engine."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from briefing.core.climate.normals import AirNormals
from briefing.core.readings import DailyAir, WaterReading
from briefing.core.water.engine import WaterResult, run_water
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.site import WaterSite
from briefing.core.water.weather import leap_day_index
from briefing.resources import read_toml

ZONE = ZoneInfo("America/New_York")
TODAY = date(2025, 4, 10)
NOW = datetime(2025, 4, 10, 10, 0, tzinfo=ZONE)


@pytest.fixture(scope="session")
def parameters() -> WaterParameters:
    return WaterParameters.from_mapping(read_toml("water.toml"))


def make_normals(latitude: float = 35.0, mean: float = 14.0, swing: float = 11.0) -> AirNormals:
    day = np.arange(366)
    peak = 200 if latitude >= 0 else 17
    curve = mean + swing * np.cos(2 * np.pi * (day - peak) / 366)
    return AirNormals(latitude, -83.0, 0.0, curve, np.full(366, 4.0), np.full(366, 1.7), curve - 5.0, 0.8)


@pytest.fixture(scope="session")
def normals() -> AirNormals:
    return make_normals()


@pytest.fixture(scope="session")
def site() -> WaterSite:
    return WaterSite(35.0, -83.0, 300.0, mean_depth_m=6.0, area_km2=3.0)


def make_air(normals: AirNormals, past: int = 200, ahead: int = 10, shift: float = 0.0, seed: int = 5) -> DailyAir:
    start = TODAY - timedelta(days=past - 1)
    days = [start + timedelta(days=number) for number in range(past + ahead)]
    generator = np.random.default_rng(seed)
    anomaly = np.zeros(len(days))
    for number in range(1, len(days)):
        anomaly[number] = 0.75 * anomaly[number - 1] + 2.0 * generator.standard_normal()
    lead = np.array([0] * past + list(range(1, ahead + 1)), dtype=np.int16)
    kind = ("observed",) * past + ("forecast",) * ahead
    return DailyAir(start, normals.mean_c[leap_day_index(days)] + anomaly + shift, kind, lead, "test", "test air")


def reading(days_ago: int, value: float, hour: int = 9, **more: object) -> WaterReading:
    moment = NOW.replace(hour=hour) - timedelta(days=days_ago)
    return WaterReading(id=f"d{days_ago}h{hour}v{value:g}", time=moment, temperature_c=value, **more)  # type: ignore[arg-type]


@pytest.fixture
def run(site: WaterSite, normals: AirNormals, parameters: WaterParameters) -> Callable[..., WaterResult]:
    """Run the engine on the made-up lake; any argument may be replaced."""

    def call(readings: list[WaterReading], **change: object) -> WaterResult:
        arguments: dict[str, object] = {
            "site": site,
            "air": make_air(normals),
            "normals": normals,
            "parameters": parameters,
            "now": NOW,
            "timezone": ZONE,
            "seed": 3,
            "units": "us",
        } | change
        return run_water(readings=readings, **arguments)  # type: ignore[arg-type]

    return call
