"""Hourly values from several sources: what is missing is filled, what is damaged stays so."""

from datetime import UTC, datetime

import numpy as np

from briefing.core.hours import HourSeries, Origin, field_of, missing_field

START = datetime(2026, 6, 3, 10, tzinfo=UTC)
NAN = float("nan")
GRID, MODEL = Origin("grid", "grid", "forecast"), Origin("model", "model", "forecast")


def series(name: str, values: list[float], origin: Origin, damaged: list[bool] | None = None) -> HourSeries:
    return HourSeries(START, len(values), {name: field_of(values, origin, damaged)})


def test_a_damaged_hour_is_never_filled_from_another_source() -> None:
    """Nobody knows what stood there: a calm number of another source would hide it."""
    own = series("wind_mps", [9.0, NAN, NAN], GRID, [False, True, False])
    wind = own.filled_from(series("wind_mps", [1.0, 1.0, 2.0], MODEL))["wind_mps"]
    np.testing.assert_array_equal(wind.values, [9.0, NAN, 2.0])
    assert wind.damaged.tolist() == [False, True, False]
    assert [one.source if (one := wind.origin_at(hour)) else "" for hour in range(3)] == ["grid", "", "model"]


def test_a_damaged_hour_of_the_source_that_fills_stays_damaged() -> None:
    own = HourSeries(START, 2, {"wind_mps": missing_field(2)})
    wind = own.filled_from(series("wind_mps", [NAN, 1.0], MODEL, [True, False]))["wind_mps"]
    assert wind.damaged.tolist() == [True, False]
    np.testing.assert_array_equal(wind.values, [NAN, 1.0])


def test_hours_outside_the_series_are_missing_not_those_at_its_edge() -> None:
    cut = series("wind_mps", [9.0, 1.0], GRID).window(
        datetime(2026, 6, 3, 9, tzinfo=UTC), datetime(2026, 6, 3, 13, tzinfo=UTC)
    )
    np.testing.assert_array_equal(cut.values("wind_mps"), [NAN, 9.0, 1.0, NAN])
    assert cut["wind_mps"].origin_at(0) is cut["wind_mps"].origin_at(3) is None
