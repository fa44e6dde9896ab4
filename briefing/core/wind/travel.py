"""The way back against the wind."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.core.wind.inputs import HeadwindLeg
from briefing.core.wind.limits import Limits
from briefing.core.wind.rules import TravelRules
from briefing.vocabulary import Craft

Floats = NDArray[np.float64]
PADDLED = (Craft.KAYAK, Craft.CANOE)


def calm_speed_mps(craft: Craft, calm_mps: float | None, rules: TravelRules) -> float:
    """Return the user's speed in still water, else the craft's default."""
    return calm_mps if calm_mps is not None and calm_mps > 0.0 else rules.calm_mps[craft.value]


def head_wind_mps(wind_mps: ArrayLike, wind_from_deg: ArrayLike, bearing_deg: float | None) -> Floats:
    """Return the part of the wind against a course, never below zero: a tail wind is not credited.

    Without a bearing, or where the direction is NaN, the whole wind counts.
    """
    wind, way = np.asarray(wind_mps, float), np.asarray(wind_from_deg, float)
    if bearing_deg is None:
        return wind
    part = wind * np.cos(np.radians(way - bearing_deg))
    return np.where(np.isnan(way), wind, np.maximum(part, 0.0))


def speed_made_good_mps(
    craft: Craft, calm_mps: float, head_mps: ArrayLike, hs_m: ArrayLike, limits: Limits, rules: TravelRules
) -> Floats:
    """Return the speed back in m/s; 0 where the craft may not make headway. Inputs broadcast.

    Paddled: v = v0 - 0.1 W_head, a line on the cautious side of published paddling speeds (Burch); below 0.3 v0 it
    may not make headway. Under power: calm speed, half of it from the caution limit for waves, 5 mph from the stop.
    """
    if craft in PADDLED:
        speed = calm_mps - rules.head_wind_share * np.asarray(head_mps, float)
        return np.where(speed < rules.least_share * calm_mps, 0.0, speed)
    height = np.asarray(hs_m, float) + 0.0 * np.asarray(head_mps, float)
    slow = np.where(height >= limits.waves_caution_m, calm_mps * rules.power_caution_share, calm_mps)
    return np.where(height >= limits.waves_stop_m, np.minimum(slow, rules.power_stop_mps), slow)


def headway_lost(
    craft: Craft,
    calm_mps: float | None,
    legs: Sequence[HeadwindLeg],
    wind_mps: Floats,
    wind_from_deg: Floats,
    rules: TravelRules,
) -> tuple[NDArray[np.bool_], float] | None:
    """Return hours in which a paddled craft may not make headway on any way back, and the head wind from which.

    None for craft under power. Without legs the whole wind counts.
    """
    if craft not in PADDLED:
        return None
    calm = calm_speed_mps(craft, calm_mps, rules)
    limit = (1.0 - rules.least_share) * calm / rules.head_wind_share
    bearings = [leg.bearing_deg for leg in legs] or [None]
    heads = np.stack([head_wind_mps(wind_mps, wind_from_deg, bearing) for bearing in bearings])
    with np.errstate(invalid="ignore"):
        return np.asarray((heads > limit).any(axis=0), bool), limit
