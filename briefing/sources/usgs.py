"""Water temperature and level from gauges of the US Geological Survey: the new service first, the old one by setting.

Values come as strings; sentinels are compared as sent, before any conversion. Of several temperature sensors at one
site the shallowest is taken, by its description, and the choice is said. Where a gauge stands (a lake, a stream, below
a dam) is asked for and goes with its readings. Levels are metres above a zero of their own: only their change counts.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from briefing.core.plausible import Plausible
from briefing.core.readings import LevelReading, WaterReading
from briefing.sources.bodies import NAN, Read, load_json, read_instant, read_number, rows, table, text
from briefing.sources.http import Ask, Reply, ServiceError, Source
from briefing.sources.service_limits import SHARE_HOURLY
from briefing.sources.units_in import conversion
from briefing.sources.urls import BaseUrls, path_of_link

CREDIT = "Water data: U.S. Geological Survey (provisional values are subject to revision)"
TEMPERATURE = "00010"
LEVELS = ("62614", "62615", "00065")  # elevations first: their zero does not move
_WANTED = (TEMPERATURE, *LEVELS)
_KINDS = {TEMPERATURE: "water_c"} | dict.fromkeys(LEVELS, "level_m")
_PAGES = 20
_STATISTICS = frozenset({"00011", "00003", "32400", "00006", ""})  # instant, mean, at 24:00, sum-free forms


@dataclass(frozen=True)
class Value:
    """One value of one sensor; ``value`` is NaN where missing or refused. ``day_only``: a local day, no instant."""

    site: str
    parameter: str
    sensor: str
    time: datetime
    value: float
    damaged: bool
    day_only: bool = False
    provisional: bool = True


@dataclass(frozen=True)
class ParsedWater:
    """Readings of water temperature and level, oldest first, and what was wrong in whole sentences."""

    water: tuple[WaterReading, ...]
    level: tuple[LevelReading, ...]
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Site:
    """Where a gauge stands: kind of its readings (see ``WaterReading``) and words for the reader."""

    kind: str
    words: str


UNPLACED = Site("unplaced_gauge", "where it stands is not known")
_DAM = re.compile(
    r"\btail\s?-?(?:water|race|wtr)|\b(?:below|bel|blw|bl|downstream|d/s|ds|dwnstrm|dnstrm|b/l|outflow)\b"
    r".*\b(?:dam|lock|reservoir|resv?|powerhouse|power\s?plant)\b",
    re.IGNORECASE,
)


def site_of(code: object, name: object) -> Site:
    """Read the service's code of a site's type and its name; a lake by code counts unless its name is below a dam."""
    told = text(code).upper()
    if not told:
        return UNPLACED
    if _DAM.search(text(name)):
        return Site("tailwater", "below a dam")
    if told == "LK":
        return Site("gauge", "lake")
    if told == "ST" or told.startswith("ST-"):
        return Site("river_gauge", "tidal stream" if told == "ST-TS" else "stream")
    return Site("unplaced_gauge", f"neither lake nor stream: site type {told[:8]}")


def site_id(site: str) -> str:
    """Return a site's id as the new service wants it: ``05287890`` -> ``USGS-05287890``."""
    return site if "-" in site else f"USGS-{site}"


def _named(site: str) -> str:
    """A site as readers are told it, "USGS 01999999"."""
    return f"USGS {site.removeprefix('USGS-')}"


def retrieve_latest(source: Source, sites: Sequence[str]) -> tuple[Reply, ...]:
    """Ask for the newest values of all sites together; every page, or an error."""
    return pages(source, latest_ask(source.fetcher.urls, sites))


def retrieve_daily(source: Source, sites: Sequence[str], days: int, keep_for: timedelta) -> tuple[Reply, ...]:
    """Ask for daily values of the last ``days`` days; every page, or an error."""
    return pages(source, daily_ask(source.fetcher.urls, sites, days, keep_for))


def retrieve_sensors(source: Source, sites: Sequence[str], keep_for: timedelta) -> tuple[Reply, ...]:
    """Ask where the sensors of water temperature hang."""
    return pages(source, sensors_ask(source.fetcher.urls, sites, keep_for))


def latest_ask(urls: BaseUrls, sites: Sequence[str]) -> Ask:
    """The request for the newest values."""
    return _ask(urls, "latest-continuous", {"parameter_code": ",".join(_WANTED), **_of(sites)}, None)


def daily_ask(urls: BaseUrls, sites: Sequence[str], days: int, keep_for: timedelta) -> Ask:
    """The request for daily values."""
    params = {"parameter_code": ",".join(_WANTED), **_of(sites), "time": f"P{days}D"}
    return _ask(urls, "daily", params, keep_for)


def sensors_ask(urls: BaseUrls, sites: Sequence[str], keep_for: timedelta) -> Ask:
    """The request for where sensors hang."""
    return _ask(urls, "time-series-metadata", {"parameter_code": TEMPERATURE, **_of(sites)}, keep_for)


def retrieve_site(source: Source, site: str, keep_for: timedelta) -> Reply:
    """Ask where a gauge stands; a stored answer of any age stands in for a service that fails."""
    ask = site_ask(source.fetcher.urls, site, keep_for)
    try:
        return source.get(ask)
    except ServiceError:
        kept = source.stored(ask)
        if kept is None:
            raise
        return kept


def site_ask(urls: BaseUrls, site: str, keep_for: timedelta) -> Ask:
    """The request for what a gauge's site is; the service takes one at a time here."""
    params = {"id": site_id(site), "skipGeometry": "true", "f": "json", "limit": "10"}
    return _ask(urls, "monitoring-locations", params, keep_for)


def parse_sites(body: bytes | str) -> dict[str, Site]:
    """Read where gauges stand, by site id; of a site named twice with two kinds the place is not known."""
    data = table(load_json(body))
    out: dict[str, Site] = {}
    for feature in rows(data.get("features")) if "features" in data else [data]:
        row = table(table(feature).get("properties"))
        site = text(table(feature).get("id")) or text(row.get("id"))
        found = site_of(row.get("site_type_code"), row.get("monitoring_location_name"))
        if site:
            out[site] = found if out.get(site, found) == found else UNPLACED
    return out


def parse_legacy_sites(body: bytes | str) -> dict[str, Site]:
    """Read where gauges stand from a body of the old service, by site id."""
    out: dict[str, Site] = {}
    for one in rows(table(table(load_json(body)).get("value")).get("timeSeries")):
        info = table(table(one).get("sourceInfo"))
        site = text(table((rows(info.get("siteCode")) or [None])[0]).get("value"))
        kinds = [
            table(row).get("value") for row in rows(info.get("siteProperty")) if table(row).get("name") == "siteTypeCd"
        ]
        found = site_of(kinds[0] if kinds else None, info.get("siteName"))
        if site:
            out[site_id(site)] = found if out.get(site_id(site), found) == found else UNPLACED
    return out


def retrieve_legacy(source: Source, sites: Sequence[str]) -> Reply:
    """Ask the old service, where the user set its address; it is being switched off."""
    params = {
        "format": "json",
        "sites": ",".join(site.removeprefix("USGS-") for site in sites),
        "parameterCd": ",".join(_WANTED),
        "period": "P7D",
        "siteStatus": "active",
    }
    return source.get(Ask(f"{source.fetcher.urls.usgs_legacy}/iv/", params))


def _of(sites: Sequence[str]) -> dict[str, str]:
    ids = ",".join(site_id(site) for site in sites)
    return {"monitoring_location_id": ids, "skipGeometry": "true", "f": "json", "limit": "1000"}


def _ask(urls: BaseUrls, collection: str, params: dict[str, str], keep_for: timedelta | None) -> Ask:
    headers = {"X-Api-Key": urls.usgs_key} if urls.usgs_key else {}
    address = f"{urls.usgs}/collections/{collection}/items"
    return Ask(address, params, headers, keep_for=keep_for, share_for=SHARE_HOURLY)


def pages(source: Source, ask: Ask) -> tuple[Reply, ...]:
    """Follow the links to further pages; a page that can't be had fails the whole: part of a list is no list."""
    base = source.fetcher.urls.usgs
    replies = [source.get(ask)]
    while True:
        link = next_page(replies[-1].body)
        if not link:
            return tuple(replies)
        tail = link[link.find("/collections/") :] if "/collections/" in link else ""
        if not tail or len(replies) >= _PAGES:
            raise ServiceError(f"{source.name}: its list goes on where it can't be followed.")
        replies.append(source.get(replace(ask, url=base + tail, params={})))


def next_page(body: bytes | str) -> str:
    """Return path and query of the next page, "" when this is the last."""
    for link in rows(table(load_json(body)).get("links")):
        if table(link).get("rel") == "next":
            return path_of_link(table(link).get("href")) or "?"
    return ""


def parse_values(body: bytes | str, zone: ZoneInfo, limits: Plausible) -> tuple[tuple[Value, ...], tuple[str, ...]]:
    """Read one page of the new service; days are set at noon of ``zone``. Returns values and problems."""
    features = table(load_json(body)).get("features")
    if not isinstance(features, list):
        return (), ("USGS: the answer is no list of values.",)
    out, unread = [], 0
    for feature in features:
        row = table(table(feature).get("properties"))
        if re.fullmatch(r"\d{5}", text(row.get("parameter_code"))) and row["parameter_code"].strip() not in _WANTED:
            continue  # another quantity than asked for
        value = _value(row, zone, limits)
        unread += value is None
        out += [value] if value is not None else []
    return tuple(out), (f"USGS: {unread} values could not be read and were skipped.",) if unread else ()


def _value(row: Mapping[str, Any], zone: ZoneInfo, limits: Plausible) -> Value | None:
    site, parameter = text(row.get("monitoring_location_id")), text(row.get("parameter_code"))
    at, day_only = _when(row.get("time"), zone)
    if not site or parameter not in _WANTED or at is None:
        return None
    if text(row.get("statistic_id")) not in _STATISTICS:
        return Value(site, parameter, "", at, NAN, False, day_only)  # a highest or lowest of the day is no mean
    value, damaged = _converted(row.get("value"), parameter, row.get("unit_of_measure"), limits)
    provisional = text(row.get("approval_status")) != "Approved"
    return Value(site, parameter, text(row.get("time_series_id")), at, value, damaged, day_only, provisional)


_DAY = re.compile(r"(\d{4}-\d\d-\d\d)(?:T00:00:00(?:\.0+)?)?")  # the old service writes midnight without a zone


def _when(value: object, zone: ZoneInfo) -> tuple[datetime | None, bool]:
    """An instant, or noon of a local day where only the date is given (never shifted to another day)."""
    if isinstance(value, str) and (match := _DAY.fullmatch(value.strip())):
        try:
            return datetime.combine(date.fromisoformat(match.group(1)), time(12), tzinfo=zone).astimezone(UTC), True
        except (ValueError, OverflowError):
            return None, True
    return read_instant(value), False


def _converted(value: object, parameter: str, unit: object, limits: Plausible, no_data: float = NAN) -> Read:
    number, damaged = read_number(value)
    if number != number or number == no_data or limits.is_sentinel(number):
        return NAN, damaged
    kind = _KINDS.get(parameter)
    if kind is None:
        return number, damaged  # in the unit as sent: not a quantity that the program uses
    scale = conversion(kind, "degC" if unit == "deg C" else unit)
    if scale is None:
        return NAN, True
    number = number * scale[0] + scale[1]
    return (number, False) if limits.holds(kind, number) else (NAN, True)


def parse_sensors(body: bytes | str) -> dict[str, str]:
    """Read what is said of each sensor's place, by time series id."""
    out = {}
    for feature in rows(table(load_json(body)).get("features")):
        row = table(table(feature).get("properties"))
        name = text(row.get("id")) or text(row.get("time_series_id"))
        out[name] = " ".join(filter(None, (text(row.get("sublocation_identifier")), text(row.get("web_description")))))
    return out


_DEPTH = re.compile(r"(\d+(?:\.\d+)?)\s*-?\s*(meters?|m|feet|foot|ft)\b", re.IGNORECASE)


def sensor_depth_m(description: str) -> float | None:
    """Depth in metres that a description names ("1 Meter Below The Surface"); words for the top and bottom count."""
    match = _DEPTH.search(description)
    if match is not None:
        return float(match.group(1)) * (1.0 if match.group(2).lower().startswith("m") else 0.3048)
    said = description.lower()
    if "bottom" in said:
        return 99.0
    return 0.0 if "surface" in said or re.search(r"\btop\b", said) else None


#: Sensors of one gauge that differ by more than this contradict each other.
_DIFFERING_C = 3.0


def needs_sensors(values: Iterable[Value]) -> bool:
    """Tell whether a site has several sensors of water temperature of one kind, so that their depths matter."""
    found: dict[tuple[str, bool], set[str]] = {}
    for value in values:
        if value.parameter == TEMPERATURE and value.sensor:
            found.setdefault((value.site, value.day_only), set()).add(value.sensor)
    return any(len(sensors) > 1 for sensors in found.values())


def readings_of(
    values: Iterable[Value],
    sensors: Mapping[str, str],
    oldest: datetime,
    limits: Plausible,
    sites: Mapping[str, Site] | None = None,
) -> ParsedWater:
    """Choose sensors and turn values into readings; those before ``oldest`` are left out and said.

    ``sites`` says where gauges stand; of one that it does not name the place is not known.
    """
    by_series: dict[tuple[str, str, bool], dict[str, list[Value]]] = {}
    for value in values:
        series = by_series.setdefault((value.site, value.parameter, value.day_only), {})
        series.setdefault(value.sensor, []).append(value)
    water: list[WaterReading] = []
    levels: dict[tuple[str, str], list[Value]] = {}
    problems: list[str] = []
    notes: list[str] = []
    for site, parameter, day_only in sorted(by_series):
        sensors_found = by_series[site, parameter, day_only]
        found = {name: good for name, rows_ in sensors_found.items() if (good := usable(rows_, notes))}
        if not found:
            problems.append(f"{_named(site)}: no usable {_word(parameter)}.")
        elif parameter == TEMPERATURE:
            name = _shallowest(found, sensors, site, notes, problems)
            stands = (sites or {}).get(site_id(site), UNPLACED)
            water += _water(found[name], sensors.get(name, ""), stands, oldest, problems)
        else:
            levels.setdefault((site, parameter), []).extend(found[min(found)])
    level: list[LevelReading] = []
    for site in sorted({site for site, _ in levels}):
        parameter = next(code for code in LEVELS if (site, code) in levels)
        level += _level(sorted(levels[site, parameter], key=lambda one: one.time), oldest, limits, problems)
    return ParsedWater(tuple(water), tuple(level), tuple(dict.fromkeys(problems)), tuple(notes))


def _word(parameter: str) -> str:
    return "water temperature" if parameter == TEMPERATURE else "water level"


def usable(values: list[Value], notes: list[str]) -> list[Value]:
    """Return known values by time, one an instant; two that differ at one instant are both left out and noted."""
    by_time: dict[datetime, list[Value]] = {}
    for value in values:
        if value.value == value.value:
            by_time.setdefault(value.time, []).append(value)
        elif value.damaged:
            notes.append(f"{_named(value.site)}: a {_word(value.parameter)} can't be true or read and was refused.")
    out = []
    for at in sorted(by_time):
        same = by_time[at]
        if len({value.value for value in same}) > 1:
            notes.append(
                f"{_named(same[0].site)}: two values that differ for {at:%Y-%m-%d %H:%M} UTC, neither is used."
            )
        else:
            out.append(same[-1])
    return out


def _shallowest(
    found: Mapping[str, list[Value]], sensors: Mapping[str, str], site: str, notes: list[str], problems: list[str]
) -> str:
    """The sensor nearest to the surface; where none says how deep it hangs and they differ, the colder one."""

    def rank(name: str) -> tuple[float, str]:
        depth = sensor_depth_m(sensors.get(name, ""))
        return (50.0 if depth is None else depth, name)

    chosen = min(found, key=rank)
    newest = {name: max(rows_, key=lambda one: one.time).value for name, rows_ in found.items()}
    if rank(chosen)[0] == 50.0 and max(newest.values()) - min(newest.values()) > _DIFFERING_C:
        chosen = min(newest, key=lambda name: (newest[name], name))
        problems.append(
            f"{_named(site)}: its temperature sensors differ and none says how deep it hangs; the colder counts."
        )
    elif len(found) > 1:
        place = sensors.get(chosen, "") or "the first of its list, no depth is given"
        notes.append(f"{_named(site)}: several temperature sensors, taken: {place}.")
    return chosen


def _water(values: list[Value], place: str, stands: Site, oldest: datetime, problems: list[str]) -> list[WaterReading]:
    recent = [value for value in values if value.time >= oldest]
    if not recent:
        last = values[-1]
        problems.append(f"{_named(last.site)}: its newest water temperature is of {last.time:%Y-%m-%d}, not used.")
    depth = sensor_depth_m(place)
    name = f"{_named(values[0].site)} ({stands.words}"
    return [
        WaterReading(
            id=f"usgs:{value.site}:{value.time:%Y%m%dT%H%MZ}:{'day' if value.day_only else 'now'}",
            time=value.time,
            temperature_c=value.value,
            kind=stands.kind,
            depth_m=None if depth is None or depth >= 99.0 else depth,
            hour_known=not value.day_only,
            source="usgs",
            name=name + (", provisional)" if value.provisional else ")"),
        )
        for value in recent
    ]


def _level(values: list[Value], oldest: datetime, limits: Plausible, problems: list[str]) -> list[LevelReading]:
    recent = [value for value in values if value.time >= oldest]
    if not recent:
        last = values[-1]
        problems.append(f"{_named(last.site)}: its newest water level is of {last.time:%Y-%m-%d}, not used.")
        return []
    out: list[LevelReading] = []
    jumps = 0
    for value in recent:
        before = out[-1].level_m if out else None
        if before is not None and not limits.holds("level_jump_m", abs(value.value - before)):
            jumps += 1
            continue
        name = f"{_named(value.site)}"
        out.append(LevelReading(value.time, value.value, None, "usgs", name))
    if jumps:
        problems.append(f"{_named(recent[0].site)}: {jumps} water levels jump impossibly and were refused.")
    return out


def parse_legacy(
    body: bytes | str, zone: ZoneInfo, limits: Plausible, wanted: Sequence[str] = _WANTED
) -> tuple[tuple[Value, ...], dict[str, str], tuple[str, ...]]:
    """Read the old service: values of the ``wanted`` parameters, what is said of each sensor, and problems.

    A series holds one block a sensor; an empty block is passed over. ``noDataValue`` is compared as sent.
    """
    series = table(table(load_json(body)).get("value")).get("timeSeries")
    if not isinstance(series, list):
        return (), {}, ("USGS (old service): the answer is no list of series.",)
    out: list[Value] = []
    sensors: dict[str, str] = {}
    unread = 0
    for one in series:
        site, parameter, unit, no_data = _legacy_head(table(one))
        if parameter not in wanted or not site:
            continue
        for number, block in enumerate(rows(table(one).get("values"))):
            method = table((rows(table(block).get("method")) or [None])[0])
            sensor = f"{site}:{parameter}:{text(method.get('methodID')) or number}"
            sensors[sensor] = text(method.get("methodDescription"))
            for row in rows(table(block).get("value")):
                at, day_only = _when(table(row).get("dateTime"), zone)
                if at is None:
                    unread += 1
                    continue
                value, damaged = _converted(table(row).get("value"), parameter, unit, limits, no_data)
                provisional = "A" not in rows(table(row).get("qualifiers"))
                out.append(Value(site, parameter, sensor, at, value, damaged, day_only, provisional))
    said = (f"USGS (old service): {unread} values without a readable time were skipped.",) if unread else ()
    return tuple(out), sensors, said


def _legacy_head(one: Mapping[str, Any]) -> tuple[str, str, str, float]:
    variable = table(one.get("variable"))
    code = table((rows(variable.get("variableCode")) or [None])[0])
    site = table((rows(table(one.get("sourceInfo")).get("siteCode")) or [None])[0])
    unit = text(table(variable.get("unit")).get("unitCode"))
    return text(site.get("value")), text(code.get("value")), unit, read_number(variable.get("noDataValue"))[0]
