"""Solves size, trailer, retrieve, speed, running depth and set-up of a presentation for a spot.

Sinking lures that are reeled are solved for the height over the grass tops or the bottom, bottom lures for the wind on
the line and the time to the bottom, lipped lures by the depth their size runs at on the angler's cast and line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from briefing.core.advice.choice import RetrievePick, SetupPick
from briefing.core.advice.conditions import Conditions, OwnedRod, Spot, TackleBox, wave_position
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.options import best_option, fit_of
from briefing.core.advice.physics.casting import crankbait_depth_m, pickup_cm, turns_per_10s
from briefing.core.advice.physics.solve import solve_bottom_weight, solve_weight
from briefing.core.advice.presentation import LineSpec, LureWeight, Option, Presentation, Setup
from briefing.core.advice.situation import GRASS, main_cover, phase_shares
from briefing.vocabulary import Cover

_LEAD_FREE = {"lead": "lead_free"}
_WINDY_MPS = 5.0
_WIND = "The wind on the line is reckoned into the weight."
_CREEP_MPS = 0.15  # slower than this no one counts turns
_REELED = frozenset(
    {
        *("steady", "slow_roll", "burn", "rip_free", "lift_over", "kill_fall", "stutter", "wake", "deflect", "hover"),
        *("walk", "swing"),
    }
)
_NEAR_RULE = 0.85  # a step this near to the rule of weight by depth will do
_STEMS = frozenset({Cover.REEDS, Cover.GRASS_DENSE, Cover.GRASS_TOPPED, Cover.BRUSH})
_IN_STEMS, _IN_COLD, _COLD_C = (
    1.35,
    0.75,
    10.0,
)  # judgement: a step more to get through stems, a step less in cold water
_FILM_M = (0.0, 0.3)  # just under the film
_IN_WIND = 1.25  # judgement: a swimming head needs this much more weight to be felt in wind
_SLOW_FROM_M, _SLOW_PER_M = 1.5, 0.35  # deeper lures are reeled slower before they are made heavier
_TICK_M = 0.1  # below the height aimed at lie the tops
_PASSED_OVER = GRASS | {Cover.BRUSH}
_SUITED = 0.5  # trailers this much less suited to the hour may still win by the height they give
_TRIM = 0.12  # a miss of the wanted height above this share is trimmed by the speed
_ACROSS = 0.7  # share of the wind that stands across the line on a usual round of casts
_SPEED_PLACE, _SPEED_BY_MOOD = 0.2, 0.2  # judgement: place in the range of good speeds for neutral fish, and by mood
_Size = tuple[LureWeight, tuple[float, float] | None, str, float | None]  # size, depth, reason, speed that holds it
_POWER = ("ultra_light", "light", "medium_light", "medium", "medium_heavy", "heavy", "extra_heavy")
_LINE_WORD = {"fluoro": "fluorocarbon", "mono": "nylon mono", "braid": "braid"}


@dataclass(frozen=True, slots=True)
class Solved:
    """Everything solved for one presentation at one spot; depth in m as low and high, weight as printed and in g."""

    weight: LureWeight | None
    depth_m: tuple[float, float] | None
    trailer: Option | None
    blade: Option | None
    retrieve: RetrievePick | None
    setup: SetupPick | None
    reason: str


def solve(
    item: Presentation,
    conditions: Conditions,
    spot: Spot,
    knowledge: AdviceKnowledge,
    tackle: TackleBox,
    words: frozenset[str],
    mood: float,
    fish_m: tuple[float, float],
) -> Solved:
    """Solve one presentation for a spot; pure and without search, about 2 ms."""
    setup = best_option(item.setups, words)
    trailer, blade = best_option(item.trailers, words), best_option(item.blades, words)
    option = best_option(item.retrieves, words)
    target = target_depth_m(item, spot, fish_m)
    speed = wanted_speed_mps(item, conditions, knowledge, mood, option, 0.0 if item.surface else target)
    ladder = _owned_ladder(item, tackle)
    line_mm = _line_mm(setup)
    sized: _Size
    if item.surface:
        sized = _surface_size(ladder, conditions), (0.0, 0.0), "", None
    elif item.fall is not None and item.fall.swim_drag_area_m2 is not None and "bottom" not in item.traits:
        trailer, sized = _with_trailer(item, ladder, target, speed, line_mm, conditions, knowledge, words, tackle)
    elif item.fall is not None:
        least = setup.least_g if setup is not None else 0.0
        sized = _on_bottom(item, ladder, spot, fish_m, line_mm, least, conditions, knowledge, tackle)
    else:
        sized = _hard_bait(ladder, target, line_mm, conditions, knowledge)
    weight, depth, reason, held = sized
    if option is not None and option.id == "wake":
        depth, held = _FILM_M, None
    if depth is not None:
        depth = (min(depth[0], spot.depth_m[1]), min(depth[1], spot.depth_m[1]))
    return Solved(
        weight,
        depth,
        trailer,
        blade,
        _retrieve(option, held or speed, setup, conditions, knowledge),
        None if setup is None else setup_pick(setup, tackle.rods),
        reason,
    )


def wanted_speed_mps(
    item: Presentation,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
    mood: float,
    option: Option | None,
    target_m: float = 0.0,
) -> float:
    """Speed by mood, phase and depth within the lure's own range, or the retrieve's where it has one of its own."""
    window = item.speed_mps
    low, high = option.speed_mps if option is not None and option.speed_mps else (window.best_low, window.best_high)
    factor = sum(s * knowledge.phases[phase].speed_factor for phase, s in phase_shares(conditions).items())
    place = min(max(_SPEED_PLACE + _SPEED_BY_MOOD * mood + 0.5 * (factor - 1.0), 0.0), 1.0)
    if item.fall is not None:
        place = max(place - _SLOW_PER_M * max(target_m - _SLOW_FROM_M, 0.0), -0.6)
    return low + (high - low) * place if place >= 0.0 else low + (low - min(window.low, low)) * place


def target_depth_m(item: Presentation, spot: Spot, fish_m: tuple[float, float]) -> float:
    """Depth to run at: just over the tops of grass or brush, else at the fish, within what the lure can do."""
    passed_over = main_cover(spot) in _PASSED_OVER
    if passed_over and spot.cover_top_m is not None and 0.0 < spot.cover_top_m <= spot.depth_m[1]:
        wanted = spot.cover_top_m - _TICK_M
    else:
        wanted = (fish_m[0] + fish_m[1]) / 2
    return min(max(wanted, item.depth_m.low, 0.2), item.depth_m.high)


def _owned_ladder(item: Presentation, tackle: TackleBox) -> tuple[LureWeight, ...]:
    owned = tackle.weights_oz.get(item.id)
    return tuple(step for step in item.weights if not owned or step.oz in owned) or item.weights


def _line_mm(setup: Setup | None) -> float:
    return sum(setup.line.diameter_mm) / 2 if setup is not None else 0.33


def _material(item: Presentation, tackle: TackleBox) -> str | None:
    if item.fall is None or not tackle.lead_free or "lead_tackle" not in item.legal:
        return None
    return _LEAD_FREE.get(item.fall.head_material)


def _surface_size(ladder: Sequence[LureWeight], conditions: Conditions) -> LureWeight:
    """The middle size on a ripple, the smallest on glass, the largest in a chop."""
    step = round(wave_position(conditions) / 2.0 * (len(ladder) - 1))
    return ladder[min(max(step, 0), len(ladder) - 1)]


def _with_trailer(
    item: Presentation,
    ladder: Sequence[LureWeight],
    target_m: float,
    speed_mps: float,
    line_mm: float,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
    words: frozenset[str],
    tackle: TackleBox,
) -> tuple[Option | None, _Size]:
    """Trailer and weight together: of the trailers that suit the hour, the one that comes nearest to contact.

    Over grass that is the tops themselves, a little below the height aimed at: contact makes bites.
    """
    best = max((fit_of(option, words) for option in item.trailers), default=0.0)
    suited = [option for option in item.trailers if fit_of(option, words) >= best - _SUITED]
    suited.sort(key=lambda option: -fit_of(option, words))
    choices: list[Option | None] = [*suited] or [None]
    found = [
        (option, *_swimming(item, ladder, target_m, speed_mps, line_mm, conditions, knowledge, option, tackle))
        for option in choices
    ]
    trailer, _, sized = min(found, key=lambda pair: round(abs(pair[1] - target_m - _TICK_M), 1))
    return trailer, sized


def _swimming(
    item: Presentation,
    ladder: Sequence[LureWeight],
    target_m: float,
    speed_mps: float,
    line_mm: float,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
    trailer: Option | None,
    tackle: TackleBox,
) -> tuple[float, _Size]:
    """Depth at the usual speed, and the size with the speed that holds the wanted height."""
    assert item.fall is not None
    ladder = _from_rule(item, ladder, target_m, conditions)
    lift = trailer.lift if trailer is not None and trailer.lift else "medium"
    result = solve_weight(
        target_m,
        max(speed_mps, 0.2),
        line_mm,
        ladder,
        item.fall,
        knowledge.physics,
        cast_m=conditions.cast_m,
        trailer_lift=lift,
        cross_wind_mps=_ACROSS * conditions.wind_mps,
        material=_material(item, tackle),
    )
    low, middle, high = result.depth_m
    held = result.speed_for_target_mps
    if abs(middle - target_m) > _TRIM * target_m and held is not None and held <= item.speed_mps.high:
        share = knowledge.physics.run.spread
        low, high = target_m * (1.0 - share), target_m * (1.0 + share)
        held = max(held, item.speed_mps.low)
    else:
        held = None
    return middle, (result.weight, (low, high), _WIND if result.windy_step else "", held)


def _from_rule(
    item: Presentation, ladder: Sequence[LureWeight], target_m: float, conditions: Conditions
) -> Sequence[LureWeight]:
    """The steps from the trade's rule of weight by depth on, a quarter more in wind; all where there is no rule."""
    if not item.grams_per_m:
        return ladder
    least = _NEAR_RULE * (item.grams_base + item.grams_per_m * target_m)
    least *= _IN_WIND if conditions.wind_mps > _WINDY_MPS else 1.0
    return [step for step in ladder if step.grams >= least] or ladder[-1:]


def _on_bottom(
    item: Presentation,
    ladder: Sequence[LureWeight],
    spot: Spot,
    fish_m: tuple[float, float],
    line_mm: float,
    least_g: float,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
    tackle: TackleBox,
) -> _Size:
    assert item.fall is not None
    bottom = min(max(fish_m[1], 0.3), item.depth_m.high)
    if "falls_through_roof" in item.traits or "lead_tackle" not in item.legal:
        step = 1 if "falls_through_roof" in item.traits and spot.roof_m >= 0.3 and len(ladder) > 1 else 0
        step += bool(conditions.wind_mps > _WINDY_MPS and step + 1 < len(ladder))
        top = min(spot.roof_m + 0.3, bottom) if "falls_through_roof" in item.traits else min(fish_m[0], bottom)
        deep = min(spot.depth_m[1], item.depth_m.high) if "falls_through_roof" in item.traits else bottom
        return ladder[step], (min(top, deep), deep), _WIND if conditions.wind_mps > _WINDY_MPS else "", None
    result = solve_bottom_weight(
        bottom,
        line_mm,
        ladder,
        item.fall,
        knowledge.physics,
        cross_wind_mps=_ACROSS * conditions.wind_mps,
        rough=any(knowledge.covers[key].hard for key in spot.cover),
        material=_material(item, tackle),
    )
    usual = item.grams_base + item.grams_per_m * bottom if item.grams_per_m else 0.0
    usual *= _IN_STEMS if "pitched" in item.traits and main_cover(spot) in _STEMS else 1.0
    usual *= _IN_COLD if conditions.water_temp_c is not None and conditions.water_temp_c < _COLD_C else 1.0
    wanted = max(result.weight.grams, _NEAR_RULE * usual, least_g)
    weight = next((step for step in ladder if step.grams >= wanted), ladder[-1])
    return weight, (min(fish_m[0], bottom), bottom), _WIND if result.needed_g > weight.grams / 2 else "", None


def _hard_bait(
    ladder: Sequence[LureWeight],
    target_m: float,
    line_mm: float,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
) -> _Size:
    """The size whose range of running depth, on this cast and line, lies nearest to the wanted depth."""
    ranges = [(step, _runs(step, line_mm, conditions, knowledge)) for step in ladder if step.runs_m is not None]
    if not ranges:
        return ladder[len(ladder) // 2], None, "", None
    step, depth = min(ranges, key=lambda pair: abs(sum(pair[1]) / 2 - target_m))
    return step, depth, "", None


def _runs(step: LureWeight, line_mm: float, conditions: Conditions, knowledge: AdviceKnowledge) -> tuple[float, float]:
    assert step.runs_m is not None
    low, high = (
        float(crankbait_depth_m(depth, conditions.cast_m, line_mm, knowledge.physics)) for depth in step.runs_m
    )
    return low, high


def _retrieve(
    option: Option | None,
    speed_mps: float,
    setup: Setup | None,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
) -> RetrievePick | None:
    if option is None:
        return None
    name = knowledge.retrieve_names.get(option.id, option.id.replace("_", " "))
    if option.id not in _REELED or setup is None or speed_mps < _CREEP_MPS:
        return RetrievePick(option.id, name, option.text, pause_s=pause_s(option, conditions.water_temp_c))
    pickup = pickup_cm(setup.reel, sum(setup.ratio) / 2, knowledge.physics) if setup else conditions.reel_pickup_cm
    turns = turns_per_10s(speed_mps, pickup)
    return RetrievePick(option.id, name, option.text, (0.85 * speed_mps, 1.15 * speed_mps), turns)


def pause_s(option: Option, temp_c: float | None) -> tuple[float, float] | None:
    """Shortest and longest pause at a water temperature, by straight lines between the rows; None without rows."""
    if not option.pause_s or temp_c is None:
        return None
    at = [row[0] for row in option.pause_s]
    low, high = (float(np.interp(temp_c, at, [row[n] for row in option.pause_s])) for n in (1, 2))
    return low, high


def feet(value: float) -> str:
    """A rod length as the trade prints it: ``7'3"``."""
    inches = round(value * 12)
    return f"{inches // 12}'{inches % 12}\""


def line_words(line: LineSpec) -> str:
    """Line as the trade prints it: pound-test, kind and diameter."""
    low, high = line.lb
    pounds = f"{low:g}" if low == high else f"{low:g}-{high:g}"
    thin, thick = line.diameter_mm
    size = f"{thin:.2f}" if thin == thick else f"{thin:.2f}-{thick:.2f}"
    return f"{pounds} lb {_LINE_WORD.get(line.kind, line.kind)} ({size} mm)"


def setup_pick(setup: Setup, rods: Sequence[OwnedRod]) -> SetupPick:
    """A set-up in words, with the user's own rod where one comes near it."""
    own = _owned_rod(setup, rods)
    low, high = setup.length_ft
    length = feet(low) if low == high else f"{feet(low)} to {feet(high)}"
    slow, fast = setup.ratio
    ratio = f"{slow:g}:1" if slow == fast else f"{slow:g} to {fast:g}:1"
    return SetupPick(
        rod=f"{length} {setup.power.replace('_', '-')}, {setup.action.replace('_', '-')} action",
        reel=f"{setup.reel} {ratio}",
        line=line_words(setup.line),
        leader=None if setup.leader is None else line_words(setup.leader),
        owned_id=None if own is None else own.id,
        owned_name=None if own is None else own.name or own.id.replace("_", " "),
    )


def _owned_rod(setup: Setup, rods: Sequence[OwnedRod]) -> OwnedRod | None:
    """The owned rod nearest in power with the right reel; None when none is within one step."""

    def off(rod: OwnedRod) -> float:
        power = abs(_step(rod.power) - _step(setup.power))
        line = 0.0 if rod.line is None else float(rod.line != setup.line.kind)
        return power + line + 0.5 * (rod.action != setup.action)

    right = [rod for rod in rods if rod.reel == setup.reel]
    best = min(right, key=off, default=None)
    return best if best is not None and off(best) <= 1.5 else None


def _step(power: str) -> int:
    return _POWER.index(power) if power in _POWER else 4
