"""Ways over water: how far it is from place to place when land lies between, by the shortest path along the shore."""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from briefing.core.wind.shape import LakeShape

Floats = NDArray[np.float64]

#: Land that a straight line crosses within this of the shore is not told from a wrong outline (m).
SLIVER_M = 20.0
#: Most corners of the shore that a way may turn at; an outline with more is simplified further.
MOST_CORNERS = 60
#: A way so much longer than straight runs in more than one direction.
BENT = 1.1


@dataclass(frozen=True)
class WaterWays:
    """Ways between places: ``length_m`` and ``bearing_deg`` (places, places), and their ``paths``.

    A bearing is NaN for a way that bends, and for a place and itself: no one wind direction is with or against it.
    ``paths[a, b]`` are the points of the way, metres, both ends included.
    """

    length_m: Floats
    bearing_deg: Floats
    paths: dict[tuple[int, int], Floats]


def water_ways(shape: LakeShape, points_xy_m: ArrayLike) -> WaterWays:
    """Find the shortest way over water between all points (shape (points, 2), metres).

    Straight where the straight line lies on the water; else the shortest path in the visibility graph of the corners
    of the shore (Lozano-Perez and Wesley 1979, doi:10.1145/359156.359164). An assumed outline, and a point that
    lies on land, give straight lines: nothing better is known.
    """
    points = np.asarray(points_xy_m, float).reshape(-1, 2)
    return _water_ways(_Outline(shape), points.tobytes())


def points_along(path_xy_m: Floats, step_m: float) -> Floats:
    """Points every ``step_m`` along a path, the first one step from its start; none on a path shorter than that."""
    gaps = np.hypot(*np.diff(path_xy_m, axis=0).T)
    gone = np.concatenate([[0.0], np.cumsum(gaps)])
    at = np.arange(1, int(gone[-1] // step_m) + 1) * step_m
    return np.stack([np.interp(at, gone, path_xy_m[:, axis]) for axis in (0, 1)], axis=-1)


class _Outline:
    """A shape as the key of what is computed from it."""

    def __init__(self, shape: LakeShape) -> None:
        self.shape = shape

    def __hash__(self) -> int:
        return hash(self.shape.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Outline) and self.shape.key == other.shape.key


@lru_cache(maxsize=64)
def _water_ways(outline: _Outline, raw: bytes) -> WaterWays:
    points = np.frombuffer(raw).reshape(-1, 2)
    count = len(points)
    away = points[None] - points[:, None]
    length = np.hypot(away[..., 0], away[..., 1])
    bearing = np.degrees(np.arctan2(away[..., 0], away[..., 1])) % 360.0
    np.fill_diagonal(bearing, np.nan)
    paths = {(a, b): points[[a, b]] for a in range(count) for b in range(count)}
    pairs = [(a, b) for a in range(count) for b in range(a + 1, count) if np.isfinite(length[a, b])]
    if outline.shape.assumed or not pairs:
        return WaterWays(length, bearing, paths)
    water = _water(outline.shape)
    straight = _covered(water, points, pairs)
    bent = [pair for pair, free in zip(pairs, straight, strict=True) if not free]
    wet = set(np.flatnonzero(_inside(water, points)).tolist())
    bent = [(a, b) for a, b in bent if a in wet and b in wet]
    if bent:
        nodes = np.concatenate([points, _corners(water)])
        ways = _Graph(water, nodes)
        for a, b in bent:
            way = nodes[ways.way(a, b)]
            if len(way) < 2:
                continue
            by_water = float(np.hypot(*np.diff(way, axis=0).T).sum())
            if by_water > BENT * length[a, b]:
                bearing[a, b] = bearing[b, a] = np.nan
            length[a, b] = length[b, a] = by_water
            paths[a, b], paths[b, a] = way, way[::-1]
    return WaterWays(length, bearing, paths)


def _water(shape: LakeShape):  # type: ignore[no-untyped-def]
    """The water as a polygon, a little wider than drawn, with few enough corners."""
    import shapely
    from shapely.geometry import Polygon
    from shapely.validation import make_valid

    whole = make_valid(Polygon(shape.outer_xy_m, [ring for ring in shape.islands_xy_m if len(ring) > 2]))
    step = SLIVER_M
    while True:
        water = whole.buffer(SLIVER_M, join_style="mitre").simplify(step / 2.0)
        parts = list(getattr(water, "geoms", [water]))
        water = max((one for one in parts if one.geom_type == "Polygon"), key=lambda one: one.area)
        if len(_corners(water)) <= MOST_CORNERS or step > 20.0 * SLIVER_M:
            shapely.prepare(water)
            return water
        step *= 1.6


def _corners(water) -> Floats:  # type: ignore[no-untyped-def]
    """Corners of the land that reach into the water: only there can a shortest way turn."""
    found = []
    for number, ring in enumerate([water.exterior, *water.interiors]):
        xy = np.asarray(ring.coords)[:-1]
        before, after = xy - np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0) - xy
        turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        # seen along the ring the water lies on one side; an island's ring is turned round by that
        side = 1.0 if ring.is_ccw == (number == 0) else -1.0
        found.append(xy[side * turn < 0.0])
    return np.concatenate(found) if found else np.zeros((0, 2))


def _covered(water, nodes: Floats, pairs: list[tuple[int, int]]) -> NDArray[np.bool_]:  # type: ignore[no-untyped-def]
    import shapely

    lines = shapely.linestrings(nodes[np.array(pairs, int).reshape(-1, 2)])
    return np.asarray(shapely.covers(water, lines), bool)


def _inside(water, points: Floats) -> NDArray[np.bool_]:  # type: ignore[no-untyped-def]
    import shapely

    return np.asarray(shapely.covers(water, shapely.points(points)), bool)


class _Graph:
    """Which corners and places see each other, looked up as the search reaches them."""

    def __init__(self, water, nodes: Floats) -> None:  # type: ignore[no-untyped-def]
        self._water, self._nodes = water, nodes
        self._seen: dict[int, tuple[NDArray[np.int64], Floats]] = {}

    def _near(self, node: int) -> tuple[NDArray[np.int64], Floats]:
        if node not in self._seen:
            others = np.array([n for n in range(len(self._nodes)) if n != node], np.int64)
            free = others[_covered(self._water, self._nodes, [(node, int(one)) for one in others])]
            self._seen[node] = free, np.hypot(*(self._nodes[free] - self._nodes[node]).T)
        return self._seen[node]

    def way(self, start: int, target: int) -> list[int]:
        """The shortest path between two nodes (A* with the straight distance to go); empty where there is none."""
        ahead = np.hypot(*(self._nodes - self._nodes[target]).T)
        best, came, done = {start: 0.0}, {start: start}, set()
        queue = [(float(ahead[start]), start)]
        while queue:
            _, node = heapq.heappop(queue)
            if node == target:
                return self._path(came, target)
            if node in done:
                continue
            done.add(node)
            for other, far in zip(*(one.tolist() for one in self._near(node)), strict=True):
                gone = best[node] + far
                if gone < best.get(other, math.inf):
                    best[other], came[other] = gone, node
                    heapq.heappush(queue, (gone + float(ahead[other]), other))
        return []

    @staticmethod
    def _path(came: dict[int, int], target: int) -> list[int]:
        path = [target]
        while came[path[-1]] != path[-1]:
            path.append(came[path[-1]])
        return path[::-1]
