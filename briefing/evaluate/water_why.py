"""Where the error of "now" comes from: squared error split by the air that was known and by the season's readings.

Before the season's first reading an estimate rests on the air alone, and where no air was measured before the sensor
went out it rests on normals. What is left of the error there is mostly weather that nobody told the engine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.water.slab import Floats

#: Days without measured water after which a new season of the sensor begins.
SEASON_GAP_DAYS = 30
_AIR = (("air on 0-11 of 30 days", 0.0, 0.4), ("air on 12-23", 0.4, 0.8), ("air on 24-30", 0.8, 1.01))
_AGE = (("before the first reading", -1, 0), ("1-7 days after it", 1, 8), ("8 days and more after it", 8, 10**6))


@dataclass(frozen=True)
class Errors:
    """Scored days of one lake and all its columns, laid end to end; all of shape (n,).

    error_c: estimate minus truth; damped_c: the same of the damped anomaly, NaN where there is none; air_share: share
    of the last 30 days with measured air; since_days: days since the season's first reading, -1 before it.
    """

    error_c: Floats
    damped_c: Floats
    air_share: Floats
    since_days: NDArray[np.int64]

    @classmethod
    def join(cls, parts: Sequence[Errors]) -> Errors:
        """Lay lakes end to end."""
        return cls(*(np.concatenate([getattr(part, item.name) for part in parts]) for item in fields(cls)))


def since_first_reading(water_c: Floats, readings_c: Floats) -> NDArray[np.int64]:
    """Days since the season's first reading, -1 before it and where no water was measured.

    water_c (days,), readings_c (days, columns); returns (days, columns).
    """
    out = np.full(readings_c.shape, -1, dtype=np.int64)
    measured = np.flatnonzero(~np.isnan(water_c))
    if measured.size == 0:
        return out
    opens = np.diff(measured, prepend=measured[0] - SEASON_GAP_DAYS - 1) > SEASON_GAP_DAYS
    began = measured[np.maximum.accumulate(np.where(opens, np.arange(measured.size), 0))]
    for column in range(readings_c.shape[1]):
        read = np.append(np.flatnonzero(~np.isnan(readings_c[:, column])), water_c.size)
        first = read[np.searchsorted(read, began)]
        out[measured, column] = np.where(first < measured, measured - first, -1)
    return out


def lake_errors(
    estimate_c: Floats,
    damped_c: Floats,
    water_c: Floats,
    readings_c: Floats,
    air_share: Floats,
    days: NDArray[np.bool_],
) -> Errors:
    """Errors of one lake on ``days`` (days,), but for those that are read; water_c, air_share (days,), others (days,
    columns)."""
    scored = days[:, None] & np.isnan(readings_c) & ~np.isnan(water_c)[:, None]
    truth = water_c[:, None]
    share = np.repeat(air_share[:, None], readings_c.shape[1], axis=1)
    since = since_first_reading(water_c, readings_c)
    return Errors((estimate_c - truth)[scored], (damped_c - truth)[scored], share[scored], since[scored])


def why_rows(group: str, errors: Errors) -> list[dict[str, Any]]:
    """Both splits of a group: share of days and of squared error (%), RMSE and mean error (C), and the damped anomaly's
    RMSE on the same days."""
    kinds = [(name, (errors.air_share >= low) & (errors.air_share < high)) for name, low, high in _AIR]
    kinds += [(name, (errors.since_days >= low) & (errors.since_days < high)) for name, low, high in _AGE]
    squares = errors.error_c**2
    rows = []
    for name, chosen in kinds:
        if chosen.any():
            damped = errors.damped_c[chosen]
            damped = damped[~np.isnan(damped)]
            rows.append(
                {
                    "group": group,
                    "part": name,
                    "days_percent": round(100 * float(chosen.mean()), 1),
                    "error_percent": round(100 * float(squares[chosen].sum() / squares.sum()), 1),
                    "rmse_c": round(float(np.sqrt(squares[chosen].mean())), 3),
                    "bias_c": round(float(errors.error_c[chosen].mean()), 3),
                    "damped_rmse_c": round(float(np.sqrt((damped**2).mean())), 3) if damped.size else None,
                }
            )
    return rows
