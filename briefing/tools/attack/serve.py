"""Serves the bodies of a morning through the real client: same requests, same checks, no network."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from email.utils import format_datetime
from pathlib import Path
from urllib.parse import parse_qs

import httpx

from briefing.sources.http import Fetcher
from briefing.sources.urls import BaseUrls
from briefing.tools.attack.bodies import Answer, Bodies, listed_observations

_HOST = "http://services.invalid"
_URLS = BaseUrls(
    **{name: f"{_HOST}/{name}" for name in ("nws", "open_meteo", "open_meteo_archive", "usgs", "metar", "ndbc")}
)
#: Addresses that stand for one body each, whatever place or page they name.
_GATHERED = (
    (re.compile(r"^/nws/points/.*"), "/nws/points"),
    (re.compile(r"^/usgs/collections/latest-continuous/items$"), "/usgs/latest"),
    (re.compile(r"^/usgs/collections/daily/items$"), "/usgs/daily"),
    (re.compile(r"^/usgs/collections/time-series-metadata/items$"), "/usgs/sensors"),
    (re.compile(r"^/usgs/collections/monitoring-locations/items(/.*)?$"), "/usgs/sites"),
)
_NOT_THERE = Answer({"title": "Not Found", "status": 404, "type": "about:blank"}, 404, "application/problem+json")


def route_of(path: str) -> str:
    """The name under which a morning keeps the body of a path."""
    return next((name for pattern, name in _GATHERED if pattern.match(path)), path)


def fetcher_for(bodies: Bodies, now: datetime, cache: Path | None = None) -> Fetcher:
    """The program's own client, whose network is ``bodies``; it never waits."""

    def handle(request: httpx.Request) -> httpx.Response:
        query = {name: values[-1] for name, values in parse_qs(request.url.query.decode()).items()}
        answer = _answer(bodies, request.url.path, query)
        if answer.fails:
            raise _failure(answer.fails, request)
        made = now - timedelta(seconds=_age_s(answer))  # a front cache hands out the date at which it took the body
        headers = {"Date": format_datetime(made, usegmt=True), "Content-Type": answer.kind, **answer.headers}
        return httpx.Response(answer.status, headers=headers, stream=_Body(answer.content()))

    return Fetcher(
        "attack@services.invalid",
        _URLS,
        cache,
        clock=lambda: now,
        transport=httpx.MockTransport(handle),
        sleep=lambda _: None,
        jitter=lambda: 0.5,
    )


class _Body(httpx.SyncByteStream):
    """A body as raw bytes, so that a false Content-Encoding meets the client as it would from the network."""

    def __init__(self, raw: bytes) -> None:
        self._raw = raw

    def __iter__(self):  # type: ignore[no-untyped-def]
        yield self._raw


def _answer(bodies: Bodies, path: str, query: Mapping[str, str]) -> Answer:
    route = bodies.get(route_of(path), _NOT_THERE)
    answer = route if isinstance(route, Answer) else route(query)
    if path.endswith("/observations") and isinstance(answer.data, list):
        return Answer(listed_observations(answer.data, query), answer.status, answer.kind, answer.headers)
    return answer


def _age_s(answer: Answer) -> int:
    told = answer.headers.get("Age", "")
    return int(told) if told.isdigit() else 0


def _failure(word: str, request: httpx.Request) -> httpx.TransportError:
    made = {"timeout": httpx.ReadTimeout, "broken": httpx.RemoteProtocolError, "refused": httpx.ConnectError}
    return made[word](f"composed: {word}", request=request)
