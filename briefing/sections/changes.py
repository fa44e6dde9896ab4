"""What changed since the last briefing for the same day: material changes only, old value to new."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo

from briefing.core.record import MorningRecord, Moved, PeakGust, SurfaceWater, Uncompared, moved
from briefing.core.wind.words import speed_beside
from briefing.sections.clock import clock, rounded_down
from briefing.sections.quantity import SectionModel
from briefing.sections.words import LEVEL_WORD, listed, listed_few, lower_first, upper_first
from briefing.units import Units, show_temperature, show_temperature_range

#: Kinds of hazard that gusts told beside them speak of.
WITH_GUSTS = ("wind", "gusts", "waves")


class ChangesSection(SectionModel):
    """``compared_with`` is when the earlier briefing was made; None when nothing was compared.

    ``short`` is the most important change in a few words, with how many others there are.
    """

    compared_with: datetime | None
    short: str
    lines: tuple[str, ...]


_UNCOMPARED = {
    Uncompared.UNREADABLE: "its figures could not be read",
    Uncompared.OTHER_VERSION: "another version of this program kept its figures",
    Uncompared.WITHOUT_FACTS: "an older version of this program made it, without the figures that are compared",
}


def fill_changes(
    earlier: MorningRecord | Uncompared | None,
    new: MorningRecord,
    *,
    zone: ZoneInfo,
    units: Units,
    gust_limits_mps: Sequence[float] = (),
    because: Sequence[str] = (),
    over: bool = False,
) -> ChangesSection:
    """Say what changed from the earlier morning to the new one; why not, where the earlier one can't be compared.

    Gusts are written beside the limits in use, as in the table, so that none reads as on the other side of one.
    ``because`` are the kinds of hazard that decide the new morning, worst first; ``over``: no hours are left of it.
    """
    if over:
        return ChangesSection(
            compared_with=None, short="no hours are left to compare", lines=("No hours are left to compare.",)
        )
    if earlier is None:
        return ChangesSection(
            compared_with=None,
            short="first briefing for this day",
            lines=("First briefing for this day: what changed is not known.",),
        )
    if isinstance(earlier, Uncompared):
        why = _UNCOMPARED[earlier]
        line = f"Not compared with the last briefing for this day: {why}. What has changed since is not known."
        return ChangesSection(
            compared_with=None, short="what changed is not known: the last briefing can't be compared", lines=(line,)
        )
    tell = {
        Moved.LEVEL: lambda: [_hours(earlier, new, because)],
        Moved.OFF_WATER_BY: lambda: [_deadline(earlier.off_water_by, new.off_water_by, zone)],
        Moved.OFFICIAL: lambda: _warnings(earlier.official, new.official),
        Moved.GUST: lambda: [_gust(earlier.gust, new.gust, zone, new.day, units, gust_limits_mps)],
        Moved.WATER: lambda: [_water(earlier.water, new.water, units)],
    }
    kinds = list(moved(earlier, new))
    gusts = "" if Moved.LEVEL not in kinds else _with_gusts(earlier, new, units, gust_limits_mps)
    if gusts and Moved.GUST not in kinds:
        kinds.insert(kinds.index(Moved.LEVEL) + 1, Moved.GUST)  # a level that moved says by how much wind
    if Moved.OFFICIAL in kinds and Moved.LEVEL not in kinds and set(new.official) - set(earlier.official):
        kinds.sort(key=lambda kind: kind is not Moved.OFFICIAL)  # a new warning before what may have eased
    lines = [line for kind in kinds for line in tell[kind]()]
    when = clock(earlier.made_at, zone, new.made_at.astimezone(zone).date())
    if not lines:
        told = f"no important change since {when}"
        return ChangesSection(compared_with=earlier.made_at, short=told, lines=(f"{upper_first(told)}.",))
    said, parts = 1, [lower_first(lines[0].rstrip("."))]
    if Moved.LEVEL in kinds:
        said += bool(gusts)
        wind = bool(gusts) and because[:1] and because[0] in WITH_GUSTS  # then the gusts say what did it
        parts = [f"{_level_words(earlier, new, () if wind else because)}{f'; {gusts}' if gusts else ''}"]
    named = [event for event in dict.fromkeys(new.official) if event not in earlier.official]
    if named and kinds[0] is not Moved.OFFICIAL:  # what can stop an outing is named, not counted
        unsaid = [event for event in named if event not in because[:1]]
        parts += [f"new: {listed_few(unsaid, 2)}"] if unsaid else []
        said += len(named)
    parts += [f"{len(lines) - said} more below"] if len(lines) > said else []
    return ChangesSection(compared_with=earlier.made_at, short="; ".join(parts), lines=tuple(lines))


def _level_words(old: MorningRecord, new: MorningRecord, because: Sequence[str]) -> str:
    """A level that moved in few words; one that got worse with what did it."""
    why = f" ({because[0]})" if because and new.level.rank > old.level.rank else ""
    return f"{LEVEL_WORD[new.level]} now{why}, before {LEVEL_WORD[old.level]}"


def _hours(old: MorningRecord, new: MorningRecord, because: Sequence[str]) -> str:
    why = f" ({listed(list(because))})" if because and new.level.rank > old.level.rank else ""
    return f"Your hours: {LEVEL_WORD[old.level]} before, {LEVEL_WORD[new.level]} now{why}."


def _with_gusts(old: MorningRecord, new: MorningRecord, units: Units, limits_mps: Sequence[float]) -> str:
    """The strongest gusts now and before, where they went the way that the level did; else they are not why."""
    if old.gust is None or new.gust is None:
        return ""
    worse = new.level.rank > old.level.rank
    now, was = (speed_beside(one.gust_mps, limits_mps, units) for one in (new.gust, old.gust))
    return f"gusts {now}, before {was}" if now != was and (new.gust.gust_mps > old.gust.gust_mps) == worse else ""


def _deadline(old: datetime | None, new: datetime | None, zone: ZoneInfo) -> str:
    was, now = ("none" if at is None else clock(rounded_down(at), zone) for at in (old, new))
    return f"Off the water by: {was} before, {now} now."


def _warnings(old: Sequence[str], new: Sequence[str]) -> list[str]:
    lines = [f"New official warning: {event}." for event in dict.fromkeys(new) if event not in old]
    lines += [
        f"{event}: not listed any more. That alone is no all-clear." for event in dict.fromkeys(old) if event not in new
    ]
    return lines


def _gust(
    old: PeakGust | None, new: PeakGust | None, zone: ZoneInfo, day: date, units: Units, limits_mps: Sequence[float]
) -> str:
    if old is None or new is None:
        return "Gusts: known in only one of the two briefings."

    def words(gust: PeakGust) -> str:
        about = ", estimated," if gust.estimated else ""
        return f"{speed_beside(gust.gust_mps, limits_mps, units)}{about} at {clock(gust.at, zone, day)}"

    return f"Strongest gust: {words(old)} before, {words(new)} now."


def _water(old: SurfaceWater | None, new: SurfaceWater | None, units: Units) -> str:
    if old is None or new is None:
        return "Water, main lake: known in only one of the two briefings."

    def words(water: SurfaceWater) -> str:
        spread = show_temperature_range(water.low_c, water.high_c, units, both=False)
        return f"{show_temperature(water.mean_c, units, both=False)}, {spread}"

    return f"Water, main lake: {words(old)} before, {words(new)} now."
