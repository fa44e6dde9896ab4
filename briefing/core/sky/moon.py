"""The moon of a local day: rise, set, meridian passages, and the instants of its phases."""

from __future__ import annotations

import math
from datetime import datetime

from briefing.core.sky.bodies import elongation_rad, instant, meridian_sine, moon_altitude
from briefing.core.sky.search import crossings

_HOUR_S = 3600.0

#: Principal phases by quarter of the elongation, and the names between them.
PRINCIPAL = ("new", "first_quarter", "full", "last_quarter")
BETWEEN = ("waxing_crescent", "waxing_gibbous", "waning_gibbous", "waning_crescent")

Instants = tuple[datetime, ...]


def rises_and_sets(
    latitude_deg: float, longitude_deg: float, start_s: float, end_s: float
) -> tuple[Instants, Instants]:
    """Moonrises and moonsets (upper limb, 34' refraction, sea-level horizon) in [start_s, end_s)."""
    found = crossings(moon_altitude(latitude_deg, longitude_deg), start_s, end_s, _HOUR_S, math.radians(1.0))
    return _split(found)


def transits(latitude_deg: float, longitude_deg: float, start_s: float, end_s: float) -> tuple[Instants, Instants]:
    """Upper and lower meridian passages of the moon in [start_s, end_s)."""
    function = meridian_sine(latitude_deg, longitude_deg, "moon")
    return _split(crossings(function, start_s, end_s, 3.0 * _HOUR_S, 0.0))


def _split(found: list[tuple[float, int]]) -> tuple[Instants, Instants]:
    up = tuple(instant(when) for when, way in found if way > 0)
    down = tuple(instant(when) for when, way in found if way < 0)
    return up, down


def moon_phase_instants(start: datetime, end: datetime) -> list[tuple[str, datetime]]:
    """Every new moon, first quarter, full moon and last quarter in [start, end), in order, as aware UTC instants.

    The phases are the instants at which moon and sun differ by 0, 90, 180 and 270 degrees in apparent ecliptic
    longitude (Meeus 1998, chapter 49). ``start`` and ``end`` are aware; names are those of ``PRINCIPAL``.
    """
    if start.tzinfo is None or end.tzinfo is None:
        raise ValueError("moon phases are asked for between aware instants")
    begin, finish = start.timestamp(), end.timestamp()
    # sin(2 e) vanishes at all four phases: upward at new and full, downward at the quarters.
    found = crossings(lambda t: math.sin(2.0 * elongation_rad(t)), begin, finish, 48.0 * _HOUR_S, 0.0)
    return [(PRINCIPAL[round(elongation_rad(when) / (math.pi / 2.0)) % 4], instant(when)) for when, _ in found]


def moon_phase_name(start: datetime, end: datetime) -> str:
    """Name of the phase on the local day [start, end): a principal one on the day of its instant, else one between."""
    first, last = elongation_rad(start.timestamp()), elongation_rad(end.timestamp())
    quarter = int(last // (math.pi / 2.0))
    if int(first // (math.pi / 2.0)) != quarter:
        return PRINCIPAL[quarter]
    return BETWEEN[quarter]
