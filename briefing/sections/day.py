"""What the day comes to: level, hours out, what ends them, the launch windows and the two instants that matter."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from briefing.core.wind.inputs import DayLight
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.windows import SHORTEST_OUTING, Deadlines, Window
from briefing.core.wind.words import limit_digits, speed_digits, speed_unit
from briefing.sections.clock import clock, nearest_minute, rounded_down, rounded_up, span
from briefing.sections.quantity import SectionModel
from briefing.sections.words import DAY_WORD, FACTOR_WORD, LEVEL_SHAPE, LEVEL_WORD, listed, lower_first, upper_first
from briefing.units import Units
from briefing.vocabulary import Level, worst

#: Hazards that are minded also where nothing was read for them: then it is that which is told.
UNREAD = ("heat", "visibility")
#: What to do where the hours are not known.
UNTIL_KNOWN = "Don't launch until that is known: make the briefing again."
#: Said where only the hours beside one decide it.
HELD = "held with the hours beside it"
#: Worst kind first, as the reader is told of them.
ORDER = ("alerts", "sustained_wind", "gust", "waves", "headway", "thunder", "cold_water", "heat", "visibility")
DARK = FACTOR_WORD["darkness"]
OLD = FACTOR_WORD["data_age"]
#: Words that stand against a number of the user's own, and so can pass it.
MEASURED = ("wind", "gusts", "waves")
#: Words that are many, and what is many where it is not known.
PLURAL = ("gusts", "waves")
_PLURAL = {FACTOR_WORD["alerts"]: "official warnings"}
HOUR = timedelta(hours=1)
#: Words of the longest sentence.
_LONGEST_WORDS = 25
#: What comes within so long after the return is told with it.
SOON = timedelta(hours=2)
#: A hazard that is told with its own hours.
_TIMED = re.compile(r" (?:from|until) ")
#: Two last moments to start back that lie this far apart are both told.
WORTH_TELLING = timedelta(minutes=15)


@dataclass(frozen=True)
class Names:
    """How the factors of an hour are called today.

    events holds names of official alerts by id, light the sun of the day, off_route words of what does not lie on the
    way planned, always what is to be minded in every hour out beside what the hours bring.
    """

    events: Mapping[str, str] = field(default_factory=dict)
    light: DayLight | None = None
    off_route: frozenset[str] = frozenset()
    always: tuple[str, ...] = ()

    def word(self, factor: Factor) -> str:
        """One factor, an official alert by its own name."""
        if factor.name == "alerts" and factor.ref in self.events:
            return self.events[factor.ref]
        return "gusts" if factor.name == "gust" else FACTOR_WORD.get(factor.name, factor.name.replace("_", " "))

    def of(self, factors: Sequence[Factor]) -> list[str]:
        """Several factors, worst kind first, each once."""
        return sorted(dict.fromkeys(self.word(factor) for factor in factors), key=self.place)

    def place(self, word: str) -> int:
        """Where a word stands in the order."""
        if word in self.events.values():
            return -1
        known = [self.word(Factor(name, Level.CAUTION, None, None, "", "", "")) for name in ORDER]
        return known.index(word) if word in known else len(known)


@dataclass(frozen=True)
class Answer:
    """What stands before all hours: why to stay ashore, the condition that the hours hold by, the kind of hazard."""

    why: str
    condition: str
    because: str


@dataclass(frozen=True)
class HoursOut:
    """First and last instant on the water as printed: the one start and the one end that every section tells."""

    begin: datetime
    off: datetime


@dataclass(frozen=True)
class WayHomeText:
    """The last moment for the way home of a plan, and the sentence about it."""

    by: datetime
    text: str


class WindowText(SectionModel):
    """A run of daylight hours that is not over a limit; ``ends_because`` says what closes it."""

    begin: datetime
    end: datetime
    level: Level
    text: str
    ends_because: str


class DaySection(SectionModel):
    """What the day comes to. ``word`` with its ``shape`` is the level line, ``hours_text`` and ``why`` go with it.

    ``level`` is that of the hours; ``answer`` that of what the level line tells to do, which a condition makes a stop.
    ``begin`` and ``off`` are the hours out as printed, None where there are none. ``because`` are the kinds of hazard
    that decide, worst first; ``late`` those that keep ashore until a start later than planned. ``before`` is to be read
    before the hours, ``sentences`` say more of them.
    """

    level: Level
    answer: Level
    shape: str
    word: str
    condition: str
    begin: datetime | None
    off: datetime | None
    hours_text: str
    why: str
    because: tuple[str, ...]
    late: tuple[str, ...]
    before: tuple[str, ...]
    sentences: tuple[str, ...]
    windows: tuple[WindowText, ...]
    off_water_by: datetime | None
    off_water_because: str
    start_back_by: datetime | None
    start_back_text: str
    fixed_launch_outside: bool

    def line(self) -> str:
        """The level line and what goes with it as plain text."""
        return " ".join(text for text in (f"{self.shape} {self.word}.", self.told()) if text)

    def told(self) -> str:
        """Hours and why, in the order they are read."""
        return " ".join(read_in_order(self.hours_text, self.why, self.condition))


def read_in_order(hours_text: str, why: str, condition: str) -> tuple[str, ...]:
    """Hours before why, save where why is what there is to know: under a condition, and where they are not known."""
    parts = (why, hours_text) if condition or hours_text == UNTIL_KNOWN else (hours_text, why)
    return tuple(text for text in parts if text)


def fill_day(
    levels: Sequence[HourLevel],
    windows: Sequence[Window],
    deadlines: Deadlines | None,
    *,
    launch: datetime,
    back: datetime,
    fixed_launch: bool,
    now: datetime,
    zone: ZoneInfo,
    day: date,
    system: Units = "us",
    first: tuple[str, ...] = (),
    last: tuple[str, ...] = (),
    way_home: WayHomeText | None = None,
    names: Names | None = None,
    answer: Answer | None = None,
) -> DaySection:
    """Say the day: windows against the user's limits, when to be off the water and when to start back.

    ``launch`` to ``back`` are the hours in question. ``first`` is to be read before the hours (a closed season),
    ``last`` after them, only when there is a window. An ``answer`` (very cold water met alone) makes the day a stop
    and the hours stand under its condition. ``way_home`` stands for the sentence on the way home where a plan knows
    which places it is about.
    """
    told = Telling(levels, launch, back, zone, day, names or Names(), system, now)
    ahead = [window for window in windows if window.end > now]
    at_launch = _at_launch(levels, launch)
    outside = fixed_launch and _closed(at_launch)
    useful = _useful(windows, deadlines, launch, back, now)
    out = hours_out(levels, windows, deadlines, launch=launch, back=back, fixed_launch=fixed_launch, now=now)
    home = "" if not (deadlines and useful) else way_home.text if way_home else _start_back(deadlines, zone, day)
    level = worst([one.level for one in told.wanted]) if told.wanted else Level.UNKNOWN
    if out is not None:
        level = worst([_by_light(one) for one in told.inside(out)] or [useful[0].level])
    level = at_launch.level if outside and at_launch else level
    ends = deadlines if useful else None
    if outside:
        said = told.fixed(at_launch)
    elif out is None and is_over(deadlines, launch, back, now):
        said, level = told.over(_off(deadlines, back)), Level.STOP
    elif out is None:
        said = told.no_hours(level)
    else:
        said = told.hours(out, ends)
    early = "" if out is None or outside else _launch_later(out, launch, now, told.names.light, zone, day)
    again = [w for w in windows if w.begin >= max(now, _off(deadlines, back)) and back - w.begin >= SHORTEST_OUTING]
    sentences = _sentences(
        told.wanted, useful, deadlines, zone, day, back, home, early, again, planned=way_home is not None
    )
    condition, hours, why, because = "", said.hours, said.why, said.because
    if answer is not None:
        if out is not None and not outside:
            condition = answer.condition
            hours = f"{condition}: {lower_first(hours)}"
            # what ends the hours early, or keeps ashore until they begin, stands beside why to stay ashore
            early_off = (out.off < back or bool(said.late)) and bool(said.why)
            sentences = (said.why, *sentences) if said.why and not early_off else sentences
            why, because = f"{answer.why} {said.why}" if early_off else answer.why, (answer.because,)
        else:
            why = f"{why} {answer.why}".strip()
    result = _answer_level(level, out, outside, conditional=bool(condition))
    return DaySection(
        level=level,
        answer=result,
        shape=LEVEL_SHAPE[result],
        word=DAY_WORD[result],
        condition=condition,
        begin=None if out is None or outside else out.begin,
        off=None if out is None or outside else out.off,
        hours_text=hours,
        why=why,
        because=because,
        late=said.late,
        before=first,
        sentences=(*sentences, *(last if useful else ())),
        windows=tuple(_window(window, zone, day) for window in ahead),
        off_water_by=ends.off_water_by if ends else None,
        off_water_because=ends.because if ends else "",
        start_back_by=None if ends is None else way_home.by if way_home else ends.start_back_by,
        start_back_text=home if ends else "",
        fixed_launch_outside=outside,
    )


@dataclass(frozen=True)
class Said:
    """The hours in a few words, why, the kinds of hazard that decide, and those that keep ashore until the start."""

    hours: str
    why: str
    because: tuple[str, ...] = ()
    late: tuple[str, ...] = ()


@dataclass(frozen=True)
class Telling:
    """The hours in question and how their hazards are called."""

    levels: Sequence[HourLevel]
    launch: datetime
    back: datetime
    zone: ZoneInfo
    day: date
    names: Names
    system: Units
    now: datetime

    @property
    def wanted(self) -> list[HourLevel]:
        """The hours from launch to return."""
        return [one for one in self.levels if one.hour + HOUR > self.launch and one.hour < self.back]

    def inside(self, out: HoursOut) -> list[HourLevel]:
        """The hours on the water."""
        return [one for one in self.wanted if one.hour + HOUR > out.begin and one.hour < out.off]

    def at(self, instant: datetime) -> str:
        """Its clock."""
        return clock(instant, self.zone, self.day)

    def fixed(self, hour: HourLevel | None) -> Said:
        """A launch that can't be moved and lies outside the limits."""
        when = self.at(self.launch)
        if hour is None:
            return Said(
                f"Whether your fixed launch at {when} is within your limits is not known.", "The forecast misses it."
            )
        because = tuple(self.names.of(hour.deciding))
        throughout = all(one.level is Level.STOP for one in self.wanted)
        until = f", and in every hour to {self.at(self.back)}" if throughout and len(self.wanted) > 1 else ""
        told = f"At your fixed launch, {when}, you are over your limits{until}."
        if hour.level is Level.UNKNOWN:
            told = f"Whether your fixed launch at {when} is within your limits is not known."
        return Said(told, self._reasons(hour, bare=True), because or (HELD,))

    def over(self, off: datetime) -> Said:
        """An outing whose hours are behind."""
        ended = off if self.launch < off < self.back else self.back  # hours that never began ended at no deadline
        what = "the time to be back" if ended == self.back else "the time to be off the water"
        return Said("No hours of this outing are left.", f"{self.at(ended)} was {what}.", ("time",))

    def no_hours(self, level: Level) -> Said:
        """No window: over the limits, or not known."""
        hours = span(self.launch, self.back, self.zone, self.day)
        if not self.wanted:
            return Said("", f"The forecast misses {hours}.", ("forecast",))
        first = next((one for one in self.wanted if one.level is level), self.wanted[0])
        because = tuple(self.names.of(first.deciding)) or (HELD,)
        if level.rank < Level.UNKNOWN.rank:
            return self._too_short(hours)
        if level is not Level.STOP:
            return Said(UNTIL_KNOWN, self._reasons(first), because)
        before = next((one for one in self.wanted if one.level is Level.UNKNOWN and one.hour < first.hour), None)
        why = [self._reasons(before)] if before is not None else []
        few = any(one.level.rank < Level.UNKNOWN.rank for one in self.wanted)
        told = f"Too little time within your limits, {hours}." if few else f"No hours within your limits, {hours}."
        return Said(told, " ".join([*why, self._reasons(first)]), because)

    def _too_short(self, hours: str) -> Said:
        """Hours that are not over a limit, but too few: planned so, or by the light."""
        if self.back - self.launch < SHORTEST_OUTING:
            return Said("", f"{hours} is too short for an outing.", ("time",))
        return Said("", f"Of {hours} too little daylight is left for an outing.", ("daylight",))

    def hours(self, out: HoursOut, ends: Deadlines | None) -> Said:
        """The hours on the water, what ends them and what to watch for while out."""
        text = f"Off the water by {self.at(out.off)}."
        if out.off - out.begin >= SHORTEST_OUTING:
            text = f"Out {self.at(out.begin)}. {text}"
        after = self._after(out, ends)
        early = self._early(out)
        why = self._until(out, early)
        late = self._late(early)
        because = [] if after is None else self.names.of(after.deciding)
        if after is not None:
            why.append(self._reasons(after))
            why += self._warning_after(after)
        elif ends is not None and ends.kind == "heat":
            why.append(f"In this heat {self.at(out.off)} ends a short outing.")
            because = [FACTOR_WORD["heat"]]
        elif ends is not None and ends.kind in ("light", "return"):
            back = f"{self.at(out.off)} is {lower_first(ends.because)}"
            why.append(back if ends.kind == "return" else upper_first(ends.because))
            soon = self._soon_after(out)
            if soon is not None:
                why.append(self._reasons(soon))
                because = self.names.of(soon.deciding)
        care = minded(self.wanted, out.begin, out.off, self.names, self.zone, self.day)
        cold = any(one.startswith(FACTOR_WORD["cold_water"]) for one in care)
        care = [*care, *(() if cold else self.names.always)]
        if care:
            joint = "; " if len(care) > 1 and any(" and " in one or _TIMED.search(one) for one in care) else ""
            why.append(f"Care: {joint.join(care) if joint else listed(care)}.")
        elif after is None and not early:
            why += self._strongest(out)
        words = because or [word for word in self._cared(out) if word != DARK]
        return Said(text, " ".join(why), tuple(words), tuple(late))

    def _after(self, out: HoursOut, ends: Deadlines | None) -> HourLevel | None:
        """The hour that ends the outing: the first from there on that is over a limit or not known."""
        ahead = [one for one in self.wanted if one.hour >= out.off]
        if ends is not None and ends.kind in ("stop", "unknown"):
            ahead += [one for one in self.levels if self.back <= one.hour < out.off + HOUR]
        return next((one for one in ahead if one.level.rank >= Level.UNKNOWN.rank), None)

    def _soon_after(self, out: HoursOut) -> HourLevel | None:
        """An hour over a limit so soon after the return that whoever comes home late meets it."""
        ahead = [one for one in self.levels if out.off <= one.hour < out.off + SOON]
        return next((one for one in ahead if one.level is Level.STOP), None)

    def _early(self, out: HoursOut) -> list[HourLevel]:
        """The hours from the launch as planned, of those still to come, that must be waited for ashore."""
        ahead = [one for one in self.wanted if self.now < one.hour + HOUR and one.hour < out.begin]
        return [one for one in ahead if one.level.rank >= Level.UNKNOWN.rank]

    def _late(self, early: Sequence[HourLevel]) -> list[str]:
        """The kinds of hazard that must be waited for, those over a limit before those that are not known."""
        over = self.names.of([factor for one in early if one.level is Level.STOP for factor in one.deciding])
        lost = self.names.of([factor for one in early if one.level is Level.UNKNOWN for factor in one.deciding])
        return [*over, *(f"{word} not known" for word in lost)] or ([HELD] if early else [])

    def _until(self, out: HoursOut, early: Sequence[HourLevel]) -> list[str]:
        """Why the start is later than planned, a sentence for what is over the limits and one for what is not known."""
        at, told = self.at(out.begin), []
        for level in (Level.STOP, Level.UNKNOWN):
            words = self.names.of([factor for one in early if one.level is level for factor in one.deciding])
            passing = [word for word in words if word in MEASURED]
            others = [word for word in words if word not in MEASURED]
            if level is Level.UNKNOWN and words:
                words = [word for word in words if len(words) == 1 or word != OLD]
                told.append(f"{_not_known([_PLURAL.get(word, word) for word in words])} before {at}.")
                continue
            if passing:
                verb = "pass" if len(passing) > 1 or passing[0] in PLURAL else "passes"
                told.append(f"{upper_first(listed(passing))} {verb} your stop before {at}.")
            if others:
                told.append(f"{upper_first(listed(others))} until {self._until_when(early, out)}.")
        return told or ([f"Before {at} hours are {HELD}."] if early else [])

    def _until_when(self, early: Sequence[HourLevel], out: HoursOut) -> str:
        """The end of what must be waited for, with the wait after the last thunder where that is why."""
        end = early[-1].hour + HOUR
        heard = any(one.name == "thunder" and one.level is Level.STOP for one in early[-1].factors)
        wait = "then half an hour after the last" if heard else "then half an hour"
        return self.at(out.begin) if end >= out.begin else f"{self.at(end)}, {wait}"

    def _cared(self, out: HoursOut) -> list[str]:
        found = [f for one in self.inside(out) for f in one.factors if f.level.rank > 0 and not f.standing]
        known = {self.names.word(f) for f in found if not unread(f)}
        words = [word for word in self.names.of(found) if word not in self.names.off_route]
        return [word if word in known else f"{word} not known" for word in words]

    def _strongest(self, out: HoursOut) -> list[str]:
        """The strongest gust of hours that are all within the limits, beside the stop."""
        gusts = [f for one in self.inside(out) for f in one.factors if f.name == "gust" and f.number is not None]
        if not gusts or any(one.level is not Level.WITHIN_LIMITS for one in self.inside(out)):
            return []
        top = max(gusts, key=lambda one: one.number or 0.0)
        if top.stop_limit is None or top.number is None:
            return []
        # as the hours show it, without the correction learned here, which they tell apart
        blows = speed_digits(top.number if top.shown is None else top.shown, self.system)
        stop = f"{limit_digits(top.stop_limit, self.system)} {speed_unit(self.system)}"
        return [f"Strongest gust forecast {blows}; your stop is {stop}."]

    def _warning_after(self, first: HourLevel) -> list[str]:
        """An official warning that begins after the hour that ends the outing."""
        named = {f.ref for f in first.factors if f.ref in self.names.events}
        shown = [one for one in self.levels if first.hour < one.hour < self.back + HOUR]
        for one in shown:
            for factor in one.factors:
                new = factor.ref in self.names.events and factor.ref not in named
                if new and factor.level.rank > 0:
                    return [f"{self.names.events[factor.ref]} from {self.at(one.hour)}."]
        return []

    def _reasons(self, hour: HourLevel, *, bare: bool = False) -> str:
        """Why an hour is closed, in a sentence or two; ``bare``: without its clock, which was told."""
        words = self.names.of(hour.deciding)
        if hour.level is Level.UNKNOWN:
            words = [_PLURAL.get(word, word) for word in words if len(words) == 1 or word != OLD]
        when = "" if bare else self.at(max(hour.hour, self.launch))
        if not words:
            return f"The hour from {self.at(hour.hour)} is {HELD}."
        unread = [word for word in words if word in self.names.events.values()] if hour.level is Level.UNKNOWN else []
        if unread:  # what it says is known, not what it asks for
            told = f"{listed(unread)} could not be judged{f' from {when}' if when else ''}."
            rest = [word for word in words if word not in unread]
            return f"{told} {_not_known(rest)}{f' from {when}' if when else ''}." if rest else told
        if hour.level is Level.UNKNOWN:
            known = [one for one in self.wanted if not set(hour.deciding_names).issubset(one.unknown_names)]
            since = f" from {when}" if known else " in any of your hours"
            return f"{_not_known(words)}{since if when else ''}."
        passing = [word for word in words if word in MEASURED]
        others = [word for word in words if word not in MEASURED]
        out = []
        if passing:
            verb = "pass" if len(passing) > 1 or passing[0] in PLURAL else "passes"
            out.append(f"{upper_first(listed(passing))} {verb} your stop{f' at {when}' if when else ''}.")
        if others:
            out.append(f"{upper_first(listed(others))}{f' from {when}' if when else ' at that hour'}.")
        return " ".join(out)


def _not_known(words: Sequence[str]) -> str:
    """ "Wind and gusts are not known", without its end; of a forecast that is too old its age alone is known."""
    if list(words) == [OLD]:
        return "The forecast is too old to go by"
    are = "are" if len(words) > 1 or words[0] in (*PLURAL, *_PLURAL.values()) else "is"
    return f"{upper_first(listed(list(words)))} {are} not known"


def unread(factor: Factor) -> bool:
    """Whether a hazard is minded because nothing was read for it."""
    return factor.name in UNREAD and factor.number is None


def _by_light(hour: HourLevel) -> Level:
    """The level of an hour on the water; darkness alone is told with the light and does not raise the day."""
    raising = {
        factor.name for factor in hour.factors if factor.level is not Level.WITHIN_LIMITS and not factor.standing
    }
    return Level.WITHIN_LIMITS if raising == {"darkness"} and hour.level is Level.CAUTION else hour.level


def _answer_level(level: Level, out: HoursOut | None, outside: bool, *, conditional: bool) -> Level:
    """What the top of the day tells to do: without hours it is never "with care", under a condition to stay ashore."""
    if out is None or outside:
        return Level.UNKNOWN if level is Level.UNKNOWN else Level.STOP
    return Level.STOP if conditional else level


def _window(window: Window, zone: ZoneInfo, day: date) -> WindowText:
    return WindowText(
        begin=window.begin,
        end=window.end,
        level=window.level,
        text=f"{span(rounded_up(window.begin), window.end, zone, day)}, {LEVEL_WORD[window.level]}",
        ends_because=window.ends_because,
    )


def hours_out(
    levels: Sequence[HourLevel],
    windows: Sequence[Window],
    deadlines: Deadlines | None,
    *,
    launch: datetime,
    back: datetime,
    fixed_launch: bool,
    now: datetime,
) -> HoursOut | None:
    """When the outing is on the water: from the launch or the opening of its first window; None without a window.

    A launch that can't be moved stays the start. Of one that is over now is, unless its own hour is closed.
    """
    useful = _useful(windows, deadlines, launch, back, now)
    if not useful:
        return None
    window = useful[0]
    stays = fixed_launch or (now >= launch and not _closed(_at_launch(levels, launch)))
    off = min(window.end, back) if deadlines is None else rounded_down(min(deadlines.off_water_by, window.end))
    begin = max(launch if stays else max(window.begin, launch), now)
    return HoursOut(min(rounded_up(begin), off), off)


def _useful(
    windows: Sequence[Window], deadlines: Deadlines | None, launch: datetime, back: datetime, now: datetime
) -> list[Window]:
    """Windows of this outing; one that opens after the time to be off the water, is over or too short, is none."""
    off, begin = _off(deadlines, back), max(now, launch)
    least = timedelta(0) if now >= launch else SHORTEST_OUTING  # who may be out already is told until when
    return [
        window
        for window in windows
        if window.begin < off
        and min(window.end, off) > begin
        and min(window.end, off) - max(window.begin, begin) >= least
    ]


def is_over(deadlines: Deadlines | None, launch: datetime, back: datetime, now: datetime) -> bool:
    """Whether the outing is over; hours that were never known ended nothing."""
    if now >= back:
        return True
    return deadlines is not None and deadlines.kind != "unknown" and now >= deadlines.off_water_by > launch


def _off(deadlines: Deadlines | None, back: datetime) -> datetime:
    """When the outing ends at the latest."""
    return back if deadlines is None else min(back, deadlines.off_water_by)


def _at_launch(levels: Sequence[HourLevel], launch: datetime) -> HourLevel | None:
    return next((one for one in levels if one.hour <= launch < one.hour + HOUR), None)


def _closed(hour: HourLevel | None) -> bool:
    return hour is None or hour.level.rank >= Level.UNKNOWN.rank


def _launch_later(
    out: HoursOut, launch: datetime, now: datetime, light: DayLight | None, zone: ZoneInfo, day: date
) -> str:
    """Why the start is not the hour planned; empty where it is."""
    if out.begin <= rounded_up(launch):
        return ""
    if out.begin <= rounded_up(now):
        return f"{clock(launch, zone, day)}, the launch as planned, is past: the hours begin now"
    dawn = light is not None and light.dawn is not None and rounded_up(light.dawn) == out.begin
    why = "first light" if dawn else "the first hour within your limits"
    return f"launch at {clock(out.begin, zone, day)}, {why}"


def minded(
    wanted: Sequence[HourLevel], begin: datetime, off: datetime, names: Names, zone: ZoneInfo, day: date
) -> list[str]:
    """Every caution between ``begin`` and ``off``, worst kind first, each with its hours where they are not all."""
    first: dict[str, datetime] = {}
    last: dict[str, datetime] = {}
    known: set[str] = set()
    inside = [one for one in wanted if one.hour + HOUR > begin and one.hour < off]
    for one in inside:
        for factor in one.factors:
            if factor.level in (Level.CAUTION, Level.UNKNOWN) and not factor.standing:
                first.setdefault(names.word(factor), one.hour)
                last[names.word(factor)] = one.hour + HOUR
                known |= set() if unread(factor) else {names.word(factor)}
    spans: dict[tuple[datetime, datetime], list[str]] = {}
    for word in sorted(first, key=names.place):
        if word in names.off_route or word == DARK:
            continue
        hours = max(first[word], begin), min(last[word], off)
        spans.setdefault(hours, []).append(word if word in known else f"{word} not known")

    def told(words: Sequence[str], since: datetime, until: datetime) -> str:
        begins = f" from {clock(since, zone, day)}" if since > begin else ""
        ends = f" {'to' if begins else 'until'} {clock(until, zone, day)}" if until < off else ""
        return f"{listed(list(words))}{begins}{ends}"

    groups = [told(words, *hours) for hours, words in spans.items()]
    return groups + _lights(begin, off, names.light, DARK in first, zone, day)


def _lights(begin: datetime, off: datetime, light: DayLight | None, dark: bool, zone: ZoneInfo, day: date) -> list[str]:
    """Darkness by the sun itself, not by whole hours."""
    early = light is not None and light.sunrise is not None and begin < light.sunrise
    late = light is not None and light.sunset is not None and off > light.sunset
    if not (dark or early or late):
        return []
    if light is None or not (light.dawn and light.sunrise and light.sunset and light.dusk):
        return [DARK]
    out = []
    if begin < light.dawn:
        out.append(f"dark until {nearest_minute(light.dawn, zone, day)}")
    elif begin < light.sunrise:
        out.append(f"white light until {nearest_minute(light.sunrise, zone, day)}")
    if off > light.sunset:
        evening = f"from {nearest_minute(light.sunset, zone, day)}"
        if out and out[-1].startswith("white light"):
            return [f"{out[-1]} and {evening}"]
        out.append(f"white light {evening}")
    return out


def _sentences(
    wanted: Sequence[HourLevel],
    useful: Sequence[Window],
    deadlines: Deadlines | None,
    zone: ZoneInfo,
    day: date,
    back: datetime,
    home: str,
    early: str,
    later: Sequence[Window],
    *,
    planned: bool,
) -> tuple[str, ...]:
    """What more there is to say of the hours; a page with a plan has told at its top when to be off, and why."""
    out: list[str] = [home] if planned and home else []
    if useful and deadlines is not None and not planned:
        off = rounded_down(deadlines.off_water_by)
        over = next((one for one in wanted if one.hour >= off and one.level.rank >= Level.UNKNOWN.rank), None)
        if over is not None and deadlines.kind in ("stop", "unknown"):
            lead = f"Off by {clock(off, zone, day)}, half an hour before {clock(over.hour, zone, day)}"
            whole = f"{lead}: {lower_first(deadlines.because)}"
            # an office's own words are told with its warning
            out.append(whole if len(whole.split()) <= _LONGEST_WORDS else f"{lead}.")
        elif deadlines.kind not in ("light", "return"):  # these are told with the hours
            out.append(f"Off by {clock(off, zone, day)}: {lower_first(deadlines.because)}")
        out.append(home)
    others = [*useful[1:], *(later if useful else ())]
    if others:
        out.append("Other windows: " + "; ".join(span(rounded_up(w.begin), w.end, zone, day) for w in others) + ".")
    late = deadlines is not None and deadlines.kind in ("stop", "unknown", "heat") and deadlines.off_water_by < back
    late = late and not any(window.begin <= back <= window.end for window in others)
    home_by = f"your return at {clock(back, zone, day)} is too late today"
    told = [text for text in (early, home_by if late else "") if text]
    if told and useful:
        out.append(f"{upper_first('; '.join(told))}.")
    return tuple(text for text in out if text)


def _start_back(deadlines: Deadlines, zone: ZoneInfo, day: date) -> str:
    if not deadlines.headway:
        return (
            f"Against the wind of the way back ({deadlines.leg}) the craft may not make headway: "
            "stay where you can land and walk."
        )
    if deadlines.start_back_by is None or deadlines.time_back_min is None:
        return "The way back is not known: give the profile a ramp and spots, or the lake's longest arm."
    start = clock(rounded_down(deadlines.start_back_by), zone, day)
    if deadlines.turn_round:
        places = listed(list(deadlines.too_far)) or "the far end of the lake"
        return f"Turn round by {start}, wherever you are: {places} can't be reached and left again in these hours."
    basis = f" Estimated: {deadlines.assumed} in the profile." if deadlines.assumed else ""
    text = (
        f"Start back by {start} from {_hardest(deadlines)}, the hardest way home: about "
        f"{deadlines.time_back_min:.0f} min against the wind, and a quarter more as reserve"
        f"{_easiest(deadlines, zone, day)}.{basis}"
    )
    if not deadlines.too_far:
        return text
    return f"Too far for these hours, out and back with the reserve: {listed(list(deadlines.too_far))}. {text}"


def _hardest(deadlines: Deadlines) -> str:
    return deadlines.ways[0].place if deadlines.ways else deadlines.leg or "the far end of the lake"


def _easiest(deadlines: Deadlines, zone: ZoneInfo, day: date) -> str:
    """The other end of the places, where it leaves a good deal more time."""
    if len(deadlines.ways) < 2 or deadlines.ways[-1].start_by - deadlines.ways[0].start_by < WORTH_TELLING:
        return ""
    last = deadlines.ways[-1]
    return f". From {last.place}, the easiest, by {clock(rounded_down(last.start_by), zone, day)}"
