"""CPU time of the water engine: ``python tests/benchmarks/bench_water.py``."""

import sys
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

from _measure import measure, report, yardstick  # noqa: E402

from briefing.core.climate.normals import AirNormals  # noqa: E402
from briefing.core.readings import DailyAir, WaterReading  # noqa: E402
from briefing.core.water.batch import filter_days, free_run  # noqa: E402
from briefing.core.water.engine import WaterResult, WaterState, run_water  # noqa: E402
from briefing.core.water.kalman import noise_for, prior  # noqa: E402
from briefing.core.water.parameters import WaterParameters  # noqa: E402
from briefing.core.water.site import WaterSite  # noqa: E402
from briefing.core.water.slab import columns_for, forcing_for, top_of_air_w_m2  # noqa: E402
from briefing.resources import read_toml  # noqa: E402

PARAMETERS = WaterParameters.from_mapping(read_toml("water.toml"))
ZONE = ZoneInfo("America/Chicago")
TODAY = date(2025, 5, 6)
NOW = datetime(2025, 5, 6, 5, 0, tzinfo=ZONE)


def lakes(count: int, days: int) -> None:
    """Filter ``count`` lakes over ``days`` days with weekly readings."""
    sites = [WaterSite(45.0, -90.0, mean_depth_m=1.0 + place % 20, area_km2=1.0) for place in range(count)]
    number = np.arange(days)[:, None]
    air = 8 - 12 * np.cos(2 * np.pi * (number - 20) / 365) + np.zeros((1, count))
    columns = columns_for(sites, air.min(axis=0), PARAMETERS.slab)
    sun = top_of_air_w_m2(np.full(count, 45.0), np.arange(days) % 365 + 1.0)
    forcing = forcing_for(air, np.full_like(air, 5.0), sun, PARAMETERS.slab)
    noise = noise_for(sites, columns, PARAMETERS.filter)
    angle = 2 * np.pi * number / 365 + np.zeros((1, count))
    readings = np.where((number + np.arange(count)) % 7 == 0, 12.0, np.nan)
    spread = np.zeros_like(air)
    season = (np.cos(angle), np.sin(angle))
    for _ in filter_days(prior(air[0], noise), forcing, season, spread, readings, np.full(count, 0.3), columns, noise):
        pass


def slab_alone(count: int, days: int) -> None:
    """Run the slab without filter."""
    sites = [WaterSite(45.0, -90.0, mean_depth_m=1.0 + place % 20, area_km2=1.0) for place in range(count)]
    air = 8 - 12 * np.cos(2 * np.pi * (np.arange(days)[:, None] - 20) / 365) + np.zeros((1, count))
    columns = columns_for(sites, air.min(axis=0), PARAMETERS.slab)
    sun = top_of_air_w_m2(np.full(count, 45.0), np.arange(days) % 365 + 1.0)
    free_run(air[0], forcing_for(air, np.full_like(air, 5.0), sun, PARAMETERS.slab), columns)


def morning(state: WaterState | None, past: int = 400, ahead: int = 10) -> WaterResult:
    """One morning's build of one lake with 20 readings."""
    start = TODAY - timedelta(days=past - 1)
    day = np.arange(366)
    curve = 8 - 12 * np.cos(2 * np.pi * (day - 20) / 366)
    normals = AirNormals(45.0, -90.0, 0.0, curve, np.full(366, 4.5), np.full(366, 1.8), curve - 5, 0.7)
    lead = np.array([0] * past + list(range(1, ahead + 1)), dtype=np.int16)
    air = DailyAir(start, np.full(past + ahead, 9.0), ("observed",) * past + ("forecast",) * ahead, lead, "b", "b")
    readings = [
        WaterReading(f"r{number}", NOW - timedelta(days=3 + 7 * number), 10.0 - 0.2 * number) for number in range(20)
    ]
    site = WaterSite(45.0, -90.0, mean_depth_m=5.0, area_km2=2.0)
    return run_water(site, air, normals, readings, PARAMETERS, now=NOW, timezone=ZONE, seed=1, state=state, units="us")


if __name__ == "__main__":
    yard = yardstick()
    kept = morning(None).state
    report("filter, 1,000 lakes x 400 days", measure(lambda: lakes(1000, 400), 3), yard, 1000.0)
    report("filter, a lake-year (of 1,000 side by side)", measure(lambda: lakes(1000, 365), 3) / 1000, yard, 1.0)
    report("filter, a lake-year alone", measure(lambda: lakes(1, 365)), yard)
    report("slab alone, 1,000 lakes x 400 days", measure(lambda: slab_alone(1000, 400), 3), yard)
    report("morning build, state kept", measure(lambda: morning(kept)), yard, 30.0)
    report("morning that runs 400 days anew (refit)", measure(lambda: morning(None)), yard, 330.0)
