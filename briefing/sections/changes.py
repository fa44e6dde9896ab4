"""What changed since the last briefing for the same day: material changes only, old value to new."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from briefing.sections.clock import clock
from briefing.sections.day import DaySection
from briefing.sections.hours import HoursSection
from briefing.sections.quantity import Quantity, SectionModel
from briefing.sections.words import LEVEL_WORD


class ChangesSection(SectionModel):
    """``compared_with`` is when the earlier briefing was made; None when there is none."""

    compared_with: datetime | None
    lines: tuple[str, ...]


@dataclass(frozen=True)
class ComparedBriefing:
    """The parts of an earlier briefing that are compared."""

    made_at: datetime
    day: DaySection
    hours: HoursSection
    official: tuple[str, ...]
    water: Quantity


def fill_changes(
    earlier: ComparedBriefing | None,
    day: DaySection,
    hours: HoursSection,
    official: Sequence[str],
    water: Quantity,
    now: datetime,
    zone: ZoneInfo,
) -> ChangesSection:
    """Compare with the last briefing for the same day; only material changes, old value to new."""
    if earlier is None:
        return ChangesSection(compared_with=None, lines=("No earlier briefing for this day to compare with.",))
    lines = _deadline_changes(earlier.day, day, zone)
    lines += _warning_changes(earlier.official, official)
    lines += _peak_changes(earlier.hours, hours)
    lines += _water_changes(earlier.water, water)
    when = clock(earlier.made_at, zone, now.astimezone(zone).date())
    return ChangesSection(compared_with=earlier.made_at, lines=tuple(lines) or (f"No important change since {when}.",))


def _deadline_changes(old: DaySection, new: DaySection, zone: ZoneInfo) -> list[str]:
    def words(at: datetime | None) -> str:
        return "none" if at is None else clock(at, zone)

    lines = []
    if old.level is not new.level:
        lines.append(f"Your hours: {LEVEL_WORD[old.level]} before, {LEVEL_WORD[new.level]} now.")
    moved = (
        old.off_water_by is None
        or new.off_water_by is None
        or abs((old.off_water_by - new.off_water_by).total_seconds()) >= 15 * 60
    )
    if moved and old.off_water_by != new.off_water_by:
        lines.append(f"Off the water by: {words(old.off_water_by)} before, {words(new.off_water_by)} now.")
    return lines


def _warning_changes(old: Sequence[str], new: Sequence[str]) -> list[str]:
    lines = [f"New official warning: {event}." for event in dict.fromkeys(new) if event not in old]
    lines += [
        f"No longer listed: {event}. That alone is no all-clear." for event in dict.fromkeys(old) if event not in new
    ]
    return lines


#: A peak gust that moves by less than this is no news (m/s, and share of the old one).
_GUST_STEP_MPS, _GUST_STEP_SHARE = 2.2, 0.15


def _peak_changes(old: HoursSection, new: HoursSection) -> list[str]:
    peaks = []
    for section in (old, new):
        rows = [row for row in section.rows if row.gust_mps is not None]
        peaks.append(max(rows, key=lambda row: row.gust_mps or 0.0, default=None))
    before, after = peaks
    if before is None or after is None:
        return [] if before is after else ["Gusts: known in only one of the two briefings."]
    step = (after.gust_mps or 0.0) - (before.gust_mps or 0.0)
    if abs(step) < max(_GUST_STEP_MPS, _GUST_STEP_SHARE * (before.gust_mps or 0.0)):
        return []
    unit = "mph" if "mph" in new.units_text else "m/s"
    was, now = (f"{row.gust_text} {unit} at {row.clock}" for row in (before, after))
    return [f"Strongest gust: {was} before, {now} now."]


def _water_changes(old: Quantity, new: Quantity) -> list[str]:
    if old.value is None or new.value is None or abs(old.value - new.value) < 1.0:
        return []
    return [f"Water, main lake: {old.text} before, {new.text} now."]
