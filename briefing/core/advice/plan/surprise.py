"""Plan B: which surprise is likeliest, how to see it coming, and where to go then."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np

from briefing.core.advice.conditions import FrontStage
from briefing.core.advice.plan.blocks import turn_deg
from briefing.core.advice.plan.types import Floats, PlanB, PlanHour, PlanInputs, PlanParameters, SurpriseKind
from briefing.units import direction_words

_SEARCH = " with a search lure"
_TEXTS: dict[SurpriseKind, tuple[str, str]] = {
    SurpriseKind.WIND_UP: (
        "Whitecaps or a steady push on the craft earlier than forecast",
        "leave the plan and start back while it is easy. If you make no way, land on the nearest bank you can",
    ),
    SurpriseKind.WIND_SHIFT: (
        "The ripple comes from the {direction} before its time",
        "stay near the ramp, in the new lee, and plan the way home anew",
    ),
    SurpriseKind.SUN_OUT: (
        "Hard shadows under the docks where cloud was forecast",
        "leave the open edges for shade, roofs and deeper targets, with smaller and darker lures",
    ),
    SurpriseKind.CLOUD_IN: (
        "The light goes flat and shade lines vanish",
        f"come back to the open edges{_SEARCH}, higher in the water and louder",
    ),
    SurpriseKind.FRONT: (
        "Thunder, a dark line in the sky, or the wind swinging to the {behind_front}",
        "stop fishing. Go ashore now, at the nearest bank where you can land",
    ),
}
#: The same surprise over cold water, where sun is good news.
_COLD_TEXTS: dict[SurpriseKind, tuple[str, str]] = {
    SurpriseKind.SUN_OUT: (
        "Sun on the water where cloud was forecast",
        "fish the banks and posts that it warms, rock first: fish may come up",
    ),
    SurpriseKind.CLOUD_IN: (
        "The light goes flat where sun was forecast",
        "stay with the deep places and slow down: nothing warms now",
    ),
}


def likelihoods(inputs: PlanInputs, p: PlanParameters) -> dict[SurpriseKind, float]:
    """Rough weight, 0-1, of each surprise in the window: from rises and shifts soon after it, cloud, and the front.

    A forecast of half cloud is the least sure of cloud (``4 c (1 - c)``); a rise or shift due within the look-ahead may
    come early. Judgement, only used to pick one of them.
    """
    hours = _hours(inputs, p)
    if not hours:
        return {}
    wind = np.array([hour.wind_mps for hour in hours])
    cloud = np.array([hour.cloud_fraction for hour in hours])
    rules = p.surprise
    rise = float(np.nanmax(wind) - wind[0]) if np.isfinite(wind).any() and math.isfinite(wind[0]) else 0.0
    turns = [turn_deg(hours[0].wind_from_deg, hour.wind_from_deg) for hour in hours if hour.wind_mps >= 2.0]
    turn = max((value for value in turns if math.isfinite(value)), default=0.0)
    sky = float(np.nanmean(cloud)) if np.isfinite(cloud).any() else 0.0
    doubt = 0.7 * 4 * sky * (1 - sky)
    return {
        SurpriseKind.FRONT: _front_weight(inputs.front, p),
        SurpriseKind.WIND_SHIFT: min(turn / rules.shift_deg, 1.0) * 0.85,
        SurpriseKind.WIND_UP: min(max(rise, 0.0) / rules.wind_rise_mps, 1.0) * 0.8,
        SurpriseKind.SUN_OUT: doubt if sky >= 0.5 else 0.0,
        SurpriseKind.CLOUD_IN: doubt if sky < 0.5 else 0.0,
    }


def likeliest_surprise(inputs: PlanInputs, p: PlanParameters) -> SurpriseKind | None:
    """The surprise to plan for; None without a window or when none is likely enough."""
    weights = likelihoods(inputs, p)
    kind = max(weights, key=lambda key: weights[key], default=None)
    return None if kind is None or weights[kind] < p.surprise.least else kind


def _front_weight(stage: FrontStage, p: PlanParameters) -> float:
    rules = p.surprise
    table = {
        FrontStage.APPROACHING: rules.front_approaching,
        FrontStage.PASSAGE: rules.front_passage,
        FrontStage.DAY1: rules.front_day1,
    }
    return table.get(stage, rules.front_other)


def _hours(inputs: PlanInputs, p: PlanParameters) -> list[PlanHour]:
    launch, off = inputs.launch_from, inputs.off_water_by
    if launch is None or off is None:
        return []
    end = off + timedelta(hours=p.surprise.look_ahead_h)
    return [hour for hour in inputs.hours if hour.start + timedelta(hours=1) > launch and hour.start < end]


def plan_b(inputs: PlanInputs, p: PlanParameters, allowed: list[int], open_blocks: tuple[int, ...]) -> PlanB | None:
    """Plan B for the likeliest surprise; None without a window or when nothing is likely enough to plan for."""
    kind = likeliest_surprise(inputs, p)
    if kind is None or not open_blocks or not allowed:
        return None
    worth = _worth_then(inputs, p, kind, allowed, open_blocks)
    calm = {i for i in allowed if not _beyond_limits(inputs, i)} & _fitting(inputs, p, kind, allowed)
    order = [i for _, i in sorted((-worth[n], i) for n, i in enumerate(allowed) if worth[n] > 0 and i in calm)][:3]
    sign, do = (_COLD_TEXTS if inputs.cold_water and kind in _COLD_TEXTS else _TEXTS)[kind]
    direction = direction_words(_later_direction(inputs, p))
    behind = "south-west" if inputs.south else "north-west"
    return PlanB(
        kind=kind,
        sign=f"{sign.format(direction=direction, behind_front=behind)}.",
        do=f"{do[0].upper()}{do[1:]}.",
        spot_ids=tuple(inputs.spots[i].id for i in order),
        spots=tuple(inputs.spots[i].name for i in order),
    )


def as_rigged(found: PlanB | None, *, search: bool) -> PlanB | None:
    """Plan B in words that speak of no search lure where none is on a rod."""
    if found is None or search:
        return found
    return replace(found, do=found.do.replace(_SEARCH, ""))


def _fitting(inputs: PlanInputs, p: PlanParameters, kind: SurpriseKind, allowed: list[int]) -> set[int]:
    """Spots that the sentence of the surprise speaks of: in the lee, shaded or deep, or an open edge; none for a front.

    In more wind only what lies close to the ramp counts, and never a place from which it is too late to start back. A
    spot whose open water up-wind isn't known is not called sheltered.
    """
    spots = {i: inputs.spots[i] for i in allowed if not inputs.too_far(i)}
    if kind is SurpriseKind.FRONT:
        return set()
    if inputs.cold_water and kind is SurpriseKind.SUN_OUT:
        return {i for i, spot in spots.items() if not spot.shaded}
    if inputs.cold_water and kind is SurpriseKind.CLOUD_IN:
        return {i for i, spot in spots.items() if spot.deepest_m >= p.surprise.deep_m}
    if kind is SurpriseKind.SUN_OUT:
        return {i for i, spot in spots.items() if spot.shaded or spot.deepest_m >= p.surprise.deep_m}
    if kind is SurpriseKind.CLOUD_IN:
        return {i for i, spot in spots.items() if not spot.shaded and spot.shallowest_m < p.surprise.deep_m}
    eighth = round(_later_direction(inputs, p) / 45.0) % 8
    near = 60.0 * p.surprise.near_home_min * inputs.speed_mps
    return {
        i
        for i, spot in spots.items()
        if spot.fetch_m
        and spot.fetch_m[eighth] <= p.surprise.sheltered_fetch_m
        and float(inputs.distance_m[0, i + 1]) <= near
    }


def _beyond_limits(inputs: PlanInputs, spot: int) -> bool:
    """True when the spot is beyond the limits in any hour of the window: no place to flee to."""
    launch, off = inputs.launch_from, inputs.off_water_by
    if launch is None or off is None:
        return True
    inside = [i for i, h in enumerate(inputs.hours) if h.start < off and h.start + timedelta(hours=1) > launch]
    return bool(inputs.exceeds[spot, inside].any())


def _worth_then(
    inputs: PlanInputs, p: PlanParameters, kind: SurpriseKind, allowed: list[int], open_blocks: tuple[int, ...]
) -> Floats:
    """Worth of each allowed spot under the surprise: the caller's values, less for a long way and an open shore."""
    values = inputs.values_if.get(kind, inputs.values)
    worth = np.nan_to_num(values[np.ix_(allowed, list(open_blocks))], nan=0.0).mean(axis=1)
    if kind in (SurpriseKind.SUN_OUT, SurpriseKind.CLOUD_IN):
        return np.asarray(worth, float)
    way = inputs.distance_m[0, 1:][allowed]
    near = 1.0 / (1.0 + way / max(float(np.median(way)), 1.0))
    return np.asarray(worth * near * _shelter(inputs, p, allowed), float)


def _shelter(inputs: PlanInputs, p: PlanParameters, allowed: list[int]) -> Floats:
    """1 in the lee of the later wind, falling with the open water up-wind; 0.6 where the fetch isn't known."""
    eighth = round(_later_direction(inputs, p) / 45.0) % 8
    fetch = np.array([inputs.spots[i].fetch_m[eighth] if inputs.spots[i].fetch_m else math.nan for i in allowed])
    share = np.minimum(p.surprise.sheltered_fetch_m / np.maximum(fetch, 1.0), 1.0)
    return np.where(np.isfinite(share), share, 0.6)


def _later_direction(inputs: PlanInputs, p: PlanParameters) -> float:
    """Direction of the strongest forecast wind in the window and the hours after it; west when none is known."""
    hours = [h for h in _hours(inputs, p) if math.isfinite(h.wind_mps) and math.isfinite(h.wind_from_deg)]
    if not hours:
        return 270.0
    first = hours[0].wind_from_deg
    turned = [h for h in hours if turn_deg(first, h.wind_from_deg) >= p.blocks.wind_shift_deg]
    return max(turned or hours, key=lambda h: h.wind_mps).wind_from_deg
