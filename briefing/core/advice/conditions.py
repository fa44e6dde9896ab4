"""What the ranking is given: the conditions of an hour, one spot, and the user's tackle.

Everything is SI and already decided: the phase as shares, the wind at the spot, the visibility as a Secchi depth.
Fields that may be missing are None; the ranking then falls back to what is usual for the kind of water and says that
it is "open". Nothing here reads a clock, a file or the network.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any

from briefing.vocabulary import (
    BaitEvent,
    Bottom,
    Cover,
    Craft,
    Flow,
    Forage,
    LakeKind,
    Mood,
    Phase,
    Sky,
    SpeciesForm,
    Tide,
    WaterColour,
)


class WaveClass(StrEnum):
    """State of the surface at the spot, by significant wave height: below 2, 8, 20 cm, and above."""

    FLAT = "flat"
    RIPPLE = "ripple"
    CHOP = "chop"
    WAVES = "waves"


class FrontStage(StrEnum):
    """Where the day stands against the passage of a cold front."""

    NONE = "none"
    APPROACHING = "approaching"
    PASSAGE = "passage"
    DAY1 = "day1"
    DAY2 = "day2"
    RECOVERING = "recovering"


#: Wind at the spot (m/s) that stands for each wave class, for the way from class to wind and back.
WAVE_CLASS_WIND_MPS: Mapping[WaveClass, float] = {
    WaveClass.FLAT: 0.5,
    WaveClass.RIPPLE: 2.5,
    WaveClass.CHOP: 5.5,
    WaveClass.WAVES: 9.0,
}

#: Significant height (m) in the middle of each wave class.
WAVE_CLASS_HEIGHT_M: Mapping[WaveClass, float] = {
    WaveClass.FLAT: 0.01,
    WaveClass.RIPPLE: 0.05,
    WaveClass.CHOP: 0.14,
    WaveClass.WAVES: 0.26,
}


@dataclass(frozen=True, slots=True)
class Conditions:
    """Conditions of one species and one block of time at one place.

    Attributes
    ----------
    phases
        Share of the fish in each phase; need not sum to one.
    species
        Share by species form; need not sum to one. Empty: largemouth.
    water_temp_c
        At the spot, 0.5 m down.
    trend_3d_c
        Change of the water temperature over three days.
    drop_24h_c
        Fall of the water temperature in the last 24 h, positive when it fell; None when unknown.
    secchi_m
        Secchi depth.
    wind_mps
        Sustained wind at the spot, after shelter.
    wave_height_m
        Significant height at the spot; when None the wave class follows from the wind.
    mood
        What the user saw; None: expected from phase, front, trend and wind.
    front_age_h
        Hours since the newest front passed; None when none did or it isn't known.
    front_strength
        0 to 1.3: weight of the front stage by season and water, or None for the season's own.
    forage
        What bass eat here now, most likely first; empty when unknown.
    pressured
        True when the water was fished hard in the last two days.
    oxygen_floor_m
        Depth below which there is too little oxygen; None when not known to matter.
    cast_m, reel_pickup_cm
        The angler's usual cast, seated, and line taken in a turn of the handle.
    level_change_24h_m
        Rise (positive) or fall of the level in a day.
    tide, bait
        The tide, and bait that spawns, hatches or is guarded; None where there is none.
    phase_spread
        0 (sure of the phase) to 1 (two phases equally likely and far apart); None: from the shares.
    """

    phases: Mapping[Phase, float]
    water_temp_c: float | None
    species: Mapping[SpeciesForm, float] = field(default_factory=dict)
    trend_3d_c: float | None = None
    drop_24h_c: float | None = None
    secchi_m: float | None = None
    water_colour: WaterColour | None = None
    sky: Sky = Sky.BROKEN
    wind_mps: float = 2.5
    wave_height_m: float | None = None
    mood: Mood | None = None
    front_stage: FrontStage | None = None
    front_age_h: float | None = None
    front_strength: float | None = None
    forage: tuple[Forage, ...] = ()
    lake_kind: LakeKind | None = None
    craft: Craft = Craft.KAYAK
    day: date | None = None
    pressured: bool = False
    oxygen_floor_m: float | None = None
    cast_m: float = 18.0
    reel_pickup_cm: float = 76.0
    level_change_24h_m: float | None = None
    phase_spread: float | None = None
    tide: Tide | None = None
    bait: BaitEvent | None = None

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> Conditions:
        """Read the conditions of a written case; see ``Case`` for the keys."""
        return Case.from_mapping(data).conditions


@dataclass(frozen=True, slots=True)
class Spot:
    """One place to fish.

    Attributes
    ----------
    depth_m
        Depth of water from shallow to deep edge; equal numbers mean "the fish are here".
    cover
        Share of each cover class; a single class is ``{Cover.ROCK: 1.0}``, none at all is open bottom.
    cover_top_m
        Top of the grass, brush or limbs below the surface; 0 for matted grass.
    slope_deg
        Slope of the bank.
    exposed
        True when wind blows onto it, False on a lee side, None when not known.
    shade
        0 to 1: how much of it is shaded at the time in question.
    nests
        True when fish nest there; such places are never advised.
    current
        True when water moves through it.
    roof_m
        Thickness of the roof of matted grass.
    flow
        How the water moves; None where nobody knows.
    """

    depth_m: tuple[float, float]
    cover: Mapping[Cover, float]
    id: str = ""
    name: str = ""
    cover_top_m: float | None = None
    bottom: Bottom | None = None
    slope_deg: float | None = None
    exposed: bool | None = None
    shade: float = 0.0
    nests: bool = False
    current: bool = False
    roof_m: float = 0.4
    flow: Flow | None = None

    def __post_init__(self) -> None:
        low, high = self.depth_m
        if not 0.0 <= low <= high or high <= 0.0:
            raise ValueError(f"depth_m must rise from 0 or more, found {self.depth_m}")
        if sum(self.cover.values()) <= 0.0:
            object.__setattr__(self, "cover", {Cover.BARE: 1.0})

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> Spot:
        """Read the spot of a written case; see ``Case`` for the keys."""
        return Case.from_mapping(data).spot


@dataclass(frozen=True, slots=True)
class OwnedRod:
    """A rod with its reel and the line on it, as the user keeps it.

    power and action use the words of the presentation files (``medium_heavy``, ``moderate_fast``); reel is
    ``baitcast`` or ``spinning``; line is ``fluoro``, ``mono`` or ``braid`` with its labelled strength and diameter.
    """

    id: str
    length_ft: float
    power: str
    action: str
    reel: str
    ratio: float | None = None
    pickup_cm: float | None = None
    line: str | None = None
    line_lb: float | None = None
    line_mm: float | None = None
    leader: str | None = None
    leader_lb: float | None = None
    leader_mm: float | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class TackleBox:
    """What the user owns. Empty parts mean "everything".

    Attributes
    ----------
    presentations
        Ids of owned presentations.
    weights_oz
        Owned weights by presentation id, as printed on the packet (``"3/8"``).
    colours
        Owned colour family ids by colour role.
    rods
        Owned rods.
    skills
        Skill 0-2 by retrieve id (``skip``, ``walk``); a missing skill counts as 1.
    """

    presentations: frozenset[str] = frozenset()
    weights_oz: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    colours: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    rods: tuple[OwnedRod, ...] = ()
    skills: Mapping[str, int] = field(default_factory=dict)
    legal: Mapping[str, bool] = field(default_factory=dict)
    lead_free: bool = True

    def owns(self, presentation: str) -> bool:
        """True when the presentation is in the box, or the box was left empty."""
        return not self.presentations or presentation in self.presentations


_SPECIES_WORDS: Mapping[str, SpeciesForm] = {
    "largemouth": SpeciesForm.LARGEMOUTH_NORTHERN,
    "smallmouth": SpeciesForm.SMALLMOUTH_LAKE,
    **{form.value: form for form in SpeciesForm},
}


@dataclass(frozen=True, slots=True)
class Case:
    """A situation written in a data file or a test, with the spot and the conditions.

    Keys (all but ``phase``, ``cover``, ``depth_m`` and ``water_temp_c`` may be left out): ``species``, ``phase`` (an id
    or a table of shares), ``water_temp_c``, ``trend_3d_c``, ``secchi_m``, ``water_colour``, ``sky``, ``wave`` (a wave
    class) or ``wind_mps``, ``mood``, ``front``, ``forage`` (a list), ``lake_kind``, ``cover`` (an id or a table of
    shares), ``depth_m`` (a number or two), ``cover_top_m``, ``bottom``, ``exposed``, ``shade``, ``current``,
    ``pressured``.
    """

    conditions: Conditions
    spot: Spot

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> Case:
        """Build spot and conditions; raises ValueError for an unknown word or key."""
        unknown = set(data) - _CASE_KEYS
        if unknown:
            raise ValueError(f"unknown keys in a case: {', '.join(sorted(unknown))}")
        return cls(_case_conditions(data), _case_spot(data))


_CASE_KEYS = frozenset(
    {
        *("species", "phase", "water_temp_c", "trend_3d_c", "secchi_m", "water_colour", "sky", "wave", "wind_mps"),
        *("mood", "front", "forage", "lake_kind", "pressured"),
        *("cover", "depth_m", "cover_top_m", "bottom", "exposed", "shade", "current"),
    }
)


def _shares(value: Any) -> dict[str, float]:
    return {value: 1.0} if isinstance(value, str) else {key: float(share) for key, share in value.items()}


def _optional(data: Mapping[str, Any], key: str) -> float | None:
    return None if data.get(key) is None else float(data[key])


def _case_conditions(data: Mapping[str, Any]) -> Conditions:
    wave = data.get("wave")
    wind = data.get("wind_mps", WAVE_CLASS_WIND_MPS[WaveClass(wave)] if wave else 2.5)
    species = _shares(data.get("species", "largemouth"))
    return Conditions(
        phases={Phase(key): share for key, share in _shares(data["phase"]).items()},
        water_temp_c=float(data["water_temp_c"]),
        species={_SPECIES_WORDS[key]: share for key, share in species.items()},
        trend_3d_c=_optional(data, "trend_3d_c"),
        secchi_m=_optional(data, "secchi_m"),
        water_colour=WaterColour(data["water_colour"]) if data.get("water_colour") else None,
        sky=Sky(data.get("sky", "broken")),
        wind_mps=float(wind),
        wave_height_m=WAVE_CLASS_HEIGHT_M[WaveClass(wave)] if wave else None,
        mood=Mood(data["mood"]) if data.get("mood") else None,
        front_stage=FrontStage(data["front"]) if data.get("front") else None,
        forage=tuple(Forage(item) for item in data.get("forage", ())),
        lake_kind=LakeKind(data["lake_kind"]) if data.get("lake_kind") else None,
        pressured=bool(data.get("pressured", False)),
    )


def _case_spot(data: Mapping[str, Any]) -> Spot:
    depth = data["depth_m"]
    low, high = (depth, depth) if isinstance(depth, int | float) else depth
    return Spot(
        depth_m=(float(low), float(high)),
        cover={Cover(key): share for key, share in _shares(data["cover"]).items()},
        cover_top_m=_optional(data, "cover_top_m"),
        bottom=Bottom(data["bottom"]) if data.get("bottom") else None,
        exposed=data.get("exposed"),
        shade=float(data.get("shade", 0.0)),
        current=bool(data.get("current", False)),
    )


def wave_position(conditions: Conditions) -> float:
    """Place of the surface between the four wave classes: 0 flat, 1 ripple, 2 chop, 3 waves, linear in between.

    From the significant height when known, else from the wind at the spot.
    """
    known = conditions.wave_height_m
    anchors = tuple((WAVE_CLASS_WIND_MPS if known is None else WAVE_CLASS_HEIGHT_M).values())
    value = conditions.wind_mps if known is None else known
    if value <= anchors[0]:
        return 0.0
    for index in range(3):
        if value <= anchors[index + 1]:
            return index + (value - anchors[index]) / (anchors[index + 1] - anchors[index])
    return 3.0


def wave_class(conditions: Conditions) -> WaveClass:
    """The wave class nearest to the surface at the spot."""
    return tuple(WaveClass)[round(wave_position(conditions))]
