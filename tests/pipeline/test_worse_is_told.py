"""What comes behind the hours shown, what was typed for part of an hour and what stands in are told as they are."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from briefing.core.alerts import AlertFeed, typed_alert
from briefing.pipeline.build import build
from briefing.pipeline.conditions_file import read_conditions
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_text
from briefing.report.spoken import aloud
from briefing.sections.briefing import Briefing
from briefing.tools.compose import Weather
from briefing.vocabulary import Level
from tests.scenarios import SOUTH, Scenario, inputs_of

QUIET = Scenario(SOUTH, date(2026, 4, 18), "05:00", "06:45", "12:30", Weather(seed=3, breeze_mps=1.0, peak_mps=2.0))


def with_hours(**by_hour: dict[int, float]) -> MorningInputs:
    inputs = inputs_of(QUIET)
    hours, zone = inputs.gathered.hours, inputs.profile.zone
    fields = dict(hours.fields)
    for name, wanted in by_hour.items():
        values = np.array(fields[name].values)
        for n, at in enumerate(hours.times):
            local = at.astimezone(zone)
            if local.date() == inputs.day and local.hour in wanted:
                values[n] = wanted[local.hour]
        fields[name] = replace(fields[name], values=values)
    return replace(inputs, gathered=replace(inputs.gathered, hours=replace(hours, fields=fields)))


def made(inputs: MorningInputs) -> Briefing:
    return build(inputs, load_tables()).briefing


def test_a_caution_that_grows_into_a_stop_behind_the_hours_shown_says_so() -> None:
    briefing = made(with_hours(thunder_pct={12: 15.0, 13: 20.0, 14: 60.0, 15: 80.0}))
    entry = next(one for one in briefing.cautions.items if one.name == "thunder")
    assert entry.level is Level.STOP
    assert "(caution from 12:00)" in entry.when
    assert "Worst at 15:00. Chance of thunder 80 %" in entry.text
    windy = made(with_hours(wind_mps={13: 5.0, 14: 20.0}, gust_mps={13: 7.0, 14: 30.0}))
    assert next(one for one in windy.cautions.items if "gust" in one.factors).level is Level.STOP


def test_a_warning_later_in_the_day_is_shown_behind_the_others() -> None:
    inputs = inputs_of(
        replace(QUIET, weather=replace(QUIET.weather, alerts=("Small Craft Advisory",), alert_from_h=10))
    )
    briefing = made(inputs)
    (alert,) = briefing.cautions.official
    assert alert.later
    assert not briefing.cautions.official_first
    assert "Small Craft Advisory" in to_text(briefing)
    assert "none listed" not in briefing.cautions.alerts_state


def test_part_of_an_hour_in_a_file_is_not_told_by_a_calmer_one() -> None:
    calm = {"wind": "5 mph", "gust": "7 mph", "thunder": 0, "visibility": "10 miles"}
    blow = {"wind": "25 mph", "gust": "40 mph", "thunder": 80, "visibility": "1 mile"}
    for order in ((calm, blow, calm), (blow, calm, calm)):
        spans = (("05:00", "09:00"), ("09:00", "09:45"), ("09:45", "13:00"))
        if order[0] is blow:
            spans = (spans[1], spans[0], spans[2])
        blocks = [{"from": first, "to": last, **said} for (first, last), said in zip(spans, order, strict=True)]
        data = {"read_at": datetime(2026, 6, 20, 9, tzinfo=UTC), "hours": blocks}
        found = read_conditions(data, "x.toml", date(2026, 6, 20), ZoneInfo("America/Chicago"), "us").hours
        at = found.index_of(datetime(2026, 6, 20, 14, tzinfo=UTC))
        assert found.values("wind_mps")[at] == pytest.approx(25 * 0.44704)
        assert found.values("thunder_pct")[at] == 80.0
        assert found.values("visibility_m")[at] < 2000.0


def test_warnings_that_were_read_and_typed_are_known() -> None:
    inputs = inputs_of(replace(QUIET, weather=replace(QUIET.weather, alerts=None)))
    typed = AlertFeed((), inputs.now - timedelta(minutes=25), "user", "alerts you read", entered=True)
    briefing = made(replace(inputs, entered=replace(inputs.entered, alerts=typed)))
    assert briefing.day.answer is Level.WITHIN_LIMITS
    text = " ".join(to_text(briefing).split())
    assert "Official warnings typed by you" in text
    assert "No hour can be within your limits" not in text
    assert "official warnings" not in {line.name: line.text for line in briefing.glance.lines}["Not known"]


def test_heard_thunder_is_told_as_heard() -> None:
    inputs = inputs_of(replace(QUIET, now="06:40"))
    heard = replace(inputs.entered, thunder_heard=(inputs.now - timedelta(minutes=10),))
    strip = made(replace(inputs, entered=heard)).glance.strip
    assert strip is not None
    row = next(one for one in strip.rows if one.name == "thunder")
    assert row.cells[0] == "heard"
    assert "06 heard" in strip.text


def test_a_message_that_can_not_be_judged_has_one_entry_and_is_named_as_not_known() -> None:
    inputs = inputs_of(QUIET)
    begins = inputs.now + timedelta(hours=5)
    odd = typed_alert("x", "Blowing Otter Warning", inputs.now, begins + timedelta(hours=3), "Something will happen.")
    odd = replace(odd, onset=begins, severity="Severe")
    feed = replace(inputs.gathered.alerts, alerts=(odd,))
    briefing = made(replace(inputs, gathered=replace(inputs.gathered, alerts=feed)))
    (entry,) = briefing.cautions.official
    if entry.level is Level.UNKNOWN:
        assert "could not be judged" in briefing.day.why
        assert briefing.cautions.alerts_known
        assert briefing.cautions.official_first
        assert (
            "what the Blowing Otter Warning asks for"
            in {one.name: one.text for one in briefing.glance.lines}["Not known"]
        )
    else:
        assert entry.level is Level.STOP


def test_weights_of_more_than_an_ounce_are_said_as_numbers() -> None:
    assert aloud("1-1/4 oz") == "One and one quarter ounces"


def test_a_wind_is_never_printed_as_less() -> None:
    from briefing.core.wind.words import speed, speed_beside

    assert speed(16.1, "metric") == "17 m/s"
    assert speed(11.1, "metric") == "12 m/s"
    assert speed(12 * 0.44704, "us") == "12 mph"
    assert speed_beside(15.3, [15.6], "metric") == "15.3 m/s"
    assert speed_beside(11.4 * 0.44704, [12 * 0.44704], "us") == "11.4 mph"
