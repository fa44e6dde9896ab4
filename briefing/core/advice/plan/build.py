"""``build_plan``: from blocks, spots and the day's window to stops, switches and plan B."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import numpy as np

from briefing.core.advice.choice import Choice
from briefing.core.advice.measures import in_text
from briefing.core.advice.plan.adjust import adjusted_values, front_sentence, stay_factor
from briefing.core.advice.plan.layout import lay_out
from briefing.core.advice.plan.route import (
    SLOT_MIN,
    Grid,
    Leg,
    Route,
    best_route,
    block_index,
    filled,
    leg_times_min,
    rested_share,
)
from briefing.core.advice.plan.surprise import plan_b
from briefing.core.advice.plan.switching import hour_switches
from briefing.core.advice.plan.types import (
    Block,
    BlockName,
    BlockPlan,
    DayPlan,
    Flags,
    LeftOut,
    PlanHour,
    PlanInputs,
    PlanParameters,
    Stop,
)
from briefing.core.wind.level import HourLevel
from briefing.vocabulary import Level, worst

#: What each block is for, in the warm and in the cold half of the year.
HABITS: dict[BlockName, tuple[str, str]] = {
    BlockName.FIRST_LIGHT: (
        "Roaming fish near the surface: start loud, go quieter as it gets light.",
        "Often the slowest part of a cold day: deep bait, or start later.",
    ),
    BlockName.EARLY: (
        "Edges that face the wind with a search lure; note the depth of every contact.",
        "Staging places have not warmed yet: slow and near the bottom.",
    ),
    BlockName.CLIMB: (
        "Shade lines form: change from the edge to the target and fish the shaded side first.",
        "The warming begins: sheltered rock and dark bottom.",
    ),
    BlockName.HIGH: (
        "Roofs, docks, brush and deeper water; or a rest.",
        "The best part of a cold day: the warmest bank, in two passes.",
    ),
    BlockName.LATE: (
        "Banks the wind has blown on, the surface once shade lies on it.",
        "Stays good until the water begins to cool.",
    ),
    BlockName.LAST_LIGHT: (
        "The surface again; be on the way to the ramp with light to spare.",
        "Usually over: use the light to get back to the ramp.",
    ),
}


_NONE_REACHED = "No spot can be reached and left again within your limits in this time."
_FELT_WIND_MPS = 2.5
_FARTHER_SLOTS = 2
_ALONG = 0.5  # cosine of 60 degrees: nearer to the wind than that counts as up-wind or down-wind


def is_open(level: HourLevel) -> bool:
    """True for an hour within limits or at caution; an unknown by standing factors alone doesn't close it."""
    if level.level.rank <= Level.CAUTION.rank:
        return True
    return level.level is Level.UNKNOWN and bool(level.factors) and not level.deciding


def build_plan(inputs: PlanInputs, p: PlanParameters) -> DayPlan:
    """Plan the day.

    Every hour in the window that can be fished within the limits is fished: time left over is filled with later visits
    and longer stays, which say why they are long. The route is searched on a grid of five minutes within the window
    (see :mod:`briefing.core.advice.plan.route`):
    every stop lies between its least and most stay, in hours that are open and within limits at the spot; legs take the
    craft's speed less a tenth of the head wind; every stop ends early enough to be home by ``off_water_by`` with a
    quarter in reserve against the worst wind until then, and none later than the last moment to start back from it
    (``leave_by``, else ``start_back_by``). Nest areas are left out
    in a closed season and by default while fish spawn. Season and front weigh the times of day and lengthen the stays
    (:mod:`briefing.core.advice.plan.adjust`). Blocks outside the window carry the reason, never a stop.

    Raises ``ValueError`` when array shapes don't match the spots, blocks or hours.
    """
    _check(inputs)
    inputs = replace(inputs, values=adjusted_values(inputs, p))
    allowed, left_out = _allowed(inputs)
    grid = lay_out(inputs, p, allowed)
    route = filled(grid, best_route(grid)) if grid is not None else Route((), 0.0)
    stops = () if grid is None else tuple(_stops(inputs, p, grid, route, allowed))
    visited = {stop.spot_id for stop in stops}
    left_out += [_unvisited(inputs, grid, i, stops) for i in allowed if inputs.spots[i].id not in visited]
    blocks = tuple(_block_plan(inputs, block, stops, allowed) for block in inputs.blocks)
    return DayPlan(
        blocks=blocks,
        plan_b=plan_b(inputs, p, allowed, tuple(i for i, block in enumerate(blocks) if not block.closed)),
        left_out=tuple(left_out),
        start_back=stops[-1].leave if stops else None,
        return_min=_home_min(grid, route),
        total_m=_way_m(inputs, [allowed[leg.spot] for leg in route.legs]),
        reasons=_reasons(inputs, stops),
        front=front_sentence(inputs, p) if stops else "",
    )


def with_choices(plan: DayPlan, inputs: PlanInputs) -> DayPlan:
    """The same route with the choices of ``inputs`` at its stops, and the switches that go with them."""

    def chosen(stop: Stop) -> Stop:
        choices = inputs.choices.get((stop.spot_id, stop.block_id), ())
        given = inputs.look_for.get((stop.spot_id, stop.block_id))
        return replace(stop, choices=choices, look_for=given or _lure_sign(choices))

    def block(one: BlockPlan) -> BlockPlan:
        if one.closed:
            return one
        stops = tuple(chosen(stop) for stop in one.stops)
        return replace(one, stops=stops, switches=hour_switches(inputs, one.block, stops))

    return replace(plan, blocks=tuple(block(one) for one in plan.blocks))


def _check(inputs: PlanInputs) -> None:
    n, blocks, hours = len(inputs.spots), len(inputs.blocks), len(inputs.hours)
    if len(inputs.leave_by) not in (0, n):
        raise ValueError(f"leave_by must have one entry a spot ({n}), has {len(inputs.leave_by)}")
    wanted = {
        "values": (inputs.values.shape, (n, blocks)),
        "exceeds": (inputs.exceeds.shape, (n, hours)),
        "distance_m": (inputs.distance_m.shape, (n + 1, n + 1)),
        "bearing_deg": (inputs.bearing_deg.shape, (n + 1, n + 1)),
    }
    for name, (found, shape) in wanted.items():
        if found != shape:
            raise ValueError(f"{name} must have shape {shape}, has {found}")


def _allowed(inputs: PlanInputs) -> tuple[list[int], list[LeftOut]]:
    """Spots that may be routed to, and the nest areas that may not."""
    allowed, out = [], []
    for i, spot in enumerate(inputs.spots):
        why = _nest_reason(inputs) if spot.nest_area else ""
        if why:
            out.append(LeftOut(spot.id, spot.name, why, nests=True))
        else:
            allowed.append(i)
    return allowed, out


def _nest_reason(inputs: PlanInputs) -> str:
    rules = inputs.nests
    if rules.closed:
        return "Nest area, and the season is closed by the rules you entered."
    if rules.spawning and rules.closed is None:
        return "Nest area while fish spawn, and the rules for this water are not entered: check before fishing."
    if rules.spawning and not rules.include:
        return "Nest area while fish spawn: left alone."
    return ""


def _stops(inputs: PlanInputs, p: PlanParameters, grid: Grid, route: Route, allowed: list[int]) -> list[Stop]:
    """Turn the legs of a route into stops with their reasons."""
    stops = []
    before = 0
    ways = leg_times_min(inputs.distance_m, inputs.bearing_deg, inputs.hours, inputs.speed_mps, p.travel)
    for number, leg in enumerate(route.legs):
        index = allowed[leg.spot]
        spot = inputs.spots[index]
        depart = grid.at(leg.arrive - leg.travel)
        edges = [leg.arrive, *_changes_within(inputs, p, grid, leg), leg.leave]
        for part, (first, last) in enumerate(pairwise(edges)):
            arrive, goes_on = grid.at(first), part > 0
            block = inputs.blocks[int(block_index(inputs.blocks, arrive, 0)[0])]
            choices = inputs.choices.get((spot.id, block.id), ())
            reasons = _stop_reasons(inputs, index, before, block, depart, first=number == 0, second=leg.second)
            way_min = float(ways[grid.hour_of[leg.arrive - leg.travel], before, index + 1])
            stops.append(
                Stop(
                    spot_id=spot.id,
                    spot=spot.name,
                    block_id=block.id,
                    arrive=arrive,
                    leave=grid.at(last),
                    travel_min=0 if goes_on else _travel_min(way_min),
                    travel_m=0.0 if goes_on else float(inputs.distance_m[before, index + 1]),
                    least_min=int(grid.least[leg.spot]) * SLOT_MIN,
                    most_min=(last - first) * SLOT_MIN,
                    second_visit=leg.second,
                    look_for=inputs.look_for.get((spot.id, block.id)) or _lure_sign(choices),
                    choices=choices,
                    travel_to_deg=math.nan if goes_on else float(inputs.bearing_deg[before, index + 1]),
                    home_min=_home_min_from(inputs, index, float(ways[grid.hour_of[last], index + 1, 0])),
                    home_head=_along(inputs, index + 1, 0, grid.at(last)),
                    home_by=_home_by(grid, leg),
                    reasons=inputs.why.get((spot.id, block.id), ()) if goes_on else reasons,
                    goes_on=block.why if goes_on else "",
                    long_why=_long_why(inputs, p, grid, leg),
                    then=_then(inputs, grid, route, number, allowed),
                )
            )
        before = index + 1
    return stops


def _changes_within(inputs: PlanInputs, p: PlanParameters, grid: Grid, leg: Leg) -> list[int]:
    """Slots in which light or wind change during a stay, with so much of it on both sides as is worth a new advice."""
    least = max(round(p.stay.part_min / SLOT_MIN), int(grid.least[leg.spot]))
    found = [leg.arrive]
    for block in inputs.blocks:
        at = round((block.start - grid.start).total_seconds() / 60.0 / SLOT_MIN)
        if at - found[-1] >= least and leg.leave - at >= least:
            found.append(at)
    return found[1:]


def joined_stays(plan: DayPlan, p: PlanParameters) -> DayPlan:
    """The plan with every stay in one that is fished alike on both sides of a change; see ``Stop.goes_on``."""
    stays: list[Stop] = []
    for stop in plan.stops:
        if stop.goes_on and stays and _fished(stays[-1]) == _fished(stop):
            before = stays[-1]
            most = before.most_min + stop.most_min
            stays[-1] = replace(
                before, leave=stop.leave, most_min=most, home_min=stop.home_min, home_head=stop.home_head
            )
        else:
            stays.append(stop)
    stays = [one if one.most_min > p.stay.longest_min else replace(one, long_why="") for one in stays]

    def block(one: BlockPlan) -> BlockPlan:
        return replace(one, stops=tuple(stop for stop in stays if stop.block_id == one.block.id))

    return replace(plan, blocks=tuple(block(one) for one in plan.blocks))


def _fished(stop: Stop) -> tuple[tuple[str, str | None, str], ...]:
    """What is fished at a stop and how: the first two lures with their weights and retrieves."""
    return tuple((one.id, one.weight_oz, one.retrieve.id if one.retrieve else "") for one in stop.choices[:2])


def _then(inputs: PlanInputs, grid: Grid, route: Route, number: int, allowed: list[int]) -> str:
    """Where to go on to without contact: the next stop; from the last one the best place that still fits."""
    if number + 1 < len(route.legs):
        return inputs.spots[allowed[route.legs[number + 1].spot]].name
    last = route.legs[number]
    depart = min(last.arrive + int(grid.least[last.spot]), grid.slots)
    best, found = 0.0, ""
    for spot, index in enumerate(allowed):
        way = int(grid.legs[grid.hour_of[depart], last.spot + 1, spot + 1])
        arrive, leave = depart + way, depart + way + int(grid.least[spot])
        if spot == last.spot or leave > grid.slots or not grid.may_leave[spot, leave]:
            continue
        if grid.back[spot, leave] > grid.back[last.spot, leave] + _FARTHER_SLOTS:  # late one doesn't go farther out
            continue
        left = max((leg.leave for leg in route.legs if leg.spot == spot), default=-grid.slots)
        rested = arrive - left >= grid.rest
        share = float(rested_share(grid, np.array(left >= 0), np.array(arrive - left)))
        worth = float(grid.worth[spot, leave] - grid.worth[spot, arrive]) * share
        if rested and grid.barred[spot, leave] == grid.barred[spot, depart] and worth > best:
            best, found = worth, inputs.spots[index].name
    return found


def _long_why(inputs: PlanInputs, p: PlanParameters, grid: Grid, leg: Leg) -> str:
    """Why a stay is longer than a place is worth by itself, as a clause; empty for one of usual length."""
    minutes = (leg.leave - leg.arrive) * SLOT_MIN
    if minutes <= p.stay.longest_min:
        return ""
    if minutes <= int(grid.stays[leg.spot, leg.arrive].max()) * SLOT_MIN and stay_factor(inputs, p) > 1.0:
        return "long because fish are slow after the front"
    if len(grid.least) == 1:
        return "long because it is the only place"
    open_spots = [i for i in range(len(grid.least)) if i != leg.spot and _could_be(grid, i, leg)]
    if open_spots:
        return "long because no other place gives as much then"
    return "long because no other place is within your limits then"


def _could_be(grid: Grid, spot: int, leg: Leg) -> bool:
    """True where another spot is open for its least stay at some time of a leg."""
    least = int(grid.least[spot])
    starts = range(leg.arrive, max(leg.leave - least, leg.arrive) + 1)
    return any(
        grid.barred[spot, min(at + least, grid.slots)] == grid.barred[spot, at] for at in starts if at < grid.slots
    )


def _home_min_from(inputs: PlanInputs, index: int, own: float) -> int:
    """Minutes home from a spot: the plan's own or the deadlines', which know waves and later hours, if longer."""
    given = inputs.way_home_min[index] if inputs.way_home_min else None
    return math.ceil(max(own, given or 0.0) - 1e-9)


def _home_by(grid: Grid, leg: Leg) -> datetime:
    """Last moment to begin the way home from a stop, while one may stay there; never before its planned leave."""
    open_until = grid.barred[leg.spot] <= grid.barred[leg.spot, leg.leave]
    later = np.flatnonzero(grid.may_leave[leg.spot] & open_until)
    return grid.at(max(int(later[-1]), leg.leave) if later.size else leg.leave)


def _travel_min(minutes: float) -> int:
    """Minutes under way as told: to the minute up to twenty, beyond that to the next five."""
    whole = math.ceil(minutes - 1e-9)
    return whole if whole <= 20 else 5 * math.ceil(whole / 5)


def _lure_sign(choices: tuple[Choice, ...]) -> str:
    """What a bite on the first choice looks like, with the lure it is about."""
    if not choices or not choices[0].look_for:
        return ""
    return f"With the {in_text(choices[0].name)}: {choices[0].look_for}"


def _stop_reasons(
    inputs: PlanInputs, index: int, before: int, block: Block, depart: datetime, *, first: bool, second: bool
) -> tuple[str, ...]:
    """Why here and why now, strongest first."""
    b = inputs.blocks.index(block)
    column = inputs.values[:, b]
    reasons = list(inputs.why.get((inputs.spots[index].id, block.id), ()))
    later = inputs.values[index, b + 1 :]
    if not second and len(later) and column[index] > 1.25 * float(np.max(later)):
        reasons.append("It is better now than later in the day.")
    reasons += _way_reasons(inputs, index, before, depart)
    if second:
        reasons.append("It has rested since the last visit: come from the other side.")
    if first and int(np.argmin(np.where(_open_ways(inputs), inputs.distance_m[0, 1:], np.inf))) == index:
        reasons.append("It is the nearest to the ramp, so the first cast comes soon.")
    return tuple(reasons) or ("It lies on the way and fits between its neighbours in the plan.",)


def _open_ways(inputs: PlanInputs) -> Flags:
    """Spots that may be routed to, (n,)."""
    allowed = _allowed(inputs)[0]
    return np.isin(np.arange(len(inputs.spots)), allowed)


def _way_reasons(inputs: PlanInputs, index: int, before: int, depart: datetime) -> list[str]:
    """What the wind has to do with this leg."""
    along = _along(inputs, before, index + 1, depart)
    if along > _ALONG:
        return ["The way there is up-wind, best done while you are fresh."]
    nearer = bool(before) and inputs.distance_m[index + 1, 0] < inputs.distance_m[before, 0]
    return ["The way there is with the wind, toward home."] if along < -_ALONG and nearer else []


def _along(inputs: PlanInputs, origin: int, target: int, at: datetime) -> float:
    """Cosine between a leg and the wind's origin, 1 straight up-wind; 0 in light wind, NaN where it is not known."""
    hour = _hour(inputs, at)
    bearing = float(inputs.bearing_deg[origin, target])
    if hour is None or math.isnan(hour.wind_mps):
        return math.nan
    if hour.wind_mps < _FELT_WIND_MPS:
        return 0.0
    return math.cos(math.radians(bearing - hour.wind_from_deg))


def _index(inputs: PlanInputs, stop: Stop) -> int:
    """Row of a stop in the travel tables."""
    return next(i for i, spot in enumerate(inputs.spots, 1) if spot.id == stop.spot_id)


def _hour(inputs: PlanInputs, at: datetime) -> PlanHour | None:
    return next((hour for hour in inputs.hours if hour.start <= at < hour.start + timedelta(hours=1)), None)


def _unvisited(inputs: PlanInputs, grid: Grid | None, index: int, stops: Sequence[Stop]) -> LeftOut:
    """Why an allowed spot has no stop."""
    spot = inputs.spots[index]
    if grid is None:
        why = "There is no time on the water within your limits."
    elif stops and stops[-1].then == spot.name:
        why = f"Kept for the end, should {stops[-1].spot} give nothing."
    elif inputs.too_far(index):
        why = "Too far for these hours."
    elif _beyond(inputs, index):
        why = "Wind or waves there are beyond your limits, or not known, while you are out."
    elif not np.nan_to_num(inputs.values[index], nan=0.0).any():
        why = "Nothing you can fish fits it in this weather."
    elif _rough_later(inputs, index):
        why = "Far out or open, with the wind at caution."
    else:
        why = "Other places promise more."
    return LeftOut(spot.id, spot.name, why)


def _rough_later(inputs: PlanInputs, index: int) -> bool:
    """True when most hours of the window are at caution for wind and the spot is not near the ramp."""
    inside = [hour for hour in inputs.hours if _in_window(inputs, hour.start, timedelta(hours=1))]
    rough = sum(hour.rough for hour in inside)
    return 3 * rough >= len(inside) > 0 and float(inputs.distance_m[0, index + 1]) > 600.0 * inputs.speed_mps


def _beyond(inputs: PlanInputs, index: int) -> bool:
    """True when the spot is beyond the limits in every hour of the window."""
    inside = [i for i, hour in enumerate(inputs.hours) if _in_window(inputs, hour.start, timedelta(hours=1))]
    return bool(inside) and bool(inputs.exceeds[index, inside].all())


def _in_window(inputs: PlanInputs, start: datetime, length: timedelta) -> bool:
    launch, off = inputs.launch_from, inputs.off_water_by
    return launch is not None and off is not None and start < off and start + length > launch


def _block_plan(inputs: PlanInputs, block: Block, stops: tuple[Stop, ...], allowed: list[int]) -> BlockPlan:
    inside = [hour for hour in inputs.hours if hour.start < block.end and hour.start + timedelta(hours=1) > block.start]
    level = worst([hour.level for hour in inside]) if inside else Level.UNKNOWN
    mine = tuple(stop for stop in stops if stop.block_id == block.id)
    closed = _closed(inputs, block, stops, bool(mine))
    habit = HABITS[block.name][0 if inputs.warm_half else 1]
    if closed:
        return BlockPlan(block, level, closed, (), (), "", ())
    return BlockPlan(
        block, level, "", mine, _spare(inputs, block, mine, allowed), habit, hour_switches(inputs, block, mine)
    )


def _closed(inputs: PlanInputs, block: Block, stops: tuple[Stop, ...], has_stops: bool) -> str:
    """Why a block carries no advice; empty when it does."""
    launch, off = inputs.launch_from, inputs.off_water_by
    if launch is None or off is None:
        return inputs.closed_reason or "No hours within your limits."
    if not stops:
        fits = np.nan_to_num(inputs.values, nan=0.0).any()
        return _NONE_REACHED if fits else "No lure fits these places in this water and weather."
    if block.end <= launch:
        return "Before you launch."
    if block.start >= off:
        return "You are off the water by then."
    if has_stops or any(stop.arrive < block.end and stop.leave > block.start for stop in stops):
        return ""
    if block.start >= stops[-1].leave:
        return "You are on the way back or ashore by then."
    return _NONE_REACHED


def _spare(inputs: PlanInputs, block: Block, mine: tuple[Stop, ...], allowed: list[int]) -> tuple[str, ...]:
    """The next two spots by value that aren't in the block and stay within limits through it."""
    b = inputs.blocks.index(block)
    used = {stop.spot_id for stop in mine}
    hours = [i for i, hour in enumerate(inputs.hours) if hour.start < block.end and hour.start >= block.start]
    ranked = sorted(allowed, key=lambda i: (-float(inputs.values[i, b]), i))
    good = [i for i in ranked if inputs.spots[i].id not in used and inputs.values[i, b] > 0]
    return tuple(inputs.spots[i].name for i in good if not inputs.exceeds[i, hours].any())[:2]


def _home_min(grid: Grid | None, route: Route) -> int | None:
    """Minutes home from the last stop with the reserve; None without one."""
    if grid is None or not route.legs:
        return None
    last = route.legs[-1]
    return int(grid.back[last.spot, last.leave]) * SLOT_MIN


def _way_m(inputs: PlanInputs, order: list[int]) -> float:
    """Length of the whole round from the ramp to the ramp."""
    points = [0, *(i + 1 for i in order), 0]
    return float(sum(inputs.distance_m[a, b] for a, b in pairwise(points)))


def _reasons(inputs: PlanInputs, stops: tuple[Stop, ...]) -> tuple[str, ...]:
    """Sentences about the plan as a whole."""
    if inputs.launch_from is None or inputs.off_water_by is None:
        return (inputs.closed_reason or "No hours within your limits, so there is no plan for the water.",)
    if not stops:
        return ("No spot can be reached and left again within your limits, so there is no plan for the water.",)
    reasons = [inputs.cut_why] if inputs.cut_why else []
    if _along(inputs, 0, _index(inputs, stops[0]), inputs.launch_from) > _ALONG and (
        _along(inputs, _index(inputs, stops[-1]), 0, stops[-1].leave) < 0
    ):
        reasons.append("You work up-wind first and come home with the wind.")
    return tuple(reasons)
