"""What the choice of rods is made from, and what it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.conditions import OwnedRod
from briefing.core.advice.presentation import Setup
from briefing.units import Units
from briefing.vocabulary import Cover

Floats = NDArray[np.float64]
PACES = ("search", "medium", "slow")
MOST_RODS = 6


class Need(StrEnum):
    """What every choice of rods should hold, as far as the plan calls for it."""

    SEARCH = "search"
    SLOW = "slow"
    WEEDLESS = "weedless"
    TOP = "top"
    MIDDLE = "middle"
    BOTTOM = "bottom"
    SPINNING = "spinning"
    FIRST = "first"


#: Parts of the water: a rod for each of those that the planned places are fished in.
LAYERS = (Need.TOP, Need.MIDDLE, Need.BOTTOM)


@dataclass(frozen=True, slots=True)
class RigSetup:
    """A presentation at one weight: a candidate for a rod.

    setups are the rods, reels and lines that suit it, the usual one first; layer is the part of the water it works in;
    weedless: single hook and at home in the thickest cover of the plan.
    """

    presentation: str
    name: str
    group: str
    pace: str
    weight_oz: str
    weight_g: float
    setups: tuple[Setup, ...]
    follow_up: tuple[str, ...] = ()
    trebles: bool = False
    weedless: bool = False
    layer: Need = Need.MIDDLE
    owned: bool = True

    @property
    def label(self) -> str:
        """Name with the weight as the trade prints it."""
        return self.name if self.weight_oz in ("", "0") else f"{self.name}, {self.weight_oz} oz"

    def label_in(self, units: Units) -> str:
        """The label, for a metric reader in the grams that lures are sold by there."""
        return self.label if units == "us" or self.label == self.name else f"{self.name}, {self.weight_g:g} g"


@dataclass(frozen=True, slots=True)
class Cell:
    """A demand of the plan: a spot in a block at one pace. ``weight`` is its share of the day."""

    spot: str
    block: str
    depth_m: float
    cover: Cover
    pace: str
    weight: float
    contingency: bool = False


@dataclass(frozen=True)
class RodInputs:
    """The coverage problem.

    Attributes
    ----------
    setups
        n candidates; those not owned only serve to say what would add most.
    cells
        m demands; weights sum to one.
    quality
        (n, m) in 0..1: how well a candidate serves a demand.
    rods
        The user's rods; empty: any rod.
    k
        How many fit aboard, 1 to 6.
    needs
        What the plan calls for.
    kayak
        True where loose trebles lie in the lap.
    longest_ft
        Longest rod that is handy from the seat; None for standing anglers.
    first
        The lure (presentation id) that the first place is to be begun with; empty: any.
    """

    setups: tuple[RigSetup, ...]
    cells: tuple[Cell, ...]
    quality: Floats
    rods: tuple[OwnedRod, ...] = ()
    k: int = 4
    needs: frozenset[Need] = frozenset({Need.SEARCH, Need.SLOW})
    kayak: bool = True
    longest_ft: float | None = None
    first: str = ""


@dataclass(frozen=True, slots=True)
class RodPick:
    """One rod to rig. ``adds`` is the share of the day that only this rod covers (internal)."""

    number: int
    setup: RigSetup
    gear: Setup | None  # the set-up of the presentation that it is matched with
    rod: OwnedRod | None
    purpose: str
    mismatch: tuple[str, ...]  # what is off between the rod and what the lure asks for, as sentences
    retie: str  # what else this rod could carry today, as a sentence; empty when nothing worth it
    in_reach: bool
    adds: float
    reserve: bool = False  # named at no stop of the plan


@dataclass(frozen=True, slots=True)
class Gap:
    """The one thing to buy or borrow that would add most; ``kind`` is "lure" or "rod"."""

    kind: str
    what: str
    text: str
    gain: float


@dataclass(frozen=True, slots=True)
class RodPlan:
    """The rods in order of what they add, the unmet needs as sentences, and the gap."""

    picks: tuple[RodPick, ...]
    unmet: tuple[str, ...]
    gap: Gap | None
    notes: tuple[str, ...]
    aboard: tuple[str, ...]
    worth: float


@dataclass(frozen=True, slots=True)
class AimWeights:
    """Weights of the objective."""

    follow_up: float
    variety: float
    extra_treble: float
    overlap: float
    overlap_cosine: float
    mismatch: float
    unmet: float
    layer: float
    first: float


@dataclass(frozen=True, slots=True)
class MismatchWeights:
    """Steps between a rod and a set-up."""

    action_step: float
    wrong_line: float
    wrong_reel: float
    diameter_off: float
    diameter_tolerance: float
    too_long: float
    forbidden: float


@dataclass(frozen=True, slots=True)
class DemandRules:
    """How a plan becomes demands."""

    moods: Mapping[str, tuple[float, float, float]]
    pace_next: float
    pace_far: float
    contingency: float
    depth_width: float
    weight_width: float
    layer_share: float
    layer_useful: float
    bottom_least_g: float
    thick_fit: float
    thick_snag: float
    heavy_line_lb: float
    gear_share: float
    new_weight_ratio: float
    new_weight_g: float
    useful: float
    lead_share: float
    answer_share: float
    sharpness: float


@dataclass(frozen=True, slots=True)
class RodParameters:
    """Everything of ``config/rods.toml``."""

    aim: AimWeights
    mismatch: MismatchWeights
    demand: DemandRules

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> RodParameters:
        """Build from the parsed file; raises KeyError or TypeError naming what is missing or unknown."""
        demand = data["demand"]
        moods = {}
        for mood in ("active", "neutral", "negative"):
            search, medium, slow = demand[mood]
            moods[mood] = (float(search), float(medium), float(slow))
        numbers = {k: float(v) for k, v in demand.items() if k not in {*moods, "source"}}
        return cls(
            AimWeights(**_numbers(data["aim"])),
            MismatchWeights(**_numbers(data["mismatch"])),
            DemandRules(moods=moods, **numbers),
        )


def _numbers(table: Mapping[str, Any]) -> dict[str, float]:
    return {key: float(value) for key, value in table.items() if key != "source"}
