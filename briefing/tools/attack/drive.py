"""Drives bodies to the page: the real client, the real gathering, the real levels and the real briefing.

Water, season and plan of a base are made once and used again, since they take most of the time and what the bodies
changed is judged without them; a sample of the cases, and all that touch the water, are built whole.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest import mock

from briefing.core.gathered import Gathered, SourceMemory
from briefing.core.hours import HourSeries
from briefing.core.readings import DailyAir
from briefing.core.sky import sky_day
from briefing.core.wind.alerts import ResolvedAlerts
from briefing.core.wind.fetch import fetch_table
from briefing.pipeline import build as building
from briefing.pipeline import hazard
from briefing.pipeline.build import Built, build
from briefing.pipeline.inputs import Entered, Kept, Knowledge, MorningInputs, Outing
from briefing.pipeline.run import far_ends
from briefing.pipeline.tables import load_tables, reader_of
from briefing.report.render import to_html, to_json, to_text
from briefing.sections.briefing import Briefing
from briefing.sections.glance import NOT_KNOWN, things_named
from briefing.sources import gather as gathering
from briefing.sources import nws, open_meteo
from briefing.sources.gather import GatherRequest, Stations, gather
from briefing.tools.attack.bases import Base
from briefing.tools.attack.bodies import Bodies
from briefing.tools.attack.serve import fetcher_for
from briefing.vocabulary import Level

#: Days of air temperature before the morning: enough to start the water, few enough to be quick.
HISTORY = timedelta(days=9)
#: Where the water is not made anew, so few that the model's archive is not asked.
NO_HISTORY = timedelta(days=3)
HOUR = timedelta(hours=1)


@dataclass(frozen=True)
class Memory:
    """What one gathering leaves for the next one."""

    sources: SourceMemory = field(default_factory=SourceMemory)
    alerts: ResolvedAlerts | None = None
    accepted: HourSeries | None = None


@dataclass(frozen=True)
class Outcome:
    """What a morning came to, as far as it can hurt.

    levels: by hour of the outing that is not past; factors: by hour and factor the worst level. minutes: of launch
    windows within those hours. off: the instant to be off the water, None when there is no window. top: the lines of
    the page's top; official: those beside the official warnings.
    """

    levels: Mapping[datetime, Level]
    factors: Mapping[datetime, Mapping[str, Level]]
    minutes: float
    off: datetime | None
    headline: str
    top: tuple[str, ...]
    official: tuple[str, ...]
    checked: str
    thunder_shown: bool
    memory: Memory
    text: str = ""


@dataclass(frozen=True)
class Parts:
    """A whole morning and its air, from which the slow parts of others are taken."""

    built: Built
    air: DailyAir


@lru_cache(maxsize=1)
def tables() -> Knowledge:
    """All tables of ``config/``."""
    return load_tables()


def gathered_of(
    base: Base, bodies: Bodies, memory: Memory, now: datetime, cache: Path | None = None, history: timedelta = HISTORY
) -> Gathered:
    """Ask all services of the morning, as the program does."""
    profile = base.profile
    request = GatherRequest(
        latitude=profile.latitude,
        longitude=profile.longitude,
        now=now,
        time_zone=profile.time_zone,
        history_start=(now - history).date(),
        alert_points=far_ends(base.shape)[:1],
        stations=Stations(
            usgs=profile.stations.usgs_sites,
            airports=(profile.stations.airport,) if profile.stations.airport else (),
            buoys=(profile.stations.buoy,) if profile.stations.buoy else (),
        ),
        memory=memory.sources,
        elevation_m=None if profile.is_guessed("elevation_m") else profile.elevation_m,
    )
    with fetcher_for(bodies, now, cache) as fetcher:
        return gather(request, fetcher)


def inputs_of(base: Base, gathered: Gathered, memory: Memory, now: datetime) -> MorningInputs:
    """The inputs of a morning; what the user entered is the water of yesterday at most."""
    shift = now - base.now
    return MorningInputs(
        profile=base.profile,
        reader=reader_of(base.profile),
        shape=base.shape,
        normals=base.normals,
        gathered=gathered,
        entered=Entered(water=base.water),
        kept=Kept(alerts=memory.alerts, accepted=memory.accepted),
        outing=Outing(base.launch + shift, base.back + shift, planned=True, lead="composed"),
        day=now.astimezone(base.profile.zone).date(),
        now=now,
    )


def drive(
    base: Base,
    bodies: Bodies,
    memory: Memory | None = None,
    now: datetime | None = None,
    *,
    cache: Path | None = None,
    parts: Parts | None = None,
    with_text: bool = False,
) -> Outcome:
    """Take a morning from its bodies to its page. With ``parts`` water, season and plan are those, not made anew."""
    inputs, built = made(base, bodies, memory or Memory(), now or base.now, cache, parts)
    return outcome_of(inputs, built, with_text=with_text)


def made(
    base: Base, bodies: Bodies, memory: Memory, now: datetime, cache: Path | None = None, parts: Parts | None = None
) -> tuple[MorningInputs, Built]:
    """Gather and build a morning."""
    with contextlib.nullcontext() if parts is None else _with_parts(parts), _remembered():
        found = gathered_of(base, bodies, memory, now, cache, HISTORY if parts is None else NO_HISTORY)
        inputs = inputs_of(base, found, memory, now)
        return inputs, build(inputs, tables())


@contextlib.contextmanager
def _with_parts(parts: Parts) -> Iterator[None]:
    """Put what was made once in the place of what is slow and says nothing of wind, thunder and warnings."""
    briefing = parts.built.briefing
    ready = {
        "water_of": parts.built.water,
        "phases_of": parts.built.phases,
        "advise_day": parts.built.advised,
        "fill_seasons": briefing.season,
        "sureness_of": briefing.sureness,
        "_water_light": briefing.water,
        "_map": briefing.map,
    }
    with contextlib.ExitStack() as stack:
        for name, value in ready.items():
            stack.enter_context(mock.patch.object(building, name, _always(value)))
        stack.enter_context(mock.patch.object(gathering, "daily_air", _always(parts.air)))
        yield


def _always(value: Any) -> Callable[..., Any]:
    def give(*_: object, **__: object) -> Any:
        return value

    return give


@contextlib.contextmanager
def _remembered() -> Iterator[None]:
    """The sun of a day, the open water of a shore and what a sound body says are the same in every case: made once."""
    with (
        mock.patch.object(open_meteo, "parse_hours", _once(open_meteo.parse_hours)),
        mock.patch.object(nws, "parse_grid", _once(nws.parse_grid)),
        mock.patch.object(hazard, "sky_day", _sky_day),
        mock.patch.object(building, "sky_day", _sky_day),
        mock.patch.object(hazard, "fetch_table", _fetch_table),
    ):
        yield


_READ: dict[tuple[Any, ...], Any] = {}


def _once(parse: Callable[..., Any]) -> Callable[..., Any]:
    """A pure reader of bodies that reads the same body only once; the newest few hundred are remembered."""

    def read(*arguments: Any, **named: Any) -> Any:
        whole = (*arguments, *named.values())
        key = (parse, *named, *(one if isinstance(one, bytes | datetime | tuple) else id(one) for one in whole))
        if key not in _READ:
            while len(_READ) > 200:
                _READ.pop(next(iter(_READ)))
            _READ[key] = parse(*arguments, **named), whole  # the arguments are held, so that their ids stay theirs
        return _READ[key][0]

    return read


_sky_day = lru_cache(maxsize=256)(sky_day)
_FETCHES: dict[tuple[int, bytes], Any] = {}


def _fetch_table(shape: Any, points: Any, labels: Any, **options: Any) -> Any:
    key = id(shape), points.tobytes()
    if key not in _FETCHES:
        _FETCHES[key] = fetch_table(shape, points, labels, **options)
    return _FETCHES[key]


def parts_of(base: Base) -> Parts:
    """Make the slow parts of a base's sound morning."""
    inputs, built = made(base, base.bodies, Memory(), base.now)
    return Parts(built, inputs.gathered.air)


def outcome_of(inputs: MorningInputs, built: Built, *, with_text: bool = False) -> Outcome:
    """Read levels, deadlines and the top of the page off a built morning."""
    launch, back = inputs.outing.launch, inputs.outing.back
    begin = max(launch, inputs.now)
    wanted = [one for one in built.hazards.levels if one.hour + HOUR > begin and one.hour < back]
    factors: dict[datetime, dict[str, Level]] = {}
    for one in wanted:
        worst = factors.setdefault(one.hour, {})
        for factor in one.factors:
            if not factor.standing and factor.level.rank >= worst.get(factor.name, Level.WITHIN_LIMITS).rank:
                worst[factor.name] = factor.level
    inside = [(max(w.begin, begin), min(w.end, back)) for w in built.hazards.windows]
    briefing = built.briefing
    return Outcome(
        levels={one.hour: one.level for one in wanted},
        factors=factors,
        minutes=sum(max(0.0, (end - first).total_seconds() / 60) for first, end in inside),
        off=briefing.day.off_water_by,
        headline=briefing.day.line(),
        top=top_of(briefing),
        official=tuple(f"{one.event}: {one.consequence}" for one in briefing.cautions.official),
        checked=briefing.cautions.checked,
        thunder_shown=all(row.thunder_text != "?" for row in briefing.hours.rows),
        memory=Memory(inputs.gathered.memory, built.hazards.alerts, inputs.gathered.hours),
        text=f"{to_text(briefing)}{to_json(briefing)}{to_html(briefing)}" if with_text else "",
    )


def top_of(briefing: Briefing) -> tuple[str, ...]:
    """Lines of the page's head, day and cautions, and what the glance names as not known with what is told of it below.

    What was checked and found calm is left out, and what the first screen does not name.
    """
    cautions = briefing.cautions
    day = briefing.day
    lines = [*briefing.head.remarks, *briefing.head.doubts, day.line(), *day.before, cautions.alerts_state]
    lines += [f"{one.title}: {one.text}" for one in cautions.items]
    lines += [cautions.more_text, *cautions.standing]
    named = " ".join(one.text for one in briefing.glance.lines if one.name == NOT_KNOWN)
    lines += [
        f"{one.what} {one.means}"
        for one in briefing.unknown.items
        if all(part in named for part in things_named(one.short))
    ]
    return tuple(line for line in lines if line)
