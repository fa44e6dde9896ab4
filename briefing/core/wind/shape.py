"""The lake's outline in local metres: outer shore, islands, what is water, the nearest shore."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.core.geo import LocalPlane

Floats = NDArray[np.float64]
LonLatRing = Sequence[tuple[float, float]]

#: A ramp marked on the shore line is moved this far onto the water before open water is measured.
NUDGE_M = 2.0
_COMPASS = np.radians(np.arange(0.0, 360.0, 22.5))


@dataclass(frozen=True)
class LakeShape:
    """One lake: outer ring and islands, metres east and north of the origin.

    Rings have shape (n, 2), are open (the first vertex is not repeated) and may run either way. ``assumed`` is true
    when the outline was made from area and length alone; ``note`` then says how.
    """

    outer_xy_m: Floats
    islands_xy_m: tuple[Floats, ...] = ()
    lat_deg: float = 0.0
    lon_deg: float = 0.0
    assumed: bool = False
    note: str = ""

    @property
    def plane(self) -> LocalPlane:
        """The local plane the rings are in."""
        return LocalPlane(self.lat_deg, self.lon_deg)

    @property
    def rings(self) -> tuple[Floats, ...]:
        """Outer ring first, then the islands."""
        return (self.outer_xy_m, *self.islands_xy_m)

    @cached_property
    def outward_normals(self) -> Floats:
        """Unit vectors from water to bank of all shore edges, order of ``edges``; shape (edges, 2)."""
        parts = []
        for number, ring in enumerate(self.rings):
            run = np.roll(ring, -1, axis=0) - ring
            x, y = ring.T
            turn = np.sign(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
            outward = turn if number == 0 else -turn  # the water lies outside an island
            normal = np.stack([run[:, 1], -run[:, 0]], axis=1) * outward
            parts.append(normal / np.maximum(np.hypot(*normal.T), 1e-12)[:, None])
        return np.concatenate(parts)

    @cached_property
    def key(self) -> str:
        """Hash of the outline to the centimetre and of its origin; the key of everything computed from it."""
        digest = hashlib.sha256(f"{self.lat_deg:.7f},{self.lon_deg:.7f},{self.assumed}".encode())
        for ring in self.rings:
            digest.update(b"ring" + np.round(ring * 100.0).astype("<i8").tobytes())
        return digest.hexdigest()

    @cached_property
    def edges(self) -> tuple[Floats, Floats]:
        """Starts and ends of all shore edges, each of shape (edges, 2), outer ring first."""
        return np.concatenate(self.rings), np.concatenate([np.roll(ring, -1, axis=0) for ring in self.rings])

    @property
    def area_m2(self) -> float:
        """Water area: outer ring less islands."""
        return abs(_area(self.outer_xy_m)) - sum(abs(_area(ring)) for ring in self.islands_xy_m)

    @property
    def longest_arm_m(self) -> float:
        """Largest extent of the outer ring in any direction (to 0.02 %)."""
        angles = np.radians(np.arange(0.0, 180.0, 1.0))
        along = self.outer_xy_m @ np.stack([np.sin(angles), np.cos(angles)])
        return float((along.max(axis=0) - along.min(axis=0)).max())

    @property
    def lonlat_rings(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """Outer ring as (longitude, latitude) pairs, in a tuple of its own: the form alerts are tested against."""
        lat, lon = self.plane.to_latlon(self.outer_xy_m)
        return (tuple(zip(lon.tolist(), lat.tolist(), strict=True)),)

    def contains(self, points_xy_m: ArrayLike) -> NDArray[np.bool_]:
        """Say for each point (shape (points, 2)) if it is on water: inside the outer ring and on no island."""
        points = np.atleast_2d(np.asarray(points_xy_m, float))
        wet = _inside(self.outer_xy_m, points)
        for ring in self.islands_xy_m:
            wet &= ~_inside(ring, points)
        return wet

    def nearest_shore(self, point_xy_m: ArrayLike) -> tuple[float, Floats, int]:
        """Return distance (m), foot point and edge number of the shore nearest to one point."""
        point = np.asarray(point_xy_m, float)
        start, end = self.edges
        run = end - start
        length2 = np.maximum((run**2).sum(axis=1), 1e-12)
        share = np.clip(((point - start) * run).sum(axis=1) / length2, 0.0, 1.0)
        foot = start + share[:, None] * run
        distance = np.hypot(*(foot - point).T)
        number = int(distance.argmin())
        return float(distance[number]), foot[number], number

    def onto_water(self, points_xy_m: ArrayLike, reach_m: float = 0.5) -> Floats:
        """Move points on the shore, or on land within ``reach_m`` of it, 2 m onto the water; others stay.

        Points on land farther away become NaN. Points on water more than ``reach_m`` (at most 0.5 m) from the shore
        stay where they are.
        """
        points = np.atleast_2d(np.asarray(points_xy_m, float)).copy()
        wet = self.contains(points)
        near = self._near_shore(points, min(reach_m, 0.5))
        for number in np.flatnonzero(~wet | near).tolist():
            distance, foot, edge = self.nearest_shore(points[number])
            if distance <= (min(reach_m, 0.5) if wet[number] else reach_m):
                points[number] = self._nudged(foot, edge)
            elif not wet[number]:
                points[number] = np.nan
        return points

    def _near_shore(self, points: Floats, reach_m: float) -> NDArray[np.bool_]:
        """Mark points whose shore may be within ``reach_m``: their box touches the box of an edge."""
        start, end = self.edges
        low, high = np.minimum(start, end) - reach_m, np.maximum(start, end) + reach_m
        near = np.zeros(len(points), bool)
        for number, (x, y) in enumerate(points.tolist()):
            near[number] = bool(((low[:, 0] <= x) & (x <= high[:, 0]) & (low[:, 1] <= y) & (y <= high[:, 1])).any())
        return near

    def _nudged(self, foot: Floats, edge: int) -> Floats:
        start, end = self.edges[0][edge], self.edges[1][edge]
        run = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
        normal = np.array([-run[1], run[0]])
        around = np.stack([np.sin(_COMPASS), np.cos(_COMPASS)], axis=1)
        tries = foot + NUDGE_M * np.concatenate([[normal, -normal], around])
        wet = self.contains(tries)
        found: Floats = tries[int(wet.argmax())] if wet.any() else np.full(2, np.nan)
        return found


def shape_from_lonlat(
    outer: LonLatRing, islands: Sequence[LonLatRing] = (), *, lat_deg: float | None = None, lon_deg: float | None = None
) -> LakeShape:
    """Make a shape from (longitude, latitude) rings in degrees; the origin is the ring's middle unless given."""
    degrees = np.asarray(outer, float)
    origin_lat = float((degrees[:, 1].min() + degrees[:, 1].max()) / 2.0) if lat_deg is None else lat_deg
    origin_lon = float((degrees[:, 0].min() + degrees[:, 0].max()) / 2.0) if lon_deg is None else lon_deg
    plane = LocalPlane(origin_lat, origin_lon)

    def ring(pairs: LonLatRing) -> Floats:
        array = np.asarray(pairs, float)
        return tidy_ring(plane.to_xy(array[:, 1], array[:, 0]))

    return LakeShape(ring(outer), tuple(ring(one) for one in islands), origin_lat, origin_lon)


def tidy_ring(xy_m: ArrayLike) -> Floats:
    """Drop repeated vertices in a row and the repeated closing vertex; at least three must be left."""
    ring = np.asarray(xy_m, float)
    ring = ring[np.any(ring != np.roll(ring, 1, axis=0), axis=1)]
    if len(ring) < 3:
        raise ValueError("a ring needs at least three different vertices")
    return ring


def equivalent_ellipse(
    area_km2: float,
    longest_arm_km: float | None = None,
    axis_deg: float | None = None,
    *,
    lat_deg: float = 0.0,
    lon_deg: float = 0.0,
    vertices: int = 360,
) -> LakeShape:
    """Make an assumed outline from area and longest arm, with its long axis along ``axis_deg`` (true bearing).

    Without an axis the outline is a circle as wide as the longest arm, so that any wind gets the long run; without a
    longest arm it is a circle of 1.5 times the width of the circle of that area. Both err to larger waves.
    """
    if area_km2 <= 0.0 or (longest_arm_km is not None and longest_arm_km <= 0.0):
        raise ValueError("area and longest arm must be above zero")
    round_km = 2.0 * math.sqrt(area_km2 / math.pi)
    long_half = max(longest_arm_km or 1.5 * round_km, round_km) * 500.0
    known_axis = axis_deg is not None and longest_arm_km is not None
    short_half = area_km2 * 1e6 / (math.pi * long_half) if known_axis else long_half
    angle = np.linspace(0.0, 2.0 * math.pi, vertices, endpoint=False)
    along, across = long_half * np.cos(angle), short_half * np.sin(angle)
    sine, cosine = math.sin(math.radians(axis_deg or 0.0)), math.cos(math.radians(axis_deg or 0.0))
    ring = np.stack([along * sine + across * cosine, along * cosine - across * sine], axis=1)
    return LakeShape(ring, (), lat_deg, lon_deg, assumed=True, note=_ellipse_note(longest_arm_km, known_axis))


def _ellipse_note(longest_arm_km: float | None, known_axis: bool) -> str:
    if known_axis:
        return "shoreline assumed: an ellipse of the lake's area and longest arm"
    if longest_arm_km is not None:
        return "shoreline assumed: a circle as wide as the lake's longest arm"
    return "shoreline assumed: a circle half as wide again as one of the lake's area"


def _area(ring: Floats) -> float:
    x, y = (ring - ring[0]).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0


def _inside(ring: Floats, points: Floats) -> NDArray[np.bool_]:
    # Crossing count of a ray to the east; half-open in y, so a vertex counts once.
    start, end = ring, np.roll(ring, -1, axis=0)
    inside = np.zeros(len(points), bool)
    step = max(1, 2_000_000 // len(ring))
    for low in range(0, len(points), step):
        x, y = points[low : low + step, :1], points[low : low + step, 1:]
        spans = (start[:, 1] > y) != (end[:, 1] > y)
        rise = np.where(end[:, 1] == start[:, 1], 1.0, end[:, 1] - start[:, 1])
        at = start[:, 0] + (y - start[:, 1]) * (end[:, 0] - start[:, 0]) / rise
        inside[low : low + step] = (np.count_nonzero(spans & (x < at), axis=1) % 2).astype(bool)
    return inside
