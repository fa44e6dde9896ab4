"""The filter over many columns at once: lakes, seeds or trial numbers side by side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from briefing.core.water.kalman import (
    AIR,
    FLUX,
    LASTING,
    TEMPERATURE,
    Belief,
    Day,
    Noise,
    advance,
    kept_under_ice,
    look,
    read,
    thawed,
)
from briefing.core.water.slab import Columns, Floats, Forcing, ice_step, step


@dataclass(frozen=True)
class Passed:
    """One day of a batch: as seen before its readings and after, the readings' weight, and the beliefs around it."""

    prior: Belief  # at the start of the day, before its readings, but for ice that they deny
    before: Day
    after: Day
    weight: Floats  # of the day's reading, 0 where none
    following: Belief  # at the start of the next day


def filter_days(
    belief: Belief,
    forcing: Forcing,
    season: tuple[Floats, Floats],
    air_sd_c: Floats,
    readings_c: Floats,
    reading_var_c2: Floats,
    columns: Columns,
    noise: Noise,
) -> Iterator[Passed]:
    """Run the filter day by day.

    forcing, season, air_sd_c, readings_c: (days, columns), readings NaN where none; reading_var_c2 (columns,).
    """
    days = forcing.air_c.shape[0]
    for number in range(days):
        heat, exchange = forcing.radiation_w_m2[number], forcing.exchange_hpa[number]
        weight = np.zeros_like(heat)
        before = look(belief, heat, exchange, (season[0][number], season[1][number]), columns)
        prior, before = thawed(belief, before, readings_c[number])
        belief, after = prior, before
        if not np.isnan(readings_c[number]).all():
            belief, after, weight = read(belief, before, readings_c[number], reading_var_c2, noise)
        spread = air_sd_c[min(number + 1, days - 1)]
        belief = advance(belief, after, forcing.air_c[number], forcing.sun_w_m2[number], spread, columns, noise)
        yield Passed(prior, before, after, weight, belief)


class WeekMean:
    """The mean of the last days, each seen anew by every reading since (fixed-lag smoothing, exact for the filter).

    For each of the days it holds the estimate and its covariance with the state, which the filter's own steps carry on.
    """

    def __init__(self, days: int = 7) -> None:
        self.days = days
        self._means: Floats | None = None  # (days held, columns)
        self._cross: Floats | None = None  # (days held, states, columns)

    def take(self, passed: Passed, readings_c: Floats, noise: Noise) -> Floats:
        """Take in a day and return the mean over the days held; (columns,)."""
        slopes = passed.before.slopes
        own = np.einsum("ijn,jn->in", passed.prior.covariance, slopes)
        today, new = passed.after.mean_c[None], (own * (1 - passed.weight))[None]
        if self._means is None or self._cross is None:
            self._means, self._cross = today, new
        else:
            means, cross = self._means, self._cross
            read = passed.weight > 0
            if read.any():
                gap = np.where(read, readings_c - passed.before.mean_c, 0.0)
                total = np.where(read, passed.before.var_c2 / np.where(read, passed.weight, 1.0), 1.0)
                share = np.where(read, (cross * slopes).sum(axis=1) / total, 0.0)
                means = np.maximum(means + share * gap, 0.0)
                cross = cross - share[:, None] * own
            self._means = np.concatenate((means, today))[-self.days :]
            self._cross = np.concatenate((cross, new))[-self.days :]
        self._cross = _carried(self._cross, passed, noise)
        return np.asarray(self._means.mean(axis=0))


def _carried(cross: Floats, passed: Passed, noise: Noise) -> Floats:
    """Covariance with the state of the next day; (days held, states, columns)."""
    out = cross.copy()
    frozen = (passed.following.ice_m > 0) | (passed.prior.ice_m > 0)
    kept = kept_under_ice(passed.prior.ice_m, passed.following.ice_m, noise)
    moved = (passed.after.end_slopes * cross).sum(axis=1)
    out[:, TEMPERATURE] = np.where(frozen, kept * out[:, TEMPERATURE], moved)
    out[:, FLUX] *= noise.flux_decay
    out[:, LASTING] *= noise.lasting_decay
    out[:, AIR] = np.where(passed.following.air_sd_c > 0, out[:, AIR], 0.0)
    return out


def free_run(start_c: Floats, forcing: Forcing, columns: Columns) -> Floats:
    """Daily means of the slab without filter or readings, the air taken as exact, C; (days, columns)."""
    temperature, ice = np.maximum(start_c, 0.0), np.zeros_like(start_c)
    one, exact = np.ones_like(start_c), np.zeros_like(start_c)
    out = np.empty_like(forcing.air_c)
    for number in range(out.shape[0]):
        heat, exchange = forcing.radiation_w_m2[number], forcing.exchange_hpa[number]
        day = step(temperature, heat, exchange, columns, one, columns.wind)
        out[number] = np.where(ice > 0, temperature, np.maximum(day.mean_c + columns.skin * day.net_w_m2, 0.0))
        air, sun = forcing.air_c[number], forcing.sun_w_m2[number]
        temperature, ice = ice_step(day.end_c, ice, air, exact, sun, columns.layer_m, columns)
    return out
