"""Short quantities for the sentences of the factors, in the reader's units alone: a second number is one too many."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta, tzinfo

from briefing.units import Units

MPS_PER_MPH = 0.44704
M_PER_FT = 0.3048


def speed(mps: float, units: Units) -> str:
    """Return "14 mph" or "6.3 m/s"."""
    return f"{mps / MPS_PER_MPH:.0f} mph" if units == "us" else f"{mps:.1f} m/s"


def height(metres: float, units: Units) -> str:
    """Return a wave height; below 0.1 m only "under 4 inches", since smaller heights are nominal."""
    if metres < 0.1:
        return "under 4 inches" if units == "us" else "under 0.1 m"
    if units != "us":
        return f"{metres:.1f} m"
    feet = metres / M_PER_FT
    return f"{feet:.1f} ft" if feet < 1.0 else f"{round(feet * 2.0) / 2.0:.1f} ft"


def wave_limit(metres: float, units: Units) -> str:
    """Return a wave limit to two decimals, never higher than it is and never rounded to half feet."""
    return f"{_floor(metres / M_PER_FT, 2)} ft" if units == "us" else f"{_floor(metres, 2)} m"


def speed_digits(mps: float, units: Units, *, at_least: float = 0.0) -> str:
    """Return a wind in few digits, without its unit: whole mph, m/s to a tenth.

    A wind that reaches the limit ``at_least`` (m/s) is never printed as smaller than `limit_digits` prints that.
    """
    step = MPS_PER_MPH if units == "us" else 0.1
    count = round(mps / step)
    if at_least > 0.0 and mps >= at_least - 1e-9:
        count = max(count, math.ceil(at_least / step - 1e-6))
    return _steps(count, units)


def limit_digits(mps: float, units: Units) -> str:
    """Return a limit of wind or gust in few digits, without its unit, never higher than it is."""
    return _steps(math.floor(mps / (MPS_PER_MPH if units == "us" else 0.1) + 1e-6), units)


def speed_unit(units: Units) -> str:
    """Return "mph" or "m/s"."""
    return "mph" if units == "us" else "m/s"


def _steps(count: int, units: Units) -> str:
    return str(count) if units == "us" else f"{count / 10.0:.1f}"


def speed_limit(mps: float, units: Units) -> str:
    """Return a limit of wind or gust, to a decimal where it has one: ``"7.2 mph"``."""
    return f"{_nearest(mps / MPS_PER_MPH)} mph" if units == "us" else f"{_nearest(mps)} m/s"


def _floor(value: float, decimals: int) -> str:
    """Cut to so many decimals, without trailing zeros; what is a rounding error short of a number counts as it."""
    factor = 10.0**decimals
    text = f"{math.floor(value * factor + 1e-6) / factor:.{decimals}f}"
    return text.rstrip("0").rstrip(".")


def _nearest(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def beside(value: float, limits: Sequence[float], printed: Callable[[float], str], decimals: int) -> str:
    """Return a number with as few decimals, from ``decimals`` on, as keep it on its own side of every limit.

    A number under a limit is never printed as large as the limit, nor one at it smaller. All in the reader's unit;
    printed is how a limit is written.
    """
    for more in (decimals, decimals + 1, decimals + 2):
        text = f"{value:.{more}f}"
        if all((value >= limit - 1e-9) == (float(text) >= float(printed(limit))) for limit in limits):
            return text
    # within the rounding of the limit itself: as the limit is written, or a step under it
    near = min(limits, key=lambda limit: abs(limit - value))
    step = 0.0 if value >= near - 1e-9 else 10.0 ** -(decimals + 1)
    return f"{float(printed(near)) - step:.{decimals + 1}f}"


def speed_beside(mps: float, limits_mps: Sequence[float], units: Units) -> str:
    """Return a wind beside its limits, see `beside`."""
    if units == "us":
        return f"{beside(mps / MPS_PER_MPH, [limit / MPS_PER_MPH for limit in limits_mps], _nearest, 0)} mph"
    return f"{beside(mps, limits_mps, _nearest, 1)} m/s"


def feet_beside(metres: float, limits_m: Sequence[float]) -> str:
    """Return a wave height in feet beside its limits, without the unit."""
    return beside(metres / M_PER_FT, [limit / M_PER_FT for limit in limits_m], lambda limit: _floor(limit, 2), 1)


def metres_beside(metres: float, limits_m: Sequence[float], decimals: int = 1) -> str:
    """Return a wave height in metres beside its limits, without the unit."""
    return beside(metres, limits_m, lambda limit: _floor(limit, 2), decimals)


def height_beside(metres: float, limits_m: Sequence[float], units: Units) -> str:
    """Return a wave height beside its limits, see `beside`; below 0.1 m and far above as `height` says it."""
    feet = metres / M_PER_FT
    if metres < 0.1 or (feet >= 1.0 and all(abs(metres - limit) > 0.25 * M_PER_FT for limit in limits_m)):
        return height(metres, units)
    return f"{feet_beside(metres, limits_m)} ft" if units == "us" else f"{metres_beside(metres, limits_m, 2)} m"


_PARTS = {0.9: "nine tenths", 0.75: "three quarters", 0.6: "six tenths", 0.5: "half"}


def part(share: float) -> str:
    """Return a share in words, ``"six tenths"``."""
    return _PARTS.get(round(share, 2), f"{share:.0%}")


def temperature(celsius: float, units: Units) -> str:
    """Return "52 F" or "11 C"."""
    return f"{celsius * 1.8 + 32.0:.0f} F" if units == "us" else f"{celsius:.0f} C"


def distance(metres: float, units: Units) -> str:
    """Return a distance in miles or kilometres, a short one in feet or metres."""
    if metres < 400.0:
        return f"{metres / M_PER_FT:.0f} ft" if units == "us" else f"{metres:.0f} m"
    return f"{metres / 1609.344:.1f} miles" if units == "us" else f"{metres / 1000.0:.1f} km"


def clock(instant: datetime, zone: tzinfo) -> str:
    """Return the local clock time, "06:40"."""
    return instant.astimezone(zone).strftime("%H:%M")


def age(length: timedelta) -> str:
    """Return "35 min" or "7 h"; never negative."""
    whole = max(0, round(length.total_seconds() / 60.0))
    return f"{whole} min" if whole < 120 else f"{whole / 60.0:.0f} h"
