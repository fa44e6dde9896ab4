"""Times as people type them, in the lake's local time."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from briefing.errors import InputError

_AGO = re.compile(r"([0-9]{1,3})\s*(m|min|mins|minutes?|h|hours?|d|days?) ago")
_WHEN = re.compile(
    r"(today|yesterday|[0-9]{4}-[0-9]{2}-[0-9]{2})?(?:[ t]*(?:at )?([0-9]{1,2})"
    r"(?::([0-9]{2})(?::[0-9]{2})?\s*(am|pm)?|\s*(am|pm)))?"
)
_OFFSET = re.compile(r".*[0-9](z|[+-][0-9]{2}:?[0-9]{2})$")
_EXAMPLES = "07:40, yesterday 18:00, 2026-04-17, 2026-04-17 07:40 or 40 min ago"

#: A clock that runs ahead by up to this much is taken for now.
_CLOCK_DIFFERENCE = timedelta(minutes=10)


def parse_instant(text: str) -> datetime:
    """Read an ISO instant with an offset (``2026-04-18T09:00Z``) as aware UTC. Raises InputError."""
    try:
        instant = datetime.fromisoformat(text.strip())
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None:
        raise InputError(f"{text!r} is not an instant; write date, time and offset, such as 2026-04-18T09:00-05:00.")
    return instant.astimezone(UTC)


def parse_when(text: str, zone: ZoneInfo, now: datetime) -> tuple[datetime, bool]:
    """Return (aware UTC instant, hour known) for the time of something seen.

    ``"07:40"`` is today, ``"yesterday 18:00"``, ``"2026-04-17 07:40"``, ``"40 min ago"``; a day alone counts as its
    noon (today: as now, if that comes first) with the hour not known. In a repeated hour the first pass is meant. A
    time in the future is refused. Raises InputError.
    """
    tidy = " ".join(text.lower().split()).replace("noon", "12:00")
    if tidy in ("", "now"):
        return now, True
    if ago := _AGO.fullmatch(tidy):
        unit = {"m": "minutes", "h": "hours", "d": "days"}[ago[2][0]]
        return now - timedelta(**{unit: int(ago[1])}), True
    if _OFFSET.fullmatch(tidy) and not _WHEN.fullmatch(tidy):
        return _not_ahead(parse_instant(text), now, zone, text), True
    match = _WHEN.fullmatch(tidy)
    day = _day(match[1], now.astimezone(zone).date()) if match else None
    clock = _clock_in(match)
    if match is None or day is None or (match[2] and clock is None):
        raise InputError(f"{text!r} is not a time; write {_EXAMPLES}.")
    if clock is None:
        noon = datetime.combine(day, time(12), tzinfo=zone).astimezone(UTC)
        today = day == now.astimezone(zone).date()
        return (min(noon, now) if today else _not_ahead(noon, now, zone, text)), False
    return _not_ahead(datetime.combine(day, clock, tzinfo=zone).astimezone(UTC), now, zone, text), True


def parse_end(text: str, zone: ZoneInfo, after: datetime) -> datetime:
    """Return when something seen at ``after`` ends: a clock time is the next one, else a date and time in full.

    Raises InputError, also for an end that is not after ``after`` or more than ten days ahead.
    """
    tidy = " ".join(text.lower().split())
    match = _WHEN.fullmatch(tidy)
    clock = _clock_in(match)
    if match and clock and match[1] is None:
        day = after.astimezone(zone).date()
        end = datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)
        return end if end > after else datetime.combine(day + timedelta(days=1), clock, tzinfo=zone).astimezone(UTC)
    day_given = _day(match[1], after.astimezone(zone).date()) if match and clock else None
    if day_given is not None and clock:
        end = datetime.combine(day_given, clock, tzinfo=zone).astimezone(UTC)
    elif _OFFSET.fullmatch(tidy) and not match:
        end = parse_instant(text)
    else:
        raise InputError(f"{text!r} is not an end; write 18:00 or 2026-04-17 18:00.")
    if not after < end <= after + timedelta(days=10):
        raise InputError(f"{text!r} is not within the ten days after you saw it.")
    return end


_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def read_day(text: str, today: date) -> date:
    """Read a day as people write it: ``2026-04-18``, today, tomorrow, yesterday, sat (the next one, today included).

    Raises InputError.
    """
    word = text.strip().lower()
    near = {"today": 0, "tomorrow": 1, "yesterday": -1}
    if word in near:
        return today + timedelta(days=near[word])
    named = [n for n, name in enumerate(_WEEKDAYS) if len(word) >= _LEAST_LETTERS and name.startswith(word)]
    if named:
        return today + timedelta(days=(named[0] - today.weekday()) % 7)
    try:
        return date.fromisoformat(word)
    except ValueError:
        raise InputError(f"--date {text!r} is no date; write it as 2026-04-18, tomorrow or sat.") from None


def read_clock(text: str, day: date, zone: ZoneInfo) -> datetime:
    """Read a clock time at the lake on ``day`` as an aware UTC instant: ``06:30``, ``6:30am``, ``noon``.

    Raises InputError.
    """
    tidy = " ".join(text.lower().split()).replace("noon", "12:00")
    match = _WHEN.fullmatch(tidy)
    clock = _clock_in(match) if match is not None and match[1] is None else None
    if clock is None:
        raise InputError(f"{text!r} is no clock time; write it as 06:30.")
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)


#: Letters that a weekday must have to be told from the others.
_LEAST_LETTERS = 3


def _day(word: str | None, today: date) -> date | None:
    if word in (None, "today"):
        return today
    if word == "yesterday":
        return today - timedelta(days=1)
    try:
        return date.fromisoformat(str(word))
    except ValueError:
        return None


def _clock_in(match: re.Match[str] | None) -> time | None:
    """The time of day of a match of ``_WHEN``; None where it has none, or no such time."""
    if match is None or not match[2]:
        return None
    return _clock(match[2], match[3] or "0", match[4] or match[5])


def _clock(hour: str, minute: str, half: str | None) -> time | None:
    """Return the time of day, or None where there is no such time."""
    number = int(hour)
    if half:
        if not 1 <= number <= 12:
            return None
        number = number % 12 + (12 if half == "pm" else 0)
    return time(number, int(minute)) if number < 24 and int(minute) < 60 else None


def _not_ahead(instant: datetime, now: datetime, zone: ZoneInfo, text: str) -> datetime:
    if instant <= now:
        return instant
    if instant - now <= _CLOCK_DIFFERENCE:
        return now
    shown = now.astimezone(zone).strftime("%Y-%m-%d %H:%M")
    raise InputError(f"{text!r} lies in the future (it is {shown} at the lake); did you mean yesterday?")
