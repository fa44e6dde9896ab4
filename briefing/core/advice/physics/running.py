"""How deep a sinking lure runs on a straight retrieve: balance of weight, lift, and the drag of lure and line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from briefing.core.advice.physics.parameters import Floats, PhysicsParameters
from briefing.core.advice.physics.sink import counted_depth_m, sink_mps, submerged_weight_n
from briefing.core.advice.presentation import Fall

_STEPS = 20
_NEWTON = 3
_SAMPLES = 8  # of the middle half of a cast


@dataclass(frozen=True, slots=True)
class RunningDepth:
    """Depth along a cast, m, each of the broadcast shape of the inputs."""

    mean_m: Floats  # over the middle half of the cast
    deepest_m: Floats


def normal_speed_mps(
    force_n: ArrayLike,
    lure_area_m2: ArrayLike,
    line_area_m2: ArrayLike,
    along_mps: ArrayLike,
    water_kgpm3: float = 1000.0,
) -> Floats:
    """Speed across the line at which drag balances ``force_n`` while the lure is drawn along it.

    Solves ``F = 0.5 rho (A sqrt(u^2 + v^2) v + A_line v^2)`` for v >= 0: the lure meets the whole flow, the line only
    the part across it (Morison's independence principle). Newton's method from below on a convex rising function:
    three steps reach 1e-5 m/s. 0 for a force that isn't positive. Broadcast shapes.
    """
    half = 0.5 * water_kgpm3
    force, u = np.asarray(force_n, float), np.asarray(along_mps, float)
    return _across(force, half * np.asarray(lure_area_m2, float), half * np.asarray(line_area_m2, float), u)


def _across(force: Floats, a: Floats, b: Floats, u: Floats) -> Floats:
    """:func:`normal_speed_mps` with half the density already in the areas."""
    force = np.maximum(force, 0.0)
    # sqrt(u^2 + v^2) <= u + v: the quadratic of this bound starts below the root.
    linear, square, along = a * u, a + b, u * u
    v = (np.sqrt(linear * linear + 4 * square * force) - linear) / (2 * square)
    for _ in range(_NEWTON):
        v2 = v * v
        both = np.sqrt(along + v2) + 1e-12
        v = v - (a * both * v + b * v2 - force) / (a * (both + v2 / both) + 2 * b * v + 1e-12)
    return np.asarray(np.maximum(v, 0.0), float)


def running_depth(
    weight_n: ArrayLike,
    swim_area_m2: ArrayLike,
    lift_n_per_mps2: ArrayLike,
    speed_mps: ArrayLike,
    line_mm: ArrayLike,
    cast_m: ArrayLike,
    tip_m: ArrayLike,
    p: PhysicsParameters,
    *,
    start_depth_m: ArrayLike = 0.0,
) -> RunningDepth:
    """Depth of a steady retrieve from the splash (or from a countdown to ``start_depth_m``).

    Quasi-static balance on a straight line of length R at angle b below the horizontal through the rod tip (height
    ``tip_m``). The reel shortens the line, ``dR/dt = -u``; across the line the lure moves with the speed v at which
    ``W cos b - k u^2`` equals the drag of lure and line, the line counting a quarter of its length. Hence
    ``db / d ln R = -v / u``, integrated over ln R with Heun's method (20 steps), never above the surface
    (``sin b >= tip / R``).

    Parameters
    ----------
    weight_n
        Weight in water, N (:func:`submerged_weight_n`).
    swim_area_m2, lift_n_per_mps2
        Drag area on the retrieve and lift per square of the speed; trailers change the lift.
    speed_mps
        Line taken up a second, 0.1-2.
    line_mm, cast_m, tip_m
        Line diameter, cast (6-50 m), height of the rod tip above the water.

    Returns
    -------
    ``RunningDepth`` of the broadcast shape. Accuracy about +/-25 % (``p.run.spread``), the order between lures and
    settings much better. The line's own weight is left out (20 m of 0.35 mm fluorocarbon weighs 1.5 g in water and
    takes light rigs some decimetres deeper than computed). Independent of depth to the bottom: the caller caps it.
    """
    w, area, k, u, d, cast, tip, z0 = np.broadcast_arrays(
        *(np.asarray(x, float) for x in (weight_n, swim_area_m2, lift_n_per_mps2, speed_mps, line_mm, cast_m, tip_m)),
        np.asarray(start_depth_m, float),
    )
    lift = k * u * u
    half = 0.5 * p.densities_kgpm3["water"]
    quarter = half * p.line.drag_coefficient * d / 1000 * p.line.share_across
    area = half * area

    def slope(b: Floats, r: Floats) -> Floats:
        return np.asarray(-_across(w * np.cos(b) - lift, area, quarter * r, u) / u, float)

    start, end = np.log(cast), np.log(p.run.end_m + tip)
    step = (end - start) / _STEPS
    r = np.array(cast, float)
    b = np.arcsin(np.clip((z0 + tip) / r, 0.0, 1.0))
    reach, depth = [r], [r * np.sin(b) - tip]
    for i in range(_STEPS):
        r_next = np.exp(start + (i + 1) * step)
        first = slope(b, r)
        second = slope(np.minimum(b + step * first, 1.57), r_next)
        floor = np.arcsin(np.clip(tip / r_next, 0.0, 1.0))
        b = np.clip(b + step * (first + second) / 2, floor, 1.57)
        r = r_next
        reach.append(r)
        depth.append(r * np.sin(b) - tip)
    return _summary(np.stack(reach), np.maximum(np.stack(depth), 0.0), cast)


def _summary(reach: Floats, depth: Floats, cast: Floats) -> RunningDepth:
    """Mean over the middle half of the cast (line out between 75 % and 25 % of it) and deepest point."""
    grid = 0.75 - 0.5 * (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    mean = np.zeros(cast.shape)
    for share in grid:
        wanted = share * cast
        i = np.clip((reach > wanted).sum(axis=0), 1, len(reach) - 1)[None]
        near, far = np.take_along_axis(reach, i, 0)[0], np.take_along_axis(reach, i - 1, 0)[0]
        low, high = np.take_along_axis(depth, i, 0)[0], np.take_along_axis(depth, i - 1, 0)[0]
        mean += low + (high - low) * np.clip((wanted - near) / np.maximum(far - near, 1e-9), 0.0, 1.0)
    return RunningDepth(mean / len(grid), depth.max(axis=0))


def swim_area_m2(body: Fall) -> float:
    """Drag area on the retrieve; that of the fall when no other is known."""
    return body.drag_area_m2 if body.swim_drag_area_m2 is None else body.swim_drag_area_m2


def lure_running_depth(
    body: Fall,
    head_g: ArrayLike,
    speed_mps: ArrayLike,
    line_mm: ArrayLike,
    cast_m: ArrayLike,
    p: PhysicsParameters,
    *,
    tip_m: ArrayLike | None = None,
    trailer_lift: str = "medium",
    count_s: float = 0.0,
    material: str | None = None,
) -> RunningDepth:
    """:func:`running_depth` of a presentation at head weights, with a trailer of low, medium, high or very high lift.

    ``tip_m`` is the seated angler's when it isn't given. ``count_s`` is a countdown before the first turn.
    """
    weight = submerged_weight_n(body, head_g, p, material)
    start = np.maximum(counted_depth_m(sink_mps(body, head_g, p, material=material), count_s, p), 0.0)
    return running_depth(
        weight,
        swim_area_m2(body),
        (body.lift_n_per_mps2 or 0.0) * p.run.lifts[trailer_lift],
        speed_mps,
        line_mm,
        cast_m,
        p.run.tips_m["seated"] if tip_m is None else tip_m,
        p,
        start_depth_m=start,
    )
