"""What a station measured in its last hour, from all of its reports: stations, airports and buoys."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.readings import WindReading
from briefing.sources.bodies import plausible_limits
from briefing.sources.metar import parse_reports
from briefing.sources.ndbc import parse_buoy
from briefing.sources.nws_observations import parse_observations
from briefing.sources.observed import Observed, ParsedWind, of_last_hour
from tests.replay import answer, composed_metar
from tests.sources.test_gather import GEO, PLACE, own_request, own_routes, run, said
from tests.sources.test_gather import NOW as MORNING

NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)
LIMITS = plausible_limits()
KMH = 3.6
Row = tuple[float, float | None, float | None]  # minutes ago, wind and gust in km/h


def observation(ago: float, wind: object, gust: object = None, now: datetime = NOW, **more: object) -> dict[str, Any]:
    def quantity(value: object) -> dict[str, object]:
        return {"value": value, "unitCode": "wmoUnit:km_h-1", "qualityControl": "V"}

    at = (now - timedelta(minutes=ago)).isoformat()
    return {"properties": {"timestamp": at, "windSpeed": quantity(wind), "windGust": quantity(gust), **more}}


def station(*rows: dict[str, Any]) -> ParsedWind:
    return parse_observations(json.dumps({"features": rows}), "KZZZ", PLACE, LIMITS, NOW)


def airport(*rows: Row, **more: object) -> ParsedWind:
    (plain,) = composed_metar(PLACE, NOW, "KZZZ")
    body = [
        {
            **plain,
            "obsTime": int((NOW - timedelta(minutes=ago)).timestamp()),
            "wspd": None if wind is None else wind / 1.852,
            "wgst": None if gust is None else gust / 1.852,
            "rawOb": "",
            **more,
        }
        for ago, wind, gust in rows
    ]
    return parse_reports(json.dumps(body), PLACE, LIMITS, NOW)


def buoy(*rows: Row) -> ParsedWind:
    def cell(value: float | None) -> str:
        return "MM" if value is None else f"{value / KMH:.6f}"

    lines = [
        f"{NOW - timedelta(minutes=ago):%Y %m %d %H %M} 240 {cell(wind)} {cell(gust)} 18.0" for ago, wind, gust in rows
    ]
    found = parse_buoy("#YY MM DD hh mm WDIR WSPD GST WTMP\n" + "\n".join(lines) + "\n", "45999", LIMITS, NOW)
    return ParsedWind(found.winds, found.problems, found.serious)


def stations(*rows: Row) -> ParsedWind:
    return station(*(observation(*row) for row in rows))


SERVICES = [stations, airport, buoy]


def seen(found: ParsedWind) -> tuple[float | None, float | None]:
    """Wind and highest gust of the readings, in km/h."""
    winds = [one.wind_mps * KMH for one in found.readings if one.wind_mps is not None]
    gusts = [one.gust_mps * KMH for one in found.readings if one.gust_mps is not None]
    assert len(winds) <= 1
    return (winds[0] if winds else None), max(gusts, default=None)


@pytest.mark.parametrize("read", SERVICES)
@pytest.mark.parametrize(
    ("rows", "wind", "gust"),
    [
        ([(5, None, None), (25, 30, 55)], 30, 55),  # the newest is blank
        ([(5, 20, None), (25, 30, 55)], 20, 55),  # the newest has only wind
        ([(5, None, 40), (25, 30, 55)], 30, 55),
        ([(5, None, 60), (25, 30, 55)], 30, 60),
        ([(5, 20, 25), (65, 30, 55)], 20, 55),  # an hour before the newest
        ([(5, 20, 25), (66, 30, 55)], 20, 25),
        ([(5, 20, None), (5, 35, 50)], 35, 50),  # two of one minute
        ([(5, 35, 50), (5, 20, None)], 35, 50),
        ([(-30, 5, 6), (20, 30, 55)], 30, 55),  # dated ahead of now
        ([(85, 30, 55), (5, None, None)], None, None),
        ([(25, 30, 0), (35, 25, 0)], 30, None),  # no gust reported
    ],
)
def test_for_each_quantity_the_newest_and_the_highest_gust(
    read: Any, rows: list[Row], wind: float | None, gust: float | None
) -> None:
    assert seen(read(*rows)) == (
        None if wind is None else pytest.approx(wind, abs=1e-3),
        None if gust is None else pytest.approx(gust, abs=1e-3),
    )


@pytest.mark.parametrize("read", SERVICES)
def test_a_newer_gust_keeps_its_own_time(read: Any) -> None:
    found = read((10, None, 60), (50, 30, 40))
    assert [(one.time, one.wind_mps is None) for one in found.readings] == [
        (NOW - timedelta(minutes=50), False),
        (NOW - timedelta(minutes=10), True),
    ]
    assert found.readings[1].gust_mps * KMH == pytest.approx(60, abs=1e-3)


@pytest.mark.parametrize("read", SERVICES)
def test_what_is_refused_costs_only_itself_and_is_said(read: Any) -> None:
    wild_gust = read((5, 30, 900))
    assert seen(wild_gust) == (pytest.approx(30, abs=1e-3), None)
    assert "gust" in wild_gust.serious[0]
    wild_wind = read((5, 900, 55))
    assert seen(wild_wind) == (None, pytest.approx(55, abs=1e-3))
    assert "wind" in wild_wind.serious[0]
    covered = read((5, 30, 900), (20, 25, 50))
    assert seen(covered)[1] == pytest.approx(50, abs=1e-3)
    assert covered.serious  # the refused one may have been the highest


def test_a_refused_wind_that_a_newer_one_replaces_is_not_told() -> None:
    assert stations((5, 30, 40), (20, 900, None)).problems == ()


@pytest.mark.parametrize("read", SERVICES)
def test_reports_that_are_all_too_old_or_ahead_are_said(read: Any) -> None:
    old, wrong = read((100, 30, 55)), read((-200, 30, 55))
    assert old.readings == wrong.readings == ()
    assert "1.7 h old" in old.problems[0]
    assert wrong.problems


def test_other_values_come_from_the_newest_report_that_has_them() -> None:
    metres = {"unitCode": "wmoUnit:m", "qualityControl": "V"}
    warm = {"unitCode": "wmoUnit:degC", "qualityControl": "V", "value": 18}
    newest = observation(5, 20, visibility={**metres, "value": 800})
    older = observation(25, 30, 55, visibility={**metres, "value": 16000}, temperature=warm)
    (reading,) = station(newest, older).readings
    assert (reading.visibility_m, reading.air_c) == (800, 18)
    fog = observation(5, None, visibility={**metres, "value": 200})
    wind, sight = station(fog, older).readings
    assert (wind.time, sight.time) == (NOW - timedelta(minutes=25), NOW - timedelta(minutes=5))
    assert (sight.wind_mps, sight.visibility_m) == (None, 200)


def test_an_airports_raw_text_is_held_against_its_fields() -> None:
    raw = "KZZZ 011153Z 24018G27KT 10SM"
    knots = 1852 / 3600
    (low,) = airport((5, 4.0, None), rawOb=raw).readings
    assert (low.wind_mps, low.gust_mps) == pytest.approx((18 * knots, 27 * knots))
    (wild,) = airport((5, 900, 900), rawOb=raw).readings
    assert (wild.wind_mps, wild.gust_mps) == pytest.approx((18 * knots, 27 * knots))
    (odd,) = airport((5, 30, None), rawOb="KZZZ 011153Z 240200G250KT").readings
    assert odd.wind_mps == pytest.approx(30 / KMH)


def none_given(wind_mps: float, gust_mps: float) -> bool:
    """A gust far below its wind, or of nothing beside some, was not given."""
    return (wind_mps > 3.0 and gust_mps < 0.25 * wind_mps) or (wind_mps > 1.0 and gust_mps < 0.1)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(-30, 150),
            st.one_of(st.none(), st.floats(0.0, 100.0)),
            st.one_of(st.none(), st.just(0.0), st.floats(0.0, 150.0)),
        ),
        min_size=1,
        max_size=12,
    ),
    st.sampled_from(SERVICES),
    st.randoms(use_true_random=False),
)
def test_any_mix_of_reports(rows: list[Row], read: Any, random: Any) -> None:
    """Against a plain account of the rule, in any order of the reports."""
    fresh = [row for row in rows if -10 <= row[0] <= 90]
    newest = min((row[0] for row in fresh), default=0)
    near = [row for row in fresh if row[0] - newest <= 60]
    windy = [row for row in near if row[1] is not None]
    last = min((row[0] for row in windy), default=None)
    wind = max((row[1] for row in windy if row[0] == last), default=None)  # type: ignore[type-var]
    gusts = [
        max(row[2], row[1] or 0.0)
        for row in near
        if row[2] is not None and not (row[1] is not None and none_given(row[1] / KMH, row[2] / KMH))
    ]
    gust = max((one for one in gusts if one >= (wind or 0.0)), default=None)
    shuffled = list(rows)
    random.shuffle(shuffled)
    found = seen(read(*shuffled))
    assert found[0] == (None if wind is None else pytest.approx(wind, abs=1e-3))
    if gust is not None and abs(gust - (wind or 0.0)) > 0.01:
        assert found[1] == pytest.approx(gust, abs=1e-3)
    for reading in read(*rows).readings:
        assert timedelta(minutes=-10) <= NOW - reading.time <= timedelta(minutes=90)


def test_of_two_reports_of_one_minute_the_stronger_counts_whole() -> None:
    def reading(second: int, wind: float, way: float, sight: float) -> Observed:
        at = NOW - timedelta(minutes=5) + timedelta(seconds=second)
        return Observed(WindReading(at, wind, None, way, "metar", "x", visibility_m=sight))

    reports = [reading(0, 9.0, 200.0, 900.0), reading(40, 4.0, 90.0, 9000.0)]
    for rows in (reports, reports[::-1]):
        (found,) = of_last_hour(rows, "x", NOW).readings
        assert (found.wind_mps, found.wind_from_deg, found.visibility_m) == (9.0, 200.0, 900.0)


# -- through a gathering ----------------------------------------------------------------------------------------------


def test_a_gathering_asks_for_an_hour_and_finds_the_gust() -> None:
    rows = [observation(5, None, now=MORNING), observation(25, 30, 55, now=MORNING)]

    def newest_first(query: dict[str, str]) -> Any:
        return answer({"features": rows[: int(query["limit"])]}, kind=GEO)

    found = run(own_routes() | {"/nws/stations/KZZA/observations": newest_first}, own_request())
    assert found.problems == ()
    assert max(one.gust_mps or 0.0 for one in found.wind_now) == pytest.approx(55 / KMH)


def test_a_refused_gust_stands_at_the_top_and_its_wind_is_kept() -> None:
    body = {"features": [observation(5, 30, 900, now=MORNING)]}
    found = run(own_routes() | {"/nws/stations/KZZA/observations": answer(body, kind=GEO)}, own_request())
    (problem,) = found.problems
    assert problem.serious
    assert "KZZA: a gust of its last hour" in problem.missing
    assert any(one.wind_mps == pytest.approx(30 / KMH) for one in found.wind_now)


def test_airports_are_asked_where_stations_give_visibility_but_no_wind() -> None:
    sight = {"unitCode": "wmoUnit:m", "value": 300, "qualityControl": "V"}
    body = answer({"features": [observation(5, None, now=MORNING, visibility=sight)]}, kind=GEO)
    routes = own_routes() | {f"/nws/stations/{name}/observations": body for name in ("KZZA", "KZZB")}
    found = run(routes, own_request())
    assert "metar" in {one.source for one in found.wind_now}
    assert any(one.visibility_m == 300 for one in found.wind_now)


def test_no_wind_anywhere_stands_at_the_top() -> None:
    blank = answer({"features": [observation(5, None, now=MORNING)]}, kind=GEO)
    routes = own_routes() | {f"/nws/stations/{name}/observations": blank for name in ("KZZA", "KZZB")}
    routes |= {"/metar/metar": answer(b""), "/ndbc/45999.txt": answer({"status": 404}, 404)}
    found = run(routes, own_request())
    assert "Wind now is not known: the stations near the lake gave no current one." in said(found)
    assert any(one.serious and "Wind now is not known" in one.missing for one in found.problems)


@pytest.mark.parametrize(
    ("told", "miles"),
    [
        (6, 6), ("10+", 10), ("P6", 6), ("M1/4", 0.25), ("1/2", 0.5), ("1 1/2", 1.5), ("0.25", 0.25), ("2SM", 2),
        ("", None), (None, None), ("fog", None), ("1/0", None), (-1, None), ([], None),
    ],
)  # fmt: skip
def test_visibility_of_airports_in_all_its_forms(told: object, miles: float | None) -> None:
    found = airport((5, 20, 30), visib=told)
    (reading,) = found.readings
    assert reading.visibility_m == (None if miles is None else pytest.approx(miles * 1609.344))
    assert bool(found.serious) == (miles is None and told not in ("", None))


def test_a_refused_visibility_is_told_unless_a_newer_one_stands_for_it() -> None:
    wild, good = ({"unitCode": "wmoUnit:m", "qualityControl": "V", "value": value} for value in (-5, 900))
    refused = station(observation(5, 20, visibility=wild), observation(30, 20, visibility=good))
    assert refused.serious == ("Station KZZZ: its visibility can't be true or read and was refused.",)
    assert refused.readings[0].visibility_m == 900
    assert station(observation(30, 20, visibility=wild), observation(5, 20, visibility=good)).problems == ()


def test_a_peak_wind_counts_with_and_without_a_wind_group() -> None:
    from briefing.sources.raw_wind import raw_wind

    peak = raw_wind("KZZZ 111200Z AUTO 16008KT 10SM RMK AO2 PK WND 16045/1150")
    assert peak is not None
    assert peak.gust_mps == pytest.approx(45 * 1852 / 3600)
    alone = raw_wind("KZZZ 111200Z AUTO /////KT 10SM RMK AO2 PK WND 16045/1150")
    assert alone is not None
    assert (alone.wind_mps, alone.gust_mps) == (None, pytest.approx(45 * 1852 / 3600))
    assert raw_wind("KZZZ 111200Z 160P99KT 10SM").wind_mps == pytest.approx(99 * 1852 / 3600)


# -- ahead of now -----------------------------------------------------------------------------------------------------

AHEAD = "a report is dated ahead of now and was not used"


@pytest.mark.parametrize("source", SERVICES)
@given(lead=st.floats(10.1, 5000.0), ago=st.floats(1.0, 55.0))
@settings(max_examples=30, deadline=None)
def test_a_report_ahead_of_now_is_told_beside_an_older_one(source: Any, lead: float, ago: float) -> None:
    found = source((-lead - 1.0, 60.0, 80.0), (ago, 7.2, 10.8))
    assert [one.wind_mps for one in found.readings] == [pytest.approx(2.0)]
    assert any("ahead of now" in one for one in found.serious)
    assert set(found.serious) <= set(found.problems)


@pytest.mark.parametrize("source", SERVICES)
@pytest.mark.parametrize("lead", [0.0, 5.0, 10.0])
def test_clocks_that_differ_a_little_are_not_told(source: Any, lead: float) -> None:
    found = source((-lead, 60.0, 80.0), (12.0, 7.2, 10.8))
    assert found.problems == ()
    assert found.readings[0].wind_mps == pytest.approx(60.0 / KMH)


@pytest.mark.parametrize("source", [stations, airport])
def test_a_report_ahead_of_now_alone_is_told_as_serious(source: Any) -> None:
    found = source((-11.0, 60.0, 80.0))
    assert found.readings == ()
    assert found.problems == found.serious
    assert "ahead of now" in found.serious[0]


def test_a_gathering_tells_a_report_ahead_of_now_at_the_top() -> None:
    rows = [observation(-11, 60.0, 80.0, MORNING), observation(10, 7.2, 10.8, MORNING)]
    found = run(own_routes() | {"/nws/stations/KZZA/observations": answer({"features": rows}, kind=GEO)}, own_request())
    assert [one.missing for one in found.problems if one.serious] == [f"Station KZZA: {AHEAD}."]


def test_a_silent_buoy_with_rows_ahead_of_now_tells_both() -> None:
    head = "#YY MM DD hh mm WDIR WSPD GST WTMP\n"
    rows = [f"{MORNING + timedelta(hours=one):%Y %m %d %H %M} 240 12.0 16.0 18.0\n" for one in (2, -30)]
    found = run(own_routes() | {"/ndbc/45999.txt": answer(head + "".join(rows), kind="text/plain")}, own_request())
    assert "perhaps out for the season" in said(found)
    assert [one.missing for one in found.problems if one.serious] == [
        "Buoy 45999: 1 rows are dated ahead of now and were skipped."
    ]
