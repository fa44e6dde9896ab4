"""The worth of a place by its depth and slope: how well it reaches the water the fish of each phase live in."""

from __future__ import annotations

from briefing.core.advice.conditions import Conditions, Spot
from briefing.core.advice.knowledge import AdviceKnowledge
from briefing.core.advice.rules import PlaceRules
from briefing.core.advice.situation import GRASS, phase_shares, roof_share, shade_share
from briefing.vocabulary import Cover, Phase, Sky

_SHELTERING = (Phase.POSTSPAWN, Phase.SUMMER, Phase.AUTUMN)


def place_worth(conditions: Conditions, spot: Spot, knowledge: AdviceKnowledge) -> float:
    """Factor on the worth of a spot, near 0 to 1, by phase shares; 1 where the kind of water is not known.

    A spot fits a phase in full when its depths cover ``places.full_part`` of the band that the phase's fish use in this
    kind of water; ``places.strength`` says how much a misfit costs in that phase. In winter a gentle place of the right
    depth is worth less than one that falls away steeply. In the warm phases grass, roofs and shade hold fish wherever
    they stand, so that depth counts less there,
    and in low sun and at night fish come shallow to feed.
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
    return worth


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
