"""Checks the planner against every minute of real time: each local date of every zone gets each wall time exactly once.

The reference does not plan: it walks all minutes of UTC around a clock change, reads the local wall time of each, and
takes the first one of a date. ``python -m briefing.tools.check_planner`` runs all zones of the IANA database.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
from numpy.typing import NDArray

from briefing.app.planner import due

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MINUTES = 1440
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class ZoneReport:
    """What a zone's check found: clock changes, dates, wall times tried, and sentences about what was wrong."""

    zone: str
    changes: int
    dates: int
    cases: int
    faults: tuple[str, ...]


@dataclass(frozen=True)
class Offsets:
    """A zone's offsets from UTC in minutes: ``offsets[n]`` holds from ``starts[n]`` (minutes since 1970) on."""

    starts: Ints
    offsets: Ints

    def at(self, minutes: Ints) -> Ints:
        """Offsets at instants, minutes since 1970."""
        return self.offsets[np.searchsorted(self.starts, minutes, side="right") - 1]


def offsets_of(zone: ZoneInfo, first_year: int, years: int) -> Offsets:
    """Find a zone's clock changes by looking at every sixth hour and halving between."""
    begin = _minutes(datetime(first_year, 1, 1, tzinfo=UTC)) - 3 * MINUTES
    end = _minutes(datetime(first_year + years, 1, 1, tzinfo=UTC)) + 3 * MINUTES
    starts, offsets = [begin], [_offset(zone, begin)]
    for at in range(begin + 360, end, 360):
        if _offset(zone, at) != offsets[-1]:
            low, high = at - 360, at
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (middle, high) if _offset(zone, middle) == offsets[-1] else (low, middle)
            starts.append(high)
            offsets.append(_offset(zone, high))
    return Offsets(np.array(starts), np.array(offsets))


def check_zone(name: str, first_year: int, years: int = 2) -> ZoneReport:
    """Try every wall time of every date within a day of a clock change."""
    zone = ZoneInfo(name)
    table = offsets_of(zone, first_year, years)
    days = sorted(
        {
            (EPOCH + timedelta(minutes=int(start + offset)) + timedelta(days=n)).date()
            for start, *offsets in zip(table.starts[1:], table.offsets[1:], table.offsets[:-1], strict=True)
            for offset in offsets
            for n in (-1, 0, 1)
        }
    )
    faults: list[str] = []
    before: tuple[date, Ints] | None = None
    for day in days:
        planned = [due(day, minute, zone) for minute in range(MINUTES)]
        missing = sum(one is None for one in planned)
        if missing == MINUTES and not _exists(table, day):
            continue
        if missing:
            faults.append(f"{name} {day}: {missing} wall times without an instant")
            continue
        instants = np.array([_minutes(one) for one in planned if one is not None])
        faults += _faults(name, day, instants, table)
        if before is not None and before[0] == day - timedelta(days=1) and not (instants > before[1]).all():
            faults.append(f"{name} {day}: not after the day before")
        before = (day, instants)
    return ZoneReport(name, len(table.starts) - 1, len(days), len(days) * MINUTES, tuple(faults))


def _faults(name: str, day: date, instants: Ints, table: Offsets) -> list[str]:
    first = _walls(table, day)
    shown = (instants + table.at(instants)) - _day_start(day)
    faults = []
    if ((shown < 0) | (shown >= MINUTES)).any():
        faults.append(f"{name} {day}: an instant lies on another date")
    there = first >= 0
    if (instants[there] != first[there]).any():
        faults.append(f"{name} {day}: not the first pass of a wall time")
    moved = shown[~there] - np.flatnonzero(~there)
    if moved.size and (len(set(moved.tolist())) != 1 or moved[0] == 0):
        faults.append(f"{name} {day}: times in the gap are moved by {sorted(set(moved.tolist()))} minutes")
    return faults


def _walls(table: Offsets, day: date) -> Ints:
    """First UTC minute that shows each wall time of a date; -1 for wall times that are skipped."""
    start = _day_start(day)
    utc = np.arange(start - 27 * 60, start + MINUTES + 27 * 60)
    wall = utc + table.at(utc) - start
    first = np.full(MINUTES, -1, np.int64)
    inside = (wall >= 0) & (wall < MINUTES)
    values, index = np.unique(wall[inside], return_index=True)
    first[values] = utc[inside][index]
    return first


def _exists(table: Offsets, day: date) -> bool:
    return bool((_walls(table, day) >= 0).any())


def _day_start(day: date) -> int:
    return (day - EPOCH.date()).days * MINUTES


def _minutes(instant: datetime) -> int:
    return int((instant - EPOCH).total_seconds()) // 60


def _offset(zone: ZoneInfo, minutes: int) -> int:
    offset = (EPOCH + timedelta(minutes=minutes)).astimezone(zone).utcoffset()
    assert offset is not None
    return int(offset.total_seconds()) // 60


def check_all(names: Iterable[str], first_year: int = 2026, years: int = 2) -> list[ZoneReport]:
    """Check some zones."""
    return [check_zone(name, first_year, years) for name in names]


def main(names: Sequence[str] = ()) -> int:
    """Check all zones and print one line; faults, if any, below."""
    began = time.perf_counter()
    reports = check_all(names or sorted(available_timezones()))
    faults = [fault for report in reports for fault in report.faults]
    changing = sum(report.changes > 0 for report in reports)
    print(
        f"planner: {len(reports)} zones, {changing} with clock changes, {sum(r.changes for r in reports)} changes, "
        f"{sum(r.dates for r in reports)} dates, {sum(r.cases for r in reports)} wall times, {len(faults)} faults, "
        f"{time.perf_counter() - began:.0f} s"
    )
    print("\n".join(faults[:50]), end="\n" if faults else "")
    return 1 if faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
