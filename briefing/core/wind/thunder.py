"""Lightning: forecast probability, activity level and weather text, then instability as a labelled fallback.

No open craft is a shelter, so every caution says so. Alerts are judged on their own beside this.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.wind import words
from briefing.core.wind.frame import HOUR, Frame
from briefing.core.wind.judge import Column, margin, raised, read_column
from briefing.core.wind.level import Factor
from briefing.core.wind.rules import ThunderRules, minutes
from briefing.vocabulary import Level, worst

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
NO_SHELTER = "No open craft is a shelter."
_MAIN = (("thunder_pct", 0.0, 100.0), ("lightning_level", 1.0, 6.0), ("thunder_words_pct", 0.0, 100.0))
_SPARE = (("cape_jkg", 0.0, 12_000.0), ("precip_chance_pct", 0.0, 100.0), ("weather_code", 0.0, 99.0))


def thunder_factors(frame: Frame) -> tuple[Factor, ...]:
    """Return the thunder factor of each hour; thunder the user heard may raise it, never lower it."""
    columns = {name: _column(frame, name, low, high) for name, low, high in (*_MAIN, *_SPARE)}
    forecast = [_forecast(frame, columns, hour) for hour in range(len(frame.times))]
    held_up = _held_up(frame, columns)
    heard = _heard(frame)
    return tuple(_worse(_kept(one, held_up[hour]), heard[hour]) for hour, one in enumerate(forecast))


def _column(frame: Frame, name: str, lowest: float, highest: float) -> Column:
    inputs = frame.inputs
    return read_column(
        inputs.hours, name, inputs.now, inputs.stale, lowest=lowest, highest=highest, accepted=inputs.accepted
    )


def _forecast(frame: Frame, columns: dict[str, Column], hour: int) -> Factor:
    rules = frame.inputs.rules.thunder
    found = [_main(name, columns[name], hour, rules) for name, _, _ in _MAIN]
    good = [factor for factor in found if factor is not None]
    broken = [columns[name].trouble[hour] for name, _, _ in _MAIN]
    damaged, old = "malformed" in broken, "too old" in broken
    stops = [factor for factor in good if factor.level is Level.STOP] + _held_stops(columns, hour, rules)
    if stops:
        return stops[0]
    if damaged or (old and not good):
        say = "could not be read" if damaged else "is too old"
        text = f"Thunder is not known: its forecast {say}."
        return Factor("thunder", Level.UNKNOWN, None, rules.stop_pct, "%", "", text)
    if good:
        lead = max(good, key=lambda factor: factor.level.rank)
        if all(factor is None for factor in found[:2]):
            lead = replace(lead, estimated=True)  # words alone give no number
        return _with_hint(lead, columns, hour, rules)
    return _fallback(frame, columns, hour)


def _main(name: str, column: Column, hour: int, rules: ThunderRules) -> Factor | None:
    """Judge one of the three direct sources; None where it gives nothing."""
    value = float(column.values[hour])
    # the lowest activity level is also what offices leave in a layer that they don't fill: alone it says nothing
    unfilled = name == "lightning_level" and value < rules.caution_level
    return None if value != value or unfilled else _judged(name, value, column.source[hour], rules)


def _judged(name: str, value: float, source: str, rules: ThunderRules) -> Factor:
    by_level = name == "lightning_level"
    caution, stop = (rules.caution_level, rules.stop_level) if by_level else (rules.caution_pct, rules.stop_pct)
    level = Level.STOP if value >= stop else Level.CAUTION if value >= caution else Level.WITHIN_LIMITS
    if by_level:
        text = f"Lightning activity level {value:.0f} of 6; your stop is {stop:.0f}."
    elif name == "thunder_words_pct":
        text = f"The weather text speaks of thunder (about {value:.0f} %); your stop is {stop:.0f} %."
        text = text if value > 0.0 else "The weather text names no thunder."
    else:
        text = f"Chance of thunder {value:.0f} %; your stop is {stop:.0f} %."
    if level is not Level.WITHIN_LIMITS:
        text += f" {NO_SHELTER}"
    limit, unit = caution if level is not Level.STOP else stop, "level" if by_level else "%"
    return Factor("thunder", level, value, limit, unit, source, text, stop_limit=stop)


def _held_stops(columns: dict[str, Column], hour: int, rules: ThunderRules) -> list[Factor]:
    """Stops from the last accepted values of sources that can't be read now."""
    out = []
    for name, _, _ in _MAIN:
        held = float(columns[name].held[hour])
        if held == held:
            factor = _judged(name, held, columns[name].source[hour] or "last accepted forecast", rules)
            if factor.level is Level.STOP:
                out.append(_retold(factor, "From the last forecast that could be read: " + factor.text))
    return out


def _with_hint(lead: Factor, columns: dict[str, Column], hour: int, rules: ThunderRules) -> Factor:
    """A model's storm code is reported beside a direct forecast and raises it to caution, never to stop."""
    if lead.level is not Level.WITHIN_LIMITS or not _storm_code(columns, hour, rules):
        return lead
    text = f"{lead.text} A model hints at storms, unconfirmed. {NO_SHELTER}"
    return replace(lead, level=Level.CAUTION, text=text)


def _storm_code(columns: dict[str, Column], hour: int, rules: ThunderRules) -> bool:
    return float(columns["weather_code"].values[hour]) in rules.storm_codes


def _fallback(frame: Frame, columns: dict[str, Column], hour: int) -> Factor:
    rules = frame.inputs.rules.thunder
    cape, rain = float(columns["cape_jkg"].values[hour]), float(columns["precip_chance_pct"].values[hour])
    code, calm_code = _storm_code(columns, hour, rules), columns["weather_code"].values[hour] in rules.calm_codes
    if any(columns[name].trouble[hour] == "malformed" for name, _, _ in _SPARE):
        level, text = (
            Level.UNKNOWN,
            "Thunder is not known: the forecast gave no value, and the instability could not be read.",
        )
        if cape >= rules.cape_stop_jkg and rain >= rules.cape_stop_rain_pct:
            level, text = Level.STOP, _fallback_text(cape, rain, code)
        return Factor("thunder", level, None, None, "J/kg", "", text, estimated=True)
    # where a model's own hours are used its instability belongs to them: lost, it is no standing unknown
    model = any(origin.source == "open_meteo" for origin in frame.inputs.hours["wind_mps"].origins)
    standing = not frame.inputs.thunder_service and not model
    if cape != cape and not (code or calm_code):
        text = "Thunder is not known: the forecast gave no value."
        return Factor("thunder", Level.UNKNOWN, None, rules.stop_pct, "%", "", text, standing=standing)
    # Where a thunder forecast exists but is missing, quiet instability does not stand in for it: storms come at little.
    least = Level.CAUTION if frame.inputs.thunder_service else Level.WITHIN_LIMITS
    level = worst((least, _by_cape(cape, rain, rules), _by_code(code, rain, rules)))
    if level is Level.WITHIN_LIMITS and not (cape == cape and calm_code):
        text = "Thunder is not known: the model gave no instability or no weather code that says."
        return Factor("thunder", Level.UNKNOWN, None, rules.stop_pct, "%", "", text, standing=standing)
    number = cape if cape == cape else None
    source = columns["cape_jkg"].source[hour] or columns["weather_code"].source[hour]
    return Factor(
        "thunder", level, number, rules.cape_stop_jkg, "J/kg", source, _fallback_text(cape, rain, code), estimated=True
    )


def _by_cape(cape: float, rain: float, rules: ThunderRules) -> Level:
    if rain != rain:
        return Level.CAUTION if cape >= rules.cape_stop_jkg else Level.WITHIN_LIMITS
    if cape >= rules.cape_stop_jkg and rain >= rules.cape_stop_rain_pct:
        return Level.STOP
    if cape >= rules.cape_high_jkg and rain >= rules.cape_high_rain_pct:
        return Level.STOP
    if cape >= rules.cape_caution_jkg and rain >= rules.cape_caution_rain_pct:
        return Level.CAUTION
    return Level.WITHIN_LIMITS


def _by_code(code: bool, rain: float, rules: ThunderRules) -> Level:
    if not code:
        return Level.WITHIN_LIMITS
    # Storm codes were seen under clear skies: alone they are a hint, with likely rain or none given they count.
    return Level.CAUTION if rain < rules.cape_stop_rain_pct else Level.STOP


def _fallback_text(cape: float, rain: float, code: bool) -> str:
    parts = [f"instability {cape:.0f} J/kg"] if cape == cape else []
    parts += [f"rain chance {rain:.0f} %"] if rain == rain else ["no rain chance given"]
    parts += ["a model's storm code"] if code else []
    return f"Thunder estimated from instability: {', '.join(parts)}. {NO_SHELTER}"


def _held_up(frame: Frame, columns: dict[str, Column]) -> tuple[Level, ...]:
    """Level that hysteresis keeps an hour at, by probability, text and activity level."""
    rules, least = frame.inputs.rules.thunder, frame.inputs.rules.hysteresis
    high, low = np.zeros(len(frame.times), bool), np.zeros(len(frame.times), bool)
    for name, _, _ in _MAIN:
        step = 0.5 if name == "lightning_level" else least.probability_pct
        stop, caution = (
            (rules.stop_level, rules.caution_level)
            if name == "lightning_level"
            else (rules.stop_pct, rules.caution_pct)
        )
        values = columns[name].values
        high |= raised(values, stop, margin(stop, step, least), least.hours)
        low |= raised(values, caution, margin(caution, step, least), least.hours)
    return tuple(
        Level.STOP if h else Level.CAUTION if c else Level.WITHIN_LIMITS for h, c in zip(high, low, strict=True)
    )


def _kept(factor: Factor, level: Level) -> Factor:
    if level.rank <= factor.level.rank or factor.level is Level.UNKNOWN:
        return factor
    text = f"{factor.text} Held at {level.value}: not yet clearly below the limit for two hours."
    return replace(factor, level=level, text=text)


def _heard(frame: Frame) -> tuple[Factor | None, ...]:
    """Thunder the user heard: stop until 30 minutes after the last, caution until it goes stale."""
    rules, inputs = frame.inputs.rules.thunder, frame.inputs
    limit = min(minutes(rules.heard_counts_min), inputs.stale.after["thunder_heard"])
    recent = [t for t in inputs.thunder_heard if timedelta(minutes=-10) <= inputs.now - t <= limit]
    if not recent:
        return (None,) * len(frame.times)
    last = max(recent)
    text = (
        f"You heard thunder at {words.clock(last, inputs.zone)}: wait 30 minutes after the last, indoors. {NO_SHELTER}"
    )
    out: list[Factor | None] = []
    for hour in frame.times:
        level = None
        if hour < last + minutes(rules.wait_min) and hour + HOUR > min(recent):
            level = Level.STOP
        elif hour < last + limit and hour + HOUR > min(recent):
            level = Level.CAUTION
        out.append(None if level is None else Factor("thunder", level, None, None, "", "you", text))
    return tuple(out)


def _worse(forecast: Factor, heard: Factor | None) -> Factor:
    if heard is None or (not forecast.standing and forecast.level.rank > heard.level.rank):
        return forecast
    return heard


def _retold(factor: Factor, text: str) -> Factor:
    return replace(factor, text=text)
