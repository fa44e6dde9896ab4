"""Launch windows and the two instants of the day: when to be off the water, and when to start back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from briefing.core.hours import HourSeries
from briefing.core.wind.inputs import DayLight, HeadwindLeg
from briefing.core.wind.level import HourLevel
from briefing.core.wind.limits import Limits
from briefing.core.wind.rules import TravelRules
from briefing.vocabulary import Craft, Level


@dataclass(frozen=True, slots=True)
class Window:
    """A run of hours at ``within_limits`` or ``caution`` in daylight. level is the worst of its hours.

    last_launch leaves time for the least useful outing; ends_because is one sentence; ends_level is the level that
    ends it, None at dusk or at the end of the forecast.
    """

    begin: datetime
    end: datetime
    level: Level
    last_launch: datetime
    ends_because: str
    ends_level: Level | None


@dataclass(frozen=True, slots=True)
class Travel:
    """How the user gets back: craft, calm speed (m/s, None: the default), ways back to the ramp.

    Without legs the lake's longest arm stands in, against the whole wind.
    """

    craft: Craft
    limits: Limits
    calm_mps: float | None = None
    legs: tuple[HeadwindLeg, ...] = ()
    longest_arm_m: float | None = None


@dataclass(frozen=True, slots=True)
class Deadlines:
    """The day's two instants.

    start_back_by is None when ``headway`` is false (the craft may not make headway) or no way back is known.
    call_at is the float plan's call time. because is one sentence. time_back_min is without the reserve; leg names
    the way back that takes longest.
    """

    off_water_by: datetime
    start_back_by: datetime | None
    call_at: datetime
    because: str
    kind: str  # stop | unknown | light | return
    time_back_min: float | None
    leg: str
    headway: bool
    estimated: bool  # without ramp, spots or speed: the longest arm


@dataclass(frozen=True, slots=True)
class HardLeg:
    """The leg that becomes hard first: when, and in one sentence why."""

    leg: str
    hour: datetime
    because: str


def launch_windows(levels: Sequence[HourLevel], light: Sequence[DayLight], rules: TravelRules) -> tuple[Window, ...]:
    """Return the windows of at least ``rules.window_hours`` hours; an unknown hour ends a window."""
    raise NotImplementedError


def deadlines(
    levels: Sequence[HourLevel],
    series: HourSeries,
    light: Sequence[DayLight],
    travel: Travel,
    rules: TravelRules,
    *,
    launch: datetime,
    planned_return: datetime,
) -> Deadlines:
    """Return off-water time, start-back time and call time of an outing."""
    raise NotImplementedError


def speed_made_good_mps(
    craft: Craft, calm_mps: float, head_wind_mps: float, hs_m: float, limits: Limits, rules: TravelRules
) -> float:
    """Return the speed back against a head wind in m/s; 0 when the craft may not make headway."""
    raise NotImplementedError
