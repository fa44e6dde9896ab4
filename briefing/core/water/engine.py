"""The water-temperature engine for one lake: air and readings in, an ensemble of daily temperatures out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from typing import Any

from briefing.core.climate.normals import AirNormals
from briefing.core.readings import DailyAir, WaterReading
from briefing.core.water.parameters import WaterParameters
from briefing.core.water.series import WaterSeries
from briefing.core.water.site import WaterSite


@dataclass(frozen=True, slots=True)
class LakeLearned:
    """What the readings have taught about one lake, to be kept in the store.

    mean and covariance are over (flux offset W/m2, its yearly cosine and sine W/m2, ln depth factor, ln exchange factor).
    """

    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    readings: int
    until: date | None

    def to_mapping(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "mean": list(self.mean),
            "covariance": [list(row) for row in self.covariance],
            "readings": self.readings,
            "until": None if self.until is None else self.until.isoformat(),
        }

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> LakeLearned:
        """Read what ``to_mapping`` wrote."""
        until = mapping["until"]
        return cls(
            tuple(float(value) for value in mapping["mean"]),
            tuple(tuple(float(value) for value in row) for row in mapping["covariance"]),
            int(mapping["readings"]),
            None if until is None else date.fromisoformat(until),
        )


@dataclass(frozen=True, slots=True)
class SkillRow:
    """One past reading against what the model said before it saw it."""

    id: str
    day: date
    reading_c: float
    predicted_c: float
    predicted_sd_c: float
    error_c: float  # predicted minus reading
    inside80: bool


@dataclass(frozen=True)
class WaterState:
    """The filter at the start of a day, and the days before it; plain values inside, for the store.

    Handing back a state saves the rerun of the past: it is used when its ``key`` still fits the inputs before
    ``day``, and left aside otherwise.
    """

    key: str
    day: date
    content: Mapping[str, Any]

    def to_mapping(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {"key": self.key, "day": self.day.isoformat(), "content": dict(self.content)}

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> WaterState:
        """Read what ``to_mapping`` wrote."""
        return cls(str(mapping["key"]), date.fromisoformat(mapping["day"]), mapping["content"])


@dataclass(frozen=True)
class WaterResult:
    """Series, what was learned, the state to keep, and how good the model has been here (oldest first)."""

    series: WaterSeries
    learned: LakeLearned
    state: WaterState
    skill: tuple[SkillRow, ...]


def run_water(
    site: WaterSite,
    air: DailyAir,
    normals: AirNormals,
    readings: Sequence[WaterReading],
    parameters: WaterParameters,
    *,
    now: datetime,
    timezone: tzinfo,
    today: date | None = None,
    learned: LakeLearned | None = None,
    members: int = 64,
    seed: int = 0,
    state: WaterState | None = None,
) -> WaterResult:
    """Estimate the surface temperature from last winter to ten days ahead.

    Parameters
    ----------
    site, normals, parameters
        The lake, its air normals and the pooled numbers.
    air
        Daily mean air temperature; days before its start, after its end or NaN are filled from the normals and the
        range widens. May be empty: then the series rests on normals alone.
    readings
        In any order; each is used or refused with a sentence in ``series.uses``.
    now, timezone
        Aware instant and the lake's time zone; a reading later than ``now`` is refused.
    today
        Local date the series is for; the date of ``now`` at the lake when left out.
    learned
        What earlier readings taught, for the readings no longer handed in.
    members, seed
        Size and seed of the ensemble; the same inputs give the same members.
    state
        What an earlier call returned; saves time, changes nothing.
    """
    raise NotImplementedError
