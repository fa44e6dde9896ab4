"""Makes the spots' cards and the rigging list agree: each choice names the rod that carries it or is re-tied for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from briefing.core.advice.choice import Choice, RetrievePick, SetupPick
from briefing.core.advice.plan import BlockPlan, DayPlan, Stop
from briefing.core.advice.presentation import Setup
from briefing.core.advice.rods.match import best_gear, gear_steps, mismatch
from briefing.core.advice.rods.types import (
    DemandRules,
    MismatchWeights,
    RigSetup,
    RodInputs,
    RodParameters,
    RodPick,
    RodPlan,
)
from briefing.core.advice.weight import at_ratio, setup_pick, suits_weight

#: Weights that lie nearer than this are one.
_SAME_G = 0.1


def with_rods(plan: DayPlan, rods: RodPlan, inputs: RodInputs, p: RodParameters) -> DayPlan:
    """The plan with the rod of the rigging list in the set-up of every choice.

    A lure on the list gets its rod; any other the rod of the list that comes nearest to what it asks for, to be
    re-tied. Without a list the set-ups stay as they are.
    """
    if not rods.picks:
        return plan

    def placed(stop: Stop) -> Stop:
        return replace(
            stop, choices=tuple(_with_rod(c, rods.picks, _rig_of(c, inputs), inputs, p) for c in stop.choices)
        )

    def block(one: BlockPlan) -> BlockPlan:
        return replace(one, stops=tuple(placed(stop) for stop in one.stops))

    return replace(plan, blocks=tuple(block(one) for one in plan.blocks))


def _with_rod(
    choice: Choice, picks: Sequence[RodPick], rig: RigSetup | None, inputs: RodInputs, p: RodParameters
) -> Choice:
    if choice.setup is None:
        return choice
    own = [pick for pick in picks if pick.setup.presentation == choice.id]
    if own:
        pick = min(own, key=lambda one: abs(one.setup.weight_g - (choice.weight_g or 0.0)))
        asked = choice.setup if pick.gear is None else setup_pick(pick.gear, ())
        other = abs((choice.weight_g or 0.0) - pick.setup.weight_g) > _SAME_G
        setup = replace(_named(asked, pick, retie=False), new_weight=other)
        return replace(choice, setup=setup, retrieve=_on_its_reel(choice, pick))
    if rig is None:
        return choice
    rig = _at_weight(rig, choice)
    nearest = _nearest(rig, picks, inputs, p)
    if nearest is None:
        return choice
    rod = nearest.rod
    gear = rig.setups[0] if rod is None else best_gear(rod, rig, p.mismatch, inputs.longest_ft)[1]
    setup = _named(setup_pick(gear, ()), nearest, retie=True)
    return replace(choice, setup=setup, retrieve=_on_its_reel(choice, nearest))


def can_tie(choice: Choice, rods: RodPlan, inputs: RodInputs, p: RodParameters) -> bool:
    """Whether a rod of the list can carry a lure that it is not rigged with."""
    rig = _rig_of(choice, inputs)
    return rig is not None and _nearest(_at_weight(rig, choice), rods.picks, inputs, p) is not None


def worth_a_new_weight(rigged: Choice, own: Choice, rods: RodPlan, p: DemandRules) -> bool:
    """Whether a place asks for so much more or less weight than the rigged one that the knot is worth it.

    Its rod must be able to carry that weight.
    """
    pick = next((one for one in rods.picks if one.setup.presentation == rigged.id), None)
    if pick is None or not rigged.weight_g or not own.weight_g:
        return False
    ratio = max(rigged.weight_g, own.weight_g) / min(rigged.weight_g, own.weight_g)
    apart = abs(rigged.weight_g - own.weight_g) >= p.new_weight_g and ratio >= p.new_weight_ratio
    return apart and (pick.gear is None or suits_weight(pick.gear, own.weight_g))


def _rig_of(choice: Choice, inputs: RodInputs) -> RigSetup | None:
    """What a lure asks for, as it is tied nearest to the weight that is chosen."""
    own = [one for one in inputs.setups if one.presentation == choice.id]
    return min(own, key=lambda one: abs(one.weight_g - (choice.weight_g or 0.0)), default=None)


def _at_weight(rig: RigSetup, choice: Choice) -> RigSetup:
    """What a lure asks for at the weight it is to have."""
    return replace(rig, setups=tuple(gear for gear in rig.setups if suits_weight(gear, choice.weight_g or 0.0)))


def _nearest(rig: RigSetup, picks: Sequence[RodPick], inputs: RodInputs, p: RodParameters) -> RodPick | None:
    """The rod that comes nearest to what a lure asks for; None where none is near enough."""
    if not rig.setups or not picks:
        return None
    pick = min(picks, key=lambda one: (_off(one, rig, inputs, p.mismatch), one.number))
    return None if _off(pick, rig, inputs, p.mismatch) > p.mismatch.forbidden else pick


def _on_its_reel(choice: Choice, pick: RodPick) -> RetrievePick | None:
    """The retrieve with the turns for the reel of the rod that carries it."""
    if choice.retrieve is None or pick.rod is None:
        return choice.retrieve
    return at_ratio(choice.retrieve, pick.rod.reel, pick.rod.ratio)


def _named(setup: SetupPick, pick: RodPick, *, retie: bool) -> SetupPick:
    rod = pick.rod
    return replace(
        setup,
        owned_id=None if rod is None else rod.id,
        owned_name=None if rod is None else rod.name or rod.id.replace("_", " "),
        rod_number=pick.number,
        retie=retie,
    )


def _off(pick: RodPick, rig: RigSetup, inputs: RodInputs, w: MismatchWeights) -> float:
    """Steps between the rod of a pick and what another lure asks for."""
    if pick.rod is not None:
        return min(mismatch(pick.rod, gear, w, inputs.longest_ft) for gear in rig.setups)
    rigged: Setup | None = pick.gear
    return 0.0 if rigged is None else min(gear_steps(rigged, gear, w) for gear in rig.setups)
