"""What keeps ashore until a late start is named at the top, and no hour within the limits is called none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, time, timedelta

import numpy as np

from briefing.core.alerts import AlertFeed, typed_alert
from briefing.core.gathered import Gathered
from briefing.pipeline.build import build
from briefing.pipeline.inputs import MorningInputs
from briefing.pipeline.tables import load_tables
from briefing.report.render import to_text
from briefing.report.spoken import spoken
from briefing.vocabulary import Level
from tests.mornings import MORNINGS, built
from tests.scenarios import SCENARIOS, inputs_of


def morning(**by_hour: Callable[[int], float | None]) -> MorningInputs:
    """The calm morning with other values where a function of the hour on the clock gives one."""
    inputs = inputs_of(SCENARIOS["north_summer_calm"])
    hours, zone = inputs.gathered.hours, inputs.profile.zone
    clock = [at.astimezone(zone).hour for at in hours.times]
    fields = dict(hours.fields)
    for name, change in by_hour.items():
        values = [change(h) for h in clock]
        old = fields[name]
        fields[name] = replace(
            old, values=np.array([now if new is None else new for now, new in zip(old.values, values, strict=True)])
        )
    return replace(inputs, gathered=replace(inputs.gathered, hours=replace(hours, fields=fields)))


def at(inputs: MorningInputs, clock: str) -> datetime:
    return datetime.combine(inputs.day, time.fromisoformat(clock), tzinfo=inputs.profile.zone)


def going(inputs: MorningInputs, launch: str, back: str) -> MorningInputs:
    outing = replace(inputs.outing, launch=at(inputs, launch), back=at(inputs, back), fixed_launch=False)
    return replace(inputs, outing=outing, now=at(inputs, "04:45"))


def early(value: float) -> Callable[[int], float | None]:
    return lambda hour: value if hour < 8 else None


def test_a_start_after_a_blow_says_what_blew() -> None:
    inputs = going(morning(wind_mps=early(14.0), gust_mps=early(20.0)), "06:00", "13:00")
    briefing = build(inputs, load_tables()).briefing
    assert briefing.day.begin == at(inputs, "09:00")  # held until clearly below it
    assert "Wind, gusts and waves pass your stop before 09:00." in briefing.day.why
    assert "Strongest gust" not in briefing.day.why
    assert briefing.glance.subject.startswith("Out 09:00-13:00, care (wind before)")
    assert "before nine" in " ".join(spoken(briefing).split())
    entry = next(one for one in briefing.cautions.items if one.level is Level.STOP)
    assert entry.action.startswith("Launch only when it has dropped")


def test_a_start_after_hours_that_are_not_known_says_so() -> None:
    inputs = going(morning(wind_mps=early(np.nan), gust_mps=early(np.nan)), "06:00", "13:00")
    briefing = build(inputs, load_tables()).briefing
    assert briefing.day.begin == at(inputs, "08:00")
    assert briefing.day.why.startswith("Wind, gusts and waves are not known before 08:00.")
    assert briefing.day.late[0] == "wind not known"


def test_a_start_after_a_warning_names_it() -> None:
    inputs = going(morning(), "06:15", "13:00")
    read = at(inputs, "04:35")
    storm = typed_alert("t1", "Severe Thunderstorm Warning", read, at(inputs, "11:00"))
    feed = AlertFeed((storm,), read, "typed", "typed by you", entered=True)
    briefing = build(replace(inputs, entered=replace(inputs.entered, alerts=feed)), load_tables()).briefing
    assert briefing.day.begin == at(inputs, "11:30"), "the wait after the last thunder is kept"
    assert "Severe Thunderstorm Warning until 11:00, then half an hour." in briefing.day.why


def test_a_blow_soon_after_a_short_start_leaves_the_hours_behind_it() -> None:
    blow = {
        name: (lambda hour, v=v: v if 7 <= hour <= 8 else None) for name, v in (("wind_mps", 15.0), ("gust_mps", 20.0))
    }
    inputs = going(morning(**blow), "06:30", "13:00")
    briefing = build(inputs, load_tables()).briefing
    assert briefing.day.begin is not None
    assert briefing.day.begin >= at(inputs, "09:00")
    assert briefing.day.off == at(inputs, "13:00")
    assert "No hours" not in to_text(briefing)


def test_a_warning_typed_too_long_ago_to_go_by_is_still_in_force() -> None:
    inputs = going(morning(), "06:15", "13:00")
    read = at(inputs, "01:00")
    storm = typed_alert("t1", "Severe Thunderstorm Warning", read, at(inputs, "12:00"))
    typed = AlertFeed((storm,), read, "typed", "typed by you", entered=True)
    never = AlertFeed((), None, "none", "no service was asked")
    gathered: Gathered = replace(inputs.gathered, alerts=never)
    made = build(replace(inputs, gathered=gathered, entered=replace(inputs.entered, alerts=typed)), load_tables())
    official = made.briefing.cautions.official
    assert [one.event for one in official] == ["Severe Thunderstorm Warning"]
    assert "last read at 01:00, too long ago" in made.briefing.cautions.alerts_state
    assert made.briefing.day.answer.rank >= Level.UNKNOWN.rank


def test_thunder_is_told_at_its_worst_hour_not_at_one_held_after_it() -> None:
    chances = {8: 45.0, 9: 70.0, 10: 26.0, 11: 5.0, 12: 5.0}
    inputs = going(morning(thunder_pct=lambda hour: chances.get(hour, 2.0)), "06:00", "13:00")
    briefing = build(inputs, load_tables()).briefing
    entry = next(one for one in briefing.cautions.items if one.name == "thunder")
    assert (entry.number, entry.limit) == (70.0, 30.0)
    assert entry.text.startswith("Worst at 09:00. Chance of thunder 70 %; your stop is 30 %.")


def test_only_what_is_in_every_hour_is_said_to_be() -> None:
    hours = built("calm").briefing.hours
    assert any(row.level is Level.WITHIN_LIMITS for row in hours.rows)
    assert hours.every_text == ""
    assert [bool(row.why) for row in hours.rows] == [row.level is not Level.WITHIN_LIMITS for row in hours.rows]


def test_an_outing_in_the_dark_is_ashore_not_unknown() -> None:
    inputs = going(morning(), "22:15", "23:45")
    briefing = build(inputs, load_tables()).briefing
    assert briefing.day.answer is Level.STOP
    assert "too little daylight" in briefing.day.why


def test_what_was_not_read_is_minded_as_not_known() -> None:
    """No visibility in any hour: to be minded, but nothing says that it is poor."""
    inputs = going(morning(visibility_m=lambda _: np.nan), "06:30", "11:00")
    briefing = build(inputs, load_tables()).briefing
    assert "visibility not known" in briefing.day.why
    assert briefing.hours.every_text.partition("In every hour")[0].startswith("Not known throughout: visibility")


def test_a_late_start_under_a_condition_says_what_keeps_ashore() -> None:
    """Alone in very cold water the day is a stop: the hours under its condition still say why they begin late."""
    inputs = inputs_of(SCENARIOS["highland_winter_cold_water"])
    hours, zone = inputs.gathered.hours, inputs.profile.zone
    clock = np.array([one.astimezone(zone).hour for one in hours.times])
    fields = dict(hours.fields)
    for name, value in (("wind_mps", 14.0), ("gust_mps", 20.0)):
        fields[name] = replace(fields[name], values=np.where(clock < 9, value, 2.0))
    gathered = replace(inputs.gathered, hours=replace(hours, fields=fields))
    day = build(replace(inputs, gathered=gathered), load_tables()).briefing.day
    assert day.condition
    assert day.begin is not None
    assert "pass your stop before" in day.why


def test_a_start_after_thunder_leaves_half_an_hour_after_the_last() -> None:
    inputs = going(morning(thunder_pct=lambda hour: 60.0 if hour < 7 else 2.0), "05:30", "13:00")
    day = build(inputs, load_tables()).briefing.day
    assert day.begin is not None
    begin = day.begin.astimezone(inputs.profile.zone)
    ended = f"{begin.hour:02d}:00"
    assert begin == at(inputs, ended) + timedelta(minutes=30)
    assert f"Thunder until {ended}, then half an hour after the last." in day.why


def test_a_return_in_a_later_window_is_not_called_too_late() -> None:
    inputs = going(morning(gust_mps=lambda hour: 18.0 if 8 <= hour < 10 else None), "05:30", "16:00")
    sentences = " ".join(build(inputs, load_tables()).briefing.day.sentences)
    assert "Other windows: " in sentences
    assert "too late" not in sentences


def test_a_boat_under_power_is_told_nothing_of_laps_and_cockpits() -> None:
    text = to_text(build(MORNINGS["rich"](), load_tables()).briefing)
    assert not [word for word in ("kayak", "cockpit", "your lap", "[The", "]use") if word in text]
