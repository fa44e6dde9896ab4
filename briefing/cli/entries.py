"""From what the user typed to what is stored, and back to one line of words."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from briefing import units
from briefing.app.when import parse_end
from briefing.errors import InputError, StoreError
from briefing.units import Units
from briefing.vocabulary import WaterColour

if TYPE_CHECKING:
    from briefing.profile.model import LakeProfile
    from briefing.store import Reading, SignEntry

#: Kinds as typed; hyphens and case don't matter.
KIND_WORDS = {
    **{"water_temp": "water_temp", "temp": "water_temp", "temperature": "water_temp"},
    **{"visibility": "visibility", "secchi": "visibility", "colour": "colour", "color": "colour", "level": "level"},
    **{"wind": "wind", "alerts": "alerts", "alert": "alerts", "thunder": "thunder"},
}
TREND_WORDS = {"falling": -1, "steady": 0, "rising": 1}


@dataclass(frozen=True, slots=True)
class Extras:
    """The options that belong to some kinds only, as typed."""

    depth: str | None = None
    gust: str | None = None
    wind_from: str | None = None
    until: str | None = None


_ALLOWED = {"water_temp": {"depth"}, "wind": {"gust", "wind_from"}, "alerts": {"until"}}
_FLAGS = {"depth": "--depth", "gust": "--gust", "wind_from": "--from", "until": "--until"}


def read_kind(word: str) -> str:
    """Return the kind a word stands for. Raises InputError."""
    kind = KIND_WORDS.get(word.strip().lower().replace("-", "_"))
    if kind is None:
        raise InputError(
            f"{word!r} is not a kind of reading; write water-temp, visibility, colour, level, wind, alerts or thunder."
        )
    return kind


def kind_and_words(word: str, words: list[str]) -> tuple[str, list[str]]:
    """Return the kind and the words of its value; ``61F`` or ``12 mph`` without a kind says by its unit what it is.

    Raises InputError.
    """
    unit = "".join(sign for sign in " ".join([word, *words]).lower() if sign.isalpha() or sign in "/°")
    for kind, known in _KIND_BY_UNIT.items():
        if word[:1].isdigit() and unit.lstrip("/") in known:
            return kind, [word, *words]
    return read_kind(word), words


_KIND_BY_UNIT = {
    "water_temp": ("f", "c", "°f", "°c"),
    "wind": ("mph", "m/s", "kn", "kt", "kts", "knots", "km/h"),
    "visibility": ("ft", "in", "cm", "m"),
}


def read_values(
    kind: str, text: str, extras: Extras, system: Units, zone: ZoneInfo, seen: datetime, old: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the stored values of a reading; ``old`` are those of the entry it corrects.

    Raises InputError, UnitError.
    """
    for name, flag in _FLAGS.items():
        if getattr(extras, name) is not None and name not in _ALLOWED.get(kind, ()):
            raise InputError(f"{flag} does not belong to a reading of {kind.replace('_', ' ')}.")
    text = text.strip()
    if kind == "thunder":
        if text:
            raise InputError(f"Thunder takes no value; {text!r} is one too many (its time goes to --time).")
        return {}
    if not text and not old:
        raise InputError(f"The value is missing, such as: briefing reading add {_EXAMPLES[kind]}")
    values = dict(old)
    if text:
        values |= _VALUE_READERS[kind](text, system)
    if extras.depth is not None:
        values["depth_m"] = units.parse_depth(extras.depth, system)
    if extras.gust is not None:
        values["gust_mps"] = units.parse_speed(extras.gust, system)
    if extras.wind_from is not None:
        values["wind_from_deg"] = units.parse_direction(extras.wind_from)
    if extras.until is not None:
        values["until"] = parse_end(extras.until, zone, seen).isoformat()
    if kind == "wind" and values.get("gust_mps") is not None and values["gust_mps"] < values["wind_mps"]:
        raise InputError("The gust is below the wind; give the strongest gust, or leave it out.")
    return values


def _read_level(text: str, system: Units) -> dict[str, Any]:
    word = text.lower()
    if word in TREND_WORDS:
        return {"trend": TREND_WORDS[word]}
    if not word[0].isdigit() and word[0] not in "+-.":
        raise InputError(f"{text!r} is no level; write falling, steady or rising, or the height at a mark of yours.")
    sign = -1.0 if word.startswith("-") else 1.0
    return {"level_m": sign * units.parse_depth(word.lstrip("+-"), system)}


def _read_colour(text: str, _system: Units) -> dict[str, Any]:
    if text.lower() not in list(WaterColour):
        raise InputError(f"{text!r} is not a water colour; write {', '.join(WaterColour)}.")
    return {"colour": text.lower()}


def _read_alerts(text: str, _system: Units) -> dict[str, Any]:
    if text.lower() in ("none", "no"):
        return {"events": []}
    return {"events": [event.strip() for event in text.split(";") if event.strip()]}


_VALUE_READERS = {
    "water_temp": lambda text, system: {"temperature_c": units.parse_temperature(text, system)},
    "visibility": lambda text, system: {"visibility_m": units.parse_visibility(text, system)},
    "colour": _read_colour,
    "level": _read_level,
    "wind": lambda text, system: {"wind_mps": units.parse_speed(text, system)},
    "alerts": _read_alerts,
}
_EXAMPLES = {
    "water_temp": "water-temp 61F",
    "visibility": "visibility 3ft",
    "colour": "colour green",
    "level": "level falling",
    "wind": "wind 12mph --from SW",
    "alerts": "alerts none",
}


# --- in words --------------------------------------------------------------------------------------------------------


def describe_values(kind: str, values: Mapping[str, Any], system: Units, zone: ZoneInfo) -> str:
    """Write what a reading says, in both units."""
    if kind == "water_temp":
        depth = f" at {units.show_depth(values['depth_m'], system)}" if values.get("depth_m") is not None else ""
        return f"water temperature {units.show_temperature(values['temperature_c'], system)}{depth}"
    if kind == "visibility":
        return f"visibility {units.show_visibility(values['visibility_m'], system)}"
    if kind == "colour":
        return f"water colour {values['colour']}"
    if kind == "level":
        trend = {number: word for word, number in TREND_WORDS.items()}
        if values.get("trend") is not None:
            return f"water level {trend[values['trend']]}"
        return f"water level {units.show_depth(values['level_m'], system)} at your mark"
    if kind == "wind":
        return _wind_words(values, system)
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


def spot_name(profile: LakeProfile, word: str | None) -> str:
    """Return the full name of a spot by name or id; empty without a word. Raises InputError listing the spots."""
    if word is None:
        return ""
    spot = profile.spot(word.strip())
    if spot is None:
        known = ", ".join(spot.id for spot in profile.spots) or "none yet; add one with: briefing lake edit"
        raise InputError(f"{profile.name} has no spot {word!r}; there are: {known}.")
    return spot.name


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
