"""Apparent positions of sun and moon from ephem's series (VSOP87 and the lunar theory of Moshier), by epoch seconds.

ephem is imported when first asked, so that commands that need no sky start quickly.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

#: ephem counts days from 1899-12-31 12:00 UTC.
_EPHEM_1970 = 25_567.5
_DAY_S = 86_400.0
_REFRACTION_RAD = math.radians(34.0 / 60.0)
_KM_PER_AU = 149_597_870.7

Angle = Callable[[float], float]


def instant(epoch_s: float) -> datetime:
    """Return epoch seconds as an aware UTC instant."""
    return datetime.fromtimestamp(epoch_s, UTC)


def _ephem_day(epoch_s: float) -> float:
    return epoch_s / _DAY_S + _EPHEM_1970


def _observer(latitude_deg: float, longitude_deg: float) -> Any:
    import ephem

    observer = ephem.Observer()
    observer.lat, observer.lon = math.radians(latitude_deg), math.radians(longitude_deg)
    observer.elevation, observer.pressure = 0.0, 0.0  # no dip; refraction is part of the threshold
    return observer


def sun_altitude(latitude_deg: float, longitude_deg: float, threshold_deg: float) -> Angle:
    """Altitude of the sun's centre above a threshold, rad, as a function of epoch seconds."""
    import ephem

    observer, sun = _observer(latitude_deg, longitude_deg), ephem.Sun()
    threshold = math.radians(threshold_deg)

    def altitude(epoch_s: float) -> float:
        observer.date = _ephem_day(epoch_s)
        sun.compute(observer)
        return float(sun.alt) - threshold

    return altitude


def moon_altitude(latitude_deg: float, longitude_deg: float) -> Angle:
    """Altitude of the moon's upper limb above the refracted horizon (-34'), rad, as a function of epoch seconds."""
    import ephem

    observer, moon = _observer(latitude_deg, longitude_deg), ephem.Moon()

    def altitude(epoch_s: float) -> float:
        observer.date = _ephem_day(epoch_s)
        moon.compute(observer)
        return float(moon.alt) + float(moon.radius) + _REFRACTION_RAD

    return altitude


def meridian_sine(latitude_deg: float, longitude_deg: float, name: str) -> Angle:
    """Sine of the hour angle of ``"sun"`` or ``"moon"``: crosses zero upward at upper, downward at lower transit."""
    import ephem

    observer, body = _observer(latitude_deg, longitude_deg), ephem.Sun() if name == "sun" else ephem.Moon()

    def sine(epoch_s: float) -> float:
        observer.date = _ephem_day(epoch_s)
        body.compute(observer)
        return math.sin(float(observer.sidereal_time()) - float(body.ra))

    return sine


def elongation_rad(epoch_s: float) -> float:
    """Ecliptic longitude of the moon less that of the sun, geocentric and apparent: 0 new, pi full; 0..2 pi."""
    import ephem

    day = _ephem_day(epoch_s)
    tilt = math.radians(23.439291 - 0.0130042 * (epoch_s - 946_728_000.0) / (36_525.0 * _DAY_S))
    longitudes = []
    for body in (ephem.Moon(), ephem.Sun()):
        body.compute(day)
        ra, dec = float(body.g_ra), float(body.g_dec)
        # Meeus (1998), equation 13.1.
        longitudes.append(math.atan2(math.sin(ra) * math.cos(tilt) + math.tan(dec) * math.sin(tilt), math.cos(ra)))
    return (longitudes[0] - longitudes[1]) % (2.0 * math.pi)


def moon_disc(epoch_s: float) -> tuple[float, float]:
    """Illuminated fraction 0..1 and geocentric distance in km of the moon."""
    import ephem

    moon = ephem.Moon()
    moon.compute(_ephem_day(epoch_s))
    return float(moon.moon_phase), float(moon.earth_distance) * _KM_PER_AU
