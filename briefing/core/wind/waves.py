"""Height, period and steepness of wind waves on an inland lake.

Two methods live side by side: ``spm84_shallow`` is the value that limits are judged by, ``young_verhagen_1996`` the
low end of what is printed. Good formulas differ by about 20-25 %, and a wind error of 20 % makes 25 % in height.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

G = 9.81
#: Depth used when the lake's is not known: on the deep, cautious side for most waters.
DEFAULT_DEPTH_M = 5.0
#: Below these wind and fetch raise no waves (and would overflow the formulas).
CALM_MPS, NO_FETCH_M = 0.01, 0.01


@dataclass(frozen=True)
class Waves:
    """Significant height Hs (m) and peak period Tp (s), arrays of the broadcast shape of the inputs."""

    hs_m: Floats
    tp_s: Floats


@dataclass(frozen=True)
class SeaState:
    """Waves by both methods; every array has the shape (hours, points).

    hs_m is judged; hs_low_m is the low end of the printed range. whitecaps: likely by wind and fetch. steep: short,
    steep waves (Hs over deep-water length above 0.05 and Hs above 0.2 m).
    """

    hs_m: Floats
    hs_low_m: Floats
    tp_s: Floats
    length_m: Floats
    steepness: Floats
    whitecaps: NDArray[np.bool_]
    steep: NDArray[np.bool_]

    def at_least(self, other: SeaState) -> SeaState:
        """At each hour and point the higher of two seas; what is not known here stays unknown."""
        with np.errstate(invalid="ignore"):
            higher = other.hs_m > self.hs_m
        return SeaState(*(np.where(higher, getattr(other, f.name), getattr(self, f.name)) for f in fields(self)))

    def last(self, hours: int) -> SeaState:
        """The sea of the last ``hours`` alone."""
        return SeaState(*(getattr(self, f.name)[-hours:] for f in fields(self)))


def adjusted_wind_mps(wind_mps: ArrayLike) -> Floats:
    """Return the wind-stress factor UA = 0.71 U^1.23 (m/s) of the Shore Protection Manual 1984, eq. 3-28a."""
    return np.asarray(0.71 * np.asarray(wind_mps, float) ** 1.23, float)


def spm84_shallow(wind_mps: ArrayLike, fetch_m: ArrayLike, depth_m: ArrayLike) -> Waves:
    """Waves from wind, fetch and constant depth; inputs broadcast; no duration term.

    Source: US Army Corps of Engineers (1984), Shore Protection Manual, 4th ed., eqs. 3-39 and 3-40 (public domain),
    with UA = 0.71 U^1.23. Wind is the 10 m wind over water in m/s. The manual calls the depth form an interim
    method; checked for 2-20 m/s and 0.2-20 km. Zero wind or zero fetch give zero; NaN stays NaN.
    """
    return spm84_shallow_adjusted(adjusted_wind_mps(wind_mps), fetch_m, depth_m)


def spm84_shallow_adjusted(adjusted_mps: ArrayLike, fetch_m: ArrayLike, depth_m: ArrayLike) -> Waves:
    """As ``spm84_shallow`` with the adjusted wind UA (m/s) given."""
    ua = np.asarray(adjusted_mps, float)
    calm = ua < CALM_MPS
    speed2 = np.where(calm, 1.0, ua) ** 2
    fetch = G * np.asarray(fetch_m, float) / speed2
    root = (G * np.asarray(depth_m, float) / speed2) ** 0.375
    a, b = np.tanh(0.530 * root * root), np.tanh(0.833 * root)
    height = 0.283 * a * np.tanh(0.00565 * np.sqrt(fetch) / a) * speed2 / G
    period = 7.54 * b * np.tanh(0.0379 * np.cbrt(fetch) / b) * np.sqrt(speed2) / G
    flat = calm & ~np.isnan(fetch)  # no wind over an unknown fetch is not known to be flat
    return Waves(np.where(flat, 0.0, height), np.where(flat, 0.0, period))


def young_verhagen_1996(wind_mps: ArrayLike, fetch_m: ArrayLike, depth_m: ArrayLike) -> Waves:
    """Waves from wind, fetch and mean depth as measured on a shallow lake; inputs broadcast.

    Source: Young & Verhagen (1996), Coastal Engineering 29, 47-78, doi:10.1016/S0378-3839(96)00006-3. Uses the 10 m
    wind itself (m/s). Zero wind or zero fetch give zero; NaN stays NaN.
    """
    wind = np.asarray(wind_mps, float)
    reach = np.asarray(fetch_m, float)
    calm = ((wind < CALM_MPS) & ~np.isnan(reach)) | ((reach < NO_FETCH_M) & ~np.isnan(wind))
    speed = np.where(wind < CALM_MPS, 1.0, wind)
    x = G * np.where(reach < NO_FETCH_M, 1.0, reach) / speed**2
    d = G * np.asarray(depth_m, float) / speed**2
    log_x = np.log(x)
    a1, b1 = np.tanh(0.493 * d**0.75), 3.13e-3 * np.exp(0.57 * log_x)
    a2, b2 = np.tanh(0.331 * d**1.01), 5.215e-4 * np.exp(0.73 * log_x)
    root_energy = np.sqrt(3.64e-3) * (a1 * np.tanh(b1 / a1)) ** 0.87
    frequency = 0.133 * (a2 * np.tanh(b2 / a2)) ** -0.37
    height = 4.0 * root_energy * speed**2 / G
    period = speed / (G * frequency)
    return Waves(np.where(calm, 0.0, height), np.where(calm, 0.0, period))


def sea_state(
    wind_mps: ArrayLike,
    fetch_m: Floats,
    depth_m: ArrayLike = DEFAULT_DEPTH_M,
    *,
    whitecap_wind_mps: float = 4.47,
    whitecap_fetch_m: float = 1000.0,
    long_fetch_m: float = 5000.0,
    lingering: float = 0.5,
    steep: float = 0.05,
    steep_height_m: float = 0.2,
) -> SeaState:
    """Waves of consecutive hours at some points.

    wind_mps: (hours,), over the water, already raised by the over-water factor. fetch_m: (hours, points). Where the
    fetch is beyond ``long_fetch_m`` waves linger after the wind drops: an hour keeps at least ``lingering`` of the
    height before it. A duration limit never lowers an hour.
    """
    wind = np.asarray(wind_mps, float)[:, None]
    judged = spm84_shallow(wind, fetch_m, depth_m)
    low = young_verhagen_1996(wind, fetch_m, depth_m).hs_m
    height = _linger(judged.hs_m, fetch_m > long_fetch_m, lingering)
    length = G / (2.0 * np.pi) * judged.tp_s**2
    steepness = np.where(length > 0.0, height / np.where(length > 0.0, length, 1.0), 0.0)
    return SeaState(
        height,
        np.minimum(low, height),
        judged.tp_s,
        length,
        steepness,
        (wind >= whitecap_wind_mps) & (fetch_m > whitecap_fetch_m),
        (steepness > steep) & (height > steep_height_m),
    )


def _linger(height: Floats, long: NDArray[np.bool_], share: float) -> Floats:
    if not long.any():
        return height
    out = height.copy()
    for hour in range(1, len(out)):
        kept = np.where(long[hour], share * np.nan_to_num(out[hour - 1]), 0.0)
        out[hour] = np.maximum(out[hour], kept)  # NaN wins: a missing hour stays missing
    return out
