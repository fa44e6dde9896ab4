"""Cautions, worst first, each with number against limit, hours and what to do; official alerts as issued."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from briefing.core.wind.alerts import ActiveAlert, ResolvedAlerts
from briefing.core.wind.events import Consequence, Match
from briefing.core.wind.inputs import DayLight
from briefing.core.wind.level import Factor, HourLevel
from briefing.reader import Country
from briefing.sections.clock import clock, nearest_minute, span
from briefing.sections.country import read_again
from briefing.sections.quantity import SectionModel
from briefing.sections.words import listed
from briefing.vocabulary import Level

#: Kinds of hazard, the worst first.
ORDER = (
    *("sustained_wind", "gust", "waves", "headway", "thunder", "alerts", "cold_water", "heat", "visibility"),
    *("data_age", "darkness", "tailwater"),
)


class Caution(SectionModel):
    """One hazard over a run of hours."""

    level: Level
    name: str
    title: str
    when: str
    begin: datetime | None
    end: datetime | None
    text: str
    number: float | None
    limit: float | None
    unit: str
    source: str
    action: str


class OfficialAlert(SectionModel):
    """An official alert as issued; nothing of its wording is changed."""

    level: Level
    event: str
    headline: str
    when: str
    begin: datetime | None
    end: datetime | None
    issued_by: str
    issued_text: str
    description: str
    instruction: str
    area: str
    consequence: str
    in_force: bool


class UsualCaution(SectionModel):
    """A standing caution that applies today, with its official source."""

    title: str
    text: str
    source: str


class CautionsSection(SectionModel):
    """Everything that can hurt, and what was checked without finding."""

    items: tuple[Caution, ...]
    more_text: str
    official: tuple[OfficialAlert, ...]
    alerts_state: str
    standing: tuple[str, ...]
    checked: str
    usual: tuple[UsualCaution, ...]
    usual_check: str
    float_plan: str


def fill_caution_items(
    levels: Sequence[HourLevel],
    begin: datetime,
    end: datetime,
    actions: Mapping[str, Mapping[str, str]],
    *,
    zone: ZoneInfo,
    day: date,
    shown: int = 3,
    lead: Sequence[str] = (),
    instead: Mapping[str, Caution | None] | None = None,
) -> tuple[tuple[Caution, ...], tuple[Caution, ...]]:
    """Make one caution a factor and level, worst first: every stop, then at most ``shown`` others; and the rest.

    Within a level what is worse in kind comes first (see `ORDER`), before all the names in ``lead``. ``instead`` puts
    a ready caution in the place of a factor's own, or none.

    ``levels`` are the hours of the whole day, so that a hazard's end is its own and not that of the table; a hazard
    counts when it touches [begin, end). Alerts stand apart with their own text, so a factor ``alerts`` only appears
    here when they could not be checked.
    """
    found: list[Caution] = []
    ready = instead or {}
    for name in dict.fromkeys(factor.name for level in levels for factor in level.factors):
        if name in ready:
            own = ready[name]
            found += [] if own is None else [own]
        else:
            found += _of_factor(name, levels, begin, end, actions.get(name, {}), zone, day)
    order = (*lead, *(name for name in ORDER if name not in lead))
    found.sort(key=lambda c: (-c.level.rank, order.index(c.name) if c.name in order else len(order)))
    stops = [c for c in found if c.level is Level.STOP]
    others = [c for c in found if c.level is not Level.STOP]
    return tuple(stops + others[:shown]), tuple(others[shown:])


def more_text(rest: Sequence[Caution]) -> str:
    """Name what has no place of its own: first what isn't known, then cautions."""
    out = []
    for words, level in (("Also not known", Level.UNKNOWN), ("Also a caution", Level.CAUTION)):
        named = "; ".join(f"{one.title}, {one.when}" for one in rest if one.level is level)
        out += [f"{words}, see the hour table: {named}."] if named else []
    return " ".join(out)


def dark_caution(
    light: DayLight, begin: datetime, end: datetime, words: Mapping[str, str], zone: ZoneInfo, day: date
) -> Caution | None:
    """Darkness by the sun itself: lights from sunset to sunrise, close to the ramp until civil dawn.

    None where the outing from ``begin`` to ``end`` lies between dawn and dusk, which all of ``light`` must know.
    """
    if not (light.dawn and light.sunrise and light.sunset and light.dusk):
        return None
    events = (light.dawn, light.sunrise, light.sunset, light.dusk)
    dawn, sunrise, sunset, dusk = (nearest_minute(at, zone, day) for at in events)
    when, text = [], []
    if begin < light.dawn:
        when.append(f"until first light, {dawn}")
        text.append(f"Dark until {dawn}: keep close to the ramp. Lights on until sunrise, {sunrise}.")
    if end > light.dusk:
        when.append(f"from {dusk} on")
        text.append(f"Lights on from sunset, {sunset}; dark from {dusk}.")
    if not when:
        return None
    return Caution(
        level=Level.CAUTION,
        name="darkness",
        title=words.get("title", "Darkness"),
        when=listed(when),
        begin=begin,
        end=end,
        text=" ".join(text),
        number=None,
        limit=None,
        unit="",
        source="sun",
        action=words.get(Level.CAUTION.value, "Take care and judge it at the water."),
    )


Hits = list[tuple[datetime, Factor]]


def _of_factor(
    name: str,
    levels: Sequence[HourLevel],
    begin: datetime,
    end: datetime,
    words: Mapping[str, str],
    zone: ZoneInfo,
    day: date,
) -> list[Caution]:
    by_level: dict[Level, Hits] = {}
    for wanted in (Level.STOP, Level.UNKNOWN, Level.CAUTION):
        hits = [
            (level.hour, factor)
            for level in levels
            for factor in level.factors
            if factor.name == name and factor.level is wanted and not factor.standing
        ]
        touching = [run for run in runs_of([hour for hour, _ in hits]) if run[1] > begin and run[0] < end]
        kept = [(hour, factor) for hour, factor in hits if any(first <= hour < last for first, last in touching)]
        if kept and not (name == "alerts" and wanted is not Level.UNKNOWN):
            by_level[wanted] = kept
    items = []
    for wanted, hits in by_level.items():
        if wanted is Level.CAUTION and Level.STOP in by_level:
            continue  # said with the stop
        before = by_level.get(Level.CAUTION, []) if wanted is Level.STOP else []
        items.append(_caution(wanted, hits, before, begin, words, zone, day))
    return items


def _caution(
    level: Level, hits: Hits, before: Hits, begin: datetime, words: Mapping[str, str], zone: ZoneInfo, day: date
) -> Caution:
    worst = max((f for _, f in hits), key=_badness)
    runs = runs_of([hour for hour, _ in hits])
    when = listed([_span(max(first, begin), last, zone, day) for first, last in runs if last > begin])
    early = [hour for hour, _ in before if begin <= hour < runs[0][0]]
    if early:
        when += f" (caution from {clock(early[0], zone, day)})"
    return Caution(
        level=level,
        name=worst.name,
        title=words.get("title", worst.name.replace("_", " ")),
        when=when,
        begin=runs[0][0],
        end=runs[-1][1],
        text=worst.text,
        number=worst.number,
        limit=worst.limit,
        unit=worst.unit,
        source=worst.source,
        action=words.get(level.value, "Take care and judge it at the water."),
    )


def _span(first: datetime, last: datetime, zone: ZoneInfo, day: date) -> str:
    """A run of hours; one that lasts to midnight has no end that matters."""
    if last.astimezone(zone).date() > day:
        return f"from {clock(first, zone, day)} on, all day"
    return span(first, last, zone, day)


def _badness(factor: Factor) -> float:
    """How far a number is past its limit; cold and poor visibility are worse when lower."""
    if factor.number is None or not factor.limit:
        return 0.0
    ratio = factor.number / factor.limit
    return -ratio if factor.name in ("cold_water", "visibility") else ratio


def runs_of(hours: Sequence[datetime]) -> list[tuple[datetime, datetime]]:
    """Join hours that follow each other into (begin, end) runs."""
    hour = timedelta(hours=1)
    runs: list[tuple[datetime, datetime]] = []
    for at in sorted(set(hours)):
        if runs and runs[-1][1] == at:
            runs[-1] = (runs[-1][0], at + hour)
        else:
            runs.append((at, at + hour))
    return runs


def checked_text(
    levels: Sequence[HourLevel], actions: Mapping[str, Mapping[str, str]], apart: Collection[str] = ()
) -> str:
    """Say what was looked at and stayed within the limits all day; factors in ``apart`` are spoken of elsewhere."""
    by_name: dict[str, list[Factor]] = {}
    for level in levels:
        for factor in level.factors:
            by_name.setdefault(factor.name, []).append(factor)
    calm, left_out = [], []
    for name, found in by_name.items():
        if name == "alerts" or name in apart or len(found) != len(levels):
            continue
        # what only an estimate stands in for was not checked
        if any(one.level is not Level.WITHIN_LIMITS or one.estimated for one in found):
            continue
        excluded = next((one.text for one in found if one.excluded), "")
        if excluded:
            left_out.append(excluded)
        else:
            calm.append(str(actions.get(name, {}).get("title", name.replace("_", " "))).lower())
    said = (
        f"Also checked and within your limits in every hour shown: {listed(calm)}."
        if calm
        else "Nothing that was checked stayed within your limits the whole time."
    )
    return " ".join([said, *left_out])


def fill_official(
    alerts: ResolvedAlerts,
    consequence: Callable[[ActiveAlert], Consequence],
    *,
    begin: datetime,
    end: datetime,
    zone: ZoneInfo,
    day: date,
) -> tuple[OfficialAlert, ...]:
    """Every alert in force between ``begin`` and ``end``, worst first; its text is passed on as issued."""
    found = []
    for active in alerts.active:
        if active.begin >= end or (active.end is not None and active.end <= begin):
            continue
        effect = consequence(active)
        alert = active.alert
        until = "no end given" if active.end is None else f"until {clock(active.end, zone, day)}"
        notes = []
        if active.vanished:
            notes.append("It is no longer listed but was never cancelled, so it counts until its end.")
        if active.expired_text:
            notes.append("The text is past its own date; the event is not over.")
        if active.odd_times:
            notes.append("Its times contradict each other: it counts until the later end.")
        if active.twin:
            notes.append("Another message of the same number says otherwise: both count.")
        if effect.match is Match.WORDS:
            notes.append("Its name is not the usual one: it is judged by its words, the strict way.")
        found.append(
            OfficialAlert(
                level=effect.level,
                event=alert.event or "A message without a name",
                headline=alert.headline,
                when=f"from {clock(active.begin, zone, day)} {until}",
                begin=active.begin,
                end=active.end,
                issued_by=alert.issued_by,
                issued_text=f"sent {clock(alert.sent, zone, day)}",
                description=alert.description,
                instruction=alert.instruction,
                area="; ".join(active.areas) or alert.area,
                consequence=" ".join([f"For your craft: {effect.text.rstrip('.')}.", *notes]),
                in_force=active.begin <= begin,
            )
        )
    return tuple(sorted(found, key=lambda a: (-a.level.rank, a.begin or begin)))


def alerts_state_text(
    alerts: ResolvedAlerts, shown: int, *, zone: ZoneInfo, day: date, now: datetime, stale: bool, country: Country
) -> str:
    """Say whether official warnings could be read, when, and how many were found; a failure is never "none".

    ``stale``: they were read too long ago to go by.
    """
    again_at = read_again(country)
    if not alerts.service_exists:
        return (
            "Official warnings: no warning service is read for this place, so warnings are not known. "
            f"Read them {again_at} before you launch."
        )
    if alerts.problem:
        last = "" if alerts.checked_at is None else f" They were last read at {clock(alerts.checked_at, zone, day)}."
        return (
            f"OFFICIAL WARNINGS COULD NOT BE CHECKED at {clock(now, zone, day)}: {alerts.problem.rstrip('.')}.{last} "
            f"Read them {again_at} before you launch."
        )
    at = clock(alerts.checked_at, zone, day) if alerts.checked_at else "an unknown time"
    if alerts.damaged or alerts.checked_at is None or stale:
        why = f"of those read at {at} some could not be understood"
        if alerts.checked_at is None or not alerts.damaged:
            why = f"they were last read at {at}, too long ago"
        return f"OFFICIAL WARNINGS ARE NOT ALL KNOWN: {why}. Read them {again_at} before you launch." + (
            " What could be read, as issued:" if shown else ""
        )
    again = "" if alerts.entered else f" Read them again {again_at} before you launch."
    if not shown:
        return f"Official warnings: none listed for this lake and these hours when read at {at} ({alerts.name}).{again}"
    return f"Official warnings, as issued, read at {at} ({alerts.name}); read them again {again_at}:"
