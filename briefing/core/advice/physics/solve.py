"""The weight solved for a wanted height over grass tops or bottom, with the speed that holds it there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from briefing.core.advice.physics.line import hold_bottom_g
from briefing.core.advice.physics.parameters import Floats, PhysicsParameters
from briefing.core.advice.physics.running import lure_running_depth
from briefing.core.advice.physics.sink import sink_mps
from briefing.core.advice.presentation import Fall, LureWeight

_FINE = 24  # points of the continuous weight curve


@dataclass(frozen=True, slots=True)
class WeightSolution:
    """A step of the weight ladder and what it does.

    ``depth_m`` is (low, middle, high) of the running depth with the chosen step, ``exact_g`` the weight that would
    hit the target, None when the ladder's ends can't reach it; ``speed_for_target_mps`` is the speed at which the
    chosen step runs at the target, None outside the wanted speeds' reach; ``reaches`` tells whether the chosen step's
    range of depth spans the target.
    """

    weight: LureWeight
    target_m: float
    depth_m: tuple[float, float, float]
    exact_g: float | None
    speed_for_target_mps: float | None
    windy_step: bool
    reaches: bool
    reason: str


@dataclass(frozen=True, slots=True)
class RunTable:
    """Mean running depth of one rig over weights and speeds, for many solutions without new integration.

    depth_m : (n_weights, n_speeds), weights and speeds ascending.
    """

    ladder: tuple[LureWeight, ...]
    speeds_mps: Floats
    depth_m: Floats
    spread: float
    windy_step_mps: float

    def depths_at(self, speed_mps: float) -> Floats:
        """Depth of every step at a speed, m, shape (n_weights,); speeds beyond the grid hold its ends."""
        i = int(np.clip(np.searchsorted(self.speeds_mps, speed_mps), 1, len(self.speeds_mps) - 1))
        low, high = self.speeds_mps[i - 1], self.speeds_mps[i]
        share = min(max((speed_mps - low) / (high - low), 0.0), 1.0)
        return np.asarray(self.depth_m[:, i - 1] * (1 - share) + self.depth_m[:, i] * share, float)

    def solve(self, target_m: float, speed_mps: float, *, cross_wind_mps: float = 0.0) -> WeightSolution:
        """Choose the step that runs nearest to ``target_m`` at ``speed_mps``; see :func:`solve_weight`."""
        depths = self.depths_at(speed_mps)
        best = _nearest(depths, target_m)
        windy = cross_wind_mps > self.windy_step_mps and best + 1 < len(self.ladder)
        chosen = best + 1 if windy else best
        middle = float(depths[chosen])
        low, high = middle * (1 - self.spread), middle * (1 + self.spread)
        grams = np.array([step.grams for step in self.ladder])
        within = depths[0] <= target_m <= depths[-1] and len(depths) > 1
        exact = float(np.interp(target_m, depths, grams)) if within else None
        return WeightSolution(
            weight=self.ladder[chosen],
            target_m=target_m,
            depth_m=(low, middle, high),
            exact_g=exact,
            speed_for_target_mps=self._speed_for(chosen, target_m),
            windy_step=windy,
            reaches=low <= target_m <= high,
            reason=_reason(target_m, middle, windy, self.ladder[best], self.ladder[chosen]),
        )

    def _speed_for(self, step: int, target_m: float) -> float | None:
        curve = self.depth_m[step]
        if not curve[-1] <= target_m <= curve[0]:
            return None
        return float(np.interp(-target_m, -curve, self.speeds_mps))


def _nearest(depths: Floats, target_m: float) -> int:
    """Index of the depth nearest to the target; running over it beats running into it by a third."""
    miss = depths - target_m
    return int(np.argmin(np.where(miss > 0, 1.5 * miss, -miss)))


def _reason(target_m: float, middle: float, windy: bool, calm: LureWeight, chosen: LureWeight) -> str:
    text = f"{chosen.grams:.1f} g runs near {middle:.1f} m at this speed; the wanted height is {target_m:.1f} m"
    return f"{text}, one step up from {calm.grams:.1f} g for the cross wind" if windy else text


def run_table(
    body: Fall,
    ladder: Sequence[LureWeight],
    line_mm: float,
    cast_m: ArrayLike,
    p: PhysicsParameters,
    *,
    speeds_mps: Sequence[float] = (0.25, 0.4, 0.55, 0.7, 0.85, 1.0, 1.2, 1.5, 1.8),
    tip_m: float | None = None,
    trailer_lift: str = "medium",
    material: str | None = None,
) -> RunTable:
    """Integrate a rig over its ladder and a grid of speeds (about 2 ms); :meth:`RunTable.solve` then costs 20 us.

    ``cast_m`` is one length or one a step of the ladder. A rig already integrated with the same numbers is remembered.
    Raises ``ValueError`` for an empty ladder.
    """
    steps = tuple(sorted(ladder, key=lambda step: step.grams))
    if not steps:
        raise ValueError("ladder must hold at least one weight")
    casts = tuple(np.broadcast_to(np.asarray(cast_m, float), (len(steps),)).tolist())
    return _integrated(body, steps, float(line_mm), casts, p, tuple(speeds_mps), tip_m, trailer_lift, material)


@lru_cache(maxsize=512)
def _integrated(
    body: Fall,
    steps: tuple[LureWeight, ...],
    line_mm: float,
    casts_m: tuple[float, ...],
    p: PhysicsParameters,
    speeds_mps: tuple[float, ...],
    tip_m: float | None,
    trailer_lift: str,
    material: str | None,
) -> RunTable:
    speeds = np.array(speeds_mps, float)
    grams = np.array([step.grams for step in steps])[:, None]
    cast = np.array(casts_m)[:, None]
    depth = lure_running_depth(
        body, grams, speeds[None, :], line_mm, cast, p, tip_m=tip_m, trailer_lift=trailer_lift, material=material
    ).mean_m
    depth.setflags(write=False)
    speeds.setflags(write=False)
    return RunTable(steps, speeds, depth, p.run.spread, p.run.windy_step_mps)


def solve_weight(
    target_depth_m: float,
    speed_mps: float,
    line_diameter_mm: float,
    ladder: Sequence[LureWeight],
    body: Fall,
    p: PhysicsParameters,
    *,
    cast_m: ArrayLike = 18.0,
    tip_m: float | None = None,
    trailer_lift: str = "medium",
    cross_wind_mps: float = 0.0,
    material: str | None = None,
) -> WeightSolution:
    """Solve the weight for the target height of a steadily retrieved sinking lure.

    The target is the depth of the grass tops less ``p.run.clearance_m`` (:func:`target_over_cover_m`). The step whose
    mean depth is nearest wins, deeper misses counting half as much again as shallower ones; over 5 m/s across, one
    step more. Physics and validity as :func:`running_depth`; the depth is good to +/-25 %.
    """
    table = run_table(
        body, ladder, line_diameter_mm, cast_m, p, tip_m=tip_m, trailer_lift=trailer_lift, material=material
    )
    return table.solve(target_depth_m, speed_mps, cross_wind_mps=cross_wind_mps)


def target_over_cover_m(cover_top_m: float | None, bottom_m: float, p: PhysicsParameters) -> float:
    """Depth to run at: just above the tops of the grass, or above the bottom where there is none."""
    top = bottom_m if cover_top_m is None else min(cover_top_m, bottom_m)
    return max(top - p.run.clearance_m, 0.0)


@dataclass(frozen=True, slots=True)
class BottomSolution:
    """A step for a lure fished on the bottom: least weight in this wind, fall speed and seconds to the bottom."""

    weight: LureWeight
    needed_g: float
    sink_mps: tuple[float, float, float]
    seconds_to_bottom: float
    holds: bool
    reason: str


def solve_bottom_weight(
    depth_m: float,
    line_diameter_mm: float,
    ladder: Sequence[LureWeight],
    body: Fall,
    p: PhysicsParameters,
    *,
    cross_wind_mps: float = 0.0,
    line_in_air_m: float = 6.0,
    longest_count_s: float = 10.0,
    rough: bool = False,
    material: str | None = None,
) -> BottomSolution:
    """The lightest step that holds bottom in this wind and is down within ``longest_count_s``.

    Wind by :func:`hold_bottom_g`, fall by :func:`sink_mps` with line drawn after the lure. The heaviest step when none
    is enough (``holds`` False). Raises ``ValueError`` for an empty ladder.
    """
    steps = tuple(sorted(ladder, key=lambda step: step.grams))
    if not steps:
        raise ValueError("ladder must hold at least one weight")
    metal = material or body.head_material
    needed = float(hold_bottom_g(line_diameter_mm, cross_wind_mps, line_in_air_m, p, material=metal, rough=rough))
    grams = np.array([step.grams for step in steps])
    speeds = sink_mps(body, grams, p, material=material)
    seconds = np.where(speeds > 0, depth_m / np.maximum(speeds, 1e-9) / p.sink.countdown_share, np.inf)
    good = (grams >= needed - 0.05) & (seconds <= longest_count_s)
    chosen = int(np.argmax(good)) if good.any() else len(steps) - 1
    speed = float(speeds[chosen])
    text = f"{steps[chosen].grams:.1f} g is down in about {seconds[chosen]:.0f} s over {depth_m:.1f} m"
    if needed > 0.5:
        text += f"; the wind on the line asks for at least {needed:.0f} g"
    return BottomSolution(
        weight=steps[chosen],
        needed_g=needed,
        sink_mps=(speed * (1 - p.sink.spread), speed, speed * (1 + p.sink.spread)),
        seconds_to_bottom=float(seconds[chosen]),
        holds=bool(grams[chosen] >= needed - 0.05),
        reason=text,
    )


def weight_for_depth_g(
    target_depth_m: float,
    speed_mps: float,
    line_mm: float,
    cast_m: float,
    body: Fall,
    p: PhysicsParameters,
    *,
    heaviest_g: float = 45.0,
    tip_m: float | None = None,
    trailer_lift: str = "medium",
) -> float | None:
    """Continuous head weight that runs at the target, g; None when even ``heaviest_g`` runs shallower.

    Depth rises with weight, so the curve over 24 weights is inverted by straight lines (error under 2 %). 0 when an
    empty head already runs at the target or deeper.
    """
    grams = heaviest_g * np.linspace(0, 1, _FINE) ** 2
    depths = lure_running_depth(
        body, grams, speed_mps, line_mm, cast_m, p, tip_m=tip_m, trailer_lift=trailer_lift
    ).mean_m
    if target_depth_m > depths[-1]:
        return None
    if target_depth_m <= depths[0]:
        return 0.0
    return float(np.interp(target_depth_m, depths, grams))
