"""The extended Kalman filter that steers the slab by readings.

State of a column: temperature at the start of the day (C), the heat flux the model does not know of (W/m2, fading
over days), and what is lasting about this lake: a flux offset with its yearly and half-yearly cosines and sines (W/m2;
spring and autumn depart from the pooled lake each in its own way), the logs of a depth and an exchange factor, and how
much its surface (or the usual sensor) departs from the common skin; last the error of the air temperature fed in (C),
which is nil where air was measured.
The lasting numbers are thus refitted by each reading (a recursive maximum a posteriori fit, Jazwinski 1970, ch. 8),
and their doubt widens the range before any reading came.

Arrays are (states, columns) and (states, states, columns).
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.parameters import FilterParameters
from briefing.core.water.site import WaterSite
from briefing.core.water.slab import Columns, Floats, Step, ice_step, step

TEMPERATURE, FLUX, OFFSET, COSINE, SINE, COSINE_2, SINE_2, LN_DEPTH, LN_EXCHANGE, SKIN, AIR = range(11)
STATES = 11
LASTING = slice(OFFSET, AIR)
AIR_ERROR_DECAY = 0.75  # of the air's error from day to day
REFERENCE_DEPTH_M = 4.0
START_SD_C = 3.0
SURPRISE_CAP = 9.0
LN_SCALE_LIMIT = 2.0
THIN_ICE_M = 0.15
OPEN_WATER_C = 2.5  # a reading above this says that the ice is gone


@dataclass(frozen=True)
class Belief:
    """What the filter holds at the start of a day."""

    mean: Floats  # (states, columns)
    covariance: Floats  # (states, states, columns)
    ice_m: Floats  # (columns,)
    air_sd_c: Floats  # (columns,), spread of the air's error that the covariance now holds
    ln_scale: Floats  # (columns,), log of this lake's own factor on the noise variances

    def take(self, index: NDArray[np.intp]) -> Belief:
        """Return the columns at ``index``, repeats allowed."""
        return Belief(*(np.ascontiguousarray(getattr(self, item.name)[..., index]) for item in fields(self)))


@dataclass(frozen=True)
class Noise:
    """Noise of each column, (columns,)."""

    process_var_c2: Floats
    flux_decay: Floats
    flux_var: Floats
    lasting_decay: float
    lasting_var: Floats  # (lasting states, columns), the prior's
    ice_sd_c: float
    ice_decay: float  # of the departure under ice from day to day
    ice_off_sd_c: float
    scale_rate: float
    reading_var_c2: float
    gate_sd: float

    def ungated(self) -> Noise:
        """Return the same noise without a gate: for a reading that a second one bears out."""
        return replace(self, gate_sd=np.inf)

    def take(self, index: NDArray[np.intp]) -> Noise:
        """Return the columns at ``index``, repeats allowed."""
        return replace(
            self,
            process_var_c2=self.process_var_c2[index],
            flux_decay=self.flux_decay[index],
            flux_var=self.flux_var[index],
            lasting_var=self.lasting_var[:, index],
        )


@dataclass(frozen=True)
class Day:
    """One day's estimate before its readings: mean, variance and slopes of the daily mean, and the step behind it."""

    mean_c: Floats
    var_c2: Floats
    slopes: Floats  # (states, columns)
    end_c: Floats
    end_slopes: Floats
    equilibrium_c: Floats


def noise_for(sites: list[WaterSite], columns: Columns, parameters: FilterParameters) -> Noise:
    """Noise by depth: shallow water follows what the model does not know faster.

    The lasting numbers drift back to their prior over ``lasting_days``, since no lake stays the same.
    """
    river = np.array([site.river_fed for site in sites])
    known = np.array([site.depth_known for site in sites])
    lasting = np.empty((AIR - OFFSET, len(sites)))
    lasting[0] = np.where(river, parameters.river_offset_sd_w_m2, parameters.offset_sd_w_m2)
    lasting[COSINE - OFFSET : LN_DEPTH - OFFSET] = parameters.season_sd_w_m2
    lasting[LN_DEPTH - OFFSET] = np.where(known, parameters.ln_depth_sd, parameters.ln_depth_unknown_sd)
    lasting[LN_EXCHANGE - OFFSET] = parameters.ln_exchange_sd
    lasting[SKIN - OFFSET] = parameters.skin_sd_c_per_w_m2
    ratio = columns.layer_m / REFERENCE_DEPTH_M
    days = np.maximum(parameters.flux_days * ratio**parameters.flux_days_depth_power, 1.0)
    return Noise(
        process_var_c2=(parameters.process_sd_c * ratio**parameters.process_depth_power) ** 2,
        flux_decay=np.exp(-1 / days),
        flux_var=np.full(columns.layer_m.shape, parameters.flux_sd_w_m2**2)
        * ratio ** (2 * parameters.flux_depth_power),
        lasting_decay=float(np.exp(-1 / parameters.lasting_days)),
        lasting_var=lasting**2,
        ice_sd_c=parameters.ice_sd_c,
        ice_decay=float(np.exp(-1 / parameters.ice_days)),
        ice_off_sd_c=parameters.ice_off_sd_c,
        scale_rate=parameters.scale_rate,
        reading_var_c2=parameters.model_reading_sd_c**2,
        gate_sd=parameters.gate_sd,
    )


def prior(start_c: Floats, noise: Noise) -> Belief:
    """Belief about lakes of which no reading is known; start_c is a first guess of their temperature."""
    count = start_c.size
    mean = np.zeros((STATES, count))
    mean[TEMPERATURE] = np.maximum(start_c, 0.0)
    covariance = np.zeros((STATES, STATES, count))
    covariance[TEMPERATURE, TEMPERATURE] = START_SD_C**2
    covariance[FLUX, FLUX] = noise.flux_var
    index = np.arange(OFFSET, AIR)
    covariance[index, index] = noise.lasting_var
    return Belief(mean, covariance, np.zeros(count), np.zeros(count), np.zeros(count))


def look(
    belief: Belief, heat: Floats, exchange: Floats, season: tuple[float | Floats, float | Floats], columns: Columns
) -> Day:
    """Estimate a day before its readings.

    heat, exchange: that day's forcing (columns,); season: cosine and sine of the time of year.
    """
    x = belief.mean
    cosine, sine = season
    cosine_2, sine_2 = _doubled(cosine, sine)
    flux = x[FLUX] + x[OFFSET] + cosine * x[COSINE] + sine * x[SINE] + cosine_2 * x[COSINE_2] + sine_2 * x[SINE_2]
    wind = columns.wind * np.exp(x[LN_EXCHANGE])
    day = step(x[TEMPERATURE], heat + flux, exchange, columns, np.exp(x[LN_DEPTH]), wind)
    covered = belief.ice_m > 0
    skin = columns.skin + x[SKIN]
    slopes = _surface_slopes(day, cosine, sine, skin)
    end_slopes = _end_slopes(day, cosine, sine)
    mean = np.where(covered, x[TEMPERATURE], np.maximum(day.mean_c + skin * day.net_w_m2, 0.0))
    if covered.any():
        slopes[:, covered] = 0.0
        slopes[TEMPERATURE, covered] = 1.0
    spread = np.einsum("in,ijn,jn->n", slopes, belief.covariance, slopes, optimize=False)
    return Day(mean, spread, slopes, day.end_c, end_slopes, day.equilibrium_c)


def _end_slopes(day: Step, cosine: float | Floats, sine: float | Floats) -> Floats:
    rows = _rows(day.end_by_flux, cosine, sine)
    rows[TEMPERATURE] = day.end_by_start
    rows[LN_DEPTH] = day.end_by_depth
    rows[LN_EXCHANGE] = day.end_by_exchange
    rows[SKIN] = 0.0
    rows[AIR] = day.end_by_flux * day.loss_w_m2_c
    return rows


def _surface_slopes(day: Step, cosine: float | Floats, sine: float | Floats, skin: Floats) -> Floats:
    """Slopes of the daily mean at the surface: a warmer layer takes in less heat, which flattens the skin."""
    kept = 1 - skin * day.loss_w_m2_c
    by_flux = kept * day.mean_by_flux + skin
    rows = _rows(by_flux, cosine, sine)
    rows[TEMPERATURE] = kept * day.mean_by_start
    rows[LN_DEPTH] = kept * day.mean_by_depth
    rows[LN_EXCHANGE] = kept * day.mean_by_exchange + skin * day.traded_w_m2
    rows[SKIN] = day.net_w_m2
    rows[AIR] = by_flux * day.loss_w_m2_c
    return rows


def _rows(by_flux: Floats, cosine: float | Floats, sine: float | Floats) -> Floats:
    """Rows of slopes with those of the fluxes set. Nearly all of the loss slope is answered by one of the air."""
    rows = np.empty((STATES, by_flux.size))
    rows[FLUX] = rows[OFFSET] = by_flux
    rows[COSINE] = by_flux * cosine
    rows[SINE] = by_flux * sine
    cosine_2, sine_2 = _doubled(cosine, sine)
    rows[COSINE_2] = by_flux * cosine_2
    rows[SINE_2] = by_flux * sine_2
    return rows


def _doubled(cosine: float | Floats, sine: float | Floats) -> tuple[float | Floats, float | Floats]:
    """Cosine and sine of twice the angle."""
    return cosine * cosine - sine * sine, 2 * cosine * sine


def thawed(belief: Belief, day: Day, value_c: Floats) -> tuple[Belief, Day]:
    """Take the ice off the columns in which a reading (NaN: none) says that the water is open.

    The ice went on a day not known, so all that is held of the water since is that it is open.
    """
    opened = (belief.ice_m > 0) & (np.nan_to_num(value_c) > OPEN_WATER_C)
    if not opened.any():
        return belief, day
    covariance = belief.covariance.copy()
    covariance[TEMPERATURE][:, opened] = 0.0
    covariance[:, TEMPERATURE][:, opened] = 0.0
    covariance[TEMPERATURE, TEMPERATURE, opened] = START_SD_C**2
    var = np.where(opened, START_SD_C**2, day.var_c2)
    return replace(belief, covariance=covariance, ice_m=np.where(opened, 0.0, belief.ice_m)), replace(day, var_c2=var)


def read(belief: Belief, day: Day, value_c: Floats, var_c2: Floats, noise: Noise) -> tuple[Belief, Day, Floats]:
    """Take one reading per column (NaN: none) into the belief at the start of its day.

    Readings beyond the gate are weighted down to it (Huber's function). Returns the new belief, the day seen anew and
    the weight of the reading, the share of the gap that the daily mean moved.
    """
    there = ~np.isnan(value_c)
    gap = np.where(there, value_c - day.mean_c, 0.0)
    total = day.var_c2 + var_c2 + noise.reading_var_c2
    far = np.abs(gap) / np.sqrt(total)
    total = np.where(far > noise.gate_sd, total * (far / noise.gate_sd) ** 2, total)
    cross = np.einsum("ijn,jn->in", belief.covariance, day.slopes, optimize=False)
    gain = np.where(there, cross / total, 0.0)
    move = gain * gap
    covariance = belief.covariance - gain[:, None] * cross[None, :]
    weight = np.where(there, day.var_c2 / total, 0.0)
    mean = belief.mean + move
    mean[TEMPERATURE] = np.maximum(mean[TEMPERATURE], 0.0)
    seen = Day(
        mean_c=np.maximum(day.mean_c + (day.slopes * move).sum(axis=0), 0.0),
        var_c2=day.var_c2 * (1 - weight),
        slopes=day.slopes,
        end_c=day.end_c + (day.end_slopes * move).sum(axis=0),
        end_slopes=day.end_slopes,
        equilibrium_c=day.equilibrium_c,
    )
    surprise = np.where(there, np.minimum(far**2, SURPRISE_CAP) - 1.0, 0.0)
    scale = np.clip(belief.ln_scale + noise.scale_rate * surprise, -LN_SCALE_LIMIT, LN_SCALE_LIMIT)
    return Belief(mean, covariance, belief.ice_m, belief.air_sd_c, scale), seen, weight


def advance(
    belief: Belief, day: Day, air_c: Floats, sun_w_m2: Floats, next_air_sd_c: Floats, columns: Columns, noise: Noise
) -> Belief:
    """Carry the belief to the start of the next day, whose air is known to within ``next_air_sd_c``."""
    end, ice = ice_step(day.end_c, belief.ice_m, air_c, belief.air_sd_c, sun_w_m2, columns.layer_m, columns)
    row = np.einsum("in,ijn->jn", day.end_slopes, belief.covariance, optimize=False)
    covariance = belief.covariance.copy()
    scale = np.exp(belief.ln_scale)
    row[TEMPERATURE] = (row * day.end_slopes).sum(axis=0) + noise.process_var_c2 * scale
    frozen = (ice > 0) | (belief.ice_m > 0)
    if frozen.any():
        kept = kept_under_ice(belief.ice_m, ice, noise)
        end = end + kept * (belief.mean[TEMPERATURE] - columns.under_ice_c)
        row[:, frozen] = (kept * covariance[TEMPERATURE])[:, frozen]
        # When thin ice thaws, the day on which it goes is doubtful, and so is the water after it.
        going = (air_c > 0) & (ice < THIN_ICE_M)
        still = kept**2 * covariance[TEMPERATURE, TEMPERATURE] + (1 - kept**2) * noise.ice_sd_c**2
        row[TEMPERATURE, frozen] = np.where(going, noise.ice_off_sd_c**2, still)[frozen]
    covariance[TEMPERATURE] = row
    covariance[:, TEMPERATURE] = row
    _fade(covariance, FLUX, noise.flux_decay)
    covariance[FLUX, FLUX] += noise.flux_var * scale * (1 - noise.flux_decay**2)
    mean = belief.mean.copy()
    mean[TEMPERATURE] = end
    mean[FLUX] *= noise.flux_decay
    mean[LASTING] *= noise.lasting_decay
    _fade(covariance, LASTING, noise.lasting_decay)
    index = np.arange(OFFSET, AIR)
    covariance[index, index] += noise.lasting_var * (1 - noise.lasting_decay**2)
    if next_air_sd_c.any() or belief.air_sd_c.any():
        ratio = AIR_ERROR_DECAY * next_air_sd_c / np.maximum(belief.air_sd_c, 1e-6)
        ratio = np.where(belief.air_sd_c > 0, ratio, 0.0)
        mean[AIR] *= ratio
        _fade(covariance, AIR, ratio)
        covariance[AIR, AIR] = next_air_sd_c**2
    return Belief(mean, covariance, ice, next_air_sd_c, belief.ln_scale)


def kept_under_ice(before_m: Floats, after_m: Floats, noise: Noise) -> Floats:
    """Share of the water's departure from its usual temperature that a day under ice keeps: nil as the ice comes or
    goes. before_m, after_m: ice at the start of the day and of the next."""
    return np.where((before_m > 0) & (after_m > 0), noise.ice_decay, 0.0)


def _fade(covariance: Floats, state: int | slice, factor: Floats | float) -> None:
    covariance[state] *= factor
    covariance[:, state] *= factor
