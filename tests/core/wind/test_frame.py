"""What all factors share: measured winds over their hours, the water that is judged, the learned correction."""

from datetime import timedelta

import numpy as np
import pytest

from briefing.core.readings import WindReading
from briefing.core.wind.frame import make_frame

from .conftest import NOW


def station(wind_mps: float, gust_mps: float, name: str, minutes_ago: float = 0.0) -> WindReading:
    return WindReading(NOW - timedelta(minutes=minutes_ago), wind_mps, gust_mps, 270.0, "metar", name, 9.0)


@pytest.mark.parametrize(("minutes_ago", "hours"), [(0.0, 2), (30.0, 2), (89.0, 1)])
def test_a_measured_wind_counts_until_it_is_ninety_minutes_old(morning, minutes_ago, hours) -> None:
    """The series begins at ten, it is five past."""
    morning.changes["winds"] = (station(6.0, 9.0, "airfield", minutes_ago),)
    seen = make_frame(morning.inputs()).seen
    assert np.isfinite(seen.wind_mps).tolist() == np.isfinite(seen.gust_mps).tolist()
    assert np.isfinite(seen.wind_mps).tolist() == [True] * hours + [False] * (12 - hours)


@pytest.mark.parametrize("first", [0, 1])
def test_of_two_stations_the_stronger_counts(morning, first) -> None:
    both = (station(6.0, 9.0, "airfield"), station(3.0, 11.0, "buoy"))
    morning.changes["winds"] = both if first == 0 else both[::-1]
    seen = make_frame(morning.inputs()).seen
    assert (seen.wind_mps[0], seen.wind_names[0]) == (6.0, "airfield")
    assert (seen.gust_mps[0], seen.gust_names[0]) == (11.0, "buoy")


def test_the_coldest_plausible_water_stands_only_where_none_is_known(morning) -> None:
    morning.changes |= {"water_low_c": np.where(np.arange(12) < 6, 5.0, np.nan), "coldest_c": 12.0}
    frame = make_frame(morning.inputs())
    assert frame.water_c.tolist() == [5.0] * 6 + [12.0] * 6
    assert frame.cold_factor.tolist() == [0.6] * 6 + [0.75] * 6


@pytest.mark.parametrize(("learned", "by"), [(1.3, 1.3), (0.6, 1.0), (float("nan"), 1.0), (float("inf"), 1.0)])
def test_a_learned_correction_never_lowers_a_wind(morning, learned, by) -> None:
    morning.changes["wind_factor"] = learned
    frame = make_frame(morning.inputs())
    assert frame.wind.values == pytest.approx(2.0 * by)
    assert frame.gust.values == pytest.approx(3.0 * by)
