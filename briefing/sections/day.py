"""The day in one sentence, the launch windows and the two instants that matter."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from briefing.core.wind.level import HourLevel
from briefing.core.wind.windows import Deadlines, Window
from briefing.sections.clock import clock, rounded_down, span
from briefing.sections.quantity import SectionModel
from briefing.sections.words import FACTOR_WORD, LEVEL_WORD, listed
from briefing.vocabulary import Level, worst

#: Two last moments to start back that lie this far apart are both told.
WORTH_TELLING = timedelta(minutes=15)


class WindowText(SectionModel):
    """A run of daylight hours that is not over a limit; ``ends_because`` says what closes it."""

    begin: datetime
    end: datetime
    level: Level
    text: str
    ends_because: str


class DaySection(SectionModel):
    """``headline`` is the day in at most 90 characters; ``sentences`` go with it."""

    headline: str
    level: Level
    sentences: tuple[str, ...]
    windows: tuple[WindowText, ...]
    off_water_by: datetime | None
    off_water_because: str
    start_back_by: datetime | None
    start_back_text: str
    fixed_launch_outside: bool


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
    way_home: str = "",
) -> DaySection:
    """Say the day: windows against the user's limits, when to be off the water and when to start back.

    ``launch`` to ``back`` are the hours in question; a fixed launch outside the limits is the first sentence. ``first``
    are sentences that go before all others (a closed season, very cold water alone), ``last`` those after them (where
    to start), which are only said when there is a window. ``way_home`` stands for the sentence on the way home where a
    plan knows which places it is about.
    """
    wanted = [one for one in levels if one.hour + timedelta(hours=1) > launch and one.hour < back]
    level = worst([one.level for one in wanted]) if wanted else Level.UNKNOWN
    ahead = [window for window in windows if window.end > now]
    texts = tuple(_window(window, zone, day) for window in ahead)
    at_launch = next((one for one in levels if one.hour <= launch < one.hour + timedelta(hours=1)), None)
    outside = fixed_launch and (at_launch is None or at_launch.level.rank >= Level.UNKNOWN.rank)
    # a window that opens only after the time to be off the water is none for this outing
    last_begin = back if deadlines is None else min(back, deadlines.off_water_by)
    useful = [window for window in ahead if window.end > launch and window.begin < last_begin]
    home = way_home or (_start_back(deadlines, zone, day) if deadlines and useful else "")
    sentences = _sentences(wanted, useful, deadlines, zone, day, launch, back, planned, home)
    return DaySection(
        headline=_headline(level, wanted, useful, deadlines, outside, at_launch, zone, day, launch, back),
        level=at_launch.level if outside and at_launch else useful[0].level if useful else level,
        sentences=(*first, *sentences, *(last if useful else ())),
        windows=texts,
        off_water_by=deadlines.off_water_by if deadlines and useful else None,
        off_water_because=deadlines.because if deadlines and useful else "",
        start_back_by=deadlines.start_back_by if deadlines and useful else None,
        start_back_text=home if deadlines and useful else "",
        fixed_launch_outside=outside,
    )


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
    useful: Sequence[Window],
    deadlines: Deadlines | None,
    outside: bool,
    at_launch: HourLevel | None,
    zone: ZoneInfo,
    day: date,
    launch: datetime,
    back: datetime,
) -> str:
    when = clock(launch, zone, day)
    if outside:
        why = factor_words(at_launch) if at_launch else "no forecast for that hour"
        state = "not known against" if at_launch is None or at_launch.level is Level.UNKNOWN else "over"
        return f"Your fixed launch at {when} is {state} your limits: {why}."
    if not wanted:
        return f"No forecast for {span(launch, back, zone, day)}: nothing can be said against your limits."
    if not useful:
        return _no_window(level, wanted, zone, day)
    window = useful[0]
    begin = rounded_up(max(window.begin, launch))
    off = min(window.end, back) if deadlines is None else rounded_down(min(deadlines.off_water_by, window.end))
    words = "Within your limits" if window.level is Level.WITHIN_LIMITS else "Within your limits, with care"
    text = f"{words}: out from {clock(begin, zone, day)}, off the water by {clock(off, zone, day)}"
    after = next((one for one in wanted if one.hour >= off and one.level.rank >= Level.UNKNOWN.rank), None)
    if after is not None:
        state = "over" if after.level is Level.STOP else "not known"
        return f"{text}; {state} from {clock(after.hour, zone, day)}: {factor_words(after)}."
    cause = next((one for one in wanted if one.level is Level.CAUTION), None)
    return f"{text}; mind {factor_words(cause)}." if cause is not None else f"{text}."


def _no_window(level: Level, wanted: Sequence[HourLevel], zone: ZoneInfo, day: date) -> str:
    first = next(one for one in wanted if one.level is level)
    at, why = clock(first.hour, zone, day), factor_words(first)
    if level is not Level.STOP:
        return f"No launch window can be given: not known from {at}: {why}."
    before = next((one for one in wanted if one.level is Level.UNKNOWN and one.hour < first.hour), None)
    if before is None:
        return f"No launch window: over your limits from {at}: {why}."
    return f"No launch window: not known until {at} ({factor_words(before)}), then over your limits: {why}."


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
) -> tuple[str, ...]:
    out: list[str] = []
    if useful and deadlines is not None:
        off = rounded_down(deadlines.off_water_by)
        over = next((one for one in wanted if one.hour >= off and one.level.rank >= Level.UNKNOWN.rank), None)
        if over is not None and deadlines.kind in ("stop", "unknown"):
            out.append(
                f"Off by {clock(off, zone, day)}, half an hour before {clock(over.hour, zone, day)}: "
                f"{_lower_first(deadlines.because)}"
            )
        else:
            out.append(f"Off by {clock(off, zone, day)}: {_lower_first(deadlines.because)}")
        out.append(home)
    if not useful and wanted:
        out.append("Blocks outside a launch window carry no fishing advice.")
    others = useful[1:]
    if others:
        out.append("Other windows: " + "; ".join(span(rounded_up(w.begin), w.end, zone, day) for w in others) + ".")
    hours = "your planned hours" if planned else "the hours looked at"
    out.append(f"{hours.capitalize()}: {span(launch, back, zone, day)}. Your limits, your call.")
    return tuple(text for text in out if text)


def _start_back(deadlines: Deadlines, zone: ZoneInfo, day: date) -> str:
    if not deadlines.headway:
        return (
            f"Against the wind of the way back ({deadlines.leg}) the craft may not make headway: "
            "stay where you can land and walk."
        )
    if deadlines.start_back_by is None or deadlines.time_back_min is None:
        return "No way back is known: give the profile a ramp and spots, or the lake's longest arm."
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


def rounded_up(instant: datetime) -> datetime:
    """The first whole minute from ``instant`` on, so that a printed beginning is never early."""
    whole = instant.replace(second=0, microsecond=0)
    return whole if whole == instant else whole + timedelta(minutes=1)


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:] if text[:2].istitle() or (text[:1].isupper() and text[1:2].islower()) else text


def factor_words(level: HourLevel) -> str:
    """Name what decides an hour, in short words."""
    names = [FACTOR_WORD.get(factor.name, factor.name.replace("_", " ")) for factor in level.deciding]
    return listed(list(dict.fromkeys(names))) or "held with the hours beside it"
