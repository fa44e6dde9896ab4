"""Which readings of gauges the water and the season are told."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from briefing.core.readings import LevelReading, WaterReading
from briefing.pipeline.fish import level_changes, water_readings
from briefing.pipeline.inputs import MorningInputs
from tests.scenarios import SCENARIOS, inputs_of


@pytest.fixture
def morning() -> MorningInputs:
    """A morning at 05:10 with two readings of the user and no gauge."""
    inputs = inputs_of(SCENARIOS["south_early_spring_front_coming"])
    return replace(inputs, gathered=replace(inputs.gathered, water=(), level=()))


def gauge(at: datetime, celsius: float, name: str = "USGS 1 (lake, provisional)") -> WaterReading:
    return WaterReading(f"usgs:{name}:{at:%m%dT%H%M}", at, celsius, kind="gauge", source="usgs", name=name)


def told(inputs: MorningInputs, *readings: WaterReading) -> list[float]:
    """Temperatures of the gauges' readings that count, as a gathering hands them over: oldest first."""
    water = tuple(sorted(readings, key=lambda one: one.time))
    found = water_readings(replace(inputs, gathered=replace(inputs.gathered, water=water)))
    assert set(inputs.entered.water) <= set(found)
    assert list(found) == sorted(found, key=lambda one: one.time)
    return [one.temperature_c for one in found if one.source == "usgs"]


def test_of_a_gauge_s_readings_of_a_day_the_newest_counts(morning: MorningInputs) -> None:
    """Water that falls by four degrees in a night is cold in the morning, whatever it was at midnight."""
    hours = [gauge(morning.now - timedelta(hours=ago), celsius) for ago, celsius in ((5, 14.0), (3, 12.0), (1, 10.0))]
    assert told(morning, *hours) == [10.0]


def test_each_day_and_each_gauge_counts_for_itself(morning: MorningInputs) -> None:
    now, day = morning.now, timedelta(days=1)
    first = [gauge(now - day - timedelta(hours=2), 15.0), gauge(now - day, 14.0), gauge(now, 13.0)]
    # What stands in brackets may change from value to value: it is the same gauge.
    second = [gauge(now - timedelta(hours=2), 9.0, "USGS 2 (lake)"), gauge(now, 8.0, "USGS 2 (lake, provisional)")]
    assert sorted(told(morning, *first, *second)) == [8.0, 13.0, 14.0]


def test_the_day_is_the_lake_s_not_that_of_universal_time(morning: MorningInputs) -> None:
    """In Florida 23:00 and 01:00 are two days; in universal time they are one."""
    midnight = morning.now.replace(hour=0, minute=0)
    late, early = gauge(midnight - timedelta(hours=1), 15.0), gauge(midnight + timedelta(hours=1), 14.0)
    assert told(morning, late, early) == [15.0, 14.0]


def test_a_reading_dated_ahead_of_now_never_stands_for_its_day(morning: MorningInputs) -> None:
    assert told(morning, gauge(morning.now, 10.0), gauge(morning.now + timedelta(minutes=1), 20.0)) == [10.0]


def test_a_change_of_level_is_told_by_the_newest_of_each_day(morning: MorningInputs) -> None:
    def level(days: int, hours: int, metres: float) -> LevelReading:
        return LevelReading(morning.now - timedelta(days=days, hours=hours), metres, None, "usgs", "USGS 1")

    readings = (level(0, 0, 3.9), level(3, 2, 3.0), level(3, 0, 3.1), level(0, 4, 3.5))
    inputs = replace(morning, gathered=replace(morning.gathered, level=readings))
    assert level_changes(inputs) == {morning.day: pytest.approx(0.8)}
