"""The limits an hour is judged by: the row of the craft's table in use, the user's own limits, cold water.

The numbers live in ``config/limits.toml`` and reach this module as a ``LimitsTable``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.core.wind.words import Quantity, step, whole_steps
from briefing.units import Units
from briefing.vocabulary import Craft, Level, Skill

#: Names of the six limit fields, in the order of the table.
LIMIT_FIELDS = (
    "sustained_caution_mps",
    "sustained_stop_mps",
    "gust_caution_mps",
    "gust_stop_mps",
    "waves_caution_m",
    "waves_stop_m",
)


_KIND: dict[str, Quantity] = {name: "m" if name.startswith("waves") else "m/s" for name in LIMIT_FIELDS}


def in_whole_steps(limit: ArrayLike, kind: Quantity, units: Units) -> NDArray[np.float64]:
    """Cut limits (m/s or m) to the numbers that they are printed as, so that what is judged is what is read.

    A limit is never raised: one that lies just under a whole step is printed as that step and judged as it is (8.0 m/s
    are 17.9 mph, "18 mph"). One of less than a step stays.
    """
    value, size = np.asarray(limit, float), step(kind, units)
    whole = whole_steps(value, kind, units)
    return np.where(whole >= 1.0, np.minimum(value, whole * size), value)


@dataclass(frozen=True, slots=True)
class Limits:
    """Caution and stop for sustained wind, gust (m/s) and significant wave height (m), and where they come from.

    row names the row in use for the reader ("sit-on-top kayak, novice"), why says why that row; own is true when
    any of the numbers is the user's own.
    """

    craft: Craft
    row: str
    why: str
    sustained_caution_mps: float
    sustained_stop_mps: float
    gust_caution_mps: float
    gust_stop_mps: float
    waves_caution_m: float
    waves_stop_m: float
    own: bool = False

    def __post_init__(self) -> None:
        for name in LIMIT_FIELDS:
            if not (math.isfinite(getattr(self, name)) and getattr(self, name) > 0.0):
                raise ValueError(f"{name} must be a number above zero")
        for kind in ("sustained", "gust", "waves"):
            unit = "m" if kind == "waves" else "mps"
            if getattr(self, f"{kind}_caution_{unit}") > getattr(self, f"{kind}_stop_{unit}"):
                raise ValueError(f"the caution limit for {kind} is above its stop limit")

    def in_use(self, factor: float, units: Units) -> Limits:
        """Return all six limits multiplied by ``factor`` (cold water) and cut to whole steps of the user's units."""
        cut: dict[str, Any] = {
            name: float(in_whole_steps(getattr(self, name) * factor, _KIND[name], units)) for name in LIMIT_FIELDS
        }
        return replace(self, **cut)


@dataclass(frozen=True, slots=True)
class OwnLimits:
    """Limits the user set; None keeps the table's number. They count only when both rows had been shown before."""

    sustained_caution_mps: float | None = None
    sustained_stop_mps: float | None = None
    gust_caution_mps: float | None = None
    gust_stop_mps: float | None = None
    waves_caution_m: float | None = None
    waves_stop_m: float | None = None
    shown_both_rows: bool = False


@dataclass(frozen=True, slots=True)
class ColdBand:
    """Water at or above ``from_c`` (and below the next warmer band): what limits are multiplied by, and the words."""

    name: str
    from_c: float
    factor: float
    level: Level
    text: str


@dataclass(frozen=True)
class LimitsTable:
    """Default limits by craft and skill, and the cold-water bands (warmest first)."""

    rows: Mapping[tuple[Craft, Skill], Limits]
    cold_bands: tuple[ColdBand, ...]
    source: str

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> LimitsTable:
        """Read the tables ``limits`` and ``cold_water`` of ``config/limits.toml``."""
        rows = {}
        for craft in Craft:
            entry = mapping["limits"][craft.value]
            for skill in Skill:
                numbers: dict[str, Any] = {name: float(entry[skill.value][name]) for name in LIMIT_FIELDS}
                rows[craft, skill] = Limits(craft, f"{entry['name']}, {skill.value}", "", **numbers)
        bands = tuple(
            ColdBand(b["name"], float(b["from_c"]), float(b["factor"]), Level(b["level"]), b["text"])
            for b in mapping["cold_water"]["band"]
        )
        return cls(rows, tuple(sorted(bands, key=lambda band: -band.from_c)), mapping["limits"]["source"])


def limits_for(
    table: LimitsTable,
    craft: Craft,
    skill: Skill,
    *,
    alone: bool,
    reentry_practised: bool,
    own: OwnLimits | None = None,
) -> Limits:
    """Return the limits in use, with the row named.

    The novice row is used by a novice, a lone paddler (kayak, canoe) and anyone who has not practised getting back
    in. Own limits replace it number by number once the user has been shown both rows; before that only those that
    are tighter count.
    """
    paddler = craft in (Craft.KAYAK, Craft.CANOE)
    reasons = [
        text
        for applies, text in (
            (skill is Skill.NOVICE, "set to novice"),
            (alone and paddler, "you paddle alone"),
            (not reentry_practised, "getting back in is not practised"),
        )
        if applies
    ]
    row = table.rows[craft, Skill.NOVICE if reasons else Skill.EXPERIENCED]
    row = replace(row, why=", ".join(reasons) or "experienced, with practised re-entry")
    return row if own is None else _with_own(row, own)


def _with_own(row: Limits, own: OwnLimits) -> Limits:
    given = {name: getattr(own, name) for name in LIMIT_FIELDS if getattr(own, name) is not None}
    if not own.shown_both_rows:
        given = {name: value for name, value in given.items() if value <= getattr(row, name)}
    if not given:
        return row
    numbers = {name: getattr(row, name) for name in LIMIT_FIELDS} | given
    for kind, unit in (("sustained", "mps"), ("gust", "mps"), ("waves", "m")):
        caution, stop = f"{kind}_caution_{unit}", f"{kind}_stop_{unit}"
        # An own stop below the table's caution pulls the caution down with it.
        if caution not in given:
            numbers[caution] = min(numbers[caution], numbers[stop])
    return replace(row, row=f"your own limits (from {row.row})", own=True, **numbers)


def cold_band(table: LimitsTable, water_low_c: float) -> ColdBand:
    """Return the band of a water temperature: the low end of its 80 % range, in C. NaN gives the coldest band."""
    for band in table.cold_bands:
        if water_low_c >= band.from_c:
            return band
    return table.cold_bands[-1]


def cold_factor(table: LimitsTable, water_low_c: float, *, immersion_clothing: bool) -> float:
    """Return what limits are multiplied by for cold water; 1 with a wetsuit or drysuit for it."""
    return 1.0 if immersion_clothing else cold_band(table, water_low_c).factor
