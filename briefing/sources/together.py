"""Asks for several lakes in one request where a service allows it, before each lake is gathered alone.

What comes is kept as the answer that each lake's own request would have got; `gather` finds it there. Whatever fails
here costs nothing but time: what is not kept is asked for by its lake, alone. A batch that a service refuses is halved
until the place that it refuses stands alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Generic, TypeVar
from zoneinfo import ZoneInfo

from briefing.sources import metar, open_meteo, usgs
from briefing.sources.bodies import plausible_limits
from briefing.sources.gather import WATER_DAYS, GatherRequest, archive_span
from briefing.sources.http import BODY_LIMIT_BYTES, Ask, Fetcher, Reply, ServiceError, Source
from briefing.sources.service_limits import LIMITS, SHARE_OBSERVED, Limit
from briefing.sources.split import joined_gauges, split_gauges, split_models, split_reports
from briefing.sources.tables import age
from briefing.sources.turn import Turn

T = TypeVar("T")
#: Statuses that mean: this request is wrong or too long. All others say nothing of the places in it.
_REFUSED = frozenset({400, 413, 414})
#: So many refusals of one kind, and no more batches are tried: one bad place among fifty costs eleven.
_MOST_REFUSED = 12


@dataclass(frozen=True)
class _Kind(Generic[T]):
    """One kind of request. ``keep`` stores what an answer gives for each item."""

    service: str
    name: str
    ask: Callable[[Sequence[T]], Ask]
    keep: Callable[[Source, Sequence[T], Ask], None]
    fewest: int = 2  # a single item is asked for by its own lake

    @property
    def limit(self) -> Limit:
        return LIMITS[self.service]


def ask_together(requests: Sequence[GatherRequest], fetcher: Fetcher, turn: Turn) -> None:
    """Fetch for several lakes what they need and what is not stored yet; never raises for a service.

    ``fetcher`` must be one of a round (``shared``): its lakes then take what is stored here.
    """
    with turn:
        _models(requests, fetcher, turn)
        _archives(requests, fetcher, turn)
        _gauges(requests, fetcher, turn)
        _airports(requests, fetcher, turn)


def _models(requests: Sequence[GatherRequest], fetcher: Fetcher, turn: Turn) -> None:
    if fetcher.urls.open_meteo:
        _places("open_meteo", "Open-Meteo", lambda p: open_meteo.forecast_ask(fetcher.urls, p), requests, fetcher, turn)


def _archives(requests: Sequence[GatherRequest], fetcher: Fetcher, turn: Turn) -> None:
    spans: dict[tuple[date, date], list[GatherRequest]] = {}
    for request in requests if fetcher.urls.open_meteo else ():
        first, last = archive_span(request)
        if first <= last:
            spans.setdefault((first, last), []).append(request)
    for (first, last), own in spans.items():

        def ask(places: Sequence[open_meteo.Place], first: date = first, last: date = last) -> Ask:
            return open_meteo.archive_ask(fetcher.urls, places, first, last, age("archive"))

        _places("open_meteo_archive", "Open-Meteo archive", ask, own, fetcher, turn)


def _places(
    service: str,
    name: str,
    ask: Callable[[Sequence[open_meteo.Place]], Ask],
    requests: Sequence[GatherRequest],
    fetcher: Fetcher,
    turn: Turn,
) -> None:
    def keep(source: Source, places: Sequence[open_meteo.Place], wanted: Ask) -> None:
        reply = source.get(wanted)
        for number, body in split_models(reply.body, places).items():
            _keep(source, ask([places[number]]), body, reply)

    source = fetcher.source(name)
    # Places that round to the same position are one request, and one item of a batch.
    missing = {
        alone.full_url: request.place
        for request in requests
        if not _is_stored(source, alone := ask([request.place]), fetcher)
    }
    _ask_all(_Kind(service, name, ask, keep), list(missing.values()), fetcher, turn)


def _gauges(requests: Sequence[GatherRequest], fetcher: Fetcher, turn: Turn) -> None:
    """The newest and the daily values of all gauges; then the depths of sensors, where a lake will need them."""
    lakes = list({request.stations.usgs: request for request in requests if request.stations.usgs}.values())
    if fetcher.urls.usgs_legacy or len(lakes) < 2:
        return
    urls = fetcher.urls

    def latest(sites: Sequence[str]) -> Ask:
        return usgs.latest_ask(urls, sites)

    def daily(sites: Sequence[str]) -> Ask:
        return usgs.daily_ask(urls, sites, WATER_DAYS, age("archive"))

    for ask in (latest, daily):
        _gauge_lists(ask, lakes, fetcher, turn)
    source = fetcher.source(_GAUGE_NAME)
    deep = [one for one in lakes if _needs_depths(source, one, (latest, daily))]
    _gauge_lists(lambda sites: usgs.sensors_ask(urls, sites, age("sensor_depths")), deep, fetcher, turn)


_GAUGE_NAME = "USGS water data"
_GAUGE_ROWS = "10000"
SiteAsk = Callable[[Sequence[str]], Ask]


def _gauge_lists(ask: SiteAsk, lakes: Sequence[GatherRequest], fetcher: Fetcher, turn: Turn) -> None:
    source = fetcher.source(_GAUGE_NAME)
    waiting = [one for one in lakes if not _is_stored(source, ask(one.stations.usgs), fetcher)]
    sites = list(dict.fromkeys(site for one in waiting for site in one.stations.usgs))
    if len(waiting) < 2:
        return
    found: dict[str, list[object]] = {}
    answered: dict[str, Reply] = {}

    def many(some: Sequence[str]) -> Ask:
        wanted = ask(some)
        return replace(wanted, params={**wanted.params, "limit": _GAUGE_ROWS})

    def keep(source: Source, some: Sequence[str], wanted: Ask) -> None:
        replies = usgs.pages(source, wanted)
        found.update(split_gauges([reply.body for reply in replies], some))
        answered.update((site, replies[0]) for site in some)

    kind = _Kind("usgs", _GAUGE_NAME, many, keep, fewest=1)
    _ask_all(kind, sites, fetcher, turn)
    # A gauge without values is simply not named; so is one that was left out. They are asked for once more.
    absent = [site for site in answered if usgs.site_id(site) not in found]
    for site in absent:
        del answered[site]
    _ask_all(kind, absent, fetcher, turn)
    for one in waiting:
        if all(site in answered for site in one.stations.usgs):
            body = joined_gauges(found, one.stations.usgs)
            _keep(source, ask(one.stations.usgs), body, answered[one.stations.usgs[0]])


def _needs_depths(source: Source, request: GatherRequest, asks: Sequence[SiteAsk]) -> bool:
    kept = [source.stored(ask(request.stations.usgs)) for ask in asks]
    zone = ZoneInfo(request.time_zone)
    values = [
        value
        for reply in kept
        if reply is not None
        for value in usgs.parse_values(reply.body, zone, plausible_limits())[0]
    ]
    return usgs.needs_sensors(values)


def _airports(requests: Sequence[GatherRequest], fetcher: Fetcher, turn: Turn) -> None:
    """Reports of airports for lakes that no station of the US service covers; elsewhere they are a stand-in only."""
    shared = fetcher.shared
    alone = [one.stations.airports for one in requests if one.memory.no_nws_at and len(one.stations.airports) == 1]
    names = list(dict.fromkeys(name for names in alone for name in names))

    def keep(source: Source, some: Sequence[str], wanted: Ask) -> None:
        reply = source.get(wanted)
        for name, body in split_reports(reply.body, some).items():
            if shared is not None:
                own = metar.reports_ask(fetcher.urls, [name]).full_url
                shared.hold(replace(reply, url=own, body=body), SHARE_OBSERVED)

    _ask_all(
        _Kind("metar", "Airport reports", lambda some: metar.reports_ask(fetcher.urls, some), keep),
        names,
        fetcher,
        turn,
    )


def _ask_all(kind: _Kind[T], items: Sequence[T], fetcher: Fetcher, turn: Turn) -> None:
    """Ask in batches within the limits; halve what is refused or too large, stop at any other failure."""
    most = kind.limit.most
    waiting = [items[begin : begin + most] for begin in range(0, len(items), most)]
    refused = 0
    while waiting:
        batch = waiting.pop(0)
        if len(batch) < kind.fewest:
            continue
        ask = replace(kind.ask(batch), store=False, fresh=True, share_for=None)
        if len(ask.full_url) > kind.limit.url_bytes and len(batch) > 1:
            waiting[:0] = _halves(batch)
            continue
        turn.spend(kind.service, max(1.0, kind.limit.weight * len(batch)), kind.limit.per_minute)
        fetcher.restart_stage()
        try:
            kind.keep(fetcher.source(kind.name), batch, ask)
        except ServiceError as error:
            refused += 1
            if (error.status not in _REFUSED and error.size <= BODY_LIMIT_BYTES) or refused >= _MOST_REFUSED:
                return
            if len(batch) > 1:
                waiting[:0] = _halves(batch)


def _halves(batch: Sequence[T]) -> list[Sequence[T]]:
    middle = len(batch) // 2
    return [batch[:middle], batch[middle:]]


def _is_stored(source: Source, ask: Ask, fetcher: Fetcher) -> bool:
    kept = source.stored(ask)
    return kept is not None and source.serves(ask, fetcher.clock() - kept.retrieved_at)


def _keep(source: Source, ask: Ask, body: bytes, reply: Reply) -> None:
    """Store a body as the answer to a lake's own request, as of the time at which it came and as old as it was then."""
    held_s = (reply.retrieved_at - reply.made_by).total_seconds()
    source.keep(replace(reply, url=ask.full_url, body=body, etag="", last_modified="", age_s=held_s))
