"""Sun and moon of a day against almanac values, awkward zones, and the poles."""

import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import ephem
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.sky import evening_dusk, local_day, sky_day, sun_elevation_deg

NEW_YORK = ZoneInfo("America/New_York")


def local(when: datetime, zone: str) -> str:
    return when.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M")


# Published minutes; Auckland's stands in the New Zealand Nautical Almanac (11:15 standard time).
@pytest.mark.parametrize(
    ("position", "day", "zone", "event", "expected"),
    [
        ((-36.85, 174.77), date(2023, 1, 27), "Pacific/Auckland", "moonrise", "2023-01-27 12:15"),
        ((47.38, 8.54), date(2024, 2, 2), "Europe/Zurich", "moonrise", "2024-02-02 00:34"),
        ((26.95, -80.83), date(2024, 3, 10), "America/New_York", "moonset", "2024-03-10 20:04"),
        ((46.79, 101.95), date(2025, 2, 5), "Asia/Ulaanbaatar", "civil_dawn", "2025-02-05 07:59"),
    ],
)
def test_events_that_a_search_within_one_utc_day_loses(position, day, zone, event, expected):
    (when,) = getattr(sky_day(*position, day, ZoneInfo(zone)), event)
    published = datetime.strptime(expected, "%Y-%m-%d %H:%M").replace(tzinfo=ZoneInfo(zone))
    assert abs(when - published) < timedelta(seconds=90)


def test_two_sunsets_in_one_utc_day_are_both_returned():
    # 30 S 100 W, 2024-05-07: 00:00:13 and 23:59:28 UTC.
    sunsets = sky_day(-30.0, -100.0, date(2024, 5, 7), ZoneInfo("UTC")).sunset
    assert [when.strftime("%d %H:%M:%S")[:8] for when in sunsets] == ["07 00:00", "07 23:59"]


def test_a_day_without_moonrise_has_an_empty_tuple_and_not_the_neighbours_event():
    days = [sky_day(35.0, -86.0, date(2025, 4, 1) + timedelta(days=n), NEW_YORK) for n in range(30)]
    counts = [len(day.moonrise) for day in days]
    assert counts.count(0) == 1
    rises = [when for day in days for when in day.moonrise]
    gaps = [b - a for a, b in pairwise(rises)]
    assert timedelta(hours=24) < min(gaps)
    assert max(gaps) < timedelta(hours=26)


def test_events_lie_within_the_local_day_on_both_clock_changes():
    for day, hours in ((date(2025, 3, 9), 23), (date(2025, 11, 2), 25), (date(2025, 6, 1), 24)):
        start, end = local_day(day, NEW_YORK)
        assert end - start == timedelta(hours=hours)
        sky = sky_day(41.0, -74.0, day, NEW_YORK)
        assert all(w.tzinfo is UTC for w in sky.sunrise + sky.moonrise)
        assert all(start <= w < end for w in sky.sunrise + sky.sunset + sky.moonrise + sky.moonset + sky.upper_transit)


@pytest.mark.parametrize(
    ("latitude", "day", "state", "length"),
    [
        (69.0, date(2025, 6, 21), "up_all_day", 24.0),
        (69.0, date(2025, 12, 21), "down_all_day", 0.0),
        (-75.0, date(2025, 12, 21), "up_all_day", 24.0),
        (90.0, date(2025, 7, 1), "up_all_day", 24.0),
        (-90.0, date(2025, 7, 1), "down_all_day", 0.0),
    ],
)
def test_polar_day_and_night(latitude, day, state, length):
    sky = sky_day(latitude, 20.0, day, ZoneInfo("Europe/Oslo"))
    assert (sky.sunrise, sky.sunset, sky.sun_state, sky.day_length_h) == ((), (), state, length)


def test_the_day_the_sun_starts_to_stay_up_has_a_length_between():
    # At 67.5 N the last sunrise before midsummer comes shortly after midnight and no sunset follows.
    lengths = [
        sky_day(67.5, 20.0, date(2025, 5, 25) + timedelta(days=n), ZoneInfo("Europe/Stockholm")) for n in range(10)
    ]
    assert all(a.day_length_h <= b.day_length_h for a, b in pairwise(lengths))
    assert lengths[-1].sun_state == "up_all_day"


def test_noon_belongs_to_the_local_date_far_from_its_own_meridian():
    (noon,) = sky_day(-43.9, -176.5, date(2025, 5, 3), ZoneInfo("Pacific/Chatham")).solar_noon
    assert local(noon, "Pacific/Chatham").startswith("2025-05-03 12:")


def test_moon_phase_is_principal_on_the_local_date_of_its_instant():
    # Full moon 2025-03-14 06:55 UTC: still the evening of the 13th in Honolulu (20:55).
    honolulu = ZoneInfo("Pacific/Honolulu")
    names = [sky_day(21.0, -157.0, date(2025, 3, day), honolulu).moon_phase for day in (12, 13, 14)]
    assert names == ["waxing_gibbous", "full", "waning_gibbous"]
    full = sky_day(21.0, -157.0, date(2025, 3, 13), honolulu)
    assert full.illuminated_frac > 0.99
    assert full.moon_elongation_deg == pytest.approx(180.0, abs=6.0)
    assert 356_000.0 < full.moon_distance_km < 407_000.0


def test_evening_dusk_is_the_days_own_dusk_at_ordinary_latitudes():
    day = date(2025, 5, 10)
    assert (
        evening_dusk(35.0, -86.0, day, ZoneInfo("America/Chicago"))
        == (sky_day(35.0, -86.0, day, ZoneInfo("America/Chicago")).civil_dusk[0])
    )


def test_evening_dusk_looks_past_midnight_and_knows_white_nights():
    zone = ZoneInfo("America/Anchorage")
    dusk = evening_dusk(61.5, -150.0, date(2025, 5, 25), zone)
    assert dusk is not None
    assert local(dusk, "America/Anchorage").startswith("2025-05-26 0")
    assert evening_dusk(66.0, -150.0, date(2025, 6, 20), zone) is None


def test_a_position_off_the_globe_is_refused():
    with pytest.raises(ValueError, match="no such position"):
        sky_day(91.0, 0.0, date(2025, 1, 1), NEW_YORK)
    with pytest.raises(ValueError, match="no such position"):
        evening_dusk(0.0, 200.0, date(2025, 1, 1), NEW_YORK)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.floats(-70.0, 70.0),
    st.floats(-180.0, 180.0),
    st.dates(date(2020, 1, 1), date(2039, 12, 31)),
    st.sampled_from(["UTC", "Asia/Tokyo", "America/Los_Angeles", "Asia/Kathmandu", "Pacific/Kiritimati"]),
)
def test_the_two_ways_to_the_sun_agree_and_none_is_lost(latitude, longitude, day, zone):
    sky = sky_day(latitude, longitude, day, ZoneInfo(zone))
    grid = np.arange(sky.start.timestamp(), sky.end.timestamp() + 1.0, 120.0)
    above = sun_elevation_deg(latitude, longitude, grid) > -50.0 / 60.0
    up, down = np.count_nonzero(~above[:-1] & above[1:]), np.count_nonzero(above[:-1] & ~above[1:])
    # A graze shorter than the steps of the grid, or an event at the very edge of the day, may differ by one.
    assert abs(len(sky.sunrise) - up) <= 1
    assert abs(len(sky.sunset) - down) <= 1
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.pressure = np.radians(latitude), np.radians(longitude), 0.0
    for when in sky.sunrise + sky.sunset:
        observer.date = when.replace(tzinfo=None)
        slope = abs(np.cos(np.radians(latitude)) * np.sin(float(ephem.Sun(observer).az))) * 15.0 / 3600.0
        miss = abs(np.degrees(float(ephem.Sun(observer).alt)) + 50.0 / 60.0)
        assert miss <= 60.0 * slope + 1e-4


@pytest.mark.parametrize("latitude", [23.0, -47.0, 61.0, 65.5])
def test_rises_and_sets_alternate_through_days_whose_edge_they_cross(latitude, whole):
    # At 90 E in universal time sunrise wanders through midnight twice a year, and so do dawn, dusk and the moon.
    number = 366 if whole else 110
    days = [sky_day(latitude, 90.0, date(2026, 1, 1) + timedelta(days=n), ZoneInfo("UTC")) for n in range(number)]
    for up, down in (("sunrise", "sunset"), ("civil_dawn", "civil_dusk"), ("moonrise", "moonset")):
        events = [(when, kind) for day in days for kind in (up, down) for when in getattr(day, kind)]
        events.sort()
        assert all(a[1] != b[1] for a, b in pairwise(events))
        assert all(b[0] - a[0] > timedelta(minutes=1) for a, b in pairwise(events))
    transits = sorted(when for day in days for when in day.upper_transit + day.lower_transit)
    gaps = [(b - a).total_seconds() / 3600.0 for a, b in pairwise(transits)]
    assert min(gaps) > 12.2
    assert max(gaps) < 12.7
    assert [len(day.solar_noon) for day in days] == [1] * number


def test_no_astronomy_library_is_loaded_before_it_is_asked():
    code = "import sys, briefing.core.sky; print([name for name in ('astral', 'ephem') if name in sys.modules])"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout == "[]\n"


def test_rows_of_the_ephemeris_table(reference_data, tmp_path, whole):
    from briefing.evaluate.sky import run

    for name in ("sun-moon-truth.csv", "moon-phases-truth.csv"):
        head, *rows = (reference_data / "data" / name).read_text("utf-8").splitlines(keepends=True)
        every = 1 if whole or name.startswith("moon") else 5  # phases are looked for in the whole span of their table
        (tmp_path / name).write_text("".join([head, *rows[::every]]), "utf-8")
    result = run(tmp_path)
    for score in (*result["events"].values(), result["phases"]):
        assert (score["lost"], score["extra"], score["wrong_date"]) == (0, 0, 0)
        assert score["max_s"] < 60.0
    assert result["values"]["max_illuminated_frac"] < 0.005
    assert result["values"]["max_elongation_deg"] < 0.05
    assert result["values"]["max_distance_km"] < 200.0
    assert result["values"]["max_day_length_h"] < 120.0 / 3600.0
