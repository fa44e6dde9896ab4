"""This computer's clock against the dates of the services' answers."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import replace
from datetime import datetime, timedelta
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler

import pytest

from briefing.core.gathered import Gathered
from briefing.sources.clocks import Clocks
from briefing.sources.gather import gather
from briefing.sources.http import Fetcher
from tests.replay import ReplayServer
from tests.sources.test_gather import NOW, own_request, own_routes


def heard(**ahead_min: float) -> Clocks:
    clocks = Clocks()
    for name, minutes in ahead_min.items():
        told = NOW - timedelta(minutes=minutes)
        clocks.hear(f"https://{name}.example.org/x?y", {"date": format_datetime(told, usegmt=True)}, NOW)
    return clocks


def test_several_servers_that_agree_are_believed() -> None:
    found = heard(a=14.0, b=14.2, c=13.9)
    assert found.sentence() == "This computer's clock is 14 min ahead of the clocks of 3 services."
    assert heard(a=-200.0, b=-200.0).sentence() == "This computer's clock is 3 h behind the clocks of 2 services."


@pytest.mark.parametrize(
    "ahead",
    [{}, {"a": 500.0}, {"a": 500.0, "b": 0.1}, {"a": 0.0, "b": -900.0, "c": 0.2}, {"a": 2.9, "b": 2.9, "c": 2.9},
     {"a": 60.0, "b": 60.0, "c": 0.0, "d": 0.0}],
)  # fmt: skip
def test_a_single_odd_server_and_small_differences_prove_nothing(ahead: Mapping[str, float]) -> None:
    assert heard(**ahead).sentence() == ""


def test_the_age_of_a_front_cache_is_added_and_nonsense_is_passed_over() -> None:
    clocks = Clocks()
    old = format_datetime(NOW - timedelta(minutes=30), usegmt=True)
    for name in "abc":
        clocks.hear(f"https://{name}/", {"date": old, "age": "1800"}, NOW)
    assert clocks.ahead() == (timedelta(0), 3)
    for headers in ({}, {"date": "yesterday"}, {"date": old, "age": "long"}, {"date": ""}):
        clocks.hear("https://d/", headers, NOW)
    assert clocks.ahead() == (timedelta(0), 3)


class _Dated(ReplayServer):
    """A server whose own clock is told."""

    def __init__(self, told: datetime) -> None:
        super().__init__({})
        self.told = told

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        outer = self

        class Dated(super()._handler()):  # type: ignore[misc]
            def date_time_string(self, timestamp: float | None = None) -> str:
                return format_datetime(outer.told, usegmt=True)

        return Dated


def gathered(nws: datetime, model: datetime, archive: datetime) -> Gathered:
    """Gather from three servers, each with a clock of its own."""
    with ExitStack() as stack:
        servers = [stack.enter_context(_Dated(told)) for told in (nws, model, archive)]
        for server in servers:
            server.routes = own_routes()  # type: ignore[assignment]
        urls = replace(
            servers[0].urls(), open_meteo=servers[1].urls().open_meteo,
            open_meteo_archive=servers[2].urls().open_meteo_archive,
        )  # fmt: skip
        with Fetcher("me@example.org", urls, None, lambda: NOW, sleep=lambda _: None) as fetcher:
            return gather(own_request(), fetcher)


def test_a_wrong_clock_is_said_among_what_is_missing_and_is_serious() -> None:
    right = NOW + timedelta(minutes=25)
    found = gathered(right, right, right)
    (problem,) = [one for one in found.problems if one.source == "clock"]
    assert problem.missing == "This computer's clock is 25 min behind the clocks of 3 services."
    assert "set the clock" in problem.meaning
    assert problem.serious


def test_one_server_of_three_is_not_believed() -> None:
    found = gathered(NOW, NOW - timedelta(days=3), NOW)
    assert not [one for one in found.problems if one.source == "clock"]
