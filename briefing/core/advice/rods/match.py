"""Matches lures with rods: steps between what a lure asks for and a rod, and the exact cheapest assignment."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.conditions import OwnedRod
from briefing.core.advice.presentation import Setup
from briefing.core.advice.rods.types import Floats, MismatchWeights, RigSetup

POWERS = ("ultralight", "light", "medium_light", "medium", "medium_heavy", "heavy", "extra_heavy")
ACTIONS = ("slow", "moderate", "moderate_fast", "fast", "extra_fast")


def mismatch(rod: OwnedRod, gear: Setup, w: MismatchWeights, longest_ft: float | None = None) -> float:
    """Steps off between a rod and a set-up: power words, half a step an action word, line, reel, diameter, length.

    What isn't known of the rod counts nothing. 0 is what the lure asks for; over ``w.forbidden`` it isn't used.
    """
    steps = _words_off(POWERS, rod.power, gear.power) + w.action_step * _words_off(ACTIONS, rod.action, gear.action)
    steps += w.wrong_reel * (rod.reel != gear.reel)
    steps += w.wrong_line * (rod.line is not None and rod.line != gear.line.kind)
    if rod.line_mm is not None:
        low, high = gear.line.diameter_mm
        off = max(low / rod.line_mm, rod.line_mm / high) - 1
        steps += w.diameter_off * (off > w.diameter_tolerance)
    return steps + w.too_long * (longest_ft is not None and rod.length_ft > longest_ft + 1e-6)


def gear_steps(first: Setup, second: Setup, w: MismatchWeights) -> float:
    """Steps between two set-ups: power, action, reel and kind of line."""
    steps = _words_off(POWERS, first.power, second.power) + w.action_step * _words_off(
        ACTIONS, first.action, second.action
    )
    steps += w.wrong_reel * (first.reel != second.reel)
    return steps + w.wrong_line * (first.line.kind != second.line.kind)


def _words_off(words: Sequence[str], found: str, wanted: str) -> float:
    if found not in words or wanted not in words:
        return 0.0
    return float(abs(words.index(found) - words.index(wanted)))


def best_gear(rod: OwnedRod, setup: RigSetup, w: MismatchWeights, longest_ft: float | None) -> tuple[float, Setup]:
    """The set-up of a presentation that a rod comes nearest to, with the steps off."""
    return min(((mismatch(rod, gear, w, longest_ft), gear) for gear in setup.setups), key=lambda pair: pair[0])


def cost_table(
    setups: Sequence[RigSetup], rods: Sequence[OwnedRod], w: MismatchWeights, longest_ft: float | None
) -> Floats:
    """Steps off of every candidate on every rod, (n, r); inf where the rod doesn't take it."""
    rows: dict[tuple[Setup, ...], list[float]] = {}
    for setup in setups:
        if setup.setups not in rows:
            rows[setup.setups] = [best_gear(rod, setup, w, longest_ft)[0] for rod in rods]
    table = np.array([rows[setup.setups] for setup in setups]).reshape(len(setups), len(rods))
    return np.where(table > w.forbidden, np.inf, table)


def assign(costs: Floats) -> tuple[float, tuple[int, ...]]:
    """Cheapest injective match of k rows to r columns, exactly (dynamic programming over sets of rows).

    Returns the cost and the column of each row; ``(inf, ())`` when there is none. k up to about 10.
    """
    k, r = costs.shape
    best: list[tuple[float, tuple[int, ...]]] = [(np.inf, ())] * (1 << k)
    best[0] = (0.0, (-1,) * k)
    for column in range(r):
        for mask in range((1 << k) - 1, 0, -1):
            for row in range(k):
                if mask >> row & 1:
                    cost, columns = best[mask ^ (1 << row)]
                    total = cost + float(costs[row, column])
                    if total < best[mask][0]:
                        best[mask] = (total, (*columns[:row], column, *columns[row + 1 :]))
    cost, columns = best[-1]
    return (cost, columns) if np.isfinite(cost) else (np.inf, ())


def free_costs(costs: Floats) -> Floats:
    """Cheapest match of all k rows without each column in turn: what is left free for one lure more.

    costs is (b, k, r), b problems side by side; the result is (b, r), inf where no match is left. Sets of rows matched
    by the columns before and after the left-out one are combined, so the whole costs little more than one assignment.
    """
    b, k, r = costs.shape
    before, after = _prefix(costs), _prefix(costs[:, :, ::-1])[:, ::-1]
    full = (1 << k) - 1
    rest = full ^ np.arange(full + 1)
    return np.asarray((before[:, :-1] + after[:, 1:][:, :, rest]).min(axis=2), float).reshape(b, r)


def _prefix(costs: Floats) -> Floats:
    """Cheapest match of each set of rows into the first c columns, (b, r + 1, 2^k)."""
    b, k, r = costs.shape
    without, barred = _sets(k)
    table = np.full((b, r + 1, 1 << k), np.inf)
    table[:, 0, 0] = 0.0
    for c in range(r):
        taken = table[:, c][:, without] + (costs[:, :, c, None] + barred)
        table[:, c + 1] = np.minimum(table[:, c], taken.min(axis=1, initial=np.inf))
    return table


@lru_cache(maxsize=16)
def _sets(k: int) -> tuple[NDArray[np.int64], Floats]:
    """For each row and set of rows: the set without the row, and inf where the row isn't in it; both (k, 2^k)."""
    masks, rows = np.arange(1 << k)[None, :], np.arange(k)[:, None]
    has = (masks >> rows & 1).astype(bool)
    return masks & ~(1 << rows), np.where(has, 0.0, np.inf)
