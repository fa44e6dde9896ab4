"""Reads a shoreline (GeoJSON, KML or GPX) and finds the water that holds the lake's position.

Invalid rings are repaired, anything that is no outline of this lake is refused with a clear word. shapely does the
geometry in degrees only where no length is involved; lengths are taken in local metres.
"""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from briefing.core.geo import LocalPlane
from briefing.core.wind.shape import LakeShape, tidy_ring
from briefing.errors import ProfileError

Ring = list[tuple[float, float]]  # (longitude, latitude)
Rings = tuple[Ring, tuple[Ring, ...]]

MAX_BYTES = 50_000_000
MAX_VERTICES = 200_000
#: Vertices nearer than this to the line between their neighbours are left out, on outlines beyond KEEP_VERTICES.
SIMPLIFY_M = 3.0
KEEP_VERTICES = 20_000
#: A position on land this near to the water still belongs to it: a typed position is rarely exact.
NEAR_M = 500.0
#: Below this a polygon is no lake one can paddle on; beyond it, no inland lake.
AREA_M2 = (500.0, 9e10)
#: Length of the longest lake one can name, and half as much again.
LONGEST_M = 700_000.0


def read_shoreline(path: Path, lat_deg: float, lon_deg: float) -> LakeShape:
    """Return the outline of the lake at a position; its local plane has its origin there.

    Raises ProfileError, naming the file and what is wrong with it, when the file can't be read, is of another kind,
    holds no polygon, or none that holds the position.
    """
    rings = list(_rings(path))
    if not rings:
        raise _refused(path, "holds no polygon; an area drawn as polygon (or a closed track) is needed")
    plane = LocalPlane(lat_deg, lon_deg)
    polygons = [polygon for one in rings for polygon in _polygons(path, one, plane)]
    if not polygons:
        raise _refused(path, "holds no polygon with an area")
    return _shape(path, _chosen(path, polygons), lat_deg, lon_deg)


def _refused(path: Path, why: str) -> ProfileError:
    return ProfileError(f"{path.name}: shoreline {why}")


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > MAX_BYTES:
            raise _refused(path, f"is larger than {MAX_BYTES // 1_000_000} MB; simplify it first")
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise _refused(path, f"can't be read: {error.strerror or error}") from error
    except UnicodeDecodeError as error:
        raise _refused(path, "is not a text file in UTF-8") from error


def _rings(path: Path) -> Iterator[Rings]:
    readers = {".geojson": _geojson, ".json": _geojson, ".kml": _xml, ".gpx": _xml}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise _refused(path, f"has the ending {path.suffix or '(none)'}; accepted are .geojson, .json, .kml and .gpx")
    text = _text(path)
    total = 0
    for one in reader(path, text):
        total += len(one[0]) + sum(map(len, one[1]))
        if total > MAX_VERTICES:
            raise _refused(path, f"has more than {MAX_VERTICES} vertices; simplify it first")
        yield one


# ---- GeoJSON ---------------------------------------------------------------------------------------------------------


def _geojson(path: Path, text: str) -> Iterator[Rings]:
    try:
        body = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise _refused(path, "is not readable as GeoJSON") from error
    try:
        yield from _geometry(path, body, depth=0)
    except (KeyError, TypeError, ValueError, IndexError, OverflowError) as error:
        raise _refused(path, "is not built as GeoJSON") from error


def _geometry(path: Path, node: Any, depth: int) -> Iterator[Rings]:
    if not isinstance(node, dict) or depth > 8:
        raise _refused(path, "is not built as GeoJSON")
    kind = node.get("type")
    if kind == "FeatureCollection":
        for feature in node["features"]:
            yield from _geometry(path, feature, depth + 1)
    elif kind == "Feature":
        if node.get("geometry") is not None:
            yield from _geometry(path, node["geometry"], depth + 1)
    elif kind == "GeometryCollection":
        for part in node["geometries"]:
            yield from _geometry(path, part, depth + 1)
    elif kind in ("Polygon", "MultiPolygon"):
        for polygon in [node["coordinates"]] if kind == "Polygon" else node["coordinates"]:
            outer, *holes = [_degrees(path, ring) for ring in polygon]
            yield outer, tuple(holes)


def _degrees(path: Path, pairs: Sequence[Sequence[float]]) -> Ring:
    ring = [(float(pair[0]), float(pair[1])) for pair in pairs]
    for lon, lat in ring:
        if not (math.isfinite(lon) and math.isfinite(lat)):
            raise _refused(path, "holds a coordinate that is not a number")
        if not (-180.0 <= lon <= 180.0 and -90.0 <= lat <= 90.0):
            raise _refused(
                path, f"holds the coordinate {lon:g}, {lat:g}; degrees of longitude and latitude (WGS 84) are needed"
            )
    return ring


# ---- KML and GPX -----------------------------------------------------------------------------------------------------


def _xml(path: Path, text: str) -> Iterator[Rings]:
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise _refused(path, "declares entities, which are not read")
    try:
        root = ET.fromstring(text)
    except ET.ParseError as error:
        raise _refused(path, "is not readable as XML") from error
    try:
        yield from _gpx(path, root) if path.suffix.lower() == ".gpx" else _kml(path, root)
    except (KeyError, ValueError, IndexError) as error:
        raise _refused(path, "holds a coordinate that can't be read") from error


def _local(element: ET.Element) -> str:
    return element.tag.rsplit("}", 1)[-1]


def _kml(path: Path, root: ET.Element) -> Iterator[Rings]:
    for polygon in (node for node in root.iter() if _local(node) == "Polygon"):
        outer: Ring = []
        holes = []
        for boundary in polygon:
            found = [node.text or "" for node in boundary.iter() if _local(node) == "coordinates"]
            rings = [_degrees(path, [tuple(map(float, p.split(",")[:2])) for p in text.split()]) for text in found]
            if _local(boundary) == "outerBoundaryIs" and rings:
                outer = rings[0]
            elif _local(boundary) == "innerBoundaryIs":
                holes += rings
        if outer:
            yield outer, tuple(holes)


def _gpx(path: Path, root: ET.Element) -> Iterator[Rings]:
    """Each closed track segment or route is an outline; one inside another is an island."""
    lines = []
    for line in (node for node in root.iter() if _local(node) in ("trkseg", "rte")):
        points = [node for node in line if _local(node) in ("trkpt", "rtept")]
        ring = _degrees(path, [(float(node.attrib["lon"]), float(node.attrib["lat"])) for node in points])
        if len(ring) >= 4 and _closed(ring):
            lines.append(ring)
    yield from _nested(lines)


def _closed(ring: Ring) -> bool:
    """A walk along the shore counts as closed when its ends lie within 5 % of its length."""
    plane = LocalPlane(ring[0][1], ring[0][0])
    xy = plane.to_xy([lat for _, lat in ring], [lon for lon, _ in ring])
    length = float(np.hypot(*np.diff(xy, axis=0).T).sum())
    return length > 0.0 and float(np.hypot(*(xy[-1] - xy[0]))) <= 0.05 * length


def _nested(rings: list[Ring]) -> Iterator[Rings]:
    from shapely.geometry import Polygon
    from shapely.validation import make_valid

    shapes = [make_valid(Polygon(ring)) for ring in rings]
    inside = [
        next((m for m, other in enumerate(shapes) if m != n and other.area > one.area and other.contains(one)), None)
        for n, one in enumerate(shapes)
    ]
    for n, ring in enumerate(rings):
        if inside[n] is None:
            yield ring, tuple(rings[m] for m in range(len(rings)) if inside[m] == n)


# ---- The polygon of this lake ----------------------------------------------------------------------------------------


def _polygons(path: Path, rings: Rings, plane: LocalPlane) -> list[Any]:
    """Valid shapely polygons in local metres made from one outline; a crossed ring becomes its parts."""
    from shapely.geometry import Polygon
    from shapely.validation import make_valid

    outer, holes = rings
    if len(set(outer)) < 3:
        raise _refused(path, "holds a polygon of fewer than three different points")

    def project(ring: Ring) -> Any:
        return plane.to_xy([lat for _, lat in ring], [lon for lon, _ in ring])

    whole = make_valid(Polygon(project(outer), [project(hole) for hole in holes if len(set(hole)) >= 3]))
    parts = getattr(whole, "geoms", [whole])
    flat = [piece for part in parts for piece in getattr(part, "geoms", [part])]
    return [part for part in flat if part.geom_type == "Polygon" and part.area > 1.0]


def _chosen(path: Path, polygons: Sequence[Any]) -> Any:
    """The smallest polygon that holds the position, else the one within NEAR_M of it."""
    from shapely.geometry import Point, Polygon

    here = Point(0.0, 0.0)
    # A position on an island still belongs to the lake around it.
    around = [polygon for polygon in polygons if Polygon(polygon.exterior).contains(here)]
    if around:
        return min(around, key=lambda polygon: (not polygon.contains(here), polygon.area))
    nearest = min(polygons, key=lambda polygon: polygon.distance(here))
    if nearest.distance(here) > NEAR_M:
        far = nearest.distance(here) / 1000.0
        raise _refused(path, f"does not hold the lake's position: its nearest polygon is {far:.1f} km away")
    return nearest


def _shape(path: Path, polygon: Any, lat_deg: float, lon_deg: float) -> LakeShape:
    if not AREA_M2[0] <= polygon.area <= AREA_M2[1]:
        raise _refused(path, f"has an area of {polygon.area / 1e6:.4g} km2, which is no lake to fish from a boat")
    low_x, low_y, high_x, high_y = polygon.bounds
    if max(high_x - low_x, high_y - low_y) > LONGEST_M:
        raise _refused(path, f"is {max(high_x - low_x, high_y - low_y) / 1000.0:.0f} km long, which is no inland lake")
    if len(polygon.exterior.coords) + sum(len(ring.coords) for ring in polygon.interiors) > KEEP_VERTICES:
        polygon = polygon.simplify(SIMPLIFY_M, preserve_topology=True)
    islands = tuple(tidy_ring(np.asarray(ring.coords)[:, :2]) for ring in polygon.interiors)
    return LakeShape(tidy_ring(np.asarray(polygon.exterior.coords)[:, :2]), islands, lat_deg, lon_deg)
