"""Everything that the data services gave for one briefing, as the stored input of the computation.

Made by ``briefing.sources.gather``; kept by the store and replayed with ``gathered_json``. The computation sees
nothing else of the outside world, apart from what the user entered.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from briefing.core.alerts import AlertFeed
from briefing.core.hours import HourSeries
from briefing.core.readings import DailyAir, LevelReading, WaterReading, WindReading


@dataclass(frozen=True, slots=True)
class RequestRecord:
    """One request as made, for the printed budget. ``url`` holds no secret; ``outcome`` is one sentence.

    status is None when no answer came; ``tries`` counts attempts over the network (0 when it came from the cache
    alone); ``bytes`` is the size of the body as used.
    """

    service: str
    url: str
    status: int | None
    outcome: str
    bytes: int = 0
    ms: int | None = None
    from_cache: bool = False
    tries: int = 1


@dataclass(frozen=True, slots=True)
class Problem:
    """What a source failed to give: ``missing`` says what is not there and why, ``meaning`` what follows from it.

    ``serious`` is true where a safety input is concerned (wind, thunder, warnings). ``short`` names what is missing in
    a few words, where the source alone doesn't tell.
    """

    source: str
    missing: str
    meaning: str
    serious: bool = False
    short: str = ""


@dataclass(frozen=True, slots=True)
class SeenBody:
    """The digest of a body of a service that gives no issue time, and when it first came."""

    source: str
    digest: str
    first_at: datetime


@dataclass(frozen=True, slots=True)
class SourceMemory:
    """What is worth remembering between runs about the services at one lake; the store keeps it as it is.

    ``no_nws_at`` is when the US service said that it does not cover the place. ``grid_issued`` is the newest issue
    time of the forecast grid ever used: an older one is not taken again. ``seen``: bodies that came before, newest
    last, since the same bytes again are no newer than they were.
    """

    grid_path: str = ""
    hourly_path: str = ""
    stations_path: str = ""
    alert_zones: tuple[str, ...] = ()
    marine: bool = False
    points_at: datetime | None = None
    no_nws_at: datetime | None = None
    grid_issued: datetime | None = None
    seen: tuple[SeenBody, ...] = ()


@dataclass(frozen=True)
class Gathered:
    """All inputs from services, each with its origin; every part may be missing on its own.

    hours: merged hourly values, per field and hour from the best source that has it (origins per field).
    raw: the series of each source by its id (``nws_grid``, ``nws_text``, ``open_meteo``).
    air: daily means of local days from ``history_start`` to the end of the forecast, NaN where missing.
    alerts: warnings of all asked points together; not readable when any request failed.
    wind_now: observations under 90 min, nearest first. water, level: newest last within a station.
    thunder_service_exists: false only where no service forecasts thunder at all (a standing unknown).
    """

    hours: HourSeries
    raw: Mapping[str, HourSeries]
    air: DailyAir
    alerts: AlertFeed
    wind_now: tuple[WindReading, ...]
    water: tuple[WaterReading, ...]
    level: tuple[LevelReading, ...]
    problems: tuple[Problem, ...]
    credits: tuple[str, ...]
    requests: tuple[RequestRecord, ...]
    retrieved_at: datetime
    thunder_service_exists: bool = True
    memory: SourceMemory = field(default_factory=SourceMemory)
    notes: tuple[str, ...] = ()  # for the log: refused values, skipped messages, ignored cache files
