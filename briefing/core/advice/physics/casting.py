"""Casting distance, diving depth of crankbaits, and turns of the reel."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from briefing.core.advice.physics.parameters import Floats, PhysicsParameters


def cast_distance_m(
    lure_g: ArrayLike,
    line_mm: ArrayLike,
    p: PhysicsParameters,
    *,
    reel: str = "baitcast",
    shape: str = "compact",
    skill: str = "average",
    tail_wind_mps: ArrayLike = 0.0,
    cross_wind_mps: ArrayLike = 0.0,
    standing: bool = False,
) -> Floats:
    """Distance of a seated cast, m (judged curve; one point published: 10.6 g goes about 21 m for ordinary anglers).

    ``base(m) f_skill f_line f_shape f_wind``: base read on ln(mass), ``f_line = (d0/d)^n`` by reel type, wind along
    the cast (negative: against it) and across it, together never under ``p.cast.floor``. Valid for 2-30 g; outside,
    the ends hold. Spread about +/-15 %. ``shape`` is compact, bulky (blades, skirts, large soft baits, frogs) or flat.
    """
    masses, distances = zip(*p.cast.base, strict=True)
    base = np.interp(np.log(np.maximum(np.asarray(lure_g, float), masses[0])), np.log(masses), distances)
    spinning = reel == "spinning"
    reference = p.cast.spinning_reference_mm if spinning else p.cast.baitcast_reference_mm
    exponent = p.cast.spinning_exponent if spinning else p.cast.baitcast_exponent
    tail, cross = np.asarray(tail_wind_mps, float), np.abs(np.asarray(cross_wind_mps, float))
    along = np.where(tail > 0, p.cast.tail_wind_per_mps, p.cast.head_wind_per_mps) * tail
    wind = np.maximum(1 + along - p.cast.cross_wind_per_mps * cross, p.cast.floor)
    factor = p.cast.skills[skill] * p.cast.shapes[shape] * (p.cast.standing if standing else 1.0)
    return np.asarray(base * factor * (reference / np.asarray(line_mm, float)) ** exponent * wind, float)


def crankbait_depth_m(
    reference_m: ArrayLike, cast_m: ArrayLike, line_mm: ArrayLike, p: PhysicsParameters, *, tip: str = "normal"
) -> Floats:
    """Depth a diving crankbait reaches: ``D_ref f_cast f_line + tip``, at most its stall depth (1.2 D_ref).

    ``D_ref`` is its depth on a 21.3 m cast with 0.35 mm line. ``f_cast = 1.303 (1 - exp(-L / 14.6))``, fitted to
    published casting tests (12 m ran a quarter shallower, 30 m some 15 % deeper than 21 m);
    ``f_line = (0.35 / d)^0.6``, exponent 0.5-0.7 by judgement. Valid for casts of 8-45 m and 0.15-0.55 mm; at a
    speed at which the lure tracks true (faster adds nothing). ``tip`` is in_water, normal or high.
    """
    c = p.crank
    reference = np.asarray(reference_m, float)
    f_cast = c.cast_gain * (1 - np.exp(-np.asarray(cast_m, float) / c.cast_scale_m))
    f_line = (c.line_reference_mm / np.asarray(line_mm, float)) ** c.line_exponent
    return np.asarray(np.clip(reference * f_cast * f_line + c.tips_m[tip], 0.0, c.stall_share * reference), float)


def crankbait_depth_range_m(
    reference_m: float, cast_m: float, line_mm: float, p: PhysicsParameters, *, tip: str = "normal"
) -> tuple[float, float]:
    """Low and high depth with the line's exponent at the ends of its range and the spread of the lures themselves."""
    middle = float(crankbait_depth_m(reference_m, cast_m, line_mm, p, tip=tip))
    ratio = p.crank.line_reference_mm / line_mm
    ends = [ratio ** (e - p.crank.line_exponent) for e in (p.crank.line_exponent_low, p.crank.line_exponent_high)]
    return (1 - p.crank.lure_spread) * middle * min(ends), (1 + p.crank.lure_spread) * middle * max(ends)


def reference_depth_m(printed_m: float, p: PhysicsParameters) -> float:
    """``D_ref`` from the depth printed on a lure, which assumes long casts on thin line (0.85 of it, judgement)."""
    return p.crank.print_share * printed_m


def contact_stretch_m(cast_m: float, p: PhysicsParameters) -> tuple[float, float]:
    """Distances from the angler between which a diver is down: place the craft so that the target lies there."""
    return (1 - p.crank.contact_to) * cast_m, (1 - p.crank.contact_from) * cast_m


def pickup_cm(reel: str, ratio: float, p: PhysicsParameters, *, half_spool: bool = False) -> float:
    """Line taken up by a turn, cm, by reel type (baitcast, spinning) and gear ratio, read off typical reels.

    Between listed ratios by straight line, beyond them in proportion to the ratio. A half-empty spool takes 13 % off.
    """
    curve = p.reel.pickups_cm[reel]
    ratios, pickups = zip(*curve, strict=True)
    held = min(max(ratio, ratios[0]), ratios[-1])
    value = float(np.interp(held, ratios, pickups)) * ratio / held
    return float(value * (p.reel.half_spool if half_spool else 1.0))


def turns_per_10s(speed_mps: float, pickup_cm_per_turn: float) -> float:
    """Turns of the handle in ten seconds for a speed: ``1000 v / pickup``."""
    if pickup_cm_per_turn <= 0 or not math.isfinite(pickup_cm_per_turn):
        raise ValueError(f"pickup_cm_per_turn must be positive, got {pickup_cm_per_turn}")
    return 1000.0 * speed_mps / pickup_cm_per_turn


def speed_from_turns_mps(turns_in_10s: float, pickup_cm_per_turn: float) -> float:
    """Speed in m/s for turns counted in ten seconds; the inverse of :func:`turns_per_10s`."""
    return turns_in_10s * pickup_cm_per_turn / 1000.0
