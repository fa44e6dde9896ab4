"""The plan of a day: blocks cut by sun and weather, stops ordered by wind, waves and the way back, plan B."""

from briefing.core.advice.plan.blocks import cut_blocks
from briefing.core.advice.plan.build import build_plan, is_open, joined_stays, with_choices
from briefing.core.advice.plan.surprise import as_rigged, likeliest_surprise
from briefing.core.advice.plan.types import (
    Block,
    BlockName,
    BlockPlan,
    DayPlan,
    HourSwitch,
    LeftOut,
    NestRules,
    PlanB,
    PlanHour,
    PlanInputs,
    PlanParameters,
    PlanSpot,
    Stop,
    SurpriseKind,
)

__all__ = [
    "Block",
    "BlockName",
    "BlockPlan",
    "DayPlan",
    "HourSwitch",
    "LeftOut",
    "NestRules",
    "PlanB",
    "PlanHour",
    "PlanInputs",
    "PlanParameters",
    "PlanSpot",
    "Stop",
    "SurpriseKind",
    "as_rigged",
    "build_plan",
    "cut_blocks",
    "is_open",
    "joined_stays",
    "likeliest_surprise",
    "with_choices",
]
