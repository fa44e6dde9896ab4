"""One briefing from start to end: profile, store and services in, files and store out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np

from briefing.core.alerts import AlertFeed
from briefing.core.climate.normals import AirNormals
from briefing.core.gathered import Gathered, Problem
from briefing.core.gathered_json import from_json, to_json
from briefing.core.hours import HourSeries
from briefing.core.readings import DailyAir
from briefing.core.sky import sky_day
from briefing.core.wind.shape import LakeShape
from briefing.errors import StoreError
from briefing.knowledge import load_condition_words, load_log_parameters
from briefing.pipeline.build import build
from briefing.pipeline.conditions_file import EnteredConditions
from briefing.pipeline.experience import read_experience
from briefing.pipeline.inputs import Entered, Knowledge, MorningInputs, Outing
from briefing.pipeline.keep import keep, read_kept, source_memory
from briefing.pipeline.made import Made, render
from briefing.pipeline.shape import lake_shape
from briefing.pipeline.tables import reader_of
from briefing.pipeline.typed_weather import TYPED_NAME, typed_hours, understood, with_typed
from briefing.profile.model import LakeProfile
from briefing.sources.gather import GatherRequest, Stations, gather
from briefing.sources.http import Fetcher
from briefing.sources.tables import stale_table
from briefing.store import Store, convert
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import OutingEntry, OutingState
from briefing.store.records import ReadingKind

#: Told at the top of a page that is made without what the user entered.
LOST = (
    "What you entered is missing from this page: your entries could not be read, thunder you heard and warnings you "
    "read among them. Read the warnings again, and enter again what you saw."
)
#: Begins what is told where nothing was ever retrieved.
_NO_FORECAST = "The forecast is not known"
_NONE_STORED = Problem(
    "store",
    f"{_NO_FORECAST}: none is stored for this lake.",
    "Every hour counts as not known. What you read elsewhere you can type: briefing conditions add.",
    serious=True,
    short="the forecast of wind, gusts, waves, thunder, heat and visibility",
)
#: Begins what is told of safety inputs that were not typed.
_NOT_TYPED = "Not in what you typed"
#: Days of air temperature that the water engine is fed: back beyond last winter.
HISTORY_DAYS = 400


@dataclass(frozen=True)
class Run:
    """What to make. ``launch``/``back`` override the profile's usual hours; ``conditions`` replaces all services.

    ``unasked_why`` says why no service is asked, where ``offline``.
    """

    profile: LakeProfile
    profile_path: Path | None
    day: date
    now: datetime
    offline: bool = False
    conditions: EnteredConditions | None = None
    launch: datetime | None = None
    back: datetime | None = None
    fixed_launch: bool = False
    seed: int = 0
    remarks: tuple[str, ...] = ()
    notes_come: bool = False
    unasked_why: str = "the run was off line"

    @property
    def asks(self) -> bool:
        """Whether data services are asked for this run."""
        return not self.offline and self.conditions is None


def make(run: Run, knowledge: Knowledge, normals: AirNormals, store: Store, fetcher: Fetcher | None) -> Made:
    """Retrieve (unless offline), compute, render and store a briefing.

    A store that can't be written costs no morning: ``Made.unkept`` then says what could not be kept.
    """
    made = compute(run, knowledge, normals, store, fetcher)
    lost = "this morning, and what it learned for the next one"
    return replace(made, unkept=tried(store, lambda: remember(run, made, store), lost))


def tried(store: Store, keep_it: Callable[[], None], what: str) -> tuple[str, ...]:
    """Store something; where that can't be done, return the sentence that says so instead of raising."""
    why = store.unwritable
    if not why:
        try:
            keep_it()
        except StoreError as error:
            why = str(error)
    return (f"NOT KEPT: {what}. {why}",) if why else ()


def compute(run: Run, knowledge: Knowledge, normals: AirNormals, store: Store, fetcher: Fetcher | None) -> Made:
    """Retrieve (unless offline), compute and render a briefing; the store is only read."""
    inputs, notes = prepare(run, normals, store, fetcher)
    return render(build(inputs, knowledge), inputs.gathered, notes)


def remember(run: Run, made: Made, store: Store) -> None:
    """Store a briefing, its inputs and what was learned, for the next one to start from."""
    store.save_gathered(run.profile.id, run.now, to_json(made.gathered))
    keep(store, run.profile.id, made.built, made.gathered.memory, made.json, run.now)


def prepare(
    run: Run, normals: AirNormals, store: Store, fetcher: Fetcher | None
) -> tuple[MorningInputs, tuple[str, ...]]:
    """Bring the inputs of a morning together; also returns sentences about what was kept but could not be used."""
    lake = run.profile.id
    kept, notes = read_kept(store, lake, run.profile.species, run.day, run.now)
    last = store.last_gathered(lake, run.now)
    stored = None if last is None else _stored(last.text)
    if stored is not None:
        kept = replace(kept, accepted=stored.hours)
    shape = lake_shape(run.profile, run.profile_path)
    gathered_now = _with_typed(_gathered(run, shape, store, fetcher, stored), run, store)
    entered = _entered(store, lake, run)
    seen = read_experience(store, run.profile, gathered_now, entered, run.now, load_log_parameters())
    kept = replace(kept, segments=seen.segments, checks=seen.checks)
    inputs = MorningInputs(
        profile=run.profile,
        reader=reader_of(run.profile),
        shape=shape,
        normals=normals,
        gathered=gathered_now,
        entered=entered,
        kept=kept,
        outing=outing_of(run, Ledger(store).outing_on(lake, run.day)),
        day=run.day,
        now=run.now,
        seed=run.seed,
        remarks=(*run.remarks, *((LOST,) if store.lost else ())),
        notes_come=run.notes_come,
    )
    return inputs, notes


def _stored(text: str) -> Gathered | None:
    try:
        return _retrieved_alone(from_json(text))
    except ValueError:
        return None


def _retrieved_alone(stored: Gathered) -> Gathered:
    """What was stored without the weather typed in words: that is kept by itself, and may have been taken back."""
    fields = {}
    for name, one in stored.hours.fields.items():
        typed = [number for number, origin in enumerate(one.origins) if origin.name == TYPED_NAME]
        lost = np.isin(one.origin_index, typed)
        values, index = np.where(lost, np.nan, one.values), np.where(lost, -1, one.origin_index)
        fields[name] = replace(one, values=values, origin_index=index.astype(np.int16)) if typed else one
    problems = tuple(one for one in stored.problems if not one.missing.startswith(_NOT_TYPED))
    return replace(stored, hours=replace(stored.hours, fields=fields), problems=problems)


def _entered(store: Store, lake: str, run: Run) -> Entered:
    readings = [one for one in store.list_readings(lake) if one.time <= run.now or one.kind.value == "water_temp"]
    entered = Entered(
        water=convert.water_readings(readings),
        winds=convert.wind_readings(readings),
        clarity=convert.clarity_readings(readings),
        level=convert.level_readings(readings),
        alerts=convert.alert_feed(readings),
        thunder_heard=convert.thunder_times(readings),
        plants=convert.plant_readings(readings),
        signs=convert.signs(one for one in store.list_signs(lake) if one.time <= run.now),
    )
    if run.conditions is not None and run.conditions.alerts is not None:
        entered = replace(entered, alerts=run.conditions.alerts)
    return entered


def _gathered(run: Run, shape: LakeShape, store: Store, fetcher: Fetcher | None, stored: Gathered | None) -> Gathered:
    if run.conditions is not None:
        return from_entered(run, run.conditions, stored)
    if run.offline or fetcher is None:
        return from_stored(run, stored)
    return gather(gather_request(run, store, far_ends(shape)), fetcher)


def _with_typed(gathered: Gathered, run: Run, store: Store) -> Gathered:
    """What was gathered with the weather that was typed for this day over it."""
    if run.conditions is not None:  # a file stands for itself
        return gathered
    seen = [one for one in store.list_readings(run.profile.id, kinds=[ReadingKind.CONDITIONS]) if one.time <= run.now]
    lines = convert.typed_conditions(seen, run.day)
    if not lines:
        return gathered
    words = load_condition_words()
    typed = [typed_hours(understood(text, run.profile, run.day, words), run.profile, run.day, at) for text, at in lines]
    hours = with_typed(gathered.hours, typed, run.now, stale_table())
    day = typed[0]
    here = hours.window(day.start, day.start + timedelta(hours=day.hours))
    problems = tuple(
        one for one in gathered.problems if one.source != "store" or not one.missing.startswith(_NO_FORECAST)
    )
    missing = [word for name, word in _SAFETY_FIELDS if not np.isfinite(here.values(name)).any()]
    if np.isfinite(here.values("thunder_words_pct")).any():
        missing = [word for word in missing if word != "thunder"]
    if missing and len(problems) < len(gathered.problems):
        told = f"{_NOT_TYPED}: {', '.join(missing)}."
        problems += (Problem("user", told, _meaning(missing), serious=True, short=", ".join(missing)),)
    return replace(
        gathered,
        hours=hours,
        raw={**gathered.raw, "user": day},
        problems=problems,
        credits=tuple(dict.fromkeys((*gathered.credits, "Weather as typed by you."))),
    )


def gather_request(run: Run, store: Store, alert_points: tuple[tuple[float, float], ...] = ()) -> GatherRequest:
    """What the services are asked for this run; ``alert_points`` are the lake's far ends, asked for warnings."""
    profile = run.profile
    return GatherRequest(
        latitude=profile.latitude,
        longitude=profile.longitude,
        now=run.now,
        time_zone=profile.time_zone,
        history_start=run.day - timedelta(days=HISTORY_DAYS),
        alert_points=alert_points,
        stations=Stations(
            usgs=profile.stations.usgs_sites,
            airports=(profile.stations.airport,) if profile.stations.airport else (),
            buoys=(profile.stations.buoy,) if profile.stations.buoy else (),
        ),
        memory=source_memory(store, profile.id),
        elevation_m=None if profile.is_guessed("elevation_m") else profile.elevation_m,
    )


def from_entered(run: Run, conditions: EnteredConditions, stored: Gathered | None) -> Gathered:
    """Inputs made of the user's file alone; the season's air so far comes from what is stored."""
    base = from_stored(run, stored)
    problems = tuple(p for p in base.problems if p.source == "air")
    missing = [word for name, word in _SAFETY_FIELDS if not np.isfinite(conditions.hours.values(name)).any()]
    if missing:
        problems += (
            Problem(
                *("user", f"Not in your file: {', '.join(missing)}.", _meaning(missing)),
                serious=True,
                short=", ".join(missing),
            ),
        )
    silent = "" if conditions.alerts is not None else "Your file says nothing of official warnings."
    return replace(
        base,
        hours=conditions.hours,
        raw={"user": conditions.hours},
        alerts=AlertFeed((), None, "user", "warnings you read", problem=silent),
        wind_now=(),
        problems=problems,
        credits=("Weather as entered by you.",),
        requests=(),
        retrieved_at=run.now,
        notes=(),
    )


_SAFETY_FIELDS = (("wind_mps", "wind"), ("wind_from_deg", "wind direction"), ("thunder_pct", "thunder"))


def _meaning(missing: Sequence[str]) -> str:
    """What it means that the user's weather lacks something; without a direction alone hours can still be judged."""
    if list(missing) == ["wind direction"]:
        return "No bank can be called sheltered, and the way home counts as into the wind."
    return "Those hours count as not known."


def from_stored(run: Run, stored: Gathered | None) -> Gathered:
    """Inputs as last stored, for a run without a network; warnings are not carried over as if just read."""
    offline = f"The services were not asked: {run.unasked_why}."
    if stored is None:
        start = run.day - timedelta(days=HISTORY_DAYS)
        days = HISTORY_DAYS + 11
        air = DailyAir(
            start=start,
            mean_c=np.full(days, np.nan),
            kind=("missing",) * days,
            lead_days=np.zeros(days, np.int16),
            source="none",
            name="no air temperature stored",
        )
        base = run.now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
        hours = HourSeries(base, 1)
        feed = AlertFeed((), None, "none", "official warnings", problem=offline)
        problems = (
            _NONE_STORED,
            Problem(
                "air",
                "The air temperature is not known: none is stored.",
                "The water model runs on climate normals alone.",
            ),
        )
        return Gathered(hours, {}, air, feed, (), (), (), problems, (), (), run.now)
    feed = replace(stored.alerts, problem=offline)
    problem = _NONE_STORED
    if np.isfinite(stored.hours.values("wind_mps")).any():
        problem = Problem(
            "store",
            f"Off line: the forecast is the one retrieved {_hours_ago(run.now, stored.retrieved_at)} ago.",
            "Read a newer one and today's warnings before you launch.",
            serious=True,
        )
    return replace(
        stored,
        alerts=feed,
        # this computer's clock may have been set since, and how old the stored forecast was then is no matter
        problems=(problem, *(one for one in stored.problems if one.source not in ("clock", "store"))),
        requests=(),
        memory=stored.memory,
    )


def _hours_ago(now: datetime, then: datetime) -> str:
    hours = (now - then).total_seconds() / 3600.0
    return f"{hours * 60:.0f} min" if hours < 1.5 else f"{hours:.0f} h"


def far_ends(shape: LakeShape) -> tuple[tuple[float, float], ...]:
    """Latitude and longitude of the lake's ends to the north, east, south and west; none for an assumed outline."""
    if shape.assumed:
        return ()
    ring = shape.outer_xy_m
    picks = [ring[:, 1].argmax(), ring[:, 0].argmax(), ring[:, 1].argmin(), ring[:, 0].argmin()]
    lat, lon = shape.plane.to_latlon(ring[picks])
    points = dict.fromkeys(zip(np.ravel(lat).tolist(), np.ravel(lon).tolist(), strict=True))
    return tuple(points)


def outing_of(run: Run, entry: OutingEntry | None) -> Outing:
    """The hours to judge: as given, else the planned trip, else the usual outing, else what is left of the daylight."""
    profile, zone = run.profile, run.profile.zone
    sky = sky_day(profile.latitude, profile.longitude, run.day, zone)
    sunrise = sky.sunrise[0] if sky.sunrise else None
    dawn = sky.civil_dawn[0] if sky.civil_dawn else sky.start
    dusk = sky.civil_dusk[-1] if sky.civil_dusk else sky.end
    if run.launch is not None:
        back = run.back or min(run.launch + timedelta(hours=5), max(dusk, run.launch + timedelta(hours=1)))
        return Outing(run.launch, back, planned=True, fixed_launch=run.fixed_launch, lead="as you gave them")
    planned = planned_outing(profile, run.day, entry, sunrise)
    if planned is not None:
        return planned
    if dawn < run.now < dusk:
        return Outing(run.now, dusk, planned=False, lead="now to last light")
    return Outing(dawn, dusk, planned=False, lead="first to last light")


def planned_outing(
    profile: LakeProfile, day: date, entry: OutingEntry | None, sunrise: datetime | None
) -> Outing | None:
    """The planned outing of a local date: the stored one, else a habit of the profile that was not called off."""
    if entry is not None:
        if entry.state is not OutingState.CURRENT:
            return None
        return Outing(
            entry.launch,
            entry.back,
            planned=True,
            fixed_launch=entry.fixed_launch,
            ramp=entry.ramp,
            lead="your planned trip",
            weigh_in=entry.weigh_in,
            spots=entry.spots,
        )
    usual = profile.outing_on(day)
    if usual is None:
        return None
    launch, home = usual.launch.on(day, profile.zone, sunrise), usual.back.on(day, profile.zone, sunrise)
    if launch is None or home is None or home <= launch:
        return None
    return Outing(launch.astimezone(UTC), home.astimezone(UTC), planned=True, lead="your usual hours in the profile")
