"""Boat control at a stop: how to hold, how far off, from which side, how far to cast, and drift against the lure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import Spot
from briefing.vocabulary import Bottom, Cover, Craft, Flow


class Hold(StrEnum):
    """How the craft is kept where it is."""

    OVER = "over"  # right over deep fish
    DRIFT = "drift"  # let it drift along, the drift is the retrieve
    SOCK = "sock"  # the same, slowed by a drift sock
    PADDLE = "paddle"  # a stroke or the pedals now and then
    STAKE = "stake"
    ANCHOR = "anchor"
    MOTOR = "motor"  # held by the bow motor


class Side(StrEnum):
    """Where to come from, or to begin."""

    DOWN_WIND = "down_wind"  # towards the target against the wind, so that one stops within reach
    UP_WIND = "up_wind"  # above the water that is drifted over
    BOW_TO_WIND = "bow_to_wind"  # along a bank or edge, casting ahead and across
    ALONG = "along"  # close to a steep face, casting along it
    ANY = "any"


#: Presentations whose retrieve may be the drift itself.
DRIFTED = frozenset({"tube", "drop_shot", "carolina_rig", "football_jig", "mushroom_head_finesse", "hair_jig"})
#: Presentations that are let down straight below the craft in deep water.
VERTICAL = frozenset({"drop_shot", "jigging_spoon", "blade_bait"})
#: Retrieves that begin with a short, flat cast to the target.
PITCHED = frozenset({"skip", "pitch_drop"})
#: Presentations that are drawn over thick cover without a hook in it, and so thrown far.
OVER_COVER = frozenset({"hollow_body_frog", "soft_buzzing_toad"})
_THICK = frozenset({Cover.PADS, Cover.GRASS_TOPPED, Cover.LAYDOWN, Cover.BRUSH})
_TARGETS = frozenset({Cover.DOCK, Cover.REEDS, *_THICK})
_OPEN = frozenset({Cover.GRASS_SPARSE, Cover.GRASS_DENSE, Cover.BARE})
_SMALL = frozenset({Craft.KAYAK, Craft.CANOE})
_HARD = frozenset({Bottom.ROCK, Bottom.SHELL})


@dataclass(frozen=True, slots=True)
class BoatParameters:
    """Everything of ``config/boat.toml``."""

    seen_m: tuple[float, ...]
    off_m: tuple[float, ...]
    unknown_m: float
    cast_open_m: tuple[float, float]
    cast_targets_m: tuple[float, float]
    cast_pitched_m: tuple[float, float]
    cast_thick_m: tuple[float, float]
    cast_over_cover_m: tuple[float, float]
    cast_slow_m: tuple[float, float]
    face_m: float
    face_off_m: float
    deep_off_m: float
    past_m: float
    other_m: float
    open_off: float
    drift_share: float
    sock: float
    edge_m: float
    fast_mps: float
    felt_mps: float
    against_lure: float
    hold_from_mps: float
    sheltered_mps: float
    lee_share: float
    stake_to_m: float
    anchor_off_m: float
    waves_m: float
    over_from_m: float

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> BoatParameters:
        """Build from the parsed file; raises KeyError naming what is missing."""
        distance, cast, drift, hold = data["distance"], data["cast"], data["drift"], data["hold"]
        return cls(
            seen_m=tuple(float(value) for value in distance["seen_m"]),
            off_m=tuple(float(value) for value in distance["off_m"]),
            unknown_m=float(distance["unknown_m"]),
            cast_open_m=_pair(cast["open"]),
            cast_targets_m=_pair(cast["targets"]),
            cast_pitched_m=_pair(cast["pitched"]),
            cast_thick_m=_pair(cast["thick"]),
            cast_over_cover_m=_pair(cast["over_cover"]),
            cast_slow_m=_pair(cast["slow"]),
            face_m=float(distance["face_m"]),
            face_off_m=float(distance["face_off_m"]),
            deep_off_m=float(distance["deep_off_m"]),
            past_m=float(cast["past_m"]),
            other_m=float(cast["other_m"]),
            open_off=float(cast["open_off"]),
            drift_share=float(drift["share"]),
            sock=float(drift["sock"]),
            edge_m=float(drift["edge_m"]),
            fast_mps=float(drift["fast_mps"]),
            felt_mps=float(drift["felt_mps"]),
            against_lure=float(drift["against_lure"]),
            hold_from_mps=float(hold["from_mps"]),
            sheltered_mps=float(hold["sheltered_mps"]),
            lee_share=float(hold["lee_share"]),
            stake_to_m=float(hold["stake_to_m"]),
            anchor_off_m=float(hold["anchor_off_m"]),
            waves_m=float(hold["waves_m"]),
            over_from_m=float(hold["over_from_m"]),
        )


def _pair(values: Any) -> tuple[float, float]:
    low, high = values
    return float(low), float(high)


@dataclass(frozen=True, slots=True)
class BoatPlace:
    """What boat control rests on; wind and waves at the place, NaN where not known.

    ``search``: water to be covered rather than a target. ``lure`` is the first choice's id, ``lure_mps`` its
    speed, ``lure_depth_m`` how deep it works; ``retrieve`` is the id of its retrieve.
    """

    cover: Cover
    depth_m: tuple[float, float]
    craft: Craft
    wind_mps: float
    wave_m: float = math.nan
    seen_m: float | None = None
    search: bool = False
    sheltered: bool = False
    current: bool = False
    bottom: Bottom | None = None
    lure: str = ""
    lure_mps: float | None = None
    lure_depth_m: float = 0.0
    retrieve: str = ""


def boat_place(
    spot: Spot,
    choice: Choice | None,
    *,
    craft: Craft,
    wind_mps: float,
    seen_m: float | None,
    p: BoatParameters,
    wave_m: float = math.nan,
    current: bool = False,
) -> BoatPlace:
    """What boat control rests on at a spot with its first choice; wind and waves as they are there."""
    retrieve = None if choice is None else choice.retrieve
    speed = None if retrieve is None else retrieve.speed_mps
    return BoatPlace(
        cover=max(spot.cover, key=lambda one: spot.cover[one], default=Cover.BARE),
        depth_m=spot.depth_m,
        craft=craft,
        wind_mps=wind_mps,
        wave_m=wave_m,
        seen_m=seen_m,
        search=choice is not None and (choice.pace == "search" or spot.depth_m[0] > p.stake_to_m),
        sheltered=spot.exposed is False,
        current=current or spot.flow in (Flow.SLOW, Flow.STRONG),
        bottom=spot.bottom,
        lure="" if choice is None else choice.id,
        retrieve="" if retrieve is None else retrieve.id,
        lure_depth_m=0.0 if choice is None or choice.running_depth_m is None else choice.running_depth_m[1],
        lure_mps=None if speed is None else (speed[0] + speed[1]) / 2.0,
    )


@dataclass(frozen=True, slots=True)
class BoatPick:
    """How to hold the craft at a stop. ``drift_mps`` is what it drifts unheld (NaN: the wind is not known).

    sheltered_only: the wind is over what is fished in the open. bow_only: waves or current, so never by the stern or
    beam-on. told_drift: the drift counts against the speed of the lure, or for a lure that is dragged.
    """

    hold: Hold
    side: Side
    off_m: float
    cast_m: tuple[float, float]
    drift_mps: float
    edge_min: float
    sheltered_only: bool
    bow_only: bool
    told_drift: bool
    current: bool = False


def boat_control(at: BoatPlace, p: BoatParameters) -> BoatPick:
    """Choose hold, side, distance and length of cast for a stop; a sheltered bank feels a share of the wind."""
    sheltered_only = at.wind_mps >= p.sheltered_mps and not at.sheltered
    at = replace(at, wind_mps=at.wind_mps * p.lee_share) if at.sheltered else at
    drift = drift_mps(at.wind_mps, p)
    off = off_m(at, p)
    low, high = cast_m(at, p)
    felt = at.wind_mps >= p.felt_mps
    hold = hold_of(at, p)
    swings = hold is Hold.ANCHOR and _steep(at, p)  # gusts would lay it on the rock
    off = max(off, p.anchor_off_m) if swings else off
    cast = max(low, off), high  # the shortest reaches what one lies off
    moving = hold in (Hold.DRIFT, Hold.SOCK)
    side = (
        Side.ANY
        if not felt or hold is Hold.OVER
        else Side.UP_WIND
        if moving
        else Side.BOW_TO_WIND
        if at.search
        else Side.DOWN_WIND
    )
    side = Side.ALONG if _steep(at, p) and not swings and hold not in (Hold.OVER, Hold.DRIFT, Hold.SOCK) else side
    slowed = drift * p.sock if hold is Hold.SOCK else drift
    against = at.lure_mps is not None and at.lure_mps > 0.0 and slowed >= p.against_lure * at.lure_mps
    return BoatPick(
        hold=hold,
        side=side,
        off_m=off,
        cast_m=cast,
        drift_mps=drift,
        edge_min=p.edge_m / (60.0 * drift) if drift > 0.0 else math.nan,
        sheltered_only=sheltered_only,
        bow_only=hold in (Hold.OVER, Hold.STAKE, Hold.ANCHOR) and (at.current or at.wave_m >= p.waves_m),
        told_drift=felt and (moving or (hold is Hold.PADDLE and against)),
        current=at.current,
    )


class Move(StrEnum):
    """How another lure of a stop asks for another distance than the first."""

    IN = "in"
    OUT = "out"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class OtherDistance:
    """A further lure by its place among the choices, how to move for it, and how far off to lie then."""

    number: int
    move: Move
    off_m: float


def other_distances(places: Sequence[BoatPlace], p: BoatParameters) -> tuple[OtherDistance, ...]:
    """The lures of a stop behind the first that are fished from elsewhere; ``places`` are one a lure, in order."""
    out = []
    first, *rest = [boat_control(place, p) for place in places]
    for number, pick in enumerate(rest, 1):
        over = pick.hold is Hold.OVER
        if over != (first.hold is Hold.OVER):
            out.append(OtherDistance(number, Move.OVER if over else Move.OUT, pick.off_m))
        elif not over and abs(pick.off_m - first.off_m) >= p.other_m:
            out.append(OtherDistance(number, Move.IN if pick.off_m < first.off_m else Move.OUT, pick.off_m))
    return tuple(out)


def distance_m(seen_m: float | None, p: BoatParameters) -> float:
    """How far to stay off by how far down a white lure is seen; a usual distance where that isn't known."""
    if seen_m is None or not math.isfinite(seen_m):
        return p.unknown_m
    return p.off_m[int(np.searchsorted(p.seen_m, seen_m, side="right"))]


def off_m(at: BoatPlace, p: BoatParameters) -> float:
    """How far to lie off a place: by the visibility, but so near that a cast lands past it, and clear of open tops."""
    low, high = cast_m(at, p)
    if _steep(at, p):
        return p.face_off_m
    off = min(distance_m(at.seen_m, p), high - p.past_m)
    if at.lure_depth_m >= p.over_from_m:  # fish that deep don't mind the craft
        off = min(off, p.deep_off_m)
    return max(off, p.open_off * low) if at.cover in _OPEN else off


def _steep(at: BoatPlace, p: BoatParameters) -> bool:
    """True for rock that falls off so far within the place that casts go along it rather than at it."""
    return at.cover is Cover.ROCK and at.depth_m[1] - at.depth_m[0] >= p.face_m


def cast_m(at: BoatPlace, p: BoatParameters) -> tuple[float, float]:
    """Least and most length of a cast: short to pitch and in thick cover, else as long as the craft stays off.

    What is drawn over thick cover is thrown far, what is let down at a dock is not.
    """
    if at.retrieve in PITCHED:
        return p.cast_pitched_m
    if at.cover in _THICK:
        return p.cast_over_cover_m if at.lure in OVER_COVER else p.cast_thick_m
    if _steep(at, p):
        return p.cast_open_m
    if at.cover is Cover.DOCK and at.lure and not at.search:
        return p.cast_slow_m
    if at.cover is Cover.DOCK:  # the shade under it is reached from close by or not at all
        return p.cast_targets_m
    low, high = p.cast_open_m if at.cover in _OPEN else p.cast_targets_m
    off = distance_m(at.seen_m, p)
    return max(low, off), max(high, off)


def drift_mps(wind_mps: float, p: BoatParameters) -> float:
    """Speed of a small craft that lies broadside to the wind."""
    return p.drift_share * wind_mps


def hold_of(at: BoatPlace, p: BoatParameters) -> Hold:
    """Lie over deep fish, drift where that is the retrieve, else hold: by stake, deeper by anchor, or by motor."""
    over = at.lure in VERTICAL and at.cover is not Cover.DOCK and at.retrieve not in PITCHED
    if over and at.depth_m[1] >= p.over_from_m and at.lure_depth_m >= p.over_from_m:
        return Hold.OVER
    if at.lure in DRIFTED and at.search and at.wind_mps >= p.felt_mps and at.cover not in _TARGETS:
        return Hold.SOCK if drift_mps(at.wind_mps, p) > 0.5 * p.fast_mps else Hold.DRIFT
    if not (at.wind_mps >= p.hold_from_mps or at.current):
        return Hold.PADDLE
    if at.craft not in _SMALL:
        return Hold.MOTOR
    shallow = at.depth_m[0] <= p.stake_to_m and at.bottom not in _HARD
    return Hold.STAKE if shallow and at.cover is not Cover.ROCK else Hold.ANCHOR
