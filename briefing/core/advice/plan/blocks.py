"""Cuts a day into blocks by the height of the sun, and again where the forecast of wind or cloud changes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import ArrayLike

from briefing.core.advice.plan.types import Block, BlockName, BlockRules, Floats, PlanHour, PlanParameters
from briefing.units import direction_words

TITLES = {
    BlockName.FIRST_LIGHT: "First light",
    BlockName.EARLY: "Early",
    BlockName.CLIMB: "Sun climbing",
    BlockName.HIGH: "High sun",
    BlockName.LATE: "Late",
    BlockName.LAST_LIGHT: "Last light",
}
_SAME_CHANGE = timedelta(hours=3)
_Cut = tuple[datetime, BlockName, str]


def turn_deg(first_deg: float, second_deg: float) -> float:
    """Smallest angle between two directions, 0-180."""
    return abs((second_deg - first_deg + 180.0) % 360.0 - 180.0)


def cut_blocks(
    times: Sequence[datetime], sun_deg: ArrayLike, hours: Sequence[PlanHour], p: PlanParameters
) -> tuple[Block, ...]:
    """Cut one local day.

    Parameters
    ----------
    times, sun_deg
        Height of the sun, degrees, every few minutes of the day (10 or less), aware and rising in time.
    hours
        The forecast; hours without values cut nothing.

    Returns
    -------
    Blocks in order, from the sun at -6 degrees in the morning to -6 in the evening: first light (-6 to 6), early
    (6-20), climb (20-40), high, late (20 down to 6), last light. Where the sun doesn't reach 40 (or 20) degrees the
    climb (or the early block) ends at its highest point. Empty when the sun stays below -6. A change of wind or cloud
    adds a cut where both parts stay at least ``p.blocks.shortest_min`` long; the part after it has an id with a number
    ("high_2") and says what changed.
    """
    heights = np.asarray(sun_deg, float)
    seconds = np.array([t.timestamp() for t in times])
    cuts, end = _sun_cuts(seconds, heights, p.blocks)
    if end is None:
        return ()
    for at, why in _weather_cuts(hours, p.blocks):
        cuts = _with_cut(cuts, end, at, why, p.blocks.shortest_min)
    return _blocks(cuts, end, seconds, heights)


def _sun_cuts(seconds: Floats, heights: Floats, rules: BlockRules) -> tuple[list[_Cut], datetime | None]:
    """Starts of the sun's own blocks and the end of the last one."""
    top = int(np.argmax(heights))
    start = _crossing(seconds[: top + 1], heights[: top + 1], rules.twilight_deg, rising=True)
    end = _crossing(seconds[top:], heights[top:], rules.twilight_deg, rising=False)
    if heights[top] <= rules.twilight_deg:
        return [], None
    up = {h: _crossing(seconds[: top + 1], heights[: top + 1], h, rising=True) for h in _heights(rules)}
    down = {h: _crossing(seconds[top:], heights[top:], h, rising=False) for h in _heights(rules)}
    noon = float(seconds[top])
    found = [(start if start is not None else float(seconds[0]), BlockName.FIRST_LIGHT, "dawn")]
    rising = (
        (rules.low_deg, BlockName.EARLY, "the sun is clear of the trees"),
        (rules.early_deg, BlockName.CLIMB, "shade lines form"),
        (rules.high_deg, BlockName.HIGH, "the sun is high"),
    )
    found += [(at, name, why) for h, name, why in rising if (at := up[h]) is not None]
    if heights[top] > rules.early_deg and up[rules.high_deg] is None:
        found.append((noon, BlockName.HIGH, "the sun is at its highest"))
    falling = (
        (rules.early_deg, BlockName.LATE, "the shade grows long"),
        (rules.low_deg, BlockName.LAST_LIGHT, "the light goes"),
    )
    found += [(at, name, why) for h, name, why in falling if (at := down[h]) is not None]
    if rules.low_deg < heights[top] <= rules.early_deg:
        found.append((noon, BlockName.LATE, "the sun sinks again"))
    last = end if end is not None else float(seconds[-1])
    cuts = sorted((_aware(at), name, why) for at, name, why in found if at < last)
    return cuts, _aware(last)


def _heights(rules: BlockRules) -> tuple[float, float, float]:
    return rules.low_deg, rules.early_deg, rules.high_deg


def _crossing(seconds: Floats, heights: Floats, level: float, *, rising: bool) -> float | None:
    """First upward (or downward) passage of ``level``, by straight lines; None when there is none."""
    above = heights >= level if rising else heights < level
    change = np.flatnonzero(above[1:] & ~above[:-1])
    if not len(change):
        return None
    i = int(change[0])
    share = (level - heights[i]) / (heights[i + 1] - heights[i])
    return float(seconds[i] + share * (seconds[i + 1] - seconds[i]))


def _aware(seconds: float) -> datetime:
    """The full minute nearest to an instant, in UTC."""
    return datetime.fromtimestamp(round(seconds / 60.0) * 60, UTC)


def _weather_cuts(hours: Sequence[PlanHour], rules: BlockRules) -> list[tuple[datetime, str]]:
    """Changes between neighbouring pairs of hours, the largest first, each with a sentence's half."""
    found: list[tuple[float, datetime, str]] = []
    for before, after in zip(hours, hours[2:], strict=False):
        at = before.start + (after.start - before.start) / 2
        found += [(size, at, why) for size, why in _changes(before, after, rules)]
    found.sort(key=lambda item: (-item[0], item[1]))
    kept: list[tuple[datetime, str]] = []
    for _, at, why in found:  # one change shows in several pairs of hours: the sharpest dates it
        if not any(why == other and abs(at - when) <= _SAME_CHANGE for when, other in kept):
            kept.append((at, why))
    return kept


def _changes(a: PlanHour, b: PlanHour, rules: BlockRules) -> list[tuple[float, str]]:
    """Size (1 is the threshold) and words of each change from one hour to a later one."""
    found = []
    rise = b.wind_mps - a.wind_mps
    if abs(rise) >= rules.wind_change_mps:
        found.append((abs(rise) / rules.wind_change_mps, "the wind gets up" if rise > 0 else "the wind drops"))
    turn = turn_deg(a.wind_from_deg, b.wind_from_deg)
    if min(a.wind_mps, b.wind_mps) >= rules.shift_needs_mps and turn >= rules.wind_shift_deg:
        found.append((turn / rules.wind_shift_deg, f"the wind goes to the {direction_words(b.wind_from_deg)}"))
    cloud = b.cloud_fraction - a.cloud_fraction
    if abs(cloud) >= rules.cloud_change:
        found.append((abs(cloud) / rules.cloud_change, "cloud comes in" if cloud > 0 else "the sun comes out"))
    return [(size, why) for size, why in found if math.isfinite(size)]


def _with_cut(cuts: list[_Cut], end: datetime, at: datetime, why: str, shortest_min: float) -> list[_Cut]:
    """Add a cut unless it would leave a part shorter than ``shortest_min``."""
    edges = [start for start, _, _ in cuts] + [end]
    least = timedelta(minutes=shortest_min)
    inside = [i for i in range(len(cuts)) if edges[i] < at < edges[i + 1]]
    if not inside or at - edges[inside[0]] < least or edges[inside[0] + 1] - at < least:
        return cuts
    return sorted([*cuts, (at, cuts[inside[0]][1], why)])


def _blocks(cuts: list[_Cut], end: datetime, seconds: Floats, heights: Floats) -> tuple[Block, ...]:
    ends = [start for start, _, _ in cuts[1:]] + [end]
    seen: dict[BlockName, int] = {}
    blocks = []
    for (start, name, why), stop in zip(cuts, ends, strict=True):
        seen[name] = seen.get(name, 0) + 1
        label = name.value if seen[name] == 1 else f"{name.value}_{seen[name]}"
        title = TITLES[name] if seen[name] == 1 else f"{TITLES[name]}, {why}"
        edges = np.interp([start.timestamp(), stop.timestamp()], seconds, heights)
        blocks.append(Block(label, name, title, start, stop, (float(edges[0]), float(edges[1])), why))
    return tuple(blocks)
