"""The log as CSV: one row a segment, blanks included; written and read with the same columns.

============ ======================================================================================================
column       content
============ ======================================================================================================
date         local date of the end, 2026-04-18 (needed)
start, end   local clock times, 06:50; end may be left out when start and minutes are there, and the other way round
minutes      effort; empty: not known, and nothing is learned from the row
spot         your name for it
cover        one of the cover ids, such as grass_dense
depth_m      depth fished
presentation one of the presentation ids, such as bladed_swim_jig
weight_g     of the lure
fish         number landed (needed; 0 is a blank)
lengths_cm   of the fish, separated by spaces
weights_g    of the fish, separated by spaces
contacts     bites and lost fish besides
follows      fish that followed only
phase        season at the time: one of the phase ids
secchi_m     visibility at the time
water_c      water temperature at the time
wind_mps     wind at the time
latitude, longitude   rounded to 0.01 degree (about 1 km) unless exact positions were asked for
effort       how the minutes are known (written only): clocked, stated, halfway, unknown
note         your own words
============ ======================================================================================================

Numbers have a decimal point. Columns may stand in any order, and those not needed may be missing.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import TypeVar

from briefing.core.log.line import DEPTH_M, FISH_LENGTH_M, FISH_WEIGHT_G, LURE_WEIGHT_G, MOST_FISH
from briefing.core.log.records import Condition, Fish, Mark, MarkKind, Segment
from briefing.vocabulary import Cover, Phase

Kind = TypeVar("Kind", Cover, Phase)

COLUMNS = (
    *("date", "start", "end", "minutes", "spot", "cover", "depth_m", "presentation", "weight_g", "fish", "lengths_cm"),
    *("weights_g", "contacts", "follows", "phase", "secchi_m", "water_c", "wind_mps", "latitude", "longitude"),
    *("effort", "note"),
)
NEEDED = ("date", "fish")
LARGEST = 5_000_000
_CONDITIONS = {"phase": "phase", "secchi_m": "secchi_m", "water_c": "water_c", "wind_mps": "wind_mps"}
#: A cell that a spreadsheet would run as a formula is written with an apostrophe before it.
_FORMULA = ("=", "+", "-", "@")


@dataclass(frozen=True, slots=True)
class BadLine:
    """A line that can't be taken, by its number in the file (the head is line 1), and why."""

    line: int
    why: str


@dataclass(frozen=True)
class ReadTable:
    """Good rows as marks that stand alone, and the lines that are not."""

    marks: tuple[Mark, ...]
    bad: tuple[BadLine, ...]


def write_table(segments: Iterable[Segment], zone: tzinfo, *, shared: bool = False, exact: bool = False) -> str:
    """Write segments as CSV. shared: for other people, without spots, notes, positions and clock times, dates as the
    Monday of their week; exact: positions as stored, else rounded to 0.01 degree."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for segment in segments:
        writer.writerow(_row(segment, zone, shared, exact))
    return out.getvalue()


def _row(segment: Segment, zone: tzinfo, shared: bool, exact: bool) -> dict[str, str]:
    begin, end = segment.start.astimezone(zone), segment.end.astimezone(zone)
    day = end.date()
    row = {
        "date": (day - timedelta(days=day.weekday())).isoformat() if shared else day.isoformat(),
        "minutes": _plain(segment.minutes),
        "cover": segment.cover.value if segment.cover else "",
        "depth_m": _plain(segment.depth_m),
        "presentation": segment.presentation,
        "weight_g": _plain(segment.weight_g),
        "fish": str(len(segment.fish)),
        "lengths_cm": " ".join(
            _plain(None if one.length_m is None else one.length_m * 100) or "?" for one in segment.fish
        ),
        "weights_g": " ".join(_plain(one.weight_g) or "?" for one in segment.fish),
        "contacts": str(segment.contacts),
        "follows": str(segment.follows),
        "effort": segment.effort,
    }
    for column in ("lengths_cm", "weights_g"):
        row[column] = "" if not row[column].replace("?", "").strip() else row[column]
    row |= {column: _told(segment.conditions, name) for column, name in _CONDITIONS.items()}
    if shared:
        return row
    row |= {"start": f"{begin:%H:%M}", "end": f"{end:%H:%M}"}
    row |= {"spot": _quiet(segment.spot), "note": _quiet(segment.note)}
    if segment.position is not None:
        places = 6 if exact else 2
        row |= {
            "latitude": f"{segment.position[0]:.{places}f}",
            "longitude": f"{segment.position[1]:.{places}f}",
        }
    return row


def _told(conditions: Mapping[str, Condition], name: str) -> str:
    known = conditions.get(name)
    if known is None:
        return ""
    return known.value if isinstance(known.value, str) else _plain(known.value)


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:.3f}".rstrip("0").rstrip(".")


def _length(fish: Fish) -> str:
    return "" if fish.length_m is None else _plain(fish.length_m * 100.0)


def _quiet(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA) else text


def read_table(text: str, zone: tzinfo, now: datetime, presentations: Collection[str], name: str = "file") -> ReadTable:
    """Read a table. Every line is judged on its own: a bad one is told with its number, the others are taken.

    Raises ValueError with one sentence when it is no such table at all.
    """
    if len(text) > LARGEST:
        raise ValueError(f"{name} is too large for a log ({len(text) // 1_000_000} MB; at most 5 MB).")
    try:
        reader = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""), strict=True)
        head = [cell.strip().lower() for cell in next(reader)]
    except (StopIteration, csv.Error):
        raise ValueError(
            f"{name} holds no table; its first line must name the columns, such as {','.join(NEEDED)}."
        ) from None
    missing = [column for column in NEEDED if column not in head]
    if missing or len(set(head)) != len(head):
        raise ValueError(f"{name}: the first line must name each column once, with {' and '.join(missing or NEEDED)}.")
    unknown = [cell for cell in head if cell not in COLUMNS]
    if unknown:
        raise ValueError(f"{name}: unknown columns {', '.join(unknown)}; known are {', '.join(COLUMNS)}.")
    marks: list[Mark] = []
    bad: list[BadLine] = []
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            break
        except csv.Error as error:
            bad.append(BadLine(line, f"the line is broken ({error})"))
            continue
        if not any(cell.strip() for cell in cells):
            continue
        try:
            if len(cells) != len(head):
                raise ValueError(f"{len(cells)} cells where the head has {len(head)}")
            marks.append(
                _mark({key: cell.strip() for key, cell in zip(head, cells, strict=True)}, zone, now, presentations)
            )
        except ValueError as error:
            bad.append(BadLine(line, str(error)))
    return ReadTable(tuple(marks), tuple(bad))


def _mark(row: Mapping[str, str], zone: tzinfo, now: datetime, presentations: Collection[str]) -> Mark:
    end, minutes = _when(row, zone)
    if end > now:
        raise ValueError(f"{row['date']} lies in the future")
    presentation = row.get("presentation", "")
    if presentation and presentation not in presentations:
        raise ValueError(f"unknown presentation {presentation!r}")
    return Mark(
        kind=MarkKind.MARK,
        time=end,
        spot=row.get("spot", "").removeprefix("'")[:80],
        cover=_one_of(Cover, row.get("cover", ""), "cover"),
        depth_m=_number(row, "depth_m", *DEPTH_M),
        presentation=presentation,
        weight_g=_number(row, "weight_g", *LURE_WEIGHT_G),
        fish=_fish(row),
        contacts=_whole(row, "contacts"),
        follows=_whole(row, "follows"),
        minutes=minutes,
        position=_position(row),
        conditions=_conditions(row),
        note=row.get("note", "").removeprefix("'")[:1000],
    )


def _when(row: Mapping[str, str], zone: tzinfo) -> tuple[datetime, float | None]:
    """End and minutes; a row without a clock ends at noon, for its hour is not known."""
    try:
        day = date.fromisoformat(row["date"])
    except ValueError:
        raise ValueError(f"{row['date']!r} is no date; write 2026-04-18") from None
    begin, end = (_clock(row.get(name, ""), name) for name in ("start", "end"))
    minutes = _number(row, "minutes", 0.5, 16 * 60.0)
    if begin is not None and end is not None and minutes is None:
        span = (end.hour - begin.hour) * 60.0 + end.minute - begin.minute
        minutes = span if span > 0 else span + 24 * 60.0
        if minutes > 16 * 60.0:
            raise ValueError("start to end is more than 16 h")
    at = datetime.combine(day, end or begin or time(12), tzinfo=zone).astimezone(UTC)
    if end is None and begin is not None and minutes is not None:
        at += timedelta(minutes=minutes)
    return at, minutes


def _clock(text: str, name: str) -> time | None:
    if not text:
        return None
    try:
        hour, minute = text.split(":")
        return time(int(hour), int(minute))
    except ValueError:
        raise ValueError(f"{name} {text!r} is no clock time; write 06:50") from None


def _number(row: Mapping[str, str], name: str, low: float, high: float) -> float | None:
    text = row.get(name, "")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"{name} {text!r} is no number") from None
    if not math.isfinite(value) or not low <= value <= high:
        raise ValueError(f"{name} {text!r} is not between {low:g} and {high:g}")
    return value


def _whole(row: Mapping[str, str], name: str) -> int:
    value = _number(row, name, 0.0, MOST_FISH)
    if value is None:
        return 0
    if value != int(value):
        raise ValueError(f"{name} {row[name]!r} is no whole number")
    return int(value)


def _fish(row: Mapping[str, str]) -> tuple[Fish, ...]:
    if not row["fish"]:
        raise ValueError("fish is empty; write 0 for a blank")
    count = _whole(row, "fish")
    lengths = _listed(row, "lengths_cm", 100.0 * FISH_LENGTH_M[0], 100.0 * FISH_LENGTH_M[1])
    weights = _listed(row, "weights_g", *FISH_WEIGHT_G)
    if max(len(lengths), len(weights)) > count:
        raise ValueError(f"more lengths or weights than fish ({count})")
    out = []
    for n in range(count):
        length = lengths[n] if n < len(lengths) else None
        weight = weights[n] if n < len(weights) else None
        out.append(Fish(None if length is None else round(length / 100.0, 5), weight))
    return tuple(out)


def _listed(row: Mapping[str, str], name: str, low: float, high: float) -> list[float | None]:
    """Numbers of a cell; ``?`` is a fish that was not measured."""
    return [None if text == "?" else _number({name: text}, name, low, high) for text in row.get(name, "").split()]


def _position(row: Mapping[str, str]) -> tuple[float, float] | None:
    latitude, longitude = _number(row, "latitude", -90.0, 90.0), _number(row, "longitude", -180.0, 180.0)
    if (latitude is None) != (longitude is None):
        raise ValueError("latitude and longitude belong together")
    return None if latitude is None or longitude is None else (latitude, longitude)


def _conditions(row: Mapping[str, str]) -> dict[str, Condition]:
    out: dict[str, Condition] = {}
    phase = _one_of(Phase, row.get("phase", ""), "phase")
    if phase is not None:
        out["phase"] = Condition(phase.value, "entered", "your table")
    for name, low, high in (("secchi_m", 0.0, 25.0), ("water_c", -2.0, 42.0), ("wind_mps", 0.0, 60.0)):
        value = _number(row, name, low, high)
        if value is not None:
            out[name] = Condition(value, "entered", "your table")
    return out


def _one_of(kind: type[Kind], text: str, what: str) -> Kind | None:
    if not text:
        return None
    try:
        return kind(text)
    except ValueError:
        raise ValueError(f"unknown {what} {text!r}; known are {', '.join(kind)}") from None
