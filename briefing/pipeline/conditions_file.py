"""Weather that the user entered as a whole: a small TOML file in place of all services.

    read_at = "2026-03-21T04:30-05:00"      # when you read the forecast
    [[hours]]                               # clock times at the lake, on the briefing's day
    from = "05:00"
    to = "09:00"
    wind = "8 mph"
    gust = "12 mph"
    direction = "SE"                        # where it comes from
    thunder = 10                            # chance in per cent
    cloud = 40
    rain = 20
    air = "61F"
    [alerts]
    read_at = "2026-03-21T04:40-05:00"
    events = ["Wind Advisory"]              # empty when you read that none is in force
    until = "2026-03-21T18:00-05:00"

What is left out is missing, never calm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from briefing import units
from briefing.core.alerts import AlertFeed, typed_alert
from briefing.core.hours import HourField, HourSeries, Origin, field_of
from briefing.errors import InputError
from briefing.units import Units


@dataclass(frozen=True)
class EnteredConditions:
    """Hours as entered (missing ones NaN) and the alerts the user read; None when nothing was said of alerts."""

    hours: HourSeries
    alerts: AlertFeed | None
    read_at: datetime


def _percent(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 100:
        raise InputError("accepted: a number from 0 to 100")
    return float(value)


def _text(reader: Callable[[str], float]) -> Callable[[object], float]:
    def read(value: object) -> float:
        return reader(str(value))

    return read


def _readers(system: Units) -> dict[str, tuple[str, Callable[[object], float]]]:
    return {
        "wind": ("wind_mps", _text(lambda text: units.parse_speed(text, system))),
        "gust": ("gust_mps", _text(lambda text: units.parse_speed(text, system))),
        "direction": ("wind_from_deg", _text(units.parse_direction)),
        "thunder": ("thunder_pct", _percent),
        "cloud": ("cloud_pct", _percent),
        "rain": ("precip_chance_pct", _percent),
        "air": ("air_c", _text(lambda text: units.parse_temperature(text, system, of="air"))),
        "dewpoint": ("dewpoint_c", _text(lambda text: units.parse_temperature(text, system, of="air"))),
        "visibility": ("visibility_m", _text(lambda text: units.parse_distance(text, system))),
    }


def read_conditions(
    data: Mapping[str, Any], file_name: str, day: date, zone: ZoneInfo, system: Units
) -> EnteredConditions:
    """Turn a parsed file into hours and alerts.

    Raises InputError naming file, entry, field, what was found and what is accepted.
    """
    unknown = set(data) - {"read_at", "hours", "alerts"}
    if unknown:
        raise InputError(f"{file_name}: unknown entry {sorted(unknown)[0]!r}; accepted: read_at, hours, alerts.")
    read_at = _instant(data.get("read_at"), f"{file_name}, read_at")
    blocks = data.get("hours")
    if not isinstance(blocks, list) or not blocks:
        raise InputError(f"{file_name}: no [[hours]] found; give at least one with from, to and wind.")
    start = datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC).replace(minute=0)
    count = 24 + 1
    values = {name: np.full(count, np.nan) for name, _ in _readers(system).values()}
    for number, block in enumerate(blocks, 1):
        _enter(block, f"{file_name}, hours {number}", values, start, day, zone, system)
    origin = Origin("user", "weather you entered", "entered", issued=read_at, retrieved=read_at)
    fields: dict[str, HourField] = {
        name: field_of(array, origin) for name, array in values.items() if np.isfinite(array).any()
    }
    return EnteredConditions(HourSeries(start, count, fields), _alerts(data.get("alerts"), file_name), read_at)


def _enter(
    block: object,
    where: str,
    values: Mapping[str, np.ndarray[Any, np.dtype[np.float64]]],
    start: datetime,
    day: date,
    zone: ZoneInfo,
    system: Units,
) -> None:
    if not isinstance(block, Mapping):
        raise InputError(f"{where}: must be a table; write [[hours]] above it.")
    readers = _readers(system)
    unknown = set(block) - set(readers) - {"from", "to"}
    if unknown:
        accepted = ", ".join(["from", "to", *readers])
        raise InputError(f"{where}: unknown field {sorted(unknown)[0]!r}; accepted: {accepted}.")
    begin, end = (_clock(block.get(key), f"{where}, {key}", day, zone) for key in ("from", "to"))
    if end <= begin:
        end += timedelta(days=1)
    first = int((begin - start).total_seconds() // 3600)
    last = -int(-(end - start).total_seconds() // 3600)
    for key, (name, reader) in readers.items():
        if key not in block:
            continue
        try:
            value = reader(block[key])
        except InputError as error:
            raise InputError(f"{where}, {key}: found {block[key]!r}; {error}") from error
        hours = slice(max(first, 0), last)
        values[name][hours] = _worse(name, values[name][hours], value)


#: Fields of which the worse counts where two entries share an hour.
_MORE, _LESS = ("wind_mps", "gust_mps", "thunder_pct"), ("visibility_m",)


def _worse(
    name: str, before: np.ndarray[Any, np.dtype[np.float64]], value: float
) -> np.ndarray[Any, np.dtype[np.float64]]:
    """What holds for hours that an earlier entry may have filled: part of an hour is told by no other number."""
    worst = np.fmax if name in _MORE else np.fmin
    return np.asarray(worst(before, value) if name in (*_MORE, *_LESS) else np.full_like(before, value), float)


def _clock(value: object, where: str, day: date, zone: ZoneInfo) -> datetime:
    text = str(value).strip() if value is not None else ""
    try:
        hour, minute = (int(part) for part in text.split(":")[:2])
        moment = datetime(day.year, day.month, day.day, 0, minute, tzinfo=zone)
        if hour == 24 and minute == 0:
            return (moment + timedelta(days=1)).astimezone(UTC)
        return moment.replace(hour=hour).astimezone(UTC)
    except ValueError:
        raise InputError(f'{where}: found {value!r}; accepted: a clock time such as "05:00".') from None


def _instant(value: object, where: str) -> datetime:
    if isinstance(value, datetime):
        instant: datetime | None = value
    else:
        try:
            instant = datetime.fromisoformat(str(value))
        except ValueError:
            instant = None
    if instant is None or instant.tzinfo is None:
        raise InputError(f"{where}: found {value!r}; accepted: a time with its offset, 2026-03-21T04:30-05:00.")
    return instant.astimezone(UTC)


def _alerts(table: object, file_name: str) -> AlertFeed | None:
    if table is None:
        return None
    if not isinstance(table, Mapping) or set(table) - {"read_at", "events", "until"}:
        raise InputError(f"{file_name}, alerts: accepted: read_at, events (a list) and until.")
    read_at = _instant(table.get("read_at"), f"{file_name}, alerts, read_at")
    until = None if table.get("until") is None else _instant(table["until"], f"{file_name}, alerts, until")
    events = table.get("events")
    if not isinstance(events, list) or not all(isinstance(event, str) for event in events):
        raise InputError(f"{file_name}, alerts, events: accepted: a list of names, empty when none is in force.")
    stem = f"entered-{read_at.isoformat()}"
    alerts = tuple(typed_alert(f"{stem}-{number}", event, read_at, until) for number, event in enumerate(events))
    return AlertFeed(alerts, read_at, "user", "warnings you read", entered=True)
