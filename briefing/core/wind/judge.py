"""Reading a field with its troubles, and turning numbers into levels with hysteresis over the whole series."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.core.freshness import StaleTable, is_stale
from briefing.core.hours import HourField, HourSeries, Origin
from briefing.core.wind.rules import HysteresisRules
from briefing.core.wind.words import age
from briefing.vocabulary import Level

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_STALE_KIND = {"observed": "observation", "entered": "wind_forecast_typed"}


@dataclass(frozen=True)
class Column:
    """One field as it may be used, hour by hour.

    values: NaN where it can't be used. trouble says why, per hour: "" none, "missing", "nowhere" (no source has the
    field), "malformed", "too old".
    held: where there is trouble, the last accepted value of that hour (or the value that is too old), else NaN.
    source: name for the reader with the age of the data, per hour.
    """

    values: Floats
    trouble: tuple[str, ...]
    held: Floats
    source: tuple[str, ...]

    @property
    def usable(self) -> Bools:
        """Hours without trouble."""
        return np.array([not word for word in self.trouble], bool)


def origin_time(origin: Origin, stale: StaleTable) -> datetime | None:
    """Return when a value counts as issued: its issue time, else a fixed time before it was retrieved."""
    if origin.issued is not None:
        return origin.issued
    return origin.retrieved - stale.other["assumed_issue_age"] if origin.retrieved is not None else None


def is_old(origin: Origin, now: datetime, stale: StaleTable) -> bool:
    """Tell whether values of this origin are too old to be used at ``now``."""
    return is_stale(_STALE_KIND.get(origin.kind, "forecast"), origin_time(origin, stale), now, stale)


def source_text(origin: Origin, now: datetime, stale: StaleTable) -> str:
    """Return the origin's name with its age."""
    since = origin_time(origin, stale)
    if since is None:
        return f"{origin.name}, of unknown age"
    about = "" if origin.issued is not None else "about "
    return f"{origin.name}, {about}{age(now - since)} old"


def read_column(
    series: HourSeries,
    name: str,
    now: datetime,
    stale: StaleTable,
    *,
    lowest: float = -np.inf,
    highest: float = np.inf,
    accepted: HourSeries | None = None,
    refused: Bools | None = None,
) -> Column:
    """Read a field: damaged and implausible values are "malformed", old ones "too old", never used as they are.

    A value outside [lowest, highest] is refused, never clipped; so are hours marked in ``refused``.
    """
    column = series[name]
    old = np.array([is_old(origin, now, stale) for origin in column.origins] + [False], bool)[column.origin_index]
    absent = np.isnan(column.values)
    bad = column.damaged | _outside(column.values, lowest, highest)
    bad = bad if refused is None else bad | refused
    missing = "missing" if column.origins else "nowhere"
    trouble = np.where(bad, "malformed", np.where(absent, missing, np.where(old, "too old", "")))
    values = np.where(trouble == "", column.values, np.nan)
    held = np.where(old & ~bad, column.values, np.nan)
    if accepted is not None:
        held = np.fmax(held, _aligned(accepted, series, name, lowest, highest))
    held = np.where(trouble == "", np.nan, held)
    return Column(values, tuple(trouble.tolist()), held, _sources(column, now, stale))


def _outside(values: Floats, lowest: float, highest: float) -> Bools:
    with np.errstate(invalid="ignore"):
        return np.asarray((values < lowest) | (values > highest) | np.isinf(values))


def _aligned(accepted: HourSeries, series: HourSeries, name: str, lowest: float, highest: float) -> Floats:
    earlier = accepted.window(series.start, series.start + timedelta(hours=series.hours), (name,))[name]
    return np.where(earlier.damaged | _outside(earlier.values, lowest, highest), np.nan, earlier.values)


def _sources(column: HourField, now: datetime, stale: StaleTable) -> tuple[str, ...]:
    names = [source_text(origin, now, stale) for origin in column.origins] + [""]
    return tuple(names[number] for number in column.origin_index.tolist())


def raised(values: ArrayLike, limit: ArrayLike, margin: ArrayLike, hours: int) -> Bools:
    """Tell hour by hour whether a limit counts as reached.

    It does from the first hour at or above the limit, and until the values were below limit - margin for ``hours``
    hours running. A missing hour (NaN) changes nothing and breaks the run.
    """
    numbers = np.asarray(values, float)
    top = np.broadcast_to(np.asarray(limit, float), numbers.shape)
    low = top - np.broadcast_to(np.asarray(margin, float), numbers.shape)
    with np.errstate(invalid="ignore"):
        at, below = (numbers >= top).tolist(), (numbers < low).tolist()
    out = np.zeros(numbers.shape, bool)
    state, run = False, 0
    for hour, (reached, under) in enumerate(zip(at, below, strict=True)):
        run = run + 1 if under else 0
        state = reached or (state and run < hours)
        out[hour] = state
    return out


def margin(limit: ArrayLike, least: float, rules: HysteresisRules) -> Floats:
    """Return how far below a limit a value must fall: the share of it, at least ``least``."""
    return np.maximum(np.asarray(limit, float) * rules.share, least)


def graded(stop: ArrayLike, caution: ArrayLike) -> tuple[Level, ...]:
    """Return levels from two masks."""
    return tuple(
        Level.STOP if high else Level.CAUTION if low else Level.WITHIN_LIMITS
        for high, low in zip(np.asarray(stop).tolist(), np.asarray(caution).tolist(), strict=True)
    )


def zero_runs(values: Floats, hours: int) -> Bools:
    """Mark runs of at least ``hours`` zeros: no forecast is that flat."""
    out = np.zeros(values.shape, bool)
    begin = None
    for hour, zero in enumerate([*(values == 0.0).tolist(), False]):
        if zero and begin is None:
            begin = hour
        elif not zero and begin is not None:
            if hour - begin >= hours:
                out[begin:hour] = True
            begin = None
    return out
