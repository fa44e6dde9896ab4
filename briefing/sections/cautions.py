"""Cautions, worst first, each with number against limit, hours and what to do; official alerts as issued."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
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
from briefing.sections.words import FACTOR_PLURAL, FACTOR_WORD, listed, lower_first, upper_first
from briefing.vocabulary import Level

#: Kinds of hazard, the worst first.
ORDER = (
    *("sustained_wind", "gust", "waves", "headway", "thunder", "alerts", "cold_water", "heat", "visibility"),
    *("data_age", "darkness", "tailwater"),
)


#: Factors that are one problem to whoever is out: they come with one wind, and one thing is to be done.
WITH_THE_WIND = frozenset({"sustained_wind", "gust", "waves", "headway", "data_age"})
#: Factors that have a number in every hour in which they are known.
MEASURED = frozenset({"cold_water", "heat", "visibility"})
#: Usual cautions, by id, that speak of the problem of a factor: they go with its entry.
REMINDER_OF = {
    "cold_water": "cold_water",
    "cool_water": "cold_water",
    "lightning": "thunder",
    "heat": "heat",
    "fog": "visibility",
    "tailwater": "tailwater",
    "lights_paddle": "darkness",
    "lights_power": "darkness",
}


class Caution(SectionModel):
    """One problem over a run of hours: ``factors`` are all that make it, ``name`` the one that leads.

    ``number`` and ``limit`` are those of the worst hour, for programs; the text tells the hour of crossing.
    ``reminder`` is the usual caution about the same problem. ``unread``: a caution because nothing was read for it.
    """

    level: Level
    name: str
    factors: tuple[str, ...]
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
    reminder: str = ""
    unread: bool = False


class OfficialAlert(SectionModel):
    """An official alert as issued; nothing of its wording is changed. ``later``: it begins after the hours shown."""

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
    later: bool = False


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
    alerts_known: bool
    standing: tuple[str, ...]
    checked: str
    usual: tuple[UsualCaution, ...]
    usual_check: str
    float_plan: str

    @property
    def official_first(self) -> bool:
        """Whether a warning of the hours shown stands first: it stops or is not known, and no problem is as bad."""
        worst = max((one.level.rank for one in self.official if not one.later), default=0)
        return worst >= Level.UNKNOWN.rank and all(one.level.rank < worst for one in self.items)

    @property
    def unread_first(self) -> bool:
        """Whether official warnings that are not known stand above the problems, because none of them is worse."""
        return not self.alerts_known and all(one.level.rank < Level.UNKNOWN.rank for one in self.items)


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
    out: datetime | None = None,
    back: datetime | None = None,
) -> tuple[tuple[Caution, ...], tuple[Caution, ...]]:
    """Make one caution a problem, worst first: every stop, then at most ``shown`` others; and the rest.

    Within a level what is worse in kind comes first (see `ORDER`), before all the names in ``lead``. ``instead`` puts
    a ready caution in the place of a factor's own, or none. ``out``: when the outing begins; what to do about a stop
    that is over by then is another thing than about one to come. What is not known only from ``back`` on, when the
    outing is over, makes no entry unknown that says what is known before.

    ``levels`` are the hours of the whole day, so that a hazard's end is its own and not that of the table; a hazard
    counts when it touches [begin, end). Alerts stand apart with their own text, so a factor ``alerts`` only appears
    here when they could not be checked.
    """
    found: list[Caution] = []
    ready = instead or {}
    names = dict.fromkeys(factor.name for level in levels for factor in level.factors)
    problems: dict[str, list[str]] = {}
    for name in sorted(names, key=lambda one: ORDER.index(one) if one in ORDER else len(ORDER)):
        problems.setdefault("wind" if name in WITH_THE_WIND else name, []).append(name)
    for together in problems.values():
        own = (
            ready[together[0]]
            if together[0] in ready
            else _of_problem(together, levels, begin, end, actions, zone, day, out, back)
        )
        found += [] if own is None else [own]
    order = (*lead, *(name for name in ORDER if name not in lead))
    found.sort(key=lambda c: (-c.level.rank, min(order.index(n) if n in order else len(order) for n in c.factors)))
    stops = [c for c in found if c.level is Level.STOP]
    others = [c for c in found if c.level is not Level.STOP]
    # what is not known only when the outing is over is named below what is of it
    after = [c for c in others if _only_unknown_after(c, back)]
    others = [c for c in others if c not in after]
    return tuple(stops + others[:shown]), (*others[shown:], *after)


def _only_unknown_after(caution: Caution, back: datetime | None) -> bool:
    late = back is not None and caution.begin is not None and caution.begin >= back
    return late and (caution.level is Level.UNKNOWN or caution.unread)


def more_text(rest: Sequence[Caution]) -> str:
    """Name what has no place of its own: first what isn't known, then cautions."""
    unread = [one for one in rest if one.level is Level.UNKNOWN or one.unread]
    out = []
    for words, held in (("Also not known", unread), ("Also a caution", [one for one in rest if one not in unread])):
        named = "; ".join(f"{one.title.removesuffix(' not known')}, {one.when}" for one in held)
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
        factors=("darkness",),
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


#: What begins from here on does not last all day.
_NOON_H = 12
Hits = list[tuple[datetime, Factor]]


@dataclass(frozen=True)
class _Part:
    """One factor of a problem at one level, with its hours from the first that is still to come."""

    name: str
    level: Level
    hits: Hits

    @property
    def unread(self) -> bool:
        """Whether it is a caution in all its hours because nothing was read for it."""
        measured = self.name in MEASURED and self.level is Level.CAUTION
        return measured and all(factor.number is None for _, factor in self.hits)

    @property
    def lost(self) -> bool:
        """Whether it is not known in any of its hours."""
        return self.level is Level.UNKNOWN or self.unread

    @property
    def first(self) -> tuple[datetime, Factor]:
        """The hour of crossing."""
        return self.hits[0]


def _of_problem(
    names: Sequence[str],
    levels: Sequence[HourLevel],
    begin: datetime,
    end: datetime,
    actions: Mapping[str, Mapping[str, str]],
    zone: ZoneInfo,
    day: date,
    out: datetime | None,
    back: datetime | None,
) -> Caution | None:
    spans = _touching(names, levels, begin, end)
    parts = [part for name in names for part in _parts(name, levels, begin, spans)]
    if not parts:
        return None
    late = [part for part in parts if part.lost and back is not None and part.first[0] >= back]
    late = late if len(late) < len(parts) else []
    parts = [part for part in parts if part not in late]
    # stable: then as in `ORDER`
    parts.sort(key=lambda part: (-part.level.rank, part.unread, max(part.first[0], begin)))
    level, lead = parts[0].level, parts[0]
    stops = {part.name for part in parts if part.level is Level.STOP}
    # what a factor is at caution before its own stop is said with the stop
    told = [part for part in parts if part.level is not Level.CAUTION or part.name not in stops]
    titles = list(dict.fromkeys(_title(part, actions) for part in told))
    worst = max((factor for _, factor in lead.hits), key=lambda one: one.badness)
    runs = runs_of([hour for part in parts if part.level is level for hour, _ in part.hits])
    words, to_do = actions.get(lead.name, {}), _to_do(lead, worst)
    if out is not None and runs[-1][1] <= out:
        to_do = f"{to_do}_before" if f"{to_do}_before" in words else to_do
    return Caution(
        level=level,
        name=lead.name,
        factors=tuple(dict.fromkeys(part.name for part in told)),
        title=listed([titles[0], *(lower_first(title) for title in titles[1:])]),
        when=_when(parts, level, runs, begin, zone, day),
        begin=runs[0][0],
        end=runs[-1][1],
        text=f"{_text(told, names, max(runs[0][0], begin), begin, zone, day)}{_late(late, zone, day)}",
        number=worst.number,
        limit=worst.limit,
        unit=worst.unit,
        source=worst.source,
        action=words.get(to_do, "Take care and judge it at the water."),
        unread=lead.unread,
    )


def _title(part: _Part, actions: Mapping[str, Mapping[str, str]]) -> str:
    """The name of a factor's entry; of one that nothing was read for that it is not known."""
    title = str(actions.get(part.name, {}).get("title", part.name.replace("_", " ")))
    return str(actions.get(part.name, {}).get("title_unread", f"{title}, not known")) if part.unread else title


def _to_do(part: _Part, worst: Factor) -> str:
    """What kind of action a factor calls for: where it is a caution because it isn't known, that of the unknown."""
    unread = worst.number is None and part.name in MEASURED
    return Level.UNKNOWN.value if unread and part.level is Level.CAUTION else part.level.value


def _touching(
    names: Sequence[str], levels: Sequence[HourLevel], begin: datetime, end: datetime
) -> list[tuple[datetime, datetime]]:
    """Runs of hours of a problem that touch [begin, end), whatever their level: a caution does not end in a stop."""
    hours = [
        one.hour
        for one in levels
        for factor in one.factors
        if factor.name in names and factor.level is not Level.WITHIN_LIMITS and not factor.standing
    ]
    return [run for run in runs_of(hours) if run[1] > begin and run[0] < end]


def _parts(
    name: str, levels: Sequence[HourLevel], begin: datetime, spans: Sequence[tuple[datetime, datetime]]
) -> list[_Part]:
    """A factor's hours at each level within the runs of its problem, from ``begin`` on."""
    found = []
    for wanted in (Level.STOP, Level.UNKNOWN, Level.CAUTION):
        if name == "alerts" and wanted is not Level.UNKNOWN:
            continue
        hits = [
            (level.hour, factor)
            for level in levels
            for factor in level.factors
            if factor.name == name and factor.level is wanted and not factor.standing and not _of_no_wind(factor, level)
        ]
        kept = [
            (hour, factor)
            for hour, factor in hits
            if hour + timedelta(hours=1) > begin and any(first <= hour < last for first, last in spans)
        ]
        lost = [hit for hit in kept if name in MEASURED and wanted is Level.CAUTION and hit[1].number is None]
        known = [hit for hit in kept if hit not in lost]
        found += [_Part(name, wanted, hits) for hits in (known, lost) if hits]
    return found


def _late(parts: Sequence[_Part], zone: ZoneInfo, day: date) -> str:
    """From when on, after the outing, what is not known, in a sentence behind the others."""
    if not parts:
        return ""
    words = [FACTOR_PLURAL.get(part.name, FACTOR_WORD[part.name]) for part in parts if part.name != "data_age"]
    since = clock(min(part.first[0] for part in parts), zone, day)
    what = f"{upper_first(listed(words))} not known" if words else "No forecast to go by"
    return f" {what} from {since} on."


def _of_no_wind(factor: Factor, level: HourLevel) -> bool:
    """True for the age of a forecast in an hour for which it gave no wind: that the wind is not known says it."""
    wind = next((one for one in level.factors if one.name == "sustained_wind"), None)
    no_wind = wind is not None and wind.level is Level.UNKNOWN and wind.number is None
    return factor.name == "data_age" and factor.number is None and no_wind


def _when(
    parts: Sequence[_Part],
    level: Level,
    runs: Sequence[tuple[datetime, datetime]],
    begin: datetime,
    zone: ZoneInfo,
    day: date,
) -> str:
    """The hours at the entry's level, and those that are less, but not within the limits either."""
    covered = {hour for part in parts if part.level is level for hour, _ in part.hits}
    when = listed([_span(max(first, begin), last, zone, day) for first, last in runs])
    for lower, word in ((Level.UNKNOWN, "not known"), (Level.CAUTION, "caution")):
        hours = sorted({hour for part in parts if part.level is lower for hour, _ in part.hits} - covered)
        covered |= set(hours)
        early = [hour for hour in hours if hour < runs[0][0]]
        if lower is level or not hours:
            continue
        if lower is Level.CAUTION and level is Level.STOP:
            when += f" (caution from {clock(max(early[0], begin), zone, day)})" if early else ""
        else:
            spans = [_span(max(first, begin), last, zone, day) for first, last in runs_of(hours)]
            when += f"; {word} {listed(spans)}"
    return when


def _text(
    told: Sequence[_Part], names: Sequence[str], since: datetime, begin: datetime, zone: ZoneInfo, day: date
) -> str:
    """A sentence a factor: with the wind as it crosses its limit, else as it is at its worst, each with its hour."""
    sentences = []
    if not WITH_THE_WIND.intersection(names):
        for part in told:
            hour, factor = max(part.hits, key=lambda hit: hit[1].badness)
            later = hour > part.first[0] and factor.text != part.first[1].text
            sentences += [f"Worst at {clock(hour, zone, day)}."] if later else []
            sentences.append(factor.text)
        return " ".join(dict.fromkeys(sentences))
    alike = _unknown_alike(told, begin)
    for part in told:
        hour, factor = part.first
        at = max(hour, begin)
        text = factor.text
        if part in alike:
            if part is not alike[0]:
                continue
            what = listed([FACTOR_PLURAL.get(one.name, FACTOR_WORD[one.name]) for one in alike])
            text = f"{upper_first(what)} are not known: {factor.why_unknown}."
        sentences.append(text if at <= since else f"From {clock(at, zone, day)} {lower_first(text)}")
    return " ".join(dict.fromkeys(sentences))


def _unknown_alike(told: Sequence[_Part], begin: datetime) -> list[_Part]:
    """Parts that are not known from the same hour on for the same reason, told in one sentence; none for a single."""
    unknown = [part for part in told if part.level is Level.UNKNOWN and part.first[1].why_unknown]
    lead = next(iter(unknown), None)
    if lead is None:
        return []

    def of(part: _Part) -> tuple[datetime, str]:
        return max(part.first[0], begin), part.first[1].why_unknown

    alike = [part for part in unknown if of(part) == of(lead)]
    return alike if len(alike) > 1 else []


def _span(first: datetime, last: datetime, zone: ZoneInfo, day: date) -> str:
    """A run of hours; one that lasts to midnight has no end that matters."""
    if last.astimezone(zone).date() > day:
        all_day = ", all day" if first.astimezone(zone).hour < _NOON_H else ""
        return f"from {clock(first, zone, day)} on{all_day}"
    return span(first, last, zone, day)


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


#: How the list of what was looked at and found within the limits begins.
IN_EVERY_HOUR = "Within your limits in every hour shown"


def checked_text(
    levels: Sequence[HourLevel], actions: Mapping[str, Mapping[str, str]], apart: Collection[str] = ()
) -> str:
    """Say what was looked at and stayed within the limits all day; factors in ``apart`` are spoken of elsewhere."""
    if not levels:
        return "No hours of this outing are left to check."
    by_name: dict[str, list[Factor]] = {}
    warned = {name for level in levels for factor in level.factors for name in factor.about}
    apart = {*apart, *warned}  # the office says otherwise, or may
    for level in levels:
        for factor in level.factors:
            by_name.setdefault(factor.name, []).append(factor)
    calm, left_out = [], []
    for name, found in by_name.items():
        if name in ("alerts", "data_age", "darkness") or name in apart or len(found) != len(levels):
            continue
        # what only an estimate stands in for was not checked
        if any(one.level is not Level.WITHIN_LIMITS or one.estimated for one in found):
            continue
        excluded = next((one.text for one in found if one.excluded), "")
        if excluded:
            left_out.append(excluded)
        else:
            calm.append(str(actions.get(name, {}).get("title", name.replace("_", " "))).lower())
    known = any(one.level is not Level.UNKNOWN for found in by_name.values() for one in found)
    none = (
        "Nothing that was checked stayed within your limits the whole time." if known else "Nothing could be checked."
    )
    said = f"{IN_EVERY_HOUR}: {listed(calm)}." if calm else none
    return " ".join([said, *left_out])


def fill_official(
    alerts: ResolvedAlerts,
    consequence: Callable[[ActiveAlert], Consequence],
    *,
    begin: datetime,
    end: datetime,
    out_until: datetime,
    zone: ZoneInfo,
    day: date,
) -> tuple[OfficialAlert, ...]:
    """Every alert in force between ``begin`` and ``end``, worst first; its text is passed on as issued.

    Those from ``out_until`` on, when the hours shown are over, stand last.
    """
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
                later=active.begin >= out_until,
            )
        )
    return tuple(sorted(found, key=lambda a: (a.later, -a.level.rank, a.begin or begin)))


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
            f"Read them {again_at} before you launch, and enter what you read."
        )
    at = clock(alerts.checked_at, zone, day) if alerts.checked_at else "an unknown time"
    if alerts.damaged or alerts.checked_at is None or stale:
        why = f"of those read at {at} some could not be understood"
        if alerts.checked_at is None or not alerts.damaged:
            why = f"they were last read at {at}, too long ago"
        return f"OFFICIAL WARNINGS ARE NOT ALL KNOWN: {why}. Read them {again_at} before you launch." + (
            " What could be read, as issued:" if shown else ""
        )
    read = f"Official warnings {'typed by you' if alerts.entered else 'read'} at {at}"
    return f"{read}." if shown else f"{read}: none listed for this lake and these hours."
