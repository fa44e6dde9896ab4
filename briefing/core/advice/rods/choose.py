"""``choose_rods``: which lures to rig on which rods, what each is for, and what one thing more would add most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from briefing.core.advice.conditions import OwnedRod
from briefing.core.advice.measures import in_text
from briefing.core.advice.presentation import Setup
from briefing.core.advice.rods.match import assign, best_gear
from briefing.core.advice.rods.search import Flags, Found, Problem, marginal, one_meets, pose, search_set, with_each
from briefing.core.advice.rods.types import (
    Floats,
    Gap,
    Need,
    RigSetup,
    RodInputs,
    RodParameters,
    RodPick,
    RodPlan,
)

_WORTH_A_RETIE = 0.02  # share of the day below which re-tying isn't mentioned
_WORTH_BUYING = 0.01
_LEADS = 0.9  # serves a place of the plan nearly as well as anything
_UNMET: dict[Need, str] = {
    Need.SEARCH: "No search lure among them: nothing to cover water with.",
    Need.SLOW: "Nothing slow among them for fish that don't chase.",
    Need.WEEDLESS: "Nothing weedless for the thickest cover in the plan.",
    Need.TOP: "Nothing for the surface, though the plan has hours for it.",
    Need.MIDDLE: "Nothing for the water between surface and bottom.",
    Need.BOTTOM: "Nothing for the bottom of the places planned.",
    Need.SPINNING: "No spinning rod with a thin leader, though the water is clear or the fish are shy.",
}


def choose_rods(inputs: RodInputs, p: RodParameters) -> RodPlan:
    """Choose at most k owned lures and a rod for each.

    The lures maximise the coverage of the plan's demands and the lesser aims of ``config/rods.toml``
    (:func:`briefing.core.advice.rods.search.with_each`); rods are matched exactly at the least number of steps off.
    Without rods of the user's own every lure gets the rod it asks for. An empty plan when nothing is owned or nothing
    asked for. Raises ``ValueError`` as :func:`~briefing.core.advice.rods.search.pose`.
    """
    problem = pose(inputs, p)
    if not inputs.setups or not inputs.cells or problem.k == 0:
        return RodPlan((), (), None, ("There is no plan for the water to rig for.",), (), 0.0)
    found = search_set(problem)
    if not found.chosen:
        return RodPlan((), (), None, ("None of your rods suits a lure you own for this plan.",), (), 0.0)
    shares = marginal(problem, found.chosen)
    columns = _columns(problem, found)
    reties = _reties(inputs, problem, found, columns)
    order = sorted(range(len(found.chosen)), key=lambda i: -float(shares[i].sum()))
    reach = _in_reach(inputs, found.chosen, order)
    picks = tuple(
        _pick(inputs, problem, found, i, number, shares[i], columns, reties.get(i, ""), i in reach)
        for number, i in enumerate(order, 1)
    )
    return RodPlan(
        picks=picks,
        unmet=_unmet(problem, inputs.setups, found.chosen),
        gap=_gap(inputs, problem, found),
        notes=_notes(inputs, picks),
        aboard=_aboard(inputs, picks),
        worth=found.worth,
    )


def _columns(problem: Problem, found: Found) -> tuple[int, ...]:
    """The rod of each chosen lure; -1 when any rod will do."""
    if problem.costs is None:
        return (-1,) * len(found.chosen)
    return assign(problem.costs[list(found.chosen)])[1]


def _in_reach(inputs: RodInputs, chosen: Sequence[int], order: Sequence[int]) -> frozenset[int]:
    """Two rods within reach: the search lure that adds most and its follow-up, else what adds most of another pace."""
    setups = [inputs.setups[i] for i in chosen]
    search = next((i for i in order if setups[i].pace == "search"), order[0])
    rest = [i for i in order if i != search]
    follow = next((i for i in rest if setups[i].presentation in setups[search].follow_up), None)
    other = next((i for i in rest if setups[i].pace != setups[search].pace), rest[0] if rest else search)
    return frozenset({search, other if follow is None else follow})


def _pick(
    inputs: RodInputs,
    problem: Problem,
    found: Found,
    place: int,
    number: int,
    share: Floats,
    columns: tuple[int, ...],
    retie: str,
    in_reach: bool,
) -> RodPick:
    setup = inputs.setups[found.chosen[place]]
    rod = inputs.rods[columns[place]] if columns[place] >= 0 else None
    gear = setup.setups[0] if setup.setups else None
    off: tuple[str, ...] = ()
    if rod is not None:
        _, gear = best_gear(rod, setup, problem.p.mismatch, inputs.longest_ft)
        off = _off(rod, gear, problem, inputs.longest_ft)
    return RodPick(
        number=number,
        setup=setup,
        gear=gear,
        rod=rod,
        purpose=_purpose(inputs, setup, share),
        mismatch=off,
        retie=retie,
        in_reach=in_reach,
        adds=float(share.sum()),
    )


def _purpose(inputs: RodInputs, setup: RigSetup, share: Floats) -> str:
    """What a rod is for: the places it covers alone, by pace, and plan B where that is most of it."""
    if share.sum() <= 0:
        return "A second of the kind, should the first be lost."
    plan_b = float(sum(s for s, cell in zip(share, inputs.cells, strict=True) if cell.contingency))
    by_spot: dict[str, float] = {}
    for value, cell in zip(share, inputs.cells, strict=True):
        by_spot[cell.spot] = by_spot.get(cell.spot, 0.0) + float(value)
    spots = [name for name, value in sorted(by_spot.items(), key=lambda item: -item[1]) if value > 0][:2]
    what = {"search": "covers water", "medium": "works the edges and targets", "slow": "stays in front of shy fish"}
    text = f"{what.get(setup.pace, 'serves').capitalize()} at {' and '.join(spots)}"
    planned = [not cell.contingency for cell in inputs.cells]
    best_somewhere = bool((inputs.quality[inputs.setups.index(setup)][planned] >= _LEADS).any())
    return f"{text}; mostly for plan B." if plan_b > 0.5 * float(share.sum()) and not best_somewhere else f"{text}."


def _off(rod: OwnedRod, gear: Setup, problem: Problem, longest_ft: float | None) -> tuple[str, ...]:
    """What is off between a rod and the set-up, as sentences."""
    found = []
    if rod.power != gear.power:
        found.append(f"The power is {rod.power.replace('_', '-')}; {gear.power.replace('_', '-')} is usual.")
    if rod.action != gear.action:
        found.append(f"The action is {rod.action.replace('_', '-')}; {gear.action.replace('_', '-')} is usual.")
    if rod.reel != gear.reel:
        found.append(f"It carries a {rod.reel} reel; a {gear.reel} reel is usual.")
    if rod.line is not None and rod.line != gear.line.kind:
        found.append(f"It carries {rod.line}; {gear.line.kind} is usual.")
    if rod.line_mm is not None:
        low, high = gear.line.diameter_mm
        if rod.line_mm > high * (1 + problem.p.mismatch.diameter_tolerance):
            found.append("The line is thick: the lure runs higher.")
        if rod.line_mm < low / (1 + problem.p.mismatch.diameter_tolerance):
            found.append("The line is thin: keep out of heavy cover.")
    if longest_ft is not None and rod.length_ft > longest_ft + 1e-6:
        found.append(f"It is long from the seat ({rod.length_ft:.1f} ft).")
    return tuple(found)


def _reties(inputs: RodInputs, problem: Problem, found: Found, columns: tuple[int, ...]) -> dict[int, str]:
    """By place in the choice: the lure more that its rod takes re-tied, each lure on the rod that suits it best."""
    if problem.costs is None:
        return {}
    costs = problem.costs[:, list(columns)]
    keep = np.prod(problem.keeps[list(found.chosen)], axis=0)
    names = {inputs.setups[i].presentation for i in found.chosen}
    texts: dict[int, str] = {}
    for _ in columns:
        gain = (1.0 - problem.keeps) @ (problem.demand * keep)
        free = [place for place in range(len(columns)) if place not in texts]
        taken = np.array([setup.presentation in names for setup in inputs.setups])
        gain = np.where(problem.usable & ~taken & np.isfinite(costs[:, free]).any(axis=1), gain, -np.inf)
        best = int(np.argmax(gain))
        if gain[best] < _WORTH_A_RETIE:
            break
        place = free[int(np.argmin(costs[best, free]))]
        texts[place] = f"Re-tied, it also takes the {in_text(inputs.setups[best].label)}."
        names.add(inputs.setups[best].presentation)
        keep = keep * problem.keeps[best]
    return texts


def _unmet(problem: Problem, setups: Sequence[RigSetup], chosen: Sequence[int]) -> tuple[str, ...]:
    """The needs of the plan that the choice doesn't meet, unless a lure of that kind is among it after all."""
    met = np.asarray(problem.meets[list(chosen)].any(axis=0), bool)
    unmet = [
        _UNMET[need]
        for need, good in zip(problem.needs, met, strict=True)
        if not good and need in _UNMET and not any(one_meets(setups[i], need) for i in chosen)
    ]
    return tuple(unmet)


def _gap(inputs: RodInputs, problem: Problem, found: Found) -> Gap | None:
    """The lure or the rod that would raise the objective most when it replaced one of the chosen."""
    lure = _best_swap(problem, found, problem.missing, inputs.k)
    gaps = []
    if lure is not None:
        setup = inputs.setups[lure[1]]
        text = f"Of what you don't own, the {in_text(setup.label)} would add most to this plan."
        gaps.append(Gap("lure", setup.presentation, text, lure[0]))
    if problem.costs is not None:
        rigged = np.isin(problem.lure, problem.lure[list(found.chosen)])
        more = replace(problem, costs=_one_more(problem.costs))
        rod = _best_swap(more, found, np.asarray(problem.usable & ~rigged, bool), inputs.k)
        if rod is not None:
            setup = inputs.setups[rod[1]]
            gear = setup.setups[0]
            own = [rod for rod in inputs.rods if best_gear(rod, setup, problem.p.mismatch, inputs.longest_ft)[0] == 0.0]
            if own:
                like = own[0].name or own[0].id.replace("_", " ")
                text = f"One more rod like your {like}, for the {in_text(setup.name)}, would add most."
            else:
                text = (
                    f"A rod for the {in_text(setup.name)} would add most: {gear.power.replace('_', '-')} power, "
                    f"{gear.action.replace('_', '-')} action, {gear.reel} reel."
                )
            gaps.append(Gap("rod", setup.presentation, text, rod[0]))
    best = max(gaps, key=lambda gap: gap.gain, default=None)
    return best if best is not None and best.gain >= _WORTH_BUYING else None


def _one_more(costs: Floats) -> Floats:
    """The costs with one rod more that suits whatever it is rigged with."""
    return np.hstack([costs, np.zeros((len(costs), 1))])


def _best_swap(problem: Problem, found: Found, among: Flags, most: int) -> tuple[float, int] | None:
    """Gain and candidate of the best swap of a chosen lure for one of ``among``, or addition where a place is free."""
    best: tuple[float, int] | None = None
    bases = [[j for j in found.chosen if j != i] for i in found.chosen]
    if len(found.chosen) < most:
        bases.append(list(found.chosen))
    for base in bases:
        scores = np.where(among, with_each(problem, np.array([base], np.int64).reshape(1, -1))[0], -np.inf)
        top = int(np.argmax(scores))
        gain = float(scores[top]) - found.worth
        if np.isfinite(gain) and (best is None or gain > best[0]):
            best = (gain, top)
    return best


def _notes(inputs: RodInputs, picks: Sequence[RodPick]) -> tuple[str, ...]:
    notes = []
    if len(picks) < inputs.k:
        notes.append(
            f"Only {len(picks)} of the {inputs.k} rods that fit aboard are rigged: more would need other rods or lures."
        )
    return tuple(notes)


def _aboard(inputs: RodInputs, picks: Sequence[RodPick]) -> tuple[str, ...]:
    """How the rods lie in a kayak."""
    if not inputs.kayak:
        return ()
    out = []
    if len(picks) > 2:
        out.append("Two rods lie within reach, the others butt-first in holders with the hooks in their keepers.")
    if sum(pick.setup.trebles for pick in picks) > 1:
        out.append("One lure with trebles out at a time; cover the others.")
    return tuple(out)
