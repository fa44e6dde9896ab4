"""Particles: draws of what is not known about the fish, the lake and the observer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.model import LearnedSeason
from briefing.core.phase.parameters import FormParameters, Pair, PhaseParameters

Singles = NDArray[np.float32]


@dataclass(frozen=True)
class Particles:
    """Parameter draws; arrays have shape (particles,), zone_shift_c (zones, particles).

    offset_c is the lake's own offset: its threshold, its nest water against the model and the form's own uncertainty
    taken together, since signs can't tell them apart. sight is how well the observer sees (mean 1).
    """

    offset_c: Singles
    centre_c: Singles
    wave_c: Singles
    lay_per_day: Singles
    staging_c: Singles
    staging_day_h: Singles
    lay_day_h: Singles
    degree_days: Singles
    ceiling_c: Singles
    zone_shift_c: Singles
    sight: Singles

    @property
    def count(self) -> int:
        """Number of particles."""
        return int(self.offset_c.size)


def lay_hazard(form: FormParameters, latitude_deg: float, south_deg: float, north_deg: float) -> float:
    """Highest daily hazard of laying: rises in a line with latitude between the two given, since seasons shorten."""
    share = float(np.clip((abs(latitude_deg) - south_deg) / (north_deg - south_deg), 0.0, 1.0))
    return form.lay_per_day_south + share * (form.lay_per_day - form.lay_per_day_south)


def offset_prior(form: FormParameters, parameters: PhaseParameters, learned: LearnedSeason | None) -> Pair:
    """Mean and sd of the lake's own offset in C: what earlier seasons taught, or the wide prior of an unknown lake."""
    common = parameters.common
    variance = form.centre_c[1] ** 2 + common.lake_offset_sd_c**2
    variance += common.zone_correlation * common.zone_offset_sd_c**2
    if learned is None:
        return 0.0, float(np.sqrt(variance))
    drifted = learned.offset_sd_c**2 + common.year_drift_sd_c**2
    return learned.offset_mean_c, float(np.sqrt(min(drifted, variance)))


def draw_particles(
    form: FormParameters,
    parameters: PhaseParameters,
    latitude_deg: float,
    learned: LearnedSeason | None,
    seed: int,
    count: int,
) -> Particles:
    """Draw ``count`` particles; the lake's offset is stratified, the rest independent. Same seed, same draws."""
    common = parameters.common
    rng = np.random.default_rng([seed, 7])
    offset_mean, offset_sd = offset_prior(form, parameters, learned)
    offset = offset_mean + offset_sd * _strata(count)[rng.permutation(count)]

    def normal(pair: Pair) -> NDArray[np.float64]:
        return pair[0] + pair[1] * rng.standard_normal(count)

    lay = lay_hazard(form, latitude_deg, common.south_deg, common.north_deg)
    own_sd = common.zone_offset_sd_c * np.sqrt(1.0 - common.zone_correlation)
    year = common.year_sd_c * rng.standard_normal(count)
    drawn = {
        "offset_c": offset,
        "centre_c": form.centre_c[0] + offset + year,
        "wave_c": form.wave_c * np.exp(common.wave_sd * rng.standard_normal(count)),
        "lay_per_day": lay * np.exp(common.lay_sd * rng.standard_normal(count)),
        "staging_c": normal(form.staging_c),
        "staging_day_h": normal(form.staging_day_h),
        "lay_day_h": normal(form.lay_day_h),
        "degree_days": np.maximum(normal(form.degree_days), 0.0),
        "ceiling_c": normal(form.ceiling_c) + 0.5 * (offset + year),
        "zone_shift_c": own_sd * rng.standard_normal((len(common.zones), count)),
        "sight": rng.gamma(parameters.signs.sight_shape, 1.0 / parameters.signs.sight_shape, count),
    }
    return Particles(**{name: values.astype(np.float32) for name, values in drawn.items()})


@lru_cache(maxsize=8)
def _strata(count: int) -> NDArray[np.float64]:
    """Middles of ``count`` equally likely slices of the standard normal."""
    inverse = NormalDist().inv_cdf
    return np.array([inverse((n + 0.5) / count) for n in range(count)])
