"""Scores sun and moon events against a table computed from the JPL ephemeris.

A folder with ``sun-moon-truth.csv`` (place, lat, lon, tz, local_date, one column an event with none, one or two ISO
times joined by ";") and ``moon-phases-truth.csv`` (phase, utc).
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from briefing.core.sky import SkyDay, moon_phase_instants, sky_day
from briefing.errors import InputError
from briefing.evaluate.rows import number, read_rows, text_table

#: Event as printed, column of the table, attribute of ``SkyDay``.
_EVENTS = (
    ("sunrise", "sunrise", "sunrise"),
    ("sunset", "sunset", "sunset"),
    ("civil_dawn", "civil_dawn", "civil_dawn"),
    ("civil_dusk", "civil_dusk", "civil_dusk"),
    ("solar_noon", "solar_noon", "solar_noon"),
    ("moonrise", "moonrise", "moonrise"),
    ("moonset", "moonset", "moonset"),
    ("upper_transit", "moon_upper_transit", "upper_transit"),
    ("lower_transit", "moon_lower_transit", "lower_transit"),
)
#: A computed event this near to one of the table is the same event.
_SAME = timedelta(hours=2)


@dataclass
class _Tally:
    errors_s: list[float] = field(default_factory=list)
    lost: int = 0
    extra: int = 0
    wrong_date: int = 0

    def add(self, found: Sequence[datetime], truth: Sequence[datetime]) -> None:
        left = list(found)
        for expected in truth:
            nearest = min(left, key=lambda when: abs(when - expected), default=None)
            if nearest is None or abs(nearest - expected) > _SAME:
                self.lost += 1
                continue
            left.remove(nearest)
            self.errors_s.append(abs((nearest - expected).total_seconds()))
        self.extra += len(left)

    def result(self) -> dict[str, Any]:
        return {
            "n": len(self.errors_s) + self.lost,
            "max_s": round(max(self.errors_s), 1) if self.errors_s else None,
            "median_s": round(statistics.median(self.errors_s), 1) if self.errors_s else None,
            "lost": self.lost,
            "extra": self.extra,
            "wrong_date": self.wrong_date,
        }


def run(path: Path) -> dict[str, Any]:
    """Score every event of the tables in folder ``path``; raise ``InputError`` when they can't be read."""
    events, values = _score_days(path / "sun-moon-truth.csv")
    return {"events": events, "phases": _score_phases(path / "moon-phases-truth.csv"), "values": values}


def _score_days(path: Path) -> tuple[dict[str, Any], dict[str, Any]]:
    needed = ("lat", "lon", "tz", "local_date", *(column for _, column, _ in _EVENTS))
    extras = ("illuminated_fraction_at_noon", "phase_angle", "moon_distance_km", "day_length_h")
    tallies = {name: _Tally() for name, _, _ in _EVENTS}
    gaps: dict[str, float] = {"illuminated_frac": 0.0, "elongation_deg": 0.0, "distance_km": 0.0, "day_length_h": 0.0}
    for line, row in enumerate(read_rows(path, (*needed, *extras)), start=2):
        zone, computed = _computed(path, line, row)
        for name, column, attribute in _EVENTS:
            truth = [_instant(path, line, text) for text in row[column].split(";") if text]
            events = getattr(computed, attribute)
            tallies[name].add(events, truth)
            tallies[name].wrong_date += sum(str(when.astimezone(zone).date()) != row["local_date"] for when in events)
        fraction, angle, distance, length = (number(path, line, row, column) for column in extras)
        turn = (computed.moon_elongation_deg - angle + 180.0) % 360.0 - 180.0
        found = (computed.illuminated_frac - fraction, turn, computed.moon_distance_km - distance)
        for name, gap in zip(gaps, (*found, computed.day_length_h - length), strict=True):
            gaps[name] = max(gaps[name], abs(gap))
    return {name: tally.result() for name, tally in tallies.items()}, {f"max_{k}": round(v, 5) for k, v in gaps.items()}


def _computed(path: Path, line: int, row: dict[str, str]) -> tuple[ZoneInfo, SkyDay]:
    try:
        zone, day = ZoneInfo(row["tz"]), date.fromisoformat(row["local_date"])
        return zone, sky_day(number(path, line, row, "lat"), number(path, line, row, "lon"), day, zone)
    except (ValueError, OverflowError, ZoneInfoNotFoundError) as error:
        raise InputError(f"{path}, row {line}: {error}") from error


def _instant(path: Path, line: int, text: str) -> datetime:
    try:
        when = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f'{path}, row {line}: "{text}" is not a time') from error
    if when.tzinfo is None:
        raise InputError(f'{path}, row {line}: "{text}" has no offset from UTC')
    return when.astimezone(UTC)


def _score_phases(path: Path) -> dict[str, Any]:
    rows = read_rows(path, ("phase", "utc"))
    truth = [(row["phase"], _instant(path, line, row["utc"])) for line, row in enumerate(rows, start=2)]
    times = [when for _, when in truth]
    first, last = min(times) - timedelta(days=1), max(times) + timedelta(days=1)
    found = moon_phase_instants(first, last)
    tally = _Tally()
    for name in sorted({name for name, _ in truth} | {name for name, _ in found}):
        mine, theirs = ([when for which, when in side if which == name] for side in (found, truth))
        tally.add(mine, theirs)
        tally.wrong_date += len({when.date() for when in mine} - {when.date() for when in theirs})
    return tally.result()


def table(result: dict[str, Any]) -> str:
    """Lay out one line an event, then the largest errors of the moon's values."""
    rows = [*result["events"].items(), ("moon phases", result["phases"])]
    columns = ("n", "max_s", "median_s", "lost", "extra", "wrong_date")
    lines = text_table(("event", *columns), [(name, *(score[c] for c in columns)) for name, score in rows])
    values = text_table(("value", "largest error"), result["values"].items())
    return f"{lines}\n\n{values}"
