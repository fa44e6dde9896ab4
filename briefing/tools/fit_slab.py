"""Fits the pooled numbers of the water engine's heat budget to measured lakes, without readings.

Gauss-Newton steps with Levenberg's damping on the free-running slab; trial sets run side by side as columns. Each lake
weighs the same whatever its length, and physical priors hold what a set of lakes can't tell.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.batch import free_run
from briefing.core.water.parameters import SlabParameters
from briefing.core.water.slab import Columns, Floats, Forcing, columns_for, forcing_for
from briefing.evaluate.water_lakes import Batch

#: name: (prior, spread of the prior, whether it is fitted as a logarithm)
PRIORS: dict[str, tuple[float, float, bool]] = {
    "transmission": (0.70, 0.25, True),
    "depression_c": (-0.5, 1.0, False),
    "depression_share": (1.0, 0.2, False),
    "wind_w_m2_hpa": (13.0, 0.3, True),
    "wind_area_power": (0.03, 0.05, False),
    "summer_layer_m": (5.0, 0.4, True),
    "summer_layer_power": (0.10, 0.08, False),
    "thinning_c": (50.0, 0.5, True),
    "thinning_power": (-0.30, 0.15, False),
    "thinning_area_power": (0.05, 0.08, False),
    "depth_cap_m": (25.0, 0.4, True),
    "ice_growth_m2_per_c_day": (2.0e-4, 0.3, True),
    "ice_melt_m_per_c_day": (8.0e-3, 0.3, True),
    "ice_sun_m_per_w_m2_day": (3.0e-5, 0.4, True),
    "ice_off_c": (2.0, 1.0, False),
    "under_ice_c": (1.0, 0.5, False),
    "cloud_when_damp": (0.95, 0.15, False),
    "cloud_per_c": (0.07, 0.025, False),
    "cooling_share": (0.2, 0.2, False),
    "skin_c_per_w_m2": (0.003, 0.002, False),
}
NAMES = tuple(item.name for item in fields(SlabParameters))
LIMITS = {
    "cooling_share": (0.0, 1.0),
    "under_ice_c": (0.0, 3.0),
    "ice_off_c": (0.0, 4.0),
    "cloud_per_c": (0.0, 0.2),
    "skin_c_per_w_m2": (0.0, 0.01),
}
_PRIOR_WEIGHT = 0.05
_TRIAL_STEP = 0.05
_SPIN_UP_DAYS = 30


@dataclass(frozen=True)
class SlabFit:
    """Fitted numbers, their cost, and the error of each lake (RMSE and bias over all days, C)."""

    slab: SlabParameters
    cost: float
    rmse_c: dict[str, float]
    bias_c: dict[str, float]


def spreads() -> Floats:
    """Prior spread of each number in fitting space."""
    return np.array([PRIORS[name][1] for name in NAMES])


def to_vector(slab: SlabParameters) -> Floats:
    """Numbers in fitting space."""
    return np.array([np.log(getattr(slab, name)) if PRIORS[name][2] else getattr(slab, name) for name in NAMES])


def from_vector(vector: Floats) -> SlabParameters:
    """Numbers from fitting space, held in their limits."""
    values = {}
    for name, value in zip(NAMES, vector, strict=True):
        plain = float(np.exp(value)) if PRIORS[name][2] else float(value)
        low, high = LIMITS.get(name, (-np.inf, np.inf))
        values[name] = min(max(plain, low), high)
    return SlabParameters(**values)


def prior_slab() -> SlabParameters:
    """The priors themselves, where a fit starts."""
    return SlabParameters(**{name: PRIORS[name][0] for name in NAMES})


def run_sets(batch: Batch, sets: list[SlabParameters]) -> Floats:
    """Daily means by trial set, (sets, days, lakes), C."""
    sites = [lake.site for lake in batch.lakes]
    columns = Columns.join([columns_for(sites, batch.coldest_air_c, slab) for slab in sets])
    parts = [forcing_for(batch.air_c, batch.depression_c, batch.sun_w_m2, slab) for slab in sets]
    forcing = Forcing(
        *(np.concatenate([getattr(part, item.name) for part in parts], axis=1) for item in fields(Forcing))
    )
    means = free_run(forcing.air_c[:_SPIN_UP_DAYS].mean(axis=0), forcing, columns)
    return means.reshape(means.shape[0], len(sets), -1).transpose(1, 0, 2)


def counted(batch: Batch) -> NDArray[np.bool_]:
    """Days that count: water measured, and air known on 24 of the last 30 days; (days, lakes)."""
    known = (batch.air_sd_c <= 0).astype(float)
    total = np.cumsum(np.vstack([np.zeros((1, known.shape[1])), known]), axis=0)
    index = np.arange(known.shape[0])
    since = np.maximum(index - 29, 0)
    share = (total[index + 1] - total[since]) / (index - since + 1)[:, None]
    return np.asarray(~np.isnan(batch.water_c) & (share >= 0.8))


def _residuals(batch: Batch, means: Floats, days: NDArray[np.bool_]) -> Floats:
    weight = 1 / np.sqrt(np.maximum(days.sum(axis=0), 1))
    return np.asarray(np.where(days, means - batch.water_c, 0.0) * weight)[days]


def fit_slab(batch: Batch, start: SlabParameters, steps: int = 10) -> SlabFit:
    """Fit all numbers to a batch of lakes."""
    prior, spread, days = to_vector(prior_slab()), spreads(), counted(batch)
    eye = np.eye(prior.size)

    def cost_of(vector: Floats, means: Floats) -> float:
        away = (vector - prior) / spread
        return float((_residuals(batch, means, days) ** 2).sum() + _PRIOR_WEIGHT * (away**2).sum())

    vector, damping, cost = to_vector(start), 1e-2, np.inf
    for _ in range(steps):
        trials = [vector, *(vector + _TRIAL_STEP * spread * row for row in eye)]
        means = run_sets(batch, [from_vector(trial) for trial in trials])
        base = _residuals(batch, means[0], days)
        slopes = np.stack([(_residuals(batch, run, days) - base) / _TRIAL_STEP for run in means[1:]], axis=1)
        away = (vector - prior) / spread
        matrix = slopes.T @ slopes + _PRIOR_WEIGHT * eye
        gradient = slopes.T @ base + _PRIOR_WEIGHT * away
        before, improved = cost_of(vector, means[0]), False
        for _ in range(5):
            move = np.clip(-np.linalg.solve(matrix + damping * np.diag(np.diag(matrix)), gradient), -1.0, 1.0)
            trial = vector + move * spread
            cost = cost_of(trial, run_sets(batch, [from_vector(trial)])[0])
            if cost < before:
                vector, damping, improved = trial, max(damping / 5, 1e-4), True
                break
            damping *= 6
        if not improved or before - cost < 1e-3 * before:
            break
    slab = from_vector(vector)
    return score_slab(batch, slab, min(cost, before))


def score_slab(batch: Batch, slab: SlabParameters, cost: float = 0.0) -> SlabFit:
    """Errors of a set of numbers on each lake of a batch, over the days that count."""
    days = counted(batch)
    error = np.where(days, run_sets(batch, [slab])[0] - batch.water_c, np.nan)
    rmse, bias = {}, {}
    for place, lake in enumerate(batch.lakes):
        column = error[days[:, place], place]
        rmse[lake.name] = float(np.sqrt((column**2).mean())) if column.size else np.nan
        bias[lake.name] = float(column.mean()) if column.size else np.nan
    return SlabFit(slab, cost, rmse, bias)
