"""How fast a lure falls, how deep a count takes it, and the swing of a fall on a tight line."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from briefing.core.advice.physics.parameters import GRAVITY_MPS2, Floats, PhysicsParameters
from briefing.core.advice.presentation import Fall


class FallLine(StrEnum):
    """What the line does while the lure falls."""

    SLACK = "slack"
    DRAGGED = "dragged"  # some 10 m of line is drawn through the water after the lure
    CONTROLLED = "controlled"  # held semi-tight
    BOWED = "bowed"  # pulled sideways by wind or drift


def submerged_weight_n(body: Fall, head_g: ArrayLike, p: PhysicsParameters, material: str | None = None) -> Floats:
    """Weight of the whole rig in water.

    ``W = g sum m_i (1 - rho_w / rho_i)`` (Archimedes) over head, hook (steel) and soft body.

    Parameters
    ----------
    body, head_g
        The rig and its head weight, g; any shape.
    material
        Metal of the head when it isn't the presentation's usual one, say "tungsten" or "lead_free".

    Returns
    -------
    Weight in N, shape of ``head_g``; negative when the rig floats. Valid for sealed, air-free rigs.
    """
    water = p.densities_kgpm3["water"]
    head = np.asarray(head_g, float) * (1 - water / p.densities_kgpm3[material or body.head_material])
    hook = body.hook_g * (1 - water / p.densities_kgpm3["steel"])
    soft = body.soft_body_g * (1 - water / body.soft_body_density)
    return np.asarray(GRAVITY_MPS2 * (head + hook + soft) / 1000.0, float)


def sink_mps(
    body: Fall,
    head_g: ArrayLike,
    p: PhysicsParameters,
    *,
    line: FallLine = FallLine.SLACK,
    material: str | None = None,
    measured_mps: float | None = None,
) -> Floats:
    """Terminal speed of the fall, m/s, shape of ``head_g``; negative when it rises.

    Weight in water equals quadratic drag: ``v = sqrt(2 |W| / (rho A))`` (Hoerner, Fluid-Dynamic Drag, 1965, ch. 2),
    reached within about 0.3 s. Valid for 0.1-2 m/s, where drag coefficients of blunt bodies are constant; the drag
    area is fitted to counted falls and is good to +/-30 % (``p.sink.spread``), because skirts and attitude decide it.
    ``measured_mps``, the user's own count of this rig on slack line, replaces the computed speed. The factors for
    dragged, controlled and bowed line are judgement.
    """
    weight = submerged_weight_n(body, head_g, p, material)
    speed = np.sign(weight) * np.sqrt(2 * np.abs(weight) / (p.densities_kgpm3["water"] * body.drag_area_m2))
    if measured_mps is not None:
        speed = np.full_like(speed, measured_mps)
    return np.asarray(speed * _line_factor(line, np.asarray(head_g, float), p), float)


def _line_factor(line: FallLine, head_g: Floats, p: PhysicsParameters) -> Floats | float:
    if line is FallLine.CONTROLLED:
        return p.sink.controlled
    if line is FallLine.BOWED:
        return p.sink.bowed
    if line is FallLine.SLACK:
        return 1.0
    starts = np.array([g for g, _ in p.sink.dragged])
    factors = np.array([factor for _, factor in p.sink.dragged])
    return np.asarray(factors[np.searchsorted(starts, head_g, side="right") - 1], float)


def sink_range_mps(speed_mps: float, p: PhysicsParameters) -> tuple[float, float]:
    """Low and high end of a computed sink rate (relative spread ``p.sink.spread``)."""
    return speed_mps * (1 - p.sink.spread), speed_mps * (1 + p.sink.spread)


def counted_depth_m(sink_speed_mps: ArrayLike, count_s: ArrayLike, p: PhysicsParameters) -> Floats:
    """Depth after a count on an open bail: ``z = 0.95 v t`` (start from rest and line drawn off take 5 %).

    Valid from about 1 s to the bottom; broadcast shapes.
    """
    return np.asarray(p.sink.countdown_share * np.asarray(sink_speed_mps, float) * np.asarray(count_s, float), float)


def count_to_depth_s(sink_speed_mps: float, depth_m: float, p: PhysicsParameters) -> float:
    """Seconds to count for ``depth_m``: the inverse of :func:`counted_depth_m`; inf for a rig that doesn't sink."""
    return depth_m / (p.sink.countdown_share * sink_speed_mps) if sink_speed_mps > 0 else math.inf


@dataclass(frozen=True, slots=True)
class TightFall:
    """A fall on a tight line: seconds to the depth, inward swing, and whether line has to be fed instead."""

    seconds: float
    swing_m: float
    feed_line: bool


def tight_line_fall(
    body: Fall, head_g: float, depth_m: float, line_out_m: float, tip_m: float, line_mm: float, p: PhysicsParameters
) -> TightFall:
    """Fall to ``depth_m`` at the end of ``line_out_m`` of tight line, the tip ``tip_m`` above the water.

    The lure swings on a circle: ``z = L sin b - h``, inward swing ``L (1 - cos b)`` measured from the tip's height;
    the speed across the line balances ``W cos b`` against the drag of lure and line
    (``0.5 rho (A + Cd d L/4) v^2``, the share of line drag felt at the lure end of a line turning about the tip).
    Seconds are the integral of ``L db / v`` (midpoint rule, 40 steps). Valid while the line is straight
    (``z + h < L``); deeper returns infinite seconds.
    """
    start, end = tip_m / line_out_m, (depth_m + tip_m) / line_out_m
    if end >= 1:
        return TightFall(math.inf, line_out_m, True)
    weight = float(submerged_weight_n(body, head_g, p))
    if weight <= 0:
        return TightFall(math.inf, 0.0, True)
    area = body.drag_area_m2 + p.line.drag_coefficient * line_mm / 1000 * line_out_m * p.line.share_across
    edges = np.linspace(math.asin(start), math.asin(end), 41)
    middle = (edges[1:] + edges[:-1]) / 2
    speed = np.sqrt(2 * weight * np.cos(middle) / (p.densities_kgpm3["water"] * area))
    seconds = float(np.sum(line_out_m * np.diff(edges) / speed))
    swing = line_out_m * (math.cos(edges[0]) - math.cos(edges[-1]))
    return TightFall(seconds, swing, depth_m > p.sink.feed_line_share * line_out_m)


def rise_mps(buoyant_g: float, drag_area_m2: float, p: PhysicsParameters) -> float:
    """Speed at which a paused floating lure rises; negative when it sinks.

    ``v = sqrt(2 g m_b / (rho A))`` with the net buoyancy ``m_b`` in g. Same validity as :func:`sink_mps`.
    """
    force = abs(buoyant_g) / 1000 * GRAVITY_MPS2
    return math.copysign(math.sqrt(2 * force / (p.densities_kgpm3["water"] * drag_area_m2)), buoyant_g)


def water_density_kgpm3(temp_c: float) -> float:
    """Density of fresh water, kg/m3, for 0-40 C (Kell 1975, J. Chem. Eng. Data 20, 97, eq. 16; good to 0.01).

    Raises ``ValueError`` outside 0-40 C.
    """
    if not 0 <= temp_c <= 40:
        raise ValueError(f"temp_c must be 0-40, got {temp_c}")
    t = temp_c
    top = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return top / (1 + 16.879850e-3 * t)


def buoyancy_change_g(lure_volume_cm3: float, tuned_at_c: float, now_c: float) -> float:
    """Net buoyancy, g, that a lure tuned to hang level at ``tuned_at_c`` has at ``now_c``.

    Colder water is denser down to 4 C and floats the lure: ``V (rho(now) - rho(tuned))``. The lure's own shrinking
    (plastics some 0.02 % in volume a degree) is left out and works the other way, so this is an upper bound.
    """
    return lure_volume_cm3 * (water_density_kgpm3(now_c) - water_density_kgpm3(tuned_at_c)) / 1000.0
