"""What goes into the seasonal phase estimator and what comes out of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.shares import PhaseShares
from briefing.vocabulary import LakeKind, Phase

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class PhaseSite:
    """The water whose fish are followed. Depth in m, area in km2; None where not known."""

    latitude_deg: float
    longitude_deg: float
    lake_kind: LakeKind
    elevation_m: float | None = None
    mean_depth_m: float | None = None
    area_km2: float | None = None
    secchi_m: float | None = None


@dataclass(frozen=True, slots=True)
class LearnedSeason:
    """What one season of field signs said about a lake: its own threshold offset in C (mean, sd), and visits."""

    season: int  # the calendar year in which the season's nests fall
    offset_mean_c: float
    offset_sd_c: float
    visits: int


@dataclass(frozen=True, slots=True)
class PhaseLearned:
    """Seasons learned from, oldest first; a run reads only seasons before its own, so nothing counts twice."""

    seasons: tuple[LearnedSeason, ...] = ()

    def before(self, season: int) -> LearnedSeason | None:
        """Return the newest entry older than ``season``, or None."""
        older = [entry for entry in self.seasons if entry.season < season]
        return max(older, key=lambda entry: entry.season) if older else None

    def without(self, season: int) -> PhaseLearned:
        """Return a copy without the entry of ``season``."""
        return PhaseLearned(tuple(entry for entry in self.seasons if entry.season != season))

    def with_season(self, entry: LearnedSeason) -> PhaseLearned:
        """Return a copy in which ``entry`` replaces the one of its season."""
        kept = self.without(entry.season).seasons
        return PhaseLearned(tuple(sorted([*kept, entry], key=lambda one: one.season)))


@dataclass(frozen=True)
class PhaseState:
    """The population at the end of ``last_day``, kept between runs.

    boxes has shape (boxes, cohorts, zones, particles); ``history`` holds what a run needs of the days before (see
    ``memory``). A state is used only when ``fingerprint`` (inputs of the past) agrees; otherwise the season is
    replayed. ``memory.pack`` and ``memory.unpack`` turn it into bytes for a store and back.
    """

    fingerprint: str
    last_day: int
    boxes: Singles
    history: dict[str, NDArray[Any]] = field(default_factory=dict)


@dataclass(frozen=True)
class PhaseCurve:
    """The season day by day for the whole lake; arrays have shape (days, phases), or (days,) for nests started.

    Day 0 is ``start``; low and high are the 10 % and 90 % points over particles.
    """

    start: date
    today_index: int
    phases: tuple[Phase, ...]
    mean: Floats
    low: Floats
    high: Floats
    nests_started: Floats  # mean share of the season's nests begun, 0..1
    nest_water_c: Floats  # mean nest-depth temperature of the main bank


@dataclass(frozen=True)
class PhaseTiming:
    """Day of the season (with fraction; day 0 is ``start``) of each event under each particle, and the weights.

    days maps nest_start, nest_middle, nest_end, hatch_start, hatch_middle, hatch_end (5, 50, 95 %) to (particles,); NaN
    where a particle has no nests.
    """

    start: date
    days: dict[str, Floats]
    weights: Floats


@dataclass(frozen=True)
class PhaseResult:
    """All that a run of the estimator gives.

    ``shares`` follow the males, which hold the nests. female_spent is the mean share of females that have laid.
    offset_mean_c and offset_sd_c describe the lake's own threshold offset after this season's signs.
    """

    shares: PhaseShares
    state: PhaseState | None
    learned: PhaseLearned
    curve: PhaseCurve | None
    timing: PhaseTiming | None = None
    female_spent: float | None = None
    offset_mean_c: float = 0.0
    offset_sd_c: float = 0.0
    effective_particles: float = 0.0
    advanced_days: int | None = None  # days run on from a kept state; None: the season was replayed
