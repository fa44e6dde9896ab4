"""``RankingRules``: how the ranking weighs its factors, read from one parsed file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from briefing.vocabulary import Phase


@dataclass(frozen=True, slots=True)
class CoverRules:
    """Cover fit, snags, and where fish stand in grass and under a roof (m)."""

    least_fit: float
    snag_cost: float
    roof_fish_m: float
    under_roof_m: float
    over_tops_m: float
    into_grass_m: float
    wall_m: float
    over_crowns_m: float
    over_bottom_m: float
    upright_part: float
    under_floats_m: tuple[float, float]
    floats_from_m: float


@dataclass(frozen=True, slots=True)
class DepthRules:
    """How far a lure calls fish up (m), by mood, and how light moves fish of a wide spot."""

    cap_m: float
    cap_surface_m: float
    taper: float
    reach_active: float
    reach_neutral: float
    reach_negative: float
    light_shift_secchi: float
    light_shift_most_m: float
    most_band_m: float


@dataclass(frozen=True, slots=True)
class MoodRules:
    """Steps of the expected mood; negative, neutral and active are one step apart."""

    approaching: float
    passage: float
    day1: float
    day2: float
    recovering: float
    warming_cold_water: float
    cooling_cold_water: float
    cold_below_c: float
    warming_from_c: tuple[float, float]
    cooling_from_c: tuple[float, float]
    pressured: float
    hot_above_c: float
    hot: float
    hot_low_sun: float
    low_oxygen: float
    moving_water: float
    fresh_wind_mps: tuple[float, float]
    low_sun: float
    low_sun_c: tuple[float, float]


@dataclass(frozen=True, slots=True)
class FactorRules:
    """Factors and limits of the interaction rules."""

    forage_missing: float
    loud_on_pressured: float
    finesse_on_pressured: float
    windward_hard_cover: float
    conceal_secchi_m: float
    night_secchi_m: float
    change_log: float
    level_change_m: tuple[float, float]
    learned_limit: float
    heavy_in_waves: float
    front_full_drop_c: float
    front_deep_or_moving: float
    front_florida_strain: float
    front_quiet_h: tuple[float, float]
    front_quiet_search: float
    front_quiet_slow: float
    ahead_search: float
    ahead_slow: float
    dawn_surface: float
    dawn_open: float
    dawn_search: float
    dawn_slow: float
    dawn_from_c: tuple[float, float]
    dawn_shallow_m: tuple[float, float]
    dawn_band_m: float


@dataclass(frozen=True, slots=True)
class PlaceRules:
    """How much the worth of a place hangs on the depth band of each phase, and on its slope in winter."""

    full_part: float
    steep_m: float
    steep_deg: float
    gentle_winter_cost: float
    dim_part: float
    not_up: float
    strength: Mapping[Phase, float]

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> PlaceRules:
        """Read the table; raises KeyError or TypeError naming the field."""
        strength = {phase: float(data["strength"][phase.value]) for phase in Phase}
        return cls(strength=strength, **{key: float(value) for key, value in data.items() if key != "strength"})


@dataclass(frozen=True, slots=True)
class MisfitRules:
    """Factors on lures that nobody throws in such a place or wind."""

    thin_line_in_plants: float
    trebles_in_stems: float
    weightless_in_wind: float
    weightless_wind_mps: tuple[float, float]
    metal_in_wood: float
    metal_in_wood_m: float
    open_in_wood: float
    bottom_under_floats: float
    dug_in_m: float


@dataclass(frozen=True, slots=True)
class SureRules:
    """When the order counts as fairly sure."""

    phase_share: float


@dataclass(frozen=True, slots=True)
class RankingRules:
    """All of it; ``exponents`` by factor name."""

    exponents: Mapping[str, float]
    cover: CoverRules
    depth: DepthRules
    mood: MoodRules
    factors: FactorRules
    places: PlaceRules
    misfit: MisfitRules
    sure: SureRules
    quiet: Mapping[Phase, float]  # how much of the first half-day after a front is lost, by phase

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> RankingRules:
        """Read the parsed file; raises KeyError or TypeError naming the field."""
        return cls(
            exponents={key: float(value) for key, value in data["exponents"].items()},
            cover=CoverRules(**{key: _pair(value) for key, value in data["cover"].items()}),
            depth=DepthRules(**data["depth"]),
            mood=MoodRules(**{key: _pair(value) for key, value in data["mood"].items()}),
            factors=FactorRules(**{key: _pair(value) for key, value in data["factors"].items()}),
            places=PlaceRules.from_mapping(data["places"]),
            misfit=MisfitRules(**{key: _pair(value) for key, value in data["misfit"].items()}),
            sure=SureRules(**data["sure"]),
            quiet={phase: float(data["quiet"][phase.value]) for phase in Phase},
        )


def _pair(value: Any) -> Any:
    """A list of two numbers as a tuple, a number as it is."""
    return (float(value[0]), float(value[1])) if isinstance(value, list) else float(value)
