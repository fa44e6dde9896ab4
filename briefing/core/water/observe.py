"""What a reading says about the day's mean temperature: refusals, corrections and noise, each with a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

import numpy as np

from briefing.core.readings import WaterReading
from briefing.core.water.kalman import OPEN_WATER_C
from briefing.core.water.parameters import ReadingParameters
from briefing.core.water.site import WaterSite
from briefing.units import Units, f_to_c, show_size, show_temperature
from briefing.vocabulary import Zone

LIKELY_C = (-0.5, 40.0)
#: Water that is not the lake's, or may not be: used only where the profile says that it tells the lake's temperature.
FLOWING_KINDS = ("tailwater", "river_gauge", "unplaced_gauge")
#: A mark "the ice is off", not a measurement: open water just above what says so, give or take a degree.
ICE_OFF_KIND = "ice_off"
_ICE_OFF_C, _ICE_OFF_SD_C = OPEN_WATER_C + 0.1, 1.0
_BEST_HOURS = (8.0, 11.5)
_SMALL_LAKE_KM2 = 0.5


@dataclass(frozen=True, slots=True)
class Observation:
    """A reading brought to the daily mean of its zone: value and variance (C, C2)."""

    reading: WaterReading
    day: date
    value_c: float
    var_c2: float
    remark: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """A reading that is not used, and the sentence that says why."""

    reading: WaterReading
    why: str


def daily_range_c(site: WaterSite, reading: WaterReading, parameters: ReadingParameters) -> float:
    """Expected daily range at the reading's depth in C (after Woolway et al. 2016, doi:10.1371/journal.pone.0152466).

    Large lakes: ``range_c`` at half a metre. Below half a square kilometre the range at the very surface grows towards
    ``range_surface_c``; it falls off with depth in both.
    """
    depth = reading.depth_m
    if depth is None:
        depth = 0.1 if reading.kind == "surface" else 0.5
    small = float(np.clip(np.log(_SMALL_LAKE_KM2 / site.size_km2) / np.log(50.0), 0.0, 1.0))
    top = parameters.range_c * np.exp(0.5 / parameters.range_depth_m)
    top = (1 - small) * top + small * parameters.range_surface_c
    return float(top * np.exp(-max(depth, 0.0) / parameters.range_depth_m))


def sort_readings(
    site: WaterSite,
    readings: Sequence[WaterReading],
    parameters: ReadingParameters,
    *,
    now: datetime,
    timezone: tzinfo,
    units: Units,
) -> tuple[list[Observation], list[Refusal]]:
    """Correct what can be used, refuse the rest; both in order of time."""
    used: list[Observation] = []
    refused: list[Refusal] = []
    seen: set[tuple[object, ...]] = set()
    for reading in sorted(readings, key=lambda item: (item.time, item.id)):
        key = (reading.time, reading.temperature_c, reading.zone, reading.source, reading.name)
        why = _why_not(site, reading, now, units)
        if not why and key in seen:
            why = "Not used: the same reading was entered before."
        seen.add(key)
        if why:
            refused.append(Refusal(reading, why))
        else:
            used.append(_observe(site, reading, parameters, timezone, units))
    return used, refused


def _why_not(site: WaterSite, reading: WaterReading, now: datetime, units: Units) -> str:
    value = reading.temperature_c
    if not np.isfinite(value):
        return "Not used: it holds no number."
    if not LIKELY_C[0] <= value <= LIKELY_C[1]:
        text = f"Not used: {show_temperature(value, units)} is out of all likelihood for a lake"
        meant = f_to_c(value)
        if LIKELY_C[0] <= meant <= LIKELY_C[1]:
            return f"{text}; was {value:.0f} F meant ({meant:.1f} C)? Enter it again with its unit."
        return f"{text}; check the number and its unit."
    if reading.time > now:
        return "Not used: its time lies in the future; check its date and hour."
    if reading.kind in FLOWING_KINDS and not site.river_gauges:
        where = "may not stand in" if reading.kind == "unplaced_gauge" else "measures flowing water, not"
        return (
            f"Not used: {reading.name} {where} this lake ({show_temperature(value, units, both=False)}); set "
            "allow_river_gauge in the profile if it tells the lake's temperature."
        )
    return ""


def _observe(
    site: WaterSite, reading: WaterReading, parameters: ReadingParameters, timezone: tzinfo, units: Units
) -> Observation:
    local = reading.time.astimezone(timezone)
    if reading.kind == ICE_OFF_KIND:
        remark = "Taken as open water, give or take a degree."
        return Observation(reading, local.date(), _ICE_OFF_C, _ICE_OFF_SD_C**2, remark)
    sd = parameters.sd_c.get(reading.kind, parameters.sd_c["typed"])
    value, remark = reading.temperature_c, ""
    if reading.hour_known:
        hour = local.hour + local.minute / 60
        share = float(np.interp(hour, parameters.hours, parameters.shape))
        shift = share * daily_range_c(site, reading, parameters)
        value -= shift
        if not _BEST_HOURS[0] <= hour <= _BEST_HOURS[1] and reading.source == "user":
            sd = float(np.hypot(parameters.afternoon_sd_c, 0.3 * shift)) if hour > _BEST_HOURS[1] else sd
        if abs(shift) >= 0.15:
            side = "warmer" if shift > 0 else "colder"
            by = show_size(shift, units)
            remark = f"At {local:%H:%M} that water is usually {by} {side} than the day's mean."
    elif reading.source == "user":
        sd = parameters.unknown_hour_sd_c
        remark = "Its hour is not known, so it counts less."
    if reading.kind in FLOWING_KINDS:
        remark = f"Of a gauge in flowing water, so it counts less. {remark}".strip()
    variance = sd**2 + (parameters.sd_c_per_km * (reading.distance_km or 0.0)) ** 2
    if reading.depth_m is not None and reading.depth_m > 1.5:
        # Below the top metre and a half a sensor may hang in colder water; how much is not known.
        variance += (0.4 * (reading.depth_m - 1.5)) ** 2
    return Observation(reading, local.date(), value, variance, remark)


def by_day(observations: Sequence[Observation]) -> dict[date, list[list[Observation]]]:
    """Group by day, then by who measured in which zone: one thermometer is one witness a day."""
    days: dict[date, dict[tuple[str, str, Zone], list[Observation]]] = {}
    for item in observations:
        who = (item.reading.source, item.reading.name, item.reading.zone)
        days.setdefault(item.day, {}).setdefault(who, []).append(item)
    return {day: list(groups.values()) for day, groups in days.items()}


def joined(group: Sequence[Observation]) -> tuple[float, float]:
    """Value and variance of one witness's readings of a day: half of its error stays however often it looks."""
    values = np.array([item.value_c for item in group])
    variance = float(np.mean([item.var_c2 for item in group]))
    return float(values.mean()), variance * (0.5 + 0.5 / len(group))
