"""The day in one sentence, the launch windows and the two instants that matter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from briefing.core.wind.inputs import DayLight
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.windows import Deadlines, Window
from briefing.sections.clock import clock, nearest_minute, rounded_down, rounded_up, span
from briefing.sections.quantity import SectionModel
from briefing.sections.words import DAY_WORD, FACTOR_WORD, LEVEL_SHAPE, LEVEL_WORD, listed, lower_first
from briefing.vocabulary import Level, worst

#: Longest headline.
HEADLINE = 90
#: Said where only the hours beside one decide it.
HELD = "held with the hours beside it"
#: Worst kind first, as the reader is told of them.
ORDER = ("alerts", "sustained_wind", "gust", "waves", "headway", "thunder", "cold_water", "heat", "visibility")
DARK = FACTOR_WORD["darkness"]
#: Two last moments to start back that lie this far apart are both told.
WORTH_TELLING = timedelta(minutes=15)


@dataclass(frozen=True)
class Names:
    """How the factors of an hour are called today.

    events holds names of official alerts by id, light the sun of the day, off_route words of what does not lie on the
    way planned.
    """

    events: Mapping[str, str] = field(default_factory=dict)
    light: DayLight | None = None
    off_route: frozenset[str] = frozenset()

    def word(self, factor: Factor) -> str:
        """One factor, an official alert by its own name."""
        if factor.name == "alerts" and factor.ref in self.events:
            return self.events[factor.ref]
        return "gusts" if factor.name == "gust" else FACTOR_WORD.get(factor.name, factor.name.replace("_", " "))

    def of(self, factors: Sequence[Factor]) -> list[str]:
        """Several factors, worst kind first, each once."""
        return sorted(dict.fromkeys(self.word(factor) for factor in factors), key=self.place)

    def event(self, factors: Sequence[Factor]) -> str:
        """The first official alert among them, by name."""
        return next((self.events[one.ref] for one in factors if one.ref in self.events), "")

    def place(self, word: str) -> int:
        """Where a word stands in the order."""
        if word in self.events.values():
            return -1
        known = [self.word(Factor(name, Level.CAUTION, None, None, "", "", "")) for name in ORDER]
        return known.index(word) if word in known else len(known)


@dataclass(frozen=True)
class Answer:
    """A headline that stands before all hours, and the condition under which they hold."""

    headline: str
    condition: str


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
    """``headline`` is the day in at most 90 characters; ``sentences`` go with it.

    ``level`` is that of the hours; ``answer`` that of what the headline tells to do, which a condition makes a stop.
    ``word`` is the answer's, empty where the headline holds it already.
    """

    headline: str
    level: Level
    answer: Level
    shape: str
    word: str
    sentences: tuple[str, ...]
    windows: tuple[WindowText, ...]
    off_water_by: datetime | None
    off_water_because: str
    start_back_by: datetime | None
    start_back_text: str
    fixed_launch_outside: bool

    def line(self) -> str:
        """The top of the day as plain text: shape, word, headline."""
        return f"{self.shape} {self.word}. {self.headline}" if self.word else f"{self.shape} {self.headline}"


def fill_day(
    levels: Sequence[HourLevel],
    windows: Sequence[Window],
    deadlines: Deadlines | None,
    *,
    launch: datetime,
    back: datetime,
    planned: bool,
    fixed_launch: bool,
    now: datetime,
    zone: ZoneInfo,
    day: date,
    first: tuple[str, ...] = (),
    last: tuple[str, ...] = (),
    way_home: WayHomeText | None = None,
    names: Names | None = None,
    answer: Answer | None = None,
) -> DaySection:
    """Say the day: windows against the user's limits, when to be off the water and when to start back.

    ``launch`` to ``back`` are the hours in question; a fixed launch outside the limits is the first sentence. ``first``
    are sentences that go before all others (a closed season), ``last`` those after them (where to start), which are
    only said when there is a window. An ``answer`` (very cold water met alone) is the headline when there is a window,
    and the hours follow under its condition; else it is the first sentence. ``way_home`` stands for the sentence on
    the way home where a plan knows which places it is about.
    """
    wanted = [one for one in levels if one.hour + timedelta(hours=1) > launch and one.hour < back]
    level = worst([one.level for one in wanted]) if wanted else Level.UNKNOWN
    ahead = [window for window in windows if window.end > now]
    texts = tuple(_window(window, zone, day) for window in ahead)
    at_launch = _at_launch(levels, launch)
    outside = fixed_launch and _closed(at_launch)
    useful = _useful(windows, deadlines, launch, back, now)
    out = hours_out(levels, windows, deadlines, launch=launch, back=back, fixed_launch=fixed_launch, now=now)
    home = "" if not (deadlines and useful) else way_home.text if way_home else _start_back(deadlines, zone, day)
    called = names or Names()
    headline = _headline(level, wanted, out, outside, at_launch, zone, day, launch, back, called)
    early = "" if out is None or outside else _launch_later(out, launch, called.light, zone, day)
    sentences = _sentences(wanted, useful, deadlines, zone, day, launch, back, planned, home, early)
    if answer is not None and (outside or not useful):
        sentences = (answer.headline, *sentences)
    if out is not None:
        begin, off = out.begin, out.off
        level = worst([one.level for one in _inside(wanted, begin, off)] or [useful[0].level])
        if answer is not None and not outside:
            whole = _promise(wanted, begin, off, called, zone, day, longest=10 * HEADLINE)
            sentences = (f"{answer.condition}, {lower_first(whole)} All that follows is for that case.", *sentences)
            headline = answer.headline
        else:
            sentences = (*_minding(headline, wanted, begin, off, called, zone, day), *sentences)
    level = at_launch.level if outside and at_launch else level
    told = _answer_level(level, out, outside, conditional=answer is not None)
    word = DAY_WORD[told]
    return DaySection(
        headline=headline,
        level=level,
        answer=told,
        shape=LEVEL_SHAPE[told],
        word="" if word.lower() in headline.lower() else word,
        sentences=(*first, *sentences, *(last if useful else ())),
        windows=texts,
        off_water_by=deadlines.off_water_by if deadlines and useful else None,
        off_water_because=deadlines.because if deadlines and useful else "",
        start_back_by=None if not (deadlines and useful) else way_home.by if way_home else deadlines.start_back_by,
        start_back_text=home if deadlines and useful else "",
        fixed_launch_outside=outside,
    )


def _answer_level(level: Level, out: HoursOut | None, outside: bool, *, conditional: bool) -> Level:
    """What the top of the day tells to do: without hours it is never "with care", under a condition to stay ashore."""
    if out is None or outside:
        return Level.STOP if level is Level.STOP else Level.UNKNOWN
    return Level.STOP if conditional else level


def _window(window: Window, zone: ZoneInfo, day: date) -> WindowText:
    return WindowText(
        begin=window.begin,
        end=window.end,
        level=window.level,
        text=f"{span(rounded_up(window.begin), window.end, zone, day)}, {LEVEL_WORD[window.level]}",
        ends_because=window.ends_because,
    )


def _headline(
    level: Level,
    wanted: Sequence[HourLevel],
    out: HoursOut | None,
    outside: bool,
    at_launch: HourLevel | None,
    zone: ZoneInfo,
    day: date,
    launch: datetime,
    back: datetime,
    names: Names,
) -> str:
    when = clock(launch, zone, day)
    if outside:
        why = (listed(names.of(at_launch.deciding)) or HELD) if at_launch else "the forecast misses that hour"
        state = "not known against" if at_launch is None or at_launch.level is Level.UNKNOWN else "over"
        return f"Your fixed launch at {when} is {state} your limits: {why}."
    if not wanted:
        return f"Not known against your limits: the forecast misses {span(launch, back, zone, day)}."
    if out is None:
        return _no_window(level, wanted, names, zone, day)
    return _promise(wanted, out.begin, out.off, names, zone, day)


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

    A launch that can't be moved stays the start, and so does one that is over, unless its own hour is closed.
    """
    useful = _useful(windows, deadlines, launch, back, now)
    if not useful:
        return None
    window = useful[0]
    stays = fixed_launch or (now >= launch and not _closed(_at_launch(levels, launch)))
    off = min(window.end, back) if deadlines is None else rounded_down(min(deadlines.off_water_by, window.end))
    return HoursOut(rounded_up(launch if stays else max(window.begin, launch)), off)


def _useful(
    windows: Sequence[Window], deadlines: Deadlines | None, launch: datetime, back: datetime, now: datetime
) -> list[Window]:
    """Windows of this outing; one that opens only after the time to be off the water is none for it."""
    last_begin = back if deadlines is None else min(back, deadlines.off_water_by)
    return [window for window in windows if window.end > max(now, launch) and window.begin < last_begin]


def _at_launch(levels: Sequence[HourLevel], launch: datetime) -> HourLevel | None:
    return next((one for one in levels if one.hour <= launch < one.hour + timedelta(hours=1)), None)


def _closed(hour: HourLevel | None) -> bool:
    return hour is None or hour.level.rank >= Level.UNKNOWN.rank


def _launch_later(out: HoursOut, launch: datetime, light: DayLight | None, zone: ZoneInfo, day: date) -> str:
    """Why the start is not the hour planned; empty where it is."""
    if out.begin <= rounded_up(launch):
        return ""
    dawn = light is not None and light.dawn is not None and rounded_up(light.dawn) == out.begin
    why = "first light" if dawn else "the first hour within your limits"
    return f"launch at {clock(out.begin, zone, day)}, {why}"


def _promise(
    wanted: Sequence[HourLevel],
    begin: datetime,
    off: datetime,
    names: Names,
    zone: ZoneInfo,
    day: date,
    longest: int = HEADLINE,
) -> str:
    """The hours out, and what ends them or is to be minded; as much of it as fits."""
    lead = "Within your limits" + (", with care" if _with_care(wanted, begin, off) else "")
    out, home = clock(begin, zone, day), clock(off, zone, day)
    bases = (f"{lead}: out from {out}, off the water by {home}", f"{lead}: out {out}, off by {home}")
    tails = [*_endings(wanted, off, names, zone, day), *_mindings(wanted, begin, off, names, zone, day)]
    for tail in tails:
        for base in bases:
            if len(base) + len(tail) + 1 <= longest:
                return f"{base}{tail}."
    return f"{bases[1]}."


def _with_care(wanted: Sequence[HourLevel], begin: datetime, off: datetime) -> bool:
    return any(one.level is not Level.WITHIN_LIMITS for one in _inside(wanted, begin, off))


def _inside(wanted: Sequence[HourLevel], begin: datetime, off: datetime) -> list[HourLevel]:
    return [one for one in wanted if one.hour + timedelta(hours=1) > begin and one.hour < off]


def _endings(wanted: Sequence[HourLevel], off: datetime, names: Names, zone: ZoneInfo, day: date) -> list[str]:
    """What comes after the outing, the fullest words first; nothing where nothing does."""
    after = next((one for one in wanted if one.hour >= off and one.level.rank >= Level.UNKNOWN.rank), None)
    if after is None:
        return []
    at = clock(after.hour, zone, day)
    state = "stay off" if after.level is Level.STOP else "not known"
    said = names.of(after.deciding)
    event = names.event(after.deciding)
    out = [f"; {state} from {at}: {', '.join(said[:count])}" for count in range(len(said), 0, -1)]
    if event:
        out = [out[0], f"; {event} from {at}", f"; {state} from {at}: official warning"] if out else []
    return [*out, f"; {state} from {at}"]


def _mindings(
    wanted: Sequence[HourLevel], begin: datetime, off: datetime, names: Names, zone: ZoneInfo, day: date
) -> list[str]:
    if _endings(wanted, off, names, zone, day):
        return []
    groups = minded(wanted, begin, off, names, zone, day)
    return [f"; mind {listed(groups[:count])}" for count in range(len(groups), 0, -1)] + [""]


def minded(
    wanted: Sequence[HourLevel], begin: datetime, off: datetime, names: Names, zone: ZoneInfo, day: date
) -> list[str]:
    """Every caution between ``begin`` and ``off``, worst kind first, each with its hour where it begins later."""
    first: dict[str, datetime] = {}
    for one in _inside(wanted, begin, off):
        for factor in one.factors:
            if factor.level in (Level.CAUTION, Level.UNKNOWN) and not factor.standing:
                first.setdefault(names.word(factor), one.hour)
    starts: dict[datetime, list[str]] = {}
    for word in sorted(first, key=names.place):
        if word in names.off_route or word == DARK:
            continue
        starts.setdefault(max(first[word], begin), []).append(word)
    groups = [
        listed(words) if at <= begin else f"{listed(words)} from {clock(at, zone, day)}" for at, words in starts.items()
    ]
    return groups + _lights(begin, off, names.light, DARK in first, zone, day)


def _lights(begin: datetime, off: datetime, light: DayLight | None, dark: bool, zone: ZoneInfo, day: date) -> list[str]:
    """Darkness by the sun itself, not by whole hours."""
    if not dark:
        return []
    if light is None or not (light.dawn and light.sunrise and light.sunset and light.dusk):
        return [DARK]
    out = []
    if begin < light.dawn:
        out.append(f"dark until {nearest_minute(light.dawn, zone, day)}")
    elif begin < light.sunrise:
        out.append(f"lights until {nearest_minute(light.sunrise, zone, day)}")
    if off > light.sunset:
        out.append(f"lights from {nearest_minute(light.sunset, zone, day)}")
    return out


def _no_window(level: Level, wanted: Sequence[HourLevel], names: Names, zone: ZoneInfo, day: date) -> str:
    first = next(one for one in wanted if one.level is level)
    at, why = clock(first.hour, zone, day), listed(names.of(first.deciding)) or HELD
    if level is not Level.STOP:
        return f"Not known from {at} ({why}): a launch window can't be given."
    before = next((one for one in wanted if one.level is Level.UNKNOWN and one.hour < first.hour), None)
    if before is None:
        return f"No launch window: over your limits from {at}: {why}."
    return f"Not known until {at} ({listed(names.of(before.deciding))}), then over your limits: {why}."


def _sentences(
    wanted: Sequence[HourLevel],
    useful: Sequence[Window],
    deadlines: Deadlines | None,
    zone: ZoneInfo,
    day: date,
    launch: datetime,
    back: datetime,
    planned: bool,
    home: str,
    early: str,
) -> tuple[str, ...]:
    out: list[str] = []
    if useful and deadlines is not None:
        off = rounded_down(deadlines.off_water_by)
        over = next((one for one in wanted if one.hour >= off and one.level.rank >= Level.UNKNOWN.rank), None)
        if over is not None and deadlines.kind in ("stop", "unknown"):
            out.append(
                f"Off by {clock(off, zone, day)}, half an hour before {clock(over.hour, zone, day)}: "
                f"{lower_first(deadlines.because)}"
            )
        else:
            out.append(f"Off by {clock(off, zone, day)}: {lower_first(deadlines.because)}")
        out.append(home)
    if not useful and wanted:
        out.append("Blocks outside a launch window carry no fishing advice.")
    others = useful[1:]
    if others:
        out.append("Other windows: " + "; ".join(span(rounded_up(w.begin), w.end, zone, day) for w in others) + ".")
    hours = "your planned hours" if planned else "the hours looked at"
    late = deadlines is not None and deadlines.kind in ("stop", "unknown") and deadlines.off_water_by < back
    told = [text for text in (early, f"{clock(back, zone, day)} is too late today" if late else "") if text]
    tail = "; ".join(told) or "your limits, your call"
    tail = f" {tail[:1].upper()}{tail[1:]}." if useful else ""
    out.append(f"{hours.capitalize()}: {span(launch, back, zone, day)}.{tail}")
    return tuple(text for text in out if text)


def _minding(
    headline: str, wanted: Sequence[HourLevel], begin: datetime, off: datetime, names: Names, zone: ZoneInfo, day: date
) -> tuple[str, ...]:
    """All that is to be minded while out, where the headline holds only a part of it or none."""
    groups = minded(wanted, begin, off, names, zone, day)
    said = headline.partition("; mind ")[2]
    if not groups or (said and listed(groups) in said):
        return ()
    rest = [group for group in groups if group not in said]
    also = "also " if len(rest) < len(groups) else ""
    return (f"While you are out {also}mind {listed(rest)}.",)


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
    basis = " (estimated: no ramp, spots or speed in the profile)" if deadlines.estimated else ""
    text = (
        f"Start back by {start} from {_hardest(deadlines)}, the hardest way home: about "
        f"{deadlines.time_back_min:.0f} min against the wind, and a quarter more as reserve{basis}"
        f"{_easiest(deadlines, zone, day)}."
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
    return f"; from {last.place}, the easiest, by {clock(rounded_down(last.start_by), zone, day)}"
