"""Hourly values in UTC with the origin of each value: the one form in which weather travels through the program.

Missing is NaN, never zero. A value that was present but malformed or implausible is NaN too, and its hour is
marked ``damaged``, because damaged data must make the day look worse, never better.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Field ids of an ``HourSeries`` with unit in the name. An hour's value stands for [hour, hour + 1 h).
FIELDS = (
    "wind_mps",  # sustained, 10 m, highest of the hour
    "gust_mps",  # highest of the hour
    "wind_from_deg",  # true north, the direction the wind comes from
    "air_c",
    "dewpoint_c",
    "humidity_pct",
    "pressure_hpa",  # sea level; its tendency only dates a front
    "cloud_pct",
    "precip_mm",
    "precip_chance_pct",
    "thunder_pct",  # probability of thunder
    "lightning_level",  # 1..6, fire-weather activity level
    "thunder_words_pct",  # chance the weather text stands for: 0 none, 15 isolated, 40 chance, 65 likely
    "weather_code",  # WMO code
    "cape_jkg",
    "visibility_m",
    "shortwave_wm2",
)


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a value comes from.

    kind is one of ``forecast | observed | entered | modelled | estimated | normal``. ``issued`` and ``retrieved``
    are aware UTC instants or None when unknown.
    """

    source: str  # id: nws_grid, nws_text, open_meteo, metar, nws_station, user, estimate, ...
    name: str  # for the reader: "National Weather Service forecast grid ALY 76,61"
    kind: str
    issued: datetime | None = None
    retrieved: datetime | None = None
    distance_km: float | None = None
    note: str = ""


@dataclass(frozen=True)
class HourField:
    """One field over the hours of a series; all arrays have the length of the series."""

    values: Floats
    origin_index: NDArray[np.int16]  # into origins; -1 where missing
    origins: tuple[Origin, ...]
    damaged: NDArray[np.bool_]

    def origin_at(self, index: int) -> Origin | None:
        """Origin of the value at ``index``, or None where it is missing."""
        number = int(self.origin_index[index])
        return self.origins[number] if number >= 0 else None


def field_of(values: Sequence[float] | Floats, origin: Origin, damaged: Sequence[bool] | None = None) -> HourField:
    """Make a field whose values all come from one origin; NaN stays missing."""
    array = np.asarray(values, dtype=float)
    hurt = np.zeros(array.shape, bool) if damaged is None else np.asarray(damaged, bool)
    return HourField(array, np.where(np.isnan(array), -1, 0).astype(np.int16), (origin,), hurt)


def missing_field(hours: int) -> HourField:
    """Make a field without any value."""
    return HourField(np.full(hours, np.nan), np.full(hours, -1, np.int16), (), np.zeros(hours, bool))


@dataclass(frozen=True)
class HourSeries:
    """Fields over consecutive UTC hours from ``start`` (aware, on the full hour)."""

    start: datetime
    hours: int
    fields: Mapping[str, HourField] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.start.tzinfo is None or self.start != self.start.replace(minute=0, second=0, microsecond=0):
            raise ValueError("an hour series starts at an aware instant on the full hour")

    def __getitem__(self, name: str) -> HourField:
        if name not in FIELDS:
            raise KeyError(name)
        return self.fields.get(name) or missing_field(self.hours)

    def values(self, name: str) -> Floats:
        """Values of a field, NaN where missing; shape (hours,)."""
        return self[name].values

    @property
    def times(self) -> list[datetime]:
        """Start of each hour, aware UTC."""
        return [self.start + timedelta(hours=n) for n in range(self.hours)]

    def index_of(self, instant: datetime) -> int:
        """Index of the hour that holds ``instant``; may lie outside 0..hours-1."""
        return int((instant.astimezone(UTC) - self.start).total_seconds() // 3600)

    def window(self, begin: datetime, end: datetime, names: Collection[str] | None = None) -> HourSeries:
        """Cut (or pad with missing hours) to the hours that overlap [begin, end); ``names``: of these fields alone."""
        first = self.index_of(begin)
        count = max(0, -(-int((end.astimezone(UTC) - self.start).total_seconds()) // 3600) - first)
        wanted = self.fields if names is None else {name: self.fields[name] for name in names if name in self.fields}
        cut = {name: _cut(value, first, count) for name, value in wanted.items()}
        return replace(self, start=self.start + timedelta(hours=first), hours=count, fields=cut)

    def filled_from(self, other: HourSeries, names: Sequence[str] | None = None) -> HourSeries:
        """Fill missing, undamaged hours of this series from ``other``; origins come along."""
        other = other.window(self.start, self.start + timedelta(hours=self.hours), names)
        merged = dict(self.fields)
        for name in names or FIELDS:
            if name in other.fields:
                merged[name] = _fill(self[name], other[name])
        return replace(self, fields=merged)


def _cut(value: HourField, first: int, count: int) -> HourField:
    begin, end = max(first, 0), min(first + count, value.values.size)
    have = slice(begin, max(begin, end))
    if (begin, end) == (first, first + count):
        return HourField(value.values[have], value.origin_index[have], value.origins, value.damaged[have])
    out, place = missing_field(count), slice(begin - first, max(begin, end) - first)
    if end > begin:
        out.values[place] = value.values[have]
        out.origin_index[place] = value.origin_index[have]
        out.damaged[place] = value.damaged[have]
    return replace(out, origins=value.origins)


def _fill(mine: HourField, theirs: HourField) -> HourField:
    take = np.isnan(mine.values) & ~mine.damaged & ~np.isnan(theirs.values)
    return HourField(
        np.where(take, theirs.values, mine.values),
        np.where(take, theirs.origin_index + len(mine.origins), mine.origin_index).astype(np.int16),
        mine.origins + theirs.origins,
        mine.damaged | (theirs.damaged & np.isnan(mine.values)),
    )
