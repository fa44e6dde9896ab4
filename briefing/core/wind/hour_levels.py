"""``hour_levels``: every hour judged against the user's limits, factor by factor, with hysteresis over the series."""

from __future__ import annotations

from dataclasses import dataclass

from briefing.core.wind.frame import Frame, make_frame
from briefing.core.wind.inputs import LevelInputs
from briefing.core.wind.level import Factor, HourLevel
from briefing.core.wind.thunder import thunder_factors
from briefing.core.wind.waves import SeaState
from briefing.core.wind.weather_factors import (
    alert_factors,
    cold_factors,
    dark_factors,
    heat_factors,
    tailwater_factors,
    visibility_factors,
)
from briefing.core.wind.wind_factors import (
    age_factors,
    gust_factors,
    headway_factors,
    judged_sea,
    sustained_factors,
    wave_factors,
)
from briefing.vocabulary import worst


@dataclass(frozen=True)
class JudgedHours:
    """Every hour of a series against the limits, and the sea that they were judged by (None without any water)."""

    levels: tuple[HourLevel, ...]
    sea: SeaState | None


def hour_levels(inputs: LevelInputs) -> tuple[HourLevel, ...]:
    """Return one ``HourLevel`` an hour of the series; see `judge_hours`."""
    return judge_hours(inputs).levels


def judge_hours(inputs: LevelInputs) -> JudgedHours:
    """Judge every hour of the series, and return the sea with them.

    The level is the worst of the factors that are not standing. Nothing that is missing makes an hour look better:
    a required factor (sustained wind, direction where a shoreline is set, thunder, alerts) that is missing, too old
    or malformed is at least ``unknown``; a ``stop`` from the last accepted value stands.
    """
    frame = make_frame(inputs)
    sea = judged_sea(frame)
    columns = _columns(frame, sea)
    out = []
    for number, (hour, alerts) in enumerate(zip(frame.times, alert_factors(frame), strict=True)):
        factors = tuple(factor for column in columns if (factor := column[number]) is not None) + alerts
        out.append(HourLevel(hour, worst([f.level for f in factors if not f.standing]), factors))
    return JudgedHours(tuple(out), sea)


def _columns(frame: Frame, sea: SeaState | None) -> list[tuple[Factor | None, ...]]:
    columns: list[tuple[Factor | None, ...] | None] = [
        sustained_factors(frame),
        gust_factors(frame),
        wave_factors(frame, sea),
        headway_factors(frame),
        thunder_factors(frame),
        cold_factors(frame),
        heat_factors(frame),
        visibility_factors(frame),
        dark_factors(frame),
        tailwater_factors(frame),
        age_factors(frame),
    ]
    return [column for column in columns if column is not None]
