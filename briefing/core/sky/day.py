"""Sun and moon of one local day at one place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np

from briefing.core.sky import moon, sun
from briefing.core.sky.bodies import elongation_rad, moon_disc
from briefing.core.sky.position import CIVIL_DEG, SUNRISE_DEG, sun_elevation_deg

Instants = tuple[datetime, ...]
SunState = Literal["rises_and_sets", "up_all_day", "down_all_day"]

_HALF_DAY = timedelta(hours=12)


@dataclass(frozen=True)
class SkyDay:
    """Events of the local day [start, end), each a tuple of none, one or two aware UTC instants in order.

    Sunrise and sunset: centre of the sun at -50'; civil dawn and dusk at -6 deg; moonrise and moonset: upper limb with
    34' refraction; transits: meridian passages of the moon. Sea-level horizon: hills and trees are worth minutes.
    ``day_length_h`` runs from the sunrise before to the sunset after solar noon. Moon values hold for 12:00
    local clock time: ``illuminated_frac`` 0..1, ``moon_elongation_deg`` 0 new, 90 first quarter, 180 full, 270 last.
    ``moon_phase`` is one of new, waxing_crescent, first_quarter, waxing_gibbous, full, waning_gibbous, last_quarter,
    waning_crescent; the principal ones on the local date of their instant.
    """

    day: date
    start: datetime
    end: datetime
    sunrise: Instants
    sunset: Instants
    civil_dawn: Instants
    civil_dusk: Instants
    solar_noon: Instants
    moonrise: Instants
    moonset: Instants
    upper_transit: Instants
    lower_transit: Instants
    sun_state: SunState
    day_length_h: float
    illuminated_frac: float
    moon_elongation_deg: float
    moon_distance_km: float
    moon_phase: str


def local_day(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """First instant of a local date and of the next, aware UTC; 23 to 25 h apart."""
    first, after = (datetime.combine(d, time.min, tzinfo=zone) for d in (day, day + timedelta(days=1)))
    return first.astimezone(UTC), after.astimezone(UTC)


@lru_cache(maxsize=64)  # a morning asks for its own day at its own place again and again
def sky_day(latitude_deg: float, longitude_deg: float, day: date, zone: ZoneInfo) -> SkyDay:
    """Return sun and moon of the local date ``day`` in ``zone`` at a place (north and east positive).

    Sun by the formulas of Meeus (1998) as in astral, moon (and the sun where those lose an event) by the series of
    ephem; within 60 s of the JPL ephemeris. Raises ValueError for a position off the globe.
    """
    _check(latitude_deg, longitude_deg)
    start, end = local_day(day, zone)
    span = start.timestamp(), end.timestamp()
    sunrise, sunset = sun.rises_and_sets(latitude_deg, longitude_deg, SUNRISE_DEG, start, end)
    dawn, dusk = sun.rises_and_sets(latitude_deg, longitude_deg, CIVIL_DEG, start, end)
    noons = sun.noons(latitude_deg, longitude_deg, start, end)
    moonrise, moonset = moon.rises_and_sets(latitude_deg, longitude_deg, *span)
    upper, lower = moon.transits(latitude_deg, longitude_deg, *span)
    clock_noon = datetime.combine(day, time(12), tzinfo=zone).timestamp()
    illuminated, distance = moon_disc(clock_noon)
    middle = noons[0] if noons else start + (end - start) / 2
    state = _sun_state(latitude_deg, longitude_deg, middle, sunrise + sunset)
    return SkyDay(
        day=day,
        start=start,
        end=end,
        sunrise=sunrise,
        sunset=sunset,
        civil_dawn=dawn,
        civil_dusk=dusk,
        solar_noon=noons,
        moonrise=moonrise,
        moonset=moonset,
        upper_transit=upper,
        lower_transit=lower,
        sun_state=state,
        day_length_h=_length_h(latitude_deg, longitude_deg, middle, state, sunrise, sunset),
        illuminated_frac=illuminated,
        moon_elongation_deg=math.degrees(elongation_rad(clock_noon)),
        moon_distance_km=distance,
        moon_phase=moon.moon_phase_name(start, end),
    )


def evening_dusk(latitude_deg: float, longitude_deg: float, day: date, zone: ZoneInfo) -> datetime | None:
    """Civil dusk that ends the evening of ``day``, even when it falls after midnight; None if it does not come.

    It is the passage of -6 deg between the day's solar noon and the night's lowest sun, so it follows the sunset of
    that evening. None stands for a night that stays light or, in the polar winter, a day that never was light.
    """
    _check(latitude_deg, longitude_deg)
    start, end = local_day(day, zone)
    noons = sun.noons(latitude_deg, longitude_deg, start, end)
    noon = noons[0] if noons else start + (end - start) / 2
    # From the events of whole local days, so that it never differs from the dusk of ``sky_day`` by a printed minute.
    for date_ in (day, day + timedelta(days=1)):
        _, dusks = sun.rises_and_sets(latitude_deg, longitude_deg, CIVIL_DEG, *local_day(date_, zone))
        for when in dusks:
            if noon < when <= noon + _HALF_DAY:
                return when
    return None


def _check(latitude_deg: float, longitude_deg: float) -> None:
    if not (abs(latitude_deg) <= 90.0 and abs(longitude_deg) <= 180.0):
        raise ValueError(f"no such position: latitude {latitude_deg}, longitude {longitude_deg}")


def _sun_state(latitude_deg: float, longitude_deg: float, noon: datetime, events: Instants) -> SunState:
    if events:
        return "rises_and_sets"
    elevation = sun_elevation_deg(latitude_deg, longitude_deg, np.array([noon.timestamp()]))[0]
    return "up_all_day" if elevation > SUNRISE_DEG else "down_all_day"


def _length_h(
    latitude_deg: float, longitude_deg: float, noon: datetime, state: SunState, sunrise: Instants, sunset: Instants
) -> float:
    """Hours from the sunrise before to the sunset after noon; a side without one counts to the lowest sun."""
    if state != "rises_and_sets":
        return 24.0 if state == "up_all_day" else 0.0
    before = [noon - when for when in sunrise if when <= noon]
    after = [when - noon for when in sunset if when >= noon]
    if not before or not after:
        rises, sets = sun.searched(latitude_deg, longitude_deg, SUNRISE_DEG, noon - _HALF_DAY, noon + _HALF_DAY)
        before = [noon - when for when in rises if when <= noon]
        after = [when - noon for when in sets if when >= noon]
    morning, evening = min(before, default=_HALF_DAY), min(after, default=_HALF_DAY)
    return (morning + evening).total_seconds() / 3600.0
