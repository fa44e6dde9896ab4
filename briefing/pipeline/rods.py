"""Which rods to rig tonight, from the plan and the ranking's scores."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.conditions import Conditions, FrontStage, TackleBox
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.physics import PhysicsParameters, target_over_cover_m
from briefing.core.advice.plan import Block, DayPlan
from briefing.core.advice.rods import RodInputs, RodParameters, plan_demand, rod_inputs
from briefing.core.advice.rods.types import MOST_RODS
from briefing.profile.model import LakeProfile
from briefing.profile.model import Spot as ProfileSpot
from briefing.vocabulary import Craft

Floats = NDArray[np.float64]

#: Clear water asks for a spinning rod with a thin leader (Secchi in m).
CLEAR_SECCHI_M = 1.5
#: What a lure that the plan shows, but never first, counts against a first choice, and one that it doesn't show.
SHOWN_PART, NOT_SHOWN_PART = 0.7, 0.25


def rods_problem(
    plan: DayPlan,
    scores: Floats,
    moods: Floats,
    spots: Sequence[ProfileSpot],
    blocks: Sequence[Block],
    conditions: Mapping[str, Conditions],
    profile: LakeProfile,
    tackle: TackleBox,
    knowledge: AdviceKnowledge,
    physics: PhysicsParameters,
    rules: RodParameters,
    craft: Mapping[str, Any],
    words: Mapping[str, frozenset[str]],
) -> RodInputs:
    """Pose the choice of the day's rods. scores: (blocks, spots, presentations); moods: (blocks,) from -1 to 1;
    words: those of each spot, by id (``situation_words``)."""
    ids = [one.id for one in knowledge.presentations]
    demands = plan_demand(
        plan,
        _of_the_plan(plan, scores, ids),
        [spot.id for spot in spots],
        [_working_depth_m(spot, physics) for spot in spots],
        [max(spot.cover, key=lambda kind, spot=spot: spot.cover[kind]) for spot in spots],  # type: ignore[misc]
        moods,
        ids,
        [words.get(spot.id, frozenset()) for spot in spots],
    )
    first = conditions[blocks[0].id] if blocks else None
    shy = first is not None and ((first.secchi_m or 0.0) > CLEAR_SECCHI_M or first.front_stage is FrontStage.DAY2)
    row = craft[profile.craft.value]
    count = min(max(len(profile.rods), int(row["rods"])), MOST_RODS)
    return rod_inputs(
        demands,
        knowledge.presentations,
        tackle,
        physics,
        rules,
        k=count,
        kayak=profile.craft in (Craft.KAYAK, Craft.CANOE),
        shy_fish=shy,
        longest_ft=row.get("longest_rod_ft"),
    )


def _of_the_plan(plan: DayPlan, scores: Floats, ids: Sequence[str]) -> Floats:
    """Scores with the ranking's first choices in full, what it shows beside them for a part, all else for less.

    The rest counts too: a rod that suits none of the leaders is worth a lure that it does suit.
    """
    shown = {choice.id for stop in plan.stops for choice in stop.choices}
    first = {stop.choices[0].id for stop in plan.stops if stop.choices}
    kept = np.array([1.0 if one in first else SHOWN_PART if one in shown else NOT_SHOWN_PART for one in ids], float)
    return np.asarray(scores * kept, float)


def _working_depth_m(spot: ProfileSpot, physics: PhysicsParameters) -> float:
    """Depth that lures are to work at: just over the tops of the cover, else the middle of the spot's depths."""
    middle = float(np.mean(spot.depth_m))
    if spot.cover_top_m is None or not 0.0 < spot.cover_top_m < spot.depth_m[1]:
        return middle
    return target_over_cover_m(spot.cover_top_m, spot.depth_m[1], physics)
