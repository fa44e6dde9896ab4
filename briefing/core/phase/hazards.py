"""Daily hazards of moving from stage to stage, from temperature, day length, degree-days, cold spells and level.

Two layers: what depends on the weather alone (``Drive``, by ensemble member) and what also depends on a particle
(``HazardBlock``, computed for a few days at a time so that the arrays stay in the processor's cache).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.parameters import CommonParameters, FormParameters
from briefing.core.phase.particles import Particles
from briefing.core.phase.season import HALF_YEAR, Season
from briefing.core.phase.water_year import NestWater

Singles = NDArray[np.float32]

_STAGING_WIDTH_C = 1.5
_STAGING_WIDTH_DAYS = 4.0
_STAGING_PER_DAY = 0.15
_LAY_DAY_WIDTH_H = 0.25
_CEILING_WIDTH_C = 1.5
_SUMMER_WIDTH_C = 1.5
_TO_SUMMER_PER_DAY = 1.0 / 21.0
_TO_SUMMER_COOL = 0.35  # share of that hazard that is left in cool water
_TO_WINTER_PER_DAY = 0.15
_GIVE_UP_FROM_DAY = 60.0  # no fish gives up before about 20 February (20 August in the south)


def logistic(x: Singles | NDArray[np.float64]) -> Singles:
    """``1 / (1 + exp(-x))`` in single precision, without overflow."""
    return np.asarray(1.0 / (1.0 + np.exp(np.minimum(np.maximum(np.negative(x), -60.0), 60.0))), dtype=np.float32)


@dataclass(frozen=True)
class Drive:
    """What the weather alone decides; arrays (days, zones, members), or (days,) for the last four.

    brake is the factor of cold spells and level on laying; loss, to_summer, to_autumn, to_winter are daily hazards.
    level (days,) is the part of the brake that the level holds.
    """

    water: NestWater
    brake: Singles
    loss: Singles
    to_summer: Singles
    to_autumn: Singles
    to_winter: Singles
    level: NDArray[np.float64]
    late: NDArray[np.float64]  # 1 while laying may go on, 0 late in the year
    staging_open: NDArray[np.float64]
    tropical: bool


def drive_for(
    water: NestWater,
    season: Season,
    form: FormParameters,
    common: CommonParameters,
    level_changes: Mapping[date, float],
    storm_days: Collection[date],
    tropical: bool,
) -> Drive:
    """Compute the hazards that do not depend on a particle."""
    since = season.since_solstice
    level = _level_factor(season, form, common, level_changes, tropical)
    brake = np.exp(-common.drop_rate * np.maximum(water.drop_c - common.drop_free_c, 0.0)) * level[:, None, None]
    cold = np.clip((common.cold_loss_c + 0.4 - water.daily_c) / 0.8, 0.0, 1.0)
    fall = np.clip((water.drop_c - common.cold_loss_drop_c + 0.4) / 0.8, 0.0, 1.0)
    storm = np.zeros(season.days)
    for day in storm_days:
        if 0 <= season.index_of(day) < season.days:
            storm[season.index_of(day)] = common.storm_loss_per_day
    loss = common.loss_per_day + common.cold_loss_per_day * np.maximum(cold, fall) + storm[:, None, None]
    warm = logistic((water.five_day_c - form.summer_c) / _SUMMER_WIDTH_C)
    shortening = (since > HALF_YEAR + 30) | (since < 0)
    short = logistic((common.autumn_day_h - season.day_length_h) / 0.15) * shortening
    cooling = (
        logistic((form.summer_c - water.five_day_c) / 1.0) * ((since > HALF_YEAR + 60) | (since < 0))[:, None, None]
    )
    return Drive(
        water=water,
        brake=brake.astype(np.float32),
        loss=loss.astype(np.float32),
        to_summer=(_TO_SUMMER_PER_DAY * (_TO_SUMMER_COOL + (1.0 - _TO_SUMMER_COOL) * warm)).astype(np.float32),
        to_autumn=(common.autumn_per_day * np.maximum(short[:, None, None], cooling)).astype(np.float32),
        to_winter=_TO_WINTER_PER_DAY * logistic((common.winter_c - water.ten_day_c) / _STAGING_WIDTH_C),
        level=level,
        late=logistic((HALF_YEAR + common.late_day - since) / common.late_width_days).astype(float),
        staging_open=logistic((since - form.staging_from_day) / _STAGING_WIDTH_DAYS).astype(float),
        tropical=tropical,
    )


def _level_factor(
    season: Season, form: FormParameters, common: CommonParameters, changes: Mapping[date, float], tropical: bool
) -> NDArray[np.float64]:
    factor = np.ones(season.days)
    for day, change_m in changes.items():
        index = season.index_of(day)
        if not 0 <= index < season.days:
            continue
        if tropical:  # there rising water starts spawning and falling water ends it
            factor[index] = np.exp(np.clip(change_m / common.tropics_rise_m, -1.2, 0.7))
        elif abs(change_m) > common.level_move_m:
            factor[index] = form.level_factor
    return factor


@dataclass(frozen=True)
class HazardBlock:
    """Hazards of a few days; arrays (days, zones, particles).

    An egg-laying hazard is ``gate / (1 + cold * exp(cohort offset / spread))``: one exponential serves all cohorts.
    dev is the development in C-days of a day, early the part of pre-spawn that is early, ease the answer of a middle
    fish to cold alone (for the chance of a pause).
    """

    stage: Singles
    gate: Singles
    cold: Singles
    dev: Singles
    loss: Singles
    give_up: Singles
    to_summer: Singles
    to_autumn: Singles
    to_winter: Singles
    early: Singles
    ease: Singles


def hazard_block(
    drive: Drive,
    season: Season,
    form: FormParameters,
    common: CommonParameters,
    particles: Particles,
    members: NDArray[np.intp],
    days: slice,
) -> HazardBlock:
    """Compute the hazards of ``days`` for every particle; ``members`` names the ensemble member of each."""
    water = drive.water

    def each(values: Singles) -> Singles:
        return np.take(values[days], members, axis=2)

    day_h = season.day_length_h[days, None].astype(np.float32)
    five = each(water.five_day_c) + particles.zone_shift_c
    brake = each(drive.brake)
    below = particles.centre_c - five
    cold = np.exp(np.minimum(below / np.float32(form.spread_c), np.float32(60.0)))
    ease = brake / (1.0 + cold)
    under_ceiling = logistic((particles.ceiling_c - five) / np.float32(_CEILING_WIDTH_C))
    if drive.tropical:
        cold = np.zeros_like(cold)
        under_ceiling = np.ones_like(cold)
    season_gate = particles.lay_per_day * drive.late[days, None].astype(np.float32)
    season_gate = season_gate * _day_gate(season, form, common, particles, days, drive.tropical)
    if form.degree_days[0] > 0.0 and not drive.tropical:
        counted = np.take(water.degree_days[days], members, axis=1)
        season_gate = season_gate * logistic((counted - particles.degree_days) / (0.25 * particles.degree_days + 1.0))
    ten = each(water.ten_day_c) + particles.zone_shift_c
    staging = logistic((ten - particles.staging_c) / _STAGING_WIDTH_C)
    staging_gate = logistic((day_h - particles.staging_day_h) / 0.3) * drive.staging_open[days, None]
    if form.tail_share > 0.0:  # fish of long mild winters stage on the calendar, however short the day
        staging_gate = np.broadcast_to(drive.staging_open[days, None], staging_gate.shape)
    spring = (season.since_solstice[days] > _GIVE_UP_FROM_DAY)[:, None, None]
    over = np.maximum(1.0 - under_ceiling, (1.0 - drive.late[days])[:, None, None])
    # Ten days of water, not five: the split into early and late is a name, and must not flap with the weather.
    early = logistic((particles.centre_c - ten - common.early_gap_c) / np.float32(common.early_width_c))
    return HazardBlock(
        stage=(np.float32(_STAGING_PER_DAY) * staging * staging_gate[:, None, :]).astype(np.float32),
        gate=(season_gate[:, None, :] * under_ceiling * brake).astype(np.float32),
        cold=cold,
        dev=np.maximum(each(water.daily_c) + particles.zone_shift_c - np.float32(common.base_c), 0.0),
        loss=each(drive.loss),
        give_up=(common.give_up_per_day * over * spring).astype(np.float32),
        to_summer=each(drive.to_summer),
        to_autumn=each(drive.to_autumn),
        to_winter=each(drive.to_winter),
        early=early,
        ease=ease.astype(np.float32),
    )


def _day_gate(
    season: Season,
    form: FormParameters,
    common: CommonParameters,
    particles: Particles,
    days: slice,
    tropical: bool,
) -> Singles:
    """Day length's hold on laying; (days, particles)."""
    day_h = season.day_length_h[days, None].astype(np.float32)
    opened = season.since_solstice[days, None]
    if tropical:
        shift = particles.lay_day_h - np.float32(form.lay_day_h[0])
        gate = logistic((day_h - np.float32(common.tropics_day_h) - shift) / np.float32(_LAY_DAY_WIDTH_H))
        return np.asarray(gate * logistic(opened / 3.0), dtype=np.float32)
    gate = logistic((day_h - particles.lay_day_h) / np.float32(_LAY_DAY_WIDTH_H)) * logistic((opened - 20.0) / 3.0)
    if form.tail_share > 0.0:
        tail = logistic((day_h - np.float32(form.tail_day_h)) / np.float32(_LAY_DAY_WIDTH_H))
        tail = tail * logistic((opened - form.tail_from_day) / 3.0)
        gate = (1.0 - form.tail_share) * gate + form.tail_share * tail
    return np.asarray(gate, dtype=np.float32)
