"""Heat index, wind chill and humidity."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def humidity_from_dewpoint_pct(air_c: ArrayLike, dewpoint_c: ArrayLike) -> Floats:
    """Return relative humidity in % from air temperature and dew point in C, capped at 100.

    Magnus form with the constants of Alduchov & Eskridge (1996), doi:10.1175/1520-0450(1996)035<0601:IMFAOS>2.0.CO;2.
    """
    air, dew = np.asarray(air_c, float), np.asarray(dewpoint_c, float)
    return np.minimum(100.0, 100.0 * np.exp(17.625 * dew / (243.04 + dew) - 17.625 * air / (243.04 + air)))


def wind_chill_c(air_c: float, wind_mps: float) -> float:
    """Return how cold moving air feels on bare skin, in C; the air itself where the formula does not hold.

    National Weather Service, wind chill index of 2001 (air of 50 F or colder, wind over 3 mph):
    35.74 + 0.6215 T - 35.75 V^0.16 + 0.4275 T V^0.16 in F and mph. Its table gives -19 for 0 F and 15 mph.
    """
    fahrenheit, mph = air_c * 1.8 + 32.0, wind_mps / 0.44704
    if fahrenheit > 50.0 or mph <= 3.0:
        return air_c
    power = math.pow(mph, 0.16)
    chill = 35.74 + 0.6215 * fahrenheit - 35.75 * power + 0.4275 * fahrenheit * power
    return (min(chill, fahrenheit) - 32.0) / 1.8


def heat_index_c(air_c: ArrayLike, humidity_pct: ArrayLike) -> Floats:
    """Return the heat index in C, in the shade and light wind; inputs broadcast, NaN stays NaN.

    Rothfusz (1990), National Weather Service Technical Attachment SR 90-23, with its two adjustments and the simple
    form where the mean of simple form and temperature is below 80 F. Full sun adds up to 8 C.
    """
    t = np.asarray(air_c, float) * 1.8 + 32.0
    r = np.clip(np.asarray(humidity_pct, float), 0.0, 100.0)
    simple = 0.5 * (t + 61.0 + (t - 68.0) * 1.2 + r * 0.094)
    low = (simple + t) / 2.0
    full = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 6.83783e-3 * t**2
        - 5.481717e-2 * r**2
        + 1.22874e-3 * t**2 * r
        + 8.5282e-4 * t * r**2
        - 1.99e-6 * t**2 * r**2
    )
    dry = (13.0 - r) / 4.0 * np.sqrt(np.maximum(0.0, 17.0 - np.abs(t - 95.0)) / 17.0)
    full = np.where((r < 13.0) & (t >= 80.0) & (t <= 112.0), full - dry, full)
    full = np.where((r > 85.0) & (t >= 80.0) & (t <= 87.0), full + (r - 85.0) / 10.0 * (87.0 - t) / 5.0, full)
    return np.asarray((np.where(low < 80.0, low, full) - 32.0) / 1.8, float)
