"""The parts of a gathering that ask the US National Weather Service."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from briefing.core.alerts import AlertFeed
from briefing.core.freshness import is_stale
from briefing.core.gathered import Problem, SourceMemory
from briefing.core.hours import HourSeries
from briefing.sources import metar, nws, nws_alerts, nws_observations, nws_text
from briefing.sources.bodies import plausible_limits
from briefing.sources.http import Ask, Fetcher, Reply, ServiceError, Source, labelled
from briefing.sources.observed import ParsedWind
from briefing.sources.placed import Asked, misplaced
from briefing.sources.result import ParsedHours, issued_no_later
from briefing.sources.tables import age, ahead, held_back, stale_table

NO_WIND = "The forecast of another source is used where there is one; hours without wind count as unknown."
NO_GUST = "Expect gusts well above the wind; where none is known they are estimated and draw a caution."
_NO_HEAT = "Go by what you feel in those hours: shade, water, and off the water before noon when it is hot."
_STATIONS = 3


@dataclass(frozen=True)
class Forecast:
    """Hours by source id, and what is to be said of them."""

    raw: dict[str, HourSeries]
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()
    issued: datetime | None = None
    moved: bool = False  # the remembered grid is not there any more, or of another place: ask for the position again


def find_links(
    fetcher: Fetcher, place: tuple[float, float], memory: SourceMemory, now: datetime
) -> tuple[SourceMemory, tuple[Problem, ...]]:
    """Bring the memory up to date on which grid and zones hold the place, or that the service does not cover it."""
    memory = healed(memory, now)
    if memory.no_nws_at is not None and now - memory.no_nws_at <= age("no_service"):
        return memory, ()
    known = bool(memory.grid_path) and not _unlinked(memory)
    if known and memory.points_at is not None and now - memory.points_at <= age("points"):
        return memory, ()
    memory, problems = ask_links(fetcher, place, memory, now)
    return memory, problems + _unlinked(memory)


def _unlinked(memory: SourceMemory) -> tuple[Problem, ...]:
    """What can't be asked for at a place, since the service did not say where; nothing where there is no grid."""
    if not memory.grid_path:
        return ()
    out = []
    if not memory.stations_path:
        said = "NWS position: it names no stations near the lake; none is asked for measured wind."
        meaning = "Wind now comes from the stations you named, where there are any; look at the water yourself."
        out.append(Problem("nws_points", said, meaning, serious=True))
    if not nws.names_zones(memory.alert_zones, memory.marine):
        said = (
            "NWS position: it names no forecast zone or no county of the lake; warnings are asked for by points alone."
        )
        meaning = "A warning that names its zones alone may be missing: look at the official list."
        out.append(Problem("nws_points", said, meaning, serious=True))
    return tuple(out)


def healed(memory: SourceMemory, now: datetime) -> SourceMemory:
    """Drop what is remembered as of a time ahead of now: it was wrong, and would refuse all that is right."""

    def past(at: datetime | None) -> datetime | None:
        return None if ahead(at, now) else at

    return replace(
        memory,
        points_at=past(memory.points_at),
        no_nws_at=past(memory.no_nws_at),
        grid_issued=past(memory.grid_issued),
        seen=tuple(one for one in memory.seen if not ahead(one.first_at, now)),
    )


def ask_links(
    fetcher: Fetcher, place: tuple[float, float], memory: SourceMemory, now: datetime
) -> tuple[SourceMemory, tuple[Problem, ...]]:
    """Ask the service itself where a place belongs; a failure leaves what was known before.

    So does what an answer leaves out, and the service is asked again the next time.
    """
    try:
        reply = nws.retrieve_points(fetcher.source("NWS position"), place[0], place[1], age("points"))
        links = nws.parse_points(reply.body)
    except ServiceError as error:
        if error.problem == "InvalidPoint":
            return SourceMemory(no_nws_at=now, seen=memory.seen), ()
        if memory.grid_path:
            return memory, ()
        return memory, (Problem("nws_points", str(error), NO_WIND, serious=True),)
    if links is None:
        said = "NWS position: it names no forecast grid for the lake."
        return memory, (Problem("nws_points", said, NO_WIND, serious=True),)
    same = links.grid_path == memory.grid_path
    zones = links.alert_zones
    if not nws.names_zones(zones, links.marine):
        zones = tuple(dict.fromkeys((*zones, *memory.alert_zones)))
    return (
        SourceMemory(
            grid_path=links.grid_path,
            hourly_path=links.hourly_path or (memory.hourly_path if same else ""),
            stations_path=links.stations_path or memory.stations_path,
            alert_zones=zones,
            marine=links.marine,
            points_at=now if links.whole else None,
            grid_issued=memory.grid_issued if same else None,
            seen=memory.seen,
        ),
        (),
    )


def forecast(fetcher: Fetcher, memory: SourceMemory, place: tuple[float, float], now: datetime) -> Forecast:
    """Get the raw grid, and the hourly text where the grid fails or leaves wind unknown."""
    if not memory.grid_path:
        return Forecast({})
    grid = _grid(fetcher, memory, Asked(memory.grid_path, place, now))
    if not memory.hourly_path or memory.marine or _wind_is_there(grid.raw.get("nws_grid"), now):
        return grid
    words = _text(fetcher, memory, Asked(memory.hourly_path, place, now))
    return replace(
        grid, raw={**grid.raw, **words.raw}, problems=grid.problems + words.problems, notes=grid.notes + words.notes
    )


def _wind_is_there(series: HourSeries | None, now: datetime) -> bool:
    """Tell whether a grid has wind, sound or damaged, for each of the next 24 hours."""
    if series is None:
        return False
    wind = series.window(now, now + timedelta(hours=24), ("wind_mps",))["wind_mps"]
    return bool((np.isfinite(wind.values) | wind.damaged).all())


def _grid(fetcher: Fetcher, memory: SourceMemory, asked: Asked) -> Forecast:
    source, now = fetcher.source("NWS grid"), asked.now
    try:
        reply = nws.retrieve_grid(source, asked, memory.grid_issued, age("refuse_forecast"))
    except ServiceError as error:
        kept = _stand_in(source, asked.path, now)
        if kept is None:
            problem = Problem("nws_grid", str(error), NO_WIND, serious=True)
            return Forecast({}, (problem,), moved=error.status == 404)
        reply = kept
    wrong = misplaced(reply.body, asked)
    if wrong:  # the lake may have been moved since its position was asked for
        return Forecast({}, (Problem("nws_grid", f"NWS grid: {wrong}.", NO_WIND, serious=True),), moved=True)
    parsed = nws.parse_grid(reply.body, reply.retrieved_at, plausible_limits(), reply.note, reply.held_since)
    refused = too_old("NWS grid", parsed.issued, memory.grid_issued, now)
    if parsed.series is None or refused:
        said = [refused] if refused else list(parsed.problems)
        return Forecast({}, tuple(Problem("nws_grid", one, NO_WIND, serious=True) for one in said), parsed.notes)
    problems = aging("nws_grid", "NWS grid", parsed.issued, now)
    problems += doubted("nws_grid", parsed)
    if reply.note:
        problems += (
            Problem(
                "nws_grid", f"NWS grid: {reply.note}.", "The hours come from the stored copy with its own issue time."
            ),
        )
    return Forecast({"nws_grid": parsed.series}, problems, parsed.notes, parsed.issued)


def _stand_in(source: Source, path: str, now: datetime) -> Reply | None:
    """Return the stored grid while it is young enough to stand in for a service that fails."""
    kept = source.stored(Ask(source.fetcher.urls.nws + path))
    if kept is None or not now - kept.retrieved_at <= age("stored_forecast"):
        return None
    return labelled(kept, f"the service failed; stored copy of {kept.retrieved_at:%H:%M} UTC used")


def _text(fetcher: Fetcher, memory: SourceMemory, asked: Asked) -> Forecast:
    now = asked.now
    try:
        reply = nws_text.retrieve_hourly(fetcher.source("NWS text forecast"), asked.path)
    except ServiceError as error:
        return Forecast({}, (Problem("nws_text", str(error), NO_WIND, serious=True),))
    wrong = misplaced(reply.body, asked)
    if wrong:
        return Forecast({}, (Problem("nws_text", f"NWS text forecast: {wrong}.", NO_WIND, serious=True),))
    parsed = nws_text.parse_hourly(reply.body, reply.retrieved_at, plausible_limits())
    issued = held_back(parsed.issued, reply.held_since, now)
    refused = too_old("NWS text forecast", issued, memory.grid_issued, now)
    if parsed.series is None or refused:
        said = [refused] if refused else list(parsed.problems)
        return Forecast({}, tuple(Problem("nws_text", one, NO_WIND, serious=True) for one in said), parsed.notes)
    series = parsed.series if issued is None else issued_no_later(parsed.series, issued)
    gusts = Problem(
        "nws_text", "NWS text forecast: it names no gusts.", "Gusts are estimated or come from another source."
    )
    problems = (gusts, *doubted("nws_text", parsed), *aging("nws_text", "NWS text forecast", issued, now))
    return Forecast({"nws_text": series}, problems, parsed.notes)


def doubted(source: str, parsed: ParsedHours) -> tuple[Problem, ...]:
    """What of a used forecast contradicts itself, so that gusts count as not given or heat is in doubt."""
    gusts = tuple(Problem(source, one, NO_GUST, serious=True) for one in parsed.doubts)
    return gusts + tuple(Problem(source, one, _NO_HEAT, serious=True) for one in parsed.heat_doubts)


def too_old(name: str, issued: datetime | None, newest_used: datetime | None, now: datetime) -> str:
    """Say why an issue is not used: too long ago, older than one already used, or from the future. "" when it is."""
    if issued is None:
        return ""
    if ahead(issued, now):
        return f"{name}: its issue time lies {_span(issued - now)} ahead of now, not used."
    if now - issued > age("refuse_forecast"):
        return f"{name}: {(now - issued).total_seconds() / 3600:.0f} h old, not used."
    if newest_used is not None and issued < newest_used:
        return f"{name}: an older issue than the one used before, not used."
    return ""


def _span(length: timedelta) -> str:
    minutes = length.total_seconds() / 60
    return f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.0f} h"


def aging(source: str, name: str, issued: datetime | None, now: datetime) -> tuple[Problem, ...]:
    """Say that a forecast is used although it is past its age; empty while it is not."""
    if issued is None or not is_stale("forecast", issued, now, stale_table()):
        return ()
    hours = (now - issued).total_seconds() / 3600
    return (
        Problem(
            source, f"{name}: {hours:.0f} h old.", "Its hours count as unknown where nothing newer is known.", True
        ),
    )


def alerts_at(fetcher: Fetcher, point: tuple[float, float]) -> AlertFeed:
    """Ask for warnings at one point; a failure becomes a feed that says so."""
    try:
        reply = nws_alerts.retrieve_at_point(fetcher.source("NWS warnings"), point[0], point[1])
    except ServiceError as error:
        return nws_alerts.failed_feed(str(error))
    return nws_alerts.listed_at_point(nws_alerts.parse_alerts(reply.body, nws_alerts.checked_time(reply)))


def alerts_of_zones(fetcher: Fetcher, zones: tuple[str, ...]) -> AlertFeed:
    """Ask for warnings of the lake's zones; a failure becomes a feed that says so."""
    try:
        reply = nws_alerts.retrieve_in_zones(fetcher.source("NWS warnings"), zones)
    except ServiceError as error:
        return nws_alerts.failed_feed(str(error))
    return nws_alerts.parse_alerts(reply.body, nws_alerts.checked_time(reply))


def wind_now(
    fetcher: Fetcher, memory: SourceMemory, airports: tuple[str, ...], place: tuple[float, float], now: datetime
) -> ParsedWind:
    """Get what the nearest stations measured in the last hour, and airport reports where they give no wind."""
    stations, parts = list(airports), []
    covered = bool(memory.grid_path)
    if memory.stations_path:
        try:
            source = fetcher.source("NWS stations")
            reply = nws_observations.retrieve_stations(source, memory.stations_path, age("stations"))
            stations += nws_observations.parse_stations(reply.body)
            unread = nws_observations.stations_problem(reply.body)
            parts += [_lost(unread)] if unread else []
        except ServiceError as error:
            parts.append(_lost(str(error)))
    stations = list(dict.fromkeys(stations))[: max(_STATIONS, len(airports))]
    parts += [_station(fetcher, station, place, now) for station in stations if covered]
    asked = tuple(name for name in stations if len(name) == 4 and name.isalpha())
    if not _have_wind(parts) and asked:
        parts.append(_airports(fetcher, asked, place, now))
    if not _have_wind(parts) and (asked or covered):
        parts.append(_lost("Wind now is not known: the stations near the lake gave no current one."))
    return ParsedWind(
        tuple(reading for part in parts for reading in part.readings),
        tuple(said for part in parts for said in part.problems),
        tuple(said for part in parts for said in part.serious),
    )


def _lost(said: str) -> ParsedWind:
    return ParsedWind((), (said,), (said,))


def _have_wind(parts: list[ParsedWind]) -> bool:
    return any(reading.wind_mps is not None for part in parts for reading in part.readings)


def _station(fetcher: Fetcher, station: str, place: tuple[float, float], now: datetime) -> ParsedWind:
    try:
        reply = nws_observations.retrieve_observation(fetcher.source("NWS observation"), station)
    except ServiceError as error:
        return _lost(f"Wind at station {station} was not read. {error}")
    return nws_observations.parse_observations(reply.body, station, place, plausible_limits(), now)


def _airports(fetcher: Fetcher, airports: tuple[str, ...], place: tuple[float, float], now: datetime) -> ParsedWind:
    try:
        reply = metar.retrieve_reports(fetcher.source("Airport reports"), airports)
    except ServiceError as error:
        return _lost(str(error))
    return metar.parse_reports(reply.body, place, plausible_limits(), now)
