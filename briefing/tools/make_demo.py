"""Makes ``config/demo/inputs.json``: the weather of the demonstration, composed by formula, not recorded anywhere.

    python -m briefing.tools.make_demo

The morning: a warm south-easterly spell before a front. Light wind at dawn, 15 mph and gusts in the twenties from late
morning, storms possible in the afternoon, an official lake wind advisory from noon.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from briefing import knowledge
from briefing.core.alerts import Alert, AlertFeed
from briefing.core.climate import AirNormals, normals_at
from briefing.core.gathered import Gathered
from briefing.core.gathered_json import to_json
from briefing.core.hours import HourField, HourSeries, Origin, field_of
from briefing.core.readings import DailyAir, LevelReading, WindReading
from briefing.profile.files import load_profile
from briefing.resources import config_path, read_toml

Floats = NDArray[np.float64]

SEED = 20260321
HISTORY_DAYS = 400
FORECAST_DAYS = 10
PAST_HOURS = 96
AHEAD_HOURS = 72


def daily_air(normals: AirNormals, start: date, days: int, today: int) -> Floats:
    """Normals plus persistent noise, with a warm spell in the last days before ``today`` and a drop after it."""
    rng = np.random.default_rng(SEED)
    noise = np.zeros(days)
    shocks = rng.normal(size=days)
    for n in range(1, days):
        noise[n] = 0.72 * noise[n - 1] + 0.69 * shocks[n]
    doy = [(start + timedelta(days=n)).timetuple().tm_yday - 1 for n in range(days)]
    air = normals.mean_c[doy] + 0.8 * normals.day_sd_c[doy] * noise
    n = np.arange(days)
    warm = 3.0 * np.exp(-(((n - today + 1) / 4.0) ** 2))
    cool = -6.0 * np.exp(-(((n - today - 2) / 1.6) ** 2))
    settle = np.clip((n - today + 12) / 10.0, 0.0, 1.0)
    return np.asarray(air * (1 - settle) + settle * (normals.mean_c[doy] + warm + cool), float)


def hourly(
    start: datetime, hours: int, now_index: int, air: Floats, first_day: date, offset_h: int
) -> dict[str, Floats]:
    """Hourly fields around the morning; ``now_index`` is the hour of 'now', local time is UTC + ``offset_h``."""
    n = np.arange(hours)
    local = np.array([(start + timedelta(hours=int(k))).hour + offset_h for k in n]) % 24
    ahead = n - now_index  # hours from now; the front passes 20 h ahead
    front = ahead - 20
    day = np.array([((start + timedelta(hours=int(k) + offset_h)).date() - first_day).days for k in n])
    swing = 4.5 * np.cos(2 * np.pi * (local - 15) / 24)
    breeze = 1.6 + 1.6 * np.clip(np.sin(np.pi * (local - 8) / 11), 0, None)
    blow = 4.6 * np.exp(-(((ahead - 10) / 4.5) ** 2)) + 5.0 * np.exp(-(((front - 1) / 3.0) ** 2))
    wind = breeze + blow
    gust = wind * 1.45 + np.where(wind > 5.0, 0.8, 0.0)
    direction = np.where(front < 0, 150.0 + 1.6 * np.clip(ahead, -30, 20), 330.0 - 0.8 * np.clip(front, 0, 40))
    thunder = 45.0 * np.exp(-(((ahead - 13) / 3.0) ** 2)) + 25.0 * np.exp(-((front / 2.5) ** 2))
    cloud = np.clip(20 + 70 * np.exp(-(((ahead - 12) / 8.0) ** 2)), 0, 100)
    rain = np.clip(1.3 * thunder, 0, 90)
    air_c = air[np.clip(day, 0, air.size - 1)] + swing * (1 - 0.5 * cloud / 100)
    return {
        "wind_mps": np.round(wind, 1),
        "gust_mps": np.round(gust, 1),
        "wind_from_deg": np.round(direction / 10) * 10 % 360,
        "air_c": np.round(air_c, 1),
        "dewpoint_c": np.round(air_c - 3 - 2 * (1 - cloud / 100), 1),
        "humidity_pct": np.round(np.clip(82 - 1.5 * swing, 30, 100)),
        "pressure_hpa": np.round(1017 - 9 * np.exp(-(((front) / 14.0) ** 2)) + 3 * np.clip(front, 0, 24) / 24, 1),
        "cloud_pct": np.round(cloud),
        "precip_chance_pct": np.round(rain),
        "thunder_pct": np.round(thunder),
        "visibility_m": np.where((local >= 5) & (local <= 7), 9000.0, 16000.0),
        "cape_jkg": np.round(200 + 1100 * np.exp(-(((ahead - 13) / 5.0) ** 2))),
    }


def make() -> Gathered:
    """Compose the demonstration's inputs."""
    script = read_toml("demo/demo.toml")
    profile = load_profile(config_path(f"lakes/{script['lake']}.toml"))
    now: datetime = script["now"].astimezone(UTC)
    today: date = script["day"]
    issued = now - timedelta(hours=2, minutes=10)
    normals = normals_at(knowledge.load_normals_table(), profile.latitude, profile.longitude, profile.elevation_m)
    first = today - timedelta(days=HISTORY_DAYS)
    days = HISTORY_DAYS + FORECAST_DAYS + 1
    air = np.round(daily_air(normals, first, days, HISTORY_DAYS), 2)
    start = now.replace(minute=0) - timedelta(hours=PAST_HOURS)
    offset_h = int((now.astimezone(profile.zone).utcoffset() or timedelta(0)).total_seconds() // 3600)
    values = hourly(start, PAST_HOURS + AHEAD_HOURS, PAST_HOURS, air, first, offset_h)
    grid = Origin("nws_grid", "made-up forecast grid for the demonstration", "forecast", issued, now)
    fields: dict[str, HourField] = {name: field_of(array, grid) for name, array in values.items()}
    hours = HourSeries(start, PAST_HOURS + AHEAD_HOURS, fields)
    lead = np.clip(np.arange(days) - HISTORY_DAYS, 0, None).astype(np.int16)
    return Gathered(
        hours=hours,
        raw={"nws_grid": hours},
        air=DailyAir(
            first,
            air,
            ("modelled",) * HISTORY_DAYS + ("forecast",) * (FORECAST_DAYS + 1),
            lead,
            "demo",
            "made-up daily air",
        ),
        alerts=AlertFeed((_advisory(today, now, profile.zone),), now, "nws", "made-up warnings for the demonstration"),
        wind_now=(
            WindReading(
                now - timedelta(minutes=25), 1.6, None, 150.0, "nws_station", "made-up airfield north of the lake", 9.0
            ),
        ),
        water=(),
        level=tuple(
            LevelReading(now - timedelta(hours=h), 3.02 + 0.002 * h, None, "usgs", "made-up lake gauge")
            for h in (72, 24, 1)
        ),
        problems=(),
        credits=("All weather in this demonstration is made up.",),
        requests=(),
        retrieved_at=now,
    )


def _advisory(today: date, now: datetime, zone: ZoneInfo) -> Alert:
    onset = datetime(today.year, today.month, today.day, 12, tzinfo=zone).astimezone(UTC)
    return Alert(
        id="demo-1",
        event="Lake Wind Advisory",
        status="Actual",
        message_type="Alert",
        severity="Moderate",
        certainty="Likely",
        urgency="Expected",
        sent=now - timedelta(hours=3),
        effective=now - timedelta(hours=3),
        onset=onset,
        expires=onset + timedelta(hours=3),
        ends=onset + timedelta(hours=9),
        headline="Lake Wind Advisory from noon to 9 PM today (made up for the demonstration)",
        description=(
            "* WHAT...South winds 15 to 20 mph with gusts up to 30 mph expected.\n"
            "* WHERE...All area lakes.\n* WHEN...From noon to 9 PM today.\n"
            "* IMPACTS...Rough water on area lakes. Small craft could be swamped."
        ),
        instruction="Boaters should use extra care on area lakes.",
        area="Made-up County",
        issued_by="made-up weather office",
        event_codes=("LWY",),
    )


def main() -> None:
    """Write the file."""
    path = config_path("demo/inputs.json")
    path.write_text(to_json(make()) + "\n", encoding="utf-8")
    print(f"wrote {path}")


if __name__ == "__main__":
    main()
