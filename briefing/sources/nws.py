"""US National Weather Service: from a position to its forecast grid, and the grid as hours.

The raw grid gives layers of intervals that start hours in the past, end at different times, and may be null, empty
or overlapping; two layers (thunder) carry no unit. "Not covered" is never zero here.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from briefing.core.hours import HourField, HourSeries, Origin
from briefing.core.plausible import Plausible
from briefing.sources.bodies import NAN, Read, load_json, read_instant, read_number, read_plausible, rows, table, text
from briefing.sources.http import Ask, Reply, ServiceError, Source, labelled
from briefing.sources.intervals import Piece, full_hour, read_interval, spread
from briefing.sources.placed import Asked, misplaced
from briefing.sources.result import (
    GUST_NOTE,
    LONGEST,
    PAST,
    ParsedHours,
    all_damaged,
    extent,
    field_with,
    judged_hours,
)
from briefing.sources.service_limits import SHARE_HOURLY
from briefing.sources.tables import ahead, held_back
from briefing.sources.thunder_words import thunder_words
from briefing.sources.units_in import conversion
from briefing.sources.urls import degrees, path_of_link

CREDIT = "Forecasts, warnings and observations: National Weather Service (public domain)"
_GEO = {"Accept": "application/geo+json"}
_OTHER_ACCEPT = {"Accept": "application/geo+json, application/json;q=0.9"}


@dataclass(frozen=True)
class Layer:
    """How a layer of the raw grid becomes a field: its mode of sharing an hour, and whether it may lack a unit."""

    key: str
    field: str
    mode: str
    unit_free: bool = False


LAYERS = (
    Layer("windSpeed", "wind_mps", "max"),
    Layer("windGust", "gust_mps", "max"),
    Layer("windDirection", "wind_from_deg", "most"),
    Layer("temperature", "air_c", "most"),
    Layer("dewpoint", "dewpoint_c", "most"),
    Layer("relativeHumidity", "humidity_pct", "most"),
    Layer("skyCover", "cloud_pct", "most"),
    Layer("quantitativePrecipitation", "precip_mm", "sum"),
    Layer("probabilityOfPrecipitation", "precip_chance_pct", "max"),
    Layer("probabilityOfThunder", "thunder_pct", "max", unit_free=True),
    Layer("lightningActivityLevel", "lightning_level", "max", unit_free=True),
    Layer("visibility", "visibility_m", "min"),
)

#: Chance that a coverage word of the weather layer stands for, in percent.
COVERAGE_PCT: Mapping[str, float] = {
    "isolated": 15.0,
    "slight_chance": 15.0,
    "patchy": 15.0,
    "scattered": 40.0,
    "chance": 40.0,
    "areas": 40.0,
    "likely": 65.0,
    "numerous": 65.0,
    "definite": 90.0,
    "widespread": 90.0,
    "occasional": 90.0,
    "periods": 90.0,
    "frequent": 90.0,
    "intermittent": 90.0,
    "brief": 90.0,
}


#: Words of the weather layer; a word that is none of them could mean thunder and refuses the value.
WEATHER_WORDS = frozenset(
    (
        *("blowing_dust", "blowing_sand", "blowing_snow", "drizzle", "dust", "dust_storm", "fog", "freezing_drizzle"),
        *("freezing_fog", "freezing_rain", "freezing_spray", "frost", "hail", "haze", "ice_crystals", "ice_fog"),
        *("ice_pellets", "rain", "rain_showers", "sand_storm", "sleet", "smoke", "snow", "snow_showers"),
        *("thunderstorms", "volcanic_ash", "water_spouts"),
    )
)


@dataclass(frozen=True)
class PointLinks:
    """What ``/points`` says of a position: paths below the base address, zones for warnings, land or marine."""

    grid_path: str
    hourly_path: str
    stations_path: str
    alert_zones: tuple[str, ...]
    marine: bool

    @property
    def whole(self) -> bool:
        """Tell whether all is there that the service has for such a place."""
        return bool(self.stations_path and (self.hourly_path or self.marine)) and names_zones(
            self.alert_zones, self.marine
        )


def names_zones(zones: Sequence[str], marine: bool) -> bool:
    """Tell whether a forecast zone (third letter Z) is among some, and a county (C), which open water has none of."""
    kinds = {zone[2] for zone in zones}
    return kinds >= ({"Z"} if marine else {"Z", "C"})


def retrieve_points(source: Source, latitude: float, longitude: float, keep_for: timedelta) -> Reply:
    """Ask which grid holds a position (degrees); raises ServiceError with problem ``InvalidPoint`` outside the US.

    Only an answer that lacks nothing is kept.
    """
    url = f"{source.fetcher.urls.nws}/points/{degrees(latitude)},{degrees(longitude)}"

    def whole(body: bytes) -> bool:
        links = parse_points(body)
        return links is not None and links.whole

    return source.get_whole(Ask(url, headers=_GEO, keep_for=keep_for), whole)


def parse_points(body: bytes | str) -> PointLinks | None:
    """Read ``/points``; None when it names no grid."""
    properties = table(table(load_json(body)).get("properties"))
    grid = path_of_link(properties.get("forecastGridData"))
    if not grid:
        return None
    zones = [path_of_link(properties.get(key)).rpartition("/")[2] for key in ("forecastZone", "county")]
    return PointLinks(
        grid_path=grid,
        hourly_path=path_of_link(properties.get("forecastHourly")),
        stations_path=path_of_link(properties.get("observationStations")),
        alert_zones=tuple(zone for zone in dict.fromkeys(zones) if re.fullmatch(r"[A-Z]{2}[CZ]\d{3}", zone)),
        marine=properties.get("type") == "marine",
    )


def retrieve_grid(source: Source, asked: Asked, newest_used: datetime | None, refuse_age: timedelta) -> Reply:
    """Get the raw grid; when a front cache serves an old one, ask once more in another form and keep the newest.

    A stored body that is newer than what came is returned in its place: the grid never goes backwards. An issue time
    ahead of now dates nothing, nor does that of another cell's grid: such a body is not kept, and never stands before
    another. No body is newer than its front cache has held it. Its ``Last-Modified`` dates nothing: this service is
    known to send wrong ones.
    """
    url, now = source.fetcher.urls.nws + asked.path, asked.now
    kept = source.stored(Ask(url))
    reply = source.get(Ask(url, headers=_GEO, store=False, share_for=SHARE_HOURLY))
    issued = _dated(reply, asked)
    if issued is None or now - issued > refuse_age or (newest_used is not None and issued < newest_used):
        with contextlib.suppress(ServiceError):  # the first answer stands; its age is judged below and by the caller
            reply = _newer(reply, source.get(Ask(url, headers=_OTHER_ACCEPT, store=False, fresh=True)), asked)
    if kept is not None and kept.body != reply.body and _newer(reply, kept, asked) is kept:
        return labelled(kept, "stored copy: the service sent no newer issue")
    if not ahead(issue_time(reply.body), now) and not misplaced(reply.body, asked):
        source.keep(reply)
    return reply


def _dated(reply: Reply, asked: Asked) -> datetime | None:
    issued = issue_time(reply.body)
    if ahead(issued, asked.now) or misplaced(reply.body, asked):
        return None
    return held_back(issued, reply.held_since, asked.now)


def _newer(first: Reply, second: Reply, asked: Asked) -> Reply:
    one, two = _dated(first, asked), _dated(second, asked)
    if one is None or two is None:
        return first if two is None else second
    return second if two > one else first


def issue_time(body: bytes | str) -> datetime | None:
    """Return ``updateTime`` of a grid or text forecast, None when it is not there."""
    return read_instant(table(table(load_json(body)).get("properties")).get("updateTime"))


def parse_grid(
    body: bytes | str, retrieved_at: datetime, limits: Plausible, note: str = "", held_since: datetime | None = None
) -> ParsedHours:
    """Read a raw grid into hours from the first to the last covered hour; none is newer than ``held_since``.

    Layers that are not there stay missing. A layer, entry or value that is there but can't be read, has an unknown
    unit or can't be true is marked damaged for the hours it stands for.
    """
    properties = load_json(body)
    properties = table(table(properties).get("properties"))
    issued = read_instant(properties.get("updateTime"))
    if issued is None:
        return ParsedHours(None, None, ("NWS grid: it says not when it was issued, not used.",))
    issued = held_back(issued, held_since or retrieved_at, retrieved_at) or issued
    window = (full_hour(issued - PAST), full_hour(issued + LONGEST))
    pieces: dict[str, list[Piece] | None] = {}
    notes: list[str] = []
    for layer in LAYERS:
        if layer.key in properties:
            pieces[layer.field] = _layer_pieces(layer, properties[layer.key], limits, issued, notes)
    if "weather" in properties:
        pieces["thunder_words_pct"] = _entries("weather", properties["weather"], _thunder_words, issued, notes)
    begin, hours = extent([piece for found in pieces.values() for piece in found or ()], window)
    if hours == 0:
        return ParsedHours(None, issued, ("NWS grid: it holds no hour that could be read, not used.",), tuple(notes))
    origin = Origin("nws_grid", _grid_name(properties), "forecast", issued, retrieved_at, note=note)
    modes = {layer.field: layer.mode for layer in LAYERS} | {"thunder_words_pct": "max"}
    fields = {name: _field(found, begin, hours, modes[name], origin) for name, found in pieces.items()}
    series = HourSeries(begin, hours, fields)
    return judged_hours("NWS grid", series, issued, retrieved_at, notes, GUST_NOTE)


def _grid_name(properties: Mapping[str, Any]) -> str:
    number_x, number_y = read_number(properties.get("gridX"))[0], read_number(properties.get("gridY"))[0]
    place = f" {number_x:.0f},{number_y:.0f}" if number_x == number_x and number_y == number_y else ""
    return f"National Weather Service forecast grid {text(properties.get('gridId'))[:5]}{place}"


def _field(found: list[Piece] | None, begin: datetime, hours: int, mode: str, origin: Origin) -> HourField:
    if found is None:
        return all_damaged(hours)
    placed = [piece for piece in found if piece.end > piece.start]
    values, damaged = spread(placed, begin, hours, mode)
    if len(placed) < len(found):  # something was sent for hours that nobody can tell
        damaged |= np.isnan(values)
    return field_with(values, damaged, origin)


_NEVER = datetime(1970, 1, 1, tzinfo=UTC)
_NOWHERE = Piece(_NEVER, _NEVER, NAN, True)  # stands for an entry whose hours can't be read


def _entries(key: str, layer: object, read: Any, now: datetime, notes: list[str]) -> list[Piece] | None:
    """Turn a layer's entries into pieces; None when the layer itself can't be read."""
    values = layer.get("values") if isinstance(layer, dict) else None
    if not isinstance(values, list):
        notes.append(f"NWS grid: layer {key} could not be read.")
        return None
    out = []
    for entry in values:
        span = read_interval(entry.get("validTime"), now) if isinstance(entry, dict) else None
        if span is None:
            notes.append(f"NWS grid: an entry of layer {key} has no readable time.")
            out.append(_NOWHERE)
        elif span[1] <= span[0]:
            notes.append(f"NWS grid: an entry of layer {key} covers no time and was skipped.")
        else:
            value, damaged = read(entry["value"], span) if "value" in entry else (NAN, True)
            if damaged:
                notes.append(f"NWS grid: a value of layer {key} at {span[0]:%Y-%m-%d %H:%M} UTC was refused.")
            out.append(Piece(span[0], span[1], value, damaged))
    return out


def _layer_pieces(layer: Layer, body: object, limits: Plausible, now: datetime, notes: list[str]) -> list[Piece] | None:
    unit = body.get("uom") if isinstance(body, dict) else None
    scale = (1.0, 0.0) if layer.unit_free and unit is None else conversion(layer.field, unit)

    def read(value: object, span: tuple[datetime, datetime]) -> Read:
        if scale is None:
            return NAN, value is not None
        factor, offset = scale
        if layer.mode == "sum":
            factor /= (span[1] - span[0]) / timedelta(hours=1)
        return read_plausible(layer.field, value, factor, offset, limits)

    pieces = _entries(layer.key, body, read, now, notes)
    if scale is None and pieces:
        notes.append(f"NWS grid: layer {layer.key} has an unknown unit and was refused.")
    return pieces


def _thunder_words(value: object, _span: tuple[datetime, datetime]) -> Read:
    """Highest chance that the weather words give to thunder; zero when all they name leaves no room for it.

    Rain without a word of thunder leaves it missing: another layer must say.
    """
    if value is None:
        return NAN, False
    if not isinstance(value, list) or not value:
        return NAN, not isinstance(value, list)
    found = [_thunder_word(entry) for entry in value]
    if any(damaged for _, damaged in found):
        return NAN, True
    chances = [chance for chance, _ in found]
    highest = max((chance for chance in chances if chance > 0.0), default=0.0)
    return (highest if highest or all(chance == 0.0 for chance in chances) else NAN), False


def _thunder_word(entry: object) -> Read:
    """Chance of thunder that one entry stands for, by its weather word and whatever it says beside it."""
    if not isinstance(entry, dict) or "weather" not in entry:
        return NAN, True
    weather, coverage = entry["weather"], COVERAGE_PCT.get(text(entry.get("coverage")).lower())
    name = text(weather).lower()
    if _speaks(name):
        return (NAN, True) if coverage is None else (coverage, False)
    beside = [word for key, value in entry.items() if key != "weather" for word in _texts(value)]
    ruled_out = thunder_words().rules_it_out(name)
    if any(_speaks(word) for word in beside):
        # how much frost or fog there is says nothing of a storm that stands beside it
        return (thunder_words().otherwise if coverage is None or ruled_out else coverage), False
    if not _known_beside(entry):
        return NAN, True
    if weather is None and entry.get("coverage") is None:
        return 0.0, False  # the service's way to say "nothing"
    if name not in WEATHER_WORDS:
        return NAN, True
    return (0.0 if ruled_out else NAN), False


def _speaks(word: str) -> bool:
    return thunder_words().speaks_of_it(word.replace("_", " ").lower())


def _texts(value: object) -> list[str]:
    """All texts in a value, however deep: a storm is a storm in whatever field it stands."""
    if isinstance(value, str):
        return [value]
    parts = list(value.values()) if isinstance(value, dict) else rows(value)
    return [word for part in parts for word in _texts(part)]


def _known_beside(entry: Mapping[str, Any]) -> bool:
    """Tell whether attributes and intensity of an entry are among those that go without thunder."""
    given, known = entry.get("attributes"), thunder_words()
    listed = [] if given is None else given if isinstance(given, list) else [given]
    words = [text(one).lower().replace(" ", "_") for one in listed]
    return all(word in known.attributes for word in words) and (
        entry.get("intensity") in (None, "") or text(entry.get("intensity")).lower() in known.intensities
    )
