"""Climate normals of daily air temperature at a place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class AirNormals:
    """Normals at one place by day of year; every array has shape (366,), index 0 is 1 January, index 59 is 29 February.

    mean_c is the smooth yearly curve of the daily mean; day_sd_c the spread of a single day about it; year_sd_c the
    spread of a month's mean between years; dewpoint_c the mean dew point. error_c is the expected error of the curve
    itself.
    """

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    mean_c: NDArray[np.float64]
    day_sd_c: NDArray[np.float64]
    year_sd_c: NDArray[np.float64]
    dewpoint_c: NDArray[np.float64]
    error_c: float
