"""Mornings of a log that were like a given one, by season, water, wind, light and clarity."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo

from briefing.core.log.parameters import LikeParameters
from briefing.core.log.records import Condition, Segment


@dataclass(frozen=True, slots=True)
class Asked:
    """The morning that others are compared with: its day and what is known of it (C, m/s, m, %)."""

    day: date
    conditions: Mapping[str, Condition]


@dataclass(frozen=True, slots=True)
class LikeMorning:
    """A morning of the log: how far it is from the one asked for (0 the same, 1 a usual difference in every respect).

    compared names what both mornings know. segments are those of the day, in their order.
    """

    day: date
    distance: float
    compared: tuple[str, ...]
    segments: tuple[Segment, ...]


def likest(
    segments: Sequence[Segment], asked: Asked, zone: tzinfo, p: LikeParameters, most: int
) -> tuple[LikeMorning, ...]:
    """The mornings nearest to one, nearest first; those that share nothing but the season are left out.

    The distance is the root of the mean square of the differences, each in units of what is usual between mornings:
    days of the year in a circle, water temperature and wind by their difference, clarity by the logarithm of its
    ratio, cloud by its difference. Segments of the day itself, or without a known effort and without fish, don't count.
    """
    by_day: dict[date, list[Segment]] = {}
    for segment in segments:
        day = segment.start.astimezone(zone).date()
        caught = segment.fish or segment.contacts or segment.follows
        if day != asked.day and (caught or segment.minutes is not None):
            by_day.setdefault(day, []).append(segment)
    found = []
    for day, own in by_day.items():
        known = _first_known(own)
        steps = {"season": _season_days(day, asked.day) / p.season_days}
        steps |= _differences(known, asked.conditions, p)
        if len(steps) < 2:
            continue
        distance = math.sqrt(sum(step * step for step in steps.values()) / len(steps))
        found.append(LikeMorning(day, distance, tuple(steps), tuple(sorted(own, key=lambda one: one.start))))
    return tuple(sorted(found, key=lambda one: (one.distance, -one.day.toordinal()))[:most])


def _first_known(segments: Sequence[Segment]) -> dict[str, Condition]:
    """The first value of each condition over the segments of a day."""
    out: dict[str, Condition] = {}
    for segment in sorted(segments, key=lambda one: one.start):
        for name, condition in segment.conditions.items():
            out.setdefault(name, condition)
    return out


def _season_days(one: date, other: date) -> float:
    apart = abs(one.timetuple().tm_yday - other.timetuple().tm_yday)
    return float(min(apart, 365 - apart))


def _differences(known: Mapping[str, Condition], asked: Mapping[str, Condition], p: LikeParameters) -> dict[str, float]:
    """What both know, in units of what is usual between mornings."""
    out = {}
    for name, (condition, usual) in {
        "water": ("water_c", p.water_c),
        "wind": ("wind_mps", p.wind_mps),
        "light": ("cloud_pct", p.cloud_pct),
        "clarity": ("secchi_m", p.clarity_ratio),
    }.items():
        pair = [_number(side.get(condition)) for side in (known, asked)]
        if pair[0] is None or pair[1] is None:
            continue
        if name != "clarity":
            out[name] = abs(pair[0] - pair[1]) / usual
        elif min(pair[0], pair[1]) > 0.0:
            out[name] = abs(math.log(pair[0] / pair[1])) / math.log(usual)
    return out


def _number(condition: Condition | None) -> float | None:
    return None if condition is None or isinstance(condition.value, str) else float(condition.value)


def how_near(distance: float, p: LikeParameters) -> str:
    """The distance in words."""
    return "very like" if distance <= p.very_like else "like" if distance <= p.like else "somewhat like"
