"""Elevation of the sun and length of the day as arrays, without a library."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Geometric elevation of the sun's centre at rise and set: 34' refraction and 16' radius.
SUNRISE_DEG = -50.0 / 60.0
CIVIL_DEG = -6.0

#: TT - UTC, s; forecast for 2024-2030 is 69.07-69.21 (1 s moves the sun by 0.00001 deg).
DELTA_T_S = 69.2

_J2000_EPOCH_S = 946_728_000.0
_DAY_S = 86_400.0
#: Days from J2000.0 (noon) to noon of 1 January 2026.
_MIDDLE_YEAR_DAYS = 9_497.0


def sun_elevation_deg(latitude_deg: float, longitude_deg: float, epoch_s: Floats) -> Floats:
    """Geometric elevation of the sun's centre above the horizon of a place, without refraction.

    Low-accuracy solar coordinates of Meeus (1998), *Astronomical Algorithms*, chapters 12 and 25 (equations 25.2-25.9,
    12.4), the series behind the NOAA solar calculator. Within 0.02 deg in 1950-2050; parallax (0.002 deg) left out.

    Parameters
    ----------
    latitude_deg, longitude_deg : north and east positive, deg
    epoch_s : seconds since 1970-01-01 00:00 UTC, any shape

    Returns
    -------
    elevation in degrees, shape of ``epoch_s``
    """
    days_ut = (np.asarray(epoch_s, dtype=float) - _J2000_EPOCH_S) / _DAY_S
    ascension, declination, nutation = _apparent_sun(days_ut)
    sidereal = 280.46061837 + 360.98564736629 * days_ut + nutation
    hour_angle = np.radians(sidereal + longitude_deg) - ascension
    phi = np.radians(latitude_deg)
    sine = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(hour_angle)
    return np.asarray(np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0))))


def _apparent_sun(days_ut: Floats) -> tuple[Floats, Floats, Floats]:
    """Right ascension and declination (rad) and the nutation of the equinox (deg) at days UT from J2000.0."""
    century = (days_ut + DELTA_T_S / _DAY_S) / 36_525.0
    mean_longitude = 280.46646 + century * (36_000.76983 + 0.0003032 * century)
    anomaly = np.radians(357.52911 + century * (35_999.05029 - 0.0001537 * century))
    centre = (
        (1.914602 - century * (0.004817 + 0.000014 * century)) * np.sin(anomaly)
        + (0.019993 - 0.000101 * century) * np.sin(2.0 * anomaly)
        + 0.000289 * np.sin(3.0 * anomaly)
    )
    node = np.radians(125.04 - 1934.136 * century)
    longitude = np.radians(mean_longitude + centre - 0.00569 - 0.00478 * np.sin(node))
    obliquity = np.radians(23.439291 - 0.0130042 * century + 0.00256 * np.cos(node))
    ascension = np.arctan2(np.cos(obliquity) * np.sin(longitude), np.cos(longitude))
    declination = np.arcsin(np.sin(obliquity) * np.sin(longitude))
    return ascension, declination, -0.00478 * np.sin(node) * np.cos(obliquity)


def day_length_h(latitude_deg: float, day_of_year: Floats | NDArray[np.int64]) -> Floats:
    """Hours from sunrise to sunset in an average year; 0 in the polar night, 24 when the sun does not set.

    Sunrise equation (Meeus 1998, equation 15.1) at -50' with the declination of noon at Greenwich in a year midway
    between leap years, which is within a day of that of any year: 2 min at 35 deg of latitude, 6 min at 60 deg.

    Parameters
    ----------
    latitude_deg : north positive, deg
    day_of_year : 1 for 1 January, any shape

    Returns
    -------
    hours, shape of ``day_of_year``
    """
    _, declination, _ = _apparent_sun(_MIDDLE_YEAR_DAYS + np.asarray(day_of_year, dtype=float) - 1.0)
    # At a pole the cosine of latitude vanishes; a hair off it gives the same day of 0 or 24 h.
    phi = np.radians(np.clip(latitude_deg, -89.99, 89.99))
    cosine = (np.sin(np.radians(SUNRISE_DEG)) - np.sin(phi) * np.sin(declination)) / (np.cos(phi) * np.cos(declination))
    return np.asarray(24.0 / np.pi * np.arccos(np.clip(cosine, -1.0, 1.0)))
