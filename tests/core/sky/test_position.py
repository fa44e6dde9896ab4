"""Elevation of the sun and length of the day against an independent library, and the search for crossings."""

import math
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import ephem
import numpy as np
import pytest

from briefing.core.sky import day_length_h, moon_phase_instants, sky_day, sun_elevation_deg
from briefing.core.sky.search import crossings


@pytest.mark.parametrize("latitude", [-65.0, -23.0, 0.0, 35.0, 61.0, 90.0])
def test_elevation_is_that_of_the_ephemeris_within_a_twentieth_of_a_degree(latitude):
    times = datetime(1995, 1, 1, tzinfo=UTC).timestamp() + np.arange(0.0, 45.0 * 365.0 * 86_400.0, 17.31 * 86_400.0)
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.pressure = math.radians(latitude), math.radians(-86.0), 0.0
    expected = []
    for when in times:
        observer.date = datetime.fromtimestamp(when, UTC).replace(tzinfo=None)
        expected.append(math.degrees(float(ephem.Sun(observer).alt)))
    assert np.abs(sun_elevation_deg(latitude, -86.0, times) - expected).max() < 0.05


def test_elevation_keeps_the_shape_it_is_given():
    assert sun_elevation_deg(35.0, -86.0, np.zeros((3, 4))).shape == (3, 4)
    assert sun_elevation_deg(35.0, -86.0, np.zeros(0)).shape == (0,)


@pytest.mark.parametrize(("latitude", "minutes"), [(-45.0, 4.0), (0.0, 0.5), (27.0, 2.0), (35.0, 2.5), (60.0, 7.0)])
@pytest.mark.parametrize("year", [2024, 2025, 2027])
def test_day_length_is_that_of_the_almanac_within_the_stated_minutes(latitude, minutes, year):
    for number in range(1, 366, 13):
        sky = sky_day(latitude, 0.0, date(year, 1, 1) + timedelta(days=number - 1), ZoneInfo("UTC"))
        assert day_length_h(latitude, np.array([number]))[0] == pytest.approx(sky.day_length_h, abs=minutes / 60.0)


def test_day_length_at_the_poles_and_on_the_equator():
    assert day_length_h(90.0, np.array([172, 355])).tolist() == [24.0, 0.0]
    assert day_length_h(-90.0, np.array([172, 355])).tolist() == [0.0, 24.0]
    assert np.abs(day_length_h(0.0, np.arange(1, 367)) - 12.12).max() < 0.03


def test_crossings_finds_a_pair_hidden_between_two_samples():
    # A parabola that dips 0.01 below zero for 2.8 min in the middle of an hour.
    found = crossings(lambda t: ((t - 5_400.0) / 3_600.0) ** 2 * 18.0 - 0.01, 0.0, 10_800.0, 3_600.0, 1.0)
    assert [way for _, way in found] == [-1, 1]
    half = math.sqrt(0.01 / 18.0) * 3_600.0
    assert [when for when, _ in found] == pytest.approx([5_400.0 - half, 5_400.0 + half], abs=0.1)


def test_crossings_takes_the_start_and_leaves_the_end():
    def line(t):
        return t - 7_200.0

    assert crossings(line, 7_200.0, 10_000.0, 3_600.0, 0.0) == [(pytest.approx(7_200.0, abs=0.01), 1)]
    assert crossings(line, 0.0, 7_200.0, 3_600.0, 0.0) == []


# U.S. Naval Observatory, phases of the moon in early 2025, printed minutes.
PHASES_2025 = [
    ("first_quarter", datetime(2025, 1, 6, 23, 56, tzinfo=UTC)),
    ("full", datetime(2025, 1, 13, 22, 27, tzinfo=UTC)),
    ("last_quarter", datetime(2025, 1, 21, 20, 31, tzinfo=UTC)),
    ("new", datetime(2025, 1, 29, 12, 36, tzinfo=UTC)),
    ("first_quarter", datetime(2025, 2, 5, 8, 2, tzinfo=UTC)),
]


def test_moon_phases_are_the_published_ones_in_order():
    found = moon_phase_instants(datetime(2025, 1, 1, tzinfo=UTC), datetime(2025, 2, 10, tzinfo=UTC))
    assert [name for name, _ in found] == [name for name, _ in PHASES_2025]
    for (_, when), (_, published) in zip(found, PHASES_2025, strict=True):
        assert abs(when - published) < timedelta(seconds=60)


def test_moon_phases_want_aware_instants():
    with pytest.raises(ValueError, match="aware"):
        moon_phase_instants(datetime(2025, 1, 1), datetime(2025, 2, 1, tzinfo=UTC))  # noqa: DTZ001
