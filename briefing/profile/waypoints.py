"""Waypoints from GPX and KML files, as plotters and maps write them, to become spots."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from briefing.errors import InputError, NotFoundError, StoreError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

_LARGEST_FILE = 20_000_000
_LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Waypoint:
    """A named position in degrees; ``notes`` is the description of the file, ``time`` its ISO instant, as text."""

    name: str
    latitude: float
    longitude: float
    notes: str = ""
    time: str = ""


def read_waypoints(path: Path) -> list[Waypoint]:
    """Return the waypoints of a GPX (``wpt``) or KML (``Placemark`` with a ``Point``) file, in its order.

    Raises NotFoundError, StoreError (unreadable) or InputError (no such file format, broken, none in it).
    """
    try:
        body = path.read_bytes()
    except FileNotFoundError:
        raise NotFoundError(f"There is no file {path}.") from None
    except OSError as error:
        raise StoreError(f"{path} can't be read: {error.strerror or error}.") from None
    return parse_waypoints(body, path.name)


def parse_waypoints(body: bytes, file_name: str) -> list[Waypoint]:
    """Return the waypoints of a file's bytes; see `read_waypoints`."""
    root = _root(body, file_name)
    kind = _local(root.tag)
    if kind not in ("gpx", "kml"):
        raise InputError(f"{file_name} is neither GPX nor KML (it starts with <{kind}>).")
    found = list(_gpx_points(root) if kind == "gpx" else _kml_points(root))
    if not found:
        raise InputError(f"{file_name} holds no waypoints (tracks and areas are not spots).")
    return _named_apart(found)


def _root(body: bytes, file_name: str) -> Element:
    from xml.etree import ElementTree

    if len(body) > _LARGEST_FILE:
        raise InputError(f"{file_name} is too large for waypoints ({len(body) // 1_000_000} MB; at most 20 MB).")
    if b"\x00" in body[:4] or b"<!DOCTYPE" in body or b"<!ENTITY" in body:
        # Entities can be made to grow without end; no plotter writes them.
        raise InputError(f"{file_name} is not a plain GPX or KML file in UTF-8; export it again.")
    try:
        return ElementTree.fromstring(body)
    except (ElementTree.ParseError, ValueError, LookupError) as error:
        raise InputError(f"{file_name} is broken XML ({error}).") from None


def _local(tag: object) -> str:
    return str(tag).rsplit("}", 1)[-1]


def _child_text(element: Element, *names: str) -> str:
    for name in names:
        for child in element:
            if _local(child.tag) == name and child.text and child.text.strip():
                return " ".join(child.text.split())
    return ""


def _point(element: Element, latitude: str, longitude: str, number: int) -> Waypoint | None:
    """Make a waypoint, or None where the position is no position."""
    try:
        north, east = float(latitude), float(longitude)
    except ValueError:
        return None
    if not (abs(north) <= 90.0 and abs(east) <= 180.0):
        return None
    name = _child_text(element, "name")[:_LONGEST_NAME].strip() or f"Waypoint {number}"
    notes = _child_text(element, "desc", "cmt", "description")[:1000]
    return Waypoint(name, round(north, 6), round(east, 6), notes, _child_text(element, "time")[:40])


def _gpx_points(root: Element) -> Iterator[Waypoint]:
    elements = [element for element in root.iter() if _local(element.tag) == "wpt"]
    for number, element in enumerate(elements, start=1):
        point = _point(element, element.get("lat", ""), element.get("lon", ""), number)
        if point:
            yield point


def _kml_points(root: Element) -> Iterator[Waypoint]:
    placemarks = [element for element in root.iter() if _local(element.tag) == "Placemark"]
    for number, placemark in enumerate(placemarks, start=1):
        for point in (child for child in placemark if _local(child.tag) == "Point"):
            # KML writes longitude first.
            parts = _child_text(point, "coordinates").split(" ")[0].split(",")
            made = _point(placemark, parts[1], parts[0], number) if len(parts) >= 2 else None
            if made:
                yield made


def _named_apart(points: list[Waypoint]) -> list[Waypoint]:
    """Give waypoints of the same name a number, so that each can be a spot of its own."""
    from briefing.profile.model import slug

    used: set[str] = set()
    out = []
    for point in points:
        name, number = point.name, 2
        while slug(name) in used:
            name = f"{point.name[: _LONGEST_NAME - 5]} {number}"
            number += 1
        used.add(slug(name))
        out.append(replace(point, name=name))
    return out
