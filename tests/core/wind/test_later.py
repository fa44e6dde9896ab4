"""Which later day to look at first: by wind and gusts alone, and never one that isn't known."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from briefing.core.hours import HourSeries, Origin, field_of
from briefing.core.wind.later import later_day
from briefing.knowledge import load_limits
from briefing.vocabulary import Craft, Skill

START = datetime(2026, 5, 1, tzinfo=UTC)
LIMITS = load_limits().rows[Craft.KAYAK, Skill.EXPERIENCED]
EASY, CARE, STOP = 2.0, LIMITS.sustained_caution_mps + 0.1, LIMITS.sustained_stop_mps
SPANS = [
    (date(2026, 5, 2 + n), START + timedelta(days=1 + n, hours=6), START + timedelta(days=1 + n, hours=11))
    for n in range(3)
]


def series(*winds: float, gust: float = 1.2, days: int = 4) -> HourSeries:
    """A wind a day from the second one on."""
    wind = np.repeat([EASY, *winds, *[np.nan] * (days - 1 - len(winds))], 24)
    origin = Origin("x", "x", "forecast", START, START)
    return HourSeries(START, 24 * days, {"wind_mps": field_of(wind, origin), "gust_mps": field_of(gust * wind, origin)})


@pytest.mark.parametrize(
    ("winds", "found"),
    [
        ((EASY, EASY, EASY), 2),
        ((STOP, EASY, EASY), 3),
        ((CARE, STOP, EASY), 4),
        ((STOP, CARE, STOP), 3),
        ((STOP, STOP, STOP), None),
        ((np.nan, EASY, EASY), 3),
    ],
)
def test_the_first_easy_day_else_the_first_below_the_stop(winds: tuple[float, ...], found: int | None) -> None:
    day, known = later_day(series(*winds), SPANS, LIMITS)
    assert known
    assert (None if day is None else day.day.day) == found
    if day is not None:
        assert day.easy == (winds[day.day.day - 2] == EASY)
        assert day.wind_mps[1] < LIMITS.sustained_stop_mps


def test_gusts_count_as_well() -> None:
    day, known = later_day(series(EASY, EASY, EASY, gust=LIMITS.gust_stop_mps / EASY), SPANS, LIMITS)
    assert (day, known) == (None, True)


def test_a_day_with_one_hour_missing_is_not_known() -> None:
    hours = series(EASY, days=2)
    hours["wind_mps"].values[24 + 8] = np.nan
    assert later_day(hours, SPANS, LIMITS) == (None, False)
    assert later_day(series(days=1), SPANS, LIMITS) == (None, False)
