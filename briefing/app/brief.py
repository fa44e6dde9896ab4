"""Make a briefing, or one part of it, for a lake and a day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Generic, TypeVar

from briefing.app.when import read_clock, read_day
from briefing.errors import InputError, NotFoundError, StoreError

if TYPE_CHECKING:
    from briefing.app.assembly import App
    from briefing.core.advice.plan import DayPlan
    from briefing.core.advice.rods import RodPlan
    from briefing.pipeline.advice import Advised
    from briefing.pipeline.conditions_file import EnteredConditions
    from briefing.pipeline.inputs import MorningInputs
    from briefing.pipeline.made import Made
    from briefing.pipeline.run import Run
    from briefing.profile.model import LakeProfile
    from briefing.sections.season import SeasonSection
    from briefing.sections.water_report import WaterReport

T = TypeVar("T")

#: From this hour of the day on the rods are rigged for tomorrow.
EVENING_H = 12


@dataclass(frozen=True)
class Asked:
    """What a user asks for, as typed: a day, clock times at the lake, a file of weather read elsewhere.

    ``day`` is a date such as 2026-04-18, today when left out; ``launch`` and ``back`` are clock times such as 06:30,
    else the planned or usual hours; ``offline``: no service is asked for this one.
    """

    lake: str | None = None
    day: str | None = None
    launch: str | None = None
    back: str | None = None
    fixed_launch: bool = False
    offline: bool = False
    conditions: Path | None = None


@dataclass(frozen=True)
class Saved:
    """A briefing and its files; ``unkept`` says in sentences what could not be stored or saved."""

    made: Made
    paths: tuple[Path, ...]
    unkept: tuple[str, ...]


@dataclass(frozen=True)
class Part(Generic[T]):
    """A part of the morning alone, with sentences on what was kept but could not be used."""

    value: T
    profile: LakeProfile
    day: date
    notes: tuple[str, ...]


@dataclass(frozen=True)
class RodsToRig:
    """Rods for an outing, with the advice they come from and when it begins.

    ``day`` is the plan whose stops they are for; ``meanwhile``: they are for a later day, without an hour out then.
    """

    plan: RodPlan
    advised: Advised
    launch: datetime
    day: DayPlan
    meanwhile: bool


#: Why no service is asked: they refuse callers who can't be reached.
NO_CONTACT = "no contact is set in settings.toml"


def run_of(app: App, asked: Asked) -> Run:
    """Turn what was asked into a run. Raises InputError for a date or time that can't be read, NotFoundError."""
    from briefing.pipeline.run import Run

    path = app.lake_path(asked.lake)
    profile = app.profile_at(path)
    at = app.now()
    here = at.astimezone(profile.zone).date()
    day = read_day(asked.day, here) if asked.day else here
    launch = read_clock(asked.launch, day, profile.zone) if asked.launch else None
    back = read_clock(asked.back, day, profile.zone) if asked.back else None
    if back is not None and launch is None:
        raise InputError("--return needs --launch: say both, such as --launch 06:30 --return 11:30.")
    if launch is not None and back is not None and back <= launch:
        raise InputError(
            f"--return {asked.back} is not after --launch {asked.launch}; say both as clock times of the same day."
        )
    unreachable = not app.settings().contact.strip()
    return Run(
        profile=profile,
        profile_path=path,
        day=day,
        now=at,
        offline=asked.offline or app.offline or unreachable,
        unasked_why=NO_CONTACT if unreachable and not (asked.offline or app.offline) else Run.unasked_why,
        conditions=None if asked.conditions is None else _conditions(asked.conditions, profile, day, at),
        launch=launch,
        back=back,
        fixed_launch=asked.fixed_launch,
    )


def brief(app: App, asked: Asked) -> Made:
    """Retrieve, compute, render and store the briefing; ``Made.unkept`` says what could not be stored."""
    return _made(app, run_of(app, asked))


def brief_and_save(app: App, asked: Asked, folder: Path | None = None) -> Saved:
    """Make the briefing and save it in a folder, the lake's own when left out."""
    from briefing.pipeline.made import save

    run = run_of(app, asked)
    made = _made(app, run)
    try:
        return Saved(made, save(made, folder or app.folder_of(run.profile)), made.unkept)
    except StoreError as error:
        return Saved(made, (), (*made.unkept, str(error)))


def water(app: App, asked: Asked) -> Part[WaterReport]:
    """The water temperature in full: state, days, readings, how good the model has been."""
    from briefing.pipeline.parts import water_report

    inputs, notes = _inputs(app, asked)
    return _part(water_report(inputs, app.tables()), inputs, notes)


def seasons(app: App, asked: Asked) -> Part[tuple[SeasonSection, ...]]:
    """The seasonal phase of every species form of the lake."""
    from briefing.pipeline.parts import seasons as seasons_of

    inputs, notes = _inputs(app, asked)
    return _part(seasons_of(inputs, app.tables()), inputs, notes)


def rods(app: App, asked: Asked, aboard: int | None = None) -> Part[RodsToRig]:
    """The rods to rig: for today in the morning, for tomorrow from noon on; ``aboard`` is how many fit."""
    from briefing.core.advice.rods import by_use, choose_rods
    from briefing.pipeline.build import build

    if asked.day is None:
        asked = replace(asked, day=next_day(app.now(), app.lake(asked.lake)).isoformat())
    inputs, notes = _inputs(app, asked)
    tables = app.tables()
    advised = build(inputs, tables).advised
    later = advised.later
    plan, day = (advised.rods, advised.plan) if later is None else (later.rods, later.plan)
    if aboard is not None:
        plan = by_use(choose_rods(replace(advised.rods_problem, k=aboard), tables.rods), day)
    found = RodsToRig(plan, advised, inputs.outing.launch, day, meanwhile=later is not None)
    return _part(found, inputs, notes)


def next_day(now: datetime, profile: LakeProfile) -> date:
    """The day to rig for: today in the morning, tomorrow from noon on, by the lake's own clock."""
    local = now.astimezone(profile.zone)
    return local.date() + timedelta(days=1 if local.hour >= EVENING_H else 0)


def _made(app: App, run: Run) -> Made:
    from briefing.pipeline.run import make

    with app.store_anyway() as store, app.fetcher(asks=run.asks) as fetcher:
        return make(run, app.tables(), app.normals(run.profile), store, fetcher)


def _inputs(app: App, asked: Asked) -> tuple[MorningInputs, tuple[str, ...]]:
    from briefing.pipeline.run import prepare

    run = run_of(app, asked)
    with app.store_anyway() as store, app.fetcher(asks=run.asks) as fetcher:
        inputs, notes = prepare(run, app.normals(run.profile), store, fetcher)
        return inputs, (*notes, *((store.unwritable,) if store.unwritable else ()))


def _part(value: T, inputs: MorningInputs, notes: tuple[str, ...]) -> Part[T]:
    return Part(value, inputs.profile, inputs.day, notes)


#: A clock that runs behind by up to this much is no reason to ask back when a forecast was read.
_CLOCKS_DIFFER = timedelta(minutes=10)


def _conditions(path: Path, profile: LakeProfile, day: date, now: datetime) -> EnteredConditions:
    """Weather as typed in a file. Raises InputError, also where it was read later than now: it would not count."""
    import tomli

    from briefing.pipeline.conditions_file import read_conditions

    try:
        with path.open("rb") as handle:
            data = tomli.load(handle)
    except FileNotFoundError:
        raise NotFoundError(f"{path}: no such file; give the path of a conditions file.") from None
    except (tomli.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(f"{path} is not a readable TOML file: {error}.") from error
    found = read_conditions(data, path.name, day, profile.zone, profile.units)
    read_at = {"read_at": found.read_at, "alerts, read_at": None if found.alerts is None else found.alerts.checked_at}
    for name, instant in read_at.items():
        if instant is not None and instant - now > _CLOCKS_DIFFER:
            at, here = (one.astimezone(profile.zone).strftime("%Y-%m-%d %H:%M") for one in (instant, now))
            raise InputError(
                f"{path.name}, {name}: {at} lies ahead (it is {here} at the lake); write when you read it. "
                "The hours may be tomorrow's: say so with --date."
            )
    return found
