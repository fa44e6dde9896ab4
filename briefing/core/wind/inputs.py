"""What the hour levels are computed from, as one frozen value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from briefing.core.freshness import StaleTable
from briefing.core.hours import HourSeries
from briefing.core.readings import WindReading
from briefing.core.wind.alerts import ResolvedAlerts
from briefing.core.wind.events import EventTable
from briefing.core.wind.fetch import FetchTable
from briefing.core.wind.limits import Limits, LimitsTable
from briefing.core.wind.rules import SafetyRules
from briefing.units import Units
from briefing.vocabulary import Craft, Skill

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DayLight:
    """One local day's civil dawn, sunrise, sunset and civil dusk as aware instants.

    None where the event does not happen that day.
    """

    dawn: datetime | None
    sunrise: datetime | None
    sunset: datetime | None
    dusk: datetime | None


@dataclass(frozen=True, slots=True)
class HeadwindLeg:
    """A way back to the ramp, for the "may not make headway" rule: its true bearing, None = any direction.

    place is where it begins, for sentences that need no more than that.
    """

    name: str
    bearing_deg: float | None
    length_m: float
    place: str = ""


@dataclass(frozen=True)
class LevelInputs:
    """Inputs of ``hour_levels``.

    hours: the forecast, NaN missing, ``damaged`` marked. accepted: the last series that had been accepted before, or
    None; its ``stop`` stands where the new one is missing. alerts: from ``resolve_alerts``. winds: stations and the
    user; they may raise a level, never lower it. water_low_c: low end of the water temperature's 80 % range in C, one
    number or shape (hours,), NaN unknown; then coldest_c (the coldest plausible for the month) is used.
    warmest_air_c: the warmest plausible air of the date, None when it is not known. fetch None:
    no outline at all. light: the days that the series touches. thunder_service: false where no thunder forecast
    exists. thunder_heard: instants at which the user heard thunder. wind_factor: learned correction, one number or
    shape (hours,); below 1 it counts as 1. calm_mps: the craft's speed in still water (None: the default). legs: ways
    back, checked for headway. tailwater: names of the spots below a dam. units: "us" or
    "metric" leads in the sentences; zone is for clock times in them.
    """

    hours: HourSeries
    alerts: ResolvedAlerts
    craft: Craft
    skill: Skill
    limits: Limits
    limits_table: LimitsTable
    rules: SafetyRules
    events: EventTable
    stale: StaleTable
    now: datetime
    light: tuple[DayLight, ...]
    units: Units
    water_low_c: Floats | float = float("nan")
    coldest_c: float | None = None
    warmest_air_c: float | None = None
    immersion_clothing: bool = False
    alone: bool = False
    fetch: FetchTable | None = None
    mean_depth_m: float | None = None
    winds: tuple[WindReading, ...] = ()
    thunder_heard: tuple[datetime, ...] = ()
    thunder_service: bool = True
    accepted: HourSeries | None = None
    wind_factor: Floats | float = 1.0
    calm_mps: float | None = None
    legs: tuple[HeadwindLeg, ...] = ()
    tailwater: tuple[str, ...] = ()
    moving_water: bool = False
    big_lake: bool = False
    zone: tzinfo = field(default=UTC)


def hourly_from_days(
    start: datetime, hours: int, days: Sequence[date], values: Sequence[float], zone: tzinfo
) -> Floats:
    """Spread one value a local day over UTC hours from ``start``; hours of other days are NaN; shape (hours,)."""
    by_day = dict(zip(days, values, strict=True))
    return np.array(
        [by_day.get((start + timedelta(hours=n)).astimezone(zone).date(), float("nan")) for n in range(hours)], float
    )
