"""A lake's surface layer as one slab of water that trades heat with the air, one day at a time.

    rho*c*D(T) * dT/dt = 0.94*S + L_in - 0.97*sigma*(T + 273.15)^4 - f*(e_s(T) - e_a) - 0.61*f*(T - T_a) + q

S is a share of the radiation at the top of the air that falls with cloud, for whose normal the dew-point depression
stands (damp seasons are overcast ones), L_in the sky's long-wave radiation (Brutsaert 1975,
doi:10.1029/WR011i005p00742), e_s the saturation pressure (Magnus form), f the wind function in W/m2/hPa, 0.61 hPa/C
Bowen's ratio constant, q the heat the model does not know of. The layer that takes part thins as the lake warms
(after Piccolroaz et al. 2013, doi:10.5194/hess-17-3323-2013). Transmission and humidity are effective values: a slab
does not know the heat that sinks into deep water in spring, and the fit pays for it there.

What a thermometer meets is the top of the layer: it stands above the layer's mean by ``skin`` times the heat going in,
since that heat has to be carried down. So the surface answers a warm day at once and mostly forgets it by the next.

Every array is (columns,) or (days, columns): a column is a lake, an ensemble member or a trial set of numbers.
Within a day the balance is linearised half way through the day, where it is solved exactly, so that a step can't
overshoot whatever the depth.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.parameters import SlabParameters
from briefing.core.water.site import WaterSite

Floats = NDArray[np.float64]

SIGMA = 5.670374e-8  # Stefan-Boltzmann, W/m2/K4
KELVIN = 273.15
BOWEN = 0.61  # hPa/C
DAY_OVER_RHO_C = 86400.0 / 4.18e6  # C m per W/m2 and day
SOLAR_W_M2 = 1361.0
SUN_LOST_TO_CLOUD = 0.65  # times the square of cover (Laevastu 1960)
ICE_LATENT = 334e3 * 917.0 / 4.18e6  # C m of water per m of ice
DENSEST_C = 4.0
COOLING_W_M2 = 25.0  # width of the passage from a warming to a cooling day


@dataclass(frozen=True)
class Columns:
    """Constants of each column, all of shape (columns,)."""

    layer_m: Floats  # whole depth that mixes when cold
    summer_m: Floats  # layer that is left in summer
    thinning_c: Floats
    turning_c: Floats  # temperature above which the layer thins
    wind: Floats  # W/m2/hPa
    depth_m: Floats
    ice_growth: Floats  # m2/C/day
    ice_melt: Floats  # m/C/day
    ice_sun: Floats  # m per W/m2 and day
    ice_off_c: Floats  # temperature of the water when the ice goes
    under_ice_c: Floats
    cooling_share: Floats  # of the water below that joins the layer while it cools
    skin: Floats  # C by which the surface stands above the layer's mean, per W/m2 of heat going in

    def take(self, index: NDArray[np.intp]) -> Columns:
        """Return the columns at ``index``, in that order, repeats allowed."""
        return Columns(*(getattr(self, item.name)[index] for item in fields(self)))

    @classmethod
    def join(cls, parts: list[Columns]) -> Columns:
        """Set columns side by side."""
        return cls(*(np.concatenate([getattr(part, item.name) for part in parts]) for item in fields(cls)))


@dataclass(frozen=True)
class Forcing:
    """Heat from outside, by day and column, all of shape (days, columns)."""

    radiation_w_m2: Floats  # sun and sky taken up
    exchange_hpa: Floats  # e_a + 0.61*T_a
    air_c: Floats
    sun_w_m2: Floats  # at the top of the air


@dataclass(frozen=True)
class Step:
    """One day's step and its slopes; all of shape (columns,).

    ``end_*`` are the slopes of the temperature at the end of the day, ``mean_*`` those of the daily mean, by the
    temperature at its start, a heat flux, the log of depth and the log of the exchange factor.
    """

    end_c: Floats
    mean_c: Floats
    end_by_start: Floats
    end_by_flux: Floats
    end_by_depth: Floats
    end_by_exchange: Floats
    mean_by_start: Floats
    mean_by_flux: Floats
    mean_by_depth: Floats
    mean_by_exchange: Floats
    loss_w_m2_c: Floats  # K, slope of the heat loss
    net_w_m2: Floats  # heat going in, half way through the day
    traded_w_m2: Floats  # its part that goes with the exchange factor
    equilibrium_c: Floats  # at which the balance would be even


def vapour_pressure(temperature_c: Floats) -> Floats:
    """Saturation vapour pressure over water in hPa (Magnus form, Alduchov and Eskridge 1996)."""
    return np.asarray(6.1094 * np.exp(17.625 * temperature_c / (243.04 + temperature_c)))


def top_of_air_w_m2(latitude_deg: Floats, day_of_year: Floats) -> Floats:
    """Daily mean radiation at the top of the air in W/m2 (Allen et al. 1998, FAO 56, eq. 21-25).

    latitude_deg (columns,), day_of_year (days,); returns (days, columns).
    """
    angle = 2 * np.pi * day_of_year[:, None] / 365.25
    distance = 1 + 0.033 * np.cos(angle)
    declination = 0.409 * np.sin(angle - 1.39)
    latitude = np.radians(latitude_deg)[None, :]
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    total = sunset * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    return np.asarray(SOLAR_W_M2 / np.pi * distance * np.maximum(total, 0.0))


def columns_for(sites: list[WaterSite], coldest_air_c: Floats, slab: SlabParameters) -> Columns:
    """Constants for lakes; ``coldest_air_c`` is the lowest point of each lake's smooth yearly air curve."""
    depth = np.array([site.depth_m for site in sites], dtype=float)
    area = np.array([site.size_km2 for site in sites], dtype=float)
    sheltered = np.clip(area, 0.01, 1000.0)
    layer = 1 / np.hypot(1 / depth, 1 / slab.depth_cap_m)
    summer = np.minimum(slab.summer_layer_m * area**slab.summer_layer_power, layer)
    return Columns(
        layer_m=layer,
        summer_m=summer,
        thinning_c=slab.thinning_c * depth**slab.thinning_power * sheltered**slab.thinning_area_power,
        turning_c=np.maximum(DENSEST_C, coldest_air_c),
        wind=slab.wind_w_m2_hpa * sheltered**slab.wind_area_power,
        depth_m=depth,
        ice_growth=np.full(len(sites), slab.ice_growth_m2_per_c_day),
        ice_melt=np.full(len(sites), slab.ice_melt_m_per_c_day),
        ice_sun=np.full(len(sites), slab.ice_sun_m_per_w_m2_day),
        ice_off_c=np.full(len(sites), slab.ice_off_c),
        under_ice_c=np.full(len(sites), slab.under_ice_c),
        cooling_share=np.full(len(sites), slab.cooling_share),
        skin=np.full(len(sites), slab.skin_c_per_w_m2),
    )


def forcing_for(air_c: Floats, depression_c: Floats, sun_w_m2: Floats, slab: SlabParameters) -> Forcing:
    """Heat from outside; ``depression_c`` is the normal gap between air and dew point. All (days, columns)."""
    effective = np.maximum(slab.depression_c + slab.depression_share * depression_c, 0.0)
    vapour = vapour_pressure(air_c - effective)
    kelvin = air_c + KELVIN
    cloud = np.clip(slab.cloud_when_damp - slab.cloud_per_c * depression_c, 0.0, 1.0)
    emissivity = 1.24 * (vapour / kelvin) ** (1 / 7) * (1 + 0.22 * cloud**2)
    sky = 0.97 * np.minimum(emissivity, 1.0) * SIGMA * kelvin**4
    through = slab.transmission * (1 - SUN_LOST_TO_CLOUD * cloud**2)
    return Forcing(
        radiation_w_m2=0.94 * through * sun_w_m2 + sky,
        exchange_hpa=vapour + BOWEN * air_c,
        air_c=air_c,
        sun_w_m2=sun_w_m2,
    )


def _balance(temperature: Floats, heat: Floats, exchange: Floats, wind: Floats) -> tuple[Floats, Floats, Floats]:
    """Net flux, its loss slope K and its part that goes with the exchange factor, W/m2."""
    pressure = 6.1094 * np.exp(17.625 * temperature / (243.04 + temperature))
    slope = pressure * (17.625 * 243.04) / (243.04 + temperature) ** 2
    kelvin = temperature + KELVIN
    cubed = (0.97 * SIGMA) * kelvin * kelvin * kelvin
    traded = wind * (exchange - pressure - BOWEN * temperature)
    return heat - cubed * kelvin + traded, 4 * cubed + wind * (slope + BOWEN), traded


def step(
    start: Floats,
    heat: Floats,
    exchange: Floats,
    columns: Columns,
    depth_factor: Floats,
    wind: Floats,
) -> Step:
    """Carry the open water through one day.

    start in C; heat = radiation taken up plus unknown flux, W/m2; exchange in hPa; depth_factor multiplies the layer.
    """
    net, loss, _ = _balance(start, heat, exchange, wind)
    layer = _layer(start, net, columns) * depth_factor
    half = start + net / loss * -np.expm1((-0.5 * DAY_OVER_RHO_C) * loss / layer)
    net, loss, traded = _balance(half, heat, exchange, wind)
    thick = _layer(half, net, columns)
    rate = DAY_OVER_RHO_C * loss / (thick * depth_factor)
    goal = half + net / loss
    decay = np.exp(-rate)
    gone = 1 - decay
    share = gone / rate
    gap = start - goal
    by_depth = gap * rate * decay
    mean_by_depth = gap * (share - decay)
    # A warmer layer is a thinner one, where it has not reached its summer thickness.
    thinning = np.where((half > columns.turning_c) & (thick > columns.summer_m), -0.5 / columns.thinning_c, 0.0)
    return Step(
        end_c=goal + gap * decay,
        mean_c=goal + gap * share,
        end_by_start=decay + by_depth * thinning,
        end_by_flux=gone / loss,
        end_by_depth=by_depth,
        end_by_exchange=gone / loss * traded,
        mean_by_start=share + mean_by_depth * thinning,
        mean_by_flux=(1 - share) / loss,
        mean_by_depth=mean_by_depth,
        mean_by_exchange=(1 - share) / loss * traded,
        loss_w_m2_c=loss,
        net_w_m2=net,
        traded_w_m2=traded,
        equilibrium_c=goal,
    )


def _layer(temperature: Floats, net_w_m2: Floats, columns: Columns) -> Floats:
    """Thickness of the layer, m: thin when warm; while heat is lost, sinking water stirs in a share of the rest."""
    warm = np.maximum(temperature - columns.turning_c, 0.0)
    calm = np.maximum(columns.summer_m, columns.layer_m * np.exp(-warm / columns.thinning_c))
    stirred = columns.cooling_share / (1 + np.exp(np.minimum(np.maximum(net_w_m2 / COOLING_W_M2, -30.0), 30.0)))
    return np.asarray(calm + stirred * (columns.layer_m - calm))


def mild_air(air_c: Floats, air_sd_c: Floats) -> tuple[Floats, Floats]:
    """Degree-days above 0 C to expect of a day (C) and the chance that it thaws, from its air and the spread of that.

    Days at 0 C on average thaw half of the time: where air stands in from normals, ice that met the average alone
    would lie for weeks too long. The spread is taken as logistic, whose mean excess has a closed form.
    """
    width = np.maximum(air_sd_c * (np.sqrt(3) / np.pi), 1e-3)
    ratio = np.minimum(np.maximum(air_c / width, -500.0), 500.0)
    excess = width * np.log1p(np.exp(-np.abs(ratio)))
    doubtful = air_sd_c > 0
    mild = np.maximum(air_c, 0.0) + np.where(doubtful, excess, 0.0)
    return np.asarray(mild), np.asarray(np.where(doubtful, 1 / (1 + np.exp(-ratio)), air_c > 0))


def ice_step(
    end_c: Floats,
    ice_m: Floats,
    air_c: Floats,
    air_sd_c: Floats,
    sun_w_m2: Floats,
    layer_m: Floats,
    columns: Columns,
) -> tuple[Floats, Floats]:
    """Freeze and thaw: temperature and ice thickness (m) at the end of a day.

    Water that would cool below 0 C gives its lack of heat to new ice; ice grows by Stefan's law
    (h dh/dt = k * frost) and thaws with degree-days and sun, as much as is to be expected of air that is known to
    within ``air_sd_c``. Under ice the water is given ``under_ice_c``; when it goes, the water below mixes up.
    """
    mild, share = mild_air(air_c, air_sd_c)
    frost = np.maximum(mild - air_c, 0.0)
    covered = ice_m > 0
    grown = np.sqrt(ice_m**2 + 2 * columns.ice_growth * frost)
    thaw = columns.ice_melt * mild + columns.ice_sun * sun_w_m2 * share
    fresh = np.maximum(-end_c, 0.0) * layer_m / ICE_LATENT
    ice = np.where(covered, np.maximum(grown - thaw, 0.0), fresh)
    opened = np.where(covered, columns.ice_off_c, end_c)
    return np.where(ice > 0, columns.under_ice_c, opened), ice
