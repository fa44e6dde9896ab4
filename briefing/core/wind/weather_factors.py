"""Factors beside the wind: alerts, cold water, heat, visibility, darkness, tailwater."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from briefing.core.freshness import is_stale
from briefing.core.wind import words
from briefing.core.wind.frame import HOUR, Frame
from briefing.core.wind.heat import heat_index_c, humidity_from_dewpoint_pct
from briefing.core.wind.inputs import DayLight, LevelInputs
from briefing.core.wind.judge import Column, read_column
from briefing.core.wind.level import Factor
from briefing.core.wind.limits import ColdBand
from briefing.units import Units
from briefing.vocabulary import Craft, Level, worst

Floats = NDArray[np.float64]
Factors = tuple[Factor, ...]
UNDER_POWER = (Craft.JON_BOAT, Craft.BASS_BOAT)
FOG_CODES = (45.0, 48.0)


def alert_factors(frame: Frame) -> tuple[Factors, ...]:
    """State of the alert feed, and one factor for each alert that raises an hour."""
    inputs = frame.inputs
    state = feed_factor(inputs)
    effects = []
    for active in inputs.alerts.active:
        meaning = inputs.events.consequence(
            active.alert,
            inputs.craft,
            inputs.skill,
            moving_water=inputs.moving_water or bool(inputs.tailwater),
            big_lake=inputs.big_lake,
        )
        if meaning.level is not Level.WITHIN_LIMITS:
            until = f" until {_when(active.end, inputs)}" if active.end else ""
            gone = ", no longer listed but never cancelled" if active.vanished else ""
            odd = ", its times contradict each other" if active.odd_times else ""
            text = f"{active.alert.event or 'A message without a name'}{until}{gone}{odd}: {meaning.text}."
            issuer = active.alert.issued_by or inputs.alerts.name
            told = Factor(
                *("alerts", meaning.level, None, None, "", issuer, text), ref=active.alert.id, about=meaning.about
            )
            effects.append((active, told))
    return tuple(
        (state, *(factor for active, factor in effects if active.overlaps(hour, hour + HOUR))) for hour in frame.times
    )


def feed_factor(inputs: LevelInputs) -> Factor:
    """Return what the alert feed itself says: listed, unknown, or a standing unknown where no service exists."""
    feed = inputs.alerts
    name = feed.name or "alerts"
    if not feed.service_exists and not feed.entered:
        text = "Official warnings are not known: the lake lies outside every service that is read."
        return Factor("alerts", Level.UNKNOWN, None, None, "", name, text, standing=True)
    at = words.clock(feed.checked_at, inputs.zone) if feed.checked_at else ""
    old = is_stale("alerts_typed" if feed.entered else "alerts", feed.checked_at, inputs.now, inputs.stale)
    if feed.problem or feed.checked_at is None:
        asked = words.clock(inputs.now, inputs.zone)
        return Factor("alerts", Level.UNKNOWN, None, None, "", name, f"Alerts could not be checked at {asked}.")
    if feed.damaged:
        text = f"Of the alerts read at {at} some could not be understood."
        return Factor("alerts", Level.UNKNOWN, None, None, "", name, text)
    if old:
        return Factor("alerts", Level.UNKNOWN, None, None, "", name, f"Alerts were last read at {at}: too long ago.")
    listed = f"{len(feed.active)} alert(s) listed" if feed.active else "No alerts listed"
    return Factor("alerts", Level.WITHIN_LIMITS, None, None, "", f"{name}, {at}", f"{listed} at {at}.")


def _when(instant: datetime, inputs: LevelInputs) -> str:
    local = instant.astimezone(inputs.zone)
    same_day = local.date() == inputs.now.astimezone(inputs.zone).date()
    return local.strftime("%H:%M" if same_day else "%a %H:%M")


def cold_factors(frame: Frame) -> Factors:
    """Cold water by water temperature alone; the limits of the wind factors are already scaled by it."""
    inputs = frame.inputs
    known = ~np.isnan(np.broadcast_to(np.asarray(inputs.water_low_c, float), (len(frame.times),)))
    made: dict[tuple[float, bool], Factor] = {}
    out = []
    for value, band, sure in zip(frame.water_c.tolist(), frame.cold, known.tolist(), strict=True):
        key = (value if value == value else -99.0, sure)
        if key not in made:
            made[key] = _cold_factor(inputs, value, band, sure)
        out.append(made[key])
    return tuple(out)


def _cold_factor(inputs: LevelInputs, value: float, band: ColdBand, sure: bool) -> Factor:
    source = "low end of the water temperature's range" if sure else "coldest plausible for the month"
    if value != value:
        text = f"Water temperature not known, so taken as very cold. {band.text}."
        return Factor("cold_water", Level.CAUTION, None, band.from_c, "C", "", text)
    scaled = 1.0 if inputs.immersion_clothing else band.factor
    tail = f" Your limits are cut to {words.part(scaled)}." if scaled < 1.0 else ""
    said = band.level is Level.WITHIN_LIMITS or "not alone" in band.text.lower()
    alone = " Not alone." if inputs.alone and not said else ""
    level = band.level if sure else worst((band.level, Level.CAUTION))
    text = f"Water may be as cold as {words.temperature(value, inputs.units)}. {band.text}.{alone}{tail}"
    return Factor("cold_water", level, value, band.from_c, "C", source, text, not sure)


def heat_factors(frame: Frame) -> Factors:
    """Heat index in the shade; air or humidity that can't be read never counts as cool."""
    rules, inputs = frame.inputs.rules.weather, frame.inputs
    air = _plain(frame, "air_c", -60.0, 60.0)
    humid, dew = _plain(frame, "humidity_pct", 0.0, 105.0), _plain(frame, "dewpoint_c", -70.0, 40.0)
    moist = np.where(humid.usable, humid.values, humidity_from_dewpoint_pct(air.values, dew.values))
    index = heat_index_c(air.values, moist)
    index = np.where(np.isnan(index) & (air.values < 26.0), air.values, index)  # too cool for humidity to matter
    excluded = _heat_excluded(frame, index)
    return tuple(
        excluded[hour]
        or _heat_factor(
            value, rules.heat_caution_c, rules.heat_strong_c, rules.heat_stop_c, air.source[hour], inputs.units
        )
        for hour, value in enumerate(index.tolist())
    )


def _heat_excluded(frame: Frame, index: Floats) -> list[Factor | None]:
    """Heat in hours without a reading, where the season or the hours beside it leave no room for it."""
    inputs, rules = frame.inputs, frame.inputs.rules.exclude
    caution = inputs.rules.weather.heat_caution_c
    warmest = inputs.warmest_air_c
    by_season = warmest is not None and warmest < caution - rules.heat_margin_c
    out: list[Factor | None] = []
    for hour, value in enumerate(index.tolist()):
        beside = _warmest_beside(index, hour, rules.known_hours)
        text = ""
        if value == value:
            pass
        elif warmest is not None and by_season:
            text = f"Heat is left out: at this time of the year the air stays below {_say(warmest, frame)}."
        elif beside < caution - rules.heat_beside_c:
            text = f"Heat is left out: the hours beside this one feel like {_say(beside, frame)}."
        out.append(Factor("heat", Level.WITHIN_LIMITS, None, caution, "C", "", text, excluded=True) if text else None)
    return out


def _warmest_beside(index: Floats, hour: int, reach: int) -> float:
    """Warmest of the hours within ``reach`` of one, NaN unless some are known on both sides."""
    before, after = index[max(0, hour - reach) : hour], index[hour + 1 : hour + 1 + reach]
    if not (np.isfinite(before).any() and np.isfinite(after).any()):
        return float("nan")
    return float(np.nanmax(np.concatenate([before, after])))


def _say(value_c: float, frame: Frame) -> str:
    return words.temperature(value_c, frame.inputs.units)


def _heat_factor(value: float, caution: float, strong: float, stop: float, source: str, units: Units) -> Factor:
    if value != value:
        text = "Heat is not known: the forecast gave no air temperature or no humidity."
        return Factor("heat", Level.CAUTION, None, caution, "C", source, text)
    say = words.felt_temperature(value, units)
    if value < caution:
        return Factor("heat", Level.WITHIN_LIMITS, value, caution, "C", source, f"Feels like {say} in the shade.")
    if value >= stop:
        text = f"Extreme heat: feels like {say} in the shade; stop from {words.temperature(stop, units)}."
        return Factor("heat", Level.STOP, value, stop, "C", source, text)
    short = " In such hours a short outing at most." if value >= strong else ""
    text = f"Feels like {say} in the shade; caution from {words.temperature(caution, units)}.{short}"
    return Factor("heat", Level.CAUTION, value, caution, "C", source, text)


def _plain(frame: Frame, name: str, lowest: float, highest: float) -> Column:
    inputs = frame.inputs
    return read_column(
        inputs.hours, name, inputs.now, inputs.stale, lowest=lowest, highest=highest, accepted=inputs.accepted
    )


def visibility_factors(frame: Frame) -> Factors:
    """Fog and short sight: stop for craft under power at a quarter mile, caution below a mile."""
    rules = frame.inputs.rules.weather
    sight = _plain(frame, "visibility_m", 0.0, 200_000.0)
    codes = _plain(frame, "weather_code", 0.0, 99.0).values
    air, dew = _plain(frame, "air_c", -60.0, 60.0).values, _plain(frame, "dewpoint_c", -70.0, 40.0).values
    with np.errstate(invalid="ignore"):
        hint = (air - dew <= rules.fog_spread_c) & (frame.judged_wind_mps < rules.fog_wind_mps)
    return tuple(
        _sight_factor(frame, hour, sight, bool(codes[hour] in FOG_CODES), bool(hint[hour]))
        for hour in range(len(frame.times))
    )


def _sight_factor(frame: Frame, hour: int, sight: Column, fog: bool, hint: bool) -> Factor:
    rules, units = frame.inputs.rules.weather, frame.inputs.units
    measured, held = float(frame.seen.visibility_m[hour]), float(sight.held[hour])
    value = float(np.fmin(sight.values[hour], measured))
    trouble = sight.trouble[hour]
    stop_here = frame.inputs.craft in UNDER_POWER
    low = min((v for v in (value, held) if v == v), default=float("nan"))
    source = frame.seen.sight_names[hour] if measured == low else sight.source[hour]
    if stop_here and low <= rules.visibility_stop_m:
        text = f"Visibility {words.distance(low, units)}: no running under power, wait until it lifts."
        return Factor("visibility", Level.STOP, low, rules.visibility_stop_m, "m", source, text)
    if trouble == "malformed":
        text = "Visibility is not known: its value could not be read."
        return Factor("visibility", Level.UNKNOWN, None, rules.visibility_caution_m, "m", source, text)
    if low < rules.visibility_caution_m:
        text = f"Visibility {words.distance(low, units)}."
        return Factor("visibility", Level.CAUTION, low, rules.visibility_caution_m, "m", source, text)
    if value != value or fog:
        text = "Fog is in the forecast." if fog else "Visibility is not known: the forecast gave no value. Look first."
        number = value if value == value else None
        return Factor("visibility", Level.CAUTION, number, rules.visibility_caution_m, "m", source, text)
    text = f"Visibility {words.distance(value, units)}." + (" Fog may form: air near its dew point." if hint else "")
    return Factor("visibility", Level.WITHIN_LIMITS, value, rules.visibility_caution_m, "m", source, text)


def dark_factors(frame: Frame) -> Factors:
    """Hours not wholly between civil dawn and civil dusk; lights are wanted from sunset to sunrise."""
    light, dim, dark, unknown = (
        Factor("darkness", Level.WITHIN_LIMITS, None, None, "", "sun", "Daylight."),
        Factor("darkness", Level.WITHIN_LIMITS, None, None, "", "sun", "Sun below the horizon: lights on."),
        Factor("darkness", Level.CAUTION, None, None, "", "sun", "Dark for part of the hour or all of it: lights on."),
        Factor("darkness", Level.CAUTION, None, None, "", "sun", "Daylight is not known here: count on the dark."),
    )
    days = [day for day in frame.inputs.light if day.dawn and day.dusk]
    out = []
    for hour in frame.times:
        if not days:
            out.append(unknown)
        elif not any(day.dawn and day.dusk and day.dawn <= hour and hour + HOUR <= day.dusk for day in days):
            out.append(dark)
        else:
            out.append(light if any(_sun_up(day, hour) for day in days) else dim)
    return tuple(out)


def _sun_up(day: DayLight, hour: datetime) -> bool:
    return bool(day.sunrise and day.sunset and day.sunrise <= hour and hour + HOUR <= day.sunset)


def tailwater_factors(frame: Frame) -> Factors | None:
    """Water below a dam: always at least caution, since releases are in no feed that is read."""
    places = frame.inputs.tailwater
    if not places:
        return None
    named = f"{', '.join(places[:-1])} and {places[-1]} lie" if len(places) > 1 else f"{places[0]} lies"
    text = f"{named} below a dam: water can rise within seconds, and releases are not in this briefing."
    return (Factor("tailwater", Level.CAUTION, None, None, "", "your profile", text),) * len(frame.times)
