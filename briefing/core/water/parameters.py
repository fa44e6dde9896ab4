"""Numbers of the water engine that come from ``config/water.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True, slots=True)
class SlabParameters:
    """Pooled numbers of the heat budget, fitted over many lakes; see ``briefing.core.water.slab`` for the equations."""

    transmission: float  # share of top-of-air radiation that warms the surface layer, effective
    depression_c: float  # dew-point depression, constant part, C
    depression_share: float  # times the normal dew-point depression
    wind_w_m2_hpa: float  # wind function at 1 km2, W/m2/hPa
    wind_area_power: float
    summer_layer_m: float  # warm layer at 1 km2, m
    summer_layer_power: float
    thinning_c: float  # warming that thins the layer by e, at 1 m mean depth, C
    thinning_power: float
    depth_cap_m: float
    ice_growth_m2_per_c_day: float  # Stefan: h dh/dt
    ice_melt_m_per_c_day: float
    ice_sun_m_per_w_m2_day: float
    ice_off_c: float  # temperature of the water when the ice goes


@dataclass(frozen=True, slots=True)
class FilterParameters:
    """Noise and priors of the Kalman filter."""

    process_sd_c: float  # a day, at 4 m mean depth
    process_depth_power: float
    flux_sd_w_m2: float  # standing spread of the flux error, at 4 m
    flux_depth_power: float
    flux_days: float  # in which the flux error fades to 1/e, at 4 m
    flux_days_depth_power: float
    offset_sd_w_m2: float
    river_offset_sd_w_m2: float
    season_sd_w_m2: float
    ln_depth_sd: float
    ln_depth_unknown_sd: float
    ln_exchange_sd: float
    lasting_days: float  # in which the lasting numbers fade to 1/e
    model_reading_sd_c: float  # representativeness, added to a reading's own noise
    gate_sd: float
    ice_sd_c: float


@dataclass(frozen=True, slots=True)
class WaterParameters:
    """One complete set: heat budget, filter, and which set it is (``pooled`` or ``without_<group>``)."""

    slab: SlabParameters
    filter: FilterParameters
    name: str = "pooled"

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any], name: str = "pooled") -> WaterParameters:
        """Read the tables ``slab`` and ``filter`` of one set; an unknown or missing key raises ``KeyError``."""
        return cls(_read(SlabParameters, mapping["slab"]), _read(FilterParameters, mapping["filter"]), name)


def _read(kind: Any, table: Mapping[str, Any]) -> Any:
    names = [item.name for item in fields(kind)]
    extra = sorted(set(table) - set(names))
    if extra:
        raise KeyError(f"unknown water parameters: {', '.join(extra)}")
    return kind(**{key: float(table[key]) for key in names})
