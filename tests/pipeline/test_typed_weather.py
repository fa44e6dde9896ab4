"""Weather typed in words over what was retrieved: newest first, and never calmer than a fresh forecast."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from briefing.core.hours import HourSeries, Origin, field_of
from briefing.knowledge import load_condition_words
from briefing.pipeline.typed_weather import typed_hours, understood, with_typed
from briefing.profile.files import load_profile
from briefing.resources import config_path
from briefing.sources.tables import stale_table

LAKE = load_profile(config_path("lakes/sedgemary-lake.toml"))
DAY = date(2026, 4, 18)
NOW = datetime(2026, 4, 18, 9, tzinfo=UTC)
MPH = 0.44704


def typed(text: str, hours_ago: float = 1.0) -> HourSeries:
    said = understood(text, LAKE, DAY, load_condition_words())
    return typed_hours(said, LAKE, DAY, NOW - timedelta(hours=hours_ago))


def at(series: HourSeries, name: str, clock: int) -> float:
    local = datetime(DAY.year, DAY.month, DAY.day, clock, tzinfo=LAKE.zone)
    return float(series.values(name)[series.index_of(local)])


def retrieved(hours_ago: float, **values: float) -> HourSeries:
    made = NOW - timedelta(hours=hours_ago)
    origin = Origin("nws_grid", "made-up", "forecast", issued=made, retrieved=made)
    start = NOW.replace(hour=0) - timedelta(days=1)
    return HourSeries(start, 72, {name: field_of(np.full(72, value), origin) for name, value in values.items()})


def test_the_upper_end_of_a_wind_counts_and_what_is_not_said_is_missing() -> None:
    hours = typed("wind S 8-15 until noon")
    assert at(hours, "wind_mps", 9) == pytest.approx(15 * MPH)
    assert np.isnan(at(hours, "wind_mps", 13))
    assert np.isnan(at(hours, "gust_mps", 9))
    assert hours["wind_mps"].origin_at(hours.index_of(NOW + timedelta(hours=4))).name == "the weather you typed"  # type: ignore[union-attr]


def test_the_air_runs_from_its_low_at_sunrise_to_its_high_in_the_afternoon() -> None:
    hours = typed("50 to 70 F")
    day = [at(hours, "air_c", clock) for clock in range(24)]
    assert min(day) == pytest.approx(10.0)
    assert day[15] == max(day) == pytest.approx(21.1, abs=0.1)
    assert day[7] < day[10] < day[14]


def test_words_for_thunder_stand_for_the_chance_they_have_in_a_forecast() -> None:
    hours = typed("no storms until 2; chance of storms after 2 until 4; storms likely after 4")
    assert [at(hours, "thunder_words_pct", clock) for clock in (9, 14, 17)] == [0.0, 40.0, 65.0]


def test_the_newest_line_goes_over_an_older_one_and_fills_what_it_does_not_say() -> None:
    both = with_typed(retrieved(1.0), [typed("wind 5"), typed("wind 9, gusts 14", 5.0)], NOW, stale_table())
    assert at(both, "wind_mps", 9) == pytest.approx(5 * MPH)
    assert at(both, "gust_mps", 9) == pytest.approx(14 * MPH)


@pytest.mark.parametrize(("age_h", "counts"), [(2.0, True), (60.0, False)])
def test_a_fresh_forecast_that_is_worse_stays_and_a_stale_one_does_not(age_h: float, counts: bool) -> None:
    forecast = retrieved(age_h, wind_mps=11.0, thunder_pct=50.0, visibility_m=300.0, cloud_pct=10.0)
    merged = with_typed(forecast, [typed("calm; thunder 5%; cloud 80%; visibility 6 miles")], NOW, stale_table())
    assert (at(merged, "wind_mps", 9) == pytest.approx(11.0)) == counts
    assert (at(merged, "thunder_pct", 9) == pytest.approx(50.0)) == counts
    assert (at(merged, "visibility_m", 9) == pytest.approx(300.0)) == counts
    assert at(merged, "cloud_pct", 9) == 80.0
    assert at(merged, "wind_mps", 20) >= 0.0


def test_a_worse_line_goes_over_a_calm_forecast() -> None:
    merged = with_typed(
        retrieved(1.0, wind_mps=1.0, gust_mps=2.0), [typed("wind 20 gusts 30 after 10")], NOW, stale_table()
    )
    assert at(merged, "wind_mps", 9) == 1.0
    assert at(merged, "gust_mps", 12) == pytest.approx(30 * MPH)
