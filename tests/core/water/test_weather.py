"""Air as the slab needs it: gaps, forecasts, calendar."""

from datetime import date, timedelta

import numpy as np
import pytest

from briefing.core.readings import DailyAir
from briefing.core.water.weather import day_weather, fill_gaps, lead_error_c, leap_day_index, shrink

from .conftest import make_air, make_normals


def test_leap_day_keeps_its_place() -> None:
    assert leap_day_index([date(2024, 2, 29), date(2025, 3, 1), date(2025, 12, 31)]).tolist() == [59, 60, 365]


def test_lead_error_grows_from_one_to_three_degrees() -> None:
    assert lead_error_c(np.array([0, 1, 7])).tolist() == pytest.approx([0.0, 1.0, 3.0])


def test_a_worthless_forecast_becomes_the_normal() -> None:
    value, spread = shrink(np.array([25.0]), np.array([15.0]), np.array([4.0]), np.array([1e6]))
    assert value[0] == pytest.approx(15.0, abs=0.01)
    assert spread[0] == pytest.approx(4.0, abs=0.01)


def test_gaps_fade_between_their_neighbours_and_widen() -> None:
    anomaly = np.array([4.0, np.nan, np.nan, np.nan, np.nan, np.nan, 2.0, np.nan, np.nan])
    value, spread = fill_gaps(anomaly, np.full(9, 4.0))
    assert value[1] == pytest.approx(3.0, abs=0.2)
    assert 0 < value[3] < 2.5
    assert spread[0] == spread[6] == 0.0
    assert spread[1] < spread[3] > spread[5]
    assert value[8] == pytest.approx(2.0 * 0.75**2)
    assert spread[8] > spread[7] > 0


def test_days_without_any_air_are_normal_and_wide() -> None:
    normals = make_normals()
    nothing = DailyAir(date(2025, 1, 1), np.array([]), (), np.array([], dtype=np.int16), "none", "none")
    weather = day_weather(nothing, normals, date(2025, 2, 27), 5)
    assert weather.air_c == pytest.approx(normals.mean_c[weather.day_of_year])
    assert weather.day_of_year.tolist() == [57, 58, 60, 61, 62]
    assert (weather.air_sd_c >= 4.0).all()
    assert not weather.known.any()


def test_absurd_air_counts_as_missing() -> None:
    normals = make_normals()
    air = make_air(normals, past=20)
    air.mean_c[5] = 999.0
    weather = day_weather(air, normals, air.start, 20)
    assert not weather.known[5]
    assert abs(weather.air_c[5] - air.mean_c[4]) < 8.0
    assert weather.air_sd_c[5] > 0


def test_forecast_days_carry_their_error() -> None:
    normals = make_normals()
    air = make_air(normals)
    weather = day_weather(air, normals, air.start, air.mean_c.size)
    today = air.mean_c.size - 11
    assert weather.air_sd_c[today] == 0.0
    assert (np.diff(weather.air_sd_c[today:]) > 0).all()
    normal = normals.mean_c[leap_day_index([air.start + timedelta(days=today + 7)])][0]
    assert abs(weather.air_c[today + 7] - normal) < abs(air.mean_c[today + 7] - normal)
