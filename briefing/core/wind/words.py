"""Short quantities for the sentences of the factors, in the reader's units alone: a second number is one too many."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta, tzinfo
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.units import Units

MPS_PER_MPH = 0.44704
M_PER_FT = 0.3048


Quantity = Literal["m/s", "m"]
#: What limits and numbers are printed in: whole mph, tenths of m/s, tenths of a foot, hundredths of a metre.
_STEP: dict[tuple[Quantity, Units], float] = {
    ("m/s", "us"): MPS_PER_MPH,
    ("m/s", "metric"): 0.1,
    ("m", "us"): M_PER_FT / 10.0,
    ("m", "metric"): 0.01,
}
#: So far under a whole step a limit is printed as that step: tables in m and m/s round what is whole in mph and feet.
_SLACK: dict[Quantity, float] = {"m/s": 0.12, "m": 0.25}


#: So far above a whole step a number is that step: what conversions and their rounding leave.
_NOISE = 0.03
#: From here on a wind is told in whole m/s.
_WHOLE_MPS = 10.0


def step(kind: Quantity, units: Units) -> float:
    """What a limit is printed in whole numbers of, in m/s or m."""
    return _STEP[kind, units]


def whole_steps(limit: ArrayLike, kind: Quantity, units: Units) -> NDArray[np.float64]:
    """How many steps a limit is printed as, see `step`."""
    return np.asarray(np.floor(np.asarray(limit, float) / _STEP[kind, units] + _SLACK[kind]), float)


def speed(mps: float, units: Units) -> str:
    """Return "14 mph" or "6.3 m/s": a wind is rounded up, as a limit is cut down."""
    return f"{speed_digits(mps, units)} {speed_unit(units)}"


def height(metres: float, units: Units) -> str:
    """Return a wave height; below 0.3 ft or 0.1 m only that it is, since smaller heights are nominal."""
    if units != "us":
        return "under 0.1 m" if metres < 0.1 else f"{metres:.1f} m"
    feet = metres / M_PER_FT
    if feet < 0.3:
        return "under 0.3 ft"
    return f"{feet:.1f} ft" if feet < 1.0 else f"{round(feet * 2.0) / 2.0:.1f} ft"


def wave_limit(metres: float, units: Units) -> str:
    """Return a wave limit in tenths of a foot or hundredths of a metre, as `whole_steps` cuts it."""
    count = int(whole_steps(metres, "m", units))
    return f"{count / 10:g} ft" if units == "us" else f"{count / 100:g} m"


def speed_digits(mps: float, units: Units) -> str:
    """Return a wind in few digits, without its unit: rounded up to whole mph, tenths of m/s, from 10 m/s on whole."""
    if units == "metric" and mps >= _WHOLE_MPS:
        return f"{_up(mps):.0f}"
    return _steps(int(_up(mps / _STEP["m/s", units])), units) if math.isfinite(mps) else "?"


def _up(count: float) -> float:
    # what is whole in one unit may lie a little above it when it comes back from another
    return float(np.ceil(count - _NOISE)) + 0.0  # never "-0"


def limit_digits(mps: float, units: Units) -> str:
    """Return a limit of wind or gust without its unit, as `whole_steps` cuts it."""
    return _steps(int(whole_steps(mps, "m/s", units)), units)


def speed_unit(units: Units) -> str:
    """Return "mph" or "m/s"."""
    return "mph" if units == "us" else "m/s"


def _steps(count: int, units: Units) -> str:
    return str(count) if units == "us" else f"{count / 10.0:.1f}"


def speed_limit(mps: float, units: Units) -> str:
    """Return a limit of wind or gust: ``"7 mph"``, ``"4.8 m/s"``."""
    return f"{limit_digits(mps, units)} {speed_unit(units)}"


def beside(
    value: float, limits: Sequence[float], printed: Callable[[float], str], decimals: int, *, up: bool = False
) -> str:
    """Return a number with as few decimals, from ``decimals`` on, as keep it on its own side of every limit.

    A number under a limit is never printed as large as the limit, nor one at it smaller. All in the reader's unit;
    printed is how a limit is written; up: rounded up where the limits allow it.
    """
    finer = decimals + 1
    texts: tuple[str, ...] = (f"{value:.{decimals}f}", f"{value:.{finer}f}")
    if up:
        texts = (*(f"{_up(value * 10.0**one) / 10.0**one:.{one}f}" for one in (decimals, finer)), f"{value:.{finer}f}")
    for text in texts:
        if all((value >= limit - 1e-9) == (float(text) >= float(printed(limit))) for limit in limits):
            return text
    # within the rounding of the limit itself: as the limit is written, or a step under it
    near = min(limits, key=lambda limit: abs(limit - value))
    step = 0.0 if value >= near - 1e-9 else 10.0 ** -(decimals + 1)
    return f"{float(printed(near)) - step:.{decimals + 1}f}"


def speed_beside(mps: float, limits_mps: Sequence[float], units: Units) -> str:
    """Return a wind beside its limits, see `beside`."""
    size = MPS_PER_MPH if units == "us" else 1.0

    def printed(limit: float) -> str:
        return limit_digits(limit * size, units)

    decimals = 0 if units == "us" or mps >= _WHOLE_MPS else 1
    digits = beside(mps / size, [limit / size for limit in limits_mps], printed, decimals, up=True)
    return f"{digits} {speed_unit(units)}"


def feet_beside(metres: float, limits_m: Sequence[float]) -> str:
    """Return a wave height in feet beside its limits, without the unit."""
    feet = [limit / M_PER_FT for limit in limits_m]
    return beside(metres / M_PER_FT, feet, lambda limit: wave_limit(limit * M_PER_FT, "us").split()[0], 1)


def metres_beside(metres: float, limits_m: Sequence[float], decimals: int = 1) -> str:
    """Return a wave height in metres beside its limits, without the unit."""
    return beside(metres, limits_m, lambda limit: wave_limit(limit, "metric").split()[0], decimals)


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


def felt_whole(celsius: float, units: Units) -> int:
    """Return felt heat in whole degrees, rounded up: what decides is never told as less."""
    return math.ceil(round(celsius * 1.8 + 32.0 if units == "us" else celsius, 2))


def felt_temperature(celsius: float, units: Units) -> str:
    """Return felt heat as "102 F" or "39 C"."""
    return f"{felt_whole(celsius, units)} {'F' if units == 'us' else 'C'}"


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
