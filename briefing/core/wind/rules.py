"""Thresholds of the safety part as one frozen value, read from ``config/limits.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import timedelta
from typing import Any

from briefing.core.gusts import GustRule


@dataclass(frozen=True, slots=True)
class ThunderRules:
    """Thunder thresholds: probability (%), activity level (1..6), and instability (J/kg with rain chance in %)."""

    caution_pct: float
    stop_pct: float
    caution_level: float
    stop_level: float
    cape_caution_jkg: float
    cape_caution_rain_pct: float
    cape_stop_jkg: float
    cape_stop_rain_pct: float
    cape_high_jkg: float
    cape_high_rain_pct: float
    storm_codes: tuple[float, ...]
    calm_codes: tuple[float, ...]
    wait_min: float
    heard_counts_min: float

    def __post_init__(self) -> None:
        for name in ("storm_codes", "calm_codes"):
            object.__setattr__(self, name, tuple(float(code) for code in getattr(self, name)))


@dataclass(frozen=True, slots=True)
class HysteresisRules:
    """A level falls only below limit - share (at least the named steps) for ``hours`` hours running."""

    share: float
    wind_mps: float
    waves_m: float
    probability_pct: float
    hours: int


@dataclass(frozen=True, slots=True)
class WaterRules:
    """From forecast wind to waves: over-water factor, gust estimate, whitecaps, lingering waves."""

    over_water_factor: float
    gust_factor: float
    whitecap_wind_mps: float
    whitecap_fetch_m: float
    long_fetch_m: float
    lingering: float
    steepness: float
    steep_height_m: float
    default_depth_m: float
    max_wind_mps: float
    max_gust_mps: float
    flat_zero_hours: int
    zero_gust_wind_mps: float
    zero_gust_share: float
    zero_gust_calm_mps: float
    zero_gust_under_mps: float
    close_share: float

    @property
    def gusts(self) -> GustRule:
        """When a number in a gust's place is none."""
        return GustRule(
            self.zero_gust_wind_mps, self.zero_gust_share, self.zero_gust_calm_mps, self.zero_gust_under_mps
        )


@dataclass(frozen=True, slots=True)
class WeatherRules:
    """Heat (C), visibility (m), the fog hint (dew point spread in C, wind in m/s) and age of the forecast (h)."""

    heat_caution_c: float
    heat_strong_c: float
    heat_stop_c: float
    visibility_caution_m: float
    visibility_stop_m: float
    fog_spread_c: float
    fog_wind_mps: float
    forecast_caution_h: float
    forecast_lost_h: float


@dataclass(frozen=True, slots=True)
class ExcludeRules:
    """When heat needs no reading (C, hours): the season's warmest air, or known hours close by, lie far below it."""

    heat_above_mean_c: float
    heat_spreads: float
    heat_margin_c: float
    heat_beside_c: float
    known_hours: int


@dataclass(frozen=True, slots=True)
class TravelRules:
    """Time back against the wind, deadlines and windows. Speeds in m/s, times in minutes."""

    calm_mps: Mapping[str, float]
    head_wind_share: float
    least_share: float
    reserve: float
    margin_min: float
    call_after_min: float
    window_hours: int
    power_stop_mps: float
    power_caution_share: float
    hard_share: float
    least_stay_min: float
    hot_from_c: float
    hot_most_min: float


@dataclass(frozen=True, slots=True)
class NoteRules:
    """When a wind note goes out again, and when it may say that things eased."""

    onset_min: float
    gust_step_mps: float
    gust_step_share: float
    ease_share: float
    ease_gap_h: float
    ease_max: int
    thunder_quiet_min: float
    first_paragraph: int


@dataclass(frozen=True, slots=True)
class SafetyRules:
    """All thresholds of wind, waves, lightning, heat, fog and deadlines."""

    thunder: ThunderRules
    hysteresis: HysteresisRules
    water: WaterRules
    weather: WeatherRules
    exclude: ExcludeRules
    travel: TravelRules
    note: NoteRules

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> SafetyRules:
        """Read the tables of ``config/limits.toml``; raises KeyError when a number is not there."""
        kinds = {
            "thunder": ThunderRules,
            "hysteresis": HysteresisRules,
            "water": WaterRules,
            "weather": WeatherRules,
            "exclude": ExcludeRules,
            "travel": TravelRules,
            "note": NoteRules,
        }
        parts = {}
        for name, kind in kinds.items():
            table = mapping[name]
            parts[name] = kind(**{item.name: table[item.name] for item in fields(kind)})
        return cls(**parts)


def minutes(value: float) -> timedelta:
    """Return a length of time given in minutes."""
    return timedelta(minutes=float(value))
