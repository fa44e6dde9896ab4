"""What a map of the lake is drawn from: shore, islands, ramps, spots and the wind of a chosen hour."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from briefing.sections.quantity import SectionModel

#: Vertices of an outline nearer to each other than this share of the lake's extent are not told apart on a page.
FINEST = 1 / 135


class MapPlace(SectionModel):
    """A ramp or spot in metres east and north of the lake's centre; ``number`` is its place in the outing, if any."""

    name: str
    kind: str
    number: int | None = None
    x_m: float
    y_m: float


class MapSection(SectionModel):
    """``assumed`` says that the shape is an ellipse made from area and longest arm, not the real shore.

    ``start`` is the ramp that the outing begins and ends at, None where there is no outing; ``way_out_m`` the way from
    it over water through the places in order, ``way_home_m`` the way back from the last, in metres.
    """

    rings_m: tuple[tuple[tuple[float, float], ...], ...]
    assumed: bool
    places: tuple[MapPlace, ...]
    start: MapPlace | None
    way_out_m: tuple[tuple[float, float], ...] = ()
    way_home_m: tuple[tuple[float, float], ...] = ()
    wind_from_deg: float | None
    wind_hour: datetime | None
    wind_label: str
    wind_text: str
    text: str


def outline(rings_m: Sequence[NDArray[np.float64]]) -> tuple[tuple[tuple[float, float], ...], ...]:
    """The shore and its islands, each (n, 2) in metres, with the vertices that a page tells apart.

    An island that shrinks to less than a triangle is left out.
    """
    if not rings_m:
        return ()
    step_m = FINEST * float(np.ptp(rings_m[0], axis=0).max())
    shore, *islands = (_thinned(ring.tolist(), step_m) for ring in rings_m)
    if len(shore) < 3:
        shore = rings_m[0].tolist()
    kept = [shore, *(island for island in islands if len(island) >= 3)]
    return tuple(tuple((round(x, 1), round(y, 1)) for x, y in ring) for ring in kept)


def _thinned(ring_m: list[list[float]], step_m: float) -> list[list[float]]:
    kept = ring_m[:1]
    for x, y in ring_m[1:]:
        if abs(x - kept[-1][0]) + abs(y - kept[-1][1]) >= step_m:
            kept.append([x, y])
    return kept
