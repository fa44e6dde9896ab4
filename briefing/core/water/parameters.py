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
    thinning_c: float  # warming that thins the layer by e, at 1 m mean depth and 1 km2, C
    thinning_power: float
    thinning_area_power: float
    depth_cap_m: float
    ice_growth_m2_per_c_day: float  # Stefan: h dh/dt
    ice_melt_m_per_c_day: float
    ice_sun_m_per_w_m2_day: float
    ice_off_c: float  # temperature of the water when the ice goes
    under_ice_c: float
    cloud_when_damp: float  # cover where air is saturated, 0..1
    cloud_per_c: float  # less cover by each C of normal dew-point depression
    cooling_share: float  # of the water below that joins the layer while it cools, 0..1
    skin_c_per_w_m2: float  # by which the surface stands above the layer's mean while heat goes in


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
    season_sd_w_m2: float  # of each yearly and half-yearly wave of the offset
    ln_depth_sd: float
    ln_depth_unknown_sd: float
    ln_exchange_sd: float
    skin_sd_c_per_w_m2: float  # between lakes and the depths they are measured at
    lasting_days: float  # in which the lasting numbers fade to 1/e
    model_reading_sd_c: float  # representativeness, added to a reading's own noise
    gate_sd: float
    ice_sd_c: float  # of the water under ice
    ice_days: float  # in which the water under ice fades to its usual temperature, to 1/e
    ice_off_sd_c: float  # about the time when the ice goes
    scale_rate: float  # by which a reading's surprise moves the log of the lake's own noise factor


@dataclass(frozen=True, slots=True)
class ReadingParameters:
    """How a reading is corrected to a daily mean, and its noise; C unless said."""

    sd_c: Mapping[str, float]  # by kind, at the best hours
    afternoon_sd_c: float
    unknown_hour_sd_c: float
    sd_c_per_km: float  # of distance of a gauge
    pocket_sd_c: float  # of a pocket's reading for the main lake
    hours: tuple[float, ...]
    shape: tuple[float, ...]  # share of the daily range by which the water lies above its mean, at ``hours``
    range_c: float  # daily range at half a metre in a lake above 0.5 km2
    range_surface_c: float  # at the very surface of a pond
    range_depth_m: float  # in which the range falls to 1/e


@dataclass(frozen=True, slots=True)
class PocketParameters:
    """How far a sheltered pocket goes the way of a slab of its own depth."""

    share: float
    share_sd: float
    share_days: float  # in which what readings taught about the share fades to 1/e
    spread_c: float
    spread_share: float  # of the gap to the main lake


@dataclass(frozen=True, slots=True)
class WaterParameters:
    """One complete set: heat budget, filter, and which set it is (``pooled`` or ``without_<group>``)."""

    slab: SlabParameters
    filter: FilterParameters
    reading: ReadingParameters
    pocket: PocketParameters
    name: str = "pooled"

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any], name: str = "pooled") -> WaterParameters:
        """Read one set of the whole file; an unknown or missing key raises ``KeyError``.

        ``mapping`` holds the tables ``reading``, ``pocket`` and ``sets.<name>.slab`` and ``.filter``.
        """
        chosen, reading = mapping["sets"][name], dict(mapping["reading"])
        sd, hours, shape = reading.pop("sd_c"), reading.pop("hours"), reading.pop("shape")
        if len(hours) != len(shape):
            raise KeyError("reading.hours and reading.shape differ in length")
        return cls(
            slab=SlabParameters(**_numbers(SlabParameters, chosen["slab"])),
            filter=FilterParameters(**_numbers(FilterParameters, chosen["filter"])),
            reading=ReadingParameters(
                sd_c={str(kind): float(value) for kind, value in sd.items()},
                hours=tuple(float(value) for value in hours),
                shape=tuple(float(value) for value in shape),
                **_numbers(ReadingParameters, reading, ("sd_c", "hours", "shape")),
            ),
            pocket=PocketParameters(**_numbers(PocketParameters, mapping["pocket"])),
            name=name,
        )


def _numbers(kind: type, table: Mapping[str, Any], without: tuple[str, ...] = ()) -> dict[str, float]:
    names = [item.name for item in fields(kind) if item.name not in without]
    extra = sorted(set(table) - set(names))
    if extra:
        raise KeyError(f"unknown water parameters: {', '.join(extra)}")
    return {key: float(table[key]) for key in names}
