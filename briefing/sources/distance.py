"""Distance between a lake and a station or a model's cell."""

from __future__ import annotations

import math

_EARTH_KM = 6371.0088


def distance_km(one: tuple[float, float], two: tuple[float, float]) -> float:
    """Great-circle distance in km of two (latitude, longitude) in degrees on a sphere of the Earth's mean radius."""
    north_1, north_2 = math.radians(one[0]), math.radians(two[0])
    half = math.sin((north_2 - north_1) / 2.0) ** 2
    half += math.cos(north_1) * math.cos(north_2) * math.sin(math.radians(two[1] - one[1]) / 2.0) ** 2
    return 2.0 * _EARTH_KM * math.asin(min(1.0, math.sqrt(half)))
