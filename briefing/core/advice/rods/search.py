"""The set of lures that covers the day best: greedy choice, then swaps, on the full objective."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.rods.match import cost_table, free_costs
from briefing.core.advice.rods.types import LAYERS, Floats, Need, RigSetup, RodInputs, RodParameters

_ROUNDS = 12
_STARTS = 3  # first picks the greedy choice starts from
_FIRSTS = 4  # candidates tried as the first of a new pair
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Problem:
    """The objective's tables: n candidates, m demands, r rods, s needs.

    keeps : (n, m) one minus quality; demand : (m,); costs : (n, r) or None when any rod will do;
    follows : (n, n) True where the second is a follow-up of the first; meets : (n, s), of enough use for a need.
    """

    keeps: Floats
    demand: Floats
    costs: Floats | None
    follows: Flags
    search: Flags
    lure: Ints  # the presentation of each candidate
    group: Ints
    in_group: Flags
    alike: Flags  # (n, n), False on the diagonal
    trebles: Ints
    needs: tuple[Need, ...]
    meets: Flags
    price: Floats  # of each need, where it is not met
    usable: Flags  # owned, and of use somewhere in the plan
    missing: Flags  # of use, but not owned
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
    needs = [need for need in Need if need in inputs.needs or (need is Need.FIRST and inputs.first)]
    able = np.array([[one_meets(setup, need, inputs.first) for need in needs] for setup in setups], bool)
    able = able.reshape(n, len(needs))
    least = np.array([_least(need, p) for need in needs], float)
    possible = quality.max(axis=1, initial=0.0) > 0.0
    length = np.linalg.norm(quality, axis=1)
    cosine = _products(quality, quality) / np.maximum(np.outer(length, length), 1e-12)
    return Problem(
        keeps=1.0 - quality,
        demand=np.array([cell.weight for cell in inputs.cells]),
        costs=costs,
        follows=_follow_table(setups),
        search=np.array([setup.pace == "search" for setup in setups], bool),
        lure=np.unique([setup.presentation for setup in setups], return_inverse=True)[1].astype(np.int64),
        group=np.array([groups.index(setup.group) for setup in setups], np.int64),
        in_group=np.array([[setup.group == name for name in groups] for setup in setups], bool).reshape(n, len(groups)),
        alike=(cosine > p.aim.overlap_cosine) & ~np.eye(n, dtype=bool),
        trebles=np.array([setup.trebles for setup in setups], np.int64),
        needs=tuple(needs),
        meets=able & (quality.max(axis=1, initial=0.0)[:, None] >= least[None, :]),
        price=np.array([_price(need, p) for need in needs], float),
        usable=np.array([setup.owned for setup in setups], bool) & possible,
        missing=np.array([not setup.owned for setup in setups], bool) & possible,
        k=min(inputs.k, len(inputs.rods)) if inputs.rods else inputs.k,
        kayak=inputs.kayak,
        p=p,
    )


def _products(a: Floats, b: Floats) -> Floats:
    """Products of all rows of two tables; a matrix product would start threads that cost more than they save."""
    return np.asarray(np.einsum("im,jm->ij", a, b), float)


def _follow_table(setups: Sequence[RigSetup]) -> Flags:
    """(n, n), True where the second candidate is a follow-up of the first."""
    names = {setup.presentation: setup.follow_up for setup in setups}
    number = {name: i for i, name in enumerate(names)}
    table = np.array([[other in follow for other in names] for follow in names.values()], bool)
    index = np.array([number[setup.presentation] for setup in setups], np.int64)
    pairs = table.reshape(len(names), len(names))[np.ix_(index, index)]
    return np.asarray(pairs & (index[:, None] != index[None, :]), bool)


def _least(need: Need, p: RodParameters) -> float:
    """Of how much use a lure must be somewhere to meet a need."""
    if need is Need.FIRST:
        return 0.0
    return p.demand.layer_useful if need in LAYERS else p.demand.useful


def _price(need: Need, p: RodParameters) -> float:
    """What it costs not to meet a need."""
    if need is Need.FIRST:
        return p.aim.first
    return p.aim.layer if need in LAYERS else p.aim.unmet


def one_meets(setup: RigSetup, need: Need, first: str = "") -> bool:
    """True when a lure is of the kind that a need asks for, wherever it serves; ``first`` is the day's first lure."""
    if need is Need.FIRST:
        return setup.presentation == first
    if need is Need.SEARCH or need is Need.SLOW:
        return setup.pace == need.value
    if need is Need.SPINNING:
        return any(gear.reel == "spinning" for gear in setup.setups)
    return setup.weedless if need is Need.WEEDLESS else setup.layer is need


def coverage(problem: Problem, chosen: Sequence[int]) -> float:
    """Share of the day that the lures cover: ``sum w (1 - prod (1 - q))``, monotone and submodular in the set."""
    return float(problem.demand @ (1.0 - np.prod(problem.keeps[list(chosen)], axis=0)))


def with_each(problem: Problem, bases: Ints) -> Floats:
    """Objective of each base set plus each candidate in turn.

    bases is (b, s), rows of distinct candidates; the result is (b, n), -inf where no rod is left for the candidate or
    its lure is in the base at any weight. Coverage of the demands, plus follow-up pairs and variety, minus trebles
    beyond two in a kayak, lures that serve the same places, steps between lures and rods (by exact assignment) and
    unmet needs.
    """
    aim = problem.p.aim
    keep = problem.keeps[bases].prod(axis=1)
    total = problem.demand.sum() - _products(problem.demand * keep, problem.keeps)
    total += aim.follow_up * _pairs_with(problem, bases) + aim.variety * _variety_with(problem, bases)
    if problem.kayak:
        trebles = problem.trebles[bases].sum(axis=1)[:, None] + problem.trebles
        total -= aim.extra_treble * np.maximum(trebles - 2, 0)
    among = problem.alike[bases[:, :, None], bases[:, None, :]].sum(axis=(1, 2)) // 2
    total -= aim.overlap * (among[:, None] + problem.alike[bases].sum(axis=1))
    total -= _unmet_with(problem, bases)
    if problem.costs is not None:
        free = free_costs(problem.costs[bases])
        total -= aim.mismatch * (free[:, None, :] + problem.costs[None]).min(axis=2)
    rigged = np.asarray((problem.lure[bases][:, :, None] == problem.lure[None, None, :]).any(axis=1), bool)
    total[rigged] = -np.inf
    return np.asarray(total, float)


def _pairs_with(problem: Problem, bases: Ints) -> Floats:
    """Share of the search lures whose follow-up is rigged, for each base plus each candidate."""
    searching = problem.search[bases]
    had = np.asarray(problem.follows[bases[:, :, None], bases[:, None, :]].any(axis=2), bool)
    served = (had[:, :, None] | problem.follows[bases]) & searching[:, :, None]
    own = problem.search & problem.follows.T[bases].any(axis=1)
    count = searching.sum(axis=1)[:, None] + problem.search
    return np.asarray((served.sum(axis=1) + own) / np.maximum(count, 1), float)


def _variety_with(problem: Problem, bases: Ints) -> Floats:
    have = np.asarray(problem.in_group[bases].any(axis=1), bool)
    new = ~have[:, problem.group]
    return np.asarray((have.sum(axis=1)[:, None] + new) / problem.k, float)


def _unmet_with(problem: Problem, bases: Ints) -> Floats:
    """Price of the needs that are not met, for each base plus each candidate."""
    met = np.asarray(problem.meets[bases].any(axis=1), bool)
    return np.asarray((~(met[:, None, :] | problem.meets[None]) * problem.price).sum(axis=2), float)


@dataclass(frozen=True, slots=True)
class Found:
    """The chosen candidates (indices, ascending) and their objective."""

    chosen: tuple[int, ...]
    worth: float


def objective(problem: Problem, chosen: Sequence[int]) -> float:
    """Objective of a whole set."""
    *base, last = chosen
    return float(with_each(problem, np.array([base], np.int64).reshape(1, -1))[0, last])


def search_set(problem: Problem) -> Found:
    """Greedy choice of k owned candidates from several first picks, then single and double swaps until none helps.

    Greedy alone keeps 63 % of the best coverage (Nemhauser, Wolsey and Fisher 1978); with swaps, sets of the size here
    are most often the best there is. Fewer than k when rods or lures run out.
    """
    starts = [_swap(problem, chosen, worth) for chosen, worth in _greedy(problem)]
    chosen, worth = max(starts, key=lambda item: item[1], default=([], -np.inf))
    while len(chosen) > 1:
        better = _swap_pair(problem, chosen, worth)
        if better is None:
            break
        chosen, worth = _swap(problem, *better)
    return Found(tuple(sorted(chosen)), worth)


def _owned_with_each(problem: Problem, bases: Ints) -> Floats:
    return np.where(problem.usable, with_each(problem, bases), -np.inf)


def _greedy(problem: Problem) -> list[tuple[list[int], float]]:
    """Greedy sets grown side by side from the best few first picks; those of the greatest size, best first."""
    n = len(problem.keeps)
    if not n:
        return []
    first = _owned_with_each(problem, np.zeros((1, 0), np.int64))[0]
    starts = [int(i) for i in np.argsort(-first, kind="stable")[:_STARTS] if first[i] > -np.inf]
    if not starts:
        return []
    sets, worth = np.array(starts)[:, None], first[starts]
    while sets.shape[1] < problem.k:
        scores = _owned_with_each(problem, sets)
        top = scores.argmax(axis=1)
        reached = scores[np.arange(len(sets)), top]
        grown = reached > -np.inf
        if not grown.any():
            break
        sets, worth = np.hstack([sets, top[:, None]])[grown], reached[grown]
    order = np.argsort(-worth, kind="stable")
    unique = {tuple(sorted(sets[i].tolist())): float(worth[i]) for i in order}
    return [(list(chosen), value) for chosen, value in unique.items()]


def _swap(problem: Problem, chosen: list[int], worth: float) -> tuple[list[int], float]:
    """Exchange single lures while that helps."""
    k = len(chosen)
    for _ in range(_ROUNDS):
        bases = np.array([[i for place, i in enumerate(chosen) if place != out] for out in range(k)], np.int64)
        scores = _owned_with_each(problem, bases.reshape(k, k - 1))
        out, top = np.unravel_index(int(scores.argmax()), scores.shape)
        if scores[out, top] <= worth + 1e-9:
            break
        chosen, worth = [*bases.reshape(k, k - 1)[out].tolist(), int(top)], float(scores[out, top])
    return chosen, worth


def _swap_pair(problem: Problem, chosen: list[int], worth: float) -> tuple[list[int], float] | None:
    """The best exchange of two lures for two others, of which the first is one of the best few alone."""
    k = len(chosen)
    pairs = [[i for i in chosen if i not in pair] for pair in combinations(chosen, 2)]
    bases = np.array(pairs, np.int64).reshape(len(pairs), k - 2)
    scores = _owned_with_each(problem, bases)
    firsts = np.argsort(-scores, axis=1, kind="stable")[:, :_FIRSTS]
    rows, columns = np.nonzero(np.take_along_axis(scores, firsts, 1) > -np.inf)
    if not len(rows):
        return None
    grown = np.hstack([bases[rows], firsts[rows, columns][:, None]])
    second = _owned_with_each(problem, grown)
    row, top = np.unravel_index(int(second.argmax()), second.shape)
    if second[row, top] <= worth + 1e-9:
        return None
    return [*grown[row].tolist(), int(top)], float(second[row, top])


def marginal(problem: Problem, chosen: Sequence[int]) -> Floats:
    """Share of each demand that only this lure covers, (k, m), weighted by the demand."""
    rows = []
    for i in chosen:
        others = [j for j in chosen if j != i]
        rows.append(problem.demand * np.prod(problem.keeps[others], axis=0) * (1.0 - problem.keeps[i]))
    return np.array(rows).reshape(len(chosen), len(problem.demand))
