"""A morning without a window: what to rig meanwhile, and which later day to look at first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import Conditions, Spot, TackleBox
from briefing.core.advice.plan import Block, DayPlan, Stop
from briefing.core.advice.plan.types import Floats
from briefing.core.advice.ranking import rank, shown_three
from briefing.core.wind.later import LaterDay, later_day
from briefing.pipeline.experience import raised_series
from briefing.pipeline.hazard import Hazards
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.profile.model import Spot as ProfileSpot
from briefing.vocabulary import Level

#: Lures are chosen for a light wind: the wind of a day with a window isn't known yet.
LIGHT_WIND_MPS = 3.0
#: So many places are rigged for.
PLACES = 3


@dataclass(frozen=True)
class Later:
    """The later day to look at first, None where none is below the stop; ``known``: one has wind and gusts."""

    day: LaterDay | None
    known: bool


def look_later(inputs: MorningInputs, hazards: Hazards) -> Later:
    """Look at the same hours of the later days that the forecast holds."""
    outing, zone = inputs.outing, inputs.profile.zone
    spans: list[tuple[date, datetime, datetime]] = []
    for ahead in range(1, 8):
        begin, end = (_days_on(at, ahead, zone) for at in (outing.launch, outing.back))
        spans.append((inputs.day + timedelta(days=ahead), begin, end))
    if _too_old(hazards):
        return Later(None, known=False)
    hours, factor = inputs.gathered.hours, float(hazards.wind_factor.max(initial=1.0))
    raised = raised_series(hours, np.full(hours.hours, factor))
    day, known = later_day(raised, spans, hazards.limits_in_use)
    return Later(day, known)


def _too_old(hazards: Hazards) -> bool:
    """True where the forecast is too old for any hour: a later day can't be known from it either."""
    ages = [factor for hour in hazards.levels for factor in hour.factors if factor.name == "data_age"]
    return bool(ages) and all(factor.level.rank >= Level.UNKNOWN.rank for factor in ages)


def _days_on(at: datetime, days: int, zone: ZoneInfo) -> datetime:
    """The same clock time some days later."""
    local = at.astimezone(zone)
    return (local.replace(tzinfo=None) + timedelta(days=days)).replace(tzinfo=zone)


def stops_to_rig_for(
    plan: DayPlan,
    inputs: MorningInputs,
    spots: Sequence[ProfileSpot],
    allowed: frozenset[str],
    values: Floats,
    conditions: Mapping[str, Conditions],
    fishing: Mapping[tuple[str, str], Spot],
    knowledge: Knowledge,
    tackle: TackleBox,
) -> DayPlan:
    """The plan with the best places of the hours asked for in it, each in its best block, as if there were a window.

    It is for the rods alone and never shown as a plan.
    """
    blocks = [block.block for block in plan.blocks]
    inside = [i for i, one in enumerate(blocks) if one.start < inputs.outing.back and one.end > inputs.outing.launch]
    rows = [i for i, spot in enumerate(spots) if spot.id in allowed]
    if not inside or not rows:
        return plan
    worth = np.nan_to_num(values[np.ix_(rows, inside)], nan=0.0)
    order = np.argsort(-worth.max(axis=1), kind="stable")[:PLACES]
    stops: dict[str, list[Stop]] = {}
    for i in order:
        block = blocks[inside[int(worth[i].argmax())]]
        spot = spots[rows[int(i)]]
        at = calmer(conditions[block.id])
        choices = rank(at, fishing[spot.id, block.id], knowledge.advice, tackle, solve=1, units=inputs.reader.units)
        stops.setdefault(block.id, []).append(_stop(spot, block, shown_three(choices)))
    return replace(plan, blocks=tuple(replace(one, stops=tuple(stops.get(one.block.id, ()))) for one in plan.blocks))


def calmer(at: Conditions) -> Conditions:
    """The conditions in a light wind."""
    return replace(at, wind_mps=min(at.wind_mps, LIGHT_WIND_MPS), wave_height_m=None)


def _stop(spot: ProfileSpot, block: Block, choices: tuple[Choice, ...]) -> Stop:
    return Stop(
        spot_id=spot.id,
        spot=spot.name,
        block_id=block.id,
        arrive=block.start,
        leave=block.end,
        travel_min=0,
        travel_m=0.0,
        least_min=0,
        most_min=0,
        second_visit=False,
        look_for="",
        choices=choices,
        reasons=(),
    )
