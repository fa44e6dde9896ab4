"""Sentences about an estimated water temperature: how it is known, how well, and what a reading would be worth."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from briefing.core.water.engine import WaterResult
from briefing.core.water.series import WaterSeries
from briefing.units import Units, show_temperature_difference
from briefing.vocabulary import Zone

#: Standard error of a careful reading between 8 and 11 in the morning, C.
MORNING_READING_SD_C = 0.55
_ONE_SIGMA_OF_80 = 1.2816


def half_range_c(series: WaterSeries, zone: Zone = Zone.MAIN) -> float:
    """Half the width of today's 80 % range in C."""
    low, high = series.range80_c(zone)
    return float(high[series.today_index] - low[series.today_index]) / 2


def describe_water(result: WaterResult, *, now: datetime, units: Units) -> tuple[str, ...]:
    """Sentences for the reader: the basis first, then what a reading would do, skill here, notes.

    ``now`` is the aware time of writing, for the age of the newest reading.
    """
    series = result.series
    half = half_range_c(series)
    sentences = [_basis(series, half, units)]
    sentences += [line for line in (_worth(half, units), _skill(result, units)) if line]
    sentences += [*series.notes, *_refused(result, now)]
    return tuple(sentences)


def _plus_minus(half_c: float, units: Units) -> str:
    return "±" + show_temperature_difference(max(half_c, 0.05), units, both=False).replace("+", "")


def _basis(series: WaterSeries, half_c: float, units: Units) -> str:
    width = _plus_minus(half_c, units)
    if series.normals_only and series.days_since_reading is None:
        return f"From climate normals alone, no reading and no weather yet, {width}."
    if series.days_since_reading is None:
        return f"Modelled, no reading yet, {width}."
    used = [use for use in series.uses if use.used]
    if used and used[-1].looks_wrong:
        return f"Modelled, since the newest reading looks wrong, {width}."
    days = round(series.days_since_reading)
    if days == 0:
        return f"Rests on your reading of today, {width}." if _by_user(series) else f"Rests on today's gauge, {width}."
    whose = "your reading" if _by_user(series) else "a gauge reading"
    when = "yesterday" if days == 1 else f"{days} days ago"
    if days <= 14:
        return f"Rests on {whose} of {when}, {width}."
    share = f"{round(100 * series.reading_weight):d} %"
    return f"Mostly modelled, no reading for {days} days, {width}; readings still carry {share} of what is known."


def _by_user(series: WaterSeries) -> bool:
    used = [use for use in series.uses if use.used]
    return not used or used[-1].source == "user"


def _worth(half_c: float, units: Units) -> str:
    """What one reading would do to the range: variances add inversely."""
    sd = half_c / _ONE_SIGMA_OF_80
    after = sd * MORNING_READING_SD_C / float(np.hypot(sd, MORNING_READING_SD_C)) * _ONE_SIGMA_OF_80
    if after > 0.75 * half_c:
        return ""
    what = "halve the range" if after <= 0.55 * half_c else f"narrow it to {_plus_minus(after, units)}"
    return f"One water temperature at 9 am this week would {what}."


def _skill(result: WaterResult, units: Units) -> str:
    rows = result.skill
    if len(rows) < 5:
        return ""
    error = float(np.sqrt(np.mean([row.error_c**2 for row in rows])))
    inside = sum(row.inside80 for row in rows)
    return (
        f"The last {len(rows)} readings were predicted to within {_plus_minus(error, units)} before they were seen; "
        f"{inside} of them lay in the stated range."
    )


def _refused(result: WaterResult, now: datetime) -> list[str]:
    """Refusals of the newest readings, so that a typing error is noticed at once."""
    lines = []
    for use in result.series.uses:
        recent = use.day is not None and abs((now.date() - use.day).days) <= 10
        if recent and (not use.used or use.looks_wrong):
            whose = f"{use.name[:1].upper()}{use.name[1:]}"
            lines.append(f"{whose}: {use.why[:1].lower()}{use.why[1:]}" if use.used else f"{whose}. {use.why}")
    return lines[-3:]
