"""Fishing line: diameter and weight, its bow in the wind, the weight that holds bottom, and the angle under drift."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from briefing.core.advice.physics.parameters import GRAVITY_MPS2, Floats, PhysicsParameters


def line_diameter_mm(kind: str, pound_test: float, p: PhysicsParameters) -> float:
    """Typical diameter of ``kind`` (mono, fluoro, braid) by its labelled strength, interpolated; ends are held.

    Makers differ by about 10 % (braid 20 %): a diameter read from the spool is better. Raises ``KeyError`` for an
    unknown kind.
    """
    pounds, diameters = zip(*p.line.diameters_mm[kind], strict=True)
    return float(np.interp(pound_test, pounds, diameters))


def line_weight_in_water_g(kind: str, diameter_mm: float, length_m: float, p: PhysicsParameters) -> float:
    """Weight of a length of line in water as grams; negative when it floats: ``pi d^2/4 L (rho - rho_w)``."""
    volume_cm3 = math.pi / 4 * (diameter_mm / 10) ** 2 * length_m * 100
    return volume_cm3 * (p.line.densities_kgpm3[kind] - p.densities_kgpm3["water"]) / 1000


def wind_load_n_per_m(line_mm: ArrayLike, cross_wind_mps: ArrayLike, p: PhysicsParameters) -> Floats:
    """Wind force on a metre of line across the wind: ``w = 0.5 rho_air Cd d U^2`` (Hoerner 1965, 3-9).

    Valid for 1-20 m/s at line height; broadcast shapes.
    """
    d, u = np.asarray(line_mm, float) / 1000, np.asarray(cross_wind_mps, float)
    return np.asarray(0.5 * p.wind.air_density_kgpm3 * p.line.drag_coefficient * d * u * u, float)


def wind_bow_m(
    line_mm: ArrayLike, cross_wind_mps: ArrayLike, line_in_air_m: ArrayLike, tension_n: ArrayLike, p: PhysicsParameters
) -> Floats:
    """Sag of the line above the water to leeward: ``w L^2 / (8 T)``, the parabola of an evenly loaded string.

    Good to 5 % while the sag is under a tenth of the length; larger values only mean "a great bow".
    """
    length, tension = np.asarray(line_in_air_m, float), np.asarray(tension_n, float)
    return np.asarray(wind_load_n_per_m(line_mm, cross_wind_mps, p) * length * length / (8 * tension), float)


def hold_bottom_g(
    line_mm: ArrayLike,
    cross_wind_mps: ArrayLike,
    line_in_air_m: ArrayLike,
    p: PhysicsParameters,
    *,
    material: str = "lead",
    rough: bool = False,
) -> Floats:
    """Least head weight, g, that wind on the line doesn't drag over the bottom.

    Half the load of the line in the air hangs on the lure: ``W = w L / (2 mu)``, mu 0.4 on clean bottom and 0.6 in
    gravel or sparse grass (judgement). Broadcast shapes.
    """
    friction = p.wind.friction_rough if rough else p.wind.friction_clean
    weight = wind_load_n_per_m(line_mm, cross_wind_mps, p) * np.asarray(line_in_air_m, float) / (2 * friction)
    share = 1 - p.densities_kgpm3["water"] / p.densities_kgpm3[material]
    return np.asarray(weight / GRAVITY_MPS2 / share * 1000, float)


def drift_speed_mps(craft: str, wind_mps: float, p: PhysicsParameters, *, sock: bool = False) -> tuple[float, float]:
    """Range of the free drift of a craft broadside to the wind, a few per cent of it (judgement); a sock halves it."""
    low, high = p.wind.drifts[craft]
    factor = p.wind.drift_sock if sock else 1.0
    return low * wind_mps * factor, high * wind_mps * factor


def drift_angle_deg(
    weight_n: float, drag_area_m2: float, line_mm: float, line_out_m: float, drift_mps: float, p: PhysicsParameters
) -> float:
    """Angle of the line from the vertical while a weight is drawn along at ``drift_mps``.

    ``tan a = 0.5 rho (A + 0.5 Cd d L) u^2 / W``: the sinker's drag and half the line's against the weight in water.
    Valid to about 45 degrees (``p.wind.steepest_line_deg``); 90 for a rig that doesn't sink.
    """
    if weight_n <= 0:
        return 90.0
    area = drag_area_m2 + 0.5 * p.line.drag_coefficient * line_mm / 1000 * line_out_m
    return math.degrees(math.atan(0.5 * p.densities_kgpm3["water"] * area * drift_mps**2 / weight_n))
