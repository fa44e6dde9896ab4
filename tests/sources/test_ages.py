"""How old a body really is: issue times ahead of now, copies from front caches, and bytes that came before."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from email.utils import format_datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.gathered import Gathered, SourceMemory
from briefing.core.gathered_json import from_json, to_json
from briefing.sources.cache import Cache, Stored
from briefing.sources.gather import gather
from briefing.sources.gather_nws import healed
from briefing.sources.http import Fetcher
from briefing.sources.tables import age, ahead
from tests.replay import ReplayServer, answer, composed_open_meteo
from tests.sources.test_gather import GEO, NOW, PLACE, grid_body, own_request, own_routes, run, said, text_body

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


@settings(max_examples=6, deadline=None)
@given(lead=st.timedeltas(timedelta(hours=-11), timedelta(days=30)))
def test_no_lead_poisons_the_next_morning(lead: timedelta) -> None:
    first = run(own_routes() | {GRID: answer(grid_body(NOW + lead), kind=GEO)}, own_request())
    issued = first.memory.grid_issued
    assert issued is None if lead > SLACK else issued == min(NOW + lead, NOW)
    newer = max(NOW - timedelta(hours=2), issued or NOW - timedelta(hours=2))
    second = run(own_routes() | {GRID: answer(grid_body(newer), kind=GEO)}, own_request(memory=first.memory))
    assert "nws_grid" in second.raw


# -- copies of a body without an issue time ---------------------------------------------------------------------------


def model(days_old: float = 0.0) -> dict[str, Any]:
    return composed_open_meteo(PLACE, NOW - timedelta(days=days_old))


def with_model(body: object, **headers: str) -> Gathered:
    return run(own_routes() | {"/open_meteo/forecast": answer(body, **headers)}, own_request())


def http_date(instant: datetime) -> str:
    return format_datetime(instant, usegmt=True)


OLD_COPIES: list[Callable[[float], tuple[object, dict[str, str]]]] = [
    lambda days: (model(), {"Age": str(int(days * 86400))}),
    lambda days: (model(), {"Last_Modified": http_date(NOW - timedelta(days=days))}),
    lambda days: (model(), {"Age": f"12, {int(days * 86400)}"}),
    lambda days: (model(), {"Age": f"{int(days * 86400)}, 12"}),
    lambda days: (model(), {"Age": f"+{int(days * 86400)}.5"}),
    lambda days: (model(), {"Date": http_date(NOW - timedelta(days=days))}),
    lambda days: (model(), {"Date": f"{NOW - timedelta(days=days):%Y-%m-%dT%H:%M:%SZ}"}),
    lambda days: (model(), {"Last_Modified": f"{NOW - timedelta(days=days):%Y-%m-%d %H:%M:%S}"}),
    lambda days: (model(days), {}),
]


@pytest.mark.parametrize("copy", OLD_COPIES)
@pytest.mark.parametrize("days", [2, 6])
def test_a_copy_of_days_ago_is_refused_and_said_at_the_top(
    copy: Callable[[float], tuple[object, dict[str, str]]], days: int
) -> None:
    body, headers = copy(days)
    found = with_model(body, **headers)
    assert "open_meteo" not in found.raw
    (problem,) = found.problems
    assert problem.serious
    assert re.match(r"Open-Meteo: \d+ h old, not used\.", problem.missing)


@pytest.mark.parametrize("days", [2, 3, 30])
def test_a_body_of_days_ahead_is_refused_and_said_at_the_top(days: int) -> None:
    found = with_model(model(-days))
    assert "open_meteo" not in found.raw
    (problem,) = found.problems
    assert problem.serious
    assert re.match(r"Open-Meteo: its days begin \d+ h ahead of now, not used\.", problem.missing)


def test_a_copy_of_some_hours_ago_is_as_old_as_that() -> None:
    found = with_model(model(), Age=str(7 * 3600))
    origin = found.raw["open_meteo"]["wind_mps"].origins[0]
    assert origin.issued == NOW - timedelta(hours=13)
    assert "Open-Meteo: 13 h old." in said(found)
    assert found.problems[0].serious


def test_a_last_row_of_an_earlier_day_dates_the_body_too() -> None:
    body = model(2)
    kept = slice(2 * 24, None)  # its first rows are lost: it begins where a body of today does
    body["hourly"] = {name: column[kept] for name, column in body["hourly"].items()}
    assert "open_meteo" not in with_model(body).raw


@pytest.mark.parametrize(
    "warning", ['110 - "Response is Stale"', "110", '199 x "y", 111 cache "x"', "112 - x", "113 a b"]
)
@pytest.mark.parametrize("path", ["/open_meteo/forecast", "/nws/alerts/active", GRID])
def test_a_copy_that_its_cache_calls_stale_is_refused_where_no_age_is_told(warning: str, path: str) -> None:
    body = {"/open_meteo/forecast": model(), GRID: grid_body(NOW - timedelta(hours=2))}.get(path, {"features": []})
    found = run(own_routes() | {path: answer(body, kind=GEO, Warning=warning)}, own_request())
    (problem,) = [one for one in found.problems if "a copy that its cache calls stale" in one.missing]
    assert problem.serious
    assert found.alerts.readable == (path != "/nws/alerts/active")
    dated = run(own_routes() | {path: answer(body, kind=GEO, Warning=warning, Age="60")}, own_request())
    assert dated.problems == ()


@pytest.mark.parametrize("warning", ["", "199 - x", '214 - "Transformation Applied"', "299 - 110", "soon"])
def test_other_warnings_of_caches_say_nothing_of_age(warning: str) -> None:
    assert with_model(model(), Warning=warning).problems == ()


def shifted(hours: float, **changed: object) -> dict[str, Any]:
    body = model()
    body["hourly"]["time"] = [one + int(hours * 3600) for one in body["hourly"]["time"]]
    return {**body, **changed}


@settings(max_examples=12, deadline=None)
@given(hours=st.integers(-30, 30))
def test_a_body_that_begins_at_another_hour_than_asked_is_refused_and_said(hours: int) -> None:
    found = with_model(shifted(hours))
    if hours == 0:
        assert found.problems == ()
        return
    assert ("open_meteo" in found.raw) == (hours == -24)  # a day old: its age is counted so
    assert found.problems[0].serious
    if -24 < hours < 0:
        assert "its first hour is not the one asked for" in found.problems[0].missing


@pytest.mark.parametrize("offset", [-14400, 3600, 20700, "7200", "x", [], True])
@pytest.mark.parametrize("hours", [0, 4, -4])
def test_a_body_of_another_clock_than_asked_is_refused_and_said(offset: object, hours: int) -> None:
    found = with_model(shifted(hours, utc_offset_seconds=offset))
    assert "open_meteo" not in found.raw
    (problem,) = found.problems
    assert problem.serious
    assert "its clock is not the one asked for" in problem.missing


@pytest.mark.parametrize("offset", [0, 0.0, "0", None])
def test_universal_time_in_any_form_is_used(offset: object) -> None:
    assert with_model(shifted(0, utc_offset_seconds=offset)).problems == ()


@pytest.mark.parametrize("header", ["", "soon", "-5", "  ", "Tue, 99 Foo 2026 22:00:00 GMT", "0"])
def test_headers_that_cannot_be_read_date_nothing(header: str) -> None:
    assert with_model(model(), Last_Modified=header).problems == ()
    assert with_model(model(), Last_Modified=http_date(NOW + timedelta(hours=5))).problems == ()


@pytest.mark.parametrize("header", ["soon", "-5", "2 days", "-172800", "1e5", "5, soon"])
def test_a_copy_whose_age_is_told_and_cannot_be_read_is_refused_and_said(header: str) -> None:
    found = with_model(model(), Age=header)
    assert "open_meteo" not in found.raw
    assert "how old it is can't be read" in said(found)


@pytest.mark.parametrize("header", ["", "  ", "0", "12", "12.5", "3, 7"])
def test_an_age_of_seconds_is_read(header: str) -> None:
    assert with_model(model(), Age=header).problems == ()


@settings(max_examples=12, deadline=None)
@given(hours=st.floats(0.0, 200.0), way=st.sampled_from(["age", "modified", "date"]))
def test_no_copy_counts_as_younger_than_its_headers_say(hours: float, way: str) -> None:
    made = (NOW - timedelta(hours=hours)).replace(microsecond=0)
    headers = {
        "age": {"Age": str(int((NOW - made).total_seconds()))},
        "modified": {"Last_Modified": http_date(made)},
        "date": {"Date": http_date(made)},
    }[way]
    found = with_model(model(), **headers)
    if "open_meteo" not in found.raw:
        assert hours > 17.9
        assert found.problems[0].serious
        return
    issued = found.raw["open_meteo"]["wind_mps"].origins[0].issued
    assert issued == min(made, NOW) - timedelta(hours=6)
    assert bool(found.problems) == (NOW - issued > timedelta(hours=12))


def mornings(bodies: list[Any], hours: list[float], tmp_path: Path) -> list[Gathered]:
    """One gathering each so many hours after the first, with the memory handed on and the bodies in turn."""
    out: list[Gathered] = []
    memory = SourceMemory()
    routes = own_routes() | {"/open_meteo/forecast": [answer(body) for body in bodies]}
    with ReplayServer(routes) as server:  # type: ignore[arg-type]
        for later in hours:
            now = NOW + timedelta(hours=later)
            with Fetcher(
                "a@example.org", server.urls(), tmp_path, lambda now=now: now, sleep=lambda _: None
            ) as fetcher:
                out.append(gather(own_request(now=now, memory=memory), fetcher))
            memory = from_json(to_json(out[-1])).memory
    return out


def model_issued(gathered: Gathered) -> datetime | None:
    return gathered.raw["open_meteo"]["wind_mps"].origins[0].issued


def test_the_same_bytes_again_are_no_newer_than_they_were(tmp_path: Path) -> None:
    body = model()
    first, later, evening, next_day = mornings([body] * 4, [0, 5, 7, 24], tmp_path)
    assert model_issued(first) == model_issued(later) == model_issued(evening) == NOW - timedelta(hours=6)
    assert "Open-Meteo: 13 h old." in said(evening)
    assert "open_meteo" not in next_day.raw
    assert "Open-Meteo: 30 h old, not used." in said(next_day)


def test_two_copies_in_turns_are_both_known_again(tmp_path: Path) -> None:
    one, two = model(), model()
    two["hourly"]["temperature_2m"][0] = 3.5
    found = mornings([one, two, one], [0, 8, 9], tmp_path)
    assert model_issued(found[1]) == NOW + timedelta(hours=2)
    assert model_issued(found[2]) == NOW - timedelta(hours=6)


def test_bytes_of_another_time_are_new(tmp_path: Path) -> None:
    bodies = []
    for number in range(26):
        body = model()
        body["hourly"]["temperature_2m"][0] = 10.0 + 0.1 * number
        bodies.append(body)
    found = mornings(bodies, [0.1 * number for number in range(26)], tmp_path)
    assert all(model_issued(one) == one.retrieved_at - timedelta(hours=6) for one in found)
    assert len(found[-1].memory.seen) == 24


def test_the_same_hours_in_other_bytes_are_no_newer_than_they_were(tmp_path: Path) -> None:
    bodies = [{**model(), "generationtime_ms": 0.1 + number} for number in range(4)]
    first, _, evening, next_day = mornings(bodies, [0, 5, 7, 24], tmp_path)
    assert model_issued(evening) == model_issued(first)
    assert "Open-Meteo: 30 h old, not used." in said(next_day)


def test_what_a_stored_copy_had_behind_it_is_kept_with_it(tmp_path: Path) -> None:
    cache = Cache(tmp_path)
    cache.save(Stored("http://x", b"{}", "application/json", "", "", NOW, 172800.0))
    kept = cache.load("http://x")
    assert kept is not None
    assert kept.age_s == 172800.0


# -- copies of a grid -------------------------------------------------------------------------------------------------


def test_a_grid_is_no_newer_than_its_front_cache_has_held_it(tmp_path: Path) -> None:
    old = answer(grid_body(NOW - timedelta(hours=1)), kind=GEO, Age="172800")
    found = run(own_routes() | {GRID: old}, own_request(), tmp_path)
    assert "NWS grid: 48 h old, not used." in said(found)
    assert "nws_grid" not in found.raw
    some = answer(grid_body(NOW - timedelta(hours=1)), kind=GEO, Age=str(14 * 3600))
    used = run(own_routes() | {GRID: some}, own_request())
    assert "NWS grid: 14 h old." in said(used)
    assert used.raw["nws_grid"]["wind_mps"].origins[0].issued == NOW - timedelta(hours=14)


def test_a_text_forecast_is_no_newer_than_its_front_cache_has_held_it() -> None:
    for age_s, used in ((48 * 3600, False), (14 * 3600, True)):
        text = answer(text_body("10 mph"), kind=GEO, Age=str(age_s))
        found = run(own_routes() | {GRID: answer({"status": 500}, 500), TEXT: text}, own_request())
        assert ("nws_text" in found.raw) is used
        if used:
            assert found.raw["nws_text"]["wind_mps"].origins[0].issued == NOW - timedelta(hours=14)
