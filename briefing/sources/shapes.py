"""Shapes of GeoJSON bodies: rings that can be read, and how far a place lies from the area that they enclose."""

from __future__ import annotations

from briefing.core.alerts import Ring
from briefing.core.geo import LocalPlane
from briefing.sources.bodies import read_number, rows, table


def read_ring(value: object) -> Ring:
    """Points of a closed ring as (longitude, latitude); empty when any of it can't be read."""
    points = []
    for point in rows(value):
        pair = [read_number(number)[0] for number in rows(point)[:2]]
        if len(pair) != 2 or not (abs(pair[0]) <= 360.0 and abs(pair[1]) <= 90.0):
            return ()
        points.append((pair[0], pair[1]))
    return tuple(points) if len(points) >= 4 else ()


def outlines(geometry: object) -> tuple[Ring, ...]:
    """Outer rings of the polygons of a geometry, also within a collection; those that can't be read are left out."""
    shape = table(geometry)
    kind, coordinates = shape.get("type"), rows(shape.get("coordinates"))
    if kind == "GeometryCollection":
        return tuple(ring for part in rows(shape.get("geometries"))[:20] for ring in _flat(part))
    return _flat({"type": kind, "coordinates": coordinates})


def _flat(geometry: object) -> tuple[Ring, ...]:
    shape = table(geometry)
    coordinates = rows(shape.get("coordinates"))
    parts = {"Polygon": [coordinates], "MultiPolygon": coordinates}.get(str(shape.get("type")), [])
    return tuple(ring for part in parts if (ring := read_ring(next(iter(rows(part)), None))))


def distance_to_km(rings: tuple[Ring, ...], place: tuple[float, float]) -> float:
    """Distance in km from a (latitude, longitude) to the nearest of some areas, 0 within one.

    Measured on a plane through the place: right to a percent within some hundred km, and plainly far beyond that.
    Longitudes may count from 0 to 360.
    """
    from shapely.geometry import Point, Polygon

    plane = LocalPlane(*place)
    areas = [Polygon(plane.to_xy([y for _, y in ring], [x for x, _ in ring])) for ring in rings]
    return min(float(area.distance(Point(0.0, 0.0))) for area in areas) / 1000.0
