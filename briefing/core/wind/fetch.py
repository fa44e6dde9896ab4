"""Fetch: open water upwind of a point, for 360 bearings, by an angular sweep over the shore's vertices.

Fetch is measured from the point toward the bearing the wind comes from, to the first shore met; islands are shore.
A point on land has no fetch (NaN), never 0.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.core.wind.shape import LakeShape

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BEARINGS = 360
#: Half width of the arc whose mean counts (degrees): 15 rays, 1 degree apart.
ARC_HALF = 7
#: Directions to either side of the forecast wind that are looked at (degrees).
WIND_HALF = 20
_SLACK_DEG = 1e-9
_CELLS = 400_000  # points x vertices handled at a time; keeps the memory bounded


@dataclass(frozen=True)
class FetchTable:
    """Fetch of some points for 360 bearings.

    points_xy_m: (points, 2) as used, after ramps were moved onto the water. fetch_m: (points, 360), NaN on land.
    labels name the points for the reader ("ramp: east landing"); empty or one a point. assumed is that of the shape.
    """

    points_xy_m: Floats
    fetch_m: Floats
    key: str
    labels: tuple[str, ...] = ()
    assumed: bool = False

    @cached_property
    def wave_fetch_m(self) -> Floats:
        """Fetch to use for waves by whole degree of wind: the largest 15-degree arc mean within +-20 degrees."""
        return _running_max(arc_means(self.fetch_m), WIND_HALF)

    @cached_property
    def worst_m(self) -> Floats:
        """Largest of ``wave_fetch_m`` over all directions, shape (points,)."""
        return np.asarray(self.wave_fetch_m.max(axis=1), float)

    def for_wind(self, wind_from_deg: ArrayLike) -> Floats:
        """Return fetch for waves, shape (hours, points), for winds of shape (hours,); NaN where the wind is NaN."""
        wind = np.asarray(wind_from_deg, float)
        known = np.isfinite(wind)
        column = np.rint(np.where(known, wind, 0.0)).astype(np.int64) % BEARINGS
        out = self.wave_fetch_m.T[column]
        out[~known] = np.nan
        return out

    def rows(self, prefix: str) -> Ints:
        """Numbers of the points whose label starts with ``prefix``."""
        return np.array([n for n, label in enumerate(self.labels) if label.startswith(prefix)], dtype=np.int64)


def table_key(shape: LakeShape, points_xy_m: ArrayLike) -> str:
    """Key to keep a table by: the outline's hash and the points to the centimetre."""
    points = np.round(np.atleast_2d(np.asarray(points_xy_m, float)) * 100.0).astype("<i8")
    return hashlib.sha256(shape.key.encode() + points.tobytes()).hexdigest()


def fetch_table(
    shape: LakeShape, points_xy_m: ArrayLike, labels: Sequence[str] = (), *, reach_m: float = 0.5
) -> FetchTable:
    """Measure fetch from each point (shape (points, 2), local metres) for 360 whole-degree bearings.

    Points on the shore line, or on land within ``reach_m`` of it, are first moved 2 m onto the water.
    """
    if labels and len(labels) != len(np.atleast_2d(np.asarray(points_xy_m, float))):
        raise ValueError("one label a point, or none")
    points = shape.onto_water(points_xy_m, reach_m)
    fetch = sweep(shape, points, np.arange(BEARINGS, dtype=float))
    return FetchTable(points, fetch, table_key(shape, points_xy_m), tuple(labels), shape.assumed)


def sweep(shape: LakeShape, points_xy_m: ArrayLike, bearings_deg: ArrayLike) -> Floats:
    """Return fetch in metres, shape (points, bearings), toward any bearings (degrees, any turn); NaN on land."""
    points = np.atleast_2d(np.asarray(points_xy_m, float))
    wet = np.isfinite(points).all(axis=1)
    wet[wet] = shape.contains(points[wet])
    out = np.full((len(points), np.size(bearings_deg)), np.nan)
    if wet.any():
        out[wet] = first_hit(shape.rings, points[wet], bearings_deg)
    return out


def first_hit(rings: Sequence[Floats], points_xy_m: Floats, bearings_deg: ArrayLike, limit_m: float = np.inf) -> Floats:
    """Return the distance to the first edge met along each bearing, shape (points, bearings); ``limit_m`` if none.

    Each edge is tested only against the bearings that it subtends, so the work grows with the number of vertices and
    not with vertices x bearings; points are taken in slices that bound the memory.
    """
    bearings = np.asarray(bearings_deg, float) % 360.0
    order = np.argsort(bearings, kind="stable")
    vertices = sum(len(ring) for ring in rings)
    step = max(1, _CELLS // max(vertices, 1))
    out = np.empty((len(points_xy_m), bearings.size))
    for low in range(0, len(points_xy_m), step):
        part = points_xy_m[low : low + step]
        nearest = np.full(len(part) * bearings.size, limit_m)
        for ring in rings:
            _sweep_ring(ring, part, bearings[order], nearest)
        out[low : low + step][:, order] = nearest.reshape(len(part), -1)
    return out


def _sweep_ring(ring: Floats, points: Floats, bearings: Floats, nearest: Floats) -> None:
    closed = np.concatenate([ring, ring[:1]])
    x, y = closed[:, 0] - points[:, :1], closed[:, 1] - points[:, 1:]
    angle = np.degrees(np.arctan2(x, y))
    turn = np.diff(angle, axis=1)
    turn -= 360.0 * np.rint(turn / 360.0)
    low = np.where(turn < 0.0, angle[:, 1:], angle[:, :-1]) - _SLACK_DEG
    low -= 360.0 * np.floor(low / 360.0)
    first, count = _subtended(low, np.abs(turn) + 2.0 * _SLACK_DEG, bearings)
    who, edge = np.nonzero(count)
    many = count[who, edge]
    pick = np.repeat(np.arange(who.size), many)
    offset = np.arange(pick.size) - np.repeat(np.cumsum(many) - many, many)
    ray = (first[who, edge][pick] + offset) % bearings.size
    x1, y1 = x[who, edge], y[who, edge]
    distance = _ray_edge(x1, y1, x[who, edge + 1] - x1, y[who, edge + 1] - y1, pick, np.radians(bearings)[ray])
    np.minimum.at(nearest, who[pick] * bearings.size + ray, distance)


def _subtended(low: Floats, width: Floats, bearings: Floats) -> tuple[Ints, Ints]:
    """Index of the first bearing at or after ``low`` and how many lie within ``width`` of it, round the circle."""
    size = bearings.size
    if size > 1 and np.array_equal(bearings, np.arange(size) * (360.0 / size)):
        per_degree = size / 360.0
        begin = np.ceil(low * per_degree)
        return begin.astype(np.int64), (np.floor((low + width) * per_degree) - begin + 1.0).astype(np.int64)
    twice = np.concatenate([bearings, bearings + 360.0])
    begin = np.searchsorted(twice, low, side="left")
    return begin, np.searchsorted(twice, low + width, side="right") - begin


def _ray_edge(x1: Floats, y1: Floats, dx: Floats, dy: Floats, pick: Ints, angle: Floats) -> Floats:
    sine, cosine = np.sin(angle), np.cos(angle)
    cross = (x1 * dy - y1 * dx)[pick]
    across = sine * dy[pick] - cosine * dx[pick]
    # A ray along an edge never crosses it: the edge's ends belong to its neighbours, which decide.
    flat = np.abs(across) <= 1e-12 * np.hypot(dx, dy)[pick]
    distance = cross / np.where(flat, 1.0, across)
    return np.where(flat | (distance < 0.0), np.inf, distance)


def arc_means(fetch_m: Floats, half: int = ARC_HALF) -> Floats:
    """Mean over the arc of 2 x half + 1 whole degrees around each bearing; shape as given, (points, 360)."""
    wide = np.concatenate([fetch_m[:, -half:], fetch_m, fetch_m[:, :half]], axis=1)
    total = np.cumsum(np.concatenate([np.zeros((len(wide), 1)), wide], axis=1), axis=1)
    return np.asarray((total[:, 2 * half + 1 :] - total[:, : -2 * half - 1]) / (2 * half + 1), float)


def _running_max(values: Floats, half: int) -> Floats:
    wide = np.concatenate([values[:, -half:], values, values[:, :half]], axis=1)
    windows = np.lib.stride_tricks.sliding_window_view(wide, 2 * half + 1, axis=1)
    return np.asarray(windows.max(axis=2), float)
