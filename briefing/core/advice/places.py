"""The worth of a place by its depth and slope: how well it reaches the water the fish of each phase live in.

``place_reasons`` says in sentences what speaks for a place, from the same facts.
"""

from __future__ import annotations

from dataclasses import replace

from briefing.core.advice.conditions import Conditions, FrontStage, Spot
from briefing.core.advice.depth_words import about_range
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.rules import PlaceRules
from briefing.core.advice.situation import (
    GRASS,
    feeding_up,
    front_quiet,
    front_weight,
    main_cover,
    phase_shares,
    roof_share,
    shade_share,
)
from briefing.units import Units
from briefing.vocabulary import Bottom, Cover, Phase, Sky

MOST_PLACE_REASONS = 3
_FITS, _STEEP, _HELD, _FELT_FRONT = 0.4, 0.75, 0.35, 0.25
_WINDY_MPS = 2.5
_SHALLOW_M, _FALL_M = 1.5, 1.0
_HARD = frozenset({Bottom.GRAVEL, Bottom.ROCK, Bottom.SHELL})
_TIGHT = frozenset({Cover.LAYDOWN, Cover.BRUSH, Cover.DOCK, Cover.GRASS_DENSE, Cover.GRASS_TOPPED})
#: What a kind of cover does for fish, where nothing better is known of a place.
_COVER_DOES = {
    Cover.GRASS_SPARSE: "Thin grass hides small fish, and bass hunt along its clumps and gaps.",
    Cover.GRASS_DENSE: "Thick grass holds food and shade, and bass wait at its edge and in its holes.",
    Cover.GRASS_TOPPED: "Matted grass makes a roof, and bass wait in the shade below it.",
    Cover.PADS: "Pads make a roof, and bass wait in the shade below the leaves.",
    Cover.REEDS: "Reeds break the light and hide bass that wait for food along the edge.",
    Cover.LAYDOWN: "Fallen trees give bass shade and a place to wait from which food is close.",
    Cover.BRUSH: "Brush gives bass something to hold to away from the bank.",
    Cover.DOCK: "Docks give bass a roof and posts to hold to.",
    Cover.ROCK: "Rock holds crawfish and small fish in its gaps.",
    Cover.BARE: "Bass cross open bottom to feed, and there is little else to search.",
}
_BAND = {
    Phase.WINTER: "winter fish stand deep and stay there",
    Phase.EARLY_PRESPAWN: "fish that leave their winter places stop at this depth first",
    Phase.LATE_PRESPAWN: "fish wait at this depth before they go up to spawn",
    Phase.SPAWN: "fish are this shallow now",
    Phase.POSTSPAWN: "fish that are done spawning rest at this depth",
    Phase.SUMMER: "fish keep to this depth through the summer",
    Phase.AUTUMN: "fish follow bait at this depth in autumn",
}

#: From here on fish that come up to feed are told of.
_FEEDING_UP = 0.4
_SHELTERING = (Phase.POSTSPAWN, Phase.SUMMER, Phase.AUTUMN)


def place_worth(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> float:
    """Factor on the worth of a spot, near 0 to 1, by phase shares; 1 where the kind of water is not known.

    A spot fits a phase in full when its depths cover ``places.full_part`` of the band that the phase's fish use in this
    kind of water; ``places.strength`` says how much a misfit costs in that phase. In winter a gentle place of the right
    depth is worth less than one that falls away steeply. In the warm phases grass, roofs and shade hold fish wherever
    they stand, so that depth counts less there,
    and in low sun and at night fish come shallow to feed: a place without shallows then loses ``places.not_up``.
    """
    kind = conditions.lake_kind
    if kind is None:
        return 1.0
    rules = knowledge.rules.places
    sheltering = max(_grass_share(spot), roof_share(spot, knowledge), shade_share(spot, knowledge))
    dim = conditions.sky in (Sky.LOW_SUN, Sky.NIGHT)
    worth = 0.0
    for phase, share in phase_shares(conditions).items():
        fit = _covered(spot.depth_m, knowledge.phases[phase].habits[kind].depth_m, rules.full_part)
        if phase in _SHELTERING:
            fit = max(fit, sheltering)
        if phase is Phase.WINTER:
            fit *= 1.0 - rules.gentle_winter_cost * (1.0 - _steepness(spot, rules))
        strength = rules.strength[phase] * (rules.dim_part if phase in _SHELTERING and dim else 1.0)
        worth += share * (1.0 - strength * (1.0 - fit))
    shallow = feeding_up(conditions, replace(spot, depth_m=(0.0, spot.depth_m[1])), knowledge)
    return worth * (1.0 - rules.not_up * (shallow - feeding_up(conditions, spot, knowledge)))


def _covered(depth_m: tuple[float, float], band_m: tuple[float, float], full_part: float) -> float:
    """How much of a band of depth a spot covers, 1 from ``full_part`` of it on."""
    overlap = min(depth_m[1], band_m[1]) - max(depth_m[0], band_m[0])
    return min(max(overlap, 0.0) / max(full_part * (band_m[1] - band_m[0]), 0.3), 1.0)


def _steepness(spot: Spot, rules: PlaceRules) -> float:
    """0 for level to 1 for steep: by the slope, else by the fall from edge to edge."""
    if spot.slope_deg is not None:
        return min(spot.slope_deg / rules.steep_deg, 1.0)
    return min((spot.depth_m[1] - spot.depth_m[0]) / rules.steep_m, 1.0)


def _grass_share(spot: Spot) -> float:
    total = sum(spot.cover.values()) or 1.0
    return sum(share for key, share in spot.cover.items() if key in GRASS or key is Cover.REEDS) / total


def place_reasons(
    conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge, units: Units, *, sunny: bool = False
) -> tuple[str, ...]:
    """Why fish are at a place in this hour, strongest first: at most three short sentences, one in any case.

    ``sunny`` is True for rock that the sun warms at that hour in cold water. Each sentence stands only where what it
    says holds for the place; the weights are judgement and follow the factors of ``place_worth``.
    """
    if not conditions.phases:
        return (_COVER_DOES[main_cover(spot)],)
    found = [
        *_by_depth(conditions, spot, knowledge, units),
        *_by_front(conditions, spot, knowledge),
        *_by_wind(conditions, spot),
        *_by_shade(conditions, spot, knowledge),
        *_by_ground(spot, knowledge),
    ]
    if sunny:
        found.append((0.6, "Rock in the sun warms first, and cold fish draw to it."))
    if spot.current:
        found.append((0.5, "Moving water carries food past, and fish wait out of the flow."))
    texts = list(dict.fromkeys(text for _, text in sorted(found, key=lambda pair: -pair[0])))[:MOST_PLACE_REASONS]
    general = _COVER_DOES[main_cover(spot)]
    return tuple(texts if len(texts) > 1 or general in texts else [*texts, general])


def _by_depth(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge, units: Units) -> list[tuple[float, str]]:
    kind = conditions.lake_kind
    if kind is None:
        return []
    rules, shares = knowledge.rules.places, phase_shares(conditions)
    phase = max(shares, key=lambda key: shares[key])
    band = knowledge.phases[phase].habits[kind].depth_m
    low, high = max(spot.depth_m[0], band[0]), min(spot.depth_m[1], band[1])
    out: list[tuple[float, str]] = []
    if feeding_up(conditions, spot, knowledge) >= _FEEDING_UP:  # then they are not at the depth of the season
        return [(0.4, "In low light fish come up to feed in shallows such as these.")]
    if low < high and _covered(spot.depth_m, band, rules.full_part) >= _FITS and shares[phase] >= _HELD:
        strength = rules.strength[phase] * shares[phase]
        where = about_range(low, high, units)
        if phase is Phase.WINTER and _steepness(spot, rules) >= _STEEP:
            whole = about_range(*spot.depth_m, units)
            out.append(
                (
                    strength + 0.2,
                    f"It goes from {whole}: winter fish stand at {where} and rise or sink without going far.",
                )
            )
        elif _prespawn(phase) and spot.depth_m[1] - spot.depth_m[0] >= _FALL_M and spot.depth_m[0] <= _SHALLOW_M:
            out.append(
                (strength + 0.2, f"Water of {where} lies beside shallows: fish stop here on their way to spawn.")
            )
        else:
            out.append((strength, f"It has water of {where}: {_BAND[phase]}."))
    return out


def _prespawn(phase: Phase) -> bool:
    return phase in (Phase.EARLY_PRESPAWN, Phase.LATE_PRESPAWN)


def _by_front(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> list[tuple[float, str]]:
    if conditions.front_stage not in (FrontStage.DAY1, FrontStage.DAY2):
        return []
    felt = max(front_weight(conditions, spot, knowledge), front_quiet(conditions, spot, knowledge))
    tight = [cover for cover in spot.cover if cover in _TIGHT]
    out = []
    if felt >= _FELT_FRONT and tight:
        cover = knowledge.covers[max(tight, key=lambda key: spot.cover[key])].plural
        out.append((0.3 + 0.4 * felt, f"Behind a front fish pull tight to cover, and {cover} give it here."))
    if felt >= _FELT_FRONT and spot.exposed is False:
        out.append((0.3 * felt, "It lies in the lee, where the wind behind the front stirs the water least."))
    return out


def _by_wind(conditions: Conditions, spot: Spot) -> list[tuple[float, str]]:
    winter = phase_shares(conditions).get(Phase.WINTER, 0.0) > 0.5
    if spot.exposed and conditions.wind_mps >= _WINDY_MPS and not winter:
        return [(0.45, "The wind pushes bait onto it and breaks the light there.")]
    return []


def _by_shade(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> list[tuple[float, str]]:
    sunlit = conditions.sky in (Sky.BRIGHT, Sky.BROKEN)
    cold = conditions.water_temp_c is not None and conditions.water_temp_c < 10.0
    cover = main_cover(spot)
    if sunlit and not cold and shade_share(spot, knowledge) >= 0.5:
        name = knowledge.covers[cover].plural if knowledge.covers[cover].shades else "trees on the bank"
        return [(0.5, f"With the sun on the water fish draw into shade, and {name} give it here.")]
    shares = phase_shares(conditions)
    warm = sum(shares.get(phase, 0.0) for phase in _SHELTERING)
    if warm > 0.5 and _grass_share(spot) >= 0.5:
        return [(0.35 * warm, _COVER_DOES[cover])]
    return []


def _by_ground(spot: Spot, knowledge: AdviceKnowledge) -> list[tuple[float, str]]:
    kinds = sorted(spot.cover, key=lambda key: -spot.cover[key])
    grass = any(kind in GRASS or kind in (Cover.REEDS, Cover.PADS) for kind in kinds)
    if spot.bottom in _HARD and grass:
        return [(0.3, f"Plants end on {spot.bottom.value} here: fish gather where soft and hard ground meet.")]
    first, second = kinds[0], kinds[1] if len(kinds) > 1 else kinds[0]
    total = sum(spot.cover.values())
    if first is second or Cover.BARE in (first, second) or spot.cover[second] < 0.25 * total:
        return []
    names = [knowledge.covers[kind].plural for kind in (first, second)]
    return [
        (0.2, f"{names[0][:1].upper()}{names[0][1:]} and {names[1]} meet here, and fish hold where two kinds meet.")
    ]
