"""How old a body really is: issue times ahead of now, copies from front caches, and bytes that came before."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.gathered import SourceMemory
from briefing.sources.gather import gather
from briefing.sources.gather_nws import healed
from briefing.sources.http import Fetcher
from briefing.sources.tables import age, ahead
from tests.replay import ReplayServer, answer
from tests.sources.test_gather import GEO, NOW, grid_body, own_request, own_routes, run, said, text_body

GRID, TEXT = "/nws/gridpoints/ZZZ/1,2", "/nws/gridpoints/ZZZ/1,2/forecast/hourly"
SLACK = timedelta(minutes=10)


# -- ahead of now -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("lead", [timedelta(minutes=11), timedelta(hours=3), timedelta(days=2), timedelta(days=400)])
def test_a_grid_issued_ahead_of_now_is_refused_and_never_remembered(lead: timedelta, tmp_path: Path) -> None:
    poisoned = run(own_routes() | {GRID: answer(grid_body(NOW + lead), kind=GEO)}, own_request(), tmp_path)
    assert "ahead of now, not used" in said(poisoned)
    assert any(problem.serious for problem in poisoned.problems)
    assert "nws_grid" not in poisoned.raw
    assert poisoned.memory.grid_issued is None
    later = run(own_routes(), own_request(memory=poisoned.memory), tmp_path)
    assert later.problems == ()
    assert later.memory.grid_issued == NOW - timedelta(hours=2)
    assert later.hours["wind_mps"].origin_at(later.hours.index_of(NOW)).source == "nws_grid"  # type: ignore[union-attr]


def test_a_good_stored_grid_stands_before_one_from_the_future(tmp_path: Path) -> None:
    good, wrong = (answer(grid_body(NOW + lead), kind=GEO) for lead in (timedelta(hours=-2), timedelta(days=2)))
    memory = SourceMemory()
    with ReplayServer(own_routes() | {GRID: [good, wrong]}) as server:  # type: ignore[arg-type]
        for _ in range(2):
            with Fetcher("a@example.org", server.urls(), tmp_path, lambda: NOW, sleep=lambda _: None) as fetcher:
                found = gather(own_request(memory=memory), fetcher)
            memory = found.memory
    assert found.hours["wind_mps"].origin_at(found.hours.index_of(NOW)).source == "nws_grid"  # type: ignore[union-attr]
    assert found.memory.grid_issued == NOW - timedelta(hours=2)
    assert "stored copy" in said(found)


def test_the_other_form_of_the_question_gets_past_a_body_from_the_future(tmp_path: Path) -> None:
    wrong, good = (answer(grid_body(NOW + lead), kind=GEO) for lead in (timedelta(days=2), timedelta(hours=-1)))
    found = run(own_routes() | {GRID: [wrong, good]}, own_request(), tmp_path)
    assert found.problems == ()
    assert found.memory.grid_issued == NOW - timedelta(hours=1)


def test_a_text_forecast_issued_ahead_of_now_is_refused() -> None:
    body = text_body("10 mph")
    body["properties"]["updateTime"] = (NOW + timedelta(days=2)).isoformat()  # type: ignore[index]
    routes = own_routes() | {GRID: answer({"status": 500}, 500), TEXT: answer(body, kind=GEO)}
    found = run(routes, own_request())
    assert "NWS text forecast: its issue time lies 48 h ahead of now, not used." in said(found)
    assert "nws_text" not in found.raw


def test_what_was_remembered_wrongly_heals_by_itself() -> None:
    wrong = NOW + timedelta(days=2)
    memory = replace(run(own_routes(), own_request()).memory, grid_issued=wrong, points_at=wrong)
    found = run(own_routes(), own_request(memory=memory))
    assert found.problems == ()
    assert (found.memory.grid_issued, found.memory.points_at) == (NOW - timedelta(hours=2), NOW)
    nowhere = run(own_routes(), own_request(memory=SourceMemory(no_nws_at=wrong)))
    assert nowhere.memory.no_nws_at is None
    assert nowhere.alerts.readable


@settings(max_examples=200, deadline=None)
@given(
    lead=st.timedeltas(timedelta(days=-400), timedelta(days=400)),
    name=st.sampled_from(["points_at", "no_nws_at", "grid_issued"]),
)
def test_only_what_lies_ahead_is_forgotten(lead: timedelta, name: str) -> None:
    memory = replace(SourceMemory(grid_path="/gridpoints/ZZZ/1,2"), **{name: NOW + lead})
    assert healed(memory, NOW) == (replace(memory, **{name: None}) if lead > SLACK else memory)
    assert ahead(NOW + lead, NOW) == (lead > age("ahead"))
    assert age("ahead") == SLACK


@settings(max_examples=12, deadline=None)
@given(lead=st.timedeltas(timedelta(hours=-11), timedelta(days=30)))
def test_no_lead_poisons_the_next_morning(lead: timedelta) -> None:
    first = run(own_routes() | {GRID: answer(grid_body(NOW + lead), kind=GEO)}, own_request())
    issued = first.memory.grid_issued
    assert issued is None if lead > SLACK else issued == NOW + lead
    newer = max(NOW - timedelta(hours=2), issued or NOW - timedelta(hours=2))
    second = run(own_routes() | {GRID: answer(grid_body(newer), kind=GEO)}, own_request(memory=first.memory))
    assert "nws_grid" in second.raw
