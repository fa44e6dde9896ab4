"""Lakes as the service sees them, their outings, and what is due for them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from zoneinfo import ZoneInfo

from briefing.app.assembly import App
from briefing.app.planner import Kind, LakePlan, Occurrence, Trip, occurrences
from briefing.app.service_settings import ServiceSettings
from briefing.core.sky import sky_day
from briefing.errors import BriefingError
from briefing.pipeline.inputs import Outing
from briefing.pipeline.run import planned_outing
from briefing.profile.model import LakeProfile
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import OutingEntry

DAY = timedelta(days=1)
#: An occurrence with the outing it is about.
Planned = tuple[Occurrence, Trip | None]


@dataclass(frozen=True)
class Lake:
    """A lake that is served."""

    profile: LakeProfile
    path: Path
    plan: LakePlan


def served_lakes(app: App, settings: ServiceSettings, unreadable: Callable[[Path, BriefingError], None]) -> list[Lake]:
    """Lakes to serve. A file that can't be read is handed to ``unreadable`` and left out; the others go on."""
    out = []
    for path in app.lake_files():
        try:
            profile = app.profile_at(path)
        except BriefingError as error:
            unreadable(path, error)
            continue
        own = settings.lakes.get(profile.id)
        if own is None or not own.off:
            times = settings.times_of(profile.id)
            plan = LakePlan(profile.id, profile.zone, profile.latitude, profile.longitude, times)
            out.append(Lake(profile, path, plan))
    return out


def outing_on(profile: LakeProfile, day: date, entry: OutingEntry | None) -> Outing | None:
    """The planned outing of a date: stored, or a habit of the profile."""
    if entry is None and profile.outing_on(day) is None:
        return None
    return planned_outing(profile, day, entry, _sunrise(profile.latitude, profile.longitude, day, profile.zone))


@lru_cache(maxsize=20_000)
def _sunrise(latitude: float, longitude: float, day: date, zone: ZoneInfo) -> datetime | None:
    found = sky_day(latitude, longitude, day, zone).sunrise
    return found[0] if found else None


def trip_of(outing: Outing | None) -> Trip | None:
    """The hours of an outing, as the planner takes them."""
    return None if outing is None else Trip(outing.launch, outing.back)


def open_occurrences(ledger: Ledger, lake: Lake, first: date, now: datetime) -> Iterator[Planned]:
    """Occurrences of a lake from a date until the day after tomorrow; see `planned_occurrences`."""
    return planned_occurrences(ledger.outings(lake.profile.id, first), lake, first, now)


def planned_occurrences(outings: Iterable[OutingEntry], lake: Lake, first: date, now: datetime) -> Iterator[Planned]:
    """Occurrences of a lake from a date until the day after tomorrow, with the outing they are about, by due time.

    Checks that were over before their outing was entered are left out.
    """
    last = now.astimezone(lake.profile.zone).date() + 2 * DAY
    entries = {entry.day: entry for entry in outings if entry.day >= first}
    found: list[Planned] = []
    day = first
    while day <= last:
        entry = entries.get(day)
        trip = trip_of(outing_on(lake.profile, day, entry))
        for one in occurrences(lake.plan, day, trip):
            if one.kind is not Kind.CHECK or entry is None or one.useful_until > entry.entered_at:
                found.append((one, trip))
        day += DAY
    yield from sorted(found, key=lambda pair: (pair[0].due_at, pair[0].key))
