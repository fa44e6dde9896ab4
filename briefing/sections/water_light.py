"""Water temperature, clarity, level, sun and moon: the numbers of the day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from briefing import units
from briefing.core.readings import ClarityReading, LevelReading
from briefing.core.sky import SkyDay
from briefing.core.water.series import WaterSeries
from briefing.sections.clock import clock, nearest_minute, short_date
from briefing.sections.quantity import Quantity, SectionModel
from briefing.sections.words import COLOUR_NAME
from briefing.vocabulary import WaterColour, Zone

#: Days of the past and ahead in the chart and the JSON.
DAYS_BACK, DAYS_AHEAD = 42, 10
#: Water this far from where it would settle is said to be on its way there.
PULL_C = 1.0
RANGE80 = "8 chances in 10"
#: A change of level below this counts as steady.
_STEADY_M = 0.02


class WaterDay(SectionModel):
    """Water temperature of one day, in C with the 80 % range, for the chart and programs."""

    day: date
    main_c: float
    main_low_c: float
    main_high_c: float
    pocket_c: float | None
    today: bool = False


class SkyTime(SectionModel):
    """One sun or moon event; ``at`` None when there is none today. First and last light are civil dawn and dusk."""

    name: str
    at: datetime | None
    text: str


class WaterLightSection(SectionModel):
    """Water and light in lines for the reader, and the numbers behind them."""

    temperature: Quantity
    pocket: Quantity | None
    trend_3d: Quantity
    trend_7d: Quantity
    heading: Quantity
    basis: str
    readings: tuple[str, ...]
    clarity: Quantity
    colour_text: str
    level_text: str
    times: tuple[SkyTime, ...]
    moon_text: str
    days: tuple[WaterDay, ...]


@dataclass(frozen=True)
class Clarity:
    """Visibility in use: what was seen, else the lake's usual; ``guessed`` when even that is a guess."""

    secchi_m: float
    colour: WaterColour
    seen_at: datetime | None
    guessed: bool

    @classmethod
    def choose(
        cls,
        readings: Sequence[ClarityReading],
        usual_m: float,
        usual: WaterColour,
        guessed: bool,
        now: datetime,
        keep: timedelta,
    ) -> Clarity:
        """Take the newest readings that are not stale; depth and colour may come from different ones."""
        fresh = sorted((r for r in readings if timedelta(0) <= now - r.time <= keep), key=lambda r: r.time)
        depth = next((r for r in reversed(fresh) if r.secchi_m is not None), None)
        colour = next((r.colour for r in reversed(fresh) if r.colour is not None), None)
        return cls(
            depth.secchi_m if depth is not None and depth.secchi_m is not None else usual_m,
            colour or usual,
            depth.time if depth is not None else None,
            guessed and depth is None,
        )


def fill_water_light(
    water: WaterSeries,
    words: tuple[str, ...],
    sky: SkyDay,
    clarity: Clarity,
    level: Sequence[LevelReading],
    *,
    zone: ZoneInfo,
    now: datetime,
    system: units.Units,
    tidal: bool = False,
) -> WaterLightSection:
    """Put water and light together; ``words`` are the water engine's sentences, the basis first.

    tidal: the level goes up and down with a tide that no source tells.
    """
    return WaterLightSection(
        temperature=_temperature(water, Zone.MAIN, system),
        pocket=_temperature(water, Zone.POCKET, system) if Zone.POCKET in water.zones else None,
        trend_3d=_trend(water, 3, system),
        trend_7d=_trend(water, 7, system),
        heading=_heading(water, system),
        basis=words[0] if words else "",
        readings=words[1:],
        clarity=_clarity(clarity, now, system),
        colour_text=f"Water colour: {COLOUR_NAME[clarity.colour]}.",
        level_text=_level(level, zone, system, tidal=tidal),
        times=_times(sky, zone),
        moon_text=_moon(sky),
        days=_days(water),
    )


def _temperature(water: WaterSeries, where: Zone, system: units.Units) -> Quantity:
    mean = float(water.mean_c(where)[water.today_index])
    low, high = (float(side[water.today_index]) for side in water.range80_c(where))
    return Quantity(
        value=round(mean, 2),
        unit="C",
        low=round(low, 2),
        high=round(high, 2),
        range_note=RANGE80,
        source="water model, surface, mean of the day" if where is Zone.MAIN else "water model",
        kind="modelled",
        age_h=0.0,
        text=_with_range(mean, low, high, system),
    )


def _with_range(value_c: float, low_c: float, high_c: float, system: units.Units) -> str:
    """A temperature with its range, or alone where all three are told alike."""
    told = units.show_temperature(value_c, system, both=False)
    span = units.show_temperature_range(low_c, high_c, system, both=False)
    return told if told == span else f"{told}, {span}"


def _trend(water: WaterSeries, days: int, system: units.Units) -> Quantity:
    mean, low, high = water.trend_c(days)
    text = units.show_temperature_difference(mean, system, both=False)
    low_text, high_text = (
        units.show_temperature_difference(side, system, both=False).split()[0] for side in (low, high)
    )
    return Quantity(
        value=round(mean, 2),
        unit="C",
        low=round(low, 2),
        high=round(high, 2),
        range_note=RANGE80,
        source="water model",
        kind="modelled",
        age_h=0.0,
        text=f"{text} ({low_text} to {high_text})",
    )


def _heading(water: WaterSeries, system: units.Units) -> Quantity:
    """Mean of where the water is heading over today and the next two days' weather."""
    ahead = np.maximum(water.equilibrium_c[water.today_index : water.today_index + 3], 0.0)  # then it freezes
    value = float(ahead.mean())
    gap = value - float(water.mean_c()[water.today_index])
    return Quantity(
        value=round(value, 2),
        unit="C",
        low=round(float(ahead.min()), 2),
        high=round(float(ahead.max()), 2),
        range_note="lowest and highest of three days",
        source="water model, if today's weather and the next two days' lasted",
        kind="modelled",
        age_h=0.0,
        text=_with_range(value, float(ahead.min()), float(ahead.max()), system),
        note="" if abs(gap) < PULL_C else f"The water is {'warming' if gap > 0 else 'cooling'} towards it.",
    )


def _clarity(clarity: Clarity, now: datetime, system: units.Units) -> Quantity:
    seen = clarity.seen_at is not None
    age = None if clarity.seen_at is None else (now - clarity.seen_at).total_seconds() / 3600.0
    # a white lure is a stand-in that reads 10 to 20 % shallower than the disc
    low, high = (
        (0.9 * clarity.secchi_m, 1.2 * clarity.secchi_m) if seen else (0.5 * clarity.secchi_m, 2 * clarity.secchi_m)
    )
    return Quantity(
        value=round(clarity.secchi_m, 2),
        unit="m",
        low=round(low, 2),
        high=round(high, 2),
        range_note=units.show_depth_range(low, high, system, both=False),
        source="seen by you" if seen else "the lake's usual, from its profile",
        kind="entered" if seen else "estimated",
        as_of=clarity.seen_at,
        age_h=None if age is None else round(age, 1),
        text=units.show_visibility(clarity.secchi_m, system, both=False),
        note="That is a guess: look at the ramp and enter what you see." if clarity.guessed else "",
    )


def _level(level: Sequence[LevelReading], zone: ZoneInfo, system: units.Units, *, tidal: bool) -> str:
    if tidal:  # the same hour of the day before is another hour of the tide
        return "Water level: moves with the tide, which is not known here."
    newest = max(level, key=lambda r: r.time, default=None)
    if newest is None:
        return "Water level: not known; no gauge is set and no trend was entered."
    when = f"{short_date(newest.time.astimezone(zone).date())} {clock(newest.time, zone)}"
    if newest.trend is not None:
        word = {-1: "falling", 0: "steady", 1: "rising"}[newest.trend]
        return f"Water level: {word}, {newest.name}, {when}."
    same = sorted((r for r in level if r.name == newest.name and r.level_m is not None), key=lambda r: r.time)
    day_before = [r for r in same if newest.time - r.time >= timedelta(hours=20)]
    if newest.level_m is None or not day_before or day_before[-1].level_m is None:
        return f"Water level: one value only, no change can be told; {newest.name}, {when}."
    change = newest.level_m - day_before[-1].level_m
    hours = (newest.time - day_before[-1].time).total_seconds() / 3600
    size = f"{abs(change) / units.INCH_M:.0f} in" if system == "us" else f"{abs(change) * 100:.0f} cm"
    word = "steady" if abs(change) < _STEADY_M else f"up {size}" if change > 0 else f"down {size}"
    return f"Water level: {word} over {hours:.0f} h; {newest.name}, {when}."


def _times(sky: SkyDay, zone: ZoneInfo) -> tuple[SkyTime, ...]:
    rows = (
        ("First light", sky.civil_dawn),
        ("Sunrise", sky.sunrise),
        ("Sunset", sky.sunset),
        ("Last light", sky.civil_dusk),
        ("Moonrise", sky.moonrise),
        ("Moonset", sky.moonset),
    )
    out = []
    for name, instants in rows:
        if not instants:
            out.append(SkyTime(name=name, at=None, text=f"{name}: none today"))
        for at in instants:
            text = f"{name}: {nearest_minute(at, zone, sky.day)}"
            out.append(SkyTime(name=name, at=at, text=text))
    return tuple(out)


def _moon(sky: SkyDay) -> str:
    name = sky.moon_phase.replace("_", " ")
    return (
        f"Moon phase: {name}, {sky.illuminated_frac:.0%} lit. "
        "It carries no weight in this briefing: no study ties it to when bass nest or feed."
    )


def _days(water: WaterSeries) -> tuple[WaterDay, ...]:
    main = water.mean_c(Zone.MAIN)
    low, high = water.range80_c(Zone.MAIN)
    pocket = water.mean_c(Zone.POCKET) if Zone.POCKET in water.zones else None
    first = max(0, water.today_index - DAYS_BACK)
    last = min(water.days, water.today_index + DAYS_AHEAD + 1)
    return tuple(
        WaterDay(
            day=water.date_at(n),
            main_c=round(float(main[n]), 2),
            main_low_c=round(float(low[n]), 2),
            main_high_c=round(float(high[n]), 2),
            pocket_c=None if pocket is None else round(float(pocket[n]), 2),
            today=n == water.today_index,
        )
        for n in range(first, last)
    )
