"""The facts of a morning for the next one to be compared with: taken from it, or from an older version's page."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from datetime import UTC, date
from typing import Any

from briefing.core.record import (
    MorningRecord,
    PeakGust,
    SurfaceWater,
    Uncompared,
    instant,
    names,
    number,
)
from briefing.core.water.series import WaterSeries
from briefing.pipeline.inputs import MorningInputs
from briefing.sections.cautions import OfficialAlert
from briefing.sections.day import DaySection
from briefing.sections.hours import HourRow
from briefing.vocabulary import Level, Zone


def record_of(
    inputs: MorningInputs,
    day: DaySection,
    official: tuple[OfficialAlert, ...],
    rows: tuple[HourRow, ...],
    water: WaterSeries,
) -> MorningRecord:
    """Take the facts of a morning that the next one for the same day is compared with."""
    gusts = [
        PeakGust(row.gust_mps, row.hour.astimezone(UTC), row.gust_estimated) for row in rows if row.gust_mps is not None
    ]
    mean = float(water.mean_c(Zone.MAIN)[water.today_index])
    low, high = (float(side[water.today_index]) for side in water.range80_c(Zone.MAIN))
    return MorningRecord(
        day=inputs.day,
        made_at=inputs.now.astimezone(UTC),
        level=day.answer,
        off_water_by=None if day.off_water_by is None else day.off_water_by.astimezone(UTC),
        official=tuple(alert.event for alert in official),
        gust=max(gusts, key=lambda one: one.gust_mps, default=None),
        water=SurfaceWater(mean, low, high) if math.isfinite(mean + low + high) else None,
    )


def record_of_page(text: str) -> MorningRecord | Uncompared:
    """The facts in the page of a version that kept no record: from its SI fields, never out of its sentences."""
    try:
        page = json.loads(text)
    except (ValueError, RecursionError):
        return Uncompared.UNREADABLE
    try:
        water, off = page["water"]["temperature"], page["day"]["off_water_by"]
        gusts = [gust for row in page["hours"]["rows"] if (gust := _gust_of_row(row)) is not None]
        return MorningRecord(
            day=date.fromisoformat(page["head"]["day"]),
            made_at=instant(page["head"]["prepared_at"]),
            level=Level(page["day"]["answer"]),
            off_water_by=None if off is None else instant(off),
            official=names([alert["event"] for alert in page["cautions"]["official"]]),
            gust=max(gusts, key=lambda one: one.gust_mps, default=None),
            water=None
            if water["value"] is None
            else SurfaceWater(number(water["value"]), number(water["low"]), number(water["high"])),
        )
    except (KeyError, ValueError, TypeError):
        return Uncompared.WITHOUT_FACTS


def _gust_of_row(row: Mapping[str, Any]) -> PeakGust | None:
    if row["gust_mps"] is None:
        return None
    return PeakGust(number(row["gust_mps"]), instant(row["hour"]), row["gust_estimated"] is True)
