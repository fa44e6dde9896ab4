"""The wind group of an airport report's raw text and the peak wind of its remarks, and nothing else of it."""

from __future__ import annotations

import re
from dataclasses import dataclass

_WIND_GROUP = re.compile(
    r"(?:^|\s)(?P<from>\d{3}|VRB|///)P?(?P<speed>\d{2,3})(?:GP?(?P<gust>\d{2,3}))?(?P<unit>KT|MPS|KMH)(?=\s|$)"
)
_PEAK_GROUP = re.compile(r"(?:^|\s)PK WND \d{3}P?(?P<speed>\d{2,3})/\d{2,4}(?=\s|$)")
_TO_MPS = {"KT": 1852.0 / 3600.0, "MPS": 1.0, "KMH": 1 / 3.6}


@dataclass(frozen=True, slots=True)
class RawWind:
    """Wind as written: speeds in m/s, wind None where only a peak is named, gust None when none is, direction None
    when variable.
    """

    wind_mps: float | None
    gust_mps: float | None
    wind_from_deg: float | None


def raw_wind(report: str) -> RawWind | None:
    """Read the first wind group of a raw report; None when there is none.

    A peak wind among the remarks is the highest since the report before, so it counts as a gust of that hour.
    """
    body, _, remarks = report.partition(" RMK")
    match, peak = _WIND_GROUP.search(body), _PEAK_GROUP.search(remarks)
    if match is None:
        return None if peak is None else RawWind(None, int(peak["speed"]) * _TO_MPS["KT"], None)
    factor = _TO_MPS[match["unit"]]
    direction = float(match["from"]) if match["from"].isdigit() else None
    if direction is not None and direction > 360.0:
        return None
    speed = int(match["speed"]) * factor
    gust = int(match["gust"]) * factor if match["gust"] else None
    if peak is not None:  # in the unit of the wind group
        gust = max(gust or 0.0, int(peak["speed"]) * factor)
    return RawWind(speed, gust, None if speed == 0.0 else direction)
