"""Planned outings: plan one, change it, call it off, list what lies ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from briefing.app.assembly import App
from briefing.app.served import outing_on
from briefing.app.when import read_clock, read_day
from briefing.errors import InputError
from briefing.pipeline.inputs import Outing
from briefing.profile.model import LakeProfile
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import NewOuting, OutingEntry

#: Outings that habits bring are listed so many days ahead.
LISTED_DAYS = 14


@dataclass(frozen=True)
class TypedOuting:
    """An outing as typed; what is left out stays as it was. ``spots`` are names with commas between them."""

    day: str | None = None
    launch: str | None = None
    back: str | None = None
    ramp: str | None = None
    spots: str | None = None
    fixed_launch: bool | None = None
    weigh_in: str | None = None


@dataclass(frozen=True)
class PlannedOuting:
    """A stored outing and the lake it is at."""

    entry: OutingEntry
    profile: LakeProfile


@dataclass(frozen=True)
class ComingOuting:
    """An outing ahead; ``entry`` is None for one that a habit of the lake's file brings."""

    profile: LakeProfile
    day: date
    outing: Outing
    entry: OutingEntry | None


def plan_outing(app: App, lake: str | None, typed: TypedOuting) -> PlannedOuting:
    """Store a new outing. Raises InputError for what can't be read, or is over."""
    profile = app.lake(lake)
    if typed.day is None or typed.launch is None or typed.back is None:
        raise InputError("An outing needs --date, --launch and --return, such as --date 2026-05-02 --launch 05:15.")
    new = _checked(profile, app.now(), typed.day, typed.launch, typed.back, typed)
    with app.store() as store:
        return PlannedOuting(Ledger(store).add_outing(profile.id, new, app.now()), profile)


def change_outing(app: App, number: int, typed: TypedOuting) -> PlannedOuting:
    """Change a stored outing; what was not typed stays. The wind checks move along."""
    with app.store() as store:
        ledger = Ledger(store)
        old = ledger.outing(number)
        profile = app.lake(old.lake)
        weigh_in = None if old.weigh_in is None else local_clock(old.weigh_in, profile)
        whole = TypedOuting(
            ramp=typed.ramp or old.ramp,
            spots=typed.spots if typed.spots is not None else ", ".join(old.spots),
            fixed_launch=old.fixed_launch if typed.fixed_launch is None else typed.fixed_launch,
            weigh_in=typed.weigh_in or weigh_in,
        )
        day = typed.day or old.day.isoformat()
        launch, back = typed.launch or local_clock(old.launch, profile), typed.back or local_clock(old.back, profile)
        new = _checked(profile, app.now(), day, launch, back, whole)
        return PlannedOuting(ledger.change_outing(number, new, app.now()), profile)


def cancel_outing(app: App, number: int | None, day: str | None, lake: str | None) -> PlannedOuting:
    """Call an outing off by its number, or the usual outing of a day."""
    with app.store() as store:
        ledger = Ledger(store)
        if number is not None:
            entry = ledger.cancel_outing(number, app.now())
            return PlannedOuting(entry, app.lake(entry.lake))
        if day is None:
            raise InputError("Say which: its number, or --date for the usual outing of a day.")
        profile = app.lake(lake)
        when = read_day(day, app.now().astimezone(profile.zone).date())
        outing = outing_on(profile, when, ledger.outing_on(profile.id, when))
        if outing is None:
            raise InputError(f"No outing is planned for {when}; see briefing trip list.")
        skipped = ledger.skip_day(profile.id, NewOuting(when, outing.launch, outing.back), app.now())
        return PlannedOuting(skipped, profile)


def coming_outings(app: App, lake: str | None) -> list[ComingOuting]:
    """The outings of the next two weeks, at one lake or all, with those that habits bring."""
    profiles = [app.lake(lake)] if lake else [app.profile_at(path) for path in app.lake_files()]
    return [one for profile in profiles for one in _coming(app, profile)]


def _coming(app: App, profile: LakeProfile) -> list[ComingOuting]:
    today = app.now().astimezone(profile.zone).date()
    with app.store() as store:
        entries = {entry.day: entry for entry in Ledger(store).outings(profile.id, today)}
    days = {today + timedelta(days=n) for n in range(LISTED_DAYS)} | set(entries)
    found = [(day, outing_on(profile, day, entries.get(day))) for day in sorted(days)]
    return [ComingOuting(profile, day, outing, entries.get(day)) for day, outing in found if outing is not None]


def local_clock(instant: datetime, profile: LakeProfile) -> str:
    """Clock time at the lake."""
    return f"{instant.astimezone(profile.zone):%H:%M}"


def _checked(profile: LakeProfile, now: datetime, day: str, launch: str, back: str, typed: TypedOuting) -> NewOuting:
    when = read_day(day, now.astimezone(profile.zone).date())
    begin, end = read_clock(launch, when, profile.zone), read_clock(back, when, profile.zone)
    closes = read_clock(typed.weigh_in, when, profile.zone) if typed.weigh_in else None
    if end <= begin:
        raise InputError(f"--return {back} is not after --launch {launch}; say both as clock times of the same day.")
    if end <= now:
        raise InputError(f"That outing is over: it is {now.astimezone(profile.zone):%Y-%m-%d %H:%M} at the lake.")
    if closes is not None and closes < end:
        raise InputError(
            f"The weigh-in at {typed.weigh_in} closes before the return at {back}; set an earlier --return."
        )
    names = [ramp.name for ramp in profile.ramps]
    if typed.ramp and names and typed.ramp not in names:
        raise InputError(f"{profile.name} has no ramp {typed.ramp!r}; its ramps: {', '.join(names)}.")
    wanted = tuple(word.strip() for word in (typed.spots or "").split(",") if word.strip())
    for word in wanted:
        if profile.spot(word) is None:
            known = ", ".join(spot.name for spot in profile.spots) or "none in its file"
            raise InputError(f"{profile.name} has no spot {word!r}; its spots: {known}.")
    return NewOuting(when, begin, end, typed.ramp, wanted, bool(typed.fixed_launch), closes)
