"""What is due, as pure functions: from a local date, a wall time and a zone to an instant, and from a lake to its day.

A wall time in a repeated hour means its first pass. One in a gap is moved forward by the gap; where that would leave
the date, it is moved back instead, so that a date that exists at all has exactly one instant for every wall time. Leads
("90 min before launch") are subtracted in UTC.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from functools import lru_cache
from zoneinfo import ZoneInfo

from briefing.core.sky import sky_day
from briefing.core.wind.note import WATCH_AFTER
from briefing.errors import InputError

DAY = timedelta(days=1)
MINUTE = timedelta(minutes=1)
#: Where the sun never rises or sets, a day's light is taken to end this long after its wall-time noon.
DAY_END = timedelta(hours=8)
#: Clean-up may be done at any time of its day.
RETENTION_FOR = timedelta(hours=20)


class Kind(StrEnum):
    """What an occurrence makes."""

    MORNING = "morning"
    EVENING = "evening"
    CHECK = "check"  # of the wind, for a planned outing
    RETENTION = "retention"


class Anchor(StrEnum):
    """What a time is counted from."""

    CLOCK = "clock"
    DAWN = "dawn"
    SUNRISE = "sunrise"
    LAUNCH = "launch"


@dataclass(frozen=True, slots=True)
class Moment:
    """A time of day: minutes since midnight on the clock, or minutes after (negative: before) an anchor."""

    anchor: Anchor
    minutes: int

    def __str__(self) -> str:
        if self.anchor is Anchor.CLOCK:
            return f"{self.minutes // 60:02d}:{self.minutes % 60:02d}"
        return f"{self.anchor.value} {self.minutes:+d} min" if self.minutes else self.anchor.value


_CLOCK = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])")
_ANCHORED = re.compile(r"(dawn|sunrise|launch)\s*(?:([+-])\s*([0-9]{1,3})\s*(?:min)?)?")


def read_moment(text: str) -> Moment:
    """Read ``04:45``, ``dawn -45 min``, ``sunrise`` or ``launch -90 min``. Raises InputError."""
    word = text.strip().lower()
    if found := _CLOCK.fullmatch(word):
        return Moment(Anchor.CLOCK, int(found[1]) * 60 + int(found[2]))
    if found := _ANCHORED.fullmatch(word):
        return Moment(Anchor(found[1]), int(f"{found[2] or '+'}{found[3] or 0}"))
    raise InputError(f"{text!r} is no time of day; write 04:45, dawn -45 min, sunrise -60 min or launch -90 min.")


@dataclass(frozen=True, slots=True)
class Times:
    """When a lake's messages are due. ``evening`` is None when no outlook is wanted."""

    morning: Moment
    every_day: bool
    evening: Moment | None
    check_evening: Moment
    check_before_min: int
    check_every_min: int
    retention: Moment


@dataclass(frozen=True, slots=True)
class Trip:
    """The hours of a planned outing."""

    launch: datetime
    back: datetime

    @property
    def watch_until(self) -> datetime:
        """End of the wind checks."""
        return self.back + WATCH_AFTER


@dataclass(frozen=True, slots=True)
class LakePlan:
    """All that planning needs to know of a lake."""

    lake: str
    zone: ZoneInfo
    latitude: float
    longitude: float
    times: Times


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One thing to be made once: due at an instant, of no use any more from ``useful_until`` on."""

    lake: str
    day: date  # what it is about
    kind: Kind
    slot: str
    due_at: datetime
    useful_until: datetime

    @property
    def key(self) -> str:
        """Its name in the ledger: the same for whoever plans it."""
        return f"{self.lake}|{self.day.isoformat()}|{self.kind.value}|{self.slot}"


def due(day: date, minutes: int, zone: ZoneInfo) -> datetime | None:
    """Return the instant (UTC) of a wall time, minutes since midnight, on a local date; None where the date is missing.

    First pass of a repeated hour; a time in a gap is moved forward, or back when forward is the next date
    (a gap that ends at midnight).
    """
    clock = time(minutes // 60, minutes % 60)
    for fold in (0, 1):
        instant = datetime.combine(day, clock, tzinfo=zone).replace(fold=fold).astimezone(UTC)
        if instant.astimezone(zone).date() == day:
            return instant
    return None


def moment_on(plan: LakePlan, day: date, moment: Moment, trip: Trip | None) -> datetime | None:
    """Return the instant of a moment on a local date; None where its anchor is missing that day."""
    if moment.anchor is Anchor.CLOCK:
        return due(day, moment.minutes, plan.zone)
    if moment.anchor is Anchor.LAUNCH:
        base = None if trip is None else trip.launch
    else:
        sky = sky_day(plan.latitude, plan.longitude, day, plan.zone)
        found = sky.civil_dawn if moment.anchor is Anchor.DAWN else sky.sunrise
        base = found[0] if found else None
    return None if base is None else (base + moment.minutes * MINUTE).astimezone(UTC)


@lru_cache(maxsize=20_000)
def occurrences(plan: LakePlan, day: date, trip: Trip | None) -> tuple[Occurrence, ...]:
    """Return what is due about a local date, by due time: briefing, outlook of the evening before, checks, clean-up."""
    return tuple(sorted(_all(plan, day, trip), key=lambda one: (one.due_at, one.kind)))


def _all(plan: LakePlan, day: date, trip: Trip | None) -> Iterator[Occurrence]:
    times = plan.times
    noon = due(day, 12 * 60, plan.zone)
    if noon is None:
        return
    morning = _morning_at(plan, day, trip)
    ends = _useful_until(plan, day, trip, noon)
    if morning is not None and morning < ends and (times.every_day or trip is not None):
        yield Occurrence(plan.lake, day, Kind.MORNING, "", morning, ends)
    if times.evening is not None:
        evening = moment_on(plan, day - DAY, times.evening, None)
        until = morning if morning is not None else noon
        if evening is not None and evening < until:
            yield Occurrence(plan.lake, day, Kind.EVENING, "", evening, until)
    if trip is not None:
        yield from _checks(plan, day, trip)
    clean = moment_on(plan, day, times.retention, None)
    if clean is not None:
        yield Occurrence(plan.lake, day, Kind.RETENTION, "", clean, clean + RETENTION_FOR)


def _morning_at(plan: LakePlan, day: date, trip: Trip | None) -> datetime | None:
    """The briefing's time; one counted from a launch or dawn that the day lacks falls back to 04:45."""
    return moment_on(plan, day, plan.times.morning, trip) or due(day, 4 * 60 + 45, plan.zone)


def _useful_until(plan: LakePlan, day: date, trip: Trip | None, noon: datetime) -> datetime:
    """A briefing is of use until the planned return, else until the light goes."""
    if trip is not None:
        return trip.back
    dusk = sky_day(plan.latitude, plan.longitude, day, plan.zone).civil_dusk
    return dusk[-1] if dusk else noon + DAY_END


def _checks(plan: LakePlan, day: date, trip: Trip) -> Iterator[Occurrence]:
    """The evening before, some time before the launch, then at the launch and on until the planned return + 1 h."""
    times = plan.times
    before = trip.launch - times.check_before_min * MINUTE
    evening = moment_on(plan, day - DAY, times.check_evening, None)
    starts = [evening] if evening is not None and evening < before else []
    starts += [before, trip.launch]
    step = times.check_every_min * MINUTE
    while starts[-1] + step < trip.watch_until:
        starts.append(starts[-1] + step)
    for begin, end in zip(starts, [*starts[1:], trip.watch_until], strict=True):
        yield Occurrence(plan.lake, day, Kind.CHECK, begin.strftime("%m%dT%H%MZ"), begin, end)


def next_check(plan: LakePlan, day: date, trip: Trip, now: datetime) -> datetime | None:
    """Return when the wind is next checked for an outing; None after the last check."""
    return next((one.due_at for one in _checks(plan, day, trip) if one.due_at > now), None)
