"""The filter over many columns at once: lakes, seeds or trial numbers side by side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from briefing.core.water.kalman import Belief, Day, Noise, advance, look, read
from briefing.core.water.slab import Columns, Floats, Forcing, ice_step, step


@dataclass(frozen=True)
class Passed:
    """One day of a batch: as seen before its readings and after, and the belief at the start of the next day."""

    before: Day
    after: Day
    following: Belief


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
        before = after = look(belief, heat, exchange, (season[0][number], season[1][number]), columns)
        if not np.isnan(readings_c[number]).all():
            belief, after, _ = read(belief, before, readings_c[number], reading_var_c2, noise)
        spread = air_sd_c[min(number + 1, days - 1)]
        belief = advance(belief, after, forcing.air_c[number], forcing.sun_w_m2[number], spread, columns, noise)
        yield Passed(before, after, belief)


def free_run(start_c: Floats, forcing: Forcing, columns: Columns) -> Floats:
    """Daily means of the slab without filter or readings, C; (days, columns)."""
    temperature, ice = np.maximum(start_c, 0.0), np.zeros_like(start_c)
    one = np.ones_like(start_c)
    out = np.empty_like(forcing.air_c)
    for number in range(out.shape[0]):
        heat, exchange = forcing.radiation_w_m2[number], forcing.exchange_hpa[number]
        day = step(temperature, heat, exchange, columns, one, columns.wind)
        out[number] = np.where(ice > 0, temperature, np.maximum(day.mean_c, 0.0))
        air, sun = forcing.air_c[number], forcing.sun_w_m2[number]
        temperature, ice = ice_step(day.end_c, ice, air, sun, columns.layer_m, columns)
    return out
