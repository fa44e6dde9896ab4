"""Hour by hour against the user's limits: word, shape and number, never a colour ramp by wind speed."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np

from briefing import units
from briefing.core.hours import HourSeries
from briefing.core.wind import words as wind_words
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.limits import Limits
from briefing.sections.clock import clock
from briefing.sections.day import unread
from briefing.sections.quantity import SectionModel
from briefing.sections.words import FACTOR_WORD, LEVEL_MARK, LEVEL_SHAPE, listed
from briefing.vocabulary import Level


class HourRow(SectionModel):
    """One hour. SI numbers for programs (None = missing), texts for readers; heat is as felt in the shade."""

    hour: datetime
    clock: str
    level: Level
    mark: str
    shape: str
    wind_mps: float | None
    gust_mps: float | None
    gust_estimated: bool
    wind_from_deg: float | None
    wave_m: tuple[float, float] | None
    thunder_pct: float | None
    rain_pct: float | None
    cloud_pct: float | None
    air_c: float | None
    heat_c: float | None
    wind_text: str
    gust_text: str
    from_text: str
    wave_text: str
    thunder_text: str
    rain_text: str
    air_text: str
    heat_text: str
    why: str
    line_text: str
    hazards: dict[str, Level]


class HoursSection(SectionModel):
    """The table, the limit lines it is judged by and what the columns mean.

    ``every_text`` names what is at caution or worse in every hour; the rows' own reasons leave it out.
    """

    rows: tuple[HourRow, ...]
    limit_text: str
    header_text: str
    units_text: str
    wind_limits_mps: tuple[float, float]
    gust_limits_mps: tuple[float, float]
    wave_limits_m: tuple[float, float]
    every_text: str
    notes: tuple[str, ...]
    waves_text: str


def fill_hours(
    series: HourSeries,
    levels: tuple[HourLevel, ...],
    waves: dict[datetime, tuple[float, float]],
    limits: Limits,
    *,
    zone: ZoneInfo,
    day: date,
    system: units.Units,
    notes: tuple[str, ...] = (),
    waves_text: str = "",
) -> HoursSection:
    """Make a row of every judged hour; ``waves`` holds (low, high) significant height in m by hour.

    Wind and gust are shown as forecast or as measured, whichever is more, without the learned correction.
    """
    held = _in_every_hour(levels)
    rows = tuple(_row(series, level, waves.get(level.hour), zone, day, system, held) for level in levels)
    if any(row.thunder_text.startswith("L") for row in rows):
        notes = (
            *notes,
            "Thunder as L2 to L6: the lightning activity level, of 6, where no chance is given.",
        )
    return HoursSection(
        rows=rows,
        limit_text=limit_text(limits, system),
        header_text=_line("hour", "level", "wind", "gust", "from", "waves", "thndr", "rain", "air", ""),
        units_text=_UNITS[system],
        wind_limits_mps=(limits.sustained_caution_mps, limits.sustained_stop_mps),
        gust_limits_mps=(limits.gust_caution_mps, limits.gust_stop_mps),
        wave_limits_m=(limits.waves_caution_m, limits.waves_stop_m),
        every_text=_every_text([*held]),
        notes=notes,
        waves_text=waves_text,
    )


def limit_text(limits: Limits, system: units.Units) -> str:
    """Say the limits in use: caution from, stop from."""

    def waves(value_m: float) -> str:
        return wind_words.wave_limit(value_m, system)

    def wind(value_mps: float) -> str:
        return wind_words.speed_limit(value_mps, system)

    pairs = (
        ("wind", wind(limits.sustained_caution_mps), wind(limits.sustained_stop_mps)),
        ("gust", wind(limits.gust_caution_mps), wind(limits.gust_stop_mps)),
        ("waves", waves(limits.waves_caution_m), waves(limits.waves_stop_m)),
    )
    numbers = ", ".join(f"{name} {low} / {high}" for name, low, high in pairs)
    return f"Your limits (caution / stop): {numbers}."


def _number(value: float) -> float | None:
    return None if np.isnan(value) else round(float(value), 2)


def _row(
    series: HourSeries,
    level: HourLevel,
    waves: tuple[float, float] | None,
    zone: ZoneInfo,
    day: date,
    system: units.Units,
    held: Collection[str],
) -> HourRow:
    index = series.index_of(level.hour)

    def value(name: str) -> float | None:
        return _number(series.values(name)[index]) if 0 <= index < series.hours else None

    gust = next((f for f in level.factors if f.name == "gust"), None)
    estimated = bool(gust and gust.estimated)
    # a number that is refused or too old is not shown beside "not known": it would be read
    refused = {f.name for f in level.factors if f.level is Level.UNKNOWN}
    gust_mps = None if "gust" in refused else _shown(level, "gust", value("gust_mps"))
    waves = None if "waves" in refused else waves
    wind = None if "sustained_wind" in refused else _shown(level, "sustained_wind", value("wind_mps"))
    thunder = None if "thunder" in refused else value("thunder_pct")
    storm = next((f for f in level.factors if f.name == "thunder"), None)
    felt = next((_number(f.number) for f in level.factors if f.name == "heat" and f.number is not None), None)
    direction, air, rain = value("wind_from_deg"), value("air_c"), value("precip_chance_pct")
    texts = {
        "wind_text": _speed(wind, system, _limits_of(level, "sustained_wind")),
        "gust_text": _speed(gust_mps, system, _limits_of(level, "gust")) + ("e" if estimated else ""),
        "from_text": "?" if direction is None else units.compass_point(direction),
        "wave_text": "?" if waves is None else _waves(waves, system, _limits_of(level, "waves")),
        "thunder_text": _thunder(thunder, storm),
        "rain_text": _percent(rain),
        "air_text": "?" if air is None else f"{units.c_to_f(air) if system == 'us' else air:.0f}",
    }
    at, why = clock(level.hour, zone, day), _why(level, held)
    shape = f"{LEVEL_SHAPE[level.level]} {LEVEL_MARK[level.level]}"
    return HourRow(
        hour=level.hour,
        clock=at,
        level=level.level,
        mark=LEVEL_MARK[level.level],
        shape=LEVEL_SHAPE[level.level],
        wind_mps=wind,
        gust_mps=None if gust_mps is None else round(gust_mps, 2),
        gust_estimated=estimated,
        wind_from_deg=direction,
        wave_m=None if waves is None else (round(waves[0], 3), round(waves[1], 3)),
        thunder_pct=thunder,
        rain_pct=rain,
        cloud_pct=value("cloud_pct"),
        air_c=air,
        heat_c=felt,
        heat_text="?" if felt is None else f"{wind_words.felt_whole(felt, system)}",
        why=why,
        line_text=_line(at, shape, *texts.values(), why),
        hazards=_hazards(level),
        **texts,
    )


def held_ashore(hours: HoursSection) -> HoursSection:
    """The table of a day on which, as things stand, no one goes out: every hour is a stop, or stays not known."""
    return hours.model_copy(update={"rows": tuple(_held(row) for row in hours.rows)})


def _held(row: HourRow) -> HourRow:
    if row.level.rank >= Level.UNKNOWN.rank:
        return row
    mark, shape = LEVEL_MARK[Level.STOP], LEVEL_SHAPE[Level.STOP]
    texts = (row.wind_text, row.gust_text, row.from_text, row.wave_text, row.thunder_text, row.rain_text, row.air_text)
    line = _line(row.clock, f"{shape} {mark}", *texts, row.why)
    return row.model_copy(update={"level": Level.STOP, "mark": mark, "shape": shape, "line_text": line})


def _hazards(level: HourLevel) -> dict[str, Level]:
    """The level of each kind of hazard in an hour; what is held all day is not counted."""
    found: dict[str, Level] = {}
    for factor in level.factors:
        if not factor.standing and factor.level.rank >= found.get(factor.name, Level.WITHIN_LIMITS).rank:
            found[factor.name] = factor.level
            if factor.name == "heat" and factor.number is None and factor.level is Level.CAUTION:
                found[factor.name] = Level.UNKNOWN  # held for the worse, but not known: no number stands for it
    return found


def _shown(level: HourLevel, name: str, forecast: float | None) -> float | None:
    """The number of a factor as a table shows it; the forecast where no factor speaks of it."""
    factor = next((f for f in level.factors if f.name == name), None)
    if factor is None or factor.number is None:
        return forecast
    return round(factor.number if factor.shown is None else factor.shown, 4)


_UNITS: dict[units.Units, str] = {
    "us": "A row is the hour from its time on: wind, gust in mph, waves in ft, air in F; e, est = estimated, "
    "? = not known.",
    "metric": "A row is the hour from its time on: wind and gust in m/s, waves in m, air in C; e, est = estimated, "
    "? = not known.",
}
_WIDTHS = (6, 10, 5, 5, 5, 9, 6, 5, 4)


def _line(*cells: str) -> str:
    head = "".join(cell.ljust(width) for cell, width in zip(cells, _WIDTHS, strict=False))
    why = cells[-1]
    room = 72 - len(head)
    if len(why) <= room:
        return (head + why).rstrip()
    return "\n".join([head.rstrip(), *textwrap.wrap(why, 72, initial_indent=" " * 16, subsequent_indent=" " * 16)])


def _limits_of(level: HourLevel, name: str) -> list[float]:
    """The limits that a factor of the hour was held against, SI."""
    found = next((factor for factor in level.factors if factor.name == name), None)
    both = () if found is None else (found.limit, found.stop_limit)
    return [limit for limit in dict.fromkeys(both) if limit is not None]


def _speed(value: float | None, system: units.Units, limits_mps: Sequence[float]) -> str:
    return "?" if value is None else wind_words.speed_beside(value, limits_mps, system).split()[0]


def _waves(waves: tuple[float, float], system: units.Units, limits_m: Sequence[float]) -> str:
    # under 0.1 m heights are only nominal
    if waves[1] < 0.1:
        return "<0.3" if system == "us" else "<0.1"
    low, high = (units.m_to_ft(w) if system == "us" else w for w in waves)
    top = (wind_words.feet_beside if system == "us" else wind_words.metres_beside)(waves[1], limits_m)
    return top if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f}-{top}"


def _thunder(chance_pct: float | None, factor: Factor | None) -> str:
    """Chance of thunder as the level has it: given, from words or an activity level, estimated, or not known."""
    if factor is None or factor.level is Level.UNKNOWN:
        return "?"
    if factor.source == "you" and factor.level is not Level.WITHIN_LIMITS:
        return "heard"
    if chance_pct is not None:
        return _percent(chance_pct)
    if factor.estimated:
        return "est"
    if factor.number is None:
        return "?"
    return f"L{factor.number:.0f}" if factor.unit == "level" else _percent(factor.number)


def _percent(value: float | None) -> str:
    return "?" if value is None else f"{value:.0f}%"


def _why(level: HourLevel, held: Collection[str]) -> str:
    """Everything at caution or worse, what decides the hour first; what holds in all of them is told beside."""
    if level.level is Level.WITHIN_LIMITS:
        return ""
    found = _named(level)
    if not found:
        return "held: the hours beside it are over a limit"
    return "; ".join([word for word in found if word not in held][:4])


def _named(level: HourLevel) -> list[str]:
    """What makes the hour's level, nothing where it is within the limits; of a stop not what is only at caution."""
    least = Level.CAUTION if level.level.rank <= Level.CAUTION.rank or level.level is Level.UNKNOWN else level.level
    found = [f for f in level.factors if f.level.rank >= least.rank and not f.standing]
    return list(dict.fromkeys(_short(factor) for factor in sorted(found, key=lambda f: -f.level.rank)))


#: Behind the word of a factor that is not known.
_UNKNOWN = " not known"


def _in_every_hour(levels: Sequence[HourLevel]) -> dict[str, None]:
    """What is at caution or worse in all of several hours, in the order of the first."""
    if len(levels) < 2:
        return {}
    each = [_named(level) for level in levels]
    return {word: None for word in each[0] if all(word in words for words in each)}


def _short(factor: Factor) -> str:
    word = FACTOR_WORD.get(factor.name, factor.name.replace("_", " "))
    if factor.name == "data_age" and factor.level is Level.UNKNOWN:
        return "forecast too old"
    return f"{word}{_UNKNOWN}" if factor.level is Level.UNKNOWN or unread(factor) else word


def _every_text(held: Sequence[str]) -> str:
    """What holds in every hour as sentences: what is not known first, then what is at caution or worse."""
    unknown = [word.removesuffix(_UNKNOWN) for word in held if word.endswith(_UNKNOWN)]
    rest = [word for word in held if not word.endswith(_UNKNOWN)]
    parts = [f"Not known throughout: {listed(unknown)}."] if unknown else []
    return " ".join([*parts, *([f"In every hour: {listed(rest)}."] if rest else [])])
