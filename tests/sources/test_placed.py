"""A forecast of another cell or of days gone by is refused and said, whoever hands it out."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.gathered import SourceMemory
from briefing.sources.gather import gather
from briefing.sources.http import Fetcher
from briefing.sources.placed import NEAR_KM, Asked, misplaced
from tests.replay import ReplayServer, answer
from tests.sources.test_gather import GEO, NOW, PLACE, grid_body, own_request, own_routes, run, said, text_body

GRID, TEXT = "/nws/gridpoints/ZZZ/1,2", "/nws/gridpoints/ZZZ/1,2/forecast/hourly"
ASKED = Asked("/gridpoints/ZZZ/1,2", PLACE, NOW)


def around(north: float, east: float, half: float = 0.0125) -> dict[str, Any]:
    ring = [[east - half, north - half], [east + half, north - half], [east + half, north + half],
            [east - half, north + half], [east - half, north - half]]  # fmt: skip
    return {"type": "Polygon", "coordinates": [ring]}


def grid(geometry: object = None, hours_ago: float = 2.0, **named: object) -> dict[str, Any]:
    return {**grid_body(NOW - timedelta(hours=hours_ago), **named), "geometry": geometry}


def judged(body: object) -> str:
    return misplaced(json.dumps(body), ASKED)


# -- the place --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("north", "east"), [(5.0, 0.0), (0.0, 0.3), (-0.06, 0.0), (-34.5, 103.25)])
def test_an_outline_that_does_not_hold_the_lake_is_refused(north: float, east: float) -> None:
    assert "its own outline lies" in judged(grid(around(PLACE[0] + north, PLACE[1] + east)))


@pytest.mark.parametrize(
    "shape",
    [
        None,
        around(*PLACE),
        around(PLACE[0] + 0.03, PLACE[1]),  # a neighbouring cell: its edge lies 2 km off
        around(PLACE[0], PLACE[1] + 360.0),
        {"type": "GeometryCollection", "geometries": [{"type": "Point", "coordinates": [0, 0]}, around(*PLACE)]},
        {"type": "MultiPolygon", "coordinates": [around(10, 10)["coordinates"], around(*PLACE)["coordinates"]]},
        {"type": "Point", "coordinates": [0.0, 0.0]},
        {"type": "Polygon", "coordinates": [[["x", 1], [2, 2], [3, 3], [1, 1]]]},
        {"type": "Polygon"},
        "POLYGON((1 1,2 2,3 3,1 1))",
        [],
    ],
)
def test_an_outline_of_the_lake_or_none_that_can_be_read_changes_nothing(shape: object) -> None:
    assert judged(grid(shape)) == ""


@settings(max_examples=80, deadline=None, derandomize=True)
@given(st.floats(-60.0, 60.0), st.floats(-179.0, 179.0), st.booleans())
def test_every_cell_far_from_the_lake_is_refused_and_every_near_one_used(north: float, east: float, wrap: bool) -> None:
    body = grid(around(north, east + 360.0 if wrap and east < -1.0 else east))
    near = abs(north - PLACE[0]) < 0.03 and abs(east - PLACE[1]) < 0.03
    far = abs(north - PLACE[0]) > 0.06 or abs((east - PLACE[1] + 180.0) % 360.0 - 180.0) > 0.09
    assert NEAR_KM == 4.0
    assert (judged(body) == "") or not near
    assert judged(body) or not far


@pytest.mark.parametrize(
    "named", [{"gridX": 9}, {"gridY": "3"}, {"gridId": "YYY"}, {"gridId": "YYY", "gridX": 71, "gridY": 90}]
)
def test_a_body_of_another_cell_is_refused(named: dict[str, object]) -> None:
    assert "not of the one asked for" in judged(grid(**named))


@pytest.mark.parametrize(
    "named",
    [{}, {"gridId": "zzz"}, {"gridId": None, "gridX": None, "gridY": None}, {"gridX": "1"}, {"gridX": "x"}],
)
def test_a_body_of_the_cell_asked_for_is_used_however_it_writes_it(named: dict[str, object]) -> None:
    assert judged(grid(**named)) == ""


def test_an_office_of_another_name_is_believed_where_the_outline_holds_the_lake() -> None:
    assert judged(grid(around(*PLACE), gridId="YYY")) == ""
    assert judged(grid(around(*PLACE), gridId="YYY", gridX=4))


@pytest.mark.parametrize(
    ("times", "used"),
    [
        ("2026-05-01T00:00:00+00:00/P2DT18H", False),
        (f"{(NOW - timedelta(days=3)).isoformat()}/{NOW.isoformat()}", False),
        (f"{(NOW - timedelta(hours=6)).isoformat()}/P7DT13H", True),
        ("yesterday", True),
        (None, True),
        (5, True),
    ],
)
def test_hours_that_have_ended_are_refused(times: object, used: bool) -> None:
    assert (judged(grid(validTimes=times)) == "") is used


# -- the morning ------------------------------------------------------------------------------------------------------

WRONG = {
    "outline": grid(around(PLACE[0] + 5, PLACE[1])),
    "cell": grid(gridId="YYY", gridX=71, gridY=90),
    "hours": grid(validTimes="2026-05-01T00:00:00+00:00/P2DT18H"),
}


@pytest.mark.parametrize("flaw", WRONG)
def test_a_grid_of_elsewhere_is_not_used_and_the_next_source_fills_the_hours(flaw: str, tmp_path: Path) -> None:
    found = run(own_routes() | {GRID: answer(WRONG[flaw], kind=GEO)}, own_request(), tmp_path)
    assert "nws_grid" not in found.raw
    (problem,) = [one for one in found.problems if one.source == "nws_grid"]
    assert problem.serious
    assert "not used" in problem.missing
    assert found.memory.grid_issued is None
    assert found.hours["wind_mps"].origin_at(found.hours.index_of(NOW)).source == "open_meteo"  # type: ignore[union-attr]
    # it was not kept either: the right one is used later, though it was issued before
    later = own_routes() | {GRID: answer(grid(around(*PLACE), 3.0), kind=GEO)}
    assert "nws_grid" in run(later, own_request(memory=found.memory), tmp_path).raw


def test_the_other_form_of_the_question_gets_past_a_body_of_elsewhere(tmp_path: Path) -> None:
    right = answer(grid(around(*PLACE), 3.0), kind=GEO)
    found = run(own_routes() | {GRID: [answer(WRONG["outline"], kind=GEO), right]}, own_request(), tmp_path)
    assert found.problems == ()
    assert found.memory.grid_issued == NOW - timedelta(hours=3)


def test_a_good_stored_grid_stands_before_one_of_elsewhere(tmp_path: Path) -> None:
    memory = SourceMemory()
    routes = own_routes() | {GRID: [answer(grid(around(*PLACE)), kind=GEO), answer(WRONG["cell"], kind=GEO)]}
    with ReplayServer(routes) as server:  # type: ignore[arg-type]
        for _ in range(2):
            with Fetcher("a@example.org", server.urls(), tmp_path, lambda: NOW, sleep=lambda _: None) as fetcher:
                found = gather(own_request(memory=memory), fetcher)
            memory = found.memory
    assert found.memory.grid_issued == NOW - timedelta(hours=2)
    assert "stored copy" in said(found)


def test_a_lake_that_was_moved_is_asked_for_anew() -> None:
    memory = SourceMemory(grid_path="/gridpoints/OLD/9,9", points_at=NOW - timedelta(days=1))
    old = grid(around(PLACE[0] + 1, PLACE[1]), gridId="OLD", gridX=9, gridY=9)
    found = run(own_routes() | {"/nws/gridpoints/OLD/9,9": answer(old, kind=GEO)}, own_request(memory=memory))
    assert found.memory.grid_path == "/gridpoints/ZZZ/1,2"
    assert "nws_grid" in found.raw


@pytest.mark.parametrize("geometry", [around(PLACE[0] + 5, PLACE[1]), None])
def test_a_text_forecast_of_elsewhere_is_not_used_either(geometry: object) -> None:
    routes = own_routes() | {GRID: answer({"status": 503}, 503, "application/problem+json")}
    routes[TEXT] = answer({**text_body("10 mph"), "geometry": geometry}, kind=GEO)
    found = run(routes, own_request())
    assert ("nws_text" in found.raw) is (geometry is None)
    assert ("NWS text forecast: its own outline lies 55" in said(found)) is (geometry is not None)
