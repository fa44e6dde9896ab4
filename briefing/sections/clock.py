"""Times as the reader sees them: local clock, date where it is not the briefing's day, ages in words."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo


def clock(instant: datetime, zone: ZoneInfo, day: date | None = None) -> str:
    """Return ``06:40``; with the weekday in front when the local date is not ``day``.

    >>> from datetime import UTC
    >>> clock(datetime(2026, 4, 15, 10, 40, tzinfo=UTC), ZoneInfo("America/New_York"))
    '06:40'
    """
    local = instant.astimezone(zone)
    text = local.strftime("%H:%M")
    if local.utcoffset() != _other_fold(local).utcoffset():
        text += f" {local.tzname()}"  # the hour that comes twice when the clocks go back
    if day is not None and local.date() != day:
        text = f"{local.strftime('%a')} {text}"
    return text


def _other_fold(local: datetime) -> datetime:
    return local.replace(fold=1 - local.fold)


def span(begin: datetime, end: datetime, zone: ZoneInfo, day: date | None = None) -> str:
    """Return ``06:00 to 11:00``."""
    return f"{clock(begin, zone, day)} to {clock(end, zone, day)}"


def rounded_down(instant: datetime, minutes: int = 5) -> datetime:
    """A deadline as printed: to five minutes, never later than computed."""
    return instant - timedelta(
        minutes=instant.minute % minutes, seconds=instant.second, microseconds=instant.microsecond
    )


def nearest_minute(instant: datetime, zone: ZoneInfo, day: date | None = None) -> str:
    """Return the clock of an event of the sky, to the nearest minute."""
    return clock(instant + timedelta(seconds=30), zone, day)


def rounded_up(instant: datetime) -> datetime:
    """The first whole minute from ``instant`` on, so that a printed beginning is never early."""
    whole = instant.replace(second=0, microsecond=0)
    return whole if whole == instant else whole + timedelta(minutes=1)


def day_text(day: date) -> str:
    """Return ``Wednesday 15 April 2026``."""
    return f"{day.strftime('%A')} {day.day} {day.strftime('%B %Y')}"


def short_date(day: date) -> str:
    """Return ``15 April``."""
    return f"{day.day} {day.strftime('%B')}"


def age_text(hours: float | None) -> str:
    """Return an age in words: ``25 min old``, ``5 h old``, ``3 days old``; ``age not stated`` for None."""
    if hours is None:
        return "age not stated"
    if hours < 0:
        return "dated ahead"
    if hours < 1.5:
        return f"{round(hours * 60)} min old"
    if hours < 48:
        return f"{round(hours)} h old"
    return f"{round(hours / 24)} days old"
