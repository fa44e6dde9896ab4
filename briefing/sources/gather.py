"""All services for one lake in one call: each may fail alone, and what is missing is said."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import TypeVar
from zoneinfo import ZoneInfo

import numpy as np

from briefing.core.alerts import AlertFeed
from briefing.core.freshness import is_stale
from briefing.core.gathered import Gathered, Problem, SeenBody, SourceMemory
from briefing.core.hours import FIELDS, Floats, HourSeries
from briefing.core.readings import LevelReading, WaterReading, WindReading
from briefing.sources import gather_nws, metar, ndbc, nws, nws_alerts, open_meteo, usgs
from briefing.sources.bodies import plausible_limits
from briefing.sources.daily_air import daily_air
from briefing.sources.http import Fetcher, Reply, ServiceError, Source
from briefing.sources.intervals import Bools, full_hour
from briefing.sources.result import ParsedHours, with_effective_gust, without_empty_gusts
from briefing.sources.tables import age, ahead, gust_rule, stale_table

T = TypeVar("T")

_WORKERS = 4
_MOST_POINTS = 8
_PAST_HOURS, _AHEAD_HOURS = 24 * open_meteo.PAST_DAYS, 24 * 8
_ORDER = ("nws_grid", "nws_text", "open_meteo")
_ARCHIVE_BEFORE = timedelta(days=5)  # the forecast's own past days cover the newest ones
#: Daily values of a gauge are asked for so many days back.
WATER_DAYS = 30
#: Letters kept of a body's digest, and bodies remembered of a source: front caches may hold several.
_DIGEST, _SEEN_KEPT = 24, 24
_MIXED_NOTE = "gust raised to the sustained wind of another source"


@dataclass(frozen=True)
class Stations:
    """Stations of the profile: USGS sites (``05287890``, ``USGS-05287890``), airports (``KALB``), buoys (``45002``)."""

    usgs: tuple[str, ...] = ()
    airports: tuple[str, ...] = ()
    buoys: tuple[str, ...] = ()


@dataclass(frozen=True)
class GatherRequest:
    """What to ask for. Degrees north and east; ``now`` is an aware instant.

    alert_points: (latitude, longitude) of the lake's far ends, asked unrounded beside the position itself.
    time_zone: IANA name; the days of ``air`` are local days. history_start: first local day of ``air``.
    memory: what the last run returned as ``Gathered.memory``. elevation_m: the lake's height, when known.
    """

    latitude: float
    longitude: float
    now: datetime
    time_zone: str
    history_start: date
    alert_points: tuple[tuple[float, float], ...] = ()
    stations: Stations = Stations()
    memory: SourceMemory = field(default_factory=SourceMemory)
    elevation_m: float | None = None

    @property
    def place(self) -> tuple[float, float]:
        """Latitude and longitude of the lake in degrees."""
        return self.latitude, self.longitude


@dataclass(frozen=True)
class _Part:
    """What one source gave: any of it may be empty."""

    raw: Mapping[str, HourSeries] = field(default_factory=dict)
    past: tuple[HourSeries, ...] = ()
    winds: tuple[WindReading, ...] = ()
    water: tuple[WaterReading, ...] = ()
    level: tuple[LevelReading, ...] = ()
    problems: tuple[Problem, ...] = ()
    credits: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    seen: SeenBody | None = None


def gather(request: GatherRequest, fetcher: Fetcher) -> Gathered:
    """Ask all services (at most four at a time) and merge what they gave; never raises for a service.

    Warnings are asked for at the position, at every alert point and for the zones of the position. Where the US
    service does not cover the place, its parts are left out and ``thunder_service_exists`` is false.
    """
    fetcher.restart_stage()
    memory, problems = gather_nws.find_links(fetcher, request.place, request.memory, request.now)
    covered = memory.no_nws_at is None
    with ThreadPoolExecutor(_WORKERS) as pool:
        grid = pool.submit(
            _alone, lambda: gather_nws.forecast(fetcher, memory, request.place, request.now), _no_forecast
        )
        feeds = (
            [pool.submit(_alone, ask, nws_alerts.failed_feed) for ask in _alert_asks(request, memory, fetcher)]
            if covered
            else []
        )
        parts = [pool.submit(_alone, ask, _no_part) for ask in _part_asks(request, memory, fetcher)]
        forecast = grid.result()
        feed = nws_alerts.merge_feeds([one.result() for one in feeds]) if covered else nws_alerts.no_service_feed()
        rest = [one.result() for one in parts]
    if forecast.moved:
        memory, forecast = _moved(request, memory, fetcher, forecast)
    if forecast.issued is not None:
        memory = replace(memory, grid_issued=forecast.issued)
    memory = replace(memory, seen=_remembered(memory.seen, [part.seen for part in rest if part.seen is not None]))
    problems += _clock_problem(fetcher)
    if covered:
        credit = (nws.CREDIT,) if forecast.raw or feed.checked_at is not None else ()
        problems += _alert_problem(feed)
        rest.insert(0, _Part(raw=forecast.raw, problems=forecast.problems, notes=forecast.notes, credits=credit))
    return _gathered(request, fetcher, memory, feed, rest, problems, covered)


def _alone(ask: Callable[[], T], failed: Callable[[str], T]) -> T:
    """Run one source; whatever goes wrong in it costs that source alone, because the briefing must come out."""
    try:
        return ask()
    except ServiceError as error:
        return failed(str(error))
    except Exception as error:  # a body that no parser foresaw: said in the briefing, never a lost morning
        return failed(f"An answer could not be read ({type(error).__name__}).")


def _no_forecast(said: str) -> gather_nws.Forecast:
    return gather_nws.Forecast({}, (Problem("nws_grid", said, gather_nws.NO_WIND, serious=True),))


def _no_part(said: str) -> _Part:
    return _Part(problems=(Problem("services", said, "What this source would give is missing."),))


def _alert_asks(request: GatherRequest, memory: SourceMemory, fetcher: Fetcher) -> list[Callable[[], AlertFeed]]:
    points = list(dict.fromkeys([request.place, *request.alert_points]))[:_MOST_POINTS]
    asks = [_bound(gather_nws.alerts_at, fetcher, point) for point in points]
    if memory.alert_zones:
        asks.append(_bound(gather_nws.alerts_of_zones, fetcher, memory.alert_zones))
    return asks


def _bound(call: Callable[..., AlertFeed], *arguments: object) -> Callable[[], AlertFeed]:
    return lambda: call(*arguments)


def _part_asks(request: GatherRequest, memory: SourceMemory, fetcher: Fetcher) -> list[Callable[[], _Part]]:
    asks: list[Callable[[], _Part]] = [lambda: _wind_now(request, memory, fetcher)]
    if fetcher.urls.open_meteo:
        asks.insert(0, lambda: _open_meteo(request, memory, fetcher))
    if request.stations.usgs:
        asks.append(lambda: _usgs(request, fetcher))
    if request.stations.buoys:
        asks.append(lambda: _buoys(request, fetcher))
    return asks


def _moved(
    request: GatherRequest, memory: SourceMemory, fetcher: Fetcher, failed: gather_nws.Forecast
) -> tuple[SourceMemory, gather_nws.Forecast]:
    """Ask for the position again, once, when the remembered grid is not there any more."""
    fresh, _ = gather_nws.ask_links(fetcher, request.place, replace(memory, points_at=None), request.now)
    if fresh.grid_path in ("", memory.grid_path):
        return fresh if fresh.grid_path else memory, failed
    again = _alone(lambda: gather_nws.forecast(fetcher, fresh, request.place, request.now), _no_forecast)
    return fresh, again


def _clock_problem(fetcher: Fetcher) -> tuple[Problem, ...]:
    """A clock that is off makes every time in a briefing wrong, and old data look fresh."""
    said = fetcher.clocks.sentence()
    if not said:
        return ()
    meaning = "Times, and how old the data are, may be wrong by as much: set the clock before you rely on them."
    return (Problem("clock", said, meaning, serious=True),)


def _alert_problem(feed: AlertFeed) -> tuple[Problem, ...]:
    if feed.readable:
        return ()
    said = f"NWS warnings: {feed.problem or f'{feed.damaged} of the messages could not be read in full.'}"
    return (Problem("nws_alerts", said, "Whether a warning is in force is not known.", serious=True),)


def _open_meteo(request: GatherRequest, memory: SourceMemory, fetcher: Fetcher) -> _Part:
    """Past days and forecast, then the season before them; one request at a time, as the service asks."""
    source, problems, past = fetcher.source("Open-Meteo"), [], []
    raw: dict[str, HourSeries] = {}
    notes: list[str] = []
    seen: SeenBody | None = None
    meaning = "Where the other forecast has no value either, hours count as unknown."
    try:
        reply = open_meteo.retrieve_forecast(source, request.latitude, request.longitude)
        came_first, seen = first_seen(memory.seen, "open_meteo", reply)
        made_by, days = min(reply.made_by, came_first), (open_meteo.PAST_DAYS, open_meteo.FORECAST_DAYS)
        parsed = _read_model(reply, request, made_by, days)
        old = gather_nws.too_old("Open-Meteo", parsed.issued, None, request.now)
        if old:
            parsed = ParsedHours(None, parsed.issued, (old,))
        lost = parsed.series is None
        problems += [Problem("open_meteo", said, meaning, serious=lost) for said in parsed.problems]
        problems += gather_nws.aging("open_meteo", "Open-Meteo", None if lost else parsed.issued, request.now)
        problems += gather_nws.doubted("open_meteo", parsed)
        height = open_meteo.height_problem(reply.body, request.elevation_m)
        problems += [Problem("open_meteo", height, "The lake's own readings count for more.")] if height else []
        notes += parsed.notes
        if parsed.series is not None:
            raw["open_meteo"] = parsed.series
            past.append(parsed.series)
    except ServiceError as error:
        problems.append(Problem("open_meteo", str(error), meaning, serious=True))
    archive, said = _archive(request, fetcher)
    past += archive
    problems += said
    credits = (open_meteo.CREDIT,) if past else ()
    return _Part(raw, tuple(past), problems=tuple(problems), credits=credits, notes=tuple(notes), seen=seen)


def first_seen(known: Sequence[SeenBody], source: str, reply: Reply) -> tuple[datetime, SeenBody]:
    """Return when the hours of a body first came, by what is remembered, and what to remember of them."""
    digest = hashlib.sha256(open_meteo.hours_of(reply.body)).hexdigest()[:_DIGEST]
    times = [one.first_at for one in known if (one.source, one.digest) == (source, digest)]
    first = min([reply.retrieved_at, *times])
    return first, SeenBody(source, digest, first)


def _remembered(known: Sequence[SeenBody], new: Sequence[SeenBody]) -> tuple[SeenBody, ...]:
    """The newest bodies of each source, so that copies served in turns are all known again."""
    fresh = {(one.source, one.digest) for one in new}
    every = [*(one for one in known if (one.source, one.digest) not in fresh), *new]
    sources = dict.fromkeys(one.source for one in every)
    return tuple(one for name in sources for one in [one for one in every if one.source == name][-_SEEN_KEPT:])


def _read_model(
    reply: Reply, request: GatherRequest, made_by: datetime | None = None, days: tuple[int, int] | None = None
) -> ParsedHours:
    return open_meteo.parse_hours(
        reply.body,
        reply.retrieved_at,
        request.place,
        age("assumed_issue_age"),
        plausible_limits(),
        made_by=made_by,
        days=days,
    )


def archive_span(request: GatherRequest) -> tuple[date, date]:
    """First and last UTC day that the archive is asked for; the first may be after the last: then nothing is."""
    # A local day may begin on the UTC day before.
    return request.history_start - timedelta(days=1), (request.now - _ARCHIVE_BEFORE).date()


def _archive(request: GatherRequest, fetcher: Fetcher) -> tuple[list[HourSeries], list[Problem]]:
    first, last = archive_span(request)
    if first > last:
        return [], []
    meaning = "Days without air temperature are filled with what is usual for the season."
    try:
        source = fetcher.source("Open-Meteo archive")
        reply = open_meteo.retrieve_archive(source, request.latitude, request.longitude, first, last, age("archive"))
    except ServiceError as error:
        return [], [Problem("open_meteo_archive", str(error), meaning)]
    parsed = _read_model(reply, request)
    said = [one.replace("Open-Meteo:", "Open-Meteo archive:") for one in parsed.problems]
    problems = [Problem("open_meteo_archive", one, meaning) for one in said]
    return [] if parsed.series is None else [parsed.series], problems


def _wind_now(request: GatherRequest, memory: SourceMemory, fetcher: Fetcher) -> _Part:
    found = gather_nws.wind_now(fetcher, memory, request.stations.airports, request.place, request.now)
    problems = _observation_problems("wind_now", found.problems, found.serious)
    credit = (metar.CREDIT,) if any(wind.source == "metar" for wind in found.readings) else ()
    return _Part(winds=found.readings, problems=problems, credits=credit)


def _observation_problems(source: str, said: Sequence[str], serious: Sequence[str]) -> tuple[Problem, ...]:
    meaning = "Another station is used where there is one; look at the water yourself."
    return tuple(Problem(source, one, meaning, serious=one in serious) for one in dict.fromkeys(said))


def _usgs(request: GatherRequest, fetcher: Fetcher) -> _Part:
    meaning = "Water temperature and level rest on your readings and the estimate."
    try:
        values, sensors, sites, said = _water_values(request, fetcher)
    except ServiceError as error:
        return _Part(problems=(Problem("usgs", str(error), meaning),))
    oldest = request.now - age("water_history")
    late = [value for value in values if _lies_ahead(value, request)]
    values = [value for value in values if not _lies_ahead(value, request)]
    parsed = usgs.readings_of(values, sensors, oldest, plausible_limits(), sites)
    said += _late_said(late)
    silent = _silent(parsed.water, request.now)
    if not values:
        said = (*said, "USGS: the gauges have no water temperature or level.")
    # limits are cut by how cold the water is, so what is said of its temperature stands at the top
    problems = tuple(
        Problem("usgs", one, meaning, serious=one in silent or "temperature" in one)
        for one in (*said, *silent, *parsed.problems)
    )
    credits = (usgs.CREDIT,) if parsed.water or parsed.level else ()
    return _Part(water=parsed.water, level=parsed.level, problems=problems, credits=credits, notes=parsed.notes)


def _lies_ahead(value: usgs.Value, request: GatherRequest) -> bool:
    """Tell whether a gauge's value is of a time that has not been yet: for a day's value, of a day after the lake's."""
    if not value.day_only:
        return ahead(value.time, request.now)
    zone = ZoneInfo(request.time_zone)
    return value.time.astimezone(zone).date() > request.now.astimezone(zone).date()


def _late_said(late: Sequence[usgs.Value]) -> tuple[str, ...]:
    warm = " (water temperature among them)" if any(one.parameter == usgs.TEMPERATURE for one in late) else ""
    return (f"USGS: {len(late)} values{warm} are dated ahead of now and were skipped.",) if late else ()


def _silent(water: Sequence[WaterReading], now: datetime) -> tuple[str, ...]:
    """Say of gauges that have been silent so long that today's estimate does not rest on them."""
    newest: dict[str, datetime] = {}
    for reading in water:
        name = reading.witness[1]
        newest[name] = max(reading.time, newest.get(name, reading.time))
    return tuple(
        f"{name}: its newest water temperature is of {at:%Y-%m-%d}, too old to count today."
        for name, at in newest.items()
        if now - at > age("gauge_estimate")
    )


_Water = tuple[list[usgs.Value], dict[str, str], dict[str, usgs.Site], tuple[str, ...]]


def _water_values(request: GatherRequest, fetcher: Fetcher) -> _Water:
    """Values of the gauges, what is said of their sensors, where they stand, and problems."""
    source, sites, limits = fetcher.source("USGS water data"), request.stations.usgs, plausible_limits()
    zone = ZoneInfo(request.time_zone)
    if fetcher.urls.usgs_legacy:
        body = usgs.retrieve_legacy(source, sites).body
        old, sensors, said = usgs.parse_legacy(body, zone, limits)
        return list(old), sensors, usgs.parse_legacy_sites(body), said
    pages = [*usgs.retrieve_latest(source, sites), *usgs.retrieve_daily(source, sites, WATER_DAYS, age("archive"))]
    values: list[usgs.Value] = []
    problems: tuple[str, ...] = ()
    for page in pages:
        found, wrong = usgs.parse_values(page.body, zone, limits)
        values += found
        problems += wrong
    sensors = {}
    if usgs.needs_sensors(values):
        for page in usgs.retrieve_sensors(source, sites, age("sensor_depths")):
            sensors |= usgs.parse_sensors(page.body)
    stand, unsaid = _sites(fetcher.source("USGS sites"), sites)
    return values, sensors, stand, problems + unsaid


def _sites(source: Source, sites: Sequence[str]) -> tuple[dict[str, usgs.Site], tuple[str, ...]]:
    """Where gauges stand; of one that can't be placed that is said, and its readings are kept as such."""
    found: dict[str, usgs.Site] = {}
    failed: list[str] = []
    for site in sites:
        try:
            found |= usgs.parse_sites(usgs.retrieve_site(source, site, age("gauge_sites")).body)
        except ServiceError as error:
            failed.append(str(error))
    lost = [site for site in sites if usgs.site_id(site) not in found]
    why = f" ({failed[0].rstrip('.')})" if failed else ""
    return found, tuple(f"USGS {site}: whether it stands in a lake or a stream is not known{why}." for site in lost)


def _buoys(request: GatherRequest, fetcher: Fetcher) -> _Part:
    winds: list[WindReading] = []
    water: list[WaterReading] = []
    problems: list[Problem] = []
    for buoy in request.stations.buoys:
        meaning = "Wind and water temperature of the buoy are missing."
        try:
            reply = ndbc.retrieve_buoy(fetcher.source("Buoy"), buoy)
        except ServiceError as error:
            said = f"Buoy {buoy}: not there (404), perhaps out for the season." if error.status == 404 else str(error)
            problems.append(Problem("ndbc", said, meaning, serious=error.status != 404))
            continue
        parsed = ndbc.parse_buoy(reply.body, buoy, plausible_limits(), request.now)
        winds += parsed.winds
        if parsed.water is not None and request.now - parsed.water.time <= age("water_history"):
            water.append(parsed.water)
        if parsed.last is not None and is_stale("gauge", parsed.last, request.now, stale_table()):
            said = f"Buoy {buoy}: its last row is of {parsed.last:%Y-%m-%d %H:%M} UTC, perhaps out for the season."
            problems.append(Problem("ndbc", said, meaning))
            problems += _observation_problems("ndbc", parsed.serious, parsed.serious)
        else:
            problems += _observation_problems("ndbc", parsed.problems, parsed.serious)
    credits = (ndbc.CREDIT,) if winds or water else ()
    return _Part(winds=tuple(winds), water=tuple(water), problems=tuple(problems), credits=credits)


def merge_hours(raw: Mapping[str, HourSeries], now: datetime) -> HourSeries:
    """Merge sources hour by hour and field by field: fresh issues first, then in the order grid, text, model.

    An hour that a better source sent damaged is not filled from another: nobody knows what it said.
    """
    begin = full_hour(now) - timedelta(hours=_PAST_HOURS)
    merged = HourSeries(begin, _PAST_HOURS + _AHEAD_HOURS)
    ordered = [raw[name] for name in sorted(raw, key=lambda name: (_is_old(raw[name], now), _ORDER.index(name)))]
    others = [name for name in FIELDS if name != "gust_mps"]
    for series in ordered:
        merged = merged.filled_from(series, others)
    wind = merged.values("wind_mps")
    refused = np.zeros(merged.hours, bool)
    blows = wind > gust_rule().wind_mps
    for series in ordered:  # a zero beside another source's wind must not keep that source's gust out
        gusts = series.window(merged.start, merged.start + timedelta(hours=merged.hours))
        of_another = (gusts.values("wind_mps") != wind) & blows
        filling = _not_below(without_empty_gusts(gusts, wind), refused | of_another, wind)
        merged = merged.filled_from(filling, ("gust_mps",))
        refused |= np.isfinite(gusts.values("gust_mps")) & np.isnan(filling.values("gust_mps"))
    return with_effective_gust(merged, _MIXED_NOTE)


def _not_below(gusts: HourSeries, hours: Bools, wind_mps: Floats) -> HourSeries:
    """Leave out, in some hours, gusts below the wind: they stand for no gust of a wind that another source gave."""
    field_ = gusts["gust_mps"]
    with np.errstate(invalid="ignore"):
        low = hours & (field_.values < wind_mps)
    index = np.where(low, -1, field_.origin_index).astype(np.int16)
    kept = replace(field_, values=np.where(low, np.nan, field_.values), origin_index=index)
    return replace(gusts, fields={**gusts.fields, "gust_mps": kept})


#: Fields that a level rests on, as the reader calls them: told where one forecast lacks them and another stands in.
_TOLD = {
    "wind_mps": "wind",
    "gust_mps": "gusts",
    "wind_from_deg": "wind direction",
    "air_c": "air temperature",
    "visibility_m": "visibility",
}
#: Fields whose gaps are told in words of their own, or that the official grid never has.
_APART = frozenset({"thunder_pct", "lightning_level", "thunder_words_pct", "weather_code", "cape_jkg"})
_SOON = timedelta(hours=24)


def _gaps(raw: Mapping[str, HourSeries], merged: HourSeries, now: datetime) -> tuple[Problem, ...]:
    """What the official forecast leaves out of the next 24 hours, where another or its weather words stand in.

    The text forecast names neither gusts nor visibility, which is told apart. A layer that it has for some of these
    hours only is told whatever it is, and whether anything stands in or not.
    """
    source, begin = next((name for name in ("nws_grid", "nws_text") if name in raw), ""), full_hour(now)
    if not source:
        return ()
    apart = (*_APART, "gust_mps", "visibility_m") if source == "nws_text" else _APART
    own, whole = raw[source].window(begin, begin + _SOON), merged.window(begin, begin + _SOON)
    told = []
    for name in FIELDS:
        missing = np.isnan(own.values(name)) & ~own[name].damaged
        gap = missing if missing.any() and not missing.all() else missing & np.isfinite(whole.values(name))
        if name not in apart and gap.any() and (name in _TOLD or not gap.all()):
            told.append(f"no {_TOLD.get(name, name.partition('_')[0])} for {_of_day(gap)}")
    out = []
    if told:
        said = f"The official forecast has {' and '.join(told)}."
        out.append(Problem(source, said, "Another forecast stands in, or it is not known.", serious=True))
    pct, level, words = (own.values(name) for name in ("thunder_pct", "lightning_level", "thunder_words_pct"))
    silent = np.isnan(pct) & ~(level > 1.0) & (words == 0.0)
    if source == "nws_grid" and silent.any():
        said = f"How likely thunder is, is not given for {_of_day(silent)}."
        out.append(Problem("nws_grid", said, "It rests on weather words alone: watch the sky.", serious=True))
    return tuple(out)


def _of_day(hours: Bools) -> str:
    count = int(hours.sum())
    return "the next 24 hours" if count == hours.size else f"{count} of the next 24 hours"


def _is_old(series: HourSeries, now: datetime) -> bool:
    origins = [origin for value in series.fields.values() for origin in value.origins]
    return not origins or is_stale("forecast", origins[0].issued, now, stale_table())


def _gathered(
    request: GatherRequest,
    fetcher: Fetcher,
    memory: SourceMemory,
    feed: AlertFeed,
    parts: Sequence[_Part],
    problems: tuple[Problem, ...],
    covered: bool,
) -> Gathered:
    raw = {name: series for part in parts for name, series in part.raw.items()}
    hours = merge_hours(raw, request.now)
    past = tuple(series for part in parts for series in part.past)
    winds = [wind for part in parts for wind in part.winds]
    winds.sort(key=lambda wind: (wind.distance_km is None, wind.distance_km or 0.0, wind.name))
    water = [reading for part in parts for reading in part.water]
    return Gathered(
        hours=hours,
        raw=raw,
        air=daily_air(past, hours, request.history_start, request.now, ZoneInfo(request.time_zone)),
        alerts=feed,
        wind_now=tuple(winds),
        water=tuple(sorted(water, key=lambda reading: (reading.time, reading.id))),
        level=tuple(sorted((one for part in parts for one in part.level), key=lambda one: (one.name, one.time))),
        problems=problems
        + tuple(problem for part in parts for problem in part.problems)
        + _gaps(raw, hours, request.now),
        credits=tuple(dict.fromkeys(word for part in parts for word in part.credits)),
        requests=fetcher.requests,
        retrieved_at=request.now,
        thunder_service_exists=covered,
        memory=memory,
        notes=tuple(note for part in parts for note in part.notes) + feed.dropped + fetcher.notes,
    )
