"""The calendar of one season: from late summer to the end of the next, counted in days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.sky import day_length_h

Floats = NDArray[np.float64]

#: A season is followed from 1 August (1 February in the south) and shown from a month later, its start forgotten.
SEASON_DAYS = 400
#: From the winter solstice to the day on which degree-days begin to count (1 January, 1 July).
DEGREE_DAYS_FROM = 11
HALF_YEAR = 182.6


@dataclass(frozen=True)
class Season:
    """One season of a hemisphere. ``year`` is the calendar year in which most nests fall.

    since_solstice (days,) counts from the winter solstice, day_length_h (days,) in hours.
    """

    year: int
    start: date
    south: bool
    since_solstice: Floats
    day_length_h: Floats
    day_of_year: NDArray[np.int64]

    @property
    def days(self) -> int:
        """Number of days followed."""
        return int(self.day_length_h.size)

    @property
    def degree_days_from(self) -> int:
        """Index of the day from which degree-days count."""
        return int(np.searchsorted(self.since_solstice, DEGREE_DAYS_FROM))

    def index_of(self, day: date) -> int:
        """Index of a date; may lie outside the season."""
        return (day - self.start).days

    def date_at(self, index: float) -> date:
        """Date of an index, rounded to the nearest day."""
        return self.start + timedelta(days=round(index))


def season_for(today: date, latitude_deg: float) -> Season:
    """Return the season shown on ``today``: September to August in the north, March to February in the south."""
    south = latitude_deg < 0
    shown_from, started, solstice = (3, 2, 6) if south else (9, 8, 12)
    opened = today.year if today.month >= shown_from else today.year - 1
    start = date(opened, started, 1)
    days = np.arange(SEASON_DAYS)
    ordinals = [start + timedelta(days=int(n)) for n in days]
    day_of_year = np.array([day.timetuple().tm_yday for day in ordinals])
    return Season(
        year=opened if south else opened + 1,
        start=start,
        south=south,
        since_solstice=(days - (date(opened, solstice, 21) - start).days).astype(float),
        day_length_h=np.asarray(day_length_h(latitude_deg, day_of_year), dtype=float),
        day_of_year=day_of_year,
    )
