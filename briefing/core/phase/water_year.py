"""Nest-depth temperature over a whole season: the water engine's members, carried on by the climate of the place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.climate.normals import AirNormals
from briefing.core.phase.model import PhaseSite
from briefing.core.phase.parameters import ClimateParameters, CommonParameters
from briefing.core.phase.season import Season
from briefing.core.water.series import WaterSeries
from briefing.core.water.slab import top_of_air_w_m2
from briefing.vocabulary import Zone

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

_YEAR = 366


@dataclass(frozen=True)
class NestWater:
    """Daily nest-depth temperature and what the hazards read from it; arrays (days, zones, members) unless said.

    known_until is the index of the last day that comes from the water series, degree_days (days, members) counts on
    the main bank, climate_c (days,) is the long-term nest temperature there.
    """

    daily_c: Singles
    five_day_c: Singles
    ten_day_c: Singles
    drop_c: Singles  # fall from the highest of the last four days
    degree_days: Singles
    climate_c: Floats
    known_until: int


def climate_water_c(normals: AirNormals, mean_depth_m: float, climate: ClimateParameters) -> Floats:
    """Long-term mean of surface water by day of year; shape (366,), C.

    The water follows an equilibrium (air, sun at the top of the air, damped by evaporation when hot; Edinger,
    Duttweiler and Geyer 1968, doi:10.1029/WR004i005p01137) with a lag that grows with depth. The lag is applied to the
    harmonics of the yearly curve: each is divided by ``1 + i*omega*tau``.
    """
    days = np.arange(1, _YEAR + 1, dtype=float)
    sun = top_of_air_w_m2(np.array([normals.latitude_deg]), days)[:, 0]
    goal = climate.level_c + climate.air * normals.mean_c + climate.sun_c * (sun - 300.0) / 100.0
    goal = goal - climate.evaporation * np.maximum(goal - 20.0, 0.0)
    goal = np.maximum(goal, climate.ice_goal_c)
    lag_days = climate.lag_days * mean_depth_m**climate.lag_power
    waves = np.fft.rfft(goal) / (1.0 + 2j * np.pi * np.fft.rfftfreq(_YEAR) * lag_days)
    return np.maximum(np.fft.irfft(waves, _YEAR), 0.0)


def nest_water(
    site: PhaseSite,
    season: Season,
    water: WaterSeries,
    normals: AirNormals,
    common: CommonParameters,
    climate: ClimateParameters,
    seed: int,
) -> NestWater:
    """Lay the water series into the season and carry it to both ends.

    Before its first day and after its last the climate of the place holds, with the anomaly of the series decaying over
    ``anomaly_days``; ahead, each member gets its own weather (first-order autoregression with the same decay, its
    spread a fixed share of the spread of one day's air). The weather of a day depends on ``seed`` and the day alone, so
    that tomorrow's run sees the same.
    """
    yearly = climate_water_c(normals, site.mean_depth_m or climate.usual_depth_m, climate)
    curve = yearly[season.day_of_year - 1]
    main = water.members_c[:, :, water.zone_index(Zone.MAIN)].T
    spread = common.spread_ratio * normals.day_sd_c[season.day_of_year - 1]
    noise = np.random.default_rng([seed, season.year]).standard_normal((season.days, main.shape[1]))
    first = season.index_of(water.start)
    surface = np.maximum(_extended(main, curve, spread, noise, first, common.anomaly_days), 0.0)
    gaps = _pocket_gap(water, first, season.days, common)
    zones = _at_nests(surface, gaps, common)
    return _summarise(zones, curve, season, common, first + main.shape[0] - 1)


def _extended(inside: Floats, curve: Floats, spread: Floats, noise: Floats, first: int, decay_days: float) -> Floats:
    """Members over the whole season; (days, members)."""
    days = curve.size
    begin, end = max(first, 0), min(first + inside.shape[0], days)
    keep = np.exp(-1.0 / decay_days)
    anomaly = np.empty_like(noise)
    if begin >= end:  # the series lies outside: climate and weather alone
        begin = end = 0
        current = noise[0] * spread[0]
    else:
        anomaly[begin:end] = inside[begin - first : end - first] - curve[begin:end, None]
        anomaly[:begin] = anomaly[begin] * keep ** np.arange(begin, 0, -1)[:, None]
        current = anomaly[end - 1]
    jump = np.sqrt(1.0 - keep**2)
    for day in range(end, days):
        current = keep * current + (jump * spread[day]) * noise[day]
        anomaly[day] = current
    return curve[:, None] + anomaly


def _pocket_gap(water: WaterSeries, first: int, days: int, common: CommonParameters) -> Floats | None:
    """Nest water of the pocket over the main surface, as modelled and then decaying to the usual; (days, members)."""
    if Zone.POCKET not in water.zones:
        return None
    usual = common.zone_offset_c[common.zones.index(Zone.POCKET)]
    gap = water.members_c[:, :, water.zone_index(Zone.POCKET)] - water.members_c[:, :, water.zone_index(Zone.MAIN)]
    gap = gap.T + common.pocket_gain_c
    out = np.full((days, gap.shape[1]), usual)
    begin, end = max(first, 0), min(first + gap.shape[0], days)
    if begin < end:
        out[begin:end] = gap[begin - first : end - first]
        fade = np.exp(-np.arange(1, days - end + 1) / common.anomaly_days)[:, None]
        out[end:] = usual + (out[end - 1] - usual) * fade
    return out


def _at_nests(surface: Floats, pocket_gap: Floats | None, common: CommonParameters) -> Floats:
    """From the main lake's surface to the nests of each zone; (days, zones, members).

    The shallows lead only in open, warming water: the offsets fade out below 10 C and are gone at 4 C.
    """
    share = np.clip((surface - 4.0) / 6.0, 0.0, 1.0)
    zones = []
    for zone, offset in zip(common.zones, common.zone_offset_c, strict=True):
        gap = pocket_gap if zone == Zone.POCKET and pocket_gap is not None else offset
        zones.append(surface + share * gap)
    return np.maximum(np.stack(zones, axis=1), 0.0)


def _summarise(zones: Floats, curve: Floats, season: Season, common: CommonParameters, known_until: int) -> NestWater:
    main = common.zones.index(Zone.MAIN)
    drop = np.zeros_like(zones)
    for back in range(1, 5):
        drop[back:] = np.maximum(drop[back:], zones[:-back] - zones[back:])
    warm = np.maximum(zones[:, main] - common.degree_day_base_c, 0.0)
    warm[: season.degree_days_from] = 0.0
    return NestWater(
        daily_c=zones.astype(np.float32),
        five_day_c=_smoothed(zones, 5),
        ten_day_c=_smoothed(zones, 10),
        drop_c=drop.astype(np.float32),
        degree_days=np.cumsum(warm, axis=0).astype(np.float32),
        climate_c=curve + np.clip((curve - 4.0) / 6.0, 0.0, 1.0) * common.zone_offset_c[main],
        known_until=known_until,
    )


def _smoothed(values: Floats, span: int) -> Singles:
    """Exponential mean of the given span in days (weight of the newest day ``2 / (span + 1)``)."""
    share = 2.0 / (span + 1.0)
    out = np.empty_like(values)
    out[0] = values[0]
    for day in range(1, values.shape[0]):
        out[day] = out[day - 1] + share * (values[day] - out[day - 1])
    return out.astype(np.float32)
