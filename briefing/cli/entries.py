"""Stored readings and signs in one line of words, and the typed line handed back when it could not be stored."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from briefing import units
from briefing.errors import StoreError
from briefing.units import Units

if TYPE_CHECKING:
    from briefing.store import Reading, SignEntry
_TREND = {-1: "falling", 0: "steady", 1: "rising"}


def describe_values(kind: str, values: Mapping[str, Any], system: Units, zone: ZoneInfo) -> str:
    """Write what a reading says, in both units."""
    if kind == "water_temp":
        depth = f" at {units.show_depth(values['depth_m'], system)}" if values.get("depth_m") is not None else ""
        return f"water temperature {units.show_temperature(values['temperature_c'], system)}{depth}"
    if kind == "visibility":
        return f"visibility {units.show_visibility(values['visibility_m'], system)}"
    if kind == "colour":
        return f"water colour {values['colour']}"
    if kind == "plants":
        top = values.get("top_m")
        at = (
            "" if top is None else "tops at the surface" if top <= 0.0 else f"tops {units.show_depth(top, system)} down"
        )
        return f"plants {', '.join(part for part in (values.get('density', ''), at, values['state']) if part)}"
    if kind == "level":
        if values.get("trend") is not None:
            return f"water level {_TREND[values['trend']]}"
        return f"water level {units.show_depth(values['level_m'], system)} at your mark"
    if kind == "wind":
        return _wind_words(values, system)
    if kind == "conditions":
        return f"weather for {values['day']}: {values['text']}"
    if kind == "alerts":
        until = values.get("until")
        end = f", until {local_time(datetime.fromisoformat(until), zone)}" if until else ""
        return f"alerts read: {'; '.join(values['events']) or 'none in force'}{end}"
    return "thunder heard"


def _wind_words(values: Mapping[str, Any], system: Units) -> str:
    words = f"wind {units.show_wind(values['wind_mps'], system)}"
    if values.get("gust_mps") is not None:
        words += f", gusts {units.show_wind(values['gust_mps'], system)}"
    if values.get("wind_from_deg") is not None:
        words += f", from {units.compass_point(values['wind_from_deg'])}"
    return words


def describe_reading(reading: Reading, system: Units, zone: ZoneInfo) -> str:
    """Write a stored reading on one line, without its number."""
    what = describe_values(reading.kind, reading.values, system, zone)
    return f"{what}, {_where_when(reading, zone, reading.hour_known)}"


def describe_sign(entry: SignEntry, system: Units, zone: ZoneInfo) -> str:
    """Write a stored field sign on one line, without its number."""
    words = [entry.kind.replace("_", " "), f"{entry.hours_looked:g} h looked"]
    if entry.count is not None:
        words.append(f"count {entry.count}")
    if entry.secchi_m is not None:
        words.append(f"visibility {units.show_visibility(entry.secchi_m, system)}")
    return f"{', '.join(words)}, {_where_when(entry, zone, True)}"


def _where_when(entry: Reading | SignEntry, zone: ZoneInfo, hour_known: bool) -> str:
    when = local_time(entry.time, zone) if hour_known else entry.time.astimezone(zone).date().isoformat()
    place = f" at {entry.spot}" if entry.spot else ""
    zone_words = {"pocket": ", shallow pocket", "exposed": ", exposed bank"}.get(entry.zone, "")
    note = f" ({entry.note})" if entry.note else ""
    state = "" if entry.state == "current" else f" [{entry.state}]"
    replaced = f" [corrects {entry.replaces}]" if entry.replaces is not None else ""
    return f"{when}{place}{zone_words}{note}{replaced}{state}"


def local_time(instant: datetime, zone: ZoneInfo) -> str:
    """Write an instant as date and time at the lake."""
    return instant.astimezone(zone).strftime("%Y-%m-%d %H:%M")


@contextmanager
def keeping_typed(words: list[str]) -> Iterator[None]:
    """Hand the typed line back when the store could not take it, with nothing left out."""
    try:
        yield
    except StoreError as error:
        raise type(error)(f"{error}\nTo enter it again: {shlex.join(words)}") from error


def typed_line(words: list[str], options: Mapping[str, str | bool | float | None]) -> list[str]:
    """Rebuild a command with the options that were given."""
    out = list(words)
    for flag, value in options.items():
        if value is True:
            out.append(flag)
        elif value not in (None, False, ""):
            out += [flag, str(value)]
    return out
