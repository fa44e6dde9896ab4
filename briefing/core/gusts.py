"""When a number in a gust's place is no gust: the one rule for forecasts, measurements and the judging of hours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True)
class GustRule:
    """Beside more wind than ``wind_mps`` a gust under ``share`` of that wind was not given.

    Zeros stand there where a service fills gaps with them, tiny numbers where it rounds or converts such zeros. In one
    and the same hour of a body a gust under ``zero_mps`` beside more wind than ``calm_mps`` is none either: it is at
    least the wind, which no rounding turns into zero. Beside the wind of another source it may be that of a calm.
    """

    wind_mps: float
    share: float
    calm_mps: float
    zero_mps: float

    def not_given(self, gust_mps: ArrayLike, wind_mps: ArrayLike) -> NDArray[np.bool_]:
        """Tell element by element whether a gust is none; never where either is NaN, or the gust below zero."""
        gust, wind = np.asarray(gust_mps, float), np.asarray(wind_mps, float)
        with np.errstate(invalid="ignore"):
            return np.asarray((wind > self.wind_mps) & (gust >= 0.0) & (gust < self.share * wind))

    def impossible(self, gust_mps: ArrayLike, wind_mps: ArrayLike) -> NDArray[np.bool_]:
        """Tell element by element whether a gust is none beside the wind that the same body gives for its hour."""
        gust, wind = np.asarray(gust_mps, float), np.asarray(wind_mps, float)
        with np.errstate(invalid="ignore"):
            zero = (wind > self.calm_mps) & (gust >= 0.0) & (gust < self.zero_mps)
        return np.asarray(zero | self.not_given(gust, wind))

    def measured(self, gust_mps: float | None, wind_mps: float | None) -> float | None:
        """Return a measured gust, at least the wind; None where none was reported."""
        if gust_mps is None or wind_mps is None:
            return gust_mps
        return None if self.impossible(gust_mps, wind_mps) else max(gust_mps, wind_mps)
