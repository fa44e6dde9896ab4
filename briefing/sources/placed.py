"""Whether a forecast of the US National Weather Service is of the place and the days that were asked for.

A front cache, a proxy or the service itself can hand out a sound body of another grid cell or of last week: nothing in
its numbers shows that, but the body names its cell, its outline and its hours.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from briefing.sources.bodies import load_json, read_number, table, text
from briefing.sources.intervals import read_interval
from briefing.sources.shapes import distance_to_km, outlines

#: A cell is 2.5 km wide; the service rounds positions and outlines, so that a neighbour's width is no contradiction.
NEAR_KM = 4.0
_CELL = re.compile(r"/gridpoints/(?P<office>\w+)/(?P<x>\d+),(?P<y>\d+)(?:/.*)?", re.ASCII)


@dataclass(frozen=True)
class Asked:
    """What a forecast was asked for: the path of its cell, the lake's (latitude, longitude), and when."""

    path: str
    place: tuple[float, float]
    now: datetime


def misplaced(body: bytes | str, asked: Asked) -> str:
    """Say why a body is not the forecast that was asked for, "" where nothing in it shows that.

    What it does not name, or names so that it can't be read, shows nothing. A cell of another office's name is believed
    where the body's own outline holds the lake: some offices' grids go by two names.
    """
    data = table(load_json(body))
    properties = table(data.get("properties"))
    rings = outlines(data.get("geometry"))
    off_km = distance_to_km(rings, asked.place) if rings else None
    if off_km is not None and off_km > NEAR_KM:
        return f"its own outline lies {off_km:.0f} km from the lake, not used"
    cell = _other_cell(properties, asked.path, placed=off_km is not None)
    if cell:
        return f"it is of the grid cell {cell}, not of the one asked for, not used"
    span = read_interval(properties.get("validTimes"))
    if span is not None and span[1] <= asked.now:
        return f"its hours ended {span[1]:%Y-%m-%d %H:%M} UTC, not used"
    return ""


def _other_cell(properties: Mapping[str, Any], path: str, *, placed: bool) -> str:
    """Name of the cell that a body says it is of; "" where it is the one of the path, or it does not say."""
    wanted = _CELL.fullmatch(path)
    if wanted is None:
        return ""
    office = text(properties.get("gridId"))
    numbers = [read_number(properties.get(key))[0] for key in ("gridX", "gridY")]
    told = [one for one in numbers if one == one]
    other = any(one == one and one != float(wanted[key]) for one, key in zip(numbers, ("x", "y"), strict=True))
    strange = bool(office) and not placed and office.upper() != wanted["office"].upper()
    if not other and not strange:
        return ""
    return " ".join([office[:5], ",".join(f"{one:.0f}" for one in told)]).strip()
