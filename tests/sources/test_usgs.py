"""Water bodies: strings, sentinels, several sensors, days without a zone, repeated hours, the old service."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.sources.bodies import plausible_limits
from briefing.sources.usgs import (
    UNPLACED,
    ParsedWater,
    Site,
    Value,
    next_page,
    parse_legacy,
    parse_legacy_sites,
    parse_sensors,
    parse_sites,
    parse_values,
    readings_of,
    sensor_depth_m,
    site_of,
    usable,
)
from tests.replay import composed_site

NOW = datetime(2026, 7, 1, 12, tzinfo=UTC)
ZONE = ZoneInfo("America/Chicago")
LIMITS = plausible_limits()
SITE = "USGS-01999999"


def row(**changed: object) -> dict[str, object]:
    plain = {
        "monitoring_location_id": SITE,
        "parameter_code": "00010",
        "statistic_id": "00011",
        "time": "2026-07-01T11:45:00+00:00",
        "time_series_id": "a",
        "unit_of_measure": "degC",
        "value": "21.4",
        "approval_status": "Provisional",
        "qualifier": None,
    }
    return {"properties": {**plain, **changed}}


def read(*rows: object, sensors: dict[str, str] | None = None) -> ParsedWater:
    values, problems = parse_values(json.dumps({"features": list(rows)}), ZONE, LIMITS)
    found = readings_of(values, sensors or {}, NOW - timedelta(days=30), LIMITS, {SITE: Site("gauge", "lake")})
    return ParsedWater(found.water, found.level, problems + found.problems, found.notes)


def test_values_are_strings_and_provisional_is_said() -> None:
    (reading,) = read(row()).water
    assert (reading.temperature_c, reading.kind, reading.hour_known) == (21.4, "gauge", True)
    assert reading.name == "USGS 01999999 (lake, provisional)"
    (approved,) = read(row(approval_status="Approved")).water
    assert "provisional" not in approved.name


@pytest.mark.parametrize("value", ["-999999", -999999, "-999999.00", None, "", "Ice", "-5.0", "88", [], True, "1e999"])
def test_what_is_no_temperature_is_no_reading(value: object) -> None:
    found = read(row(value=value))
    assert found.water == ()
    assert "no usable water temperature" in found.problems[0]


def test_sentinels_are_compared_before_conversion() -> None:
    found = read(
        row(parameter_code="62614", unit_of_measure="ft", value="-999999"),
        row(parameter_code="62614", unit_of_measure="ft", value="612.4", time="2026-07-01T11:30:00+00:00"),
    )
    assert [one.level_m for one in found.level] == pytest.approx([612.4 * 0.3048])


@pytest.mark.parametrize("unit", ["furlong", None, 5, ""])
def test_unknown_units_refuse(unit: object) -> None:
    assert read(row(unit_of_measure=unit)).water == ()


def test_a_date_is_a_day_and_never_shifted() -> None:
    (reading,) = read(row(time="2026-06-29", statistic_id="00003")).water
    assert not reading.hour_known
    assert reading.time.astimezone(ZONE).date().isoformat() == "2026-06-29"


@pytest.mark.parametrize("time", ["2026-06-29T10:00:00", "sometime", None, 5, "2026-13-40"])
def test_naive_and_odd_times_are_skipped_and_counted(time: object) -> None:
    found = read(row(time=time))
    assert found.water == ()
    assert "1 values could not be read" in found.problems[0]


def test_highest_and_lowest_of_a_day_are_no_mean() -> None:
    found = read(row(time="2026-06-29", statistic_id="00001", value="30"), row(time="2026-06-29", statistic_id="00003"))
    assert [one.temperature_c for one in found.water] == [21.4]


def test_the_shallowest_sensor_is_taken_and_said() -> None:
    rows = [row(time_series_id="low", value="11.5"), row(time_series_id="high", value="22.0")]
    sensors = {"low": "Near the bottom", "high": "1 Meter Below The Surface"}
    found = read(*rows, sensors=sensors)
    (reading,) = found.water
    assert (reading.temperature_c, reading.depth_m) == (22.0, 1.0)
    assert "1 Meter Below" in found.notes[0]
    untold = read(*rows)
    assert untold.water[0].temperature_c == 11.5
    assert "the colder counts" in untold.problems[0]
    alike = read(row(time_series_id="low", value="21.5"), row(time_series_id="high", value="22.0"))
    assert "no depth is given" in alike.notes[0]


@pytest.mark.parametrize(
    ("text", "depth"),
    [
        ("[1 Meter Below The Surface]", 1.0),
        ("3.0 ft", 0.9144),
        ("near surface", 0.0),
        ("Bottom", 99.0),
        ("WALNUT ST", None),
    ],
)
def test_depth_words(text: str, depth: float | None) -> None:
    assert sensor_depth_m(text) == (None if depth is None else pytest.approx(depth))


def test_old_readings_are_left_out_and_said() -> None:
    found = read(row(time="1961-09-29", statistic_id="00003"))
    assert found.water == ()
    assert "1961-09-29, not used" in found.problems[0]


def test_a_day_twice_counts_once_and_two_that_differ_not_at_all() -> None:
    day = {"time": "2026-06-29", "statistic_id": "00003"}
    assert len(read(row(**day), row(**day)).water) == 1
    found = read(row(**day), row(**day, value="19.0"))
    assert found.water == ()
    assert "neither is used" in found.notes[0]


def test_levels_that_jump_are_refused() -> None:
    rows = [
        row(parameter_code="00065", unit_of_measure="ft", value=value, time=f"2026-06-2{number}", statistic_id="00003")
        for number, value in enumerate(("10.0", "80.0", "10.2"), start=1)
    ]
    found = read(*rows)
    assert [one.level_m for one in found.level] == pytest.approx([3.048, 10.2 * 0.3048])
    assert "jump" in found.problems[0]


def test_an_elevation_comes_before_a_gage_height() -> None:
    found = read(
        row(parameter_code="00065", unit_of_measure="ft", value="3.0"),
        row(parameter_code="62614", unit_of_measure="ft", value="600"),
    )
    assert [one.level_m for one in found.level] == pytest.approx([182.88])


def test_other_quantities_are_passed_over() -> None:
    found = read(row(parameter_code="00060"), row())
    assert len(found.water) == 1
    assert found.problems == ()


@pytest.mark.parametrize("body", [b"", b"[]", b"{}", b'{"features": 5}', b'{"error": {"code": "OVER_RATE_LIMIT"}}'])
def test_what_is_no_list_is_said(body: bytes) -> None:
    values, problems = parse_values(body, ZONE, LIMITS)
    assert values == ()
    assert "no list" in problems[0]


def test_next_pages() -> None:
    assert next_page(json.dumps({"links": [{"rel": "self"}, {"rel": "next", "href": "https://x/a?b=1"}]})) == "/a?b=1"
    assert next_page(json.dumps({"links": [{"rel": "next", "href": 5}]})) == "?"  # goes on, nobody knows where
    assert next_page(b"{}") == next_page(b"") == ""


# -- recorded bodies --------------------------------------------------------------------------------------------------


def legacy(folder: Path, name: str, code: str) -> tuple[list[Value], list[Value]]:
    body = (folder / "samples/usgs" / f"legacy_{name}.json").read_bytes()
    values, _, problems = parse_legacy(body, ZONE, LIMITS, (code,))
    assert problems == ()
    return list(values), usable(list(values), [])


def test_recorded_legacy_bodies(reference_data: Path) -> None:
    _, good = legacy(reference_data, "iv_01570500_01541000_empty_first_values_block_20180601", "00010")
    assert good[-1].value == 24.4
    assert good[-1].time == datetime.fromisoformat("2018-06-01T23:45:00-04:00")
    read_, good = legacy(reference_data, "iv_01542500_ice_-999999_20190124", "00060")
    assert (len(read_), len(read_) - len(good)) == (438, 39)
    _, good = legacy(reference_data, "dv_03107698_duplicate_day_and_-999999_Dis_20170423", "00060")
    assert len(good) == 3
    old, good = legacy(reference_data, "dv_01541200_latest_mode_1961_temperature", "00010")
    assert good[-1].time.year == 1961
    assert readings_of(old, {}, NOW - timedelta(days=30), LIMITS).water == ()
    _, good = legacy(reference_data, "dv_05015500_lake_62614_20210627", "62614")
    assert [one.value / 0.3048 for one in good][-1] == pytest.approx(4784.13)
    assert all(one.day_only for one in good)
    for name, count in (("start_20180310", 284), ("end_20181103", 292)):
        values, good = legacy(reference_data, f"iv_01541000_dst_{name}", "00060")
        assert len(values) == len(good) == count
    assert legacy(reference_data, "iv_empty_timeSeries", "00010") == ([], [])


def test_two_methods_at_a_recorded_lake(reference_data: Path) -> None:
    name = "legacy_iv_444306122144600_63680_two_methods_lake_20200418.json"
    body = (reference_data / "samples/usgs" / name).read_bytes()
    values, sensors, _ = parse_legacy(body, ZONE, LIMITS, ("63680",))
    assert len({value.sensor for value in values}) == 2
    assert 1.0 in {sensor_depth_m(text) for text in sensors.values()}


def test_recorded_bodies_of_the_new_service(reference_data: Path) -> None:
    folder = reference_data / "samples/usgs"
    for name in ("ogc_latest-continuous", "ogc_continuous", "ogc_daily", "ogc_latest-daily"):
        _, problems = parse_values((folder / f"{name}.json").read_bytes(), ZONE, LIMITS)
        assert problems == ()
    values, _ = parse_values((folder / "ogc_latest-continuous.json").read_bytes(), ZONE, LIMITS)
    assert [value.value for value in values] == pytest.approx([1.59 * 0.3048])
    assert len(parse_sensors((folder / "ogc_time-series-metadata.json").read_bytes())) == 2


@pytest.mark.parametrize("body", [b"", b"{}", b'{"value": {"timeSeries": {}}}', b"<html>"])
def test_legacy_bodies_that_are_none(body: bytes) -> None:
    assert parse_legacy(body, ZONE, LIMITS)[2]


# -- where a gauge stands ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "name", "kind"),
    [
        ("LK", "SOME LAKE NEAR A TOWN", "gauge"),
        ("lk ", "SOME LAKE AT LOG BOOM BEHIND SOME DAM", "gauge"),
        ("ST", "SOME RIVER AT A TOWN", "river_gauge"),
        ("ST-DCH", "A DITCH", "river_gauge"),
        ("ST-TS", "A TIDAL RIVER", "river_gauge"),
        ("ST-CA", "", "river_gauge"),
        ("ST", "SOME RIVER BELOW SOME DAM", "tailwater"),
        ("ST", "SOME R BL SOME RES NR A TOWN", "tailwater"),
        ("ST", "SOME CREEK DOWNSTREAM FROM LOCK 4", "tailwater"),
        ("LK", "SOME DAM TAILWATER", "tailwater"),
        ("ST", "BELOW THE FALLS", "river_gauge"),
        ("STREAM", "", "unplaced_gauge"),
        ("ES", "AN ESTUARY", "unplaced_gauge"),
        ("GW", "A WELL", "unplaced_gauge"),
        ("", "SOME LAKE", "unplaced_gauge"),
        (None, None, "unplaced_gauge"),
        (7, "SOME LAKE", "unplaced_gauge"),
        (["LK"], "SOME LAKE", "unplaced_gauge"),
    ],
)
def test_site_types(code: object, name: object, kind: str) -> None:
    assert site_of(code, name).kind == kind


def test_sites_of_both_services(reference_data: Path) -> None:
    folder = reference_data / "samples/usgs"
    new = parse_sites((folder / "ogc_monitoring-locations.json").read_bytes())
    assert {site.kind for site in new.values()} == {"unplaced_gauge"}  # wells
    lake = parse_legacy_sites((folder / "legacy_iv_444306122144600_63680_two_methods_lake_20200418.json").read_bytes())
    assert lake == {"USGS-444306122144600": Site("gauge", "lake")}
    rivers = parse_legacy_sites((folder / "legacy_iv_two_sites_two_params_20190217.json").read_bytes())
    assert {site.kind for site in rivers.values()} == {"river_gauge"}


def test_two_answers_about_one_site_leave_its_place_open() -> None:
    features = [composed_site(SITE, code)["features"][0] for code in ("LK", "ST")]
    assert parse_sites(json.dumps({"features": features})) == {SITE: UNPLACED}
    assert parse_sites(json.dumps(features[0])) == {SITE: Site("gauge", "lake")}  # a single item


_JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(max_size=6) | st.sampled_from(["LK", "ST", SITE]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(site=_JSON, code=_JSON, name=_JSON, spoil=st.sampled_from(["none", "properties", "features", "body"]))
def test_only_a_lake_by_its_code_is_one(site: object, code: object, name: object, spoil: str) -> None:
    feature = {"id": site, "properties": {"site_type_code": code, "monitoring_location_name": name}}
    body: object = {"features": [feature | ({"properties": name} if spoil == "properties" else {})]}
    body = name if spoil == "body" else {"features": name} if spoil == "features" else body
    for found in parse_sites(json.dumps(body)).values():
        assert (found.kind == "gauge") <= (isinstance(code, str) and code.strip().upper() == "LK")
    parse_legacy_sites(json.dumps(body))
