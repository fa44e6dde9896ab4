"""Lays a day's window out on a grid of five minutes for the search of a route."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.plan.adjust import stay_factor
from briefing.core.advice.plan.route import (
    SLOT_MIN,
    Grid,
    Ints,
    block_index,
    leg_times_min,
    stay_choices,
    wind_along,
)
from briefing.core.advice.plan.types import Flags, Floats, PlanHour, PlanInputs, PlanParameters, PlanSpot

_N = TypeVar("_N", np.float64, np.int64)
_NEVER = 10_000  # slots of a leg that isn't possible
_FULL_WIND_MPS = 4.0  # from here on a direction is wholly up-wind or down-wind; in calm none is wrong


def lay_out(inputs: PlanInputs, p: PlanParameters, allowed: list[int]) -> Grid | None:
    """Lay the window out in slots for the spots ``allowed``; None when there is no window, no spot or no forecast.

    The worth of the spots must be finite.
    """
    launch, off = inputs.launch_from, inputs.off_water_by
    if launch is None or off is None or not allowed or not inputs.blocks or not inputs.hours:
        return None
    start = _full_slot(launch)
    if off <= start:
        return None
    slots = int((off - start).total_seconds() // (60 * SLOT_MIN))
    keep = [0, *(i + 1 for i in allowed)]
    distance, bearing = (a[np.ix_(keep, keep)] for a in (inputs.distance_m, inputs.bearing_deg))
    minutes = leg_times_min(distance, bearing, inputs.hours, inputs.speed_mps, p.travel)
    settle = p.travel.settle_min * (1 - np.eye(len(keep)))
    settle[:, 0] = 0.0
    legs = _slots_up(minutes + settle[None])
    hour_of, covered = _hours_of(inputs.hours, start, slots)
    block_of = block_index(inputs.blocks, start, slots)
    values = inputs.values[allowed]
    barred = inputs.exceeds[allowed][:, hour_of] | ~covered[None, :]
    barred |= ~np.array([hour.open for hour in inputs.hours])[hour_of][None, :]
    back = _slots_up(_worst_ahead(minutes[:, 1:, 0], inputs.hours, off) * p.travel.reserve)[hour_of].T
    spots = [inputs.spots[i] for i in allowed]
    strong = values >= p.stay.strong_share * np.maximum(values.max(axis=0, initial=1e-9), 1e-9)
    longer = stay_factor(inputs, p)
    least_min = [_least_min(spot, inputs, p, longer) for spot in spots]
    stay = p.stay
    usual = (
        (stay.cold_most_min, stay.cold_most_strong_min) if inputs.cold_water else (stay.most_min, stay.most_strong_min)
    )
    most = (usual[0] * longer, usual[1] * longer)
    stays, least = stay_choices(spots, block_of, strong, least_min, most)
    return Grid(
        start=start,
        slots=slots,
        hour_of=hour_of,
        worth=_cumulative(values[:, block_of] * _calm_share(inputs, allowed, minutes, p)[:, hour_of] * SLOT_MIN),
        barred=_cumulative(barred.astype(np.int64)),
        legs=legs,
        wind_along=_calm_is_none(wind_along(bearing, inputs.hours, unknown=0.0), inputs.hours),
        may_leave=_may_leave(inputs, allowed, start, slots, back),
        back=back,
        stays=stays,
        least=least,
        rest=round(p.stay.rest_min / SLOT_MIN),
        second_visit=p.stay.second_visit,
        fresh_slots=p.stay.fresh_min / SLOT_MIN,
        tire_slots=longer * (stay.cold_tire_min if inputs.cold_water else stay.tire_min) / SLOT_MIN,
        wrong_way=p.travel.wrong_way,
        way_price=p.travel.way_price,
        price=float(np.mean(values.max(axis=0))) * SLOT_MIN,
        idle=p.stay.idle_price,
        worth_it=p.stay.worth_it,
        longest=round(p.stay.longest_min / SLOT_MIN),
    )


def _least_min(spot: PlanSpot, inputs: PlanInputs, p: PlanParameters, longer: float) -> float:
    """Least minutes at a place: a flat takes longer to search than a target, and cold water slows both."""
    least = longer * (p.stay.least_flat_min if spot.flat else p.stay.least_target_min)
    return max(least, p.stay.cold_least_min) if inputs.cold_water else least


def _calm_share(inputs: PlanInputs, allowed: list[int], minutes: Floats, p: PlanParameters) -> Floats:
    """What is left of each spot's worth in each hour, (n, H): at caution for wind less far out or in the open."""
    home = np.nan_to_num(np.minimum(minutes[:, 1:, 0].T / p.travel.rough_far_min, 1.0), nan=1.0)
    rough = np.array([hour.rough for hour in inputs.hours])
    lee = np.array([[_in_lee(inputs.spots[i], hour, p) for hour in inputs.hours] for i in allowed], bool)
    near = 1.0 - p.travel.rough_loss * home * np.where(lee, 0.5, 1.0)
    return np.asarray(np.where(rough[None, :], near * np.where(lee, 1.0, p.travel.rough_open), 1.0), float)


def _in_lee(spot: PlanSpot, hour: PlanHour, p: PlanParameters) -> bool:
    """True where little open water lies up-wind of a spot; False where that is not known."""
    if not spot.fetch_m or not np.isfinite(hour.wind_from_deg):
        return False
    return spot.fetch_m[round(hour.wind_from_deg / 45.0) % 8] <= p.surprise.sheltered_fetch_m


def _full_slot(at: datetime) -> datetime:
    """The next full five minutes, so that the plan's times are easy to read."""
    over = at.timestamp() % (60 * SLOT_MIN)
    return at + timedelta(seconds=60 * SLOT_MIN - over) if over else at


def _slots_up(minutes: Floats) -> Ints:
    return np.where(np.isfinite(minutes), np.ceil(np.minimum(minutes, 1e4) / SLOT_MIN - 1e-9), _NEVER).astype(np.int64)


def _hours_of(hours: tuple[PlanHour, ...], start: datetime, slots: int) -> tuple[Ints, Flags]:
    """Index of the forecast hour of each slot, and whether the slot is covered by the forecast at all."""
    starts = np.array([hour.start.timestamp() for hour in hours])
    at = start.timestamp() + 60.0 * SLOT_MIN * np.arange(slots + 1)
    index = np.searchsorted(starts, at, side="right") - 1
    covered = (index >= 0) & (at < starts[np.clip(index, 0, None)] + 3600.0)
    return np.clip(index, 0, None), covered


def _worst_ahead(minutes: Floats, hours: tuple[PlanHour, ...], off: datetime) -> Floats:
    """Longest way home begun in this hour or a later one before the end of the window, (H, n)."""
    inside = np.array([hour.start < off for hour in hours])[:, None]
    return np.asarray(np.maximum.accumulate(np.where(inside, minutes, 0.0)[::-1], axis=0)[::-1], float)


def _cumulative(per_slot: NDArray[_N]) -> NDArray[_N]:
    """Sums before each slot edge: (n, T + 1) from values of slots 0..T (the last one is beyond the window)."""
    total = np.zeros_like(per_slot)
    total[:, 1:] = np.cumsum(per_slot[:, :-1], axis=1)
    return total


def _calm_is_none(along: Floats, hours: tuple[PlanHour, ...]) -> Floats:
    """Scale the share of the wind along a leg by how much wind there is."""
    wind = np.nan_to_num(np.array([hour.wind_mps for hour in hours]), nan=0.0)
    return np.asarray(along * np.minimum(wind / _FULL_WIND_MPS, 1.0)[:, None, None], float)


def _may_leave(inputs: PlanInputs, allowed: list[int], start: datetime, slots: int, back: Ints) -> Flags:
    """Where leaving in a slot brings the craft home in time, and not after the last moment to start back."""
    at = np.arange(slots + 1)
    good = at[None, :] + back <= slots
    by = [inputs.leave_by[i] if inputs.leave_by else None for i in allowed]
    last = [inputs.start_back_by if one is None else one for one in by]
    latest = np.array([np.inf if one is None else one.timestamp() for one in last])
    good = good & (start.timestamp() + 60.0 * SLOT_MIN * at[None, :] <= latest[:, None] + 1e-6)
    return np.asarray(good, bool)
