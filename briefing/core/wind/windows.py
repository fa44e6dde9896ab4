"""Launch windows and the two instants of the day: when to be off the water, and when to start back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.hours import HourSeries
from briefing.core.wind.inputs import DayLight, HeadwindLeg
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.limits import Limits
from briefing.core.wind.rules import TravelRules, minutes
from briefing.core.wind.travel import PADDLED, calm_speed_mps, head_wind_mps, speed_made_good_mps
from briefing.vocabulary import Craft, Level, worst

HOUR = timedelta(hours=1)
#: Less than this nobody launches for.
SHORTEST_OUTING = timedelta(minutes=30)


@dataclass(frozen=True, slots=True)
class Window:
    """A run of hours at ``within_limits`` or ``caution`` in daylight. level is the worst of its hours.

    last_launch leaves time for the shortest outing; ends_because is one sentence; ends_level is the level that ends
    it, None at dusk or at the end of the forecast.
    """

    begin: datetime
    end: datetime
    level: Level
    last_launch: datetime
    ends_because: str
    ends_level: Level | None


@dataclass(frozen=True, slots=True)
class Travel:
    """How the user gets back: craft, calm speed (m/s, None: the default), ways back to the ramp.

    Without legs the lake's longest arm stands in, against the whole wind.
    """

    craft: Craft
    limits: Limits
    calm_mps: float | None = None
    legs: tuple[HeadwindLeg, ...] = ()
    longest_arm_m: float | None = None


@dataclass(frozen=True, slots=True)
class WayHome:
    """A way home that fits: where it begins, the last moment to start on it, minutes it takes without the reserve."""

    place: str
    start_by: datetime
    back_min: float


@dataclass(frozen=True, slots=True)
class Deadlines:
    """The day's two instants.

    start_back_by is None when ``headway`` is false (the craft may not make headway) or no way back is known.
    call_at is the float plan's call time. because is one sentence. time_back_min is without the reserve; leg names
    the way back that takes longest of those that fit. assumed: what a default stands
    in for, "no ramp or spots", "no speed of the craft" or both; empty where nothing is lacking. too_far names the
    places that do not fit between launch and off_water_by: out, a short stay, back with the reserve.
    turn_round: none of them fits, and start_back_by is the last moment to turn on any way out from the ramp.
    ways are those that fit, the hardest first; start_back_by is the first one's.
    """

    off_water_by: datetime
    start_back_by: datetime | None
    call_at: datetime
    because: str
    kind: str  # stop | unknown | heat | light | return
    time_back_min: float | None
    leg: str
    headway: bool
    assumed: str
    too_far: tuple[str, ...] = ()
    turn_round: bool = False
    ways: tuple[WayHome, ...] = ()


@dataclass(frozen=True, slots=True)
class HardLeg:
    """The leg that becomes hard first: when, and in one sentence why."""

    leg: str
    hour: datetime
    because: str


def launch_windows(levels: Sequence[HourLevel], light: Sequence[DayLight], rules: TravelRules) -> tuple[Window, ...]:
    """Return the windows of at least ``rules.window_hours`` hours between civil dawn and civil dusk.

    Hours are cut at dawn and dusk; an ``unknown`` or ``stop`` hour ends a window. Days without dawn and dusk give
    no window: daylight that is not known is not counted on. After an hour that thunder closed a window begins
    ``rules.margin_min`` later: the wait after the last thunder, which may come at the hour's end.
    """
    wait = minutes(rules.margin_min)
    out = []
    for day in light:
        if day.dawn is None or day.dusk is None:
            continue
        run: list[HourLevel] = []
        earliest = day.dawn
        for hour in levels:
            if hour.hour >= day.dusk:
                continue
            if hour.level.rank <= Level.CAUTION.rank:
                run += [hour] if hour.hour + HOUR > day.dawn else []
                continue
            out += _window(run, earliest, day.dusk, hour, rules)
            run = []
            earliest = max(day.dawn, hour.hour + HOUR + wait) if _thunders(hour) else day.dawn
        out += _window(run, earliest, day.dusk, None, rules)
    return tuple(sorted(out, key=lambda window: window.begin))


def _thunders(hour: HourLevel) -> bool:
    """Whether thunder is at stop in an hour, by itself or by an official alert that speaks of it."""
    return any(one.level is Level.STOP and "thunder" in (one.name, *one.about) for one in hour.factors)


def _window(
    run: Sequence[HourLevel], earliest: datetime, dusk: datetime, ender: HourLevel | None, rules: TravelRules
) -> list[Window]:
    if not run:
        return []
    begin, end = max(run[0].hour, earliest), min(run[-1].hour + HOUR, dusk)
    shortest = timedelta(hours=rules.window_hours)
    if end - begin < shortest:
        return []
    if ender is not None:
        because = (ender.deciding or ender.factors)[0].text
    else:
        because = "Usable light ends." if end == dusk else "The forecast ends here."
    level = ender.level if ender is not None else None
    return [Window(begin, end, worst([h.level for h in run]), end - shortest, because, level)]


def deadlines(
    levels: Sequence[HourLevel],
    series: HourSeries,
    light: Sequence[DayLight],
    travel: Travel,
    rules: TravelRules,
    *,
    launch: datetime,
    planned_return: datetime,
    planned: bool = True,
) -> Deadlines:
    """Return off-water time, start-back time and call time of an outing.

    off_water_by is the earliest of the first stop less 30 min, the first unknown of a factor that is not standing
    less 30 min (hours that the series does not cover are unknown), the end of two hours of strong heat, civil dusk, and
    the planned return; never before the launch. start_back_by is off_water_by less
    1.25 x the time back against the worst wind between launch and off_water_by, for the hardest of the ways that fit
    between the two. ``planned``: the return is the user's, not the end of the light or of usual hours. When none
    fits, start_back_by is the last moment to turn round whatever the way: a time t out at the calm
    speed v0 and back at the worst speed v, the whole wind against, with the reserve takes t (1 + 1.25 v0 / v).
    """
    off, because, kind = off_water(levels, light, rules, launch, planned_return)
    if kind == "return" and not planned:
        because = "The end of the hours looked at."
    ways = _ways_back(levels, series, travel, rules, launch, max(off, launch + HOUR))
    lacking = (not travel.legs, "no ramp or spots"), (travel.calm_mps is None, "no speed of the craft")
    rough = " and ".join(text for lacks, text in lacking if lacks)
    call = off + minutes(rules.call_after_min)
    if not ways:
        return Deadlines(off, None, call, because, kind, None, "", headway=True, assumed=rough)
    stuck = next((way for way in ways if not way.speed_mps > 0.0), None)
    if stuck is not None:
        return Deadlines(off, None, call, because, kind, None, stuck.leg, headway=False, assumed=rough)
    fitting = sorted((way for way in ways if _fits(way, launch, off, rules)), key=lambda way: -way.back_min)
    far = tuple(way.place for way in ways if way not in fitting) if travel.legs else ()
    if fitting:
        way = fitting[0]
        start = _start(off, way, rules)
    else:
        way = max(ways, key=lambda one: one.pace)
        anywhere = HeadwindLeg("anywhere", None, 1000.0)
        (worst_way,) = _ways_back(
            levels, series, replace(travel, legs=(anywhere,)), rules, launch, max(off, launch + HOUR)
        )
        start = launch + (off - launch) * (1.0 / (1.0 + rules.reserve * max(worst_way.pace, 1.0)))
    homes = tuple(WayHome(one.place, _start(off, one, rules), one.back_min) for one in fitting)
    return Deadlines(off, start, call, because, kind, way.back_min, way.leg, True, rough, far, not fitting, homes)


def _fits(way: _Way, launch: datetime, off: datetime, rules: TravelRules) -> bool:
    """True when there is time for the way out, a short stay and the way back with the reserve."""
    needed = way.out_min + rules.least_stay_min + way.back_min * rules.reserve
    return needed <= (off - launch).total_seconds() / 60.0


def _start(off: datetime, way: _Way, rules: TravelRules) -> datetime:
    """Last moment to start back on a way home."""
    return off - minutes(way.back_min * rules.reserve)


def off_water(
    levels: Sequence[HourLevel],
    light: Sequence[DayLight],
    rules: TravelRules,
    launch: datetime,
    planned_return: datetime,
) -> tuple[datetime, str, str]:
    """Return when an outing begun at ``launch`` must be off the water, why in one sentence, and the kind of reason."""
    choices = [(planned_return, "Your planned return.", "return")]
    dusk = min((d.dusk for d in light if d.dusk is not None and d.dusk > launch), default=None)
    if dusk is not None:
        choices.append((dusk, "Usable light ends.", "light"))
    for kind, level in (("stop", Level.STOP), ("unknown", Level.UNKNOWN)):
        first = _first(levels, level, launch)
        if first is not None:
            hour, factor = first
            choices.append((max(launch, hour - minutes(rules.margin_min)), factor.text, kind))
    hot = _hot_enough(levels, launch, rules)
    if hot is not None:
        choices.append(hot)
    gap = _uncovered(levels, launch, planned_return)
    if gap is not None:
        text = "The forecast does not cover the whole outing."
        choices.append((max(launch, gap - minutes(rules.margin_min)), text, "unknown"))
    return min(choices, key=lambda choice: (choice[0], choice[2] not in ("stop", "unknown")))


def _hot_enough(levels: Sequence[HourLevel], launch: datetime, rules: TravelRules) -> tuple[datetime, str, str] | None:
    """When an outing has had as much strong heat as a short one may, and why; None where it has not."""
    left = minutes(rules.hot_most_min)
    for hour in levels:
        begin = max(hour.hour, launch)
        heat = next((one for one in hour.factors if one.name == "heat" and one.number is not None), None)
        if begin >= hour.hour + HOUR or heat is None or (heat.number or 0.0) < rules.hot_from_c:
            continue
        if hour.hour + HOUR - begin >= left:
            return begin + left, heat.text, "heat"
        left -= hour.hour + HOUR - begin
    return None


def _uncovered(levels: Sequence[HourLevel], launch: datetime, planned_return: datetime) -> datetime | None:
    """First instant of the outing that no judged hour covers; hours are consecutive."""
    if not levels or launch < levels[0].hour:
        return launch
    end = levels[-1].hour + HOUR
    return max(end, launch) if end < planned_return else None


def _first(levels: Sequence[HourLevel], level: Level, launch: datetime) -> tuple[datetime, Factor] | None:
    """First hour from the launch on with a factor at ``level``, standing ones aside."""
    for hour in levels:
        if hour.hour + HOUR <= launch:
            continue
        for factor in hour.factors:
            if factor.level is level and not factor.standing:
                return hour.hour, factor
    return None


@dataclass(frozen=True, slots=True)
class _Way:
    """A way home: minutes out and back, the slowest speed back (m/s), how much slower that is than calm."""

    leg: str
    place: str
    out_min: float
    back_min: float
    speed_mps: float
    pace: float


def _ways_back(
    levels: Sequence[HourLevel],
    series: HourSeries,
    travel: Travel,
    rules: TravelRules,
    launch: datetime,
    end: datetime,
) -> list[_Way]:
    """Each way home in the worst wind between launch and end; without legs, the length of the lake."""
    hours = [n for n, hour in enumerate(levels) if hour.hour + HOUR > launch and hour.hour < end]
    calm = calm_speed_mps(travel.craft, travel.calm_mps, rules)

    def slowest(leg: HeadwindLeg) -> float:
        speed = _speeds(levels, series, travel, leg, calm, rules)[hours]
        known = speed[np.isfinite(speed)]
        return float(known.min()) if known.size else calm

    ways = []
    for leg in travel.legs or _longest_arm(travel):
        back = slowest(leg)
        out = slowest(replace(leg, bearing_deg=None if leg.bearing_deg is None else (leg.bearing_deg + 180.0) % 360.0))
        pace = calm / back if back > 0.0 else math.inf
        ways.append(_Way(leg.name, leg.place or leg.name, _minutes(leg, out), _minutes(leg, back), back, pace))
    return ways


def _minutes(leg: HeadwindLeg, speed_mps: float) -> float:
    return leg.length_m / speed_mps / 60.0 if speed_mps > 0.0 else math.inf


def _longest_arm(travel: Travel) -> tuple[HeadwindLeg, ...]:
    if travel.longest_arm_m is None:
        return ()
    return (HeadwindLeg("the length of the lake", None, travel.longest_arm_m),)


def _number(hour: HourLevel, name: str) -> float:
    found = next((f.number for f in hour.factors if f.name == name and f.number is not None), None)
    return float("nan") if found is None else found


def _speeds(
    levels: Sequence[HourLevel],
    series: HourSeries,
    travel: Travel,
    leg: HeadwindLeg,
    calm_mps: float,
    rules: TravelRules,
) -> NDArray[np.float64]:
    """Speed made good on a leg by hour, NaN where the wind is not known; the wind is the judged one."""
    wind = np.array([_number(hour, "sustained_wind") for hour in levels])
    waves = np.array([_number(hour, "waves") for hour in levels])
    cut = series.window(levels[0].hour, levels[-1].hour + HOUR, ("wind_from_deg",)) if levels else series
    way = cut.values("wind_from_deg")[: len(levels)]
    head = head_wind_mps(wind, way, leg.bearing_deg)
    height = waves if travel.craft in PADDLED else np.nan_to_num(waves, nan=travel.limits.waves_stop_m)
    return speed_made_good_mps(travel.craft, calm_mps, head, height, travel.limits, rules)


def first_hard_leg(
    levels: Sequence[HourLevel],
    series: HourSeries,
    travel: Travel,
    rules: TravelRules,
    *,
    launch: datetime,
    planned_return: datetime,
) -> HardLeg | None:
    """Return the leg whose way back first falls below half of the calm speed during the outing; None if none does."""
    calm = calm_speed_mps(travel.craft, travel.calm_mps, rules)
    first: HardLeg | None = None
    for leg in travel.legs:
        speeds = _speeds(levels, series, travel, leg, calm, rules)
        for hour, speed in zip(levels, speeds.tolist(), strict=True):
            inside = hour.hour + HOUR > launch and hour.hour < planned_return
            if inside and speed < rules.hard_share * calm:
                if first is None or hour.hour < first.hour:
                    slow = "may not make headway" if speed <= 0.0 else f"{60.0 * leg.length_m / 3600.0 / speed:.0f} min"
                    first = HardLeg(leg.name, hour.hour, f"{leg.name}: {slow} back against the wind")
                break
    return first
