"""Wind, gust and waves of an hour: what was measured counts where it is more, and nothing is lost on the way."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from briefing.core.readings import WindReading
from briefing.core.wind.fetch import fetch_table
from briefing.vocabulary import Level

from .conftest import NOW, square_lake


def measured(wind_mps: float | None, gust_mps: float | None, from_deg: float | None = 270.0) -> WindReading:
    return WindReading(NOW, wind_mps, gust_mps, from_deg, "metar", "airfield", 9.0)


def test_a_measured_gust_above_the_forecast_counts_for_ninety_minutes(morning) -> None:
    """The forecast's gust is 3 m/s, within the limits; 12 m/s were measured, over the stop."""
    assert morning.factor("gust").level is Level.WITHIN_LIMITS
    morning.changes["winds"] = (measured(2.0, 12.0),)
    gust = morning.factor("gust")
    assert (gust.level, gust.number, gust.shown) == (Level.STOP, 12.0, 12.0)
    assert gust.source == "airfield"
    assert "27 mph" in gust.text
    assert morning.levels()[0].level is morning.levels()[1].level is Level.STOP
    assert morning.factor("gust", 4).number == 3.0
    assert morning.factor("gust", 4).source.startswith("forecast grid")


def test_a_measured_gust_without_a_wind_beside_it_counts_too(morning) -> None:
    morning.changes["winds"] = (measured(None, 12.0),)
    assert (morning.factor("gust").level, morning.factor("gust").number) == (Level.STOP, 12.0)


def test_a_measured_gust_counts_where_none_is_forecast(morning) -> None:
    """Beside 2 m/s one of 3 would be estimated; a measured one is not called an estimate, and takes no caution away."""
    morning.values["gust_mps"] = None
    morning.changes["winds"] = (measured(2.0, 12.0),)
    gust = morning.factor("gust")
    assert (gust.level, gust.number, gust.shown) == (Level.STOP, 12.0, 12.0)
    assert gust.source == "airfield"
    assert "(measured)" in gust.text
    morning.changes["winds"] = (measured(2.0, 4.0),)
    gust = morning.factor("gust")
    assert (gust.level, gust.number) == (Level.CAUTION, 4.0)
    morning.changes["winds"] = (measured(2.0, 2.5),)
    gust = morning.factor("gust")
    assert (gust.level, gust.number) == (Level.CAUTION, pytest.approx(3.0))
    assert "(estimated from the wind)" in gust.text
    assert gust.source.startswith("forecast grid")


@pytest.mark.parametrize("lost", ["wind_mps", "gust_mps"])
def test_a_measured_gust_stops_where_the_forecast_cannot_be_read(morning, lost) -> None:
    morning.damaged[lost] = True
    morning.changes["winds"] = (measured(None, 12.0),)
    assert (morning.factor("gust").level, morning.factor("gust").number) == (Level.STOP, 12.0)
    assert morning.factor("gust").source == "airfield"
    morning.changes["winds"] = (measured(None, 4.0),)
    assert (morning.factor("gust").level, morning.factor("gust").number) == (Level.UNKNOWN, None)


def test_a_measured_gust_below_the_forecast_lowers_nothing(morning) -> None:
    morning.values["gust_mps"] = 12.0
    morning.changes["winds"] = (measured(2.0, 4.0),)
    assert morning.factor("gust").number == 12.0


def test_an_absent_gust_is_half_as_much_again_as_the_wind(morning) -> None:
    morning.values |= {"wind_mps": 6.0, "gust_mps": None}
    gust = morning.factor("gust")
    assert (gust.number, gust.estimated, gust.level) == (pytest.approx(9.0), True, Level.CAUTION)


def test_a_gust_below_its_wind_counts_as_the_wind_measured_or_forecast(morning) -> None:
    morning.values |= {"wind_mps": 7.0, "gust_mps": 3.0}
    assert morning.factor("gust").number == 7.0
    morning.values["wind_mps"] = 2.0
    morning.changes["winds"] = (measured(7.0, None),)
    assert morning.factor("gust").number == 7.0


@pytest.mark.parametrize("name", ["wind_mps", "gust_mps"])
def test_a_number_that_is_too_old_is_never_within_the_limits(morning, name) -> None:
    old = morning.inputs().hours[name].origins[0]
    morning.origins[name] = replace(old, issued=NOW - timedelta(hours=13))
    factor = morning.factor("sustained_wind" if name == "wind_mps" else "gust")
    assert (factor.level, factor.number) == (Level.UNKNOWN, None)


def test_waves_are_those_of_the_wind_over_open_water(morning) -> None:
    """A fifth more wind over the water makes waves about a quarter higher."""
    rules = morning.inputs().rules
    morning.values["wind_mps"] = 6.0
    heights = []
    for factor in (1.0, 1.2):
        morning.changes["rules"] = replace(rules, water=replace(rules.water, over_water_factor=factor))
        heights.append(morning.factor("waves").number)
    assert 1.2 < heights[1] / heights[0] < 1.3


def test_the_roughest_of_the_places_counts(morning) -> None:
    """A ramp under the bank that the wind comes from lies in calm water, the spot across does not."""
    lake, near, far = square_lake(1500.0), [-1450.0, 0.0], [1400.0, 0.0]
    heights = []
    for points in ([near], [far], [near, far], [far, near]):
        morning.changes["fetch"] = fetch_table(lake, points)
        heights.append(morning.factor("waves").number)
    assert heights[1] > 3.0 * heights[0]
    assert heights[2] == heights[3] == heights[1]


def test_a_wind_measured_from_the_open_side_makes_its_waves(morning) -> None:
    morning.changes["fetch"] = fetch_table(square_lake(1500.0), [[-1400.0, 0.0]])
    morning.values["wind_mps"] = 6.0  # from the west, off the near bank
    sheltered = morning.factor("waves").number
    morning.changes["winds"] = (measured(6.0, None, 90.0),)
    assert morning.factor("waves").number > 3.0 * sheltered


def test_a_way_back_against_the_measured_wind_is_lost(morning) -> None:
    assert not any(one.name == "headway" for one in morning.levels()[0].factors)
    morning.changes["winds"] = (measured(10.0, None),)
    headway = morning.factor("headway")
    assert (headway.level, headway.number) == (Level.STOP, 10.0)
    assert np.isfinite(headway.limit)
