"""How much the cold Pacific decides the air along the west coast of North America.

Between the shore and the valleys behind the coast ranges July means differ by 10 C over 100 km, far more than the
distance between stations tells; the nearness of the shore explains most of it.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Outer shore from Baja California to Vancouver Island, rounded to some km: latitude, longitude.
SHORE = np.array(
    [
        (30.0, -115.8), (31.5, -116.65), (32.5, -117.12), (33.2, -117.39), (33.72, -118.1), (33.75, -118.4),
        (34.02, -118.5), (34.15, -119.2), (34.4, -119.7), (34.45, -120.47), (35.15, -120.75), (36.3, -121.9),
        (36.95, -122.0), (37.5, -122.5), (38.0, -123.0), (38.95, -123.73), (40.0, -124.05), (40.44, -124.4),
        (41.0, -124.12), (41.75, -124.22), (42.84, -124.55), (44.6, -124.07), (46.2, -124.0), (47.3, -124.3),
        (48.38, -124.72), (49.4, -126.5), (50.8, -128.4),
    ]
)  # fmt: skip
#: Distance over which the influence falls to a third, km; best of 20, 40, 80, 150 in cross-validation, with 150 alike.
REACH_KM = 100.0
_KM_PER_DEG = 111.2


def exposure(latitude_deg: Floats, longitude_deg: Floats) -> Floats:
    """Exposure to the cold sea: 1 on it and on its shore, inland exp(-distance / 100 km); (n,) to (n,)."""
    lat, lon = np.asarray(latitude_deg, dtype=float), np.asarray(longitude_deg, dtype=float)
    steps = np.linspace(0.0, 1.0, 20, endpoint=False)[:, None]
    line = np.concatenate([a + steps * (b - a) for a, b in pairwise(SHORE)])
    nearest = np.full(lat.shape, np.inf)
    for shore_lat, shore_lon in line:
        east = (lon - shore_lon) * np.cos(np.radians(shore_lat))
        nearest = np.minimum(nearest, np.hypot(lat - shore_lat, east) * _KM_PER_DEG)
    beside = (lat >= SHORE[0, 0]) & (lat <= SHORE[-1, 0])
    at_sea = beside & (lon < np.interp(lat, SHORE[:, 0], SHORE[:, 1])) & (lon > -150.0)
    return np.where(at_sea, 1.0, np.exp(-nearest / REACH_KM))
