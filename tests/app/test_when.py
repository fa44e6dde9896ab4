"""Times as people type them."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.app.when import parse_end, parse_instant, parse_when, read_clock, read_day
from briefing.errors import InputError

ZONE = ZoneInfo("America/New_York")
NOW = datetime(2026, 4, 18, 14, 0, tzinfo=UTC)  # 10:00 at the lake


@pytest.mark.parametrize(
    ("text", "instant", "hour_known"),
    [
        ("now", NOW, True),
        ("", NOW, True),
        ("07:40", datetime(2026, 4, 18, 11, 40, tzinfo=UTC), True),
        ("7:40 am", datetime(2026, 4, 18, 11, 40, tzinfo=UTC), True),
        ("12:10am", datetime(2026, 4, 18, 4, 10, tzinfo=UTC), True),
        ("10:05", NOW, True),  # a clock that runs a little ahead
        ("yesterday 6:00 PM", datetime(2026, 4, 17, 22, 0, tzinfo=UTC), True),
        ("today 07:40", datetime(2026, 4, 18, 11, 40, tzinfo=UTC), True),
        ("2026-04-17 07:40", datetime(2026, 4, 17, 11, 40, tzinfo=UTC), True),
        ("2026-04-17T07:40", datetime(2026, 4, 17, 11, 40, tzinfo=UTC), True),
        ("2026-04-17T07:40:30Z", datetime(2026, 4, 17, 7, 40, 30, tzinfo=UTC), True),
        ("2026-04-17 07:40-05:00", datetime(2026, 4, 17, 12, 40, tzinfo=UTC), True),
        ("40 min ago", datetime(2026, 4, 18, 13, 20, tzinfo=UTC), True),
        ("2h ago", datetime(2026, 4, 18, 12, 0, tzinfo=UTC), True),
        ("yesterday", datetime(2026, 4, 17, 16, 0, tzinfo=UTC), False),
        ("2026-04-10", datetime(2026, 4, 10, 16, 0, tzinfo=UTC), False),
        ("today", NOW, False),  # noon has not come yet
    ],
)
def test_times(text: str, instant: datetime, hour_known: bool) -> None:
    assert parse_when(text, ZONE, NOW) == (instant, hour_known)


@pytest.mark.parametrize("text", ["24:00", "07:60", "13:00 pm", "soon", "2026-02-30", "2026-13-01 07:00", "7", "ago"])
def test_no_times(text: str) -> None:
    with pytest.raises(InputError, match="is not a time; write 07:40, yesterday 18:00"):
        parse_when(text, ZONE, NOW)


@pytest.mark.parametrize("text", ["18:00", "2026-04-19", "2026-04-18T15:00Z"])
def test_the_future_is_refused_with_the_time_at_the_lake(text: str) -> None:
    with pytest.raises(InputError, match=r"lies in the future \(it is 2026-04-18 10:00 at the lake\)"):
        parse_when(text, ZONE, NOW)


def test_a_repeated_hour_means_its_first_pass() -> None:
    later = datetime(2026, 11, 1, 18, 0, tzinfo=UTC)
    assert parse_when("01:30", ZONE, later)[0] == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("18:00", datetime(2026, 4, 18, 22, 0, tzinfo=UTC)),
        ("9:00 am", datetime(2026, 4, 19, 13, 0, tzinfo=UTC)),
        ("2026-04-20 06:00", datetime(2026, 4, 20, 10, 0, tzinfo=UTC)),
        ("2026-04-19T00:00Z", datetime(2026, 4, 19, 0, 0, tzinfo=UTC)),
    ],
)
def test_ends_lie_ahead(text: str, end: datetime) -> None:
    assert parse_end(text, ZONE, NOW) == end


@pytest.mark.parametrize("text", ["", "tomorrow", "2026-04-20", "2026-04-18 09:00", "2026-06-01 09:00", "25:00"])
def test_no_ends(text: str) -> None:
    with pytest.raises(InputError):
        parse_end(text, ZONE, NOW)


@pytest.mark.parametrize("text", ["", "2026-04-18", "2026-04-18T09:00", "x"])
def test_an_instant_needs_its_offset(text: str) -> None:
    with pytest.raises(InputError, match="is not an instant"):
        parse_instant(text)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(st.text(max_size=25))
def test_any_text_is_a_time_up_to_now_or_refused(text: str) -> None:
    try:
        instant, _ = parse_when(text, ZONE, NOW)
    except InputError:
        return
    assert instant <= NOW


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-04-20", date(2026, 4, 20)),
        ("today", date(2026, 4, 18)),
        ("Tomorrow", date(2026, 4, 19)),
        ("sat", date(2026, 4, 18)),
        ("Friday", date(2026, 4, 24)),
    ],
)
def test_days_as_people_write_them(text: str, day: date) -> None:
    assert read_day(text, date(2026, 4, 18)) == day  # a Saturday


@pytest.mark.parametrize("text", ["soon", "s", "2026-02-30", ""])
def test_no_days(text: str) -> None:
    with pytest.raises(InputError, match="is no date"):
        read_day(text, date(2026, 4, 18))


@pytest.mark.parametrize(
    ("text", "hour"), [("06:30", 6.5), ("6:30am", 6.5), ("6pm", 18.0), ("noon", 12.0), ("5 am", 5.0)]
)
def test_clock_times_as_people_write_them(text: str, hour: float) -> None:
    found = read_clock(text, date(2026, 4, 18), ZoneInfo("UTC"))
    assert found.hour + found.minute / 60 == hour


@pytest.mark.parametrize("text", ["yesterday 6pm", "25:00", "6", "later"])
def test_no_clock_times(text: str) -> None:
    with pytest.raises(InputError, match="is no clock time"):
        read_clock(text, date(2026, 4, 18), ZoneInfo("UTC"))
