"""ISO 8601 durations and intervals, and their spread over full hours."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from briefing.core.hours import Floats
from briefing.sources.bodies import NAN, read_instant

Bools = NDArray[np.bool_]

_DURATION = re.compile(
    r"P(?:(?P<w>\d{1,4})W)?(?:(?P<d>\d{1,5})D)?"
    r"(?:T(?=\d)(?:(?P<h>\d{1,6})H)?(?:(?P<m>\d{1,7})M)?(?:(?P<s>\d{1,8})(?:[.,]\d{1,9})?S)?)?"
)
_MINUTE = timedelta(minutes=1)
_WHOLE = (1 << 60) - 1
#: Two values of one time agree within this much (C, %, degrees), or this share of the larger.
_ALIKE, _ALIKE_SHARE = 3.0, 0.1


def read_duration(value: str) -> timedelta | None:
    """Read weeks, days, hours, minutes, seconds (``P3DT23H``); None for months, years and anything else."""
    match = _DURATION.fullmatch(value.strip())
    if match is None or not any(match.groupdict().values()):
        return None
    parts = {name: int(number or 0) for name, number in match.groupdict().items()}
    return timedelta(weeks=parts["w"], days=parts["d"], hours=parts["h"], minutes=parts["m"], seconds=parts["s"])


def read_interval(value: object, now: datetime | None = None) -> tuple[datetime, datetime] | None:
    """Read start/duration, start/end or duration/end as two UTC instants; ``NOW`` counts when ``now`` is given.

    The end may lie at the start: an empty interval, which the caller skips. None when it can't be read, as when the end
    given lies before the start.
    """
    if not isinstance(value, str) or value.count("/") != 1 or len(value) > 80:
        return None
    first, last = value.split("/")
    start, end = _instant(first, now), _instant(last, now)
    try:
        if start is not None and end is not None:
            return None if end < start else (start, end)
        length = read_duration(last if start is not None else first)
        if length is None:
            return None
        if start is not None:
            return start, start + length
        return None if end is None else (end - length, end)
    except OverflowError:
        return None


def _instant(value: str, now: datetime | None) -> datetime | None:
    return now if value.strip().upper() == "NOW" else read_instant(value)


@dataclass(frozen=True, slots=True)
class Piece:
    """A value over [start, end); NaN is missing, unless ``damaged``."""

    start: datetime
    end: datetime
    value: float
    damaged: bool = False


def spread(pieces: Sequence[Piece], begin: datetime, hours: int, mode: str) -> tuple[Floats, Bools]:
    """Spread pieces over full hours from ``begin``: values and damage marks, each of shape (hours,).

    Where pieces overlap, the one that starts later stands for the time they share. An hour that several pieces share
    takes by ``mode``: ``max`` or ``min`` (the harsher value), ``sum`` (totals, by share of time) or ``most`` (the piece
    with most of the hour; two of the same time that differ damage it). A damaged piece damages each hour that it has a
    share in.
    """
    by_hour: dict[int, list[tuple[Piece, int]]] = {}
    for piece in sorted(pieces, key=lambda item: item.start):
        for index, mask in _shares(piece, begin, hours):
            by_hour.setdefault(index, []).append((piece, mask))
    values, damaged = np.full(hours, NAN), np.zeros(hours, bool)
    for index, shared in by_hour.items():
        values[index], damaged[index] = _resolve(_own(shared), mode)
    return values, damaged


def _shares(piece: Piece, begin: datetime, hours: int) -> list[tuple[int, int]]:
    """Hours that a piece touches, each with the minutes it covers as a bit mask."""
    if piece.end <= piece.start:
        return []
    start, end = (piece.start - begin) // _MINUTE, -((begin - piece.end) // _MINUTE)
    out = []
    for index in range(max(0, start // 60), min(hours, -(-end // 60))):
        low, high = max(0, start - 60 * index), min(60, end - 60 * index)
        out.append((index, _WHOLE if high - low == 60 else ((1 << (high - low)) - 1) << low))
    return out


def _own(shared: list[tuple[Piece, int]]) -> list[tuple[Piece, int]]:
    """Minutes that each piece keeps after later starts took theirs; equal starts keep both."""
    if len(shared) == 1:
        return [(shared[0][0], shared[0][1].bit_count())]
    out, taken, group, start = [], 0, 0, None
    for piece, mask in reversed(shared):
        if piece.start != start:
            taken, group, start = taken | group, 0, piece.start
        group |= mask
        minutes = (mask & ~taken).bit_count()
        if minutes:
            out.append((piece, minutes))
    return out


def _resolve(own: list[tuple[Piece, int]], mode: str) -> tuple[float, bool]:
    if len(own) == 1:
        piece, minutes = own[0]
        value = NAN if piece.damaged else piece.value
        return (value * minutes / 60.0 if mode == "sum" else value), piece.damaged
    if any(piece.damaged for piece, _ in own):
        return NAN, True
    known = [(piece.value, minutes) for piece, minutes in own if piece.value == piece.value]
    if not known:
        return NAN, False
    if mode == "sum":
        return sum(value * minutes / 60.0 for value, minutes in known), False
    if mode == "most":
        if _contradict([piece for piece, _ in own]):
            return NAN, True
        return max(known, key=lambda pair: pair[1])[0], False
    found = [value for value, _ in known]
    return (max(found) if mode == "max" else min(found)), False


def _contradict(pieces: Sequence[Piece]) -> bool:
    """Tell whether two pieces of the same time hold clearly different values: nobody knows which is true.

    Offices do send an hour twice with a number or two between the values, which matters to nobody.
    """
    said: dict[tuple[datetime, datetime], float] = {}
    for piece in pieces:
        if piece.value == piece.value:
            first = said.setdefault((piece.start, piece.end), piece.value)
            if abs(first - piece.value) > max(_ALIKE, _ALIKE_SHARE * max(abs(first), abs(piece.value))):
                return True
    return False


def full_hour(instant: datetime) -> datetime:
    """Return the start of the UTC hour that holds ``instant``."""
    return instant.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
