"""The spots of a lake as they are compared with one that produced: cover, depth, side to the wind, colour, distance."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from briefing.core.log.next_move import Place
from briefing.core.wind.shape import LakeShape
from briefing.pipeline.advice import bank_side
from briefing.pipeline.hazard import Place as Placed
from briefing.pipeline.hazard import places_of
from briefing.profile.model import Flag, LakeProfile
from briefing.profile.model import Spot as ProfileSpot
from briefing.vocabulary import WaterColour


def compared_places(
    profile: LakeProfile,
    shape: LakeShape,
    here: str,
    wind_from_deg: float | None,
    colours: Mapping[str, WaterColour],
) -> dict[str, Place]:
    """All spots but nest areas, and the one named ``here`` in any case, by name.

    ``wind_from_deg`` is None in light wind or where it isn't known; ``colours`` are by spot, under "" the lake's own.
    """
    placed = {place.name: place for place in places_of(profile, shape) if place.kind == "spot"}

    def blown(spot: ProfileSpot) -> bool | None:
        if wind_from_deg is None:
            return None
        if any(abs((wind_from_deg - side + 180.0) % 360.0 - 180.0) <= 30.0 for side in spot.shelter_deg):
            return False
        side = bank_side(shape, placed[spot.name], wind_from_deg, shape.assumed and spot.bank_deg is None)
        return None if side == 0 else side > 0

    return {
        spot.name: Place(
            name=spot.name,
            cover=None if "cover" in spot.guessed else max(spot.cover, key=lambda one: spot.cover[one]),
            depth_m=None if "depth_m" in spot.guessed else spot.depth_m,
            blown=blown(spot),
            colour=colours.get(spot.name, colours.get("")),
            away_m=_away_m(placed, here, spot.name),
        )
        for spot in profile.spots
        if spot.name == here or Flag.NEST_AREA not in spot.flags
    }


def _away_m(placed: Mapping[str, Placed], here: str, there: str) -> float:
    if here not in placed:
        return float("inf")
    return float(np.hypot(*(np.array(placed[there].xy_m) - np.array(placed[here].xy_m))))
