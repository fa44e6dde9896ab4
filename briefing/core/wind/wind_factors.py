"""Factors from the wind: sustained wind, gust, waves, headway, age of the data."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from briefing.core.wind import words
from briefing.core.wind.frame import Frame
from briefing.core.wind.judge import Column, is_old, margin, origin_time, raised
from briefing.core.wind.level import Factor
from briefing.core.wind.limits import in_whole_steps
from briefing.core.wind.travel import headway_lost
from briefing.core.wind.waves import SeaState, sea_state
from briefing.vocabulary import Level

Floats = NDArray[np.float64]
Factors = tuple[Factor, ...]
NAN = float("nan")


@dataclass(frozen=True)
class Judgement:
    """Numbers against limits, hour by hour: what one wind factor is made from."""

    name: str
    what: str  # "Wind", "Gusts", "Waves"
    unit: str
    numbers: Floats  # NaN where unknown
    held: Floats  # last accepted value in unknown hours
    caution: Floats
    stop: Floats
    stop_on: NDArray[np.bool_]
    caution_on: NDArray[np.bool_]
    say: Callable[[float, Sequence[float]], str]  # a number beside the limits of its hour
    say_limit: Callable[[float], str]


def judge(
    frame: Frame, name: str, what: str, unit: str, numbers: Floats, held: Floats, caution: float, stop: float
) -> Judgement:
    """Compare with the limits, scaled by cold water, with hysteresis over the series."""
    rules, units = frame.inputs.rules, frame.inputs.units
    kind: words.Quantity = "m" if unit == "m" else "m/s"
    low, high = (in_whole_steps(one * frame.cold_factor, kind, units) for one in (caution, stop))
    least = rules.hysteresis.waves_m if unit == "m" else rules.hysteresis.wind_mps
    with np.errstate(invalid="ignore"):
        seen = np.where(np.isnan(numbers) & (held >= high), held, numbers)
    close = np.minimum(low, rules.water.close_share * high)
    run = rules.hysteresis.hours
    return Judgement(
        name,
        what,
        unit,
        numbers,
        held,
        low,
        high,
        raised(seen, high, margin(high, least, rules.hysteresis), run),
        raised(seen, close, margin(close, least, rules.hysteresis), run),
        (lambda v, at: words.height_beside(v, at, units))
        if unit == "m"
        else (lambda v, at: words.speed_beside(v, at, units)),
        (lambda v: words.wave_limit(v, units)) if unit == "m" else (lambda v: words.speed_limit(v, units)),
    )


def factor_at(judged: Judgement, hour: int, source: str, trouble: str, *, estimate: str = "") -> Factor:
    """Make the factor of one hour. trouble: "" or why the number is not known.

    estimate: what stands in for a number that was not given, which makes the hour caution at least; else "".
    """
    number, held, stop = float(judged.numbers[hour]), float(judged.held[hour]), float(judged.stop[hour])
    if trouble or number != number:
        if held >= stop:
            number_text = judged.say(held, [stop])
            text = f"{judged.what} {number_text} in the last data that could be read; {_your_stop(judged, hour)}."
            return Factor(
                judged.name,
                Level.STOP,
                held,
                stop,
                judged.unit,
                source or "last accepted forecast",
                text,
                stop_limit=stop,
            )
        text = f"{judged.what} {_are(judged)} not known: {_why(trouble)}."
        why = _why(trouble)
        return Factor(judged.name, Level.UNKNOWN, None, stop, judged.unit, source, text, why_unknown=why)
    level = Level.STOP if judged.stop_on[hour] else Level.CAUTION if judged.caution_on[hour] else Level.WITHIN_LIMITS
    if estimate and level is Level.WITHIN_LIMITS:
        level = Level.CAUTION
    limit = float(judged.caution[hour]) if level is not Level.STOP else stop
    text = _sentence(judged, hour, number, level, estimate)
    return Factor(judged.name, level, number, limit, judged.unit, source, text, bool(estimate), stop_limit=stop)


def _your_stop(judged: Judgement, hour: int) -> str:
    return f"your stop is {judged.say_limit(float(judged.stop[hour]))}"


def _are(judged: Judgement) -> str:
    return "is" if judged.what == "Wind" else "are"


def _why(trouble: str) -> str:
    return {
        "": "the forecast gave no value",
        "missing": "the forecast gave no value",
        "nowhere": "no source gave a value",
        "malformed": "the value could not be read or can't be true",
        "too old": "the data are too old",
    }.get(trouble, trouble)


def _sentence(judged: Judgement, hour: int, number: float, level: Level, estimate: str) -> str:
    caution, stop = float(judged.caution[hour]), float(judged.stop[hour])
    told, how = judged.say(number, [caution, stop]), f" ({estimate})" if estimate else ""
    lead = f"{judged.what} {told}{how}"
    if level is Level.STOP and told == judged.say_limit(stop):
        return f"{judged.what} at your stop, {told}{how}."
    if level is Level.STOP and number < stop:
        return f"{lead}: held at stop, not yet clearly below {judged.say_limit(stop)} for two hours."
    if level is Level.CAUTION and number >= 0.9 * stop:
        return f"{lead}, close to your stop of {judged.say_limit(stop)}."
    if level is Level.CAUTION and number < min(caution, 0.9 * stop) and not estimate:
        return f"{lead}: held at caution, not yet clearly below {judged.say_limit(caution)} for two hours."
    if level is Level.CAUTION and number >= caution:
        if told == judged.say_limit(caution):
            return f"{judged.what} at your caution, {told}{how}."
        return f"{lead}, over your caution of {judged.say_limit(caution)}."
    return f"{lead}; {_your_stop(judged, hour)}."


def sustained_factors(frame: Frame) -> Factors:
    """Sustained wind against its limits; wind seen or measured now may raise it, never lower it."""
    limits = frame.inputs.limits
    judged = judge(
        frame,
        "sustained_wind",
        "Wind",
        "m/s",
        frame.judged_wind_mps,
        frame.held_wind_mps,
        limits.sustained_caution_mps,
        limits.sustained_stop_mps,
    )
    shown = np.fmax(frame.wind.values / frame.raised_by, frame.seen.wind_mps)
    return tuple(
        _with_shown(factor_at(judged, hour, _source(frame, frame.wind, hour), frame.wind.trouble[hour]), shown[hour])
        for hour in range(len(frame.times))
    )


def _with_shown(factor: Factor, shown_mps: float) -> Factor:
    """Add what a table shows beside the limits: the forecast or the measurement itself, without the correction."""
    known = factor.number is not None and shown_mps == shown_mps
    return replace(factor, shown=float(shown_mps)) if known else factor


def _source(frame: Frame, column: Column, hour: int) -> str:
    with_seen = frame.seen.wind_mps[hour]
    if with_seen == with_seen and not with_seen <= column.values[hour]:
        return frame.seen.wind_names[hour]
    return column.source[hour]


def _gust_stop(frame: Frame) -> Floats:
    return in_whole_steps(frame.inputs.limits.gust_stop_mps * frame.cold_factor, "m/s", frame.inputs.units)


def gust_factors(frame: Frame) -> Factors:
    """Gust against its limits.

    A gust that is simply absent beside a good wind is estimated and at least caution; one that is malformed or too
    old is unknown. A gust below the wind is taken as the wind.
    """
    limits, rules = frame.inputs.limits, frame.inputs.rules.water
    wind, measured = frame.judged_wind_mps, frame.seen.gust_mps
    absent = np.array([word in ("missing", "nowhere") for word in frame.gust.trouble]) & ~np.isnan(wind)
    good = frame.gust.usable & ~np.isnan(wind)
    stands = np.where(frame.gust.held >= _gust_stop(frame), frame.gust.held, np.nan)
    given = np.where(absent, np.fmax(wind * rules.gust_factor, stands), np.fmax(frame.gust.values, wind))
    numbers = np.where(absent | good, np.fmax(given, measured), np.nan)
    best = np.where(absent | good, given, _best_gust(frame))
    held = np.where(np.isnan(numbers), np.fmax(best, measured), np.nan)
    judged = judge(frame, "gust", "Gusts", "m/s", numbers, held, limits.gust_caution_mps, limits.gust_stop_mps)
    plain_wind = np.fmax(frame.wind.values / frame.raised_by, frame.seen.wind_mps)
    plain = np.where(absent, plain_wind * rules.gust_factor, np.fmax(frame.gust.values / frame.raised_by, plain_wind))
    shown = np.fmax(plain, measured)
    by_station = ~np.isnan(measured) & ~(measured <= best) & (absent | good | (measured >= judged.stop))
    out = []
    for hour in range(len(frame.times)):
        source = frame.wind.source[hour] if absent[hour] else frame.gust.source[hour]
        if by_station[hour]:
            source = frame.seen.gust_names[hour]
        trouble = "" if absent[hour] or good[hour] else frame.gust.trouble[hour] or frame.wind.trouble[hour]
        estimate = ""
        if absent[hour]:
            estimate = "measured" if by_station[hour] else "estimated from the wind"
        factor = factor_at(judged, hour, source, trouble, estimate=estimate)
        factor = replace(factor, estimated=factor.estimated and not by_station[hour])
        out.append(_with_shown(factor, shown[hour]))
    return tuple(out)


def _best_gust(frame: Frame) -> Floats:
    # Where the wind is lost but a gust of this hour can be read, that gust still counts towards a stop.
    return np.fmax(np.fmax(frame.gust.held, frame.gust.values), frame.held_wind_mps)


def sea_by_hour(frame: Frame, wind_mps: Floats, from_deg: Floats, *, any_direction: bool) -> SeaState | None:
    """Waves of each hour at the table's points, NaN at points on land; None without any point on water.

    Where the direction is NaN the waves are NaN, unless ``any_direction``: then the worst direction is taken.
    """
    table, water = frame.inputs.fetch, frame.inputs.rules.water
    if table is None or np.isnan(table.worst_m).all():
        return None
    fetch = table.for_wind(from_deg)
    if any_direction:
        fetch = np.where(np.isnan(fetch), table.worst_m, fetch)
    depth = frame.inputs.mean_depth_m if frame.inputs.mean_depth_m else water.default_depth_m
    return sea_state(
        wind_mps * water.over_water_factor,
        fetch,
        depth,
        whitecap_wind_mps=water.whitecap_wind_mps,
        whitecap_fetch_m=water.whitecap_fetch_m,
        long_fetch_m=water.long_fetch_m,
        lingering=water.lingering,
        steep=water.steepness,
        steep_height_m=water.steep_height_m,
    )


def judged_sea(frame: Frame) -> SeaState | None:
    """The one sea of a morning: by the judged wind, forecast or seen, from the forecast's side and the one seen.

    At each point the higher of the two counts; without a forecast direction it is not known. None without any point on
    water.
    """
    assumed = frame.inputs.fetch is not None and frame.inputs.fetch.assumed
    sea = sea_by_hour(frame, frame.judged_wind_mps, frame.direction.values, any_direction=assumed)
    seen = sea_by_hour(frame, frame.judged_wind_mps, frame.seen.from_deg, any_direction=False)
    return sea if sea is None or seen is None else sea.at_least(seen)


def wave_factors(frame: Frame, sea: SeaState | None) -> Factors:
    """Waves at the roughest point of the table against their limits; a direction is needed where a shore is set.

    sea: from `judged_sea`.
    """
    limits = frame.inputs.limits
    if sea is None:
        text = "Waves are not known: no outline or size of the lake is set, so open water upwind can't be measured."
        nothing = Factor("waves", Level.UNKNOWN, None, limits.waves_stop_m, "m", "", text, standing=True)
        return (nothing,) * len(frame.times)
    numbers = _roughest(frame, sea)
    held = np.where(np.isnan(numbers), _held_waves(frame), np.nan)
    judged = judge(frame, "waves", "Waves", "m", numbers, held, limits.waves_caution_m, limits.waves_stop_m)
    steep, caps = np.asarray(sea.steep.any(axis=1)), np.asarray(sea.whitecaps.any(axis=1))
    return tuple(
        _wave_factor(frame, judged, hour, bool(steep[hour]), bool(caps[hour])) for hour in range(len(frame.times))
    )


def _roughest(frame: Frame, sea: SeaState) -> Floats:
    """Highest significant height (m) by hour at the points on water; NaN where any of them is not known."""
    assert frame.inputs.fetch is not None  # no sea without a table
    return np.asarray(sea.hs_m[:, ~np.isnan(frame.inputs.fetch.worst_m)].max(axis=1), float)


def _held_waves(frame: Frame) -> Floats:
    wind = np.fmax(frame.judged_wind_mps, frame.held_wind_mps)
    way = np.fmax(frame.direction.values, frame.direction.held)
    sea = sea_by_hour(frame, wind, way, any_direction=False)
    return np.full(len(frame.times), np.nan) if sea is None else _roughest(frame, sea)


def _wave_factor(frame: Frame, judged: Judgement, hour: int, steep: bool, caps: bool) -> Factor:
    trouble = frame.wind.trouble[hour]
    if not trouble and frame.direction.trouble[hour] and judged.numbers[hour] != judged.numbers[hour]:
        trouble = {
            "missing": "the forecast gave no wind direction",
            "nowhere": "no source gave a wind direction",
            "too old": "the wind direction is too old",
        }.get(frame.direction.trouble[hour], "the wind direction could not be read")
    table = frame.inputs.fetch
    assumed = " (shoreline assumed)" if table is not None and table.assumed else ""
    factor = factor_at(judged, hour, f"computed from wind and open water{assumed}", trouble)
    if factor.number is None or factor.level is Level.WITHIN_LIMITS:
        return factor
    extra = " A few waves an hour reach about twice this." + (" Short and steep." if steep else "")
    extra += " Whitecaps likely." if caps else ""
    return replace(factor, text=factor.text + extra)


def headway_factors(frame: Frame) -> tuple[Factor | None, ...]:
    """A stop in hours in which a paddled craft may not make headway on the way back; None in all others."""
    inputs = frame.inputs
    wind = frame.judged_wind_mps
    lost = headway_lost(inputs.craft, inputs.calm_mps, inputs.legs, wind, frame.direction.values, inputs.rules.travel)
    if lost is None:
        return (None,) * len(frame.times)
    at, limit = lost
    out: list[Factor | None] = []
    for hour, number in enumerate(wind.tolist()):
        text = f"You may not make headway on the way back against {words.speed(number, inputs.units)} of wind."
        source = _source(frame, frame.wind, hour)
        out.append(Factor("headway", Level.STOP, number, limit, "m/s", source, text) if at[hour] else None)
    return tuple(out)


def age_factors(frame: Frame) -> Factors:
    """Age of the wind forecast of each hour."""
    inputs, rules = frame.inputs, frame.inputs.rules.weather
    column = inputs.hours["wind_mps"]
    made = {}
    for number, origin in enumerate(column.origins):
        since = origin_time(origin, inputs.stale)
        if is_old(origin, inputs.now, inputs.stale) or since is None:
            level, text = Level.UNKNOWN, f"The wind data of {origin.name} are too old to go by."
        else:
            late = (inputs.now - since).total_seconds() / 3600.0 > rules.forecast_caution_h
            level = Level.CAUTION if late else Level.WITHIN_LIMITS
            text = f"The wind data of {origin.name} are {words.age(inputs.now - since)} old."
        hours = None if since is None else (inputs.now - since).total_seconds() / 3600.0
        made[number] = Factor("data_age", level, hours, rules.forecast_caution_h, "h", origin.name, text)
    text = "The age of the forecast is not known: it gave no wind for this hour."
    none = Factor("data_age", Level.UNKNOWN, None, rules.forecast_caution_h, "h", "", text)
    return tuple(made.get(number, none) for number in column.origin_index.tolist())
