"""From particles to what is shown: members of equal weight, the season's curve, the females."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.chain import EARLY, Record
from briefing.core.phase.season import HALF_YEAR, Season
from briefing.core.phase.shares import STAGES
from briefing.vocabulary import Phase

Floats = NDArray[np.float64]

#: Members of equal weight handed on to the rest of the program.
SHOWN_MEMBERS = 200
#: Days before and after today whose shares are handed on by zone.
DAYS_BACK = 7
DAYS_AHEAD = 45
PHASES = tuple(Phase)


@dataclass(frozen=True)
class Curves:
    """Mean, 10 % and 90 % points by day and shown phase; (days, phases) each."""

    mean: Floats
    low: Floats
    high: Floats

    def then(self, later: Curves) -> Curves:
        """These days, then those of ``later``."""
        pairs = ((self.mean, later.mean), (self.low, later.low), (self.high, later.high))
        return Curves(*(np.concatenate(pair) for pair in pairs))


def equal_members(weights: Floats, count: int = SHOWN_MEMBERS) -> NDArray[np.intp]:
    """Pick particles in proportion to their weights, evenly and without chance (systematic resampling)."""
    points = (np.arange(count) + 0.5) / count
    return np.minimum(np.searchsorted(np.cumsum(weights), points), weights.size - 1)


def shown_phases(lake: Floats) -> Floats:
    """Group stages into the shown phases; (..., channels, particles) gives (..., phases, particles)."""
    stage = {name: lake[..., number, :] for number, name in enumerate(STAGES)}
    early = np.minimum(lake[..., EARLY, :], stage["prespawn"])
    groups = {
        Phase.WINTER: stage["winter"],
        Phase.EARLY_PRESPAWN: early,
        Phase.LATE_PRESPAWN: stage["prespawn"] - early,
        Phase.SPAWN: stage["nest_eggs"] + stage["larvae"],
        Phase.POSTSPAWN: stage["guarded_fry"] + stage["postspawn"],
        Phase.SUMMER: stage["summer"],
        Phase.AUTUMN: stage["autumn"],
    }
    return np.stack([groups[phase] for phase in PHASES], axis=-2)


def curves(record: Record, members: NDArray[np.intp], days: slice) -> Curves:
    """Curves of the whole lake over ``days``, from members of equal weight."""
    grouped = shown_phases(np.take(record.lake[days], members, axis=2).astype(float))
    total = grouped.sum(axis=1, keepdims=True)
    grouped /= np.where(total > 0, total, 1.0)
    low, high = round(0.1 * (members.size - 1)), round(0.9 * (members.size - 1))
    ordered = np.partition(grouped, (low, high), axis=2)
    return Curves(grouped.mean(axis=2), ordered[..., low], ordered[..., high])


def zone_cube(record: Record, members: NDArray[np.intp], days: range) -> tuple[Floats, Floats]:
    """Fractions (members, days, stages, zones) summing to 1, and the early part of pre-spawn (members, days, zones)."""
    cube = np.stack([np.take(record.zones[day], members, axis=2) for day in days]).astype(float)
    stages = np.maximum(cube[:, : len(STAGES)], 0.0)
    stages /= stages.sum(axis=1, keepdims=True)
    staging = cube[:, STAGES.index("prespawn")]
    early = np.clip(np.divide(cube[:, EARLY], staging, out=np.zeros_like(staging), where=staging > 1e-9), 0.0, 1.0)
    return np.ascontiguousarray(stages.transpose(3, 0, 1, 2)), np.ascontiguousarray(early.transpose(2, 0, 1))


def females_spent(stages: dict[str, float], season: Season, today: int) -> float | None:
    """Mean share of the females that have laid; None outside spring. Half of the nests with eggs still hold one."""
    since = season.since_solstice[today]
    if not -20 < since < HALF_YEAR + 40:
        return None
    done = stages["larvae"] + stages["guarded_fry"] + stages["postspawn"] + 0.5 * stages["nest_eggs"]
    return float(done + (stages["summer"] if since > 30 else 0.0))
