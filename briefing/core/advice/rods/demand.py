"""From a plan, the ranking's scores and the tackle box to the demands and candidates of the rod problem."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.conditions import TackleBox
from briefing.core.advice.options import fit_of
from briefing.core.advice.physics import PhysicsParameters, running_depth, submerged_weight_n, swim_area_m2
from briefing.core.advice.plan import DayPlan, Stop
from briefing.core.advice.presentation import Fall, LureWeight, Presentation, Setup
from briefing.core.advice.rods.types import PACES, Cell, DemandRules, Floats, Need, RigSetup, RodInputs, RodParameters
from briefing.core.advice.weight import suits_weight
from briefing.vocabulary import Cover

_THICK = (Cover.GRASS_TOPPED, Cover.PADS, Cover.GRASS_DENSE, Cover.REEDS, Cover.BRUSH, Cover.LAYDOWN)
_ROOFS = (Cover.GRASS_TOPPED, Cover.PADS, Cover.GRASS_DENSE, Cover.REEDS)
_USUAL_CAST_M = 20.0


@dataclass(frozen=True)
class Demand:
    """A spot in a block as the plan uses it.

    scores follow the order of the presentations; mood is -1 (negative) to 1 (active); minutes may be any share of time.
    weights_g, in the same order, are the weights solved for this place; NaN (or None as a whole) where none was.
    words say how hour and place are, by which set-ups are chosen; empty: not known, so that any set-up may do.
    """

    spot: str
    block: str
    minutes: float
    depth_m: float
    cover: Cover
    mood: float
    scores: Floats
    contingency: bool = False
    weights_g: Floats | None = None
    words: frozenset[str] = frozenset()


def plan_demand(
    plan: DayPlan,
    scores: Floats,
    spot_ids: Sequence[str],
    depth_m: Sequence[float],
    cover: Sequence[Cover],
    mood: Floats,
    presentation_ids: Sequence[str] = (),
    words: Sequence[frozenset[str]] = (),
) -> tuple[Demand, ...]:
    """Demands of a plan's stops, and of plan B's spots as contingencies.

    scores is (blocks, spots, presentations) in the order of ``plan.blocks`` and ``spot_ids``; depth_m and cover are by
    spot (where the fish are; the main cover), as is words (``situation_words``); mood is (blocks,). With
    ``presentation_ids``, in the order of the scores, the weights solved in the stops' choices are kept: a stop's own
    first, else those of other stops.
    """
    index = {spot: i for i, spot in enumerate(spot_ids)}
    words = words or [frozenset()] * len(spot_ids)
    found = []
    for b, block in enumerate(plan.blocks):
        for stop in block.stops:
            i = index[stop.spot_id]
            minutes = (stop.leave - stop.arrive).total_seconds() / 60.0
            solved = _solved_g([*plan.stops, stop], presentation_ids)
            place = (depth_m[i], cover[i], float(mood[b]), scores[b, i])
            found.append(Demand(stop.spot, block.block.id, minutes, *place, weights_g=solved, words=words[i]))
    busy = [b for b, block in enumerate(plan.blocks) if block.stops]
    if plan.plan_b is not None and busy:
        for spot_id, name in zip(plan.plan_b.spot_ids, plan.plan_b.spots, strict=True):
            i = index[spot_id]
            row = scores[busy, i].mean(axis=0)
            own = [stop for stop in plan.stops if stop.spot_id == spot_id]
            solved = _solved_g([*plan.stops, *own], presentation_ids)
            place = (depth_m[i], cover[i], -0.5, row)
            found.append(Demand(name, "plan_b", 1.0, *place, contingency=True, weights_g=solved, words=words[i]))
    return tuple(found)


def _solved_g(stops: Sequence[Stop], presentation_ids: Sequence[str]) -> Floats | None:
    """Weights solved at the stops, later stops before earlier ones; None when there are none."""
    weights = {choice.id: choice.weight_g for stop in stops for choice in stop.choices if choice.weight_g is not None}
    if not weights or not presentation_ids:
        return None
    return np.array([weights.get(key, np.nan) for key in presentation_ids])


def natural_depths_m(
    presentations: Sequence[Presentation], physics: PhysicsParameters
) -> tuple[tuple[float, ...], ...]:
    """Depth at which each weight of each presentation is at home, m, to tell weights of one lure apart.

    Lures that swim on a line: running depth at the middle of their best speeds, 20 m cast, their usual line. Lures that
    fall or dive: their weights spread evenly, in ratio, over the presentation's best depths. Surface: 0.
    """
    rows = [(p, p.fall, weight) for p in presentations if p.fall is not None and _swims(p) for weight in p.weights]
    runs: dict[tuple[str, str], float] = {}
    if rows:
        depths = _run_m(tuple(_swim_row(p, fall, weight, physics) for p, fall, weight in rows), physics)
        runs = {(p.id, weight.oz): z for (p, _, weight), z in zip(rows, depths, strict=True)}
    return tuple(
        tuple(
            runs[p.id, weight.oz] if (p.id, weight.oz) in runs else _other_depth(p, n)
            for n, weight in enumerate(p.weights)
        )
        for p in presentations
    )


@lru_cache(maxsize=16)  # a box is the same all day
def _run_m(rows: tuple[tuple[float, ...], ...], physics: PhysicsParameters) -> tuple[float, ...]:
    """Running depth of rows of weight in water, drag area, lift, speed and line, m."""
    force, area, lift, speed, line = np.array(rows).T
    tip = physics.run.tips_m["seated"]
    return tuple(running_depth(force, area, lift, speed, line, _USUAL_CAST_M, tip, physics).mean_m.tolist())


def _swims(p: Presentation) -> bool:
    return p.fall is not None and p.fall.swim_drag_area_m2 is not None and not p.surface


def _swim_row(p: Presentation, fall: Fall, weight: LureWeight, physics: PhysicsParameters) -> tuple[float, ...]:
    """Weight in water, drag area, lift, speed and line of a swimming lure."""
    low, high = p.setups[0].line.diameter_mm
    speed = (p.speed_mps.best_low + p.speed_mps.best_high) / 2
    force = float(submerged_weight_n(fall, weight.grams, physics))
    return force, swim_area_m2(fall), fall.lift_n_per_mps2 or 0.0, max(speed, 0.1), (low + high) / 2


def _other_depth(p: Presentation, number: int) -> float:
    """Depth of a weight of a lure that falls, dives or stays at the surface."""
    if p.surface:
        return 0.0
    share = (number + 0.5) / len(p.weights)
    low = max(p.depth_m.best_low, 0.2)
    return float(low * (max(p.depth_m.best_high, low) / low) ** share)


def candidates(
    presentations: Sequence[Presentation],
    depths_m: Sequence[Sequence[float]],
    tackle: TackleBox,
    thick: Cover | None,
    rules: DemandRules,
    demands: Sequence[Demand],
) -> tuple[tuple[RigSetup, ...], tuple[int, ...], tuple[float, ...]]:
    """Every presentation at every weight, with the presentation's index and its natural depth.

    Gear is what suits the places where the lure is of use, not what other places of the day would ask for: braid for
    plants stays off a lure that is thrown in clear open water. Gear that asks for heavy line (50 lb and over) is
    dropped besides unless the plan holds a roof, reeds or dense grass; a presentation with no other gear is dropped.
    """
    heavy_line = any(demand.cover in _ROOFS for demand in demands)
    setups, owners, depths = [], [], []
    for index, p in enumerate(presentations):
        gear = tuple(g for g in _suiting(p, index, demands, rules) if heavy_line or g.line.lb[0] < rules.heavy_line_lb)
        if not gear:
            continue
        have = tackle.weights_oz.get(p.id)
        for weight, depth in zip(p.weights, depths_m[index], strict=True):
            owned = tackle.owns(p.id) and (have is None or weight.oz in have)
            fitting = tuple(g for g in gear if suits_weight(g, weight.grams))
            if not fitting:
                continue
            setups.append(
                RigSetup(
                    presentation=p.id,
                    name=p.name,
                    group=p.group,
                    pace=p.pace,
                    weight_oz=weight.oz,
                    weight_g=weight.grams,
                    setups=fitting,
                    follow_up=p.follow_up,
                    trebles=p.trebles,
                    weedless=thick is not None and _weedless(p, thick, rules),
                    layer=layer_of(p, weight.grams, rules),
                    owned=owned,
                )
            )
            owners.append(index)
            depths.append(depth)
    return tuple(setups), tuple(owners), tuple(depths)


def _suiting(p: Presentation, index: int, demands: Sequence[Demand], rules: DemandRules) -> tuple[Setup, ...]:
    """The set-ups that suit a place where a presentation is of use; all of them where no place is known."""
    told = [(float(np.nan_to_num(demand.scores[index])), demand.words) for demand in demands if demand.words]
    least = rules.gear_share * max((worth for worth, _ in told), default=0.0)
    places = [words for worth, words in told if worth >= least]
    return tuple(one for one in p.setups if any(fit_of(one, words) > 0.0 for words in places)) or p.setups


def _weedless(p: Presentation, cover: Cover, rules: DemandRules) -> bool:
    place = p.cover[cover]
    return not p.trebles and place.fit >= rules.thick_fit and place.snag <= rules.thick_snag


def layer_of(p: Presentation, grams: float, rules: DemandRules) -> Need:
    """The part of the water that a lure works in: top, middle or bottom."""
    if p.surface:
        return Need.TOP
    return Need.BOTTOM if "bottom" in p.traits and grams >= rules.bottom_least_g else Need.MIDDLE


def demand_cells(demands: Sequence[Demand], rules: DemandRules) -> tuple[tuple[Cell, ...], tuple[int, ...]]:
    """Cells by spot, block and pace with weights that sum to one, and the demand each comes from.

    Paces are shared by mood; contingencies share ``rules.contingency`` of the weight. A bite that dies is one too:
    where no contingency is given, the slow pace of every stop takes that share.
    """
    shares = [_pace_shares(demand.mood, rules) for demand in demands]
    planned = sum(d.minutes for d in demands if not d.contingency) or 1.0
    spare = sum(d.minutes for d in demands if d.contingency)
    cells, owners = [], []
    for i, (demand, paces) in enumerate(zip(demands, shares, strict=True)):
        part = rules.contingency / spare if demand.contingency else (1.0 - rules.contingency) / planned
        extra = 0.0 if spare or demand.contingency else rules.contingency * demand.minutes / planned
        for pace, share in zip(PACES, paces, strict=True):
            weight = part * demand.minutes * share + (extra if pace == "slow" else 0.0)
            cells.append(
                Cell(demand.spot, demand.block, demand.depth_m, demand.cover, pace, weight, demand.contingency)
            )
            owners.append(i)
    total = sum(cell.weight for cell in cells) or 1.0
    return tuple(replace(cell, weight=cell.weight / total) for cell in cells), tuple(owners)


def _pace_shares(mood: float, rules: DemandRules) -> Floats:
    """Share of search, medium and slow by mood, straight lines between negative, neutral and active."""
    ends = np.array([rules.moods["negative"], rules.moods["neutral"], rules.moods["active"]])
    at = np.clip(mood, -1.0, 1.0) + 1.0
    low = int(min(at, 1.0))
    return np.asarray(ends[low] * (1 - (at - low)) + ends[low + 1] * (at - low), float)


def quality_table(
    setups: Sequence[RigSetup],
    owners: Sequence[int],
    depths: Sequence[float],
    cells: Sequence[Cell],
    demands: Sequence[Demand],
    cell_of: Sequence[int],
    rules: DemandRules,
) -> Floats:
    """How well each candidate serves each cell, (n, m), the best one 1, owned or not.

    Ranking's score of the presentation x how near its weight is to the cell's depth (against the presentation's own
    best weight, so that depth isn't counted twice) x pace; raised to ``rules.sharpness``.
    """
    scores = np.array([demands[i].scores for i in cell_of]).T[list(owners)]
    owner = np.array(owners)
    near = _nearness(setups, owner, depths, cells, [demands[i] for i in cell_of], rules)
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    best = np.maximum.reduceat(near, first, axis=0)
    near = near / np.maximum(best[np.searchsorted(owner[first], owner)], 1e-12)
    order = np.array([PACES.index(setup.pace) for setup in setups])
    steps = np.abs(order[:, None] - np.array([PACES.index(cell.pace) for cell in cells])[None, :])
    pace = np.choose(steps, [1.0, rules.pace_next, rules.pace_far])
    quality = np.nan_to_num(scores, nan=0.0) * near * pace
    top = quality.max(axis=0)
    return np.asarray(np.clip(quality / np.maximum(top, 1e-12), 0.0, 1.0) ** rules.sharpness, float)


def _nearness(
    setups: Sequence[RigSetup],
    owner: NDArray[np.int64],
    depths: Sequence[float],
    cells: Sequence[Cell],
    demands: Sequence[Demand],
    rules: DemandRules,
) -> Floats:
    """How near each weight is to what each cell asks for: its solved weight where there is one, else its depth."""
    wanted = np.array([cell.depth_m for cell in cells])
    off = np.log((wanted[None, :] + 0.3) / (np.array(depths)[:, None] + 0.3)) / rules.depth_width
    unsolved = np.full(int(owner.max()) + 1, np.nan)
    solved = np.array([unsolved if d.weights_g is None else d.weights_g[: len(unsolved)] for d in demands]).T[owner]
    grams = np.array([setup.weight_g for setup in setups])[:, None]
    apart = np.log((grams + 1.0) / (solved + 1.0)) / rules.weight_width
    return np.asarray(np.exp(-0.5 * np.where(np.isfinite(apart), apart, off) ** 2), float)


def rod_inputs(
    demands: Sequence[Demand],
    presentations: Sequence[Presentation],
    tackle: TackleBox,
    physics: PhysicsParameters,
    p: RodParameters,
    *,
    k: int,
    kayak: bool = True,
    shy_fish: bool = False,
    longest_ft: float | None = None,
) -> RodInputs:
    """Pose the rod problem of a day.

    ``shy_fish``: clear water (Secchi over 1.5 m) or the second day after a front, which asks for a spinning rod.
    """
    covers = [demand.cover for demand in demands]
    thick = next((cover for cover in _THICK if cover in covers), None)
    depths = natural_depths_m(presentations, physics)
    setups, owners, natural = candidates(presentations, depths, tackle, thick, p.demand, demands)
    cells, cell_of = demand_cells(demands, p.demand)
    if setups and cells:
        quality = quality_table(setups, owners, natural, cells, demands, cell_of, p.demand)
    else:
        quality = np.zeros((len(setups), len(cells)))
    return RodInputs(
        setups=setups,
        cells=cells,
        quality=quality,
        rods=tackle.rods,
        k=k,
        needs=_needs(demands, presentations, k, thick, shy_fish, p.demand),
        kayak=kayak,
        longest_ft=longest_ft,
    )


def _needs(
    demands: Sequence[Demand],
    presentations: Sequence[Presentation],
    k: int,
    thick: Cover | None,
    shy_fish: bool,
    rules: DemandRules,
) -> frozenset[Need]:
    """What the plan calls for; one rod alone is asked for nothing."""
    if k < 2:
        return frozenset()
    needs = {Need.SEARCH, Need.SLOW}
    if thick is not None:
        needs.add(Need.WEEDLESS)
    needs |= frozenset().union(*(_layers(demand, presentations, rules) for demand in demands if not demand.contingency))
    if shy_fish:
        needs.add(Need.SPINNING)
    return frozenset(needs)


def _layers(demand: Demand, presentations: Sequence[Presentation], rules: DemandRules) -> frozenset[Need]:
    """The parts of the water that are fished at a place: those for which some lure comes near the place's best."""
    scores = np.nan_to_num(demand.scores, nan=0.0)
    good = np.flatnonzero(scores >= rules.layer_share * max(float(scores.max(initial=0.0)), 1e-9))
    best = [presentations[int(i)] for i in good]
    return frozenset(layer_of(one, one.weights[0].grams, rules) for one in best)
