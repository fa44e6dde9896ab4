"""The glance: what must be read before anything else, on one screen, and the strip of the hours."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from briefing import units
from briefing.core.advice.measures import in_text
from briefing.core.wind.inputs import DayLight
from briefing.core.wind.words import limit_digits, speed_beside, speed_unit
from briefing.sections.changes import ChangesSection
from briefing.sections.clock import clock, nearest_minute
from briefing.sections.day import DaySection, read_in_order
from briefing.sections.hours import HourRow, HoursSection
from briefing.sections.plan import PlanSection, RodText, StopText
from briefing.sections.quantity import SectionModel
from briefing.sections.season import SeasonSection
from briefing.sections.unknown import UnknownSection
from briefing.sections.words import (
    FORM_SHORT,
    PHASE_SHORT,
    PHASE_SHORTEST,
    STRIP_WORD,
    in_ten,
    listed,
    spelled,
    upper_first,
)
from briefing.vocabulary import Level, Phase

HOUR = timedelta(hours=1)
#: Said at the end of every glance.
#: Name of the line that tells what is not known.
NOT_KNOWN = "Not known"
LAST = "Check wind and warnings again before you launch. You decide."
LAST_ASHORE = "Check wind and warnings again before any later launch. You decide."
#: Unknown matters named in a glance that is cut furthest; the others are counted. Else all are named.
MOST_UNKNOWN = 4
#: Words of a glance with its date, and how far it is cut to stay within them.
MOST_WORDS, BRIEFEST = 113, 6
#: A second stage is told from this share of the first on.
NEARLY = 0.6
#: Rods named in the glance.
MOST_RODS = 4
#: Lures named there where nobody goes out today.
MOST_TO_RIG = 3
#: What is named before all else that is not known.
WARNINGS = "official warnings"
#: Letters from which on an official warning is not named in the subject.
_LONG_EVENT = 14
#: Longest subject of a mail.
SUBJECT = 60
#: A share of its own stop above this is not drawn higher.
HIGHEST_SHARE = 1.4
#: Hazards that get a row in the strip where they reach care or are not known.
MORE_ROWS = ("waves", "thunder", "heat")
_PARTS = re.compile(r", | and ")
_TOLD = {
    Level.WITHIN_LIMITS: "within",
    Level.CAUTION: "care",
    Level.UNKNOWN: "not known",
    Level.STOP: "stop",
}


class StripHour(SectionModel):
    """One hour of the strip. ``share`` is wind or gust, whichever is nearer, over its own stop; None: not known."""

    hour: datetime
    clock: str
    level: Level
    mark: str
    shape: str
    share: float | None
    wind_text: str
    gust_text: str


class StripStop(SectionModel):
    """A place of the outing, numbered in order."""

    number: int
    name: str
    at: datetime


class StripRow(SectionModel):
    """A further row of the strip, for a hazard that is at care, stop or not known in some hour."""

    name: str
    cells: tuple[str, ...]

    @property
    def numbers(self) -> bool:
        """Whether it holds more than what is not known and what is within the limits."""
        return bool(set(self.cells) - {"?", "-"})


class Strip(SectionModel):
    """A bar an hour against the user's stop, the outing below it; ``dark`` are spans without daylight."""

    hours: tuple[StripHour, ...]
    rows: tuple[StripRow, ...]
    unit: str
    units_text: str
    wind_stop_text: str
    gust_stop_text: str
    dark: tuple[tuple[datetime, datetime], ...]
    sun_text: str
    out: datetime | None
    off: datetime | None
    off_text: str
    stops: tuple[StripStop, ...]
    text: str

    @property
    def lost(self) -> tuple[str, ...]:
        """Further hazards that have no number in any hour, but are not known: told in a line, not as a row."""
        return tuple(row.name for row in self.rows if not row.numbers)

    @property
    def lost_text(self) -> str:
        """What is not known, and whether in all hours; empty where all is."""
        if not self.lost:
            return ""
        always = all(set(row.cells) == {"?"} for row in self.rows if row.name in self.lost)
        where = "in any hour" if always else "in some hours"
        return f"Not known {where}: {', '.join(self.lost)}"

    @property
    def told(self) -> tuple[StripRow, ...]:
        """The other rows."""
        return tuple(row for row in self.rows if row.name not in self.lost)


class GlanceLine(SectionModel):
    """A line of the glance under a name: where first, a rod, the fish, what is new, what is not known."""

    name: str
    text: str


class GlanceSection(SectionModel):
    """Level line, hours, why, strip and lines; ``subject`` is a mail's, the decision first."""

    place: str
    demo: bool
    level: Level
    shape: str
    word: str
    hours_text: str
    why: str
    condition: str
    strip: Strip | None
    lines: tuple[GlanceLine, ...]
    last: str
    subject: str

    def level_lines(self) -> tuple[str, ...]:
        """What stands under the level line, in the order it is read."""
        return read_in_order(self.hours_text, self.why, self.condition)


@dataclass(frozen=True)
class Setting:
    """Where and when a glance is read."""

    place: str
    lake: str
    day: date
    zone: ZoneInfo
    system: units.Units
    light: DayLight | None = None
    back: datetime | None = None
    demo: bool = False


def fill_glance(
    setting: Setting,
    day: DaySection,
    hours: HoursSection,
    plan: PlanSection,
    season: Sequence[SeasonSection],
    changes: ChangesSection,
    unknown: UnknownSection,
    nothing_first: str,
) -> GlanceSection:
    """Put the glance together; ``nothing_first`` says why no place is named, where none is."""
    stops = [stop for block in plan.blocks for stop in block.stops]
    last = LAST_ASHORE if day.answer is Level.STOP and not day.condition else LAST
    head = [setting.place, day.word, *read_in_order(day.hours_text, day.why, day.condition), last]
    lines: list[GlanceLine] = []
    for brief in range(BRIEFEST + 1):
        lines = [GlanceLine(name="First", text=_first(stops[0], setting) if stops else nothing_first)]
        most = MOST_RODS - (brief > 2) - (brief > 4)
        lines += _rods(plan, most, MOST_TO_RIG - (brief > 0), brief)
        lines += [
            GlanceLine(name="Fish", text=_fish(season, brief)),
            GlanceLine(name="New", text=changes.short.removesuffix(" for this day") if brief > 3 else changes.short),
            GlanceLine(name=NOT_KNOWN, text=_unknown(unknown, brief)),
        ]
        told = [*head, *(f"{line.name} {line.text}" for line in lines)]
        if sum(word[2:3] != ":" for text in told for word in text.split()) <= MOST_WORDS:
            break
    return GlanceSection(
        place=setting.place,
        demo=setting.demo,
        level=day.answer,
        shape=day.shape,
        word=day.word,
        hours_text=day.hours_text,
        why=day.why,
        condition=day.condition,
        strip=_strip(setting, day, hours, stops),
        lines=tuple(lines),
        last=last,
        subject=_subject(setting, day),
    )


def _first(stop: StopText, setting: Setting) -> str:
    return f"{stop.spot}, {clock(stop.begin, setting.zone, setting.day)}"


def _rods(plan: PlanSection, most: int, to_rig: int, brief: int) -> list[GlanceLine]:
    """A line a rod with lure, weight and colour; of many rods the last share a line.

    The furthest ``brief`` counts those in reserve, the one before it leaves out the word for it. Where nobody goes out,
    those to rig for a later day are told.
    """
    if not plan.rods and plan.on_condition and plan.rigs:
        named, others = plan.rigs[:to_rig], plan.rigs[to_rig:]
        told = [f"{len(others)} more"] if len(others) > 1 else list(others)
        lines = [GlanceLine(name=f"Rod {number}", text=text) for number, text in enumerate(named, 1)]
        return [*lines[:-1], lines[-1].model_copy(update={"text": "; ".join([lines[-1].text, *told])})]
    if not plan.rods:
        names = [in_text(name) for name in plan.meanwhile]
        more = len(names) - to_rig
        lures = listed([*names[:to_rig], *((f"{more} more",) if more > 0 else ())])
        text = f"none today; for a better day {lures}" if lures else "none today"
        return [GlanceLine(name="Rods", text=text)]
    shown = plan.rods if len(plan.rods) <= most else plan.rods[: most - 1]
    rest = plan.rods[len(shown) :]
    lines = [GlanceLine(name=f"Rod {rod.number}", text=", ".join(_rod(rod, brief))) for rod in shown]
    if rest:
        spare = [rod for rod in rest if rod.reserve] if brief == BRIEFEST else []
        told = [", ".join(_rod(rod, brief)) for rod in rest if rod not in spare]
        told += [f"{len(spare)} in reserve"] if spare else []
        lines.append(
            GlanceLine(name=f"Rods {rest[0].number}-{rest[-1].number}", text=". ".join(map(upper_first, told)))
        )
    return lines


def _rod(rod: RodText, brief: int) -> list[str]:
    parts = (in_text(rod.brief), rod.colour, "reserve" if rod.reserve and brief < BRIEFEST - 1 else "")
    return [part for part in parts if part]


def _fish(season: Sequence[SeasonSection], brief: int = 0) -> str:
    """The stage that most fish are in, for each form of the lake, and the next where it holds nearly as many."""
    told: dict[Phase | None, list[tuple[str, float]]] = {}
    for one in season:
        top = None if one.refused else max(one.shares, key=lambda row: row.share)
        phase, share = (None, 0.0) if top is None else (top.phase, top.share)
        told.setdefault(phase, []).append((FORM_SHORT[one.form], share))
    if not told:
        return "stage not known"
    texts = []
    for phase, forms in told.items():
        names = f"{listed([name for name, _ in forms])} " if len(told) > 1 else "all kinds " if len(season) > 1 else ""
        shares = [share for _, share in forms]
        least, most = (round(10 * share) for share in (min(shares), max(shares)))
        between = f"{least} to {most} in 10" if most < 10 else f"at least {least} in 10"
        how = spelled(in_ten(max(shares)) if least == most else between)
        every = f"{how} bass" if brief > 3 else f"{how} of every kind"
        whose = every if names == "all kinds " else f"{names}{how}" if names else f"{how} bass"
        short = "" if phase is None else (PHASE_SHORTEST if brief else PHASE_SHORT)[phase]
        texts.append(f"{names}stage not known" if phase is None else f"{whose} {short}")
    second = _second(season[0]) if len(told) == 1 else ""
    return "; ".join(texts) + second


def _second(season: SeasonSection) -> str:
    """The next stage, where the first holds less than half of the fish and it nearly as many."""
    if season.refused:
        return ""
    first, second = sorted(season.shares, key=lambda row: -row.share)[:2]
    if first.share >= 0.5 or second.share < NEARLY * first.share:
        return ""
    return f", {spelled(in_ten(second.share)).removeprefix('about ')} {PHASE_SHORTEST[second.phase]}"


def _unknown(unknown: UnknownSection, brief: int = 0) -> str:
    order = sorted(unknown.items, key=lambda one: (not one.serious, one.short != WARNINGS))
    names = list(dict.fromkeys(one.shortest if brief else one.short for one in order))
    if not names:
        return "nothing: all that was asked for is there"
    named = names[:MOST_UNKNOWN] if brief == BRIEFEST and len(names) > MOST_UNKNOWN + 1 else names
    more = [f"{len(names) - len(named)} more"] if len(names) > len(named) else []
    return listed([*(part for name in named for part in things_named(name)), *more])


def things_named(short: str) -> list[str]:
    """The things of a name that lists several, so that they join the list of all; else the name."""
    return _PARTS.split(short) if ", " in short else [short]


def _subject(setting: Setting, day: DaySection) -> str:
    """The decision, why, lake and day, in at most 60 characters: lake and month give way before the why."""
    why = f" ({day.because[0]})" if day.because else ""
    if day.off is not None and not day.condition:
        off = clock(day.off, setting.zone, setting.day)
        care = ", care" if day.answer is Level.CAUTION else ""
        leads = [f"Off by {off}{care}{why}", f"Off by {off}{care}"]
        if day.late and day.begin is not None:
            start = clock(day.begin, setting.zone, setting.day)
            short = day.late[0] if len(day.late[0]) <= _LONG_EVENT else WARNINGS.removesuffix("s")
            leads = [
                f"Out {start}, off by {off}{care} ({day.late[0]} before)",
                f"Out {start}-{off}{care} ({day.late[0]} before)",
                f"Out {start}-{off}{care} ({short} before)",
                f"Out {start}, off by {off}{care}",
            ]
    elif day.answer is Level.UNKNOWN:
        leads = [f"Not known{why}", "Not known"]
    else:
        leads = [f"Stay ashore{why}", "Stay ashore"]
    when = f"{setting.day:%a} {setting.day.day} {setting.day:%b}"
    short, day_alone = setting.lake.split()[0], when.rpartition(" ")[0]
    for lead in leads:
        for lake, on in ((setting.lake, when), (short, when), (short, day_alone)):
            text = f"{lead}: {lake} {on}"
            if len(text) <= SUBJECT:
                return text
    room = SUBJECT - len(f"{leads[-1]}:  {when}")
    return f"{leads[-1]}: {setting.lake[:room].rstrip()} {when}"


def _strip(setting: Setting, day: DaySection, hours: HoursSection, stops: Sequence[StopText]) -> Strip | None:
    if not hours.rows:
        return None
    wind_stop, gust_stop = hours.wind_limits_mps[1], hours.gust_limits_mps[1]
    rows = hours.rows
    if day.condition:  # as things stand no one goes out: no route tells of hours on the water
        stops = ()
    found = tuple(_strip_hour(row, hours, setting.system) for row in rows)
    begin, end = hours.rows[0].hour, hours.rows[-1].hour + HOUR
    numbered: dict[int, StripStop] = {}
    for stop in stops:
        numbered.setdefault(stop.number, StripStop(number=stop.number, name=stop.spot, at=stop.begin))
    dark, sun_text = _dark(setting, begin, end)
    more = _more_rows(rows, setting.back)
    strip = Strip(
        hours=found,
        rows=more,
        units_text=_units_text([row for row in more if row.numbers], setting.system),
        unit=speed_unit(setting.system),
        wind_stop_text=limit_digits(wind_stop, setting.system),
        gust_stop_text=limit_digits(gust_stop, setting.system),
        dark=dark,
        sun_text=sun_text,
        out=None if day.condition else day.begin,
        off=None if day.condition else day.off,
        off_text="" if day.off is None or day.condition else f"off {clock(day.off, setting.zone, setting.day)}",
        stops=tuple(numbered.values()),
        text="",
    )
    return strip.model_copy(update={"text": _strip_text(strip)})


def _strip_hour(row: HourRow, hours: HoursSection, system: units.Units) -> StripHour:
    wind_stop, gust_stop = hours.wind_limits_mps[1], hours.gust_limits_mps[1]
    shares = [
        value / stop for value, stop in ((row.wind_mps, wind_stop), (row.gust_mps, gust_stop)) if value is not None
    ]
    known = row.wind_mps is not None and row.gust_mps is not None
    return StripHour(
        hour=row.hour,
        clock=row.clock[:-3],
        level=row.level,
        mark=STRIP_WORD[row.level],
        shape=row.shape,
        share=round(min(max(shares), HIGHEST_SHARE), 3) if known or (shares and max(shares) >= 1.0) else None,
        wind_text=_digits(row.wind_mps, hours.wind_limits_mps, system),
        gust_text=_digits(row.gust_mps, hours.gust_limits_mps, system) + ("e" if row.gust_estimated else ""),
    )


def _digits(mps: float | None, limits_mps: Sequence[float], system: units.Units) -> str:
    """Whole mph or tenths of m/s, rounded up; with one decimal where that would tell a wind under the stop as the stop.

    A whole number there would be either the stop, which it is not, or less wind than there is.
    """
    return "?" if mps is None else speed_beside(mps, limits_mps[1:], system).split()[0]


def _more_rows(rows: Sequence[HourRow], back: datetime | None) -> tuple[StripRow, ...]:
    """Rows of the hazards that are minded in some hour; not one that is only not known when the outing is over."""
    out = []
    for name in MORE_ROWS:
        levels = [row.hazards.get(name, Level.WITHIN_LIMITS) for row in rows]
        minded = [
            level
            for level, row in zip(levels, rows, strict=True)
            if level is not Level.UNKNOWN or back is None or row.hour < back
        ]
        if any(level is not Level.WITHIN_LIMITS for level in minded):
            cells = (
                "?" if level is Level.UNKNOWN else "-" if level is Level.WITHIN_LIMITS else _cell(row, name)
                for level, row in zip(levels, rows, strict=True)
            )
            out.append(StripRow(name=name, cells=tuple(cells)))
    return tuple(out)


def _cell(row: HourRow, name: str) -> str:
    if name == "waves":
        last = row.wave_text.split("-")[-1]
        return f"{float(last):.1f}" if last.count(".") == 1 and last.replace(".", "").isdigit() else last
    return row.thunder_text.rstrip("%") if name == "thunder" else row.heat_text


def _dark(setting: Setting, begin: datetime, end: datetime) -> tuple[tuple[tuple[datetime, datetime], ...], str]:
    light = setting.light
    if light is None or not (light.dawn and light.sunrise and light.sunset and light.dusk):
        return (), ""
    spans = [(begin, light.dawn), (light.dusk, end)]
    dark = tuple((max(first, begin), min(last, end)) for first, last in spans if last > begin and first < end)
    dark = tuple((first, last) for first, last in dark if last > first)
    said = []
    if light.sunrise > begin:
        said.append(f"sun up {nearest_minute(light.sunrise, setting.zone, setting.day)}")
    if light.sunset < end:
        said.append(f"sun down {nearest_minute(light.sunset, setting.zone, setting.day)}")
    return dark, ", ".join(said)


def _by_hour(hours: Sequence[StripHour], row: StripRow) -> str:
    cells = [f"{hour.clock} {cell}" for hour, cell in zip(hours, row.cells, strict=True) if cell != "-"]
    return ", ".join(cell.replace("?", "not known") for cell in cells)


def _units_text(rows: Sequence[StripRow], system: units.Units) -> str:
    """The unit of wind and gust, and that of each further row."""
    us = system == "us"
    of = {"waves": "ft" if us else "m", "thunder": "%", "heat": "F" if us else "C", "rain": "%"}
    return ", ".join([speed_unit(system), *(f"{row.name} {of[row.name]}" for row in rows if row.name in of)])


def _strip_text(strip: Strip) -> str:
    """The strip's data in words, for whoever doesn't see it."""
    runs: list[list[StripHour]] = []
    for hour in strip.hours:
        if runs and runs[-1][-1].level is hour.level:
            runs[-1].append(hour)
        else:
            runs.append([hour])
    said = []
    for run in runs:
        end = f"{(int(run[-1].clock[-2:]) + 1) % 24:02d}"
        gusts = [float(h.gust_text.rstrip("e")) for h in run if h.gust_text != "?"]
        word = _TOLD[run[0].level]
        said.append(
            f"{run[0].clock} to {end} {word}" + (f", gusts to {max(gusts):g}" if gusts else ", gusts not known")
        )
    more = "".join(f" {upper_first(row.name)}: {_by_hour(strip.hours, row)}." for row in strip.rows)
    return (
        f"{upper_first('; '.join(said))} {strip.unit}.{more} Your stop: wind {strip.wind_stop_text}, "
        f"gust {strip.gust_stop_text} {strip.unit}."
    )
