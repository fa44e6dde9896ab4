"""Which rods to rig: a coverage problem over the plan's demands, with rods matched exactly."""

from briefing.core.advice.rods.agree import with_rods
from briefing.core.advice.rods.card import rig_card
from briefing.core.advice.rods.choose import choose_rods
from briefing.core.advice.rods.demand import Demand, candidates, natural_depths_m, plan_demand, rod_inputs
from briefing.core.advice.rods.types import (
    Cell,
    Gap,
    Need,
    RigSetup,
    RodInputs,
    RodParameters,
    RodPick,
    RodPlan,
)
from briefing.core.advice.rods.use import by_use, first_named

__all__ = [
    "Cell",
    "Demand",
    "Gap",
    "Need",
    "RigSetup",
    "RodInputs",
    "RodParameters",
    "RodPick",
    "RodPlan",
    "by_use",
    "candidates",
    "choose_rods",
    "first_named",
    "natural_depths_m",
    "plan_demand",
    "rig_card",
    "rod_inputs",
    "with_rods",
]
