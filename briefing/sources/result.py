"""What a parser of hourly values returns, and the rule that a gust is never below its wind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from briefing.core.hours import Floats, HourField, HourSeries, Origin
from briefing.sources.intervals import Bools, Piece, full_hour
from briefing.sources.moisture import moisture_doubts, with_sound_moisture
from briefing.sources.tables import gust_rule

LONGEST = timedelta(days=16)  # no hourly forecast reaches further; a longer one is cut
PAST = timedelta(days=2)
#: A gust this far below its wind is more than rounding.
_BELOW_MPS = 0.5
#: A wind under this share of strong gusts can hardly be true.
_STILL_SHARE, _STRONG_MPS = 0.1, 8.0
GUST_NOTE = "gust raised to the sustained wind, the forecast gave less"


@dataclass(frozen=True)
class ParsedHours:
    """Hourly values of one body. ``series`` is None when nothing could be used.

    ``problems`` and ``doubts`` are whole sentences: why nothing was used, and what of a used one counts as not given.
    ``heat_doubts``: why the heat of some hours is in doubt.
    """

    series: HourSeries | None
    issued: datetime | None
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    heat_doubts: tuple[str, ...] = ()


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


def issued_no_later(series: HourSeries, instant: datetime) -> HourSeries:
    """Date the values of a series back to ``instant`` where they claim to be newer."""

    def dated(origin: Origin) -> Origin:
        return origin if origin.issued is None or origin.issued <= instant else replace(origin, issued=instant)

    fields = {
        name: replace(field, origins=tuple(dated(origin) for origin in field.origins))
        for name, field in series.fields.items()
    }
    return replace(series, fields=fields)


def gust_doubts(name: str, series: HourSeries, since: datetime) -> tuple[str, ...]:
    """Say that a forecast as sent gives no true gust in hours from ``since`` on; empty where it does."""
    ahead = np.arange(series.hours) >= series.index_of(since)
    gust, wind = series.values("gust_mps"), series.values("wind_mps")
    empty = gust_rule().impossible(gust, wind) & ahead
    with np.errstate(invalid="ignore"):
        below = (gust < wind - _BELOW_MPS) & (wind > gust_rule().wind_mps) & ahead & ~empty
        still = (wind < _STILL_SHARE * gust) & (gust >= _STRONG_MPS) & ahead
    out = []
    if still.any():
        out.append(f"wind of about 0 beside strong gusts, in {int(still.sum())} of its hours: in doubt.")
    if empty.any():
        out.append(
            f"gusts of about 0 beside a wind that blows, in {empty.sum()} of its hours; they count as not given."
        )
    if below.any():
        out.append(f"gusts below its own wind, in {below.sum()} of its hours: in doubt, the wind stands in for them.")
    return tuple(f"{name}: {one}" for one in out)


def without_empty_gusts(series: HourSeries, wind_mps: Floats) -> HourSeries:
    """Take gusts of about zero beside a wind that blows out: nothing was given, so that other rules may fill it."""
    return _without_gusts(series, gust_rule().not_given(series.values("gust_mps"), wind_mps))


def _without_gusts(series: HourSeries, empty: Bools) -> HourSeries:
    gust = series["gust_mps"]
    if not empty.any():
        return series
    index = np.where(empty, -1, gust.origin_index).astype(np.int16)
    field = replace(gust, values=np.where(empty, np.nan, gust.values), origin_index=index)
    return replace(series, fields={**series.fields, "gust_mps": field})


def with_own_gust(series: HourSeries, note: str) -> HourSeries:
    """Return what one body gave with its effective gusts: those that can't be beside its own wind are taken out."""
    return with_effective_gust(
        _without_gusts(series, gust_rule().impossible(series.values("gust_mps"), series.values("wind_mps"))), note
    )


def with_effective_gust(series: HourSeries, note: str) -> HourSeries:
    """Raise gusts below the sustained wind to the wind: models are known to give such gusts; ``note`` says so.

    A gust of about zero beside a wind that blows is no such gust: it is taken out first.
    """
    series = without_empty_gusts(series, series.values("wind_mps"))
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


def judged_hours(
    name: str, series: HourSeries, issued: datetime, since: datetime, notes: Sequence[str], gust_note: str
) -> ParsedHours:
    """Return the hours of one body with what contradicts itself in them taken out, and what is to be said from then on.

    ``name`` is how the reader knows the source, ``since`` the first hour that counts for what is said.
    """
    return ParsedHours(
        with_own_gust(with_sound_moisture(series), gust_note),
        issued,
        (),
        tuple(notes),
        gust_doubts(name, series, since),
        moisture_doubts(name, series, since),
    )
