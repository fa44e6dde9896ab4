"""Where a place belongs: what the service's answer leaves out is told, asked for again, and stood in for by memory."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.gathered import Gathered, SourceMemory
from briefing.core.gathered_json import from_json, to_json
from briefing.sources.gather import gather
from briefing.sources.http import Fetcher
from tests.replay import ReplayServer, answer
from tests.sources.test_gather import GEO, NOW, own_request, own_routes, run, said

POINTS, STATIONS = "/nws/points/44.5,-93.25", "/nws/gridpoints/ZZZ/1,2/stations"
NO_STATIONS = "NWS position: it names no stations near the lake; none is asked for measured wind."
NO_ZONES = "NWS position: it names no forecast zone or no county of the lake; warnings are asked for by points alone."
GONE = object()


def points(**changed: object) -> Any:
    """The answer for the position, with properties replaced or taken out."""
    base = "https://api.weather.gov"
    plain: dict[str, object] = {
        "type": "land",
        "forecastGridData": f"{base}/gridpoints/ZZZ/1,2",
        "forecastHourly": f"{base}/gridpoints/ZZZ/1,2/forecast/hourly",
        "observationStations": f"{base}/gridpoints/ZZZ/1,2/stations",
        "forecastZone": f"{base}/zones/forecast/MNZ070",
        "county": f"{base}/zones/county/MNC037",
    }
    kept = {name: value for name, value in {**plain, **changed}.items() if value is not GONE}
    return answer({"properties": kept}, kind=GEO)


def stations(*names: object) -> Any:
    features = [{"properties": {} if one is GONE else {"stationIdentifier": one}} for one in names]
    return answer({"features": features}, kind=GEO)


def serious(found: Gathered) -> list[str]:
    return [one.missing for one in found.problems if one.serious]


def mornings(answers: list[Any], tmp_path: Path, memory: SourceMemory | None = None) -> tuple[list[Gathered], int]:
    """One gathering a day with the memory and the cache handed on, and how often the position was asked for."""
    out: list[Gathered] = []
    memory = memory or SourceMemory()
    with ReplayServer(own_routes() | {POINTS: answers}) as server:  # type: ignore[arg-type]
        for day in range(len(answers)):
            now = NOW + timedelta(minutes=day)
            with Fetcher("a@example.org", server.urls(), tmp_path, lambda now=now: now, sleep=lambda _: None) as one:
                out.append(gather(own_request(now=now, memory=memory), one))
            memory = from_json(to_json(out[-1])).memory
        return out, server.paths().count(POINTS)


WRONG = [GONE, None, "", 5, "stations", [], {}]


@pytest.mark.parametrize("value", WRONG)
def test_a_position_without_stations_is_told_and_asked_again(value: object, tmp_path: Path) -> None:
    (first, second, third), asked = mornings([points(observationStations=value), points(), points()], tmp_path)
    assert serious(first) == [NO_STATIONS, "Wind now is not known: the stations near the lake gave no current one."]
    assert [one.source for one in first.wind_now] == ["ndbc"]
    assert second.problems == third.problems == ()
    assert [one.source for one in second.wind_now] == ["nws_station", "nws_station", "ndbc"]
    assert asked == 2  # the whole answer is remembered


@pytest.mark.parametrize("value", [*WRONG, "https://api.weather.gov/zones/forecast/mnz070"])
@pytest.mark.parametrize("name", ["forecastZone", "county"])
def test_a_position_without_zones_is_told_and_asked_again(name: str, value: object, tmp_path: Path) -> None:
    (first, second), asked = mornings([points(**{name: value}), points()], tmp_path)
    assert serious(first) == [NO_ZONES]
    assert second.problems == ()
    assert second.memory.alert_zones == ("MNZ070", "MNC037")
    assert asked == 2


def test_what_is_missing_stays_told_while_the_service_fails(tmp_path: Path) -> None:
    trouble = answer({"status": 404}, 404)
    (_, second), _ = mornings([points(observationStations=None, county=None), trouble], tmp_path)
    assert NO_STATIONS in serious(second)
    assert NO_ZONES in serious(second)


@settings(max_examples=12, deadline=None)
@given(
    lost=st.sets(st.sampled_from(["observationStations", "forecastZone", "county", "forecastHourly"])),
    value=st.sampled_from([GONE, None, ""]),
)
def test_what_was_known_before_stands_in_for_what_is_left_out(lost: set[str], value: object) -> None:
    known = run(own_routes(), own_request()).memory
    old = SourceMemory(
        known.grid_path, known.hourly_path, known.stations_path, known.alert_zones, points_at=NOW - timedelta(days=8)
    )
    found = run(own_routes() | {POINTS: points(**dict.fromkeys(lost, value))}, own_request(memory=old))
    assert found.problems == ()
    memory = found.memory
    assert (memory.stations_path, memory.hourly_path) == (known.stations_path, known.hourly_path)
    assert set(memory.alert_zones) == set(known.alert_zones)
    assert memory.points_at == (None if lost else NOW)


def test_a_place_on_the_water_needs_no_county_and_no_hourly_text() -> None:
    body = points(type="marine", county=None, forecastHourly=None)
    found = run(own_routes() | {POINTS: body}, own_request())
    assert found.problems == ()
    assert found.memory.points_at == NOW


def test_an_airport_of_the_profile_is_asked_without_the_list_of_stations() -> None:
    request = own_request()
    named = own_request(stations=type(request.stations)(request.stations.usgs, ("KZZA",), request.stations.buoys))
    found = run(own_routes() | {POINTS: points(observationStations=None)}, named)
    assert [one.source for one in found.wind_now] == ["nws_station", "ndbc"]
    assert serious(found) == [NO_STATIONS]


# -- the list of stations ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("wrong", [GONE, None, "", 5, "../x", "K" * 99])
@pytest.mark.parametrize("place", [0, 1, 2])
def test_a_station_without_a_name_is_told_and_the_others_are_used(wrong: object, place: int) -> None:
    names: list[object] = ["KZZA", "KZZB"]
    names.insert(place, wrong)
    found = run(own_routes() | {STATIONS: stations(*names)}, own_request())
    assert serious(found) == ["NWS stations: one of the nearest stations could not be read."]
    assert [one.source for one in found.wind_now] == ["nws_station", "nws_station", "ndbc"]


def test_small_letters_name_a_station_too() -> None:
    found = run(own_routes() | {STATIONS: stations("kzza", "KZZB")}, own_request())
    assert found.problems == ()
    assert [one.source for one in found.wind_now] == ["nws_station", "nws_station", "ndbc"]


@pytest.mark.parametrize("body", [{}, {"features": None}, {"features": []}, {"features": "x"}])
def test_a_list_without_stations_is_told_and_not_kept(body: object, tmp_path: Path) -> None:
    routes = own_routes() | {STATIONS: [answer(body, kind=GEO), stations("KZZA", "KZZB")]}
    with ReplayServer(routes) as server:  # type: ignore[arg-type]
        found = []
        for _ in range(3):
            with Fetcher("a@example.org", server.urls(), tmp_path, lambda: NOW, sleep=lambda _: None) as fetcher:
                found.append(gather(own_request(), fetcher))
        assert server.paths().count(STATIONS) == 2
    assert "NWS stations: the list names no station that could be read." in serious(found[0])
    assert found[1].problems == found[2].problems == ()
    assert "could not be read" not in said(found[1])
