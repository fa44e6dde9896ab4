"""The few facts of a morning that the next one is compared with, and the comparison itself: numbers, no words.

The record is stored beside the briefing under its own keys and version, so that a change of the page never touches what
is compared.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Any

from briefing.vocabulary import Level

#: Version of the stored form, raised with every change of its keys or their meaning.
RECORD_VERSION = 1
#: A deadline that moves by less is no news.
DEADLINE_STEP = timedelta(minutes=15)
#: A peak gust that moves by less than this is no news (m/s, and share of the old one).
GUST_STEP_MPS, GUST_STEP_SHARE = 2.2, 0.15
#: Nor is a water temperature.
WATER_STEP_C = 1.0


class Uncompared(StrEnum):
    """Why an earlier morning that was stored can't be compared with."""

    UNREADABLE = "unreadable"
    OTHER_VERSION = "other_version"
    WITHOUT_FACTS = "without_facts"  # made before the facts were stored, by a page that does not hold them


@dataclass(frozen=True, slots=True)
class PeakGust:
    """The strongest gust of the hours shown: m/s, the hour's aware UTC instant, whether it was only estimated."""

    gust_mps: float
    at: datetime
    estimated: bool


@dataclass(frozen=True, slots=True)
class SurfaceWater:
    """Mean of the day at the surface of the main lake, with its 80 % range, C."""

    mean_c: float
    low_c: float
    high_c: float


@dataclass(frozen=True, slots=True)
class MorningRecord:
    """Facts of one morning: SI, ids and aware UTC instants.

    off_water_by None means that there was no window, gust and water None that they were not known. official holds the
    names of the official messages as issued, worst first.
    """

    day: date
    made_at: datetime
    level: Level
    off_water_by: datetime | None
    official: tuple[str, ...]
    gust: PeakGust | None
    water: SurfaceWater | None

    def to_mapping(self) -> dict[str, Any]:
        """What JSON can hold, with the version."""
        gust, water = self.gust, self.water
        return {
            "version": RECORD_VERSION,
            "day": self.day.isoformat(),
            "made_at": _utc_text(self.made_at),
            "level": self.level.value,
            "off_water_by": None if self.off_water_by is None else _utc_text(self.off_water_by),
            "official": list(self.official),
            "gust": None
            if gust is None
            else {"gust_mps": gust.gust_mps, "at": _utc_text(gust.at), "estimated": gust.estimated},
            "water": None if water is None else {"mean_c": water.mean_c, "low_c": water.low_c, "high_c": water.high_c},
        }


def read_record(text: str) -> MorningRecord | Uncompared:
    """Read a stored record, or say why it can't be compared with."""
    try:
        data = json.loads(text)
        if not isinstance(data, dict):
            return Uncompared.UNREADABLE
        if data["version"] != RECORD_VERSION:
            return Uncompared.OTHER_VERSION
        return MorningRecord(
            day=date.fromisoformat(data["day"]),
            made_at=instant(data["made_at"]),
            level=Level(data["level"]),
            off_water_by=None if data["off_water_by"] is None else instant(data["off_water_by"]),
            official=names(data["official"]),
            gust=None if data["gust"] is None else _gust(data["gust"]),
            water=None if data["water"] is None else _water(data["water"]),
        )
    except (KeyError, ValueError, TypeError, RecursionError):
        return Uncompared.UNREADABLE


def _gust(data: Mapping[str, Any]) -> PeakGust:
    if not isinstance(data["estimated"], bool):
        raise ValueError(data["estimated"])
    return PeakGust(number(data["gust_mps"]), instant(data["at"]), data["estimated"])


def _water(data: Mapping[str, Any]) -> SurfaceWater:
    return SurfaceWater(number(data["mean_c"]), number(data["low_c"]), number(data["high_c"]))


def instant(value: Any) -> datetime:
    """Read an aware instant of JSON as UTC. Raises ValueError or TypeError."""
    at = datetime.fromisoformat(value)
    if at.tzinfo is None:
        raise ValueError(value)
    return at.astimezone(UTC)


def number(value: Any) -> float:
    """Read a finite number of JSON. Raises ValueError."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(value)
    return float(value)


def names(value: Any) -> tuple[str, ...]:
    """Read a list of texts of JSON. Raises ValueError."""
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise ValueError(value)
    return tuple(value)


def _utc_text(at: datetime) -> str:
    return at.astimezone(UTC).isoformat()


class Moved(StrEnum):
    """What has changed since the earlier morning, in the order in which it is told."""

    LEVEL = "level"
    OFF_WATER_BY = "off_water_by"
    OFFICIAL = "official"
    GUST = "gust"
    WATER = "water"


def moved(old: MorningRecord, new: MorningRecord) -> tuple[Moved, ...]:
    """Return what changed by enough to be told; a value known in only one of the two always is."""
    found = {
        Moved.LEVEL: old.level is not new.level,
        Moved.OFF_WATER_BY: _deadline_moved(old.off_water_by, new.off_water_by),
        Moved.OFFICIAL: set(old.official) != set(new.official),
        Moved.GUST: _gust_moved(old.gust, new.gust),
        Moved.WATER: _water_moved(old.water, new.water),
    }
    return tuple(kind for kind in Moved if found[kind])


def _deadline_moved(old: datetime | None, new: datetime | None) -> bool:
    if old is None or new is None:
        return old is not new
    return abs(new - old) >= DEADLINE_STEP


def _gust_moved(old: PeakGust | None, new: PeakGust | None) -> bool:
    if old is None or new is None:
        return old is not new
    return abs(new.gust_mps - old.gust_mps) >= max(GUST_STEP_MPS, GUST_STEP_SHARE * old.gust_mps)


def _water_moved(old: SurfaceWater | None, new: SurfaceWater | None) -> bool:
    if old is None or new is None:
        return old is not new
    return abs(new.mean_c - old.mean_c) >= WATER_STEP_C
