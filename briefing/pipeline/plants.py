"""Moves the plants of the spots by what was read of them, with growth by water temperature since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from briefing.core.advice.plants import PlantsNow, plants_on, reading_for
from briefing.core.water.series import WaterSeries
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.profile.model import Spot as ProfileSpot
from briefing.vocabulary import Zone


def moved_plants(
    spots: Sequence[ProfileSpot], inputs: MorningInputs, water: WaterSeries, knowledge: Knowledge
) -> dict[str, PlantsNow]:
    """Plants of the spots as they stand today, by spot id, where a reading speaks of them."""
    zone, p = inputs.profile.zone, knowledge.plants
    out = {}
    for spot in spots:
        reading = reading_for(spot.name, inputs.entered.plants, inputs.now, p)
        if reading is None:
            continue
        seen_on = reading.time.astimezone(zone).date()
        days = max((inputs.day - seen_on).days, 0)
        temperatures = _last_days_c(water, spot.zone, days)
        found = plants_on(inputs.day, reading, seen_on, spot.cover, spot.cover_top_m, spot.depth_m[1], temperatures, p)
        if found is not None:
            out[spot.id] = found
    return out


def with_plants(spots: Sequence[ProfileSpot], plants: Mapping[str, PlantsNow]) -> tuple[ProfileSpot, ...]:
    """The spots with cover and tops as they stand today."""
    return tuple(
        spot.model_copy(update={"cover": dict(plants[spot.id].cover), "cover_top_m": plants[spot.id].top_m})
        if spot.id in plants
        else spot
        for spot in spots
    )


def _last_days_c(water: WaterSeries, zone: Zone, days: int) -> np.ndarray:
    """Daily means of the days up to today; days before the series begins take its first one."""
    mean = water.mean_c(zone if zone in water.zones else Zone.MAIN)
    at = np.clip(np.arange(water.today_index - days + 1, water.today_index + 1), 0, len(mean) - 1)
    return np.asarray(mean[at], float)
