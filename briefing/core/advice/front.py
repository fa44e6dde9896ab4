"""Where a day stands against the passage of a cold front, read from the hours around it.

Pressure, wind direction and temperature only date the front; the barometer's reading itself has no weight in any
advice, since no controlled evidence ties it to feeding.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.advice.conditions import FrontStage
from briefing.core.hours import HourSeries

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FrontRules:
    """Amounts at which each sign counts as 1, the least sum for a passage, and the stages in hours after it."""

    window_h: float
    pressure_rise_hpa_6h: float
    pressure_fall_hpa_12h: float
    veer_deg: float
    cooling_c_24h: float
    least_sum: float
    passage_h: float
    day1_h: float
    day2_h: float
    recovering_h: float
    ahead_h: float

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> FrontRules:
        """Read ``config/front.toml``; an unknown or missing key raises TypeError."""
        return cls(**{key: float(value) for key, value in data.items() if key != "source"})


@dataclass(frozen=True, slots=True)
class Front:
    """Stage of the front at an instant, the hour of its passage (None without one), and the signs in one sentence."""

    stage: FrontStage
    passage: datetime | None
    text: str


#: Share of the hours before that must be known to say that none passed in them.
MOSTLY_KNOWN = 0.75
NO_DATA = Front(FrontStage.NONE, None, "Fronts are not known: the hours before this morning are missing.")


def front_stage(series: HourSeries, at: datetime, rules: FrontRules, *, south: bool = False) -> Front:
    """Find the strongest passage from ``window_h`` before to ``ahead_h`` after ``at``.

    In the southern hemisphere (``south``) the wind turns the other way behind a front, from north-west to south-west.
    Missing fields give no sign; with neither pressure nor wind direction nor air temperature the stage is ``none``
    and the text says why.
    """
    signs = _signs(series, rules, south)
    if not np.isfinite(signs).any():
        return NO_DATA
    now = series.index_of(at)
    before = np.isfinite(signs[max(0, now - int(rules.window_h)) : max(0, now) + 1])
    first, last = max(0, now - int(rules.window_h)), min(series.hours, now + int(rules.ahead_h) + 1)
    window = np.where(np.isfinite(signs[first:last]), signs[first:last], -1.0)
    if window.size == 0 or window.max() < rules.least_sum:
        if not before.any() or before.mean() < MOSTLY_KNOWN:
            return NO_DATA  # the days that can't be looked at may have had one
        return Front(FrontStage.NONE, None, "No cold front passed in the last four days and none is near.")
    # of several passages the newest counts: the fish live in its aftermath
    hits = np.flatnonzero((window >= rules.least_sum) & (window >= _around_max(window, 6)))
    passed = hits[hits <= now - first]
    index = int(passed[-1]) if passed.size else int(hits[0])
    since = (now - first) - index
    passage = series.times[first + index]
    return Front(_stage(since, rules), passage, _text(since))


def _stage(since_h: int, rules: FrontRules) -> FrontStage:
    if since_h < 0:
        return FrontStage.APPROACHING
    steps = (
        (rules.passage_h, FrontStage.PASSAGE),
        (rules.day1_h, FrontStage.DAY1),
        (rules.day2_h, FrontStage.DAY2),
        (rules.recovering_h, FrontStage.RECOVERING),
    )
    return next((stage for limit, stage in steps if since_h < limit), FrontStage.NONE)


def _text(since_h: int) -> str:
    if since_h < 0:
        return f"A cold front is forecast to pass in about {-since_h} h."
    if since_h < 2:
        return "A cold front is passing now."
    return (
        f"A cold front passed about {since_h} h ago." if since_h < 60 else "A cold front passed about three days ago."
    )


def _signs(series: HourSeries, rules: FrontRules, south: bool) -> Floats:
    """Sum of the scaled signs by hour; NaN where none of them is known. Each sign is cut at 1."""
    pressure, air = series.values("pressure_hpa"), series.values("air_c")
    rise = (_shifted(pressure, -6) - pressure) / rules.pressure_rise_hpa_6h
    fall = (_shifted(pressure, 12) - pressure) / rules.pressure_fall_hpa_12h
    # a day later against a day earlier at the same clock time, so that the daily swing drops out
    cooling = (_shifted(air, 6) - _shifted(air, -18)) / rules.cooling_c_24h
    turn = _veer(series.values("wind_from_deg")) / rules.veer_deg
    veer = -turn if south else turn
    parts = np.stack([np.clip(part, 0.0, 1.0) for part in (rise, fall, cooling, veer)])
    known = np.isfinite(parts)
    total = np.where(known, parts, 0.0).sum(axis=0)
    return np.where(known.any(axis=0), total, np.nan)


def _shifted(values: Floats, hours: int) -> Floats:
    """Value ``hours`` earlier (negative: later); NaN beyond the ends."""
    out = np.full(values.shape, np.nan)
    if hours >= 0:
        out[hours:] = values[: values.size - hours] if hours else values
    else:
        out[:hours] = values[-hours:]
    return out


def _veer(wind_from_deg: Floats) -> Floats:
    """Clockwise turn of the mean wind from the six hours before to the six after, in degrees (backing: negative)."""
    radians = np.radians(wind_from_deg)
    unit = np.exp(1j * radians)
    before = np.stack([_complex_shift(unit, n) for n in range(1, 7)])
    after = np.stack([_complex_shift(unit, -n) for n in range(6)])
    with np.errstate(invalid="ignore"):
        mean_before = np.where(np.isfinite(before.real).sum(axis=0) >= 3, np.nansum(before, axis=0), np.nan)
        mean_after = np.where(np.isfinite(after.real).sum(axis=0) >= 3, np.nansum(after, axis=0), np.nan)
        turn = np.degrees(np.angle(mean_after * np.conj(mean_before)))
    return np.asarray(turn, float)


def _complex_shift(values: NDArray[np.complex128], hours: int) -> NDArray[np.complex128]:
    out = np.full(values.shape, complex(math.nan, math.nan))
    if hours > 0:
        out[hours:] = values[:-hours]
    elif hours < 0:
        out[:hours] = values[-hours:]
    else:
        out[:] = values
    return out


def _around_max(values: Floats, half: int) -> Floats:
    """Largest value within ``half`` hours to either side."""
    padded = np.concatenate([np.full(half, -np.inf), values, np.full(half, -np.inf)])
    return np.asarray(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1).max(axis=1), float)
