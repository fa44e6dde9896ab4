"""Short quantities for the sentences of the factors, in the reader's units with the other beside them."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo

MPS_PER_MPH = 0.44704
M_PER_FT = 0.3048


def speed(mps: float, units: str) -> str:
    """Return "14 mph (6.3 m/s)", or the other way round for metric readers."""
    us, metric = f"{mps / MPS_PER_MPH:.0f} mph", f"{mps:.1f} m/s"
    return f"{us} ({metric})" if units == "us" else f"{metric} ({us})"


def height(metres: float, units: str) -> str:
    """Return a wave height; below 0.1 m only "under 4 inches", since smaller heights are nominal."""
    if metres < 0.1:
        return "under 4 inches (0.1 m)" if units == "us" else "under 0.1 m (4 inches)"
    feet = metres / M_PER_FT
    us = f"{feet:.1f} ft" if feet < 1.0 else f"{round(feet * 2.0) / 2.0:.1f} ft"
    metric = f"{metres:.1f} m"
    return f"{us} ({metric})" if units == "us" else f"{metric} ({us})"


def wave_limit(metres: float, units: str) -> str:
    """Return a wave limit, which is not rounded to half feet."""
    us, metric = f"{metres / M_PER_FT:.1f} ft", f"{metres:.2f} m"
    return f"{us} ({metric})" if units == "us" else f"{metric} ({us})"


def temperature(celsius: float, units: str) -> str:
    """Return "52 F (11 C)", or the other way round for metric readers."""
    us, metric = f"{celsius * 1.8 + 32.0:.0f} F", f"{celsius:.0f} C"
    return f"{us} ({metric})" if units == "us" else f"{metric} ({us})"


def distance(metres: float, units: str) -> str:
    """Return a distance in miles and kilometres, short ones in feet and metres."""
    if metres < 400.0:
        us, metric = f"{metres / M_PER_FT:.0f} ft", f"{metres:.0f} m"
    else:
        us, metric = f"{metres / 1609.344:.1f} miles", f"{metres / 1000.0:.1f} km"
    return f"{us} ({metric})" if units == "us" else f"{metric} ({us})"


def clock(instant: datetime, zone: tzinfo) -> str:
    """Return the local clock time, "06:40"."""
    return instant.astimezone(zone).strftime("%H:%M")


def age(length: timedelta) -> str:
    """Return "35 min" or "7 h"; never negative."""
    whole = max(0, round(length.total_seconds() / 60.0))
    return f"{whole} min" if whole < 120 else f"{whole / 60.0:.0f} h"


COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def compass(degrees: float) -> str:
    """Return the nearest of eight compass words."""
    return COMPASS[int((degrees % 360.0) / 45.0 + 0.5) % 8]
