"""What season and front do to a plan: the worth of places by time of day, how long to stay, and the words for it."""

from __future__ import annotations

import numpy as np

from briefing.core.advice.conditions import FrontStage
from briefing.core.advice.plan.types import BlockName, Floats, PlanInputs, PlanParameters

_MORNING = (BlockName.FIRST_LIGHT, BlockName.EARLY)
_AHEAD = (FrontStage.APPROACHING, FrontStage.PASSAGE)

_SENTENCES: dict[FrontStage, str] = {
    FrontStage.APPROACHING: (
        "A front is on its way, and its hour is a forecast: leave when the sky says so. Fish often feed ahead of it: a "
        "moving lure goes first, far places early."
    ),
    FrontStage.PASSAGE: "A front passes today: near the ramp, the best spots first, and off before thunder.",
    FrontStage.DAY1: "First day after the front: tighter to cover, slower, and longer at each place.",
    FrontStage.DAY2: (
        "Second day after the front: better two to three hours after sunrise; half the water in double the time, tight "
        "to cover."
    ),
    FrontStage.RECOVERING: "It settles after the front: the afternoon comes back first, in the shallows.",
}


def adjusted_values(inputs: PlanInputs, p: PlanParameters) -> Floats:
    """Worth of the spots by block with the season's times of day and the front's stage, (n, blocks); missing is 0.

    The season's factors follow ``inputs.warm_half``. With a front on its way the farther spots lose; on the second day
    after it the mornings do. Both are scaled by ``inputs.front_strength``.
    """
    values = np.nan_to_num(inputs.values, nan=0.0)
    season = p.season.warm if inputs.warm_half else p.season.cold
    times = np.array([season[block.name] for block in inputs.blocks])
    mornings = np.array([block.name in _MORNING for block in inputs.blocks])
    if inputs.front is FrontStage.DAY2:
        times = times * np.where(mornings, _scaled(p.front.day2_morning, inputs), 1.0)
    if inputs.front is FrontStage.RECOVERING:
        times = times * np.where(mornings, _scaled(p.front.recovering_morning, inputs), 1.0)
    values = values * times[None, :]
    if inputs.front in _AHEAD and len(values):
        way = inputs.distance_m[0, 1:]
        known = way[np.isfinite(way)]
        far = np.nan_to_num(way / max(float(known.max(initial=0.0)), 1.0), nan=1.0)
        values = values * (1.0 - min(p.front.ahead_far_loss * inputs.front_strength, 1.0) * far)[:, None]
    return np.asarray(values, float)


def stay_factor(inputs: PlanInputs, p: PlanParameters) -> float:
    """How much longer than usual a place is fished without contact."""
    usual = {FrontStage.DAY1: p.front.day1_stay, FrontStage.DAY2: p.front.day2_stay}.get(inputs.front, 1.0)
    return _scaled(usual, inputs)


def front_sentence(inputs: PlanInputs, p: PlanParameters) -> str:
    """What the front's stage means for the day; empty where it hardly counts."""
    return _SENTENCES.get(inputs.front, "") if inputs.front_strength >= p.front.speak_from else ""


def _scaled(factor: float, inputs: PlanInputs) -> float:
    """A factor at the strength a front has here: 1 at none, the factor itself at full."""
    return max(1.0 + inputs.front_strength * (factor - 1.0), 0.1)
