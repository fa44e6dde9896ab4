"""Composes the inputs of a morning by formula: made-up weather for the demonstration and for tests."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.alerts import Alert, AlertFeed
from briefing.core.climate import AirNormals
from briefing.core.gathered import Gathered, Problem
from briefing.core.hours import HourField, HourSeries, Origin, field_of
from briefing.core.readings import DailyAir, LevelReading, WindReading
from briefing.profile.model import LakeProfile
from briefing.sections.words import listed
from briefing.units import direction_words, mps_to_mph

Floats = NDArray[np.float64]

HISTORY_DAYS = 400
FORECAST_DAYS = 10
PAST_HOURS = 96
AHEAD_HOURS = 72


@dataclass(frozen=True)
class Weather:
    """A made-up morning. Hours are counted from now; winds in m/s, air in C against normal.

    front_h: when a cold front passes (beyond +-90: none). storm_h: hour of the strongest thunder chance. missing:
    fields that no service gives. alerts: names of alerts in force from ``alert_from_h``; None: the service failed.
    """

    seed: int
    breeze_mps: float = 1.6
    peak_mps: float = 6.5
    peak_h: float = 10.0
    peak_width_h: float = 4.5
    wind_from_deg: float = 160.0
    veer_deg_h: float = 1.5
    front_h: float = 200.0
    thunder_pct: float = 0.0
    storm_h: float = 13.0
    cloud_pct: float = 30.0
    warm_c: float = 0.0
    cool_after_c: float = 0.0
    alerts: tuple[str, ...] | None = ()
    alert_from_h: float = 7.0
    missing: tuple[str, ...] = ()
    issued_h: float = 2.2
    wind_now: bool = True


def compose(
    profile: LakeProfile, normals: AirNormals, day: date, now: datetime, weather: Weather, label: str
) -> Gathered:
    """Return the inputs of a morning at ``now`` (aware) for the local date ``day``; ``label`` names them to readers."""
    at = now.astimezone(UTC)
    first = day - timedelta(days=HISTORY_DAYS)
    air = np.round(daily_air(normals, first, weather), 2)
    hours = _hours(profile, first, air, at, weather, label)
    lead = np.clip(np.arange(air.size) - HISTORY_DAYS, 0, None).astype(np.int16)
    kinds = ("modelled",) * HISTORY_DAYS + ("forecast",) * (FORECAST_DAYS + 1)
    lacking = listed([_words(name) for name in weather.missing])
    problem = Problem(
        "nws", f"Not given by any service: {lacking}.", "Those hours count as not known.", serious=True, short=lacking
    )
    problems = (problem,) if lacking else ()
    seen_at = at - timedelta(minutes=25)
    direction = float(hours.values("wind_from_deg")[hours.index_of(seen_at)])
    observed = WindReading(
        seen_at,
        weather.breeze_mps,
        None,
        direction if np.isfinite(direction) else weather.wind_from_deg,
        "nws_station",
        f"{label} airfield",
        9.0,
    )
    return Gathered(
        hours=hours,
        raw={"nws_grid": hours},
        air=DailyAir(first, air, kinds, lead, "composed", f"{label} daily air"),
        alerts=_feed(at, weather, hours, label),
        wind_now=(observed,) if weather.wind_now else (),
        water=(),
        level=tuple(
            LevelReading(at - timedelta(hours=h), 3.02 + 0.0006 * h, None, "usgs", f"{label} lake gauge")
            for h in (72, 24, 1)
        ),
        problems=problems,
        credits=(f"All weather here is {label}.",),
        requests=(),
        retrieved_at=at,
    )


def daily_air(normals: AirNormals, start: date, weather: Weather) -> Floats:
    """Normals plus persistent noise; around today the given anomaly, so that the story holds whatever the seed."""
    days = HISTORY_DAYS + FORECAST_DAYS + 1
    rng = np.random.default_rng(weather.seed)
    noise, shocks = np.zeros(days), rng.normal(size=days)
    for n in range(1, days):
        noise[n] = 0.72 * noise[n - 1] + 0.69 * shocks[n]
    doy = [(start + timedelta(days=n)).timetuple().tm_yday - 1 for n in range(days)]
    normal = normals.mean_c[doy]
    from_today = np.arange(days) - HISTORY_DAYS
    settle = np.clip((from_today + 12) / 10.0, 0.0, 1.0)
    warm = weather.warm_c * np.exp(-(((from_today + 1) / 4.0) ** 2))
    cool = -weather.cool_after_c * np.exp(-(((from_today - 2) / 1.6) ** 2))
    return np.asarray(normal + (1 - 0.7 * settle) * 0.8 * normals.day_sd_c[doy] * noise + settle * (warm + cool), float)


def _hours(profile: LakeProfile, first: date, air: Floats, now: datetime, weather: Weather, label: str) -> HourSeries:
    start = now.replace(minute=0, second=0, microsecond=0) - timedelta(hours=PAST_HOURS)
    count = PAST_HOURS + AHEAD_HOURS
    times = [start + timedelta(hours=n) for n in range(count)]
    local = [time.astimezone(profile.zone) for time in times]
    clock = np.array([time.hour for time in local], float)
    days = np.array([(time.date() - first).days for time in local])
    ahead = np.arange(count) - PAST_HOURS
    values = _values(clock, air[np.clip(days, 0, air.size - 1)], ahead.astype(float), weather)
    issued = now - timedelta(hours=weather.issued_h)
    origin = Origin("nws_grid", f"{label} forecast grid", "forecast", issued, now)
    fields: dict[str, HourField] = {
        name: field_of(array, origin) for name, array in values.items() if name not in weather.missing
    }
    return HourSeries(start, count, fields)


def _values(clock: Floats, air: Floats, ahead: Floats, weather: Weather) -> dict[str, Floats]:
    front = ahead - weather.front_h
    swing = 4.5 * np.cos(2 * np.pi * (clock - 15) / 24)
    breeze = weather.breeze_mps * (1 + np.clip(np.sin(np.pi * (clock - 8) / 11), 0, None))
    blow = max(0.0, weather.peak_mps - weather.breeze_mps) * np.exp(
        -(((ahead - weather.peak_h) / weather.peak_width_h) ** 2)
    )
    wind = breeze + blow + 5.0 * np.exp(-(((front - 1) / 3.0) ** 2))
    before = weather.wind_from_deg + weather.veer_deg_h * np.clip(ahead, -30, 20)
    direction = np.where(front < 0, before, 330.0 - 0.8 * np.clip(front, 0, 40))
    thunder = weather.thunder_pct * np.exp(-(((ahead - weather.storm_h) / 3.0) ** 2))
    thunder += 0.5 * weather.thunder_pct * np.exp(-((front / 2.5) ** 2))
    cloud = np.clip(
        weather.cloud_pct + 60 * np.exp(-(((ahead - weather.storm_h) / 8.0) ** 2)) * (thunder > 0.5), 0, 100
    )
    air_c = air + swing * (1 - 0.5 * cloud / 100)
    return {
        "wind_mps": np.round(wind, 1),
        "gust_mps": np.round(wind * 1.45 + np.where(wind > 5.0, 0.8, 0.0), 1),
        "wind_from_deg": np.round(direction / 10) * 10 % 360,
        "air_c": np.round(air_c, 1),
        "dewpoint_c": np.round(air_c - 3 - 2 * (1 - cloud / 100), 1),
        "humidity_pct": np.asarray(np.round(np.clip(82 - 1.5 * swing, 30, 100)), float),
        "pressure_hpa": np.round(1017 - 9 * np.exp(-((front / 14.0) ** 2)) + 3 * np.clip(front, 0, 24) / 24, 1),
        "cloud_pct": np.round(cloud),
        "precip_chance_pct": np.asarray(np.round(np.clip(1.3 * thunder, 0, 90)), float),
        "thunder_pct": np.round(thunder),
        "visibility_m": np.where((clock >= 5) & (clock <= 7), 9000.0, 16000.0),
        "cape_jkg": np.round(100 + 22 * thunder),
    }


def _feed(now: datetime, weather: Weather, hours: HourSeries, label: str) -> AlertFeed:
    if weather.alerts is None:
        return AlertFeed((), None, "nws", f"{label} warnings", problem="the warning service did not answer (503)")
    onset = now.replace(minute=0, second=0, microsecond=0) + timedelta(hours=weather.alert_from_h)
    wind = _official_wind(hours, onset)
    alerts = tuple(_alert(event, number, now, onset, wind, label) for number, event in enumerate(weather.alerts))
    return AlertFeed(alerts, now, "nws", f"{label} warnings")


def _official_wind(hours: HourSeries, onset: datetime) -> str:
    """The wind of the hours in force, as an office would write it."""
    force = hours.window(onset, onset + timedelta(hours=9))
    wind, gust = force.values("wind_mps"), force.values("gust_mps")
    if not (np.isfinite(wind).any() and np.isfinite(gust).any()):
        return "Strong winds"
    at = int(np.nanargmax(wind))
    most, gusts = (5 * math.ceil(mps_to_mph(float(np.nanmax(one))) / 5.0) for one in (wind, gust))
    turn = float(force.values("wind_from_deg")[at])
    way = f"{direction_words(turn).capitalize()} winds" if math.isfinite(turn) else "Winds"
    return f"{way} {most - 5} to {most} mph with gusts up to {gusts} mph"


def _alert(event: str, number: int, now: datetime, onset: datetime, wind: str, label: str) -> Alert:
    return Alert(
        id=f"{label}-{number}",
        event=event,
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
        headline=f"{event} ({label})",
        description=(
            f"* WHAT...{wind} expected.\n"
            "* WHERE...All area lakes.\n* IMPACTS...Rough water on area lakes. Small craft could be swamped."
        ),
        instruction="Boaters should use extra care on area lakes.",
        area="an invented county",
        issued_by=f"{label} weather office",
    )


def _words(column: str) -> str:
    if column == "wind_from_deg":
        return "wind direction"
    return "instability of the air" if column == "cape_jkg" else column.split("_")[0]
