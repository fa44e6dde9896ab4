"""Runs the water engine's filter over measured lakes with made-up readings, and forecasts from every day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.batch import WeekMean, filter_days
from briefing.core.water.kalman import AIR, Belief, Noise, advance, look, noise_for, prior
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.slab import Columns, Floats, columns_for, forcing_for
from briefing.core.water.weather import DAY_MEMORY, lead_error_c, shrink
from briefing.evaluate.water_lakes import Batch

READING_SD_C = 0.5
LEADS = (1, 3, 7)
_BLOCK_DAYS = 120
_SPIN_UP_DAYS = 30


@dataclass(frozen=True)
class Estimates:
    """Daily means and their variances by (days, columns).

    ``now`` is before the day's own reading; ``week_c`` is the mean of a day and the six before it as the engine sees
    them on that day, its readings used; the keys of ``ahead`` are (lead in days, weather).
    Column c belongs to lake ``lake_index[c]``.
    """

    lake_index: NDArray[np.intp]
    now: tuple[Floats, Floats]
    week_c: Floats
    ahead: dict[tuple[int, str], tuple[Floats, Floats]]


def weekly_readings(batch: Batch, seeds: int, every_days: int = 7, sd_c: float = READING_SD_C) -> Floats:
    """Truth plus noise on a random measured day of each week; (days, lakes * seeds), NaN elsewhere.

    Every lake and seed has a generator of its own, so that a lake's readings don't depend on its neighbours.
    """
    days, lakes = batch.water_c.shape
    out = np.full((days, lakes * seeds), np.nan)
    for place, lake in enumerate(batch.lakes):
        name, size = [ord(letter) for letter in lake.name], lake.water_c.size
        for seed in range(seeds):
            generator = np.random.default_rng([seed, every_days, *name])
            noise = sd_c * generator.standard_normal((size,))
            offset, choice = int(generator.integers(every_days)), generator.random(size)
            week = (np.arange(size) + offset) // every_days
            key = np.where(np.isnan(lake.water_c), 2.0, choice)
            order = np.lexsort((key, week))
            chosen = order[np.flatnonzero(np.diff(week[order], prepend=-1))]
            chosen = chosen[~np.isnan(lake.water_c[chosen])]
            out[chosen, place * seeds + seed] = lake.water_c[chosen] + noise[chosen]
    return out


def estimate(
    batch: Batch,
    parameters: WaterParameters,
    readings_c: Floats,
    *,
    reading_sd_c: float = READING_SD_C,
    weathers: tuple[str, ...] = ("perfect",),
    leads: tuple[int, ...] = LEADS,
) -> Estimates:
    """Filter all columns and forecast from each day; readings_c is (days, lakes * seeds)."""
    days, count = readings_c.shape
    index = np.repeat(np.arange(len(batch.lakes)), count // len(batch.lakes))
    sites = [batch.lakes[lake].site for lake in index]
    columns = columns_for(sites, batch.coldest_air_c[index], parameters.slab)
    noise = noise_for(sites, columns, parameters.filter)
    wide = widened(batch, index)
    forcing = forcing_for(wide.air_c, wide.depression_c, wide.sun_w_m2, parameters.slab)
    belief = _first_belief(prior(wide.air_c[:_SPIN_UP_DAYS].mean(axis=0), noise), wide.air_sd_c[0])
    now = (np.full((days, count), np.nan), np.full((days, count), np.nan))
    week, lately = np.full((days, count), np.nan), WeekMean()
    ahead = {(lead, weather): (now[0].copy(), now[1].copy()) for weather in weathers for lead in leads}
    block: list[Belief] = []
    passing = filter_days(
        belief, forcing, wide.season, wide.air_sd_c, readings_c, np.full(count, reading_sd_c**2), columns, noise
    )
    for day, passed in enumerate(passing):
        now[0][day], now[1][day] = passed.before.mean_c, passed.before.var_c2
        week[day] = lately.take(passed, readings_c[day], noise)
        if leads:
            block.append(passed.following)
        if block and (len(block) == _BLOCK_DAYS or day == days - 1):
            ahead_of = _Ahead(wide, parameters, columns, noise, day - len(block) + 1)
            for weather in weathers:
                ahead_of.run(block, weather, leads, ahead)
            block = []
    return Estimates(index, now, week, ahead)


def widened(batch: Batch, index: NDArray[np.intp]) -> Batch:
    """Return the batch with a column for each entry of ``index``; its lakes stay as they are."""
    names = ("water_c", "air_c", "air_sd_c", "depression_c", "normal_c", "day_sd_c", "sun_w_m2", "day_of_year")
    arrays: dict[str, Any] = {name: np.ascontiguousarray(getattr(batch, name)[:, index]) for name in names}
    return replace(batch, **arrays)


def _first_belief(belief: Belief, air_sd_c: Floats) -> Belief:
    covariance = belief.covariance.copy()
    covariance[AIR] = covariance[:, AIR] = 0.0
    covariance[AIR, AIR] = air_sd_c**2
    return replace(belief, covariance=covariance, air_sd_c=air_sd_c)


@dataclass(frozen=True)
class _Ahead:
    """Forecasts from the days of a block, all at once; ``first`` is the day before the block's first forecast day."""

    wide: Batch
    parameters: WaterParameters
    columns: Columns
    noise: Noise
    first: int

    def run(
        self,
        block: list[Belief],
        weather: str,
        leads: tuple[int, ...],
        out: dict[tuple[int, str], tuple[Floats, Floats]],
    ) -> None:
        days, count = self.wide.air_c.shape
        tiled = np.tile(np.arange(count), len(block))
        from_day = np.repeat(np.arange(self.first, self.first + len(block)), count)
        columns, noise = self.columns.take(tiled), self.noise.take(tiled)
        belief = Belief(
            np.concatenate([item.mean for item in block], axis=1),
            np.concatenate([item.covariance for item in block], axis=2),
            np.concatenate([item.ice_m for item in block]),
            np.concatenate([item.air_sd_c for item in block]),
            np.concatenate([item.ln_scale for item in block]),
        )
        airs, spreads = self._air(from_day, tiled, weather, max(leads))
        belief = _first_belief(belief, spreads[0]) if weather != "perfect" else belief
        for number in range(max(leads)):
            at = (np.minimum(from_day + 1 + number, days - 1), tiled)
            air, sun = airs[number], self.wide.sun_w_m2[at]
            forcing = forcing_for(air, self.wide.depression_c[at], sun, self.parameters.slab)
            season = (self.wide.season[0][at], self.wide.season[1][at])
            day = look(belief, forcing.radiation_w_m2, forcing.exchange_hpa, season, columns)
            if number + 1 in leads:
                inside = from_day + 1 + number < days
                target = (from_day[inside] + 1 + number, tiled[inside])
                mean, variance = out[number + 1, weather]
                mean[target], variance[target] = day.mean_c[inside], day.var_c2[inside]
            belief = advance(belief, day, air, sun, spreads[number + 1], columns, noise)

    def _air(
        self, from_day: NDArray[np.intp], tiled: NDArray[np.intp], weather: str, longest: int
    ) -> tuple[list[Floats], list[Floats]]:
        """Air and its spread by lead: as measured, or with a made-up forecast error drawn towards the normal."""
        days = self.wide.air_c.shape[0]
        generator = np.random.default_rng([self.first, tiled.size])
        error = generator.standard_normal(tiled.size)
        airs, spreads = [], []
        for lead in range(1, longest + 2):
            at = (np.minimum(from_day + lead, days - 1), tiled)
            air = self.wide.air_c[at]
            if weather == "perfect":
                airs.append(air)
                spreads.append(self.wide.air_sd_c[at])
                continue
            if lead > 1:
                fresh = generator.standard_normal(tiled.size)
                error = DAY_MEMORY * error + np.sqrt(1 - DAY_MEMORY**2) * fresh
            size = float(lead_error_c(np.array([lead]))[0])
            air, spread = shrink(
                air + size * error, self.wide.normal_c[at], self.wide.day_sd_c[at], np.full(air.shape, size)
            )
            airs.append(air)
            spreads.append(np.maximum(spread, self.wide.air_sd_c[at]))
        return airs, spreads
