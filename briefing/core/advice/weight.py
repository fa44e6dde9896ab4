"""Solves size, trailer, retrieve, speed, running depth and set-up of a presentation for a spot.

Sinking lures that are reeled are solved for the height over the grass tops or the bottom, bottom lures for the wind on
the line and the time to the bottom, lipped lures by the depth their size runs at on the angler's cast and line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

import numpy as np

from briefing.core.advice.choice import RetrievePick, SetupPick
from briefing.core.advice.conditions import (
    Conditions,
    FrontStage,
    OwnedRod,
    Spot,
    TackleBox,
    WaveClass,
    wave_class,
    wave_position,
)
from briefing.core.advice.gear_words import marked_length, marked_line, ratio_words
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.measures import either
from briefing.core.advice.moments import moments_now
from briefing.core.advice.options import best_option, fit_of
from briefing.core.advice.pace import PACES, Pace
from briefing.core.advice.physics.casting import crankbait_depth_m, pickup_cm, turns_per_10s
from briefing.core.advice.physics.line import hold_bottom_g
from briefing.core.advice.physics.parameters import Floats, PhysicsParameters
from briefing.core.advice.physics.running import lure_running_depth
from briefing.core.advice.physics.sink import count_to_depth_s, sink_mps
from briefing.core.advice.presentation import Fall, LureWeight, Option, Presentation, Setup
from briefing.core.advice.situation import GRASS, main_cover
from briefing.units import show_depth
from briefing.vocabulary import Cover, Flow, Sky

_LEAD_FREE = {"lead": "lead_free"}
_WINDY_MPS, _STRONG_MPS = 5.0, 7.6  # wind from which a lure is one step heavier, and two (11 and 17 mph)
_CREEP_MPS = 0.28  # slower than this no one counts turns
_STEP, _LIGHT_STEP, _LIGHT_STEP_G = 1.3, 1.2, 4.0  # the next step of a trade is at least so many times heavier
#: Heaviest swimming lure in so little water: (depth in m, grams); nobody throws 3/4 oz in 3 ft.
_MOST_IN = ((1.2, 14.2), (2.5, 21.0))
_MOST_CRAWLED = ((2.5, 14.2),)
_MOST_OVER = ((1.7, 15.0),)  # over tops so near: more would be a lure for deep water, whatever the wind
_STEMS = frozenset({Cover.REEDS, Cover.GRASS_DENSE, Cover.GRASS_TOPPED, Cover.BRUSH})
_IN_STEMS, _IN_COLD, _COLD_C = 1.35, 0.75, 10.0  # judgement: more to get through stems, less in cold water
_FILM_M = (0.0, 0.3)  # just under the film
_TICK_M = 0.1  # below the height aimed at lie the tops
_PASSED_OVER = GRASS | {Cover.BRUSH}
_TRIM, _NEAR_M = 0.2, 0.15  # a miss of the wanted height within this share, or so many m, is left as it is
_ACROSS = 0.7  # share of the wind that stands across the line on a usual round of casts
# judgement, how a lure is let down and worked:
_TOPPED = frozenset({Cover.GRASS_TOPPED, Cover.PADS})
_TWITCHED = frozenset({"twitch_pause"})
#: Share of the usual speed, and times the usual pause, on the days behind a front.
_BEHIND_FRONT: dict[FrontStage | None, tuple[float, float]] = {
    FrontStage.DAY1: (0.75, 1.5),
    FrontStage.DAY2: (0.7, 2.0),
}
#: Where a lure that sinks to the bottom before the first turn is lost, and how far above it is stopped, m.
_SNAGGY, _ABOVE_ROCK_M = frozenset({Cover.ROCK, Cover.LAYDOWN, Cover.BRUSH}), 0.6
_SWUM = frozenset({"shake", "lift_drop"})  # reeled too, with the rod at work
_GROUND = frozenset({"slow_roll", "hop", "stroke", "drift"})  # a swimming lure on the bottom
_SPEEDS = np.array([0.2, 0.3, 0.4, 0.5, 0.6, 0.75, 0.9, 1.1, 1.3, 1.5, 1.8, 2.2, 2.5])
_SINK_FROM_M = 1.1  # deeper than this it is let sink before the first turn
_LONGEST_COUNT_S = 20.0
_OVER_GROUND_M = 0.15  # a hand of water stays below what swims
_FROM_BELOW = 1.3  # a lure that climbs on the retrieve starts this much below the height aimed at
_HOLD = 0.15  # a lure held at a level by the count stays within this share of it
_LIGHT_G = 2.0  # a box whose heaviest step is lighter than this holds no weight to speak of
_PATIENCE_S, _PATIENCE_WINDY_S, _DRIFTING_MPS = 12.0, 8.0, 3.0  # a fall is waited for so long, less in a breeze
_LONGEST_FALL = 1.25  # and so much longer where nothing heavier is made
_TWITCH_PART = 0.5  # pace of twitches with stops between, as a part of the fastest good one
_GLIDE_S, _TWITCH_SINK_S = 1.5, 4.0  # sinking between twitches
_GROUND_M, _GROUND_PART = 0.3, 0.1  # a bottom lure is this near to the bottom, or this share of the depth
_CROWN_M = 0.6  # at the crowns of brush: so far above and below them
_HALF_OUNCE_G = 14.0
_IN_THE_LEE = 0.5  # of the wind that is left on a sheltered bank
#: Plants of this share of a place are in the way of what is swum there.
_LESSER_PART = 0.25
#: A reeled lure may run so far below the tops of plants, m.
_INTO_PLANTS_M = 0.3
#: Tops or fish at which a lure is thrown in its base weight, m.
_BASE_DEPTH_M = 0.9
_CLOSE_M = 0.45  # tops so close under the surface take no step for wind
_NEAR_RULE = 0.7  # no lighter than this share of the rule, whatever the height
_LIGHTER_THAN = 1.4  # a lightest step this much under the rule is for the film alone
_LIFTS = ("low", "medium", "high", "very_high")
_POWER = ("ultra_light", "light", "medium_light", "medium", "medium_heavy", "heavy", "extra_heavy")


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
    CROWNS = "crowns"  # over and down through the crowns of brush
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
    tip: str = ""  # "high" or "low" where the rod holds the depth


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
    tip: str = ""
    size_why: str = ""  # the base weight, or why another, with marks for the reader's units


def solve(
    item: Presentation,
    conditions: Conditions,
    spot: Spot,
    knowledge: AdviceKnowledge,
    tackle: TackleBox,
    words: frozenset[str],
    mood: float,
    fish_m: tuple[float, float],
    retrieves: Sequence[Option] = (),
) -> Solved:
    """Solve one presentation for a spot; pure and without search, about 2 ms.

    First the retrieve with its pace, then the size from the trade's rule outward, the gear last: by cover, size, pace.
    What would plough through plants at the pace of the water is reeled faster, over their tops: place before pace.
    ``retrieves``: those to choose from; empty for all that the hour and the place allow.
    """
    rules = knowledge.paces
    possible = list(retrieves) or [one for one in item.retrieves if _holds(one, words, knowledge)]
    possible = possible or [one for one in item.retrieves if fit_of(one, words) >= 0.0]
    if skims(spot):  # nothing is crawled where plants stand up to the surface
        possible = [one for one in possible if one.id != "slow_roll"] or possible
    option = best_option(possible, words)
    given = words  # without the pace that is added to them
    name = "steady" if option is None else option.id
    pace = rules.pace(name, conditions.water_temp_c, mood, dark=conditions.sky is Sky.NIGHT)
    words |= {f"at_{pace.value}"}
    trailer, blade = best_option(item.trailers, words), best_option(item.blades, words)
    target = target_depth_m(item, spot, fish_m)
    ladder = _owned_ladder(item, tackle)
    setup = best_option(item.setups, words)
    behind = _BEHIND_FRONT.get(conditions.front_stage, (1.0, 1.0))
    speed = rules.speed_mps(item, pace, mood) * (1.0 if pace is Pace.BURN else behind[0])
    fastest = rules.fastest(name)
    ask = _Ask(item, ladder, target, speed, pace, fastest, blade, _line_mm(setup), spot, conditions, knowledge, tackle)
    swims = item.fall is not None and item.fall.swim_drag_area_m2 is not None and "bottom" not in item.traits
    if item.surface:
        sized = Sized(_surface_size(ladder, conditions), (0.0, 0.0), Layer.SURFACE)
    elif swims and option is not None and name in _GROUND and not (name == "slow_roll" and passed_over(spot)):
        sized = _near_ground(ask)
    elif swims and option is not None and (name == "wake" or pace is Pace.BURN or skims(spot)):
        sized = _skimming(ask, trailer)
    elif swims and option is not None and not rules.reeled(name) and name not in _SWUM:
        sized = _by_hand(ask, option)
    elif swims:
        trailer, sized = _swimming(ask, trailer, words)
    elif item.fall is not None:
        sized = _on_bottom(ask, fish_m, 0.0 if setup is None else setup.least_g, option)
    else:
        sized = _hard_bait(ask)
    fitting = [one for one in item.setups if suits_weight(one, sized.weight.grams)]
    setup = best_option(fitting, words | ({"heavy"} if sized.weight.grams >= _HALF_OUNCE_G else frozenset())) or setup
    depth = sized.depth_m
    if depth is not None:
        swum = sized.layer in (Layer.RUNNING, Layer.COUNTED)
        most = max(spot.depth_m[1] - (_OVER_GROUND_M if swum else 0.0), 0.0)
        depth = (min(depth[0], most), min(depth[1], most))
    solved = Solved(
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
        sized.tip,
        _size_why(ask, sized),
    )
    if retrieves or not _ploughs(solved, spot):
        return solved
    faster = [one for one in possible if rules.reeled(one.id) and rules.fastest(one.id) is not Pace.CRAWL]
    asked = (item, conditions, spot, knowledge, tackle, given, mood, fish_m)
    tried = [solved, *(solve(*asked, (one,)) for one in faster)]
    return min(tried, key=lambda one: (_ploughs(one, spot), 0.0 if one.depth_m is None else max(one.depth_m)))


def _ploughs(solved: Solved, spot: Spot) -> bool:
    """True where a reeled lure would run well below the tops of plants that it should pass over."""
    top = spot.cover_top_m
    reeled = solved.layer in (Layer.RUNNING, Layer.COUNTED)
    if top is None or solved.depth_m is None or not (reeled and passed_over(spot)):
        return False
    return sum(solved.depth_m) / 2 > top + _INTO_PLANTS_M


def _holds(option: Option, words: frozenset[str], knowledge: AdviceKnowledge) -> bool:
    """True where hour and place have what the retrieve needs, of itself and for this lure, and nothing forbids it."""
    known = knowledge.paces.retrieves.get(option.id)
    if known is not None and (known.never_in & words or (known.needs and not known.needs & words)):
        return False
    return fit_of(option, words) >= 0.0


def suits_weight(setup: Setup, grams: float) -> bool:
    """True where a set-up is meant for lures of this weight."""
    return setup.least_g <= grams and (setup.most_g <= 0.0 or grams <= setup.most_g)


def passed_over(spot: Spot) -> bool:
    """True where a swimming lure is kept above what grows or lies there, also where plants are the lesser part."""
    plants = sum(share for cover, share in spot.cover.items() if cover in GRASS)
    lesser = spot.cover_top_m is not None and plants >= _LESSER_PART * sum(spot.cover.values())
    return main_cover(spot) in _PASSED_OVER or lesser


def skims(spot: Spot) -> bool:
    """True where plants stand up to the surface, so that what swims below it can only be drawn along their top."""
    cover = main_cover(spot)
    top = spot.cover_top_m
    return cover in _TOPPED or (cover in GRASS and top is not None and top <= _FILM_M[1])


def target_depth_m(item: Presentation, spot: Spot, fish_m: tuple[float, float]) -> float:
    """Depth to run at: just over the tops of grass or brush, else at the fish, within what the lure can do.

    Over limbs and stumps whose tops are known it lies half-way between the tops and the fish: it should touch them.
    """
    cover, top = main_cover(spot), spot.cover_top_m
    known = top is not None and 0.0 < top <= spot.depth_m[1]
    wanted = (fish_m[0] + fish_m[1]) / 2
    if known and top is not None and passed_over(spot):
        return min(max(top - _TICK_M, 0.2), item.depth_m.high)
    if known and top is not None and cover is Cover.LAYDOWN and top < wanted:
        wanted = (top + wanted) / 2
    return min(max(wanted, item.depth_m.low, 0.2), item.depth_m.high)


def _size_why(ask: _Ask, sized: Sized) -> str:
    """The base weight of a lure, or what moved the size away from it; empty where depth has no part in the size."""
    if not ask.item.weight_by_depth or sized.weight.grams <= 0.0:
        return ""
    bottom = sized.layer in (Layer.BOTTOM, Layer.BELOW, Layer.CROWNS)
    depth_m = ask.spot.depth_m[1] if bottom else ask.target_m
    base = nearest_step(ask.ladder, rule_g(ask.item, _BASE_DEPTH_M))
    mine, usual = (either(f"{one.oz} oz", f"{one.grams:g} g") for one in (sized.weight, base))
    if sized.weight is base:
        return f"{mine} is the base weight; speed and rod height do the rest."
    top_m = None if bottom else ask.spot.cover_top_m
    what, depth_m = ("bottom" if bottom else "fish", depth_m) if top_m is None else ("tops", top_m)
    here = either(*(show_depth(depth_m, system, both=False) for system in ("us", "metric")))
    if sized.weight.grams < base.grams:
        close = f"{what} close under the surface" if depth_m < _CLOSE_M else f"{what} at {here}, and slow"
        return f"{mine}, lighter than the base weight of {usual}: {close}."
    if sized.reason:
        return f"{usual} is the base weight. {sized.reason}"
    return f"{mine}, heavier than the base weight of {usual}: {what} at {here}."


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


@lru_cache(maxsize=4096)  # the same lure on the same line is asked for at every place and hour of a day
def _mean_depths_m(
    fall: Fall,
    head_g: float,
    line_mm: float,
    cast_m: float,
    physics: PhysicsParameters,
    tip_m: float,
    lift: str,
    count_s: float,
    material: str | None,
) -> Floats:
    """Mean depth of the middle of a cast at all of ``_SPEEDS``, m; not to be written on."""
    mean = lure_running_depth(
        *(fall, head_g, _SPEEDS, line_mm, cast_m, physics),
        tip_m=tip_m,
        trailer_lift=lift,
        count_s=count_s,
        material=material,
    ).mean_m
    mean.flags.writeable = False
    return mean


@dataclass(frozen=True, slots=True)
class _Ask:
    """What a lure is solved for."""

    item: Presentation
    ladder: Sequence[LureWeight]
    target_m: float
    speed_mps: float
    pace: Pace
    fastest: Pace  # of the retrieve
    blade: Option | None
    line_mm: float
    spot: Spot
    conditions: Conditions
    knowledge: AdviceKnowledge
    tackle: TackleBox

    def depths_m(
        self, step: LureWeight, trailer: Option | None, *, count_s: float = 0.0, tip: str = "seated"
    ) -> Floats:
        """Mean depth of the middle of a cast at all of ``_SPEEDS``, m."""
        assert self.item.fall is not None
        physics = self.knowledge.physics
        return _mean_depths_m(
            self.item.fall,
            step.grams,
            self.line_mm,
            self.conditions.cast_m,
            physics,
            physics.run.tips_m[tip],
            self.lift(trailer),
            count_s,
            _material(self.item, self.tackle),
        )

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

    def by_rule(self, depth_m: float, times: float = 1.0) -> tuple[LureWeight, str]:
        """The step of the trade's rule for a depth, with the steps for wind, current and pace, and why."""
        grams = times * rule_g(self.item, depth_m) if self.item.weight_by_depth else self.ladder[0].grams
        calm = nearest_step(self.ladder, grams)
        if self.item.weight_by_depth and calm is self.ladder[0]:
            calm = self._not_the_lightest(calm)
        more, why = self.more()
        if "bottom" not in self.item.traits and 0.0 < depth_m < _CLOSE_M and why == "wind":
            more = 0  # it would dig in
        step = _up(self.ladder, calm, more)
        if "bottom" not in self.item.traits:
            most_in = _MOST_CRAWLED if self.pace is Pace.CRAWL else _MOST_IN
            step = _capped(self.ladder, step, self.spot.depth_m[1], most_in)
            if passed_over(self.spot) and self.item.weight_by_depth:
                step = _capped(self.ladder, step, depth_m, _MOST_OVER)
        return step, _heavier(calm, step, why)

    def _not_the_lightest(self, step: LureWeight) -> LureWeight:
        """A sixteenth of an ounce for a weedless bait is for the film on a calm day only."""
        film = self.item.weight_by_depth[0][1] > _LIGHTER_THAN * step.grams
        return _up(self.ladder, step, int(film and not self._calm()))

    def _calm(self) -> bool:
        return wave_class(self.conditions) is WaveClass.FLAT

    def more(self) -> tuple[int, str]:
        """Steps to go up, and the reason in a word or two."""
        wind = felt_mps(self.conditions, self.spot)
        steps = int(wind > _WINDY_MPS) + int(wind > _STRONG_MPS)
        why = "wind" if steps else ""
        if self.spot.flow is Flow.STRONG and steps < 2:
            steps, why = 2, "current"
        if "pitched" in self.item.traits or self.item.group == "vertical":  # short line, straight below the tip
            steps = min(steps, 1)
        if self.pace is Pace.BURN:
            steps, why = max(steps, 1), why or "speed"
        return steps, why


def felt_mps(conditions: Conditions, spot: Spot) -> float:
    """The wind that line and lure feel at a place; in the lee a part of it."""
    return conditions.wind_mps * (_IN_THE_LEE if spot.exposed is False else 1.0)


def rule_g(item: Presentation, depth_m: float) -> float:
    """The trade's weight for a depth in still water, g."""
    at, grams = zip(*item.weight_by_depth, strict=True)
    return float(np.interp(depth_m, at, grams))


def nearest_step(ladder: Sequence[LureWeight], grams: float) -> LureWeight:
    """The step nearest in ratio; the heavier of two equals."""
    return min(ladder, key=lambda step: (abs(np.log(max(step.grams, 0.1) / max(grams, 0.1))), -step.grams))


def _up(ladder: Sequence[LureWeight], step: LureWeight, steps: int) -> LureWeight:
    """So many steps of the trade heavier, as far as the ladder goes."""
    for _ in range(steps):
        least = step.grams * (_LIGHT_STEP if step.grams < _LIGHT_STEP_G else _STEP)
        heavier = [one for one in ladder if one.grams > step.grams]
        step = nearest_step(heavier, least) if heavier else ladder[-1]
    return step


def _capped(
    ladder: Sequence[LureWeight], step: LureWeight, depth_m: float, most_in: Sequence[tuple[float, float]]
) -> LureWeight:
    """No heavier than is thrown in so little water."""
    most = next((grams for depth, grams in most_in if depth_m <= depth), None)
    if most is None or step.grams <= most:
        return step
    return next((one for one in reversed(ladder) if one.grams <= most), ladder[0])


def _heavier(calm: LureWeight, step: LureWeight, why: str) -> str:
    """The weight before and after wind, current or speed, as a sentence; empty where nothing was added."""
    if step.grams <= calm.grams or not why:
        return ""
    asks = {"wind": "the wind on line and craft asks", "current": "the current asks", "speed": "so fast a pace asks"}
    before, after = (either(f"{one.oz} oz", f"{one.grams:g} g") for one in (calm, step))
    return f"In still water {before} would do; {asks[why]} for {after}."


def _swimming(ask: _Ask, trailer: Option | None, words: frozenset[str]) -> tuple[Option | None, Sized]:
    """Holds the height from the base weight outward: count, pace, rod, trailer, and only then a step of weight."""
    base, reason = ask.by_rule(ask.target_m)
    suited = sorted(ask.item.trailers, key=lambda option: -fit_of(option, words))
    others = [one for one in suited if one is not trailer and fit_of(one, words) >= 0.5]
    tries: list[tuple[LureWeight, Option | None, str]] = [(base, trailer, "seated")]
    first = _held(ask, base, trailer, "seated")
    if _hits(ask, first):
        return trailer, replace(first, reason=reason)
    deep = first.depth_m is not None and sum(first.depth_m) / 2 > ask.target_m
    tip = "raised" if deep else "water"
    tries = [(base, trailer, tip)]
    tries += [(base, one, tip) for one in others if (ask.lift(one) != ask.lift(trailer))]
    step = _next(ask.ladder, base, -1 if deep else 1)
    rule = rule_g(ask.item, ask.target_m) if ask.item.weight_by_depth else 0.0
    tries += [(step, trailer, tip)] if step.grams >= _NEAR_RULE * rule else []
    found = [(trailer, first)]
    for step, tail, rod in tries:
        sized = _held(ask, step, tail, rod)
        found.append((tail, sized))
        if _hits(ask, sized):
            break
    tail, sized = min(found, key=lambda pair: round(_miss(ask, pair[1]), 1))
    return tail, replace(sized, reason=reason if sized.weight is base else "")


def _next(ladder: Sequence[LureWeight], step: LureWeight, by: int) -> LureWeight:
    place = next(n for n, one in enumerate(ladder) if one is step)
    return ladder[min(max(place + by, 0), len(ladder) - 1)]


def _miss(ask: _Ask, sized: Sized) -> float:
    """How far it runs from the height; deeper than wanted counts half as much again."""
    off = (0.0 if sized.depth_m is None else sum(sized.depth_m) / 2) - ask.target_m
    return 1.5 * off if off > 0.0 else -off


def _hits(ask: _Ask, sized: Sized) -> bool:
    return _miss(ask, sized) <= max(_TRIM * ask.target_m, _NEAR_M)


def _held(ask: _Ask, step: LureWeight, trailer: Option | None, tip: str) -> Sized:
    """One size with one rod height: let sink where it is deep, at the pace that comes nearest to the height."""
    full = 0.0
    if ask.target_m > _SINK_FROM_M:
        deepest = ask.spot.depth_m[1] - (_ABOVE_ROCK_M if main_cover(ask.spot) in _SNAGGY else 0.0)
        full = min(ask.count_s(step, min(_FROM_BELOW * ask.target_m, deepest)), _LONGEST_COUNT_S)
    slowest, fastest = _pace_span(ask)
    count = full
    near = max(_TRIM * ask.target_m, _NEAR_M)
    depths = ask.depths_m(step, trailer, count_s=count, tip=tip)
    usual, speed = float(np.interp(ask.speed_mps, _SPEEDS, depths)), ask.speed_mps
    for part in (0.6, 0.3, 0.0):  # what would run too deep at its pace is let sink less before it is reeled faster
        if not count or usual <= ask.target_m + near:
            break
        count = part * full
        depths = ask.depths_m(step, trailer, count_s=count, tip=tip)
        usual = float(np.interp(speed, _SPEEDS, depths))
    if abs(usual - ask.target_m) > near:  # depth falls as speed rises
        speed = float(np.interp(-ask.target_m, -depths, _SPEEDS))
        speed = min(max(speed, slowest), fastest)
    middle = float(np.interp(speed, _SPEEDS, depths))
    short = middle < (1.0 - 2 * _TRIM) * ask.target_m
    layer = Layer.COUNTED if count else Layer.RUNNING
    rod = {"raised": "high", "water": "low"}.get(tip, "")
    return Sized(step, ask.around(middle), layer, "", speed, count or None, short, rod)


def _pace_span(ask: _Ask) -> tuple[float, float]:
    """Speeds within which the height may be trimmed: one pace slower or faster, and from medium up to brisk."""
    place = PACES.index(ask.pace)
    slower = PACES[max(place - 1, 1)]
    faster = Pace.BRISK if ask.pace in (Pace.MEDIUM, Pace.BRISK) else PACES[min(place + 1, PACES.index(Pace.BRISK))]
    faster = min(faster, max(ask.fastest, ask.pace, key=PACES.index), key=PACES.index)
    rules = ask.knowledge.paces
    low, high = rules.bounds_mps(ask.item, slower)[0], rules.bounds_mps(ask.item, faster)[1]
    if ask.target_m > _SINK_FROM_M:  # deeper is slower by count, before it is heavier
        low = min(low, rules.bounds_mps(ask.item, Pace.SLOW)[0])
    return low, max(low, high)


def _near_ground(ask: _Ask) -> Sized:
    """A swimming lure crawled, hopped or stroked along the bottom."""
    bottom = min(ask.spot.depth_m[1], max(ask.target_m, ask.spot.depth_m[0]))
    step, reason = ask.by_rule(bottom if ask.spot.cover_top_m is None else ask.target_m)
    return Sized(step, _ground(bottom), Layer.BOTTOM, reason, count_s=ask.count_s(step, bottom))


def _ground(bottom_m: float) -> tuple[float, float]:
    """On the bottom: as near to it as a lure is that lies, hops and swims there."""
    return bottom_m - min(_GROUND_M, _GROUND_PART * bottom_m), bottom_m


def _skimming(ask: _Ask, trailer: Option | None) -> Sized:
    """The step of the shallowest water with the rod held high, at the pace that keeps it just under the film."""
    step, reason = ask.by_rule(0.0 if ask.pace is not Pace.BURN else min(ask.target_m, ask.spot.depth_m[1]))
    if ask.pace is Pace.BURN:
        return Sized(step, _FILM_M, Layer.SKIM, reason, ask.speed_mps)
    low, high = ask.knowledge.paces.bounds_mps(ask.item, Pace.SLOW)[0], ask.item.speed_mps.best_high
    depths = ask.depths_m(step, trailer, tip="raised")
    speed = float(np.interp(-_FILM_M[1], -depths, _SPEEDS))
    return Sized(step, _FILM_M, Layer.SKIM, reason, min(max(speed, low), high), tip="high")


def _by_hand(ask: _Ask, option: Option) -> Sized:
    """Worked by the rod: twitched in the upper water with glides between, or let down to the fish and held there."""
    # a nearly weightless lure can only be waited for so long
    step, reason = ask.by_rule(ask.target_m)
    if option.id in _TWITCHED:
        windy = felt_mps(ask.conditions, ask.spot) > _WINDY_MPS and len(ask.ladder) > 1
        step = ask.ladder[1] if windy else ask.ladder[0]
        speed = max(ask.item.speed_mps.best_low, _TWITCH_PART * ask.item.speed_mps.best_high)
        deep = float(np.interp(speed, _SPEEDS, ask.depths_m(step, None))) + _GLIDE_S * ask.sink_mps(step)
        note = _heavier(ask.ladder[0], step, "wind")
        return Sized(step, (0.4 * deep, deep), Layer.TWITCHED, note, short=deep < 0.75 * ask.target_m)
    longest = _LONGEST_COUNT_S if ask.ladder[-1].grams > _LIGHT_G else _patience_s(ask.conditions, ask.spot)
    steps = [one for one in ask.ladder if one.grams >= step.grams] or ask.ladder[-1:]
    quick = [one for one in steps if ask.count_s(one, ask.target_m) <= longest]
    step = quick[0] if quick else steps[-1]
    count = min(ask.count_s(step, ask.target_m), longest)
    reached = min(ask.knowledge.physics.sink.countdown_share * ask.sink_mps(step) * count, ask.target_m)
    low, high = (1.0 - _HOLD) * reached, (1.0 + _HOLD) * reached
    short = reached < (1.0 - 2 * _TRIM) * ask.target_m
    layer = Layer.HELD if option.id == "hover" else Layer.FALLING
    return Sized(step, (low, high), layer, reason, count_s=count, short=short)


def _patience_s(conditions: Conditions, spot: Spot) -> float:
    """How long the fall of a weightless lure can be waited for: wind takes the line and the craft, less in a lee."""
    still = felt_mps(conditions, spot) <= _DRIFTING_MPS or wave_class(conditions) is WaveClass.FLAT
    return _PATIENCE_S if still else _PATIENCE_WINDY_S


def _on_bottom(ask: _Ask, fish_m: tuple[float, float], least_g: float, option: Option | None) -> Sized:
    """On the bottom where the bottom is, in brush at its crowns first; weight by the rule, the wind and the feel."""
    item, spot, conditions, knowledge = ask.item, ask.spot, ask.conditions, ask.knowledge
    assert item.fall is not None
    if "falls_through_roof" in item.traits:
        number = min((spot.roof_m >= 0.3) + (felt_mps(conditions, spot) > _WINDY_MPS), len(ask.ladder) - 1)
        deep = spot.depth_m[1]
        return Sized(ask.ladder[number], (min(spot.roof_m + 0.3, deep), deep), Layer.BOTTOM)
    low, bottom = spot.depth_m
    if bottom - low >= _GROUND_M:  # a slope: where the fish are looked for
        low, bottom = min(max(low, fish_m[0]), bottom), min(max(fish_m[1], low), bottom)
    else:
        low, bottom = _ground(bottom)
    if "lead_tackle" not in item.legal:
        band = min(max(fish_m[1], 0.3), item.depth_m.high)
        return _falling(item, ask.ladder, spot, (min(fish_m[0], band), band), option, conditions, knowledge)
    material = _material(item, ask.tackle) or item.fall.head_material
    top = spot.cover_top_m
    crowns = main_cover(spot) is Cover.BRUSH and top is not None and 0.0 < top < bottom - _CROWN_M
    times = _IN_STEMS if "pitched" in item.traits and main_cover(spot) in _STEMS and not crowns else 1.0
    times *= _IN_COLD if conditions.water_temp_c is not None and conditions.water_temp_c < _COLD_C else 1.0
    for moment in moments_now(conditions, spot, knowledge.moments):
        times *= moment.weight
    # over crowns it is worked there, and sinks to their foot only when nothing comes
    step, reason = ask.by_rule(top + _CROWN_M if crowns and top is not None else bottom, times)
    rough = any(knowledge.covers[key].hard for key in spot.cover)
    across = _ACROSS * felt_mps(conditions, spot)
    air_m = 6.0
    needed = float(hold_bottom_g(ask.line_mm, across, air_m, knowledge.physics, material=material, rough=rough))
    if step.grams < max(needed, least_g):
        calm = step
        step = next((one for one in ask.ladder if one.grams >= max(needed, least_g)), ask.ladder[-1])
        reason = reason or (_heavier(calm, step, "wind") if needed > least_g else "")
    seconds = count_to_depth_s(_sinks_mps(item.fall, step, knowledge.physics), bottom, knowledge.physics)
    if crowns and top is not None:
        return Sized(step, (max(top - _CROWN_M / 2, 0.0), top + _CROWN_M), Layer.CROWNS, reason, count_s=seconds)
    layer = Layer.BELOW if item.group == "vertical" else Layer.BOTTOM
    return Sized(step, (low, bottom), layer, reason, count_s=seconds)


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
    physics, windy = knowledge.physics, felt_mps(conditions, spot) > _WINDY_MPS
    top = spot.cover_top_m
    if option is not None and option.id in _TWITCHED:
        step = ladder[min(int(windy), len(ladder) - 1)]
        deep = _TWITCH_SINK_S * _sinks_mps(item.fall, step, physics)
        over = main_cover(spot) in GRASS and top is not None and 0.0 < top < deep + _TICK_M
        deep = min(max(top, 0.2) if over and top is not None else deep, band_m[1])
        note = _heavier(ladder[0], step, "wind")
        return Sized(step, (min(0.2, deep), deep), Layer.TWITCHED, note, short=deep < band_m[0])
    if main_cover(spot) is Cover.GRASS_DENSE and top is not None and top > 0.0:  # what sinks farther is lost in it
        band_m = (min(band_m[0], top), min(band_m[1], top + _TICK_M))
    patience = _patience_s(conditions, spot)
    seconds = [count_to_depth_s(_sinks_mps(item.fall, step, physics), band_m[1], physics) for step in ladder]
    number = next((n for n, time in enumerate(seconds) if time <= patience), len(ladder) - 1)
    number = max(number, min(int(windy), len(ladder) - 1))
    whole = seconds[number]
    deep = band_m[1] * min(1.0, _LONGEST_FALL * patience / whole)
    low = min(band_m[0], deep)
    count = min(whole, _LONGEST_FALL * patience)
    short = deep < 0.75 * band_m[1]
    note = _heavier(ladder[0], ladder[number], "wind") if windy else ""
    return Sized(ladder[number], (low, deep), Layer.FALLING, note, count_s=count, short=short)


def _sinks_mps(fall: Fall, step: LureWeight, physics: PhysicsParameters) -> float:
    """Fall on slack line, m/s: counted where the file has it, else computed."""
    return step.sink_mps or float(sink_mps(fall, step.grams, physics))


def _hard_bait(ask: _Ask) -> Sized:
    """The size whose range of running depth, on this cast and line, lies nearest to the wanted depth.

    Running over it beats running into it by half, as with the weights. What sinks goes by the trade's rule instead.
    """
    item, target = ask.item, ask.target_m
    layer = Layer.BELOW if item.group == "vertical" else Layer.RUNNING
    if item.weight_by_depth:
        step, reason = ask.by_rule(target)
        if layer is Layer.BELOW:
            return Sized(step, _ground(ask.spot.depth_m[1]), layer, reason)
        return Sized(step, ask.around(target), layer, reason)
    ranges = [(one, _runs(one, ask.line_mm, ask.conditions, ask.knowledge)) for one in ask.ladder if one.runs_m]
    if not ranges:
        return Sized(ask.ladder[len(ask.ladder) // 2], None, layer)

    def miss(depth_m: tuple[float, float]) -> float:
        off = sum(depth_m) / 2 - target
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
    name = knowledge.paces.name(option.id)
    longer = _BEHIND_FRONT.get(conditions.front_stage, (1.0, 1.0))[1]
    paused = pause_s(option, conditions.water_temp_c)
    paused = None if paused is None else (paused[0] * longer, paused[1] * longer)
    pick = RetrievePick(option.id, name, option.text, pause_s=paused, short=knowledge.paces.short(option.id))
    if not knowledge.paces.reeled(option.id) or setup is None or speed_mps < _CREEP_MPS:
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


def pause_words(pause_s: tuple[float, float]) -> str:
    """How long it hangs, "Pause 6 to 15 s"."""
    low, high = (f"{round(2 * value) / 2:g}" if value < 3.0 else f"{value:.0f}" for value in pause_s)
    return f"Pause {low} s" if low == high else f"Pause {low} to {high} s"


def setup_pick(setup: Setup, rods: Sequence[OwnedRod]) -> SetupPick:
    """A set-up in words with marks for the reader's units, with the user's own rod where one comes near it."""
    own = _owned_rod(setup, rods)
    power, action = (word.replace("_", "-") for word in (setup.power, setup.action))
    return SetupPick(
        rod=f"{marked_length(setup.length_ft)} {power}, {action} action",
        reel=f"{setup.reel} {ratio_words(setup)}",
        line=marked_line(setup.line),
        leader=None if setup.leader is None else marked_line(setup.leader),
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
