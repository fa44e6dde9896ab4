"""What to do next after a line of the log: places like the one that produced, or what to change where nothing bit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from briefing.vocabulary import Cover, WaterColour


class Rung(StrEnum):
    """Steps of a place's ladder, in order."""

    ANGLE = "angle"
    PACE = "pace"
    LURE = "lure"
    PLACE = "place"


class Shared(StrEnum):
    """What two places have in common."""

    COVER = "cover"
    KIND = "kind"
    DEPTH = "depth"
    WIND = "wind"
    COLOUR = "colour"


#: Kinds of cover for the angle of the casts and for places of one kind.
KINDS: Mapping[Cover, str] = {
    Cover.GRASS_SPARSE: "plants",
    Cover.GRASS_DENSE: "plants",
    Cover.REEDS: "plants",
    Cover.GRASS_TOPPED: "roof",
    Cover.PADS: "roof",
    Cover.LAYDOWN: "wood",
    Cover.BRUSH: "wood",
    Cover.DOCK: "posts",
    Cover.ROCK: "rock",
    Cover.BARE: "bare",
}
_ALIKE = {"roof": "plants", "posts": "wood", "bare": "rock"}


@dataclass(frozen=True, slots=True)
class Place:
    """A place as it is compared: main cover, depths (m), side to the wind and colour; None where not known.

    ``blown`` is True on a wind-blown bank, False in its lee. ``away_m`` is how far it lies from where one is.
    """

    name: str
    cover: Cover | None = None
    depth_m: tuple[float, float] | None = None
    blown: bool | None = None
    colour: WaterColour | None = None
    away_m: float = math.inf


@dataclass(frozen=True, slots=True)
class Match:
    """A place like another one and what they share."""

    place: Place
    shared: tuple[Shared, ...]
    score: float


@dataclass(frozen=True)
class NextParameters:
    """Everything of ``config/next.toml``."""

    alike: Mapping[Shared, float]
    needed: float
    most: int
    depth_share: float
    felt_wind_mps: float
    colour_days: float
    angle: Mapping[str, str]
    pace: Mapping[str, str]
    fish: Mapping[str, str]

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> NextParameters:
        """Build from the parsed file; raises KeyError naming what is missing."""
        alike, near = data["alike"], data["near"]
        return cls(
            alike={shared: float(alike[shared.value]) for shared in Shared},
            needed=float(alike["needed"]),
            most=int(alike["most"]),
            depth_share=float(near["depth_share"]),
            felt_wind_mps=float(near["felt_wind_mps"]),
            colour_days=float(near["colour_days"]),
            angle={kind: str(data["angle"][kind]) for kind in dict.fromkeys(KINDS.values())},
            pace={pace: str(data["pace"][pace]) for pace in ("search", "medium", "slow")},
            fish={key: str(data["fish"][key]) for key in ("one", "more", "missed", "followed")},
        )


def alike(here: Place, others: Sequence[Place], p: NextParameters) -> tuple[Match, ...]:
    """Places like one, the most alike first and of those the nearest; a thing that is not known is never shared."""
    found = []
    for other in others:
        shared = _shared(here, other, p)
        score = sum(p.alike[one] for one in shared)
        if other.name != here.name and score >= p.needed:
            found.append(Match(other, shared, score))
    found.sort(key=lambda match: (-match.score, match.place.away_m, match.place.name))
    return tuple(found[: p.most])


def _shared(here: Place, other: Place, p: NextParameters) -> tuple[Shared, ...]:
    shared = []
    if here.cover is not None and other.cover is not None:
        if here.cover is other.cover:
            shared.append(Shared.COVER)
        elif _kind(here.cover) == _kind(other.cover):
            shared.append(Shared.KIND)
    if (
        here.depth_m is not None
        and other.depth_m is not None
        and _overlap(here.depth_m, other.depth_m) >= p.depth_share
    ):
        shared.append(Shared.DEPTH)
    if here.blown is not None and here.blown is other.blown:
        shared.append(Shared.WIND)
    if here.colour is not None and here.colour is other.colour:
        shared.append(Shared.COLOUR)
    return tuple(shared)


def _kind(cover: Cover) -> str:
    kind = KINDS[cover]
    return _ALIKE.get(kind, kind)


def _overlap(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Length of what two spans share against the shorter one; a single depth counts where it lies inside."""
    low, high = max(a[0], b[0]), min(a[1], b[1])
    shorter = min(a[1] - a[0], b[1] - b[0])
    if shorter <= 0.0:
        return 1.0 if low <= high else 0.0
    return max(high - low, 0.0) / shorter


def rung_of(blanks: int) -> Rung:
    """The step of the ladder after so many lines without a fish at one place in a row (one or more)."""
    return list(Rung)[min(max(blanks, 1), len(Rung)) - 1]


def another_kind(here: Place, others: Sequence[Place]) -> Place | None:
    """The nearest place with another kind of cover; None where there is none."""
    differ = [one for one in others if one.name != here.name and _differs(here, one)]
    return min(differ, key=lambda one: (one.away_m, one.name), default=None)


def _differs(here: Place, other: Place) -> bool:
    return other.cover is not None and (here.cover is None or KINDS[here.cover] != KINDS[other.cover])
