"""What was seen or measured at a point in time: by the user, a gauge, an airport."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from briefing.vocabulary import PlantDensity, PlantState, SignKind, WaterColour, Zone


@dataclass(frozen=True, slots=True)
class WaterReading:
    """A water temperature as measured.

    kind: ``hull`` (fixed sensor, 0.3-1 m), ``surface`` (hand thermometer), ``gauge`` (in the lake), ``buoy``,
    ``river_gauge`` (in a stream), ``tailwater`` (below a dam), ``unplaced_gauge`` (nobody says where) or ``typed`` (no
    more said). ``hour_known`` is false when only the day was given.
    """

    id: str
    time: datetime
    temperature_c: float
    zone: Zone = Zone.MAIN
    kind: str = "typed"
    depth_m: float | None = None
    hour_known: bool = True
    source: str = "user"
    name: str = "your reading"
    distance_km: float | None = None

    @property
    def witness(self) -> tuple[str, str]:
        """Who measured: source and name without what stands in brackets, which may change from value to value."""
        return self.source, self.name.partition(" (")[0]


@dataclass(frozen=True, slots=True)
class WindReading:
    """Wind now: observed by a station or seen by the user. Gust None means none was reported."""

    time: datetime
    wind_mps: float | None
    gust_mps: float | None
    wind_from_deg: float | None
    source: str
    name: str
    distance_km: float | None = None
    air_c: float | None = None
    pressure_hpa: float | None = None
    visibility_m: float | None = None


@dataclass(frozen=True, slots=True)
class PlantReading:
    """Plants below the surface as seen: depth of their tops (m, 0 at the surface) and how dense; None: not said.

    ``spot`` is the name of the place, empty for the whole lake.
    """

    time: datetime
    spot: str
    top_m: float | None
    density: PlantDensity | None
    state: PlantState = PlantState.GROWING


@dataclass(frozen=True, slots=True)
class ClarityReading:
    """Visibility (lure or Secchi depth) and colour as seen; either may be None."""

    time: datetime
    secchi_m: float | None
    colour: WaterColour | None
    source: str = "user"


@dataclass(frozen=True, slots=True)
class LevelReading:
    """Water level above a local zero (only its change counts), or a trend as seen: -1 falling, 0 steady, +1 rising."""

    time: datetime
    level_m: float | None
    trend: int | None
    source: str
    name: str


@dataclass(frozen=True, slots=True)
class Sign:
    """A field sign of spawning.

    share_hint is the observer's own estimate of the share of suitable bank that shows it, 0..1, or None; hours_looked
    is the effort; secchi_m how deep one could see.
    """

    id: str
    time: datetime
    kind: SignKind
    zone: Zone = Zone.MAIN
    hours_looked: float = 1.0
    count: int | None = None
    secchi_m: float | None = None


@dataclass(frozen=True)
class DailyAir:
    """Daily mean air temperature on consecutive local days.

    mean_c is NaN where missing. kind is per day: ``observed | modelled | forecast | missing``; lead_days is the
    age of a forecast (0 for the past).
    """

    start: date
    mean_c: NDArray[np.float64]
    kind: tuple[str, ...]
    lead_days: NDArray[np.int16]
    source: str
    name: str
