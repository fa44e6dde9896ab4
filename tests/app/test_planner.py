"""What is due, across clock changes, for outings and without."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from briefing.app.planner import Kind, LakePlan, Times, Trip, due, next_check, occurrences, read_moment
from briefing.errors import InputError
from briefing.tools.check_planner import check_all

NEW_YORK = ZoneInfo("America/New_York")
TIMES = Times(
    morning=read_moment("04:45"), every_day=True, evening=None, check_evening=read_moment("20:00"),
    check_before_min=90, check_every_min=60, retention=read_moment("03:10"),
)  # fmt: skip
PLAN = LakePlan("quillmere", NEW_YORK, 30.6, -84.2, TIMES)


def at(day: date, clock: str, zone: ZoneInfo = NEW_YORK) -> datetime:
    hour, minute = clock.split(":")
    return datetime(day.year, day.month, day.day, int(hour), int(minute), tzinfo=zone).astimezone(UTC)


def trip(day: date, launch: str = "06:30", back: str = "11:30") -> Trip:
    return Trip(at(day, launch), at(day, back))


def test_every_wall_time_of_clock_change_days_in_the_zones_that_differ_most() -> None:
    zones = [
        "America/New_York", "America/Havana", "America/Santiago", "America/Nuuk", "America/Scoresbysund",
        "Africa/Casablanca", "Africa/Cairo", "Antarctica/Troll", "Asia/Beirut", "Asia/Gaza", "Australia/Lord_Howe",
        "Pacific/Chatham", "Europe/Dublin", "Europe/London", "UTC",
    ]  # fmt: skip
    reports = check_all(zones)
    assert [fault for report in reports for fault in report.faults] == []
    assert sum(report.cases for report in reports) > 150_000
    assert sum(report.changes for report in reports) >= 50


@pytest.mark.parametrize(
    ("zone", "day", "clock", "expected"),
    [
        ("America/New_York", date(2026, 3, 8), "02:30", "2026-03-08T07:30Z"),  # in the gap: shown as 03:30
        ("America/New_York", date(2026, 3, 9), "00:00", "2026-03-09T04:00Z"),  # the day after the gap
        ("America/New_York", date(2026, 11, 1), "01:30", "2026-11-01T05:30Z"),  # first pass
        ("America/Nuuk", date(2026, 3, 28), "23:30", "2026-03-29T00:30Z"),  # the gap ends at midnight: moved back
        ("Pacific/Apia", date(2011, 12, 29), "12:00", "2011-12-29T22:00Z"),
    ],
)
def test_named_instants(zone: str, day: date, clock: str, expected: str) -> None:
    hour, minute = clock.split(":")
    found = due(day, int(hour) * 60 + int(minute), ZoneInfo(zone))
    assert found == datetime.fromisoformat(expected.replace("Z", "+00:00"))


def test_a_date_that_a_zone_skipped_has_no_instant() -> None:
    apia = ZoneInfo("Pacific/Apia")
    assert {due(date(2011, 12, 30), minute, apia) for minute in range(0, 1440, 7)} == {None}
    assert occurrences(LakePlan("x", apia, -13.8, -171.8, TIMES), date(2011, 12, 30), None) == ()


def test_a_day_without_an_outing_has_a_briefing_and_no_wind_check() -> None:
    found = occurrences(PLAN, date(2026, 4, 18), None)
    assert [one.kind for one in found] == [Kind.RETENTION, Kind.MORNING]
    morning = found[1]
    assert morning.due_at == at(date(2026, 4, 18), "04:45")
    assert at(date(2026, 4, 18), "19:30") < morning.useful_until < at(date(2026, 4, 18), "21:00")


def test_checks_run_from_the_evening_before_until_an_hour_after_the_return_without_a_gap() -> None:
    day = date(2026, 4, 18)
    checks = [one for one in occurrences(PLAN, day, trip(day)) if one.kind is Kind.CHECK]
    clocks = [one.due_at.astimezone(NEW_YORK).strftime("%H:%M") for one in checks]
    assert clocks == ["20:00", "05:00", "06:30", "07:30", "08:30", "09:30", "10:30", "11:30"]
    assert checks[0].due_at.astimezone(NEW_YORK).date() == date(2026, 4, 17)
    assert [one.useful_until for one in checks[:-1]] == [one.due_at for one in checks[1:]]
    assert checks[-1].useful_until == at(day, "12:30")
    assert next_check(PLAN, day, trip(day), at(day, "10:31")) == at(day, "11:30")
    assert next_check(PLAN, day, trip(day), at(day, "11:30")) is None


def test_leads_are_taken_in_real_time_across_a_clock_change() -> None:
    day = date(2026, 3, 8)
    plan = LakePlan("x", NEW_YORK, 30.6, -84.2, Times(
        read_moment("launch -240 min"), True, None, read_moment("20:00"), 90, 60, read_moment("03:10")))  # fmt: skip
    morning = next(one for one in occurrences(plan, day, trip(day, "05:30", "09:30")) if one.kind is Kind.MORNING)
    assert morning.due_at == at(day, "05:30") - timedelta(hours=4)
    assert morning.due_at.astimezone(NEW_YORK).strftime("%H:%M") == "00:30"


def test_the_evening_outlook_is_about_the_next_day_and_of_use_until_its_briefing() -> None:
    plan = LakePlan("x", NEW_YORK, 30.6, -84.2, Times(
        read_moment("dawn -45 min"), False, read_moment("19:30"), read_moment("20:00"), 90, 60, read_moment("03:10"))
    )  # fmt: skip
    day = date(2026, 4, 18)
    found = {one.kind: one for one in occurrences(plan, day, trip(day)) if one.kind is not Kind.CHECK}
    assert found[Kind.EVENING].due_at == at(date(2026, 4, 17), "19:30")
    assert found[Kind.EVENING].useful_until == found[Kind.MORNING].due_at
    assert Kind.MORNING not in {one.kind for one in occurrences(plan, day, None)}, "only on days with an outing"


def test_keys_are_different_for_everything_that_is_due_in_a_month() -> None:
    days = [date(2026, 3, 1) + timedelta(days=n) for n in range(31)]
    keys = [one.key for day in days for one in occurrences(PLAN, day, trip(day))]
    assert len(keys) == len(set(keys))


def test_a_polar_night_still_has_its_briefing() -> None:
    plan = LakePlan("x", ZoneInfo("Arctic/Longyearbyen"), 78.2, 15.6, TIMES)
    found = occurrences(plan, date(2026, 12, 20), None)
    assert Kind.MORNING in {one.kind for one in found}


@pytest.mark.parametrize("text", ["", "25:00", "noon", "launch -9999 min", "dawn 45", "4:7"])
def test_a_time_that_cannot_be_read_is_refused_with_examples(text: str) -> None:
    with pytest.raises(InputError, match=r"04:45"):
        read_moment(text)


@pytest.mark.parametrize("text", ["04:45", "dawn -45 min", "sunrise", "launch -90 min", "launch +5 min"])
def test_a_time_is_written_as_it_is_read(text: str) -> None:
    assert str(read_moment(text)) == text
