"""Solves size, trailer, retrieve, speed, running depth and set-up of a presentation for a spot.

Sinking lures that are reeled are solved for the height over the grass tops or the bottom, bottom lures for the wind on
the line and the time to the bottom, lipped lures by the depth their size runs at on the angler's cast and line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from briefing.core.advice.choice import RetrievePick, SetupPick
from briefing.core.advice.conditions import (
    Conditions,
    OwnedRod,
    Spot,
    TackleBox,
    WaveClass,
    wave_class,
    wave_position,
)
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.options import best_option, fit_of
from briefing.core.advice.physics.casting import crankbait_depth_m, pickup_cm, turns_per_10s
from briefing.core.advice.physics.parameters import PhysicsParameters
from briefing.core.advice.physics.running import lure_running_depth
from briefing.core.advice.physics.sink import count_to_depth_s, sink_mps
from briefing.core.advice.physics.solve import solve_bottom_weight, solve_weight
from briefing.core.advice.presentation import Fall, LineSpec, LureWeight, Option, Presentation, Setup
from briefing.core.advice.situation import GRASS, main_cover, phase_shares
from briefing.vocabulary import Cover

_LEAD_FREE = {"lead": "lead_free"}
_WINDY_MPS = 5.0
_WIND = "The wind on the line is reckoned into the weight."
_CREEP_MPS = 0.15  # slower than this no one counts turns
_REELED = frozenset(
    {
        *("steady", "slow_roll", "burn", "rip_free", "lift_over", "kill_fall", "stutter", "wake", "deflect"),
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
# judgement, how a lure is let down and worked:
_TOPPED = frozenset({Cover.GRASS_TOPPED, Cover.PADS})
_TWITCHED = frozenset({"twitch_pause"})
_SWUM = frozenset({"shake", "lift_drop"})  # reeled too, with the rod at work
_SKIM_SPEEDS = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2)
_LONGEST_COUNT_S = 20.0
_COUNT_SHARES = (0.25, 0.5, 0.75, 1.0)
_FROM_BELOW = 1.3  # a lure that climbs on the retrieve starts this much below the height aimed at
_HOLD = 0.15  # a lure held at a level by the count stays within this share of it
_LIGHT_G = 2.0  # a box whose heaviest step is lighter than this holds no weight to speak of
_PATIENCE_S, _PATIENCE_WINDY_S, _DRIFTING_MPS = 12.0, 8.0, 3.0  # a fall is waited for so long, less in a breeze
_LONGEST_FALL = 1.25  # and so much longer where nothing heavier is made
_TWITCH_PART = 0.5  # pace of twitches with stops between, as a part of the fastest good one
_GLIDE_S, _TWITCH_SINK_S = 1.5, 4.0  # sinking between twitches
_LIFTS = ("low", "medium", "high", "very_high")
_POWER = ("ultra_light", "light", "medium_light", "medium", "medium_heavy", "heavy", "extra_heavy")
_LINE_WORD = {"fluoro": "fluorocarbon", "mono": "nylon mono", "braid": "braid"}


class Layer(StrEnum):
    """Where in the water a lure works, which decides how its depth is told."""

    SURFACE = "surface"
    SKIM = "skim"  # just under the film
    RUNNING = "running"  # reeled at a height
    COUNTED = "counted"  # reeled at a height that it must be let down to first
    HELD = "held"  # let down and held there
    TWITCHED = "twitched"  # worked in the upper water and let sink between
    FALLING = "falling"  # sinks on slack line
    BOTTOM = "bottom"
    BELOW = "below"  # lifted and lowered near the bottom


@dataclass(frozen=True, slots=True)
class Sized:
    """A size with the depth it works at: low and high in m, how, and what it takes to get there.

    ``speed_mps`` is the pace that holds the depth, None for the usual one; ``count_s`` the seconds of sinking first;
    ``short`` True when it doesn't come down to the height aimed at.
    """

    weight: LureWeight
    depth_m: tuple[float, float] | None
    layer: Layer = Layer.RUNNING
    reason: str = ""
    speed_mps: float | None = None
    count_s: float | None = None
    short: bool = False


@dataclass(frozen=True, slots=True)
class Solved:
    """Everything solved for one presentation at one spot; depth in m as low and high, weight as printed and in g."""

    weight: LureWeight | None
    depth_m: tuple[float, float] | None
    layer: Layer
    count_s: float | None
    short: bool
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
    if item.surface:
        sized = Sized(_surface_size(ladder, conditions), (0.0, 0.0), Layer.SURFACE)
    elif item.fall is not None and item.fall.swim_drag_area_m2 is not None and "bottom" not in item.traits:
        own_pace = None if option is None else option.speed_mps
        ask = _Ask(
            *(item, ladder, target, speed, own_pace, blade, line_mm, spot.depth_m[1]), conditions, knowledge, tackle
        )
        if option is not None and (option.id == "wake" or skims(spot)):
            sized = _skimming(ask, trailer)
        elif option is not None and option.id not in _REELED and option.id not in _SWUM:
            sized = _by_hand(ask, option)
        else:
            trailer, sized = _with_trailer(ask, words)
    elif item.fall is not None:
        least = setup.least_g if setup is not None else 0.0
        sized = _on_bottom(item, ladder, spot, fish_m, line_mm, least, option, conditions, knowledge, tackle)
    else:
        sized = _hard_bait(item, ladder, target, line_mm, conditions, knowledge)
    if setup is not None and not suits_weight(setup, sized.weight.grams):
        setup = best_option([one for one in item.setups if suits_weight(one, sized.weight.grams)], words) or setup
    depth = sized.depth_m
    if depth is not None:
        depth = (min(depth[0], spot.depth_m[1]), min(depth[1], spot.depth_m[1]))
    return Solved(
        sized.weight,
        depth,
        sized.layer,
        sized.count_s,
        sized.short,
        trailer,
        blade,
        _retrieve(item, option, sized.speed_mps or speed, setup, conditions, knowledge, tackle.rods),
        None if setup is None else setup_pick(setup, tackle.rods),
        sized.reason,
    )


def suits_weight(setup: Setup, grams: float) -> bool:
    """True where a set-up is meant for lures of this weight."""
    return setup.most_g <= 0.0 or grams <= setup.most_g


def skims(spot: Spot) -> bool:
    """True where plants stand up to the surface, so that what swims below it can only be drawn along their top."""
    cover = main_cover(spot)
    top = spot.cover_top_m
    return cover in _TOPPED or (cover in GRASS and top is not None and top <= _FILM_M[1])


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
    """Depth to run at: just over the tops of grass or brush, else at the fish, within what the lure can do.

    Over limbs and stumps whose tops are known it lies half-way between the tops and the fish: it should touch them.
    """
    cover, top = main_cover(spot), spot.cover_top_m
    known = top is not None and 0.0 < top <= spot.depth_m[1]
    wanted = (fish_m[0] + fish_m[1]) / 2
    if known and top is not None and cover in _PASSED_OVER:
        wanted = top - _TICK_M
    elif known and top is not None and cover is Cover.LAYDOWN and top < wanted:
        wanted = (top + wanted) / 2
    return min(max(wanted, item.depth_m.low, 0.2), item.depth_m.high)


def _owned_ladder(item: Presentation, tackle: TackleBox) -> tuple[LureWeight, ...]:
    owned = tackle.weights_oz.get(item.id)
    return tuple(step for step in item.weights if not owned or step.oz in owned) or item.weights


def _line_mm(setup: Setup | None) -> float:
    return sum(setup.line.diameter_mm) / 2 if setup is not None else 0.33


def _material(item: Presentation, tackle: TackleBox) -> str | None:
    lead_free = tackle.lead_free or tackle.legal.get("lead_tackle") is False
    if item.fall is None or not lead_free or "lead_tackle" not in item.legal:
        return None
    return _LEAD_FREE.get(item.fall.head_material)


def _surface_size(ladder: Sequence[LureWeight], conditions: Conditions) -> LureWeight:
    """The middle size on a ripple, the smallest on glass, the largest in a chop."""
    step = round(wave_position(conditions) / 2.0 * (len(ladder) - 1))
    return ladder[min(max(step, 0), len(ladder) - 1)]


@dataclass(frozen=True, slots=True)
class _Ask:
    """What a swimming lure is solved for."""

    item: Presentation
    ladder: Sequence[LureWeight]
    target_m: float
    speed_mps: float
    own_pace_mps: tuple[float, float] | None  # of the retrieve, where it leaves the lure's own
    blade: Option | None
    line_mm: float
    bottom_m: float
    conditions: Conditions
    knowledge: AdviceKnowledge
    tackle: TackleBox

    def depth_m(
        self, step: LureWeight, speed_mps: float, trailer: Option | None, *, count_s: float = 0.0, tip: str = "seated"
    ) -> float:
        """Mean depth of the middle of a cast, m."""
        assert self.item.fall is not None
        physics = self.knowledge.physics
        run = lure_running_depth(
            self.item.fall,
            step.grams,
            max(speed_mps, 0.2),
            self.line_mm,
            self.conditions.cast_m,
            physics,
            tip_m=physics.run.tips_m[tip],
            trailer_lift=self.lift(trailer),
            count_s=count_s,
            material=_material(self.item, self.tackle),
        )
        return float(run.mean_m)

    def lift(self, trailer: Option | None) -> str:
        """The greater lift of trailer and blade; medium where neither says."""
        named = [one.lift for one in (trailer, self.blade) if one is not None and one.lift]
        return max(named, key=_LIFTS.index, default="medium")

    def sink_mps(self, step: LureWeight) -> float:
        """Fall on slack line, m/s."""
        assert self.item.fall is not None
        material = _material(self.item, self.tackle)
        return float(sink_mps(self.item.fall, step.grams, self.knowledge.physics, material=material))

    def count_s(self, step: LureWeight, depth_m: float) -> float:
        """Seconds to let it sink to a depth on slack line."""
        return count_to_depth_s(self.sink_mps(step), depth_m, self.knowledge.physics)

    def around(self, middle_m: float) -> tuple[float, float]:
        """A depth with the spread of the physics."""
        spread = self.knowledge.physics.run.spread
        return middle_m * (1.0 - spread), middle_m * (1.0 + spread)


def _with_trailer(ask: _Ask, words: frozenset[str]) -> tuple[Option | None, Sized]:
    """Trailer and weight together: of the trailers that suit the hour, the one that comes nearest to contact.

    Over grass that is the tops themselves, a little below the height aimed at: contact makes bites.
    """
    trailers = ask.item.trailers
    best = max((fit_of(option, words) for option in trailers), default=0.0)
    suited = [option for option in trailers if fit_of(option, words) >= best - _SUITED]
    suited.sort(key=lambda option: -fit_of(option, words))
    choices: list[Option | None] = [*suited] or [None]
    found = [(option, *_swimming(ask, option)) for option in choices]
    trailer, _, sized = min(found, key=lambda pair: round(abs(pair[1] - ask.target_m - _TICK_M), 1))
    return trailer, sized


def _swimming(ask: _Ask, trailer: Option | None) -> tuple[float, Sized]:
    """Depth at the usual speed, and the size with the speed, and the count where it needs one, that reaches the height.

    A miss is trimmed by the speed within the lure's good range; what still runs too shallow is let sink first.
    """
    item, target, conditions, knowledge = ask.item, ask.target_m, ask.conditions, ask.knowledge
    assert item.fall is not None
    result = solve_weight(
        target,
        max(ask.speed_mps, 0.2),
        ask.line_mm,
        _from_rule(item, ask.ladder, target, conditions),
        item.fall,
        knowledge.physics,
        cast_m=conditions.cast_m,
        trailer_lift=ask.lift(trailer),
        cross_wind_mps=_ACROSS * conditions.wind_mps,
        material=_material(item, ask.tackle),
    )
    usual, reason = result.depth_m[1], _WIND if result.windy_step else ""
    if abs(usual - target) <= _TRIM * target:
        return usual, Sized(result.weight, ask.around(usual), reason=reason)
    slowest, fastest = ask.own_pace_mps or (min(item.speed_mps.best_low, ask.speed_mps), item.speed_mps.high)
    held = result.speed_for_target_mps
    if held is None:
        held = fastest if usual > target else slowest
    speed = min(max(held, slowest), fastest)
    middle = ask.depth_m(result.weight, speed, trailer)
    if middle >= (1.0 - _TRIM) * target:
        return usual, Sized(result.weight, ask.around(middle), reason=reason, speed_mps=speed)
    return usual, _counted(ask, result.weight, speed, trailer, reason)


def _counted(ask: _Ask, step: LureWeight, speed_mps: float, trailer: Option | None, reason: str) -> Sized:
    """Let down first, as far as the bottom allows, and reeled from there."""
    deepest = min(_FROM_BELOW * ask.target_m, ask.bottom_m)
    full = min(ask.count_s(step, deepest), _LONGEST_COUNT_S)
    counts = [share * full for share in _COUNT_SHARES]
    depths = [ask.depth_m(step, speed_mps, trailer, count_s=count) for count in counts]
    best = min(range(len(counts)), key=lambda n: abs(depths[n] - ask.target_m))
    middle = depths[best]
    short = middle < (1.0 - 2 * _TRIM) * ask.target_m
    return Sized(step, ask.around(middle), Layer.COUNTED, reason, speed_mps, counts[best], short)


def _skimming(ask: _Ask, trailer: Option | None) -> Sized:
    """The lightest size with the rod held high, at the pace that keeps it just under the film."""
    step, high = ask.ladder[0], ask.item.speed_mps.high
    speeds = [speed for speed in _SKIM_SPEEDS if ask.item.speed_mps.low <= speed <= high] or [high]
    depths = [ask.depth_m(step, speed, trailer, tip="raised") for speed in speeds]
    film = next((n for n, depth in enumerate(depths) if depth <= _FILM_M[1]), None)
    if film is None:
        return Sized(step, ask.around(depths[-1]), speed_mps=speeds[-1], short=True)
    return Sized(step, _FILM_M, Layer.SKIM, speed_mps=speeds[film])


def _by_hand(ask: _Ask, option: Option) -> Sized:
    """Worked by the rod: twitched in the upper water with glides between, or let down to the fish and held there."""
    # a nearly weightless lure can only be waited for so long
    step = ask.ladder[0]
    windy = ask.conditions.wind_mps > _WINDY_MPS and len(ask.ladder) > 1
    if option.id in _TWITCHED:
        step = ask.ladder[1] if windy else step
        speed = max(ask.item.speed_mps.best_low, _TWITCH_PART * ask.item.speed_mps.best_high)
        deep = ask.depth_m(step, speed, None) + _GLIDE_S * ask.sink_mps(step)
        return Sized(step, (0.4 * deep, deep), Layer.TWITCHED, _WIND if windy else "", short=deep < 0.75 * ask.target_m)
    longest = _LONGEST_COUNT_S if ask.ladder[-1].grams > _LIGHT_G else _patience_s(ask.conditions)
    steps = _from_rule(ask.item, ask.ladder, ask.target_m, ask.conditions)
    quick = [one for one in steps if ask.count_s(one, ask.target_m) <= longest]
    step = quick[0] if quick else steps[-1]
    if windy and step is steps[0] and len(steps) > 1:
        step = steps[1]
    count = min(ask.count_s(step, ask.target_m), longest)
    reached = min(ask.knowledge.physics.sink.countdown_share * ask.sink_mps(step) * count, ask.target_m)
    low, high = (1.0 - _HOLD) * reached, (1.0 + _HOLD) * reached
    short = reached < (1.0 - 2 * _TRIM) * ask.target_m
    layer = Layer.HELD if option.id == "hover" else Layer.FALLING
    return Sized(step, (low, high), layer, _WIND if windy else "", count_s=count, short=short)


def _patience_s(conditions: Conditions) -> float:
    """How long the fall of a weightless lure can be waited for: wind takes the line and the craft, less in a lee."""
    still = conditions.wind_mps <= _DRIFTING_MPS or wave_class(conditions) is WaveClass.FLAT
    return _PATIENCE_S if still else _PATIENCE_WINDY_S


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
    option: Option | None,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
    tackle: TackleBox,
) -> Sized:
    assert item.fall is not None
    bottom = min(max(fish_m[1], 0.3), item.depth_m.high)
    windy = conditions.wind_mps > _WINDY_MPS
    if "falls_through_roof" in item.traits:
        number = min((spot.roof_m >= 0.3) + windy, len(ladder) - 1)
        deep = min(spot.depth_m[1], item.depth_m.high)
        top = min(spot.roof_m + 0.3, deep)
        return Sized(ladder[number], (top, deep), Layer.BOTTOM, _WIND if windy else "")
    if "lead_tackle" not in item.legal:
        return _falling(item, ladder, spot, (min(fish_m[0], bottom), bottom), option, conditions, knowledge)
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
    layer = Layer.BELOW if item.group == "vertical" else Layer.BOTTOM
    reason = _WIND if result.needed_g > weight.grams / 2 else ""
    return Sized(weight, (min(fish_m[0], bottom), bottom), layer, reason, count_s=result.seconds_to_bottom)


def _falling(
    item: Presentation,
    ladder: Sequence[LureWeight],
    spot: Spot,
    band_m: tuple[float, float],
    option: Option | None,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
) -> Sized:
    """A weightless or nearly weightless bait: the lightest step that gets down within the time one can wait for it."""
    assert item.fall is not None
    physics, windy = knowledge.physics, conditions.wind_mps > _WINDY_MPS
    top = spot.cover_top_m
    if option is not None and option.id in _TWITCHED:
        step = ladder[min(int(windy), len(ladder) - 1)]
        deep = _TWITCH_SINK_S * _sinks_mps(item.fall, step, physics)
        over = main_cover(spot) in GRASS and top is not None and 0.0 < top < deep + _TICK_M
        deep = min(max(top, 0.2) if over and top is not None else deep, band_m[1])
        return Sized(step, (min(0.2, deep), deep), Layer.TWITCHED, _WIND if windy else "", short=deep < band_m[0])
    patience = _patience_s(conditions)
    seconds = [count_to_depth_s(_sinks_mps(item.fall, step, physics), band_m[1], physics) for step in ladder]
    number = next((n for n, time in enumerate(seconds) if time <= patience), len(ladder) - 1)
    number = max(number, min(int(windy), len(ladder) - 1))
    whole = seconds[number]
    deep = band_m[1] * min(1.0, _LONGEST_FALL * patience / whole)
    low = min(band_m[0], deep)
    count = min(whole, _LONGEST_FALL * patience)
    short = deep < 0.75 * band_m[1]
    return Sized(ladder[number], (low, deep), Layer.FALLING, _WIND if windy else "", count_s=count, short=short)


def _sinks_mps(fall: Fall, step: LureWeight, physics: PhysicsParameters) -> float:
    """Fall on slack line, m/s: counted where the file has it, else computed."""
    return step.sink_mps or float(sink_mps(fall, step.grams, physics))


def _hard_bait(
    item: Presentation,
    ladder: Sequence[LureWeight],
    target_m: float,
    line_mm: float,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
) -> Sized:
    """The size whose range of running depth, on this cast and line, lies nearest to the wanted depth.

    Running over it beats running into it by half, as with the weights.
    """
    layer = Layer.BELOW if item.group == "vertical" else Layer.RUNNING
    ranges = [(step, _runs(step, line_mm, conditions, knowledge)) for step in ladder if step.runs_m is not None]
    if not ranges:
        return Sized(ladder[len(ladder) // 2], None, layer)

    def miss(depth_m: tuple[float, float]) -> float:
        off = sum(depth_m) / 2 - target_m
        return 1.5 * off if off > 0.0 else -off

    step, depth = min(ranges, key=lambda pair: miss(pair[1]))
    return Sized(step, depth, layer)


def _runs(step: LureWeight, line_mm: float, conditions: Conditions, knowledge: AdviceKnowledge) -> tuple[float, float]:
    assert step.runs_m is not None
    low, high = (
        float(crankbait_depth_m(depth, conditions.cast_m, line_mm, knowledge.physics)) for depth in step.runs_m
    )
    return low, high


def _retrieve(
    item: Presentation,
    option: Option | None,
    speed_mps: float,
    setup: Setup | None,
    conditions: Conditions,
    knowledge: AdviceKnowledge,
    rods: Sequence[OwnedRod],
) -> RetrievePick | None:
    if option is None:
        return None
    name = knowledge.retrieve_names.get(option.id, option.id.replace("_", " "))
    pick = RetrievePick(option.id, name, option.text, pause_s=pause_s(option, conditions.water_temp_c))
    if option.id not in _REELED or setup is None or speed_mps < _CREEP_MPS:
        return pick
    feel = "" if option.id == "burn" else item.feel
    pick = replace(pick, speed_mps=(0.85 * speed_mps, 1.15 * speed_mps), feel=feel)
    own = _owned_rod(setup, rods)
    ratio = own.ratio if own is not None and own.ratio else sum(setup.ratio) / 2
    return on_reel(pick, setup.reel, ratio, knowledge.physics, None if own is None else own.pickup_cm)


def on_reel(
    pick: RetrievePick, reel: str, ratio: float, physics: PhysicsParameters, pickup: float | None = None
) -> RetrievePick:
    """A retrieve with its turns for one reel; ``pickup`` is what a turn takes up, cm, where the user measured it."""
    if pick.speed_mps is None:
        return pick
    speed = sum(pick.speed_mps) / 2
    turns = turns_per_10s(speed, pickup or pickup_cm(reel, ratio, physics))
    return replace(pick, reel_turns_per_10s=turns, reel=reel, reel_ratio=ratio)


def at_ratio(pick: RetrievePick, reel: str, ratio: float | None) -> RetrievePick:
    """The turns for another reel of the same kind, in proportion to the ratio; without turns for another kind.

    The line a turn takes up follows the ratio within some 3 % from 5:1 to 8:1. The feel of the pace stays.
    """
    if pick.reel_turns_per_10s is None or pick.reel_ratio is None or ratio is None:
        return pick
    if reel != pick.reel:
        return replace(pick, reel_turns_per_10s=None, reel=reel, reel_ratio=ratio)
    return replace(pick, reel_turns_per_10s=pick.reel_turns_per_10s * pick.reel_ratio / ratio, reel_ratio=ratio)


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
    """Line as the trade names it: pound-test and kind."""
    low, high = line.lb
    pounds = f"{low:g}" if low == high else f"{low:g}-{high:g}"
    return f"{pounds} lb {_LINE_WORD.get(line.kind, line.kind)}"


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
