"""A gathering over real HTTP on loopback, whole and with single services failing."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from briefing.core.gathered import Gathered, SourceMemory
from briefing.core.gathered_json import from_json, to_json
from briefing.sources.gather import GatherRequest, Stations, gather
from briefing.sources.http import Fetcher
from tests.replay import (
    GEO,
    Answer,
    Morning,
    ReplayServer,
    albany,
    answer,
    composed_alert,
    composed_metar,
    composed_rest,
    composed_site,
    composed_stations,
    composed_usgs,
    minneapolis,
)

NOW = datetime(2026, 5, 20, 10, 12, tzinfo=UTC)
PLACE = (44.5, -93.25)
HTML = answer("<html><body>502 Bad Gateway</body></html>", kind="text/html")


def grid_body(issued: datetime, wind_kmh: float = 20.0, **layers: object) -> dict[str, object]:
    """A small grid of our own: eight days of constant wind."""
    span = f"{(issued - timedelta(hours=6)).replace(minute=0).isoformat()}/P8D"
    properties: dict[str, object] = {
        "updateTime": issued.isoformat(),
        "gridId": "ZZZ",
        "gridX": 1,
        "gridY": 2,
        "windSpeed": {"uom": "wmoUnit:km_h-1", "values": [{"validTime": span, "value": wind_kmh}]},
        "windDirection": {"uom": "wmoUnit:degree_(angle)", "values": [{"validTime": span, "value": 210}]},
        "temperature": {"uom": "wmoUnit:degC", "values": [{"validTime": span, "value": 18}]},
        "windGust": {"uom": "wmoUnit:km_h-1", "values": [{"validTime": span, "value": 30.0}]},
        "visibility": {"uom": "wmoUnit:m", "values": [{"validTime": span, "value": 16093}]},
        "probabilityOfThunder": {"values": [{"validTime": span, "value": 37}]},
    }
    return {"properties": {**properties, **layers}}


def observation(at: datetime, speed: float = 18.0) -> dict[str, object]:
    return {
        "features": [
            {
                "geometry": {"type": "Point", "coordinates": [-93.2, 44.6]},
                "properties": {
                    "timestamp": at.isoformat(),
                    "stationName": "A composed field",
                    "windSpeed": {"unitCode": "wmoUnit:km_h-1", "value": speed, "qualityControl": "V"},
                    "windDirection": {"unitCode": "wmoUnit:degree_(angle)", "value": 200, "qualityControl": "V"},
                },
            }
        ]
    }


def own_routes() -> dict[str, object]:
    points = {
        "properties": {
            "type": "land",
            "forecastGridData": "https://api.weather.gov/gridpoints/ZZZ/1,2",
            "forecastHourly": "https://api.weather.gov/gridpoints/ZZZ/1,2/forecast/hourly",
            "observationStations": "https://api.weather.gov/gridpoints/ZZZ/1,2/stations",
            "forecastZone": "https://api.weather.gov/zones/forecast/MNZ070",
            "county": "https://api.weather.gov/zones/county/MNC037",
        }
    }
    return {
        "/nws/points/44.5,-93.25": answer(points, kind=GEO),
        "/nws/gridpoints/ZZZ/1,2": answer(grid_body(NOW - timedelta(hours=2)), kind=GEO),
        "/nws/gridpoints/ZZZ/1,2/stations": answer(composed_stations("KZZA", "KZZB"), kind=GEO),
        "/nws/stations/KZZA/observations": answer(observation(NOW - timedelta(minutes=25)), kind=GEO),
        "/nws/stations/KZZB/observations": answer(observation(NOW - timedelta(minutes=25)), kind=GEO),
        "/nws/alerts/active": answer({"type": "FeatureCollection", "features": []}, kind=GEO),
        **composed_rest(PLACE, NOW, "KZZA"),
    }


def own_request(**changed: object) -> GatherRequest:
    request = GatherRequest(
        latitude=PLACE[0],
        longitude=PLACE[1],
        now=NOW,
        time_zone="America/Chicago",
        history_start=date(2026, 3, 1),
        alert_points=((44.5512, -93.3001), (44.4499, -93.2)),
        stations=Stations(usgs=("01999999",), airports=(), buoys=("45999",)),
    )
    return replace(request, **changed)


def run(
    routes: dict[str, object], request: GatherRequest, cache: Path | None = None, server_check: Callable | None = None
) -> Gathered:
    with (
        ReplayServer(routes) as server,  # type: ignore[arg-type]
        Fetcher(
            "angler@example.org", server.urls(), cache, lambda: request.now, sleep=lambda _: None, jitter=lambda: 0.5
        ) as fetcher,
    ):
        found = gather(request, fetcher)
        if server_check:
            server_check(server)
    return found


def said(gathered: Gathered) -> str:
    return " | ".join(problem.missing for problem in gathered.problems)


def test_everything_there_leaves_no_problem() -> None:
    found = run(own_routes(), own_request())
    assert found.problems == ()
    assert found.hours["wind_mps"].origin_at(found.hours.index_of(NOW)).source == "nws_grid"
    assert found.hours.values("wind_mps")[found.hours.index_of(NOW)] == pytest.approx(20 / 3.6)
    assert found.hours["cape_jkg"].origin_at(found.hours.index_of(NOW)).source == "open_meteo"
    assert found.alerts.readable
    assert found.thunder_service_exists
    assert [wind.source for wind in found.wind_now] == ["nws_station", "nws_station", "ndbc"]
    assert {reading.kind for reading in found.water} == {"gauge", "buoy"}
    assert found.air.start == date(2026, 3, 1)
    assert np.isfinite(found.air.mean_c).all()
    assert set(found.air.kind) == {"modelled", "forecast"}
    assert len(found.credits) == 4


def test_alerts_are_asked_at_every_point_unrounded_and_for_the_zones() -> None:
    def check(server: ReplayServer) -> None:
        asked = [query for path, query, _ in server.seen if path == "/nws/alerts/active"]
        assert {query.get("point") for query in asked} == {"44.5,-93.25", "44.5512,-93.3001", "44.4499,-93.2", None}
        assert {"MNZ070,MNC037"} == {query["zone"] for query in asked if "zone" in query}

    run(own_routes(), own_request(), server_check=check)


def test_open_meteo_gets_a_rounded_position_and_all_get_the_contact() -> None:
    def check(server: ReplayServer) -> None:
        (query,) = [query for path, query, _ in server.seen if path == "/open_meteo/forecast"]
        assert (query["latitude"], query["longitude"]) == ("44.51", "-93.26")
        assert query["timezone"] == "GMT"
        assert query["timeformat"] == "unixtime"
        assert all("angler@example.org" in headers["user-agent"] for _, _, headers in server.seen)

    routes = own_routes()
    routes["/nws/points/44.5123,-93.2577"] = routes["/nws/points/44.5,-93.25"]
    run(routes, own_request(latitude=44.5123, longitude=-93.2577), server_check=check)


def test_failed_alerts_are_never_an_empty_list() -> None:
    calm = answer({"type": "FeatureCollection", "features": []}, kind=GEO)
    broken = answer({"type": "https://api.weather.gov/problems/UnavailableWebService", "status": 503}, 503)

    def by_point(query: dict[str, str]) -> Answer:
        return broken if query.get("point") == "44.4499,-93.2" else calm

    found = run(own_routes() | {"/nws/alerts/active": by_point}, own_request())
    assert not found.alerts.readable
    assert "503" in found.alerts.problem
    assert any(problem.source == "nws_alerts" and problem.serious for problem in found.problems)
    assert found.hours.values("wind_mps")[found.hours.index_of(NOW)] > 0  # the rest of the morning goes on


def test_open_meteo_can_be_switched_off() -> None:
    with ReplayServer(own_routes()) as server:  # type: ignore[arg-type]
        urls = replace(server.urls(), open_meteo="")
        with Fetcher("a@example.org", urls, None, lambda: NOW, sleep=lambda _: None) as fetcher:
            found = gather(own_request(), fetcher)
        assert not [path for path in server.paths() if "open_meteo" in path]
    assert "open_meteo" not in found.raw
    assert np.isfinite(found.hours.values("wind_mps")[found.hours.index_of(NOW)])


def test_warnings_from_a_front_cache_are_as_old_as_it_says() -> None:
    held = answer({"type": "FeatureCollection", "features": []}, kind=GEO, Age="1500")
    found = run(own_routes() | {"/nws/alerts/active": held}, own_request())
    assert found.alerts.checked_at == NOW - timedelta(minutes=25)


@pytest.mark.parametrize("how", ["updated", "Last-Modified"])
def test_warnings_are_as_old_as_the_list_itself_says(how: str) -> None:
    old = NOW - timedelta(hours=3)
    body = {"type": "FeatureCollection", "features": []} | ({"updated": old.isoformat()} if how == "updated" else {})
    headers = {"Last_Modified": f"{old:%a, %d %b %Y %H:%M:%S GMT}"} if how == "Last-Modified" else {}
    found = run(own_routes() | {"/nws/alerts/active": answer(body, kind=GEO, **headers)}, own_request())
    assert found.alerts.checked_at == old


def test_an_alert_at_one_point_only_is_in_the_feed_once() -> None:
    alert = composed_alert("Lake Wind Advisory", NOW, NOW + timedelta(hours=4))
    full, empty = {"features": [alert]}, {"features": []}

    def by_point(query: dict[str, str]) -> Answer:
        return answer(empty if query.get("point") == "44.5,-93.25" else full, kind=GEO)

    found = run(own_routes() | {"/nws/alerts/active": by_point}, own_request())
    assert [one.event for one in found.alerts.alerts] == ["Lake Wind Advisory"]
    assert found.alerts.readable


SERVICES = {
    "/nws/gridpoints/ZZZ/1,2": "NWS grid",
    "/open_meteo/forecast": "Open-Meteo",
    "/open_meteo_archive/archive": "Open-Meteo archive",
    "/usgs/collections/latest-continuous/items": "USGS water data",
    "/ndbc/45999.txt": "Buoy",
    "/nws/points/44.5,-93.25": "NWS position",
    "/nws/alerts/active": "NWS warnings",
}
FAULTS = {
    "html_200": HTML,
    "html_502": answer("<html>502</html>", 502, "text/html"),
    "empty": answer(b""),
    "cut_off": answer(b'{"features": [{"prop'),
    "refused": answer("<HTML>Access Denied</HTML>", 403, "text/html"),
    "gone": answer({"title": "gone"}, 404, "application/problem+json"),
    "wrong_shape": answer([1, 2, 3]),
    "nothing": answer({}),
}


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("path", SERVICES)
def test_each_source_fails_alone_and_is_named(path: str, fault: str) -> None:
    found = run(own_routes() | {path: FAULTS[fault]}, own_request())
    assert found.problems
    assert SERVICES[path].split()[0] in said(found)
    assert "Traceback" not in said(found)
    assert np.isfinite(found.hours.values("wind_mps")[found.hours.index_of(NOW)])
    if path == "/nws/alerts/active":
        assert not found.alerts.readable
    assert found.thunder_service_exists


def test_no_service_at_all_still_gives_a_result() -> None:
    found = run({}, own_request())
    assert np.isnan(found.hours.values("wind_mps")).all()
    assert not found.alerts.readable
    assert found.alerts.checked_at is None
    assert set(found.air.kind) == {"missing"}
    assert found.thunder_service_exists
    assert from_json(to_json(found)).problems == found.problems


def test_outside_the_us_is_remembered_and_not_asked_again() -> None:
    gone = {"type": "https://api.weather.gov/problems/InvalidPoint", "status": 404}
    routes = own_routes() | {"/nws/points/44.5,-93.25": answer(gone, 404, "application/problem+json")}
    found = run(routes, own_request())
    assert not found.thunder_service_exists
    assert not found.alerts.service_exists
    assert not found.alerts.readable
    assert found.memory.no_nws_at == NOW
    assert found.hours["wind_mps"].origin_at(found.hours.index_of(NOW)).source == "open_meteo"

    def check(server: ReplayServer) -> None:
        assert not [path for path in server.paths() if path.startswith("/nws/")]

    run(routes, own_request(memory=found.memory), server_check=check)


def test_a_stale_grid_of_31_hours_is_refused_and_the_next_source_used() -> None:
    routes = own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(grid_body(NOW - timedelta(hours=31)), kind=GEO)}
    found = run(routes, own_request())
    assert "NWS grid: 31 h old, not used." in said(found)
    assert found.hours["wind_mps"].origin_at(found.hours.index_of(NOW)).source == "open_meteo"
    assert np.isnan(found.hours.values("thunder_pct")).all()


def test_a_grid_of_14_hours_gives_way_to_a_fresh_model_but_keeps_its_thunder() -> None:
    routes = own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(grid_body(NOW - timedelta(hours=14)), kind=GEO)}
    found = run(routes, own_request())
    here = found.hours.index_of(NOW)
    assert found.hours["wind_mps"].origin_at(here).source == "open_meteo"
    assert found.hours["thunder_pct"].origin_at(here).issued == NOW - timedelta(hours=14)
    assert "14 h old" in said(found)


def test_the_grid_never_goes_backwards() -> None:
    used = NOW - timedelta(hours=1)
    memory = replace(run(own_routes(), own_request()).memory, grid_issued=used)
    found = run(own_routes(), own_request(memory=memory))
    assert "an older issue than the one used before" in said(found)
    assert found.memory.grid_issued == used


def test_a_second_form_of_the_question_gets_past_an_old_front_cache(tmp_path: Path) -> None:
    old = answer(grid_body(NOW - timedelta(hours=40)), kind=GEO)
    new = answer(grid_body(NOW - timedelta(hours=1)), kind=GEO)
    found = run(own_routes() | {"/nws/gridpoints/ZZZ/1,2": [old, new]}, own_request(), tmp_path)
    assert found.memory.grid_issued == NOW - timedelta(hours=1)
    assert found.problems == ()


@pytest.mark.parametrize(("hours", "used"), [(3, True), (7, False)])
def test_a_stored_grid_stands_in_while_young_and_says_so(tmp_path: Path, hours: int, used: bool) -> None:
    good = answer(grid_body(NOW - timedelta(hours=2)), kind=GEO)
    routes = own_routes() | {"/nws/gridpoints/ZZZ/1,2": [good, answer({"status": 500}, 500)]}
    with ReplayServer(routes) as server:  # type: ignore[arg-type]
        for now in (NOW, NOW + timedelta(hours=hours)):
            with Fetcher(
                "a@example.org", server.urls(), tmp_path, lambda now=now: now, sleep=lambda _: None
            ) as fetcher:
                found = gather(own_request(now=now), fetcher)
    origin = found.hours["wind_mps"].origin_at(found.hours.index_of(NOW + timedelta(hours=hours)))
    assert origin.source == ("nws_grid" if used else "open_meteo")
    assert origin.issued == (NOW - timedelta(hours=2) if used else NOW + timedelta(hours=hours - 6))
    assert ("stored copy of 10:12 UTC" in origin.note) is used
    assert ("the service failed" in said(found)) is used


def test_a_moved_grid_is_looked_up_again_once() -> None:
    memory = SourceMemory(grid_path="/gridpoints/OLD/9,9", points_at=NOW - timedelta(days=1))

    def check(server: ReplayServer) -> None:
        assert server.paths().count("/nws/points/44.5,-93.25") == 1

    found = run(own_routes(), own_request(memory=memory), server_check=check)
    assert found.memory.grid_path == "/gridpoints/ZZZ/1,2"
    assert "nws_grid" in found.raw


def text_body(wind: str) -> dict[str, object]:
    hours = [NOW.replace(minute=0) + timedelta(hours=number) for number in range(48)]
    periods = [
        {
            "startTime": at.isoformat(),
            "endTime": (at + timedelta(hours=1)).isoformat(),
            "windSpeed": wind,
            "windDirection": "S",
            "shortForecast": "Sunny",
        }
        for at in hours
    ]
    return {"properties": {"updateTime": (NOW - timedelta(hours=2)).isoformat(), "periods": periods}}


@pytest.mark.parametrize("problem", ["ForecastGridExpired", "ForecastMissingData"])
def test_an_expired_grid_is_asked_once_and_the_text_steps_in_with_the_upper_wind(problem: str) -> None:
    body = {"type": f"https://api.weather.gov/problems/{problem}", "title": "Forecast Grid", "status": 503}
    routes = own_routes() | {
        "/nws/gridpoints/ZZZ/1,2": answer(body, 503, "application/problem+json"),
        "/nws/gridpoints/ZZZ/1,2/forecast/hourly": answer(text_body("2 to 17 mph"), kind=GEO),
    }

    def check(server: ReplayServer) -> None:
        assert server.paths().count("/nws/gridpoints/ZZZ/1,2") == 1

    found = run(routes, own_request(), server_check=check)
    here = found.hours.index_of(NOW)
    assert found.hours["wind_mps"].origin_at(here).source == "nws_text"
    assert found.hours.values("wind_mps")[here] == pytest.approx(17 * 0.44704)
    assert found.hours["gust_mps"].origin_at(here) is None, "the model's gust is below this wind: none for it"
    assert "it names no gusts" in said(found)
    assert "late or has a hole" in said(found)


def test_a_grid_without_wind_is_completed_by_the_text() -> None:
    empty = {"uom": "wmoUnit:km_h-1", "values": []}
    routes = own_routes() | {
        "/nws/gridpoints/ZZZ/1,2": answer(grid_body(NOW - timedelta(hours=2), windSpeed=empty), kind=GEO),
        "/nws/gridpoints/ZZZ/1,2/forecast/hourly": answer(text_body("5 to 10 mph"), kind=GEO),
    }
    found = run(routes, own_request())
    here = found.hours.index_of(NOW)
    assert found.hours["wind_mps"].origin_at(here).source == "nws_text"
    assert found.hours["gust_mps"].origin_at(here).source == "nws_grid"
    assert found.hours.values("thunder_pct")[here] == 37


def test_a_damaged_gust_is_not_papered_over_by_another_source() -> None:
    body = grid_body(NOW - timedelta(hours=2))
    body["properties"]["windGust"]["values"][0]["value"] = 804.67  # type: ignore[index]
    found = run(own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(body, kind=GEO)}, own_request())
    here = found.hours.index_of(NOW)
    assert np.isnan(found.hours.values("gust_mps")[here])
    assert found.hours["gust_mps"].damaged[here]
    assert np.isfinite(found.hours.values("wind_mps")[here])


@pytest.mark.parametrize(("wind_kmh", "taken"), [(10.0, True), (40.0, False)])
def test_an_absent_gust_comes_from_the_model_unless_it_is_under_the_wind(wind_kmh: float, taken: bool) -> None:
    body = grid_body(NOW - timedelta(hours=2), wind_kmh=wind_kmh)
    del body["properties"]["windGust"]  # type: ignore[attr-defined]
    found = run(own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(body, kind=GEO)}, own_request())
    here = found.hours.index_of(NOW)
    origin = found.hours["gust_mps"].origin_at(here)
    assert (origin is not None and origin.source == "open_meteo") == taken
    assert not found.hours.values("gust_mps")[here] < found.hours.values("wind_mps")[here]


def test_a_model_hint_of_storms_is_kept_beside_the_grid() -> None:
    routes = own_routes()
    body = json.loads(routes["/open_meteo/forecast"].body)  # type: ignore[attr-defined]
    body["hourly"]["weather_code"] = [95] * len(body["hourly"]["time"])
    found = run(routes | {"/open_meteo/forecast": answer(body)}, own_request())
    here = found.hours.index_of(NOW)
    assert found.hours.values("weather_code")[here] == 95
    assert found.hours.values("thunder_pct")[here] == 37


def test_airports_stand_in_when_stations_are_old() -> None:
    old = answer(observation(NOW - timedelta(hours=13)), kind=GEO)
    routes = own_routes() | {f"/nws/stations/{name}/observations": old for name in ("KZZA", "KZZB")}
    found = run(routes, own_request(stations=Stations()))
    assert [wind.source for wind in found.wind_now] == ["metar"]
    assert "13.0 h old, not used" in said(found)
    reports = composed_metar(PLACE, NOW - timedelta(hours=5), "KZZA")
    none = run(routes | {"/metar/metar": answer(reports)}, own_request(stations=Stations()))
    assert none.wind_now == ()
    assert "Wind now is not known" in said(none)


def test_empty_airport_answer_is_none_and_not_an_error() -> None:
    routes = own_routes() | {"/metar/metar": Answer(b"", 204, {})}
    routes = {path: route for path, route in routes.items() if "/stations" not in path}
    found = run(routes, own_request(stations=Stations(airports=("KZZA",))))
    assert "Airport reports: there are none." in said(found)


def test_usgs_pages_are_all_read_or_the_whole_fails() -> None:
    path = "/usgs/collections/latest-continuous/items"
    body = json.loads(own_routes()[path].body)  # type: ignore[attr-defined]
    second = {**body, "features": body["features"][:1]}
    first = {**body, "features": body["features"][1:], "links": [{"rel": "next", "href": "https://x{p}?cursor=2"}]}
    first["links"][0]["href"] = f"https://api.waterdata.usgs.gov/ogcapi/v1{path.removeprefix('/usgs')}?cursor=2"

    def pages(query: dict[str, str]) -> Answer:
        return answer(second if query.get("cursor") else first, kind=GEO)

    found = run(own_routes() | {path: pages}, own_request(stations=Stations(usgs=("01999999",))))
    assert any(reading.hour_known for reading in found.water)

    def fails(query: dict[str, str]) -> Answer:
        return answer({"status": 400}, 400) if query.get("cursor") else answer(first, kind=GEO)

    found = run(own_routes() | {path: fails}, own_request(stations=Stations(usgs=("01999999",))))
    assert found.water == ()
    assert found.level == ()
    assert "USGS water data" in said(found)


def test_the_budget_is_kept_and_said() -> None:
    request = own_request()
    with ReplayServer(own_routes()) as server:  # type: ignore[arg-type]
        fetcher = Fetcher("a@example.org", server.urls(), None, lambda: NOW, budget=3, sleep=lambda _: None)
        with fetcher:
            found = gather(request, fetcher)
        assert len(server.seen) == 3
    assert "the budget of 3 requests is used up" in said(found) + found.alerts.problem


@pytest.mark.parametrize("place", [albany, minneapolis])
def test_recorded_morning_over_loopback(place: Callable[[Path], Morning], reference_data: Path, tmp_path: Path) -> None:
    morning = place(reference_data)
    request = GatherRequest(
        latitude=morning.latitude,
        longitude=morning.longitude,
        now=morning.now,
        time_zone=morning.time_zone,
        history_start=date(2026, 1, 1),
        stations=Stations(usgs=("01999999",), buoys=("45999",)),
    )
    found = run(dict(morning.routes), request, tmp_path)
    # a recorded grid has no visibility, or no chance of thunder, for some hours, and says so itself
    assert all("the next 24 hours" in problem.missing for problem in found.problems)
    here = found.hours.index_of(morning.now)
    assert found.hours["wind_mps"].origin_at(here).source == "nws_grid"
    assert found.wind_now[0].source in ("nws_station", "ndbc")
    assert found.alerts.readable
    assert np.isfinite(found.air.mean_c).all()
    text = to_json(found)
    assert to_json(from_json(text)) == text
    again = run(dict(morning.routes), replace(request, memory=found.memory), tmp_path)
    assert not [record for record in again.requests if "/points/" in record.url]


def test_albany_has_its_thunder_and_drops_the_test_message(reference_data: Path) -> None:
    morning = albany(reference_data)
    request = GatherRequest(morning.latitude, morning.longitude, morning.now, morning.time_zone, date(2026, 7, 1))
    found = run(dict(morning.routes), request)
    assert float(np.nanmax(found.hours.values("thunder_pct"))) == 41.0
    assert [alert.event for alert in found.alerts.alerts] == ["Air Quality Alert"]
    assert "Test: Tornado Warning" in found.notes


def test_minneapolis_has_eleven_hours_before_noon_of_the_clock_change(reference_data: Path) -> None:
    morning = minneapolis(reference_data)
    request = GatherRequest(morning.latitude, morning.longitude, morning.now, morning.time_zone, date(2026, 2, 1))
    found = run(dict(morning.routes), request)
    window = found.hours.window(datetime(2026, 3, 8, 6, tzinfo=UTC), datetime(2026, 3, 8, 17, tzinfo=UTC))
    assert window.hours == 11
    assert np.nanmax(window.values("gust_mps")) == pytest.approx(38.892 / 3.6)


# -- where gauges stand, and how old they are -------------------------------------------------------------------------

SITES = "/usgs/collections/monitoring-locations/items"


def site(code: str | None, name: str = "A COMPOSED PLACE") -> Callable[[dict[str, str]], Answer]:
    return lambda query: answer(composed_site(query["id"], code, name), kind=GEO)


@pytest.mark.parametrize(
    ("route", "kind", "words"),
    [
        (site("LK"), "gauge", "(lake, provisional)"),
        (site("ST"), "river_gauge", "(stream, provisional)"),
        (site("ST", "A RIVER BELOW A DAM"), "tailwater", "(below a dam, provisional)"),
        (site("GW"), "unplaced_gauge", "site type GW"),
        (site(None), "unplaced_gauge", "not known"),
    ],
)
def test_a_gauge_says_where_it_stands(route: Callable[[dict[str, str]], Answer], kind: str, words: str) -> None:
    found = run(own_routes() | {SITES: route}, own_request())
    gauges = [reading for reading in found.water if reading.source == "usgs"]
    assert {reading.kind for reading in gauges} == {kind}
    assert all(words in reading.name for reading in gauges)
    assert from_json(to_json(found)).water == found.water


@pytest.mark.parametrize("fault", [answer({"status": 500}, 500), HTML, answer({"features": []}, kind=GEO)])
def test_a_gauge_that_cannot_be_placed_is_kept_and_told(fault: Answer) -> None:
    found = run(own_routes() | {SITES: fault}, own_request())
    assert {reading.kind for reading in found.water if reading.source == "usgs"} == {"unplaced_gauge"}
    assert "USGS 01999999: whether it stands in a lake or a stream is not known" in said(found)


def test_where_a_gauge_stands_is_asked_once_a_month(tmp_path: Path) -> None:
    asked = []
    with ReplayServer(own_routes()) as server:  # type: ignore[arg-type]
        for days in (0, 1, 29, 31):
            now = NOW + timedelta(days=days)
            with Fetcher("a@example.org", server.urls(), tmp_path, lambda now=now: now) as fetcher:
                gather(own_request(now=now), fetcher)
            asked.append(server.paths().count(SITES))
    assert asked == [1, 1, 1, 2]


def test_a_stored_place_stands_in_when_the_service_fails(tmp_path: Path) -> None:
    routes = own_routes() | {SITES: [answer(composed_site("USGS-01999999"), kind=GEO), answer({"status": 500}, 500)]}
    with ReplayServer(routes) as server:  # type: ignore[arg-type]
        for days in (0, 40):
            now = NOW + timedelta(days=days)
            with Fetcher(
                "a@example.org", server.urls(), tmp_path, lambda now=now: now, sleep=lambda _: None
            ) as fetcher:
                found = gather(own_request(now=now), fetcher)
    assert "whether it stands" not in said(found)


@pytest.mark.parametrize(("days", "told"), [(6, False), (8, True)])
def test_a_gauge_that_fell_silent_is_told(days: int, told: bool) -> None:
    routes = own_routes()
    routes["/usgs/collections/latest-continuous/items"] = answer(composed_usgs(NOW - timedelta(days=days), 0), kind=GEO)
    routes["/usgs/collections/daily/items"] = answer(composed_usgs(NOW - timedelta(days=days), 5), kind=GEO)
    found = run(routes, own_request())
    assert ("too old to count today" in said(found)) is told
    assert [one for one in found.water if one.source == "usgs"]


def test_values_of_a_gauge_from_the_future_are_skipped_and_told() -> None:
    routes = own_routes()
    routes["/usgs/collections/latest-continuous/items"] = answer(composed_usgs(NOW + timedelta(hours=3), 0), kind=GEO)
    found = run(routes, own_request())
    assert "2 values (water temperature among them) are dated ahead of now" in said(found)
    assert all(one.time <= NOW for one in found.water)


@pytest.mark.parametrize("days", [1, 2, 12, 40, 366])
def test_days_of_a_gauge_after_today_are_skipped_and_told_at_the_top(days: int) -> None:
    routes = own_routes()
    routes["/usgs/collections/latest-continuous/items"] = answer({"features": []}, kind=GEO)
    routes["/usgs/collections/daily/items"] = answer(composed_usgs(NOW + timedelta(days=days), 1), kind=GEO)
    found = run(routes, own_request())
    told = [one.missing for one in found.problems if one.serious]
    if days == 1:  # dated today
        assert told == []
        return
    assert "USGS: 2 values (water temperature among them) are dated ahead of now and were skipped." in told
    assert not [one for one in found.water if one.source == "usgs"]


@pytest.mark.parametrize(
    ("zone", "ahead_days", "kept"),
    [
        ("America/Chicago", 0, True),  # 05:12 on the 20th
        ("America/Chicago", 1, False),
        ("Pacific/Honolulu", 0, True),  # 00:12 on the 20th
        ("Pacific/Auckland", 0, True),  # 22:12 on the 20th
        ("Pacific/Kiritimati", 1, True),  # 00:12 on the 21st
        ("Pacific/Kiritimati", 2, False),
        ("Pacific/Pago_Pago", 0, False),  # 23:12 on the 19th
    ],
)
def test_the_lakes_own_date_says_which_day_of_a_gauge_lies_ahead(zone: str, ahead_days: int, kept: bool) -> None:
    routes = own_routes()
    routes["/usgs/collections/latest-continuous/items"] = answer({"features": []}, kind=GEO)
    routes["/usgs/collections/daily/items"] = answer(composed_usgs(NOW + timedelta(days=ahead_days + 1), 1), kind=GEO)
    found = run(routes, own_request(time_zone=zone))
    assert bool([one for one in found.water if one.source == "usgs"]) is kept
    assert ("dated ahead of now" in said(found)) is not kept


def _grid_without(name: str, *, hours: int | None = None) -> dict[str, object]:
    body = grid_body(NOW - timedelta(hours=2))
    layer = body["properties"].pop(name)
    if hours is not None:
        begin = (NOW - timedelta(hours=3)).replace(minute=0)
        layer["values"][0]["validTime"] = f"{begin.isoformat()}/PT{hours + 3}H"
        body["properties"][name] = layer
    return body


@pytest.mark.parametrize(("name", "word"), [("windGust", "gusts"), ("temperature", "air temperature")])
@pytest.mark.parametrize("hours", [None, 6])
def test_what_another_forecast_fills_is_told_at_the_top(name: str, word: str, hours: int | None) -> None:
    routes = own_routes() | {"/nws/gridpoints/ZZZ/1,2": answer(_grid_without(name, hours=hours), kind=GEO)}
    found = run(routes, own_request())
    (told,) = [one for one in found.problems if one.serious]
    assert f"no {word} for" in told.missing
    assert "the next 24 hours" in told.missing
