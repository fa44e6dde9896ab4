"""The set of lures that covers the day best: greedy choice, then swaps, on the full objective."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.rods.match import cost_table, free_costs
from briefing.core.advice.rods.types import Floats, Need, RigSetup, RodInputs, RodParameters

_ROUNDS = 12
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Problem:
    """The objective's tables: n candidates, m demands, r rods, s needs.

    keeps : (n, m) one minus quality; demand : (m,); costs : (n, r) or None when any rod will do;
    follows : (n, n) True where the second is a follow-up of the first; meets : (n, s).
    """

    keeps: Floats
    demand: Floats
    costs: Floats | None
    follows: Flags
    search: Flags
    group: Ints
    groups: int
    layer: Ints
    alike: Flags
    trebles: Ints
    meets: Flags
    two_layers: bool
    usable: Flags
    k: int
    kayak: bool
    p: RodParameters


def pose(inputs: RodInputs, p: RodParameters) -> Problem:
    """Lay the inputs out as tables. Raises ``ValueError`` for k outside 1-6 or a quality of another shape."""
    n, m = len(inputs.setups), len(inputs.cells)
    if inputs.quality.shape != (n, m):
        raise ValueError(f"quality must have shape {(n, m)}, has {inputs.quality.shape}")
    if not 1 <= inputs.k <= 6:
        raise ValueError(f"k must be 1 to 6, got {inputs.k}")
    setups = inputs.setups
    quality = np.clip(np.nan_to_num(inputs.quality, nan=0.0), 0.0, 1.0)
    groups = sorted({setup.group for setup in setups})
    costs = cost_table(setups, inputs.rods, p.mismatch, inputs.longest_ft) if inputs.rods else None
    needs = [need for need in Need if need in inputs.needs and need is not Need.LAYERS]
    length = np.linalg.norm(quality, axis=1)
    cosine = (quality @ quality.T) / np.maximum(np.outer(length, length), 1e-12)
    return Problem(
        keeps=1.0 - quality,
        demand=np.array([cell.weight for cell in inputs.cells]),
        costs=costs,
        follows=_follow_table(setups),
        search=np.array([setup.pace == "search" for setup in setups], bool),
        group=np.array([groups.index(setup.group) for setup in setups], np.int64),
        groups=len(groups),
        layer=np.array([setup.layer for setup in setups], np.int64),
        alike=cosine > p.aim.overlap_cosine,
        trebles=np.array([setup.trebles for setup in setups], np.int64),
        meets=np.array([[_meets(setup, need) for need in needs] for setup in setups], bool).reshape(n, len(needs)),
        two_layers=Need.LAYERS in inputs.needs,
        usable=np.array([setup.owned for setup in setups], bool),
        k=min(inputs.k, len(inputs.rods)) if inputs.rods else inputs.k,
        kayak=inputs.kayak,
        p=p,
    )


def _follow_table(setups: Sequence[RigSetup]) -> Flags:
    """(n, n), True where the second candidate is a follow-up of the first."""
    names = {setup.presentation: setup.follow_up for setup in setups}
    number = {name: i for i, name in enumerate(names)}
    table = np.array([[other in follow for other in names] for follow in names.values()], bool)
    index = np.array([number[setup.presentation] for setup in setups], np.int64)
    return table.reshape(len(names), len(names))[np.ix_(index, index)]


def _meets(setup: RigSetup, need: Need) -> bool:
    if need is Need.SEARCH or need is Need.SLOW:
        return setup.pace == need.value
    if need is Need.SPINNING:
        return any(gear.reel == "spinning" for gear in setup.setups)
    return setup.weedless if need is Need.WEEDLESS else setup.surface


def coverage(problem: Problem, chosen: Sequence[int]) -> float:
    """Share of the day that the lures cover: ``sum w (1 - prod (1 - q))``, monotone and submodular in the set."""
    return float(problem.demand @ (1.0 - np.prod(problem.keeps[list(chosen)], axis=0)))


def with_each(problem: Problem, base: Sequence[int]) -> Floats:
    """Objective of ``base`` plus each candidate in turn, (n,); -inf where no rod is left for it or it is in ``base``.

    Coverage of the demands, plus follow-up pairs and variety, minus trebles beyond two in a kayak, lures that serve the
    same places, steps between lures and rods (by exact assignment) and unmet needs.
    """
    aim = problem.p.aim
    chosen = list(base)
    keep = np.prod(problem.keeps[chosen], axis=0)
    total = problem.demand.sum() - problem.keeps @ (problem.demand * keep)
    total = total + aim.follow_up * _pairs_with(problem, chosen) + aim.variety * _variety_with(problem, chosen)
    if problem.kayak:
        total -= aim.extra_treble * np.maximum(problem.trebles[chosen].sum() + problem.trebles - 2, 0)
    among = int(np.triu(problem.alike[np.ix_(chosen, chosen)], 1).sum())
    total -= aim.overlap * (among + problem.alike[:, chosen].sum(axis=1))
    total -= aim.unmet * _unmet_with(problem, chosen)
    total -= aim.mismatch * _steps_with(problem, chosen)
    total[chosen] = -np.inf
    return np.asarray(total, float)


def _pairs_with(problem: Problem, chosen: list[int]) -> Floats:
    """Share of the search lures whose follow-up is rigged, for ``chosen`` plus each candidate."""
    searching = [i for i in chosen if problem.search[i]]
    had = np.asarray(problem.follows[np.ix_(searching, chosen)].any(axis=1), bool)
    pairs = (had[:, None] | problem.follows[searching]).sum(axis=0)
    own = problem.search & problem.follows[:, chosen].any(axis=1)
    count = len(searching) + problem.search
    return np.asarray(np.where(count > 0, (pairs + own) / np.maximum(count, 1), 0.0), float)


def _variety_with(problem: Problem, chosen: list[int]) -> Floats:
    have = np.zeros(problem.groups, bool)
    have[problem.group[chosen]] = True
    return np.asarray((have.sum() + ~have[problem.group]) / problem.k, float)


def _unmet_with(problem: Problem, chosen: list[int]) -> Floats:
    met = np.asarray(problem.meets[chosen].any(axis=0), bool)
    unmet = np.asarray((~(met[None, :] | problem.meets)).sum(axis=1), float)
    if problem.two_layers:
        layers = set(problem.layer[chosen].tolist())
        single = len(layers) < 2
        unmet += single & np.isin(problem.layer, list(layers) if layers else problem.layer)
    return np.asarray(unmet, float)


def _steps_with(problem: Problem, chosen: list[int]) -> Floats:
    """Steps of the cheapest match of ``chosen`` plus each candidate, exactly."""
    if problem.costs is None:
        return np.zeros(len(problem.keeps))
    free = free_costs(problem.costs[chosen])
    return np.asarray(np.min(free[None, :] + problem.costs, axis=1), float)


@dataclass(frozen=True, slots=True)
class Found:
    """The chosen candidates (indices, ascending) and their objective."""

    chosen: tuple[int, ...]
    worth: float


def objective(problem: Problem, chosen: Sequence[int]) -> float:
    """Objective of a whole set."""
    *base, last = chosen
    return float(with_each(problem, base)[last])


def search_set(problem: Problem) -> Found:
    """Greedy choice of k owned candidates, then the best single swaps until none helps.

    Greedy alone keeps 63 % of the best coverage (Nemhauser, Wolsey and Fisher 1978); with swaps, sets of the size here
    come within a few per cent of the best, most often the best itself. Fewer than k when rods or lures run out.
    """
    chosen: list[int] = []
    worth = -np.inf
    for _ in range(problem.k):
        scores = np.where(problem.usable, with_each(problem, chosen), -np.inf)
        best = int(np.argmax(scores)) if len(scores) else -1
        if best < 0 or scores[best] == -np.inf:
            break
        chosen.append(best)
        worth = float(scores[best])
    return _swap(problem, chosen, worth)


def _swap(problem: Problem, chosen: list[int], worth: float) -> Found:
    for _ in range(_ROUNDS):
        best: tuple[float, int, int] = (worth + 1e-9, -1, -1)
        for place in range(len(chosen)):
            base = chosen[:place] + chosen[place + 1 :]
            scores = np.where(problem.usable, with_each(problem, base), -np.inf)
            top = int(np.argmax(scores))
            if scores[top] > best[0]:
                best = (float(scores[top]), place, top)
        if best[1] < 0:
            break
        worth, place, top = best
        chosen[place] = top
    return Found(tuple(sorted(chosen)), worth)


def marginal(problem: Problem, chosen: Sequence[int]) -> Floats:
    """Share of each demand that only this lure covers, (k, m), weighted by the demand."""
    rows = []
    for i in chosen:
        others = [j for j in chosen if j != i]
        rows.append(problem.demand * np.prod(problem.keeps[others], axis=0) * (1.0 - problem.keeps[i]))
    return np.array(rows).reshape(len(chosen), len(problem.demand))
