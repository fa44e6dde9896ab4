"""Wind now: stations, airport reports and buoys; what is refused, and what the raw report saves."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest

from briefing.core.readings import WindReading
from briefing.sources.bodies import plausible_limits
from briefing.sources.http import Ask
from briefing.sources.metar import parse_reports
from briefing.sources.ndbc import parse_buoy
from briefing.sources.nws_observations import ParsedWind, parse_observations, parse_stations, retrieve_observation
from briefing.sources.raw_wind import RawWind, raw_wind
from briefing.sources.urls import BaseUrls
from tests.replay import composed_buoy, composed_metar, composed_stations

LIMITS = plausible_limits()
PLACE = (45.0, -93.0)
NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)
KNOT = 1852 / 3600


def quantity(value: object, unit: str = "wmoUnit:km_h-1", quality: str = "V") -> dict[str, object]:
    return {"value": value, "unitCode": unit, "qualityControl": quality}


def observe(**properties: object) -> ParsedWind:
    plain = {"timestamp": NOW.isoformat(), "windSpeed": quantity(36), "rawMessage": ""}
    body = {"features": [{"properties": {**plain, **properties}}]}
    return parse_observations(json.dumps(body), "KZZZ", PLACE, LIMITS)


def only(found: ParsedWind) -> WindReading:
    (reading,) = found.readings
    return reading


@pytest.mark.parametrize(
    ("speed", "mps"),
    [
        (quantity(36, "wmoUnit:km_h-1"), 10.0),
        (quantity(10, "unit:m_s-1"), 10.0),
        (quantity("10", "wmoUnit:m_s-1"), 10.0),
        (quantity(36, quality="Z"), 10.0),
    ],
)
def test_units_of_observed_wind(speed: object, mps: float) -> None:
    assert only(observe(windSpeed=speed)).wind_mps == pytest.approx(mps)


@pytest.mark.parametrize(
    "speed",
    [
        quantity(36, "nwsUnit:km_h-1"),
        {"value": 36},
        quantity(804.67),
        quantity(-1),
        quantity(36, quality="X"),
        quantity(36, quality="Q"),
        quantity(36, quality="B"),
        quantity(None),
        None,
        "36",
        [],
    ],
)
def test_unusable_wind_is_no_reading(speed: object) -> None:
    found = observe(windSpeed=speed)
    assert found.readings == ()
    assert found.problems


def test_the_raw_report_fills_a_null_and_overrules_a_wild_value() -> None:
    raw = "KZZZ 011153Z 24018G27KT 10SM CLR 20/10 A3000"
    filled = only(observe(windSpeed=quantity(None), rawMessage=raw))
    assert (filled.wind_mps, filled.gust_mps, filled.wind_from_deg) == pytest.approx((18 * KNOT, 27 * KNOT, 240))
    gust = only(observe(windSpeed=quantity(18 * 1.852), windGust=quantity(None, quality="Z"), rawMessage=raw))
    assert gust.gust_mps == pytest.approx(27 * KNOT)
    assert only(observe(windSpeed=quantity(804.67), rawMessage=raw)).wind_mps == pytest.approx(18 * KNOT)
    wild = observe(windSpeed=quantity(90), rawMessage=raw)
    assert only(wild).wind_mps == pytest.approx(25.0)
    assert only(observe(windSpeed=quantity(2), rawMessage=raw)).wind_mps == pytest.approx(18 * KNOT)
    assert "differs from its raw report" in wild.problems[0]


def test_a_gust_that_cannot_be_read_is_not_taken_for_none() -> None:
    for gust in (quantity(900), "strong", {}):
        found = observe(windGust=gust)
        assert (only(found).wind_mps, only(found).gust_mps) == (pytest.approx(10.0), None)
        assert found.serious == ("Station KZZZ: a gust of its last hour can't be true or read and was refused.",)
    assert only(observe(windGust=quantity(None, quality="Z"))).gust_mps is None
    assert only(observe(windGust=quantity(20))).gust_mps == pytest.approx(10.0)  # below the wind: raised to it


def test_calm_has_no_direction() -> None:
    reading = only(observe(windSpeed=quantity(0), windDirection=quantity(310, "wmoUnit:degree_(angle)")))
    assert (reading.wind_mps, reading.wind_from_deg) == (0.0, None)


@pytest.mark.parametrize("body", [b"", b"null", b"5", b"[]", b'{"features": [5, null, {}]}', b'{"features": 3}', b"{}"])
def test_odd_collections(body: bytes) -> None:
    found = parse_observations(body, "KZZZ", PLACE, LIMITS)
    assert found.readings == ()
    assert found.problems


def test_station_lists() -> None:
    assert parse_stations(json.dumps(composed_stations("KAAA", "KBBB", "KAAA", "../x", "KCCC", "KDDD"))) == (
        "KAAA",
        "KBBB",
        "KCCC",
    )
    assert parse_stations(b'{"features": [1, {"properties": 2}]}') == ()


def test_recorded_observations(reference_data: Path) -> None:
    def read(name: str) -> ParsedWind:
        body = (reference_data / "samples/nws" / f"{name}.json").read_bytes()
        return parse_observations(body, name, PLACE, LIMITS)

    albany = only(read("observation_KALB_20260715"))
    assert (albany.wind_mps, albany.gust_mps, albany.pressure_hpa) == (pytest.approx(22.212 / 3.6), None, None)
    assert albany.air_c == 25
    york = read("observation_KNYC_20260304")
    assert only(york).wind_mps == pytest.approx(3 * KNOT)
    assert only(york).wind_from_deg is None
    assert "can't be true" in york.problems[0]
    assert york.serious == ()
    assert all(one.wind_mps is None for one in read("observation_OAMC1_20260304_stale_13h").readings)
    assert only(read("observation_KMSP_20260304")).wind_mps == pytest.approx(14.832 / 3.6)
    assert read("observations_empty_collection_PPIZ").problems
    wind = {name: read(f"pynws_stations_observations{name}") for name in ("", "_alternate_units", "_other_unitcode")}
    assert [only(found).wind_mps for found in wind.values()] == pytest.approx([10.0, 10 / 3.6, 10.0])
    assert read("pynws_stations_observations_missing_value").readings == ()
    assert only(read("pynws_stations_observations_multiple_unsorted")).wind_mps == pytest.approx(10.0)


# -- raw reports ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "wind"),
    [
        ("KXYZ 121753Z 24018G27KT 10SM", RawWind(18 * KNOT, 27 * KNOT, 240.0)),
        ("METAR KXYZ 121753Z VRB03KT", RawWind(3 * KNOT, None, None)),
        ("KXYZ 121753Z 00000KT", RawWind(0.0, None, None)),
        ("UXYZ 121753Z 27008MPS", RawWind(8.0, None, 270.0)),
        ("KXYZ 121753Z ///05KT", RawWind(5 * KNOT, None, None)),
        ("KXYZ 121753Z 99918KT", None),
        ("KXYZ 121753Z 10SM RMK PK WND 24018G27KT", None),
        ("KXYZ 121753Z 24018G27KTS", None),
        ("", None),
    ],
)
def test_the_wind_group(text: str, wind: RawWind | None) -> None:
    assert raw_wind(text) == wind


# -- airport reports --------------------------------------------------------------------------------------------------


def report(**changed: object) -> ParsedWind:
    (row,) = composed_metar(PLACE, NOW, "KZZZ")
    row |= changed
    row = {key: value for key, value in row.items() if value != "absent"}
    return parse_reports(json.dumps([row]), PLACE, LIMITS)


def test_an_airport_report() -> None:
    reading = only(report())
    assert (reading.wind_mps, reading.gust_mps) == pytest.approx((12 * KNOT, 19 * KNOT))
    assert reading.time == NOW - timedelta(minutes=30)
    assert reading.distance_km == pytest.approx(5.56, abs=0.01)
    assert reading.visibility_m == pytest.approx(16093.44)


def test_variable_wind_keeps_its_speed() -> None:
    reading = only(report(wdir="VRB", wspd=3, wgst="absent", rawOb=""))
    assert (reading.wind_mps, reading.wind_from_deg, reading.gust_mps) == (pytest.approx(3 * KNOT), None, None)


def test_refused_airport_winds() -> None:
    gust_alone = only(report(wspd=999, rawOb=""))
    assert (gust_alone.wind_mps, gust_alone.gust_mps) == (None, pytest.approx(19 * KNOT))
    wind_alone = report(wgst="big", rawOb="")
    assert (only(wind_alone).wind_mps, only(wind_alone).gust_mps) == (pytest.approx(12 * KNOT), None)
    assert "gust" in wind_alone.serious[0]
    assert report(obsTime=None).readings == ()
    assert report(obsTime=-5).readings == ()
    assert only(report(wspd=None)).wind_mps == pytest.approx(12 * KNOT)  # from the raw report


@pytest.mark.parametrize("body", [b"", b"  ", b"{}", b"[5, null]", b'"moved"', b"API endpoint has moved"])
def test_no_reports(body: bytes) -> None:
    found = parse_reports(body, PLACE, LIMITS)
    assert found.readings == ()
    assert found.problems


def test_recorded_reports(reference_data: Path) -> None:
    def read(name: str) -> ParsedWind:
        return parse_reports((reference_data / "samples/awc" / name).read_bytes(), PLACE, LIMITS)

    three = read("metar_json_us_three_stations_20260721.json")
    assert sorted(round(one.wind_mps / KNOT) for one in three.readings) == [7, 8, 9]  # type: ignore[operator]
    assert all(one.gust_mps is None for one in three.readings)
    world = read("metar_json_world_calm_speci_duplicates_20260927.json")
    assert len({one.name for one in world.readings}) == len(world.readings)
    assert any(one.wind_mps == 0.0 for one in world.readings)
    variable = read("metar_json_variable_wind_20260831_trimmed.json")
    assert {one.wind_from_deg for one in variable.readings} == {250.0, None}
    assert read("metar_json_old_schema_20231027.json").readings is not None


# -- buoys ------------------------------------------------------------------------------------------------------------


def test_a_buoy() -> None:
    found = parse_buoy(composed_buoy(NOW), "45999", LIMITS)
    assert found.wind is not None
    assert found.water is not None
    assert (found.wind.wind_mps, found.wind.gust_mps, found.wind.wind_from_deg) == (6.0, 8.0, 240.0)
    assert (found.water.temperature_c, found.water.kind) == (20.0, "buoy")


HEAD = "#YY MM DD hh mm WDIR WSPD GST WTMP\n#yr mo dy hr mn degT m/s m/s degC\n"


@pytest.mark.parametrize("missing", ["MM", "999", "//"])
def test_missing_is_never_a_number(missing: str) -> None:
    found = parse_buoy(HEAD + f"2026 07 01 11 50 {missing} 5.9 MM {missing}\n", "45999", LIMITS)
    assert found.wind is not None
    assert (found.wind.wind_from_deg, found.wind.gust_mps, found.water) == (None, None, None)


def test_nines_are_missing_in_wind() -> None:
    found = parse_buoy(HEAD + "2026 07 01 11 50 147 5.9 99.0 999.0\n", "45999", LIMITS)
    assert found.wind is not None
    assert found.wind.gust_mps is None


def test_the_newest_known_value_within_90_minutes() -> None:
    rows = "2026 07 01 11 50 MM MM MM MM\n2026 07 01 11 00 200 5.0 6.0 MM\n2026 07 01 10 00 200 5.0 6.0 19.5\n"
    found = parse_buoy(HEAD + rows, "45999", LIMITS)
    assert found.wind is not None
    assert found.wind.time.hour == 11
    assert found.water is None


def test_odd_rows_are_skipped_and_counted() -> None:
    rows = "2026 07 01 11 50 200 5.0 6.0 19.5 7 7 7\nhalf\n2026 13 01 11 50 200 5.0 6.0 19.5\n"
    rows += "2026 07 01 11 40 200 4.0 6.0 88\n"
    found = parse_buoy(HEAD + rows, "45999", LIMITS)
    assert found.wind is not None
    assert found.wind.wind_mps == 4.0
    assert found.water is None
    assert "3 rows" in found.problems[0]
    assert "1 values" in found.problems[1]


@pytest.mark.parametrize("body", [b"", b"\xff\xfe", "2026 07 01 11 40 200 4.0 6.0 18\n", HEAD])
def test_tables_without_rows(body: bytes | str) -> None:
    found = parse_buoy(body, "45999", LIMITS)
    assert (found.wind, found.water) == (None, None)
    assert found.problems


def test_a_damaged_heading_is_not_taken_for_a_table_without_gusts() -> None:
    found = parse_buoy(composed_buoy(NOW).replace(" GST ", " G?T "), "45999", LIMITS)
    assert found.wind is None
    assert "heading" in found.problems[0]


def test_recorded_buoys(reference_data: Path) -> None:
    folder = reference_data / "samples/ndbc"
    sea = parse_buoy((folder / "realtime2_41002_20180801_first_434_lines.txt").read_bytes(), "41002", LIMITS)
    assert sea.wind is not None
    assert sea.water is not None
    assert (sea.wind.wind_mps, sea.wind.gust_mps, sea.water.temperature_c) == (6.0, 10.0, 28.0)  # the hour's gust
    pier = parse_buoy((folder / "realtime2_TPLM2_20220813_first_200_lines.txt").read_bytes(), "TPLM2", LIMITS)
    assert pier.wind is not None
    assert pier.water is None
    winds = parse_buoy((folder / "realtime2_41008_cwind_20180801_first_80_lines.txt").read_bytes(), "41008", LIMITS)
    assert winds.wind is not None
    assert winds.wind.gust_mps is None or winds.wind.gust_mps < 40


# -- enough reports for an hour ---------------------------------------------------------------------------------------


def every(seconds: int, count: int) -> dict[str, object]:
    """Calm reports, one every so many seconds, the newest one minute old."""
    times = [NOW - timedelta(seconds=60 + seconds * number) for number in range(count)]
    return {"features": [{"properties": {"timestamp": at.isoformat(), "windSpeed": quantity(7.2)}} for at in times]}


def asked_for() -> dict[str, str]:
    seen: list[dict[str, str]] = []

    class Asked:
        fetcher = SimpleNamespace(urls=BaseUrls())

        def get(self, ask: Ask) -> None:
            seen.append(dict(ask.params))

    retrieve_observation(Asked(), "KZZZ")  # type: ignore[arg-type]
    return seen[0]


def test_an_hour_of_reports_of_every_minute_is_asked_for() -> None:
    reports = every(60, 200)["features"][: int(asked_for()["limit"])]  # type: ignore[index]
    reports[60]["properties"]["windGust"] = quantity(55.0)
    found = parse_observations(json.dumps({"features": reports}), "KZZZ", PLACE, LIMITS, NOW)
    assert only(found).gust_mps == pytest.approx(55.0 / 3.6)
    assert found.problems == ()


@pytest.mark.parametrize(("seconds", "told"), [(10, True), (30, True), (39, True), (42, False), (60, False)])
def test_a_list_that_ends_within_the_hour_is_told(seconds: int, told: bool) -> None:
    body = json.dumps(every(seconds, int(asked_for()["limit"])))
    found = parse_observations(body, "KZZZ", PLACE, LIMITS, NOW)
    assert bool(found.serious) == told
    if told:
        assert found.serious == ("Station KZZZ: its reports of the last hour were not all read.",)
    few = parse_observations(json.dumps(every(seconds, 30)), "KZZZ", PLACE, LIMITS, NOW)
    assert few.serious == ()  # it has no more of them
