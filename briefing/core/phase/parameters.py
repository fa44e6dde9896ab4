"""Parameters of the seasonal phase estimator; their values and sources stand in ``config/phase.toml``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from briefing.vocabulary import SignKind, SpeciesForm, Zone

Pair = tuple[float, float]
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FormParameters:
    """Habits of one species form. Pairs are (mean, sd) of the prior.

    Temperatures in C at nest depth, day lengths in h, degree-days in C-days above the base, hazards per day.
    """

    staging_c: Pair  # centre of the move from winter places
    staging_day_h: Pair  # day length at which half of that move is open
    centre_c: Pair  # spawning centre; its spread is part of the lake's offset
    spread_c: float  # logistic width of the spawning response of one cohort
    wave_c: float  # large fish lay this much colder than the middle ones, small ones this much warmer
    lay_per_day: float  # highest hazard of laying
    lay_per_day_south: float  # the same at and below the southern latitude
    lay_day_h: Pair  # day length at which half of laying is open
    degree_days: Pair  # degree-days since midwinter at which half of laying is open; 0 switches the term off
    ceiling_c: Pair  # above it laying stops
    larvae_degree_days: float
    fry_days: float
    renest: float  # share of the males leaving fry that go back to pre-spawn
    summer_c: float  # post-spawn fish take summer places around this temperature
    staging_from_day: float  # first days of staging, counted from the winter solstice
    level_factor: float = 0.5  # of laying while the level moves fast
    tail_share: float = 0.0  # share of fish whose laying opens at ``tail_day_h``
    tail_day_h: float = 10.4
    tail_from_day: float = -20.0


@dataclass(frozen=True, slots=True)
class CommonParameters:
    """What all forms share."""

    cohort_share: tuple[float, float, float]  # large, middle, small
    zones: tuple[Zone, ...]
    zone_weight: tuple[float, ...]
    zone_offset_c: tuple[float, ...]  # nest water against the main lake's surface in spring
    pocket_gain_c: float  # nest water of the pocket against a modelled pocket
    zone_offset_sd_c: float
    zone_correlation: float
    lake_offset_sd_c: float
    year_sd_c: float
    year_drift_sd_c: float  # added to a learned offset from one year to the next
    wave_sd: float  # sd of the log of the cohorts' distance
    lay_sd: float  # sd of the log of the laying hazard
    base_c: float  # base of development
    egg_degree_days: float
    degree_day_base_c: float
    drop_rate: float  # per C of fall beyond drop_free_c in four days
    drop_free_c: float
    level_move_m: float  # a change over three days that slows laying
    loss_per_day: float
    cold_loss_per_day: float
    cold_loss_c: float
    cold_loss_drop_c: float
    storm_loss_per_day: float
    lost_return: float  # share of males that come back to pre-spawn after a lost nest
    give_up_per_day: float  # of fish still staging once laying is over for the year
    late_day: float  # days after the summer solstice by which half of laying has closed
    late_width_days: float
    autumn_day_h: float
    autumn_per_day: float
    winter_c: float
    early_gap_c: float
    early_width_c: float
    south_deg: float  # latitudes between which the laying hazard rises
    north_deg: float
    anomaly_days: float  # e-folding time of a water anomaly
    spread_ratio: float  # sd of the water's slow anomaly over the sd of one day's air
    floor_sd_days: float  # date spans are no narrower before a season of signs
    floor_sd_days_no_water: float
    pause_ratio: float
    tropics_min_c: float  # coldest climate water above which temperature is no cue
    tropics_day_h: float
    tropics_rise_m: float
    top_latitude_deg: float
    bottom_latitude_deg: float


@dataclass(frozen=True, slots=True)
class ClimateParameters:
    """Long-term water from long-term air: see ``water_year.climate_water_c``."""

    level_c: float
    air: float
    sun_c: float  # per 100 W/m2 at the top of the air over 300
    evaporation: float  # share of the equilibrium above 20 C that is lost
    ice_goal_c: float  # lowest equilibrium that counts
    lag_days: float  # at 1 m mean depth
    lag_power: float
    usual_depth_m: float


@dataclass(frozen=True, slots=True)
class SignRate:
    """How a sign shows: ``rate`` per hour at full share, false or confused reports ``false_rate`` per visit.

    handled gives P(sign | stage) per fish handled instead, over winter, early pre-spawn, late pre-spawn, eggs, larvae
    and fry, post-spawn, summer, autumn.
    """

    rate: float
    false_rate: float
    weights: Mapping[str, float]  # generating stage -> weight
    handled: tuple[float, ...] = ()
    says: str = ""
    look: str = ""


@dataclass(frozen=True, slots=True)
class SignParameters:
    """How field signs are weighed."""

    rates: Mapping[SignKind, SignRate]
    same_day_power: float
    visit_cap: float
    patchiness: float  # shape of the spread of counts between visits
    sight_shape: float  # gamma shape of how well an observer sees
    surprise_share: float  # predictive chance under which a report counts as contradicting
    surprise_power: float  # power to which the evidence so far is then tempered


@dataclass(frozen=True, slots=True)
class PhaseParameters:
    """Everything the estimator needs, read from ``config/phase.toml``."""

    forms: Mapping[SpeciesForm, FormParameters]
    common: CommonParameters
    climate: ClimateParameters
    signs: SignParameters

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any], *, without: str = "") -> PhaseParameters:
        """Build the parameters from a parsed file.

        ``without`` names a region whose rows the fitted numbers must not have seen (for scoring); regions without a set
        of their own took no part in the fit and get the pooled set.

        Raises:
            KeyError: a form or value is missing.
            TypeError: a value is unknown.
        """
        sets = mapping["fitted"]
        fitted = sets.get(f"without_{without}", sets["pooled"])
        forms = {
            SpeciesForm(name): _fitted(_plain(FormParameters, table), fitted[name.partition("_")[0]])
            for name, table in mapping["forms"].items()
        }
        common = dict(mapping["common"])
        common["zones"] = [Zone(name) for name in common["zones"]]
        signs = dict(mapping["signs"])
        rates = {SignKind(name): _plain(SignRate, table) for name, table in signs.pop("rates").items()}
        return cls(
            forms,
            _plain(CommonParameters, common),
            _plain(ClimateParameters, mapping["climate"]),
            SignParameters(rates=rates, **signs),
        )


def _fitted(form: FormParameters, numbers: Mapping[str, float]) -> FormParameters:
    """Apply the fitted shift of the spawning centre and the fitted factors of the waves and of the spread."""
    mean, sd = form.centre_c
    centre = (mean + numbers["centre_shift_c"], sd)
    return replace(
        form,
        centre_c=centre,
        wave_c=form.wave_c * numbers["wave_factor"],
        spread_c=form.spread_c * numbers["spread_factor"],
    )


def _plain(kind: Callable[..., T], table: Mapping[str, Any]) -> T:
    """Build a dataclass from a table, lists as tuples; ``source`` keys are for the reader of the file."""
    return kind(**{k: tuple(v) if isinstance(v, list) else v for k, v in table.items() if k != "source"})
