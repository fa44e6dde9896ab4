"""Which later day of a forecast to look at first, by wind and gusts alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from briefing.core.hours import HourSeries
from briefing.core.wind.limits import Limits


@dataclass(frozen=True, slots=True)
class LaterDay:
    """A day to look at: wind and strongest gust (m/s) in its hours; ``easy``: below caution all the time."""

    day: date
    wind_mps: tuple[float, float]
    gust_mps: float
    easy: bool


def later_day(
    hours: HourSeries, spans: Sequence[tuple[date, datetime, datetime]], limits: Limits
) -> tuple[LaterDay | None, bool]:
    """The first later day whose wind and gusts stay below caution, else below the stop; and whether any was known.

    ``spans`` are the hours out on each later day, in order. A day with an hour that is missing, or without a value of
    wind or gust, is not known and never named.
    """
    found: list[LaterDay] = []
    known = False
    for day, begin, end in spans:
        part = hours.window(begin, end)
        wind, gust = part.values("wind_mps"), part.values("gust_mps")
        if not part.hours or not (np.isfinite(wind).all() and np.isfinite(gust).all()):
            continue
        known = True
        top, peak = float(wind.max()), float(gust.max())
        if top < limits.sustained_stop_mps and peak < limits.gust_stop_mps:
            easy = top < limits.sustained_caution_mps and peak < limits.gust_caution_mps
            found.append(LaterDay(day, (float(wind.min()), top), peak, easy))
    return next((one for one in found if one.easy), found[0] if found else None), known
