"""The numbers and words of ``config/log.toml`` as frozen values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefing.vocabulary import Cover


@dataclass(frozen=True, slots=True)
class LearningParameters:
    """How much is believed of the log, and after how much; see the file for each number."""

    limit: float
    sd_group: float
    sd_presentation: float
    sd_cell: float
    phase_link: float
    sd_day: float
    sd_spot: float
    sd_ground: float
    sd_rate: float
    usual_per_h: float
    prior_share: float
    follow_counts: float
    uncertain_counts: float
    half_life_days: float
    least_hours: float
    least_days: int
    likely_here: float
    review_outings: int
    claim_shrink: float
    claim_margin: float
    certain_better: float
    certain_worse: float
    try_share: float


@dataclass(frozen=True, slots=True)
class EffortParameters:
    """Limits of what counts as effort, minutes."""

    longest_segment_min: float
    plausible_minutes: tuple[float, float]


@dataclass(frozen=True, slots=True)
class LeadClass:
    """Forecasts by age: from ``low_h`` (included) to ``high_h`` hours before the hour they speak of."""

    name: str
    low_h: float
    high_h: float


@dataclass(frozen=True, slots=True)
class CorrectionParameters:
    """Priors of the wind's bias and spread, and when a correction is used; see the file for each number."""

    least_mornings: int
    spread_mps: float
    spread_weight: float
    overall_sd_mps: float
    sector_sd_mps: float
    sector_weight: float
    slope_sd: float
    half_life_mornings: float
    strong_from_mps: float
    most_factor: float
    held_blocks: int
    held_most: float


@dataclass(frozen=True, slots=True)
class LikeParameters:
    """Usual differences between mornings, and the words for how near one is."""

    season_days: float
    water_c: float
    wind_mps: float
    cloud_pct: float
    clarity_ratio: float
    very_like: float
    like: float
    shown: int
    fewest: int


@dataclass(frozen=True)
class LineWords:
    """Words of the one-line entry, each list longest first when read."""

    ignore: frozenset[str]
    said: Mapping[str, tuple[str, ...]]
    colour: tuple[str, ...]
    moment: Mapping[str, tuple[str, ...]]
    species: Mapping[str, tuple[str, ...]]
    cover: Mapping[Cover, tuple[str, ...]]
    presentation: Mapping[str, tuple[str, ...]]
    ambiguous: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class LogParameters:
    """Everything of ``config/log.toml``."""

    learning: LearningParameters
    effort: EffortParameters
    like: LikeParameters
    clarity: tuple[tuple[str, float], ...]  # class name and its upper edge in m, clearest last
    leads: tuple[LeadClass, ...]
    shown_mornings: int
    keep_days: int
    correction: CorrectionParameters
    words: LineWords

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> LogParameters:
        """Build from the parsed file. Raises KeyError, TypeError or ValueError naming what is wrong."""
        words, checks = data["words"], data["checks"]
        low, high = data["effort"]["plausible_minutes"]
        return cls(
            learning=LearningParameters(**data["learning"]),
            effort=EffortParameters(data["effort"]["longest_segment_min"], (low, high)),
            like=LikeParameters(**data["like"]),
            clarity=tuple(sorted(data["clarity"].items(), key=lambda item: item[1])),
            leads=tuple(LeadClass(*row) for row in checks["leads"]),
            shown_mornings=checks["shown_mornings"],
            keep_days=checks["keep_days"],
            correction=CorrectionParameters(**data["correction"]),
            words=LineWords(
                ignore=frozenset(words["ignore"]["words"]),
                said=_lists(words["said"]),
                colour=tuple(words["colour"]["words"]),
                moment=_lists(words["moment"]),
                species=_lists(words["species"]),
                cover={Cover(name): tuple(list_) for name, list_ in words["cover"].items()},
                presentation=_lists(words["presentation"]),
                ambiguous=_lists(words["ambiguous"]),
            ),
        )

    def clarity_class(self, secchi_m: float | None) -> str:
        """Name of the class of a visibility; empty when it is not known."""
        if secchi_m is None:
            return ""
        return next((name for name, edge in self.clarity if secchi_m < edge), self.clarity[-1][0])


def _lists(table: Mapping[str, Any]) -> dict[str, tuple[str, ...]]:
    return {name: tuple(words) for name, words in table.items()}
