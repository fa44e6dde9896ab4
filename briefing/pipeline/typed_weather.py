"""Weather that was typed in plain words for a day, over or beside what was retrieved."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from briefing.core.freshness import StaleTable, is_stale
from briefing.core.hours import FIELDS, HourField, HourSeries, Origin, field_of
from briefing.core.sky import sky_day
from briefing.core.typed.conditions import DAY_END, ConditionWords, SaidConditions, SaidPart, read_conditions_line
from briefing.profile.model import LakeProfile

#: What a word for rain or thunder stands for, as for a weather text: chance in per cent.
_WORD_PCT = {"none": 0.0, "possible": 40.0, "likely": 65.0}
#: What the page calls its source.
TYPED_NAME = "the weather you typed"
#: The hour by which the air of a day is warmest.
_WARMEST_H = 15.0
#: Where typed and retrieved values disagree, what is worse: more wind, gust and thunder, less sight.
_MORE = ("wind_mps", "gust_mps", "thunder_pct", "thunder_words_pct")
_LESS = ("visibility_m",)


@dataclass(frozen=True)
class TypedWeather:
    """A line of weather for a day, and when it was read."""

    text: str
    day: date
    read_at: datetime


def sun_hours(profile: LakeProfile, day: date) -> dict[str, float]:
    """The sun's times of a day at the lake as hours of its clock, by the words for them."""
    sky = sky_day(profile.latitude, profile.longitude, day, profile.zone)
    times = {
        ("dawn", "daybreak", "first light"): sky.civil_dawn[:1],
        ("sunrise", "sunup"): sky.sunrise[:1],
        ("sunset", "sundown"): sky.sunset[-1:],
        ("dusk", "dark", "last light"): sky.civil_dusk[-1:],
    }
    return {word: _hour(at[0], profile.zone) for words, at in times.items() if at for word in words}


def _hour(instant: datetime, zone: ZoneInfo) -> float:
    local = instant.astimezone(zone)
    return local.hour + local.minute / 60.0


def understood(text: str, profile: LakeProfile, day: date, words: ConditionWords) -> SaidConditions:
    """What a line says at a lake: in its units, with its sun."""
    return read_conditions_line(text, words, profile.units, sun_hours(profile, day))


def typed_hours(said: SaidConditions, profile: LakeProfile, day: date, read_at: datetime) -> HourSeries:
    """The hours of a local day as they were typed; the upper end of a wind, the air between its low and its high."""
    zone = profile.zone
    start = datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC).replace(minute=0)
    count = round(
        (datetime.combine(day + timedelta(days=1), datetime.min.time(), tzinfo=zone).astimezone(UTC) - start)
        / timedelta(hours=1)
    )
    sunrise = sun_hours(profile, day).get("sunrise", 6.0)
    values = {name: np.full(count, np.nan) for name in FIELDS}
    for n in range(count):
        clock = _hour(start + timedelta(hours=n), zone)
        for part in said.parts:
            if part.from_h < min(clock + 1.0, DAY_END) and part.until_h > clock:
                for name, value in _values(part, clock, sunrise).items():
                    values[name][n] = _worst(name, float(values[name][n]), value)
    origin = Origin("user", TYPED_NAME, "entered", issued=read_at, retrieved=read_at)
    fields = {name: field_of(array, origin) for name, array in values.items() if np.isfinite(array).any()}
    return HourSeries(start, count, fields)


def _values(part: SaidPart, clock: float, sunrise: float) -> dict[str, float]:
    out: dict[str, float | None] = {
        "wind_mps": None if part.wind_mps is None else part.wind_mps[1],
        "gust_mps": part.gust_mps,
        "wind_from_deg": part.wind_from_deg,
        "air_c": None if part.air_c is None else _air(part.air_c, clock, sunrise),
        "cloud_pct": part.cloud_pct,
        "thunder_pct": part.thunder_pct,
        "thunder_words_pct": None if part.thunder is None else _WORD_PCT[part.thunder],
        "precip_chance_pct": part.rain_pct if part.rain_pct is not None else _WORD_PCT.get(part.rain or ""),
        "visibility_m": part.sight_m,
        "dewpoint_c": part.dew_c,
    }
    return {name: value for name, value in out.items() if value is not None}


def _air(band_c: tuple[float, float], clock: float, sunrise: float) -> float:
    """The air of an hour between the low at sunrise and the high at three."""
    low, high = band_c
    rise = (clock - sunrise) / max(_WARMEST_H - sunrise, 1.0)
    share = math.sin(math.pi / 2.0 * min(max(rise, 0.0), 1.0))
    if rise > 1.0:
        share = math.cos(math.pi / 2.0 * min((clock - _WARMEST_H) / 12.0, 1.0))
    return low + (high - low) * share


def _worst(name: str, old: float, new: float) -> float:
    """Of two values for parts of one hour the worse, where one can be; else the later."""
    if math.isnan(old):
        return new
    return max(old, new) if name in _MORE else min(old, new) if name in _LESS else new


def with_typed(hours: HourSeries, typed: Sequence[HourSeries], now: datetime, stale: StaleTable) -> HourSeries:
    """Retrieved hours with those that were typed, the newest first, over them.

    A retrieved wind, gust, thunder or sight that is fresh and worse than what was typed stays: what was typed makes no
    morning look calmer.
    """
    if not typed:
        return hours
    mine = typed[0]
    for older in typed[1:]:
        mine = mine.filled_from(older)
    begin = min(hours.start, mine.start)
    end = max(hours.start + timedelta(hours=hours.hours), mine.start + timedelta(hours=mine.hours))
    mine, theirs = mine.window(begin, end), hours.window(begin, end)
    merged = mine.filled_from(theirs)
    fields = dict(merged.fields)
    for name in (*_MORE, *_LESS):
        if name in mine.fields and name in theirs.fields:
            fields[name] = _worse(mine[name], theirs[name], now, stale, less=name in _LESS)
    return replace(merged, fields=fields)


def _worse(mine: HourField, theirs: HourField, now: datetime, stale: StaleTable, *, less: bool) -> HourField:
    fresh = np.array(
        [not is_stale("forecast", one.issued or one.retrieved, now, stale) for one in theirs.origins], bool
    )
    counts = np.zeros(theirs.values.size, bool)
    known = theirs.origin_index >= 0
    counts[known] = fresh[theirs.origin_index[known]] if fresh.size else False
    with np.errstate(invalid="ignore"):
        worse = theirs.values < mine.values if less else theirs.values > mine.values
    take = np.isfinite(theirs.values) & (np.isnan(mine.values) & ~mine.damaged | counts & worse)
    return HourField(
        np.where(take, theirs.values, mine.values),
        np.where(take, theirs.origin_index + len(mine.origins), mine.origin_index).astype(np.int16),
        mine.origins + theirs.origins,
        mine.damaged | (theirs.damaged & np.isnan(mine.values)),
    )
