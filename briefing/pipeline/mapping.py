"""From the lake profile to what the core computes with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from briefing.core.advice.conditions import OwnedRod, Spot, TackleBox
from briefing.core.phase.model import PhaseSite
from briefing.core.water.site import WaterSite
from briefing.core.wind.limits import OwnLimits
from briefing.pipeline.inputs import Knowledge, MorningInputs
from briefing.profile.model import Clothing, Flag, LakeProfile
from briefing.profile.model import Spot as ProfileSpot
from briefing.sections.words import listed
from briefing.vocabulary import Zone


def water_site(profile: LakeProfile) -> WaterSite:
    """The lake as the heat budget sees it; a guessed depth or area counts as not known."""
    guessed = profile.is_guessed
    return WaterSite(
        latitude_deg=profile.latitude,
        longitude_deg=profile.longitude,
        elevation_m=profile.elevation_m,
        mean_depth_m=None if guessed("mean_depth_m") else profile.mean_depth_m,
        area_km2=None if guessed("area_km2") else profile.area_km2,
        river_fed=profile.river_fed,
        max_depth_m=None if guessed("max_depth_m") else profile.max_depth_m,
        river_gauges=profile.stations.allow_river_gauge,
    )


def phase_site(profile: LakeProfile) -> PhaseSite:
    """The lake as the phase estimator sees it."""
    return PhaseSite(
        latitude_deg=profile.latitude,
        longitude_deg=profile.longitude,
        lake_kind=profile.kind,
        elevation_m=profile.elevation_m,
    )


def own_limits(profile: LakeProfile) -> OwnLimits | None:
    """The user's own limits; they replace the default row only once the user confirmed having seen it."""
    if not profile.own_limits:
        return None
    own = profile.limits
    return OwnLimits(
        sustained_caution_mps=own.sustained.caution_mps if own.sustained else None,
        sustained_stop_mps=own.sustained.stop_mps if own.sustained else None,
        gust_caution_mps=own.gust.caution_mps if own.gust else None,
        gust_stop_mps=own.gust.stop_mps if own.gust else None,
        waves_caution_m=own.waves.caution_m if own.waves else None,
        waves_stop_m=own.waves.stop_m if own.waves else None,
        shown_both_rows=own.confirmed,
    )


def dressed_for_immersion(profile: LakeProfile) -> bool:
    """True with a wetsuit or drysuit."""
    return profile.clothing is not Clothing.NONE


def fishing_spot(spot: ProfileSpot, exposed: bool | None) -> Spot:
    """A spot of the profile as the advice sees it; ``exposed`` says whether the block's wind blows onto it."""
    return Spot(
        depth_m=spot.depth_m,
        cover=dict(spot.cover),
        id=spot.id,
        name=spot.name,
        cover_top_m=spot.cover_top_m,
        bottom=spot.bottom,
        slope_deg=spot.slope_deg,
        exposed=exposed,
        shade=0.5 if Flag.SHADE in spot.flags else 0.0,
        nests=Flag.NEST_AREA in spot.flags,
        current=Flag.CURRENT in spot.flags or Flag.TAILWATER in spot.flags,
    )


def with_known_tackle(inputs: MorningInputs, knowledge: Knowledge) -> MorningInputs:
    """The inputs without lures of the tackle box that are none, and a remark that says so.

    An unknown id matches nothing: a box of such ids alone would leave every place without a lure.
    """
    tackle = inputs.profile.tackle
    known = {one.id for one in knowledge.advice.presentations}
    lost = [id_ for id_ in tackle.presentations if id_ not in known]
    if not lost:
        return inputs
    kept = tuple(id_ for id_ in tackle.presentations if id_ in known)
    rest = "the others are counted on." if kept else "as if you owned every lure."
    text = (
        f"Your tackle box names {listed(lost)}, which {'is no lure' if len(lost) == 1 else 'are no lures'} here: {rest}"
    )
    profile = inputs.profile.model_copy(update={"tackle": tackle.model_copy(update={"presentations": kept})})
    return replace(inputs, profile=profile, remarks=(*inputs.remarks, text))


def tackle_box(profile: LakeProfile, day: date) -> TackleBox:
    """What the user owns and what the local rules they noted allow; unknown stays unknown."""
    legal: dict[str, bool] = {}
    for rule in profile.rules:
        if rule.holds_on(day) and rule.kind.value == "lead" and rule.allowed is not None:
            legal["lead_tackle"] = rule.allowed
        if rule.holds_on(day) and rule.kind.value == "hooks" and rule.hooks is not None:
            legal["multi_hook"] = rule.hooks > 1
    rods = tuple(
        OwnedRod(
            id=rod.id,
            name=rod.name,
            length_ft=rod.length_ft,
            power=rod.power,
            action=rod.action,
            reel=rod.reel,
            ratio=rod.ratio,
            pickup_cm=rod.pickup_cm,
            line=rod.line,
            line_lb=rod.line_lb,
            line_mm=rod.line_mm,
            leader=rod.leader,
            leader_lb=rod.leader_lb,
            leader_mm=rod.leader_mm,
        )
        for rod in profile.rods
    )
    tackle = profile.tackle
    return TackleBox(
        presentations=frozenset(tackle.presentations),
        weights_oz=dict(tackle.weights_oz),
        colours=dict(tackle.colours),
        rods=rods,
        skills=dict(tackle.skills),
        legal=legal,
        lead_free=tackle.lead_free,
    )


def closed_season(profile: LakeProfile, day: date) -> str:
    """The user's note on a closed season in force, or an empty string."""
    for rule in profile.rules:
        if rule.kind.value == "closed_season" and rule.holds_on(day):
            return rule.text or "a closed season is noted for this date"
    return ""


def closed_to_all(profile: LakeProfile, day: date) -> bool:
    """Tell whether a closed season for all bass is in force by the user's note."""
    rules = (rule for rule in profile.rules if rule.kind.value == "closed_season" and not rule.species)
    return any(rule.holds_on(day) for rule in rules)


def zones_of_spots(profile: LakeProfile) -> Mapping[str, Zone]:
    """Thermal zone by spot id."""
    return {spot.id: spot.zone for spot in profile.spots}


def below_dam(profile: LakeProfile) -> list[str]:
    """Names of the spots that lie in water below a dam."""
    return [spot.name for spot in profile.spots if Flag.TAILWATER in spot.flags]
