"""Mornings typed by hand: every hazard with its own hours, and nothing hidden behind what is not known later."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from briefing.core.alerts import AlertFeed, typed_alert
from briefing.core.wind.words import speed_beside
from briefing.pipeline.build import build
from briefing.pipeline.hazard import judge
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.profile.model import LakeProfile
from briefing.report.render import to_text
from briefing.tools.compose import Weather
from briefing.vocabulary import Level
from tests.pipeline.test_late_and_short import at, going
from tests.pipeline.test_worse_is_told import QUIET, made, with_hours
from tests.scenarios import SCENARIOS, SOUTH, Scenario, built, inputs_of


def test_care_is_told_with_the_hours_of_each_hazard() -> None:
    fog = made(with_hours(visibility_m={6: 100.0, 7: 100.0}))
    assert "visibility until 08:00; white light until" in fog.day.why
    assert "visibility and white light" not in to_text(fog)
    late = made(with_hours(visibility_m={9: 100.0, 10: 100.0}))
    assert "visibility from 09:00 to 11:00" in late.day.why


def test_fog_keeps_its_number_where_later_hours_are_not_known() -> None:
    hours = dict.fromkeys(range(5, 13), 100.0) | dict.fromkeys(range(13, 24), float("nan"))
    briefing = made(with_hours(visibility_m=hours))
    entry = next(one for one in briefing.cautions.items if one.name == "visibility")
    assert entry.text.startswith("Visibility 328 ft.")
    assert "Visibility not known from 13:00 on." in entry.text
    assert "Worst at" not in entry.text


def test_what_is_not_known_after_the_return_hides_no_caution_before_it() -> None:
    lost = dict.fromkeys(range(13, 24), float("nan"))
    inputs = with_hours(
        wind_mps=dict.fromkeys(range(5, 13), 4.6) | lost, gust_mps=dict.fromkeys(range(5, 13), 7.0) | lost
    )
    briefing = made(inputs)
    entry = next(one for one in briefing.cautions.items if "sustained_wind" in one.factors)
    assert entry.level is Level.CAUTION
    assert entry.text.startswith("Wind 1")
    assert "Wind, gusts and waves not known from 13:00 on." in entry.text
    assert "wind" not in next(line.text for line in briefing.glance.lines if line.name == "Not known").split(", ")


def test_entries_that_begin_unknown_after_the_return_stand_in_a_line() -> None:
    lost = dict.fromkeys(range(13, 24), float("nan"))
    briefing = made(with_hours(thunder_pct=lost, cape_jkg=lost))
    assert not [one for one in briefing.cautions.items if one.name == "thunder"]
    assert "Also not known, see the hour table: Thunder, from 13:00 on" in briefing.cautions.more_text


def test_strong_heat_ends_an_outing_after_two_hours() -> None:
    hot = dict.fromkeys(range(5, 23), 38.0)
    inputs = with_hours(air_c=hot, humidity_pct=dict.fromkeys(hot, 47.0))
    briefing = made(replace(inputs, outing=replace(inputs.outing, fixed_launch=False)))
    assert briefing.day.begin is not None
    assert briefing.day.off is not None
    assert briefing.day.off - briefing.day.begin <= timedelta(hours=2)
    assert "ends a short outing" in briefing.day.why
    assert "(heat)" in briefing.glance.subject
    warm = made(with_hours(air_c=dict.fromkeys(hot, 31.0), humidity_pct=dict.fromkeys(hot, 40.0)))
    assert warm.day.off is not None
    assert warm.day.begin is not None
    assert warm.day.off - warm.day.begin > timedelta(hours=3)


@pytest.mark.parametrize("name", SCENARIOS)
def test_what_changed_is_told_of_the_answer_at_the_top(name: str) -> None:
    made_once = built(name)
    assert made_once.record.level is made_once.briefing.day.answer


@pytest.mark.parametrize(
    ("event", "words"),
    [
        ("Severe Thunderstorm Watch", ("thunder", "gusts")),
        ("Tornado Watch", ("thunder", "wind")),
        ("Excessive Heat Warning", ("heat",)),
        ("Wind Advisory", ("wind", "gusts", "waves")),
        ("Dense Fog Advisory", ("fog",)),
    ],
)
def test_what_an_office_warns_of_is_not_called_within_the_limits(event: str, words: tuple[str, ...]) -> None:
    briefing = made(_warned(inputs_of(QUIET), event, "23:00"))
    assert briefing.cautions.official
    for word in words:
        assert word not in briefing.cautions.checked, briefing.cautions.checked


def test_a_storm_warning_that_ends_is_waited_for_like_thunder() -> None:
    briefing = made(_warned(inputs_of(QUIET), "Tornado Watch", "09:00"))
    inputs = inputs_of(QUIET)
    assert briefing.day.begin == at(inputs, "09:30")
    assert "Tornado Watch until 09:00, then half an hour." in briefing.day.why
    wind = made(_warned(inputs_of(QUIET), "Wind Advisory", "09:00"))
    assert wind.day.begin == at(inputs, "09:00")


def test_the_hazard_stays_in_the_subject_and_the_month_gives_way() -> None:
    briefing = made(_warned(inputs_of(QUIET), "Tornado Watch", "09:00"))
    assert "Tornado Watch before" in briefing.glance.subject
    assert len(briefing.glance.subject) <= 60


def test_a_blow_that_comes_soon_after_the_return_is_named() -> None:
    for first in (12, 13, 14):
        inputs = going(inputs_of(QUIET), "06:45", "12:30")
        blow = dict.fromkeys(range(first, 20), 14.0)
        blown = with_hours(wind_mps=blow, gust_mps=dict.fromkeys(blow, 20.0))
        briefing = made(replace(blown, outing=inputs.outing))
        assert f"pass your stop at {first}:00" in briefing.day.why, first
        assert "(wind)" in briefing.glance.subject or "wind" in briefing.glance.subject
    calm = made(inputs_of(QUIET))
    assert "pass your stop" not in calm.day.why


def test_a_place_beyond_an_assumed_outline_can_be_fished() -> None:
    def apart(profile: LakeProfile) -> LakeProfile:
        spots = tuple(
            spot.model_copy(update={"latitude": (spot.latitude or profile.latitude) + 0.02}) for spot in profile.spots
        )
        return profile.model_copy(update={"spots": spots, "shoreline": None})

    inputs = inputs_of(replace(QUIET, change=apart))
    inputs = replace(inputs, shape=replace(inputs.shape, assumed=True))
    hazards = judge(inputs, load_tables(), build(inputs, load_tables()).water.series)
    assert hazards.sea is not None
    assert np.isfinite(hazards.sea.hs_m).any(axis=0).all()


def test_a_still_hour_and_a_wind_near_its_stop_are_printed_plainly() -> None:
    assert speed_beside(0.0, (8.0, 11.0), "us") == "0 mph"
    stop = 18 * 0.44704
    assert speed_beside(round(17.6 * 0.44704, 4), (stop,), "us") == "17.6 mph"


def test_a_wind_without_its_direction_is_known_all_the_same() -> None:
    inputs = inputs_of(QUIET)
    briefing = made(_without(inputs, "wind_from_deg"))
    assert "wind direction. Those hours count as not known" not in to_text(briefing)


def test_a_rod_is_told_in_full_where_hours_are_not_known() -> None:
    blind = Scenario(SOUTH, date(2026, 4, 18), "05:00", "06:45", "12:30", Weather(seed=3, missing=("wind_mps",)))
    lines = {line.name: line.text for line in build(inputs_of(blind), load_tables()).briefing.glance.lines}
    assert "," in lines["Rod 1"]
    assert lines["First"].endswith("only once that is known and within your limits")


def test_a_page_without_a_plan_speaks_of_the_hours_asked_for() -> None:
    blow = dict.fromkeys(range(5, 20), 20.0)
    briefing = made(with_hours(wind_mps=blow, gust_mps=dict.fromkeys(blow, 28.0)))
    assert [(one.begin, one.end) for one in briefing.plan.blocks] == [
        (at(inputs_of(QUIET), "06:45"), at(inputs_of(QUIET), "12:30"))
    ]


def _warned(inputs: MorningInputs, event: str, until: str) -> MorningInputs:
    read = at(inputs, "04:50")
    feed = AlertFeed((typed_alert("t1", event, read, at(inputs, until)),), read, "typed", "typed by you", entered=True)
    return replace(inputs, entered=replace(inputs.entered, alerts=feed))


def _without(inputs: MorningInputs, name: str) -> MorningInputs:
    fields = {key: one for key, one in inputs.gathered.hours.fields.items() if key != name}
    return replace(inputs, gathered=replace(inputs.gathered, hours=replace(inputs.gathered.hours, fields=fields)))


def test_colours_of_the_data_are_described_and_not_named_by_a_shop() -> None:
    briefing = made(inputs_of(QUIET))
    ids = {
        colour.id
        for block in briefing.plan.blocks
        for stop in block.stops
        for one in stop.choices
        for colour in one.colours
    }
    assert ids
    assert not ids & {"green_pumpkin", "golden_shiner", "bluegill", "perch"}
    assert all(one.replace("_", "").isalnum() for one in ids)
