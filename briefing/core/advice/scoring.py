"""Scores of all presentations at once: a product of fits, each to a power that says how much it matters.

The block's factors (temperature, clarity, phase, wind, light, species, forage, water, pressure) and the spot's (cover,
depth, mood, shade, wind side) are computed apart, so that a whole lake over a day costs little more than its spots.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.conditions import Conditions, FrontStage, Spot, TackleBox, wave_position
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.moments import Moment, moments_now
from briefing.core.advice.presentation import SPECIES
from briefing.core.advice.situation import (
    GRASS,
    expected_mood,
    feeding_up,
    fish_depth_m,
    front_quiet,
    front_weight,
    level_changes,
    phase_shares,
    ramp,
    roof_share,
    secchi_m,
    shade_share,
    species_shares,
)
from briefing.core.advice.tables import COVERS, FORAGES, PHASES, SKIES, Array
from briefing.vocabulary import Cover, Craft, Phase, Sky

EVERYTHING = TackleBox()
LEAST_CHOICES = 3
_LEAST_FIT = 0.02  # what is left of a factor that rules a lure out, where nothing better is at hand
PLANTS = GRASS | {Cover.REEDS, Cover.PADS}
_THICK = (Cover.GRASS_DENSE, Cover.GRASS_TOPPED, Cover.PADS)
_STEMS = (Cover.GRASS_TOPPED, Cover.PADS, Cover.REEDS)
_MAINLY = 0.5
_HANGS_UP = 0.5  # of casts
_POINTS = np.linspace(0.0, 1.0, 7)
_SMALL_CRAFT = (Craft.KAYAK, Craft.CANOE)


@dataclass(frozen=True)
class Scores:
    """Scores of all presentations at one spot, with the factors that made them; arrays follow the knowledge's order.

    factors maps a factor's name to its value already raised to its exponent, so that their product is the score.
    excluded maps a presentation's index to the reason why it is left out (its score is 0).
    """

    total: Array
    factors: Mapping[str, Array]
    excluded: Mapping[int, str]
    mood: float
    fish_depth_m: tuple[float, float]
    _middles: dict[int | None, dict[str, float]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def middles(self, rivals: int | None = None) -> Mapping[str, float]:
        """Median of each factor over the best so many, or over all usable ones; 1 where none is usable."""
        if rivals not in self._middles:
            usable = self.total > 0.0
            if rivals is not None and int(usable.sum()) > rivals:
                usable = self.total >= np.sort(self.total)[-rivals]
            table = np.stack(list(self.factors.values()))[:, usable]
            middle = np.median(table, axis=1).tolist() if usable.any() else [1.0] * len(table)
            self._middles[rivals] = dict(zip(self.factors, middle, strict=True))
        return self._middles[rivals]


def window_value(edges: Array, x: Array | float) -> Array:
    """Trapezoid membership; edges (..., 4) as nothing below, best from, best to, nothing above; x broadcasts."""
    low, best_low, best_high, high = (edges[..., i] for i in range(4))
    rise = (x - low) / np.maximum(best_low - low, 1e-9)
    fall = (high - x) / np.maximum(high - best_high, 1e-9)
    inside = (x >= low) & (x <= high)
    rise = np.where(best_low == low, 1.0, rise)
    fall = np.where(high == best_high, 1.0, fall)
    return np.where(inside, np.maximum(np.minimum(np.minimum(rise, fall), 1.0), 0.0), 0.0)


def score(
    conditions: Conditions,
    spot: Spot,
    knowledge: AdviceKnowledge,
    tackle: TackleBox = EVERYTHING,
    learned: Mapping[str, float] | None = None,
) -> Scores:
    """Score every presentation at a spot. learned: log factor by presentation id, cut at the limit of the rules."""
    block = _block_factors(conditions, knowledge, learned)
    place, mood, band = _spot_factors(conditions, spot, knowledge)
    factors = block | place
    total: Array = np.prod(np.stack(list(factors.values())), axis=0)
    excluded = _excluded(conditions, knowledge, tackle, factors)
    total[list(excluded)] = 0.0
    return Scores(total, factors, excluded, mood, band)


def with_least_bad(
    scores: Scores, conditions: Conditions, knowledge: AdviceKnowledge, tackle: TackleBox = EVERYTHING
) -> Scores:
    """The scores with the least bad of the box, where fewer than three are usable: there is always one to tie on."""
    total = scores.total.copy()
    usable = total > 0.0
    wanted = LEAST_CHOICES - int(usable.sum())
    if wanted <= 0:
        return scores
    forced = np.prod(np.stack([np.maximum(values, _LEAST_FIT) for values in scores.factors.values()]), axis=0)
    forced[list(_barred(conditions, knowledge, tackle))] = 0.0
    forced[usable] = 0.0
    ceiling = float(total[usable].min()) if bool(usable.any()) else 1.0
    for index in np.argsort(-forced, kind="stable")[:wanted]:
        if forced[index] > 0.0:
            total[index] = min(float(forced[index]), 0.5 * ceiling)
    return replace(scores, total=total)


def score_lake(
    blocks: Sequence[Conditions],
    spots: Sequence[Spot],
    knowledge: AdviceKnowledge,
    tackle: TackleBox = EVERYTHING,
    learned: Mapping[str, float] | None = None,
) -> Array:
    """Scores of a whole lake, shape (blocks, spots, presentations); 0 where a presentation is left out.

    Wind, waves and water temperature are the block's; where they differ between spots, call it spot by spot.
    """
    out = np.zeros((len(blocks), len(spots), len(knowledge.presentations)))
    for number, conditions in enumerate(blocks):
        common = np.prod(np.stack(list(_block_factors(conditions, knowledge, learned).values())), axis=0)
        common[list(_barred(conditions, knowledge, tackle))] = 0.0
        for position, spot in enumerate(spots):
            place, _, _ = _spot_factors(conditions, spot, knowledge)
            out[number, position] = common * np.prod(np.stack(list(place.values())), axis=0)
    return out


def _block_factors(
    conditions: Conditions, knowledge: AdviceKnowledge, learned: Mapping[str, float] | None
) -> dict[str, Array]:
    """Factors that hold everywhere on the lake in this block."""
    t, power = knowledge.tables, knowledge.rules.exponents
    shares = phase_shares(conditions)
    species = species_shares(conditions, knowledge)
    ones = np.ones(len(knowledge.presentations))
    temp = conditions.water_temp_c
    return {
        "temp": (ones if temp is None else window_value(t.temp, temp)) ** power["temp"],
        "clarity": window_value(t.secchi, _seen_m(conditions, knowledge)) ** power["clarity"],
        "phase": (t.phase @ np.array([shares.get(phase, 0.0) for phase in PHASES])) ** power["phase"],
        "wind": _wind(conditions, knowledge) ** power["wind"],
        "species": (t.species @ np.array([species.get(name, 0.0) for name in SPECIES])) ** power["species"],
        "forage": _forage(conditions, knowledge) ** power["forage"],
        "water": ones if conditions.lake_kind is None else t.region[conditions.lake_kind],
        "pressure": _pressure(conditions, knowledge),
        "change": _change(conditions, knowledge, shares),
        "learned": _learned(knowledge, learned),
    }


def _seen_m(conditions: Conditions, knowledge: AdviceKnowledge) -> float:
    """How far fish see: the visibility, at night in any water no further than in stained water by day."""
    seen = secchi_m(conditions, knowledge)
    return min(seen, knowledge.rules.factors.night_secchi_m) if conditions.sky is Sky.NIGHT else seen


def _wind(conditions: Conditions, knowledge: AdviceKnowledge) -> Array:
    """Fit to the surface; flat water hides a lure as a ripple does at night, in low sun and in dark water."""
    wind = knowledge.tables.wind
    limit = knowledge.rules.factors.conceal_secchi_m
    hidden = conditions.sky in (Sky.NIGHT, Sky.LOW_SUN) or secchi_m(conditions, knowledge) < limit
    flat = (wind[:, 0] + wind[:, 1]) / 2 if hidden else wind[:, 0]
    place = wave_position(conditions)
    index = min(int(place), 2)
    part = place - index
    below = flat if index == 0 else wind[:, index]
    out: Array = below * (1.0 - part) + wind[:, index + 1] * part
    return out


def _forage(conditions: Conditions, knowledge: AdviceKnowledge) -> Array:
    if not conditions.forage:
        return np.ones(len(knowledge.presentations))
    here = np.array([float(item in conditions.forage) for item in FORAGES])
    return np.where(knowledge.tables.forage @ here > 0.0, 1.0, knowledge.rules.factors.forage_missing)


def _pressure(conditions: Conditions, knowledge: AdviceKnowledge) -> Array:
    ones = np.ones(len(knowledge.presentations))
    if not conditions.pressured:
        return ones
    rules, traits = knowledge.rules.factors, knowledge.tables.traits
    loud = np.where(traits["loud"], rules.loud_on_pressured, 1.0)
    return loud * np.where(traits["finesse"], rules.finesse_on_pressured, 1.0)


def _change(conditions: Conditions, knowledge: AdviceKnowledge, shares: Mapping[Phase, float]) -> Array:
    """Lures that a front, a warming trend or a moving level favours or sets back in this phase, as a mild factor."""
    strengths = {
        "cold_front": min(front_weight(conditions, None, knowledge), 1.0)
        if conditions.front_stage in (FrontStage.DAY1, FrontStage.DAY2)
        else 0.0,
        "warming_trend": min(max((conditions.trend_3d_c or 0.0) - 0.5, 0.0), 1.0),
        **level_changes(conditions, knowledge),
    }
    log = np.zeros(len(knowledge.presentations))
    index = knowledge.tables.index
    for kind, strength in strengths.items():
        for phase, share in shares.items() if strength > 0.0 else ():
            change = knowledge.phases[phase].changes[kind]
            for names, sign in ((change.raises, 1.0), (change.lowers, -1.0)):
                log[[index[name] for name in names if name in index]] += sign * strength * share
    paces = _ahead_of_front(conditions, knowledge) * _behind_front(conditions, knowledge)
    return np.exp(knowledge.rules.factors.change_log * log) * paces


def _ahead_of_front(conditions: Conditions, knowledge: AdviceKnowledge) -> Array:
    """Fish feed ahead of a front while the water is not cooling: moving lures gain and slow ones lose."""
    if conditions.front_stage is not FrontStage.APPROACHING or (conditions.trend_3d_c or 0.0) < 0.0:
        return np.ones(len(knowledge.presentations))
    rules = knowledge.rules.factors
    return _by_pace(knowledge, {"search": rules.ahead_search, "slow": rules.ahead_slow})


def _behind_front(conditions: Conditions, knowledge: AdviceKnowledge) -> Array:
    """Fish hold tight and want it slow in the first half-day after a front: slow lures gain and moving ones lose."""
    quiet, rules = front_quiet(conditions, None, knowledge), knowledge.rules.factors
    return _by_pace(knowledge, {"search": rules.front_quiet_search**quiet, "slow": rules.front_quiet_slow**quiet})


def _by_pace(knowledge: AdviceKnowledge, factors: Mapping[str, float]) -> Array:
    """A factor by pace; 1 for a pace that isn't named."""
    out: Array = np.ones(len(knowledge.presentations))
    for pace, factor in factors.items():
        if pace in knowledge.tables.pace:
            out[knowledge.tables.pace[pace]] = factor
    return out


def _dawn(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge, mood: float) -> Array:
    """What fish that come up to feed in low sun do to lures: moving ones gain, what creeps along the bottom loses.

    Surface lures gain most over plants in quiet water; all of it with willing fish.
    """
    out = np.ones(len(knowledge.presentations))
    up = feeding_up(conditions, spot, knowledge) * (1.0 - min(max(-mood, 0.0), 1.0))
    if up <= 0.0:
        return out
    rules, t = knowledge.rules.factors, knowledge.tables
    plants = sum(share for key, share in spot.cover.items() if key in PLANTS) / sum(spot.cover.values())
    quiet = 1.0 - min(max(wave_position(conditions) - 1.0, 0.0), 1.0)
    for pace, factor in (("search", rules.dawn_search), ("slow", rules.dawn_slow)):
        if pace in t.pace:
            out[t.pace[pace]] = 1.0 + (factor - 1.0) * up
    part = plants + (1.0 - plants) * rules.dawn_open
    out[t.surface] = 1.0 + (rules.dawn_surface - 1.0) * up * quiet * part
    return out


def _learned(knowledge: AdviceKnowledge, learned: Mapping[str, float] | None) -> Array:
    if not learned:
        return np.ones(len(knowledge.presentations))
    limit = knowledge.rules.factors.learned_limit
    theta = np.array([learned.get(item.id, 0.0) for item in knowledge.presentations])
    factor: Array = np.exp(np.clip(theta, -limit, limit))
    return factor


def _spot_factors(
    conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge
) -> tuple[dict[str, Array], float, tuple[float, float]]:
    """Factors of the place, the expected mood there and the depth of the fish."""
    power = knowledge.rules.exponents
    mood = expected_mood(conditions, spot, knowledge)
    band = fish_depth_m(conditions, spot, knowledge)
    factors = {
        "cover": _cover(spot, knowledge) ** power["cover"],
        "depth": _depth(conditions, spot, knowledge, mood, band) ** power["depth"],
        "light": _light(conditions, spot, knowledge) ** power["light"],
        "mood": _mood(knowledge.tables.mood, mood) ** power["mood"],
        "windward": _windward(conditions, spot, knowledge),
        "dawn": _dawn(conditions, spot, knowledge, mood),
        "moment": _moment(conditions, spot, knowledge),
        "misfit": _misfit(conditions, spot, knowledge),
    }
    return factors, mood, band


def _moment(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> Array:
    """Current, tide, bait and bottom raise some lures and set others back."""
    out = np.ones(len(knowledge.presentations))
    for moment in moments_now(conditions, spot, knowledge.moments):
        out *= _moment_factor(moment, knowledge)
    return out


def _moment_factor(moment: Moment, knowledge: AdviceKnowledge) -> Array:
    """What a moment does to each presentation: the lesser of pace and group; a lure that is named goes by its own."""
    t = knowledge.tables
    pace, group = (np.full(len(knowledge.presentations), np.inf) for _ in range(2))
    for out, factors, masks in ((pace, moment.paces, t.pace), (group, moment.groups, t.group)):
        for name, factor in factors.items():
            if name in masks:
                out[masks[name]] = factor
    least: Array = np.minimum(pace, group)
    least[np.isinf(least)] = 1.0
    for lure, factor in moment.lures.items():
        if lure in t.index:
            least[t.index[lure]] = factor
    return least


def _misfit(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> Array:
    """What nobody throws here: thin line over thick plants, trebles in stems, nothing on the line in much wind."""
    rules, t = knowledge.rules.misfit, knowledge.tables
    out = np.ones(len(knowledge.presentations))
    total = sum(spot.cover.values())
    thick = sum(share for key, share in spot.cover.items() if key in _THICK) / total
    stems = sum(share for key, share in spot.cover.items() if key in _STEMS) / total
    wood = sum(share for key, share in spot.cover.items() if key in (Cover.LAYDOWN, Cover.BRUSH)) / total
    out[t.traits["thin_line"]] *= rules.thin_line_in_plants**thick
    out[t.trebles] *= rules.trebles_in_stems**stems
    out[t.traits["weightless"]] *= rules.weightless_in_wind ** ramp(conditions.wind_mps, rules.weightless_wind_mps)
    grass = sum(share for key, share in spot.cover.items() if key in GRASS) / total
    if spot.cover_top_m is not None and grass >= _MAINLY:
        out[(t.least_run_m > 0.0) & (t.least_run_m > spot.cover_top_m + rules.dug_in_m)] = 0.0
    if spot.depth_m[1] < rules.metal_in_wood_m:
        out[t.group.get("vertical", np.zeros(len(out), bool))] *= rules.metal_in_wood**wood
    for kind in (Cover.LAYDOWN, Cover.BRUSH):  # what hangs up at every other cast is left in the box
        hooked = t.snag[:, COVERS.index(kind)] > _HANGS_UP
        out[hooked] *= rules.open_in_wood ** (spot.cover.get(kind, 0.0) / total)
    floats, hang = spot.cover.get(Cover.DOCK, 0.0) / total, knowledge.rules.cover
    if spot.depth_m[1] > hang.floats_from_m:
        far = ramp(spot.depth_m[1], (hang.floats_from_m, hang.under_floats_m[1]))
        out[t.traits["bottom"] & ~t.traits["weightless"]] *= rules.bottom_under_floats ** (floats * far)
    return out


def _cover(spot: Spot, knowledge: AdviceKnowledge) -> Array:
    """Fit to the cover less snags, by shares; 0 where the fit is too poor to bother."""
    rules, t = knowledge.rules.cover, knowledge.tables
    shares = np.array([spot.cover.get(key, 0.0) for key in COVERS])
    shares = shares / shares.sum()
    fit = t.fit @ shares
    effective = (t.fit * (1.0 - rules.snag_cost * t.snag)) @ shares
    return np.where((fit < rules.least_fit) | (effective < 0.6 * rules.least_fit), 0.0, effective)


def _mood(table: Array, mood: float) -> Array:
    """Fit to a mood between negative (-1), neutral (0) and active (1)."""
    if mood <= 0.0:
        slow: Array = table[:, 0] * -mood + table[:, 1] * (1.0 + mood)
        return slow
    keen: Array = table[:, 1] * (1.0 - mood) + table[:, 2] * mood
    return keen


def _light(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> Array:
    """Fit to the light; in shade under a bright sky a lure gains by half of what cloud would give it."""
    light = knowledge.tables.light
    own: Array = light[:, SKIES.index(conditions.sky)]
    shade = shade_share(spot, knowledge)
    if shade <= 0.0 or conditions.sky not in (Sky.BRIGHT, Sky.BROKEN):
        return own
    gain = np.maximum(light[:, SKIES.index(Sky.OVERCAST)] - own, 0.0)
    lifted: Array = own + 0.5 * min(shade, 1.0) * gain
    return lifted


def _windward(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> Array:
    """Chop on the exposed side of hard cover raises skirted moving lures and crankbaits."""
    hard = sum(share for key, share in spot.cover.items() if knowledge.covers[key].hard) / sum(spot.cover.values())
    group = knowledge.tables.group
    strength = hard * min(max(wave_position(conditions) - 1.0, 0.0), 1.0) if spot.exposed else 0.0
    if strength == 0.0 or not {"skirted_moving", "crankbait"} <= group.keys():
        return np.ones(len(knowledge.presentations))
    gain = 1.0 + (knowledge.rules.factors.windward_hard_cover - 1.0) * strength
    return np.where(group["skirted_moving"] | group["crankbait"], gain, 1.0)


def _reach(conditions: Conditions, knowledge: AdviceKnowledge, mood: float) -> Array:
    """How far below itself each lure calls fish up, m."""
    rules, t = knowledge.rules.depth, knowledge.tables
    table = np.array([[rules.reach_negative, rules.reach_neutral, rules.reach_active]])
    by_sight = t.draw_up * secchi_m(conditions, knowledge) * _mood(table, mood)[0]
    reach: Array = np.minimum(np.maximum(by_sight, t.felt_m), np.where(t.surface, rules.cap_surface_m, rules.cap_m))
    return reach


def _depth(
    conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge, mood: float, band: tuple[float, float]
) -> Array:
    """Fit to the depth of the fish, averaged over their band; fish under a roof hang from it.

    Surface lures with trebles only reach the open edge of a roof, where the fish stand at their own depth.
    """
    rules, t = knowledge.rules, knowledge.tables
    reach = _reach(conditions, knowledge, mood)
    edges = t.depth.copy()
    edges[:, 2] += reach
    edges[:, 3] += reach * rules.depth.taper
    fit: Array = window_value(edges[:, None, :], band[0] + (band[1] - band[0]) * _POINTS).mean(axis=1)
    roof = roof_share(spot, knowledge)
    if roof <= 0.0:
        return fit
    hanging = window_value(edges, rules.cover.roof_fish_m)
    top = spot.roof_m + rules.cover.under_roof_m
    below = window_value(t.depth[:, None, :], top + (max(spot.depth_m[1], top) - top) * _POINTS).mean(axis=1)
    through = t.traits.get("falls_through_roof", np.zeros(len(fit), bool))
    under: Array = np.where(t.surface & ~t.trebles, hanging, np.where(through, below, fit))
    return (1.0 - roof) * fit + roof * under


def _barred(conditions: Conditions, knowledge: AdviceKnowledge, tackle: TackleBox) -> dict[int, str]:
    """Presentations that are out wherever they would be thrown: box, law, skill, waves."""
    reasons: dict[int, str] = {}
    if tackle.presentations:
        reasons |= {n: "not in your box" for one, n in knowledge.tables.index.items() if not tackle.owns(one)}
    for number, item in knowledge.tables.bound:
        if number in reasons:
            continue
        if any(_forbidden(flag, knowledge, tackle) for flag in item.legal):
            reasons[number] = "not allowed by the rules you confirmed for this water"
        elif any(knowledge.legal[flag].excludes_when_unknown and flag not in tackle.legal for flag in item.legal):
            reasons[number] = "check the rules of this water first"
        elif item.skill and tackle.skills.get(item.skill, 1) == 0:
            reasons[number] = f"needs practice: {knowledge.paces.name(item.skill)}"
    if conditions.craft in _SMALL_CRAFT and wave_position(conditions) >= knowledge.rules.factors.heavy_in_waves:
        for heavy in np.flatnonzero(knowledge.tables.heavy):
            reasons.setdefault(int(heavy), "trebles and heavy rigs stay in the box while waves rock a small craft")
    return reasons


def _forbidden(flag: str, knowledge: AdviceKnowledge, tackle: TackleBox) -> bool:
    """True for what the user's rules forbid and nothing else can stand in for."""
    return tackle.legal.get(flag) is False and not (flag in knowledge.legal and knowledge.legal[flag].instead)


_POOR = {
    "temp": "the water is outside the lure's range of temperature",
    "depth": "the fish are out of reach",
    "cover": "fouls or does nothing in this cover",
    "clarity": "the visibility is outside the lure's range",
    "phase": "not in this phase",
    "wind": "not on this surface",
    "misfit": "would run deep into the grass",
}


def _excluded(
    conditions: Conditions, knowledge: AdviceKnowledge, tackle: TackleBox, factors: Mapping[str, Array]
) -> dict[int, str]:
    reasons = _barred(conditions, knowledge, tackle)
    for name, why in _POOR.items():
        zero: NDArray[np.intp] = np.flatnonzero(factors[name] <= 0.0)
        for number in zero:
            reasons.setdefault(int(number), why)
    return reasons
