"""``HourLevel``: how one hour stands against the user's limits, factor by factor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from briefing.vocabulary import Level

#: Names of factors, in the order they are listed.
FACTORS = (
    "sustained_wind",
    "gust",
    "waves",
    "headway",
    "thunder",
    "cold_water",
    "heat",
    "visibility",
    "darkness",
    "tailwater",
    "data_age",
    "alerts",
)


@dataclass(frozen=True, slots=True)
class Factor:
    """One thing judged in an hour.

    number and limit are in ``unit`` (SI: m/s, m, %, C); None where there is none. standing marks a standing unknown
    (a service that does not exist here), exempt from windows, deadlines and notes. limit is the one that the level
    was compared with, stop_limit the user's stop where there is one. ref is the id of the alert
    that an ``alerts`` factor comes from. shown: wind or gust as forecast or
    measured, whichever is more, without the learned correction that the number judged holds; else None. excluded:
    nothing was read for it, a rule of ``config/limits.toml`` leaves it out for this hour, and text says why.
    about: names of the factors that an official alert speaks of. why_unknown: of wind, gusts and waves that are not
    known, the reason as a clause.
    """

    name: str  # one of FACTORS
    level: Level
    number: float | None
    limit: float | None
    unit: str
    source: str  # name for the reader, with the age of the data where it matters
    text: str  # one plain sentence
    estimated: bool = False
    standing: bool = False
    stop_limit: float | None = None
    ref: str = ""
    excluded: bool = False
    shown: float | None = None
    why_unknown: str = ""
    about: tuple[str, ...] = ()

    @property
    def badness(self) -> float:
        """How far the number is past its limit, to compare hours; cold and poor visibility are worse when lower."""
        limit = self.stop_limit or self.limit  # the stop does not change with the level that an hour is held at
        if self.number is None or not limit:
            return -math.inf
        ratio = self.number / limit
        return -ratio if self.name in ("cold_water", "visibility") else ratio


@dataclass(frozen=True, slots=True)
class HourLevel:
    """An hour's level and everything that made it; the worst factor decides (after hysteresis over the series)."""

    hour: datetime  # aware UTC, start of the hour
    level: Level
    factors: tuple[Factor, ...]

    @property
    def unknown_names(self) -> frozenset[str]:
        """Names of the factors that are not known in this hour, standing ones aside."""
        return frozenset(f.name for f in self.factors if f.level is Level.UNKNOWN and not f.standing)

    @property
    def deciding_names(self) -> frozenset[str]:
        """Names of the factors at the hour's level, standing ones aside."""
        return frozenset(f.name for f in self.deciding)

    @property
    def deciding(self) -> tuple[Factor, ...]:
        """Factors at the hour's level, standing ones aside."""
        return tuple(f for f in self.factors if f.level == self.level and not f.standing)
