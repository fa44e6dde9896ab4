"""Ice, hazards that nothing was read for, hours that are past or too few, an old forecast: each told as what it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import pytest

from briefing.pipeline.build import build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_text
from briefing.sections.briefing import Briefing
from briefing.sections.unknown import UnknownSection
from briefing.tools.compose import Weather
from briefing.vocabulary import Level
from tests.mornings import MORNINGS
from tests.scenarios import LOWLAND, NORTH, SCENARIOS, SOUTH, Scenario, inputs_of

QUIET = Weather(seed=60, breeze_mps=1.0, peak_mps=2.5)
JANUARY = Scenario(NORTH, date(2026, 1, 17), "06:30", "08:30", "13:00", QUIET)
MAY = Scenario(SOUTH, date(2026, 5, 9), "05:00", "06:00", "11:15", replace(QUIET, peak_mps=4.0))


def made(scenario: Scenario) -> Briefing:
    return build(inputs_of(scenario), load_tables()).briefing


def at(inputs: MorningInputs, clock: str) -> datetime:
    return datetime.combine(inputs.day, time.fromisoformat(clock), tzinfo=inputs.profile.zone)


def lines(briefing: Briefing) -> dict[str, str]:
    return {line.name: line.text for line in briefing.glance.lines}


def test_ice_is_the_reason_everywhere() -> None:
    briefing = made(JANUARY)
    first = briefing.cautions.items[0]
    assert (first.name, first.level) == ("ice", Level.STOP)
    assert briefing.glance.subject.startswith("Stay ashore (ice): ")
    assert lines(briefing)["First"] == "no place: the water model has ice on the lake"
    assert "wind alone" not in to_text(briefing)


@pytest.mark.parametrize("lake", [NORTH, LOWLAND])
def test_water_that_no_lure_fits_is_no_matter_of_the_way(lake: str) -> None:
    briefing = made(replace(JANUARY, lake=lake, weather=replace(QUIET, warm_c=-12)))
    text = " ".join(to_text(briefing).split())
    assert not any(block.stops for block in briefing.plan.blocks)
    assert "No lure fits these places in this water and weather." in text
    assert "reached and left again" not in text


def short(unknown: UnknownSection) -> str:
    return " ".join(item.short for item in unknown.items)


@pytest.mark.parametrize("name", ["everything_missing", "stale"])
def test_what_was_not_read_is_not_known_rather_than_poor(name: str) -> None:
    briefing = build(MORNINGS[name.replace("_", " ")](), load_tables()).briefing
    assert "heat and visibility" in short(briefing.unknown) or "heat, visibility" in short(briefing.unknown)
    assert all(word in lines(briefing)["Not known"] for word in ("heat", "visibility"))
    assert "Also a caution" not in briefing.cautions.more_text
    told = [*(one.title for one in briefing.cautions.items), briefing.cautions.more_text]
    assert "Heat not known" in told
    assert any(text.startswith("Also not known, see the hour table: Visibility, ") for text in told)


def test_heat_that_is_not_known_is_minded_as_that() -> None:
    briefing = made(
        replace(MAY, day=date(2026, 7, 11), weather=replace(MAY.weather, missing=("dewpoint_c", "humidity_pct")))
    )
    assert "heat not known" in briefing.day.why
    assert briefing.day.because == ("heat not known",)


def test_a_launch_that_is_past_begins_now_in_every_place() -> None:
    inputs = inputs_of(replace(MAY, now="08:45"))
    briefing = build(inputs, load_tables()).briefing
    assert briefing.day.begin == at(inputs, "08:45")
    assert briefing.glance.hours_text.startswith("Out 08:45. ")
    assert "light" not in briefing.day.why
    assert "On the water from 08:45" in briefing.cautions.float_plan
    assert briefing.glance.strip is not None
    assert briefing.glance.strip.out == at(inputs, "08:45")
    stops = [stop for block in briefing.plan.blocks for stop in block.stops]
    assert stops[0].begin >= at(inputs, "08:45")
    assert any("06:00, the launch as planned, is past" in text for text in briefing.day.sentences)


def test_in_the_last_minutes_only_the_end_is_told() -> None:
    briefing = made(replace(MAY, now="11:00"))
    assert briefing.glance.hours_text == "Off the water by 11:15."


def test_hours_waited_for_in_the_past_are_not_told() -> None:
    blow = Weather(seed=3, breeze_mps=1.5, peak_mps=14.0, peak_h=-4, peak_width_h=2)  # hours after now
    inputs = inputs_of(replace(MAY, weather=blow, now="10:45", back="14:00"))
    briefing = build(inputs, load_tables()).briefing
    assert "06:00, the launch as planned, is past" in " ".join(briefing.day.sentences)
    assert briefing.day.begin == at(inputs, "10:45")
    assert "before" not in briefing.day.why


@pytest.mark.parametrize("now", ["11:30", "13:30"])
def test_an_outing_that_is_over_is_told_as_over(now: str) -> None:
    inputs = inputs_of(replace(MAY, now=now))
    before = build(inputs_of(replace(MAY, now="06:30")), load_tables()).record
    briefing = build(replace(inputs, kept=replace(inputs.kept, earlier=before)), load_tables()).briefing
    assert briefing.glance.why == "11:15 was the time to be back."
    text = " ".join(to_text(briefing).split())
    for wrong in ("over your limits now", "Before you launch", "Nothing that was checked", "was the time to be off"):
        assert wrong not in text
    assert lines(briefing)["New"] == "no hours are left to compare"


def test_a_short_outing_in_full_daylight_is_short_not_dark() -> None:
    briefing = made(replace(MAY, now="08:00", launch="10:00", back="10:20"))
    assert briefing.glance.why == "10:00 to 10:20 is too short for an outing."
    assert briefing.glance.subject.startswith("Stay ashore (time): ")


def test_a_blow_in_the_dark_of_the_morning_leaves_no_darkness_at_noon() -> None:
    blow = Weather(seed=33, breeze_mps=1.5, peak_mps=12.0, peak_h=6, peak_width_h=3)
    briefing = made(replace(MAY, weather=blow, now="10:15", back="13:15"))
    assert not any(one.name == "darkness" for one in briefing.cautions.items)


def test_an_old_forecast_is_minded_as_old() -> None:
    briefing = made(replace(MAY, weather=replace(MAY.weather, issued_h=11.0)))
    assert "Care: old forecast" in briefing.day.why
    assert "(old forecast)" in briefing.glance.subject


def test_a_later_start_after_the_stop_keeps_the_plan_and_the_hours_together() -> None:
    inputs = inputs_of(SCENARIOS["north_summer_calm"])
    now = inputs.outing.launch + timedelta(minutes=95)
    feed = replace(inputs.gathered.alerts, checked_at=now)
    inputs = replace(inputs, now=now, gathered=replace(inputs.gathered, alerts=feed))
    briefing = build(inputs, load_tables()).briefing
    first = next(stop for block in briefing.plan.blocks for stop in block.stops)
    assert briefing.day.begin is not None
    assert timedelta(0) <= first.begin - briefing.day.begin <= timedelta(minutes=30)
