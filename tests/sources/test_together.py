"""Several lakes asked for in one request over real HTTP on loopback: each gets what it would have got alone."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from briefing.core.gathered import Gathered, SourceMemory
from briefing.sources.gather import GatherRequest, Stations, gather
from briefing.sources.http import Fetcher
from briefing.sources.service_limits import LIMITS
from briefing.sources.shared import Shared
from briefing.sources.together import ask_together
from briefing.sources.turn import Turn
from tests.replay import (
    Answer,
    ReplayServer,
    answer,
    composed_archive,
    composed_metar,
    composed_open_meteo,
    composed_site,
    composed_usgs,
)

NOW = datetime(2026, 5, 20, 10, 12, tzinfo=UTC)
FORECAST, ARCHIVE = "/open_meteo/forecast", "/open_meteo_archive/archive"
LATEST, DAILY = "/usgs/collections/latest-continuous/items", "/usgs/collections/daily/items"
SITES = "/usgs/collections/monitoring-locations/items"
Change = Callable[[list[Any]], Any]


def same(items: list[Any]) -> Any:
    return items


class Services:
    """Answers for any list of places and gauges; each place's air is as warm as its latitude says.

    ``change``: what is done to the list of a forecast before it goes out. ``refused``: latitudes (as asked) whose
    presence in a request is answered 400.
    """

    def __init__(self) -> None:
        self.change: Change = same
        self.refused: set[str] = set()
        self.numbered = True
        self.status: dict[str, int] = {}
        self.silent: Counter[str] = Counter()

    def routes(self) -> dict[str, Any]:
        return {
            FORECAST: lambda query: self.models(FORECAST, query, self.change),
            ARCHIVE: lambda query: self.models(ARCHIVE, query, same),
            LATEST: lambda query: self.gauges(query, 0),
            DAILY: lambda query: self.gauges(query, 10),
            SITES: lambda query: answer(composed_site(query["id"])),
            "/metar/metar": self.reports,
        }

    def models(self, path: str, query: dict[str, str], change: Change) -> Answer:
        north, east = query["latitude"].split(","), query["longitude"].split(",")
        if path in self.status and len(north) > 1:
            return answer({"error": True, "reason": "as told"}, self.status[path])
        if self.refused & set(north):
            return answer({"error": True, "reason": "Latitude must be in range of -90 to 90"}, 400)
        items = []
        for number, place in enumerate(zip(map(float, north), map(float, east), strict=True)):
            body = composed_open_meteo(place, NOW) if path == FORECAST else composed_archive(place, query)
            air = body["hourly"]["temperature_2m"]
            body["hourly"]["temperature_2m"] = [round(value - 18 + place[0] / 2, 2) for value in air]
            items.append({**body, "location_id": number} if number and self.numbered else body)
        return answer(change(items) if len(items) > 1 else items[0])

    def gauges(self, query: dict[str, str], days: int) -> Answer:
        features = []
        for site in query["monitoring_location_id"].split(","):
            self.silent[site] -= 1
            if self.silent[site] < 0:
                features += composed_usgs(NOW, days, site)["features"]
        for feature in features:
            row = feature["properties"]
            row["time_series_id"] += row["monitoring_location_id"]
            if row["parameter_code"] == "00010":
                row["value"] = str(int(row["monitoring_location_id"][-2:]))
        return answer({"type": "FeatureCollection", "features": features, "links": []})

    def reports(self, query: dict[str, str]) -> Answer:
        return answer([one for name in query["ids"].split(",") for one in composed_metar((44.0, -93.0), NOW, name)])


def lakes(count: int, **changed: object) -> list[GatherRequest]:
    """Lakes outside the US service, half a degree apart, each with its own gauge."""
    return [
        GatherRequest(
            latitude=40.0 + 0.5 * number,
            longitude=-93.0,
            now=NOW,
            time_zone="America/Chicago",
            history_start=date(2026, 4, 1),
            stations=Stations(usgs=(f"051000{number + 1:02d}",)),
            memory=SourceMemory(no_nws_at=NOW - timedelta(days=1)),
            **changed,  # type: ignore[arg-type]
        )
        for number in range(count)
    ]


class Turns:
    """A turn without waiting that notes how long it would have waited."""

    def __init__(self, folder: Path) -> None:
        self.waited: list[float] = []
        self.turn = Turn(folder, self.waited.append, lambda: 1_000_000.0)


def gather_all(
    services: Services, requests: Sequence[GatherRequest], folder: Path, together: bool = True, rounds: int = 1
) -> tuple[list[Gathered], Counter[str], list[float]]:
    """Gather lakes as a round does; returns what came, the requests by path, and the waits (s)."""
    waits: list[float] = []
    turns = Turns(folder)
    with ReplayServer(services.routes()) as server:
        for _ in range(rounds):
            with Shared() as shared:

                def fetcher(budget: int = 60, shared: Shared = shared) -> Fetcher:
                    return Fetcher("me@example.org", server.urls(), folder, lambda: NOW, budget, sleep=waits.append,
                                   jitter=lambda: 0.5, shared=shared)  # fmt: skip

                if together:
                    with fetcher(500) as first:
                        ask_together(requests, first, turns.turn)
                found = []
                for request in requests:
                    with fetcher() as own:
                        found.append(gather(request, own))
        return found, Counter(server.paths()), turns.waited + waits


def assert_same(found: Sequence[Gathered], alone: Sequence[Gathered]) -> None:
    assert len(found) == len(alone)
    for one, other in zip(found, alone, strict=True):
        for name in ("air_c", "wind_mps", "gust_mps", "cape_jkg"):
            np.testing.assert_array_equal(one.hours.values(name), other.hours.values(name))
        np.testing.assert_array_equal(one.air.mean_c, other.air.mean_c)
        assert one.water == other.water
        assert one.level == other.level
        assert one.wind_now == other.wind_now
        assert one.problems == other.problems


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> list[Gathered]:
    return gather_all(Services(), lakes(6), tmp_path_factory.mktemp("alone"), together=False)[0]


def test_lakes_asked_for_together_get_what_each_would_have_got_alone(tmp_path: Path, alone: list[Gathered]) -> None:
    found, asked, _ = gather_all(Services(), lakes(6), tmp_path)
    assert_same(found, alone)
    assert asked == {FORECAST: 1, ARCHIVE: 1, LATEST: 1, DAILY: 1, SITES: 6}  # where a gauge stands: once a month each
    means = [float(np.nanmean(one.air.mean_c)) for one in found]
    assert means == sorted(means), "each lake has its own air"
    assert [one.water[-1].temperature_c for one in found] == [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]


def drop_third(items: list[Any]) -> Any:
    return items[:2] + items[3:]


def swap(items: list[Any]) -> Any:
    return [items[1], items[0], *items[2:]]


def error_at_second(items: list[Any]) -> Any:
    return [items[0], {"error": True, "reason": "no data here"}, *items[2:]]


def cut_column(items: list[Any]) -> Any:
    items[3]["hourly"]["wind_speed_10m"] = items[3]["hourly"]["wind_speed_10m"][:-5]
    return items


def far_cell(items: list[Any]) -> Any:
    items[4] |= {"latitude": 10.0}
    return items


def null_item(items: list[Any]) -> Any:
    return [*items[:5], None]


def twice(items: list[Any]) -> Any:
    return [*items, items[2]]


def one_object(items: list[Any]) -> Any:
    return items[0]


FAULTS = [drop_third, swap, error_at_second, cut_column, far_cell, null_item, twice, one_object]


@pytest.mark.parametrize("numbered", [True, False])
@pytest.mark.parametrize("fault", FAULTS)
def test_a_damaged_item_costs_only_itself_a_request(
    tmp_path: Path, alone: list[Gathered], fault: Change, numbered: bool
) -> None:
    services = Services()
    services.change, services.numbered = fault, numbered
    found, asked, _ = gather_all(services, lakes(6), tmp_path)
    assert_same(found, alone)
    if numbered and fault is not one_object:
        again = 0 if fault is swap else 1
        assert asked[FORECAST] == 1 + again, "the batch, and those whose item is not believed"
    else:
        assert 2 <= asked[FORECAST] <= 1 + 6
    assert asked[ARCHIVE] == 1


def test_a_place_that_makes_the_service_refuse_is_found_by_halving(tmp_path: Path) -> None:
    services = Services()
    services.refused = {"41.5"}
    found, asked, _ = gather_all(services, lakes(12), tmp_path)
    good = [number for number, one in enumerate(found) if "open_meteo" in one.raw]
    assert good == [number for number in range(12) if number != 3]
    assert any("refused (400)" in problem.missing for problem in found[3].problems)
    assert asked[FORECAST] <= 12, "not one for each lake and the batches on top"


@pytest.mark.parametrize("status", [400, 413, 414])
def test_a_service_that_refuses_every_batch_is_asked_for_each_lake(
    tmp_path: Path, alone: list[Gathered], status: int
) -> None:
    services = Services()
    services.status[FORECAST] = status
    found, asked, _ = gather_all(services, lakes(6), tmp_path)
    assert_same(found, alone)
    assert asked[FORECAST] <= 6 + 12


@pytest.mark.parametrize("status", [500, 502, 503])
def test_a_batch_that_the_service_fails_on_is_repeated_and_then_asked_for_lake_by_lake(
    tmp_path: Path, alone: list[Gathered], status: int
) -> None:
    services = Services()
    services.status[FORECAST] = status
    found, asked, waits = gather_all(services, lakes(6), tmp_path)
    assert_same(found, alone)
    assert asked[FORECAST] == 3 + 6
    assert waits == [2.0, 5.0]


def test_too_many_requests_are_not_answered_by_more_of_them(tmp_path: Path) -> None:
    services = Services()
    services.status[FORECAST] = 429
    found, asked, _ = gather_all(services, lakes(6), tmp_path)
    assert asked[FORECAST] == 2, "the batch, and once more after the wait that was asked for"
    assert all(any("too many requests" in one.missing for one in lake.problems) for lake in found)
    assert asked[ARCHIVE] == 1, "the other services are asked as ever"


def test_a_service_that_is_down_is_not_waited_for_at_every_lake(tmp_path: Path) -> None:
    services = Services()
    routes = services.routes() | {FORECAST: answer("down", 503)}
    services.routes = lambda: routes  # type: ignore[method-assign]
    found, asked, waits = gather_all(services, lakes(12), tmp_path)
    assert not any("open_meteo" in one.raw and one.raw["open_meteo"] is None for one in found)
    assert asked[FORECAST] == 3 * 3 + 10, "three full tries, then one a lake"
    assert len(waits) == 6


def test_more_lakes_than_one_request_takes_are_asked_for_in_several(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, most in (("open_meteo", 6), ("open_meteo_archive", 4)):
        monkeypatch.setitem(LIMITS, name, replace(LIMITS[name], most=most))
    count = 9
    requests = [replace(one, stations=Stations()) for one in lakes(count)]
    requests = [replace(one, latitude=30.0 + 0.2 * number) for number, one in enumerate(requests)]
    _, asked, _ = gather_all(Services(), requests, tmp_path)
    assert asked == {FORECAST: 2, ARCHIVE: 3}


def test_lakes_at_one_position_are_one_item(tmp_path: Path) -> None:
    requests = [replace(one, latitude=40.0 + 0.001 * n) for n, one in enumerate(lakes(3))] + lakes(2)[1:]
    with_gauges, asked, _ = gather_all(Services(), requests, tmp_path)
    assert asked[FORECAST] == 1
    assert all("open_meteo" in one.raw for one in with_gauges)


def test_a_second_round_within_minutes_asks_for_nothing_again(tmp_path: Path) -> None:
    _, asked, _ = gather_all(Services(), lakes(4), tmp_path, rounds=3)
    assert asked == {FORECAST: 1, ARCHIVE: 1, LATEST: 1, DAILY: 1, SITES: 4}


def test_a_gauge_left_out_once_is_asked_for_again_with_the_others_left_out(
    tmp_path: Path, alone: list[Gathered]
) -> None:
    services = Services()
    services.silent |= {"USGS-05100002": 1, "USGS-05100005": 1}
    found, asked, _ = gather_all(services, lakes(6), tmp_path)
    assert_same(found, alone)
    assert asked[LATEST] == 2


def test_a_gauge_without_values_costs_one_more_request_not_one_a_lake(tmp_path: Path) -> None:
    services = Services()
    services.silent["USGS-05100003"] = 100
    found, asked, _ = gather_all(services, lakes(6), tmp_path)
    assert (asked[LATEST], asked[DAILY]) == (2, 2)
    assert found[2].water == ()
    assert any("no water temperature" in one.missing for one in found[2].problems)


def test_airports_of_lakes_without_the_us_service_are_asked_for_together(tmp_path: Path) -> None:
    requests = [
        replace(one, stations=Stations(airports=(name,)))
        for one, name in zip(lakes(3), ("CYWG", "CYQT", "CYXU"), strict=True)
    ]
    found, asked, _ = gather_all(Services(), requests, tmp_path)
    assert asked["/metar/metar"] == 1
    assert all(len(one.wind_now) == 1 for one in found)


def test_a_batch_waits_until_it_fits_into_what_is_allowed_a_minute(tmp_path: Path) -> None:
    waits: list[float] = []
    seconds = [0.0]

    def pause(wait: float) -> None:
        waits.append(wait)
        seconds[0] += wait

    for _ in range(3):  # as three processes would, one after the other
        with Turn(tmp_path, pause, lambda: seconds[0]) as turn:
            turn.spend("open_meteo", 250.0, 600)
            turn.spend("usgs", 1.0, 0)
        seconds[0] += 10.0
    assert waits == [40.0], "the first must be a minute ago before a third fits"
    (tmp_path / "turn.spent").write_text("nonsense", encoding="utf-8")
    with Turn(tmp_path, pause, lambda: seconds[0]) as turn:
        turn.spend("open_meteo", 250.0, 600)
    assert waits == [40.0]


def test_one_at_a_time_but_not_for_ever(tmp_path: Path) -> None:
    waits: list[float] = []
    with Turn(tmp_path, waits.append), Turn(tmp_path, waits.append, patience_s=1.0):
        assert sum(waits) == pytest.approx(1.0, abs=0.15)


def test_what_was_stored_is_read_as_any_other_answer(tmp_path: Path) -> None:
    gather_all(Services(), lakes(2), tmp_path)
    kept = [json.loads(path.read_text(encoding="utf-8")) for path in tmp_path.glob("*.json")]
    urls = [row["url"] for row in kept]
    assert len(urls) == 10
    assert not any("%2C-93" in url or "," in url.partition("latitude=")[2].partition("&")[0] for url in urls)
