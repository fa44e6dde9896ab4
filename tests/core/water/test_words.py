"""Sentences about the estimate."""

from collections.abc import Callable

from briefing.core.water.engine import WaterResult
from briefing.core.water.words import describe_water

from .conftest import NOW, reading

Run = Callable[..., WaterResult]


def test_no_reading_yet(run: Run) -> None:
    basis, worth, *_ = describe_water(run([]), now=NOW, units="metric")
    assert basis.startswith("Modelled, no reading yet, ±")
    assert worth == "One water temperature at 9 am this week would halve the range."


def test_reading_of_days_ago(run: Run) -> None:
    assert "your reading of 2 days ago" in describe_water(run([reading(2, 13.0)]), now=NOW, units="us")[0]
    assert "your reading of yesterday" in describe_water(run([reading(1, 13.0)]), now=NOW, units="us")[0]
    assert "your reading of today" in describe_water(run([reading(0, 13.0)]), now=NOW, units="us")[0]


def test_gauge_is_not_called_yours(run: Run) -> None:
    gauge = reading(3, 13.0, kind="gauge", source="usgs", name="the gauge at the dam")
    assert "a gauge reading of 3 days ago" in describe_water(run([gauge]), now=NOW, units="us")[0]


def test_long_silence_is_said(run: Run) -> None:
    basis = describe_water(run([reading(61, 7.0)]), now=NOW, units="us")[0]
    assert "no reading for 61 days" in basis


def test_typing_error_is_told_at_once_but_not_for_ever(run: Run) -> None:
    assert any("was 61 F meant" in line for line in describe_water(run([reading(1, 61.0)]), now=NOW, units="us"))
    assert not any("was 61 F meant" in line for line in describe_water(run([reading(40, 61.0)]), now=NOW, units="us"))


def test_skill_is_told_after_five_readings(run: Run) -> None:
    few, many = (run([reading(days, 14.0 - days * 0.09) for days in range(1, last, 7)]) for last in (22, 60))
    assert not any("were predicted" in line for line in describe_water(few, now=NOW, units="us"))
    assert any("The last 9 readings were predicted" in line for line in describe_water(many, now=NOW, units="us"))
