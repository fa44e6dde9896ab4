"""CPU time of fetch, waves, hour levels and the wind note: ``python tests/benchmarks/bench_wind.py``."""

import math
import resource
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, Polygon

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

from _measure import measure, report, yardstick  # noqa: E402

from briefing import knowledge  # noqa: E402
from briefing.core.alerts import AlertFeed  # noqa: E402
from briefing.core.freshness import StaleTable  # noqa: E402
from briefing.core.hours import HourSeries, Origin, field_of  # noqa: E402
from briefing.core.wind.alerts import resolve_alerts  # noqa: E402
from briefing.core.wind.fetch import FetchTable, fetch_table, sweep  # noqa: E402
from briefing.core.wind.hour_levels import hour_levels  # noqa: E402
from briefing.core.wind.inputs import DayLight, LevelInputs  # noqa: E402
from briefing.core.wind.limits import limits_for  # noqa: E402
from briefing.core.wind.note import PlannedOuting, decide_note  # noqa: E402
from briefing.core.wind.shape import LakeShape  # noqa: E402
from briefing.core.wind.waves import sea_state, spm84_shallow, young_verhagen_1996  # noqa: E402
from briefing.resources import read_toml  # noqa: E402
from briefing.vocabulary import Craft, Skill  # noqa: E402

START = datetime(2026, 5, 4, 8, tzinfo=UTC)


def ring(radius: float, count: int, x: float = 0.0, y: float = 0.0) -> np.ndarray:
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    reach = radius * (1.0 + 0.2 * np.sin(5 * angle) + 0.08 * np.sin(23 * angle))
    return np.stack([x + reach * np.cos(angle), y + reach * np.sin(angle)], axis=1)


def lake(vertices: int) -> LakeShape:
    """A lobed lake with twelve islands and ``vertices`` vertices in all."""
    each = vertices // 40
    islands = tuple(
        ring(180.0, each, 2600.0 * math.cos(n * math.pi / 6), 2600.0 * math.sin(n * math.pi / 6)) for n in range(12)
    )
    return LakeShape(ring(5000.0, vertices - 12 * each), islands)


def points(count: int) -> np.ndarray:
    return np.random.default_rng(3).uniform(-1500.0, 1500.0, (count, 2))


def shapely_loop(shape: LakeShape, where: np.ndarray, bearings: np.ndarray) -> np.ndarray:
    """The plain way: each ray cut with the boundary, nearest hit."""
    boundary = Polygon(shape.outer_xy_m, [list(map(tuple, one)) for one in shape.islands_xy_m]).boundary
    out = np.empty((len(where), len(bearings)))
    for row, point in enumerate(where):
        for column, bearing in enumerate(np.radians(bearings)):
            far = (point[0] + 20000.0 * math.sin(bearing), point[1] + 20000.0 * math.cos(bearing))
            hits = LineString([point, far]).intersection(boundary)
            out[row, column] = min(math.dist(point, hit.coords[0]) for hit in getattr(hits, "geoms", [hits]))
    return out


def inputs(table: FetchTable, shape: LakeShape, hours: int = 240) -> LevelInputs:
    n = np.arange(hours)
    origin = Origin("grid", "forecast grid", "forecast", START - timedelta(hours=2), START)
    values = {
        "wind_mps": 4.0 + 4.0 * np.sin(n / 8.0),
        "gust_mps": 6.0 + 6.0 * np.sin(n / 8.0),
        "wind_from_deg": (n * 3.0) % 360.0,
        "air_c": 20.0 + 8.0 * np.sin(n / 4.0),
        "dewpoint_c": np.full(hours, 10.0),
        "thunder_pct": (n % 50) * 1.0,
        "visibility_m": np.full(hours, 9000.0),
    }
    limits = knowledge.load_limits()
    now = START + timedelta(minutes=5)
    light = tuple(
        DayLight(*(START + timedelta(days=d, hours=h) for h in (2.5, 3.0, 16.0, 16.5))) for d in range(hours // 24)
    )
    return LevelInputs(
        hours=HourSeries(START, hours, {name: field_of(value, origin) for name, value in values.items()}),
        alerts=resolve_alerts(AlertFeed((), START, "alerts", "alerts"), None, shape.lonlat_rings, now),
        craft=Craft.KAYAK,
        skill=Skill.NOVICE,
        limits=limits_for(limits, Craft.KAYAK, Skill.NOVICE, alone=False, reentry_practised=True),
        limits_table=limits,
        rules=knowledge.load_safety_rules(),
        events=knowledge.load_alert_events(),
        stale=StaleTable.from_mapping(read_toml("stale.toml")),
        now=now,
        light=light,
        water_low_c=14.0,
        fetch=table,
        units="us",
    )


def bench_fetch(yard: float) -> FetchTable:
    small, where = lake(2000), points(200)
    bearings = np.arange(360.0)
    fast = measure(lambda: fetch_table(small, where))
    report("fetch table 360 x 200, 2,000 vertices", fast, yard)
    # A full loop takes seconds a run: 20 of the 200 points, once, times ten.
    slow = measure(lambda: shapely_loop(small, where[:20], bearings), repeats=3) * 10.0
    report("the same by shapely, ray by ray (20 points x 10)", slow, yard)
    far = np.abs(shapely_loop(small, where[:3], bearings) - sweep(small, where[:3], bearings)).max()
    print(f"  ratio {slow / fast:.0f} x (bar 100), largest difference {far:.2e} m")
    for vertices in (4000, 8000, 20000):
        ms = measure(partial(fetch_table, lake(vertices), where), repeats=3)
        report(f"fetch table 360 x 200, {vertices:,} vertices", ms, yard)
        print(f"  {ms / fast / (vertices / 2000.0):.2f} of linear growth from 2,000")
    return fetch_table(small, where)


def bench_hours(table: FetchTable, yard: float) -> None:
    rng = np.random.default_rng(4)
    wind, way = rng.uniform(0.0, 15.0, 240), rng.uniform(0.0, 360.0, 240)
    fetch = table.for_wind(way)
    report("SPM84 240 h x 200 points", measure(lambda: spm84_shallow(wind[:, None], fetch, 5.0)), yard)
    report("Young-Verhagen 240 h x 200 points", measure(lambda: young_verhagen_1996(wind[:, None], fetch, 5.0)), yard)
    report("waves 240 h x 200 points, whole", measure(lambda: sea_state(wind, table.for_wind(way))), yard, 10.0)
    given = inputs(table, lake(2000))
    report("hour levels 240 h x 200 points", measure(lambda: hour_levels(given)), yard)
    day = replace(given, hours=given.hours.window(START, START + timedelta(hours=24)))
    report("hour levels 24 h x 200 points (a morning)", measure(lambda: hour_levels(day)), yard, 20.0)
    outing = PlannedOuting("lake/day", "Quiet Lake", START + timedelta(hours=4), START + timedelta(hours=9))
    levels, rules = hour_levels(day), knowledge.load_safety_rules().note
    call = lambda: decide_note(  # noqa: E731
        [], [], levels, given.alerts, outing, given.now, rules, issued=START, forecast_lost=False, units="us"
    )
    report("wind note decision", measure(call), yard)


def main() -> None:
    """Print the figures."""
    yard = yardstick()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    table = bench_fetch(yard)
    peak = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024.0
    print(f"  memory above the start: {peak:.0f} MB (bar 300 MB at 20,000 vertices)")
    bench_hours(table, yard)


if __name__ == "__main__":
    main()
