"""Sight, light, cold and alerts of an hour."""

from dataclasses import replace
from datetime import timedelta

import pytest

from briefing.core.alerts import AlertFeed
from briefing.core.readings import WindReading
from briefing.core.wind.alerts import resolve_alerts
from briefing.core.wind.hour_levels import hour_levels
from briefing.core.wind.inputs import DayLight
from briefing.vocabulary import Craft, Level

from .conftest import NOW


def looked(visibility_m: float | None, minutes_ago: float = 0.0) -> WindReading:
    at = NOW - timedelta(minutes=minutes_ago)
    return WindReading(at, 2.0, None, 270.0, "metar", "airfield", 9.0, visibility_m=visibility_m)


@pytest.mark.parametrize(("craft", "level"), [(Craft.KAYAK, Level.CAUTION), (Craft.JON_BOAT, Level.STOP)])
def test_a_measured_visibility_below_the_forecast_counts_for_ninety_minutes(morning, craft, level) -> None:
    """Sixteen kilometres are forecast, 300 m were measured."""
    morning.craft = craft
    assert morning.factor("visibility").level is Level.WITHIN_LIMITS
    morning.changes["winds"] = (looked(300.0),)
    for hour in (0, 1):
        sight = morning.factor("visibility", hour)
        assert (sight.level, sight.number) == (level, 300.0)
        assert morning.levels()[hour].level is level
        assert "984 ft" in sight.text
        assert sight.source == "airfield"
    assert morning.factor("visibility", 4).number == 16000.0
    assert morning.factor("visibility", 4).source.startswith("forecast grid")


def test_of_two_measured_visibilities_the_shorter_counts(morning) -> None:
    for pair in ((300.0, 9000.0), (9000.0, 300.0), (300.0, None), (None, 300.0)):
        morning.changes["winds"] = tuple(looked(one) for one in pair)
        assert morning.factor("visibility").number == 300.0


def test_a_measured_visibility_makes_no_forecast_better(morning) -> None:
    morning.values["visibility_m"] = 300.0
    morning.changes["winds"] = (looked(9000.0),)
    assert (morning.factor("visibility").level, morning.factor("visibility").number) == (Level.CAUTION, 300.0)
    morning.damaged["visibility_m"] = True
    assert morning.factor("visibility").level is Level.UNKNOWN


def test_an_old_measured_visibility_counts_no_more(morning) -> None:
    morning.changes["winds"] = (looked(300.0, 91.0),)
    assert morning.factor("visibility").number == 16000.0


def test_an_hour_that_runs_into_the_dark_is_dark(morning) -> None:
    """The dusk falls at a quarter past: that hour is light when it begins and dark when it ends."""
    start = morning.inputs().hours.start
    dusk = start + timedelta(hours=5, minutes=15)
    morning.changes["light"] = (DayLight(start, start, dusk - timedelta(minutes=30), dusk),)
    assert [morning.factor("darkness", hour).level for hour in (4, 5, 6)] == [
        Level.WITHIN_LIMITS,
        Level.CAUTION,
        Level.CAUTION,
    ]


def test_an_answer_that_failed_is_no_list_without_alerts_though_an_earlier_one_was_read(morning) -> None:
    inputs = morning.inputs()
    failed = AlertFeed((), None, "alerts", "alert service", problem="no answer")
    known = resolve_alerts(failed, inputs.alerts, (), NOW)
    assert known.checked_at == inputs.alerts.checked_at
    for hour in hour_levels(replace(inputs, alerts=known)):
        (alerts,) = [one for one in hour.factors if one.name == "alerts"]
        assert (hour.level, alerts.level) == (Level.UNKNOWN, Level.UNKNOWN)
