"""What the plan of a day is made from, and what it is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import FrontStage
from briefing.core.advice.knowledge import Switch
from briefing.vocabulary import Level

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


class BlockName(StrEnum):
    """Blocks of the day by the height of the sun."""

    FIRST_LIGHT = "first_light"
    EARLY = "early"
    CLIMB = "climb"
    HIGH = "high"
    LATE = "late"
    LAST_LIGHT = "last_light"


class SurpriseKind(StrEnum):
    """How the day may turn out other than forecast."""

    WIND_UP = "wind_up"
    WIND_SHIFT = "wind_shift"
    SUN_OUT = "sun_out"
    CLOUD_IN = "cloud_in"
    FRONT = "front"


@dataclass(frozen=True, slots=True)
class PlanHour:
    """One hour of the forecast as the plan needs it; NaN where missing. start is aware UTC.

    ``open`` is True when the hour is within limits or at caution, standing unknowns aside; ``rough`` when it is at
    caution for wind, gusts or waves.
    """

    start: datetime
    wind_mps: float
    wind_from_deg: float
    gust_mps: float
    cloud_fraction: float
    level: Level
    open: bool
    rough: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """A time block: ``id`` is unique in the day ("high", "high_2"); times aware UTC; sun height at start and end."""

    id: str
    name: BlockName
    title: str
    start: datetime
    end: datetime
    sun_deg: tuple[float, float]
    why: str  # what begins it


@dataclass(frozen=True, slots=True)
class PlanSpot:
    """A place as the plan needs it.

    flat
        True for a flat to be searched, False for a target.
    nest_area
        True when fish nest there.
    fetch_m
        Open water up-wind by direction, 8 values from north clockwise; empty when unknown.
    words
        Situation words of the switch rules that hold here: "grass", "rock", "clear", "stained".
    shaded
        True when a roof, docks or trees shade most of it.
    shallowest_m, deepest_m
        Depth of its edges.
    """

    id: str
    name: str
    flat: bool = False
    nest_area: bool = False
    fetch_m: tuple[float, ...] = ()
    words: frozenset[str] = frozenset()
    shaded: bool = False
    shallowest_m: float = 0.0
    deepest_m: float = 0.0


@dataclass(frozen=True, slots=True)
class NestRules:
    """Nest areas: ``closed`` True when the profile's rules close the season, None when the rules aren't known."""

    closed: bool | None = None
    spawning: bool = False
    include: bool = False  # the user asked for nest areas; never overrides a closed season


@dataclass(frozen=True)
class PlanInputs:
    """Everything the plan is built from.

    Attributes
    ----------
    blocks
        From :func:`briefing.core.advice.plan.cut_blocks`.
    hours
        Consecutive hours covering the blocks.
    spots
        n places.
    values
        (n, blocks): internal worth of a spot in a block, >= 0; zero: nothing to fish for there.
    exceeds
        (n, hours): True where waves or wind at the spot are beyond the user's limits or not known.
    distance_m, bearing_deg
        (n + 1, n + 1): way on the water and direction of travel; row and column 0 are the ramp.
    speed_mps
        Cruising speed in calm water.
    launch_from, off_water_by, start_back_by
        The day's window, aware UTC; None: no outing within the limits.
    leave_by
        Last moment to start back from each spot, one a spot, where known; None or no entry: ``start_back_by``.
    way_home_min
        The way home from each spot as the deadlines reckon it, minutes without the reserve, where known.
    closed_reason
        Why there is no window, as a sentence.
    choices
        Ranked presentations by (spot id, block id), best first.
    look_for
        What to look for by (spot id, block id).
    why
        Why fish are at a spot, as sentences by (spot id, block id), strongest first.
    front, front_strength
        Stage of a cold front and how much it counts here and now, 0 to about 1.3.
    south
        True in the southern hemisphere, where the wind turns the other way behind a front.
    warm_half
        True in the warm half of the year.
    cold_water
        True where the water is so cold that fish take their time: few places and long stays.
    values_if
        (n, blocks) values under a surprise, where the caller has them.
    """

    blocks: tuple[Block, ...]
    hours: tuple[PlanHour, ...]
    spots: tuple[PlanSpot, ...]
    values: Floats
    exceeds: Flags
    distance_m: Floats
    bearing_deg: Floats
    speed_mps: float
    launch_from: datetime | None
    off_water_by: datetime | None
    start_back_by: datetime | None = None
    leave_by: tuple[datetime | None, ...] = ()
    way_home_min: tuple[float | None, ...] = ()
    closed_reason: str = ""
    cut_why: str = ""
    nests: NestRules = NestRules()
    choices: Mapping[tuple[str, str], tuple[Choice, ...]] = field(default_factory=dict)
    look_for: Mapping[tuple[str, str], str] = field(default_factory=dict)
    why: Mapping[tuple[str, str], tuple[str, ...]] = field(default_factory=dict)
    switches: tuple[Switch, ...] = ()
    front: FrontStage = FrontStage.NONE
    front_strength: float = 1.0
    south: bool = False
    warm_half: bool = True
    cold_water: bool = False
    values_if: Mapping[SurpriseKind, Floats] = field(default_factory=dict)

    def too_far(self, spot: int) -> bool:
        """True when one would have to start back from a spot (its row) at the launch already."""
        by = self.leave_by[spot] if self.leave_by else None
        return by is not None and self.launch_from is not None and by <= self.launch_from


@dataclass(frozen=True, slots=True)
class Stop:
    """A spot in the route; times aware UTC, stays and travel in minutes.

    ``least_min`` is how long to give it without a contact, ``leave`` when to go at the latest. ``travel_to_deg`` is the
    direction of the way there (NaN: not known), ``home_min`` the way
    home from here against the wind of that hour, without a reserve; ``home_by`` the last moment to begin it, while the
    hours at the place stay open.
    """

    spot_id: str
    spot: str
    block_id: str
    arrive: datetime
    leave: datetime
    travel_min: int
    travel_m: float
    least_min: int
    most_min: int
    second_visit: bool
    look_for: str
    choices: tuple[Choice, ...]
    reasons: tuple[str, ...]
    travel_to_deg: float = math.nan
    home_min: int = 0
    home_head: float = 0.0  # 1 straight into the wind, -1 before it, 0 also in little wind, NaN where not known
    home_by: datetime | None = None
    goes_on: str = ""  # what changes, where it is the same stay in another block, advised anew for its light and wind
    long_why: str = ""  # why one stays so long, as a clause; empty for a stay of usual length
    then: str = ""  # name of the place to go on to without contact; empty where none can be fished any more


@dataclass(frozen=True, slots=True)
class HourSwitch:
    """The one switch of an hour: what to change, when it applies, and why."""

    at: datetime
    switch: Switch
    text: str


@dataclass(frozen=True, slots=True)
class BlockPlan:
    """A block with its stops; ``closed`` says why there is no advice in it, empty when there is."""

    block: Block
    level: Level
    closed: str
    stops: tuple[Stop, ...]
    spare: tuple[str, ...]  # names of the next spots worth trying when a stop is taken
    habit: str  # what the block is for at this time of year
    switches: tuple[HourSwitch, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A spot that isn't in the plan, and why, as a sentence; ``nests`` where it is left alone because fish nest."""

    spot_id: str
    spot: str
    why: str
    nests: bool = False


@dataclass(frozen=True, slots=True)
class PlanB:
    """The likeliest surprise: how to see it, what to do, and which spots then, best first."""

    kind: SurpriseKind
    sign: str
    do: str
    spot_ids: tuple[str, ...]
    spots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DayPlan:
    """The plan of a day. ``return_min`` is the way back from the last stop in minutes, with reserve.

    ``front`` is what the front's stage means for the day, to be said first; empty where it hardly counts.
    """

    blocks: tuple[BlockPlan, ...]
    plan_b: PlanB | None
    left_out: tuple[LeftOut, ...]
    start_back: datetime | None
    return_min: int | None
    total_m: float
    reasons: tuple[str, ...]
    front: str = ""

    @property
    def stops(self) -> tuple[Stop, ...]:
        """All stops in order of time."""
        return tuple(stop for block in self.blocks for stop in block.stops)


@dataclass(frozen=True, slots=True)
class BlockRules:
    """When the sun, the wind and the cloud cut a block."""

    twilight_deg: float
    low_deg: float
    early_deg: float
    high_deg: float
    shortest_min: float
    wind_change_mps: float
    wind_shift_deg: float
    shift_needs_mps: float
    cloud_change: float


@dataclass(frozen=True, slots=True)
class StayRules:
    """How long a place is fished."""

    least_target_min: float
    least_flat_min: float
    most_min: float
    most_strong_min: float
    strong_share: float
    longest_min: float
    idle_price: float
    worth_it: float
    rest_min: float
    second_visit: float
    fresh_min: float
    part_min: float
    tire_min: float
    cold_least_min: float
    cold_most_min: float
    cold_most_strong_min: float
    cold_tire_min: float


@dataclass(frozen=True, slots=True)
class TravelRules:
    """Going between spots and home."""

    head_wind_loss: float
    no_headway_share: float
    reserve: float
    settle_min: float
    wrong_way: float
    return_wrong_way: float
    way_price: float
    rough_loss: float
    rough_far_min: float
    rough_open: float


@dataclass(frozen=True, slots=True)
class SurpriseRules:
    """Weights of the surprises."""

    wind_rise_mps: float
    shift_deg: float
    look_ahead_h: float
    front_approaching: float
    front_passage: float
    front_day1: float
    front_other: float
    sheltered_fetch_m: float
    near_home_min: float
    deep_m: float
    least: float


@dataclass(frozen=True, slots=True)
class SeasonRules:
    """Factors on the worth of places by block, in the warm and the cold half of the year."""

    warm: Mapping[BlockName, float]
    cold: Mapping[BlockName, float]


@dataclass(frozen=True, slots=True)
class FrontPlanRules:
    """What a front does to the plan, at full strength."""

    speak_from: float
    ahead_far_loss: float
    day1_stay: float
    day2_stay: float
    day2_morning: float
    recovering_morning: float


@dataclass(frozen=True, slots=True)
class HotRules:
    """From which water temperature on only the coolest hours are planned, and how many."""

    water_c: float
    fished_h: float


@dataclass(frozen=True, slots=True)
class PlanParameters:
    """Everything of ``config/plan.toml``."""

    blocks: BlockRules
    stay: StayRules
    travel: TravelRules
    surprise: SurpriseRules
    season: SeasonRules
    front: FrontPlanRules
    hot: HotRules

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> PlanParameters:
        """Build from the parsed file; raises KeyError or TypeError naming an unknown or missing entry."""
        return cls(
            BlockRules(**_numbers(data["blocks"])),
            StayRules(**_numbers(data["stay"])),
            TravelRules(**_numbers(data["travel"])),
            SurpriseRules(**_numbers(data["surprise"])),
            SeasonRules(_by_block(data["season"]["warm"]), _by_block(data["season"]["cold"])),
            FrontPlanRules(**_numbers(data["front"])),
            HotRules(**_numbers(data["hot"])),
        )


def _by_block(table: Mapping[str, Any]) -> dict[BlockName, float]:
    return {name: float(table[name.value]) for name in BlockName}


def _numbers(table: Mapping[str, Any]) -> dict[str, float]:
    return {key: float(value) for key, value in table.items() if key != "source"}
