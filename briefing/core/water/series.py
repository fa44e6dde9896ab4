"""``WaterSeries``: what the water engine hands to everything that depends on water temperature."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.vocabulary import Zone


@dataclass(frozen=True, slots=True)
class ReadingUse:
    """How one reading entered the estimate.

    predicted_c and predicted_sd_c are what the model said before seeing it; weight is the share (0..1) of the gap by
    which it moved the estimate; used is false when it was refused, and why says so in a sentence.
    """

    id: str
    used: bool
    weight: float
    predicted_c: float
    predicted_sd_c: float
    corrected_c: float  # after the correction for hour, depth and exposure
    why: str
    day: date | None = None
    name: str = "your reading"
    source: str = "user"

    @property
    def looks_wrong(self) -> bool:
        """Whether it lies beyond what the model can believe and no second one has borne it out."""
        return self.used and "looks wrong" in self.why


@dataclass(frozen=True)
class WaterSeries:
    """Daily mean surface temperature as an ensemble.

    members_c has shape (members, days, zones) in C; day 0 is ``start`` (a local date); zones in the order of ``zones``.
    today_index points at today. equilibrium_c (days,) is where the water is heading under that day's weather.
    """

    start: date
    today_index: int
    zones: tuple[Zone, ...]
    members_c: NDArray[np.float64]
    equilibrium_c: NDArray[np.float64]
    reading_weight: float  # share of today's estimate that rests on readings, 0..1
    days_since_reading: float | None  # None: no reading ever
    uses: tuple[ReadingUse, ...] = ()
    notes: tuple[str, ...] = ()  # sentences for the reader, such as widened gaps
    normals_only: bool = False  # true when no lake weather was at hand
    extra: dict[str, float] = field(default_factory=dict)
    iced: bool = False  # the model has ice on the lake today

    @property
    def days(self) -> int:
        """Number of days in the series."""
        return int(self.members_c.shape[1])

    def date_at(self, index: int) -> date:
        """Local date of day ``index``."""
        return self.start + timedelta(days=index)

    def zone_index(self, zone: Zone) -> int:
        """Position of a zone on the last axis."""
        return self.zones.index(zone)

    def mean_c(self, zone: Zone = Zone.MAIN) -> NDArray[np.float64]:
        """Ensemble mean by day; shape (days,)."""
        return np.asarray(self.members_c[:, :, self.zone_index(zone)].mean(axis=0), dtype=float)

    def range80_c(self, zone: Zone = Zone.MAIN) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """10 % and 90 % points by day; two arrays of shape (days,)."""
        low, high = np.quantile(self.members_c[:, :, self.zone_index(zone)], [0.1, 0.9], axis=0)
        return low, high

    def trend_c(self, days: int, zone: Zone = Zone.MAIN) -> tuple[float, float, float]:
        """Change over ``days`` up to today (negative: from today ahead): mean, 10 % and 90 % point in C."""
        column = self.members_c[:, :, self.zone_index(zone)]
        first, last = sorted((self.today_index, self.today_index - days))
        change = column[:, min(last, self.days - 1)] - column[:, max(first, 0)]
        low, high = np.quantile(change, [0.1, 0.9])
        return float(change.mean()), float(low), float(high)

    def chance_above(self, threshold_c: float, zone: Zone = Zone.MAIN) -> NDArray[np.float64]:
        """Share of members above a threshold by day; shape (days,)."""
        above = self.members_c[:, :, self.zone_index(zone)] > threshold_c
        return np.asarray(above.mean(axis=0), dtype=float)
