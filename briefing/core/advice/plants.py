"""Plants through the year: where their tops are, from a reading on, with growth by water temperature until the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.readings import PlantReading
from briefing.vocabulary import Cover, PlantDensity, PlantState

Floats = NDArray[np.float64]
#: Cover that is plants below the surface or lies on it.
SUBMERGED = (Cover.GRASS_SPARSE, Cover.GRASS_DENSE, Cover.GRASS_TOPPED)
_CLASS = {
    PlantDensity.SPARSE: Cover.GRASS_SPARSE,
    PlantDensity.DENSE: Cover.GRASS_DENSE,
    PlantDensity.TOPPED: Cover.GRASS_TOPPED,
}


@dataclass(frozen=True, slots=True)
class PlantParameters:
    """Everything of ``config/plants.toml``."""

    most_cm_day: float
    usual_share: float
    by_water_c: tuple[float, float, float, float]
    least_rise_m: float
    sprayed_wait_days: float
    sprayed_fall_days: float
    dying_fall_days: float
    sparse_from: float
    gone_from: float
    keep_days: float

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> PlantParameters:
        """Build from the parsed file; raises KeyError naming what is missing."""
        growth, decline = data["growth"], data["decline"]
        low, full, last, none = (float(value) for value in growth["by_water_c"])
        return cls(
            most_cm_day=float(growth["most_cm_day"]),
            usual_share=float(growth["usual_share"]),
            by_water_c=(low, full, last, none),
            least_rise_m=float(growth["least_rise_m"]),
            sprayed_wait_days=float(decline["sprayed_wait_days"]),
            sprayed_fall_days=float(decline["sprayed_fall_days"]),
            dying_fall_days=float(decline["dying_fall_days"]),
            sparse_from=float(decline["sparse_from"]),
            gone_from=float(decline["gone_from"]),
            keep_days=float(data["reading"]["keep_days"]),
        )


@dataclass(frozen=True, slots=True)
class PlantsNow:
    """Plants of a place on a day: cover shares, depth of their tops (m; None where none are left), and the reading."""

    cover: Mapping[Cover, float]
    top_m: float | None
    reading: PlantReading
    days: int


def growth_m_per_day(water_c: Floats, p: PlantParameters) -> Floats:
    """Rise of the tops by the water temperature of each day, m; none where that isn't known."""
    share = np.interp(np.nan_to_num(water_c, nan=p.by_water_c[0]), p.by_water_c, (0.0, 1.0, 1.0, 0.0))
    return np.asarray(share * p.usual_share * p.most_cm_day / 100.0, float)


def reading_for(spot: str, readings: Sequence[PlantReading], now: datetime, p: PlantParameters) -> PlantReading | None:
    """The newest reading of a spot, or of the whole lake, that still speaks of it; None where there is none."""
    known = [
        one
        for one in readings
        if one.spot in ("", spot) and one.time <= now and (now - one.time).total_seconds() <= p.keep_days * 86400.0
    ]
    return max(known, key=lambda one: (one.time, one.spot == spot), default=None)


def plants_on(
    day: date,
    reading: PlantReading,
    seen_on: date,
    cover: Mapping[Cover, float],
    top_m: float | None,
    bottom_m: float,
    water_c: Floats,
    p: PlantParameters,
) -> PlantsNow | None:
    """Plants of a place on a day, from a reading of an earlier one; None where the place holds none to move.

    ``cover`` and ``top_m`` are the profile's, ``bottom_m`` the depth at the deep edge; ``water_c`` is the daily mean of
    the days from the reading up to this one. Growing plants rise by the water's temperature; sprayed and dying ones
    sink to the bottom, become thin on the way and open bottom at its end. How dense they were seen wins over the
    profile.
    """
    share = sum(cover.get(kind, 0.0) for kind in SUBMERGED)
    if share <= 0.0:
        return None
    days = max((day - seen_on).days, 0)
    seen_top = reading.top_m if reading.top_m is not None else top_m
    kind = _CLASS[reading.density] if reading.density is not None else max(SUBMERGED, key=lambda k: cover.get(k, 0.0))
    top = 0.0 if reading.density is PlantDensity.TOPPED and reading.top_m is None else seen_top
    if reading.state is PlantState.GROWING:
        if top is not None:
            top = max(min(top, bottom_m) - float(growth_m_per_day(water_c, p).sum()), 0.0)
            kind = _near_surface(kind, top, p)
    else:
        sunk = _sunk(days, reading.state, p)
        start = min(top or 0.0, bottom_m)
        top = start + sunk * (bottom_m - start)
        if sunk >= p.gone_from:
            kind, top = Cover.BARE, None
        elif sunk >= p.sparse_from:
            kind = Cover.GRASS_SPARSE
        elif top > p.least_rise_m and kind is Cover.GRASS_TOPPED:
            kind = Cover.GRASS_DENSE
    moved = {one: part for one, part in cover.items() if one not in SUBMERGED}
    moved[kind] = moved.get(kind, 0.0) + share
    return PlantsNow(moved, top, reading, days)


def _near_surface(kind: Cover, top_m: float, p: PlantParameters) -> Cover:
    """A dense bed whose tops reach the surface lies over; one that was cut back below it doesn't."""
    if top_m <= p.least_rise_m:
        return Cover.GRASS_TOPPED if kind is Cover.GRASS_DENSE else kind
    return Cover.GRASS_DENSE if kind is Cover.GRASS_TOPPED else kind


def _sunk(days: int, state: PlantState, p: PlantParameters) -> float:
    """Share of the way to the bottom that sprayed or dying plants have sunk, 0 to 1."""
    if state is PlantState.GONE:
        return 1.0
    wait = p.sprayed_wait_days if state is PlantState.SPRAYED else 0.0
    fall = p.sprayed_fall_days - wait if state is PlantState.SPRAYED else p.dying_fall_days
    return float(np.clip((days - wait) / fall, 0.0, 1.0))
