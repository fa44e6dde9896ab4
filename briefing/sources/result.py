"""What a parser of hourly values returns, and the rule that a gust is never below its wind."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from briefing.core.hours import Floats, HourField, HourSeries, Origin
from briefing.sources.intervals import Bools, Piece, full_hour

LONGEST = timedelta(days=16)  # no hourly forecast reaches further; a longer one is cut
PAST = timedelta(days=2)
GUST_NOTE = "gust raised to the sustained wind, the forecast gave less"


@dataclass(frozen=True)
class ParsedHours:
    """Hourly values of one body. ``series`` is None when nothing could be used; ``problems`` are whole sentences."""

    series: HourSeries | None
    issued: datetime | None
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def field_with(values: Floats, damaged: Bools, origin: Origin) -> HourField:
    """Make a field of one origin; a damaged hour holds no value."""
    values = np.where(damaged, np.nan, values)
    return HourField(values, np.where(np.isnan(values), -1, 0).astype(np.int16), (origin,), damaged)


def extent(pieces: list[Piece], window: tuple[datetime, datetime]) -> tuple[datetime, int]:
    """First full hour and number of hours that the pieces cover inside ``window``; zero hours when none does."""
    inside = [piece for piece in pieces if piece.end > max(piece.start, window[0]) and piece.start < window[1]]
    if not inside:
        return window[0], 0
    begin = max(window[0], full_hour(min(piece.start for piece in inside)))
    end = min(window[1], max(piece.end for piece in inside))
    return begin, -((begin - end) // timedelta(hours=1))


def all_damaged(hours: int) -> HourField:
    """Make a field that was sent but can't be read in any hour."""
    nothing = np.full(hours, np.nan)
    return HourField(nothing, np.full(hours, -1, np.int16), (), np.ones(hours, bool))


def with_effective_gust(series: HourSeries, note: str) -> HourSeries:
    """Raise gusts below the sustained wind to the wind: models are known to give such gusts; ``note`` says so."""
    gust, wind = series["gust_mps"], series.values("wind_mps")
    with np.errstate(invalid="ignore"):
        low = gust.values < wind
    if not low.any():
        return series
    raised = tuple(replace(origin, note=_joined(origin.note, note)) for origin in gust.origins)
    index = np.where(low, gust.origin_index + len(gust.origins), gust.origin_index).astype(np.int16)
    field = replace(gust, values=np.where(low, wind, gust.values), origin_index=index, origins=gust.origins + raised)
    return replace(series, fields={**series.fields, "gust_mps": field})


def _joined(first: str, second: str) -> str:
    return f"{first}; {second}" if first else second
