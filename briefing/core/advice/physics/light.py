"""Light at the lure: brightness by sun and cloud, loss at the surface and on the way down, sighting distance."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from briefing.core.advice.physics.parameters import Floats, PhysicsParameters
from briefing.vocabulary import WaterColour

# log10 lux = sum c_i (h/90)^i over ranges of sun height h, degrees (Janiczek and DeYoung 1987, US Naval Observatory
# Circular 171; Explanatory Supplement to the Astronomical Almanac 1992, p. 491). (lower end, coefficients)
_ILLUMINANCE = (
    (20.0, (3.74, 3.97, -4.07, 1.47)),
    (5.0, (3.05, 13.28, -45.98, 64.33)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
    (-18.0, (13.84, 262.72, 1447.42, 2797.93)),
)


def attenuation_per_m(secchi_m: float, colour: WaterColour, p: PhysicsParameters) -> tuple[float, float, float]:
    """Diffuse attenuation of daylight ``Kd = k / Secchi`` as low, middle, high, per m.

    ``k`` is 1.7 in clear and green water (Poole and Atkins 1929), nearer 2.5 in tannic and 1.3 in muddy water
    (Koenings and Edmundson 1991, Limnol. Oceanogr. 36, 91); the literature spans 1.3-2.8. Raises ``ValueError`` for a
    Secchi depth that isn't positive.
    """
    if not secchi_m > 0:
        raise ValueError(f"secchi_m must be positive, got {secchi_m}")
    low, middle, high = p.light.kd_secchi[colour.value]
    return low / secchi_m, middle / secchi_m, high / secchi_m


def light_left(kd_per_m: ArrayLike, depth_m: ArrayLike) -> Floats:
    """Share of the light just under the surface that is left at a depth: ``exp(-Kd z)`` (Beer, Lambert)."""
    return np.asarray(np.exp(-np.asarray(kd_per_m, float) * np.asarray(depth_m, float)), float)


def cloud_factor(cloud_fraction: ArrayLike, p: PhysicsParameters) -> Floats:
    """Global radiation under cloud over that of a clear sky: ``1 - 0.75 N^3.4`` (Kasten and Czeplak 1980, eq. 5).

    ``cloud_fraction`` 0-1; an hourly mean over kinds of cloud. doi:10.1016/0038-092X(80)90391-6
    """
    share = np.clip(np.asarray(cloud_fraction, float), 0.0, 1.0)
    return np.asarray(1 - p.light.cloud_coefficient * share**p.light.cloud_exponent, float)


def surface_transmission(sun_deg: ArrayLike, p: PhysicsParameters, *, chop: bool = False) -> Floats:
    """Share of the direct sun that enters the water, by sun height: Fresnel's equations for unpolarised light.

    ``R = (sin^2(i-t)/sin^2(i+t) + tan^2(i-t)/tan^2(i+t)) / 2`` with Snell's ``sin i = n sin t``, n = 1.333. 0.98 high,
    0.94 at 30 degrees, 0.65 at 10, 0.42 at 5, 0 at the horizon and below. With ``chop`` waves raise the values under
    15 degrees by 0.05-0.1 (Payne 1972 found the same tendency); above, the change is small.
    """
    height = np.clip(np.asarray(sun_deg, float), 0.0, 89.9)
    i = np.radians(90.0 - height)
    t = np.arcsin(np.sin(i) / p.light.water_index)
    across = (np.sin(i - t) / np.sin(i + t)) ** 2
    along = (np.tan(i - t) / np.tan(i + t)) ** 2
    direct = 1 - (across + along) / 2
    if chop:
        low = (height > 0) & (height < p.light.chop_below_deg)
        direct = np.where(low, np.minimum(direct + p.light.chop_gain, 1.0), direct)
    return np.asarray(np.clip(direct, 0.0, 1.0), float)


def clear_illuminance_lux(sun_deg: ArrayLike) -> Floats:
    """Illuminance of level ground under a clear sky by sun height, lux (Janiczek and DeYoung 1987).

    Polynomials in six ranges from -18 to 90 degrees; below, the value at -18 is held (stars, no moon).
    """
    h = np.clip(np.asarray(sun_deg, float), -18.0, 90.0)
    x = h / 90.0
    log_lux = np.zeros(h.shape)
    for lower, (c0, c1, c2, c3) in reversed(_ILLUMINANCE):
        log_lux = np.where(h >= lower, c0 + x * (c1 + x * (c2 + x * c3)), log_lux)
    return np.asarray(10.0**log_lux, float)


@dataclass(frozen=True, slots=True)
class LightAtDepth:
    """Light at a depth: lux, and its share of a clear noon just under the surface, as low, middle, high."""

    lux: tuple[float, float, float]
    share_of_noon: tuple[float, float, float]


def light_at_depth(
    depth_m: float,
    secchi_m: float,
    colour: WaterColour,
    sun_deg: float,
    cloud_fraction: float,
    p: PhysicsParameters,
    *,
    chop: bool = False,
) -> LightAtDepth:
    """Light at the lure: clear illuminance x cloud x what enters the water x ``exp(-Kd z)``.

    Direct sun enters by :func:`surface_transmission`, diffuse sky at 0.934; the diffuse share of a clear sky is
    ``f + (1 - f) exp(-h / 10)``, f = 0.12 (judgement), and cloud makes the rest diffuse. The range comes from Kd, the
    largest doubt. Raises ``ValueError`` for a depth under 0 or a Secchi depth that isn't positive.
    """
    if depth_m < 0:
        raise ValueError(f"depth_m must not be negative, got {depth_m}")
    low, middle, high = attenuation_per_m(secchi_m, colour, p)
    below = float(clear_illuminance_lux(sun_deg) * cloud_factor(cloud_fraction, p)) * _entering(
        sun_deg, cloud_fraction, p, chop
    )
    noon = float(clear_illuminance_lux(90.0)) * _entering(90.0, 0.0, p, False)
    lux = tuple(below * math.exp(-kd * depth_m) for kd in (high, middle, low))
    return LightAtDepth((lux[0], lux[1], lux[2]), (lux[0] / noon, lux[1] / noon, lux[2] / noon))


def _entering(sun_deg: float, cloud_fraction: float, p: PhysicsParameters, chop: bool) -> float:
    """Share of all light from above that enters the water."""
    floor = p.light.diffuse_floor
    diffuse = floor + (1 - floor) * math.exp(-max(sun_deg, 0.0) / p.light.diffuse_scale_deg)
    diffuse += (1 - diffuse) * min(max(cloud_fraction, 0.0), 1.0)
    direct = float(surface_transmission(sun_deg, p, chop=chop))
    return (1 - diffuse) * direct + diffuse * p.light.diffuse_transmission


def sighting_distance_m(
    secchi_m: float, p: PhysicsParameters, *, translucent: bool = False, night: bool = False, thump: bool = False
) -> tuple[float, float]:
    """Range at which a fish notices a lure, m: ``min(2.5, 0.5 Secchi)``, less for translucent lures and at night.

    ``thump`` adds the radius at which strong vibration is felt. Judgement; tests with small prey gave 0.65 m in clear
    and 0.1 m in turbid water for smallmouth bass (Sweka and Hartman 2003 report the same fall with turbidity), so the
    low end is a third of the high one.
    """
    r = min(p.light.sight_cap_m, p.light.sight_per_secchi * secchi_m)
    r *= (p.light.sight_translucent if translucent else 1.0) * (p.light.sight_night if night else 1.0)
    low, high = p.light.felt_m if thump else (0.0, 0.0)
    return r / 3 + low, r + high


def cast_spacing_m(secchi_m: float, p: PhysicsParameters, *, search: bool) -> float:
    """Distance between parallel casts, m: 1.5 sighting radii for search lures, 0.7 for slow ones."""
    _, radius = sighting_distance_m(secchi_m, p)
    return radius * (p.light.spacing_search if search else p.light.spacing_finesse)
