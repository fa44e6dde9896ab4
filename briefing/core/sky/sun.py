"""The sun of a local day: astral's formulas where they hold, ephem's positions where they do not.

astral (NOAA's solar formulas) is fast and within 15 s at ordinary latitudes, but it folds every answer into one UTC
day, so an event near 00 UTC may belong to none; its errors grow to minutes where the sun only grazes the threshold. So
it is asked for the UTC dates around the local day and believed only when events a day apart, just one of them in the
local day and none near its edges, come back at a latitude where the sun does not graze. Otherwise the crossings are
searched for directly.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from itertools import pairwise

from briefing.core.sky.bodies import instant, meridian_sine, sun_altitude
from briefing.core.sky.search import crossings

Instants = tuple[datetime, ...]

_HOUR_S = 3600.0
#: Beyond this latitude civil twilight grazes its threshold in summer.
_STEEP_LATITUDE_DEG = 55.0
_EDGE = timedelta(seconds=90)
_DAY, _UNEVEN = timedelta(days=1), timedelta(minutes=30)


def rises_and_sets(
    latitude_deg: float, longitude_deg: float, threshold_deg: float, start: datetime, end: datetime
) -> tuple[Instants, Instants]:
    """Upward and downward passages of the sun's centre through ``threshold_deg`` in [start, end)."""
    if abs(latitude_deg) <= _STEEP_LATITUDE_DEG:
        up = _inside(_astral_events(latitude_deg, longitude_deg, threshold_deg, start, rising=True), start, end)
        down = _inside(_astral_events(latitude_deg, longitude_deg, threshold_deg, start, rising=False), start, end)
        if up is not None and down is not None:
            return up, down
    return searched(latitude_deg, longitude_deg, threshold_deg, start, end)


def searched(
    latitude_deg: float, longitude_deg: float, threshold_deg: float, start: datetime, end: datetime
) -> tuple[Instants, Instants]:
    """As ``rises_and_sets``, from positions alone."""
    function = sun_altitude(latitude_deg, longitude_deg, threshold_deg)
    found = crossings(function, start.timestamp(), end.timestamp(), _HOUR_S, math.radians(1.0))
    up = tuple(instant(when) for when, way in found if way > 0)
    return up, tuple(instant(when) for when, way in found if way < 0)


def noons(latitude_deg: float, longitude_deg: float, start: datetime, end: datetime) -> Instants:
    """Upper meridian passages of the sun in [start, end)."""
    import astral
    import astral.sun

    observer = astral.Observer(latitude_deg, longitude_deg, 0.0)
    days = _utc_dates(start)
    inside = _inside((astral.sun.noon(observer, day) for day in days), start, end)
    if inside is not None:
        return inside
    function = meridian_sine(latitude_deg, longitude_deg, "sun")
    found = crossings(function, start.timestamp(), end.timestamp(), 3.0 * _HOUR_S, 0.0)
    return tuple(instant(when) for when, way in found if way > 0)


def _utc_dates(start: datetime) -> list[date]:
    middle = (start + timedelta(hours=12)).date()
    return [middle + timedelta(days=shift) for shift in (-1, 0, 1)]


def _astral_events(
    latitude_deg: float, longitude_deg: float, threshold_deg: float, start: datetime, *, rising: bool
) -> list[datetime]:
    import astral
    import astral.sun

    # Height 0: astral's "elevation" is height above the horizon, and a lake lies in its own horizon plane.
    observer = astral.Observer(latitude_deg, longitude_deg, 0.0)
    direction = astral.SunDirection.RISING if rising else astral.SunDirection.SETTING
    events = []
    for day in _utc_dates(start):
        try:
            # An exact zenith without its refraction formula, which would shift sunrise by 10 s and dawn by 15 s.
            when = astral.sun.time_of_transit(observer, day, 90.0 - threshold_deg, direction, with_refraction=False)
        except ValueError:
            continue
        events.append(when)
    return events


def _inside(events: Iterable[datetime], start: datetime, end: datetime) -> Instants | None:
    """Return the one event in [start, end); None where the events of the three dates leave a doubt.

    They must be a day apart (two events in one UTC date show as one and a gap), and clear of the day's edges.
    """
    events = list(events)
    inside = tuple(when for when in events if start <= when < end)
    near = any(abs(when - edge) < _EDGE for when in events for edge in (start, end))
    regular = len(events) == 3 and all(abs(b - a - _DAY) < _UNEVEN for a, b in pairwise(events))
    return inside if regular and len(inside) == 1 and not near else None
