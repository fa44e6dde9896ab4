"""``PhaseShares``: what the phase estimator hands to the briefing and the advice."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from briefing.vocabulary import Phase, SpeciesForm, Zone

#: Stages of the estimator, in order of the last-but-one axis of ``fractions``.
STAGES = ("winter", "prespawn", "nest_eggs", "larvae", "guarded_fry", "postspawn", "summer", "autumn")


@dataclass(frozen=True, slots=True)
class DateSpan:
    """A date ahead (or past) with its 80 % span; None where the season never gets there."""

    name: str  # nest_start | nest_middle | nest_end
    p10: date | None
    p50: date | None
    p90: date | None


@dataclass(frozen=True, slots=True)
class Driver:
    """One thing that moved today's shares: a sentence with its numbers, and its weight for ordering."""

    text: str
    strength: float


@dataclass(frozen=True)
class PhaseShares:
    """Population shares of one species form.

    fractions has shape (members, days, stages, zones), non-negative, summing to 1 over stages; day 0 is ``start``.
    prespawn_early has shape (members, days, zones): the part of ``prespawn`` that is early (0..1).
    zone_weight has shape (zones,): share of the lake's fish by zone.
    """

    form: SpeciesForm
    start: date
    today_index: int
    zones: tuple[Zone, ...]
    zone_weight: NDArray[np.float64]
    fractions: NDArray[np.float64]
    prespawn_early: NDArray[np.float64]
    dates: tuple[DateSpan, ...]
    pause_chance: float | None  # of a pause in spawning in the next five days
    drivers: tuple[Driver, ...]
    best_observation: str  # what to look at that would change the estimate most
    notes: tuple[str, ...] = ()
    refused: str = ""  # a clear sentence when no estimate is made

    def shown(self, index: int | None = None, zone: Zone | None = None) -> dict[Phase, tuple[float, float, float]]:
        """Shares of the shown phases on a day (default today): phase -> (mean, 10 % point, 90 % point)."""
        day = self.today_index if index is None else index
        cube = self.fractions[:, day]  # members, stages, zones
        early = self.prespawn_early[:, day]  # members, zones
        weight = np.asarray(self.zone_weight, float)
        if zone is not None:
            weight = np.zeros_like(weight)
            weight[self.zones.index(zone)] = 1.0
        weight = weight / weight.sum()
        by_stage = {name: cube[:, number] for number, name in enumerate(STAGES)}
        grouped = {
            Phase.WINTER: by_stage["winter"],
            Phase.EARLY_PRESPAWN: by_stage["prespawn"] * early,
            Phase.LATE_PRESPAWN: by_stage["prespawn"] * (1.0 - early),
            Phase.SPAWN: by_stage["nest_eggs"] + by_stage["larvae"],
            Phase.POSTSPAWN: by_stage["guarded_fry"] + by_stage["postspawn"],
            Phase.SUMMER: by_stage["summer"],
            Phase.AUTUMN: by_stage["autumn"],
        }
        share = np.stack([members @ weight for members in grouped.values()])  # phases, members
        low, high = np.quantile(share, [0.1, 0.9], axis=1)  # one call for all phases: its own overhead is most of it
        means = share.mean(axis=1)
        return {phase: (float(means[row]), float(low[row]), float(high[row])) for row, phase in enumerate(grouped)}
