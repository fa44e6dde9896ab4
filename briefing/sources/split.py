"""Takes an answer about many places apart into what each would have got alone; what is doubtful is left out.

Nothing is repaired here: an item that is missing, damaged or stands at another's place is asked for again, alone.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from briefing.sources.bodies import load_json, read_number, rows, table, text
from briefing.sources.distance import distance_km
from briefing.sources.usgs import site_id

Place = tuple[float, float]
#: A model cell lies no further from the place asked for.
_CELL_KM = 40.0


def split_models(body: bytes, places: Sequence[Place]) -> dict[int, bytes]:
    """Return the body of each place by its number in the request; places without a sound one are left out.

    The answer is a list in the order of the request, each item with the position of its cell, and from the second on
    with its number. A list that is shorter or longer may be shifted: only numbered items of it count.
    """
    items = load_json(body)
    if not isinstance(items, list):
        return {}
    whole = len(items) == len(places)
    numbered = any("location_id" in table(item) for item in items)
    # Place 0 alone comes without its number: the first item, or the only one that has none.
    alone = sum("location_id" not in table(item) for item in items) == 1
    found: dict[int, Any] = {}
    twice: set[int] = set()
    for order, item in enumerate(items):
        usual = order if not numbered else 0 if alone or order == 0 else None
        number = table(item).get("location_id", usual)
        if not _is_sound(item) or type(number) is not int or not 0 <= number < len(places):
            continue
        if number in found:
            twice.add(number)
        found[number] = item
    cells = {number: _cell(item) for number, item in found.items()}
    out = {}
    for number, item in found.items():
        away = distance_km(places[number], cells[number])
        nearer = any(distance_km(places[number], cell) < away - 0.5 for cell in cells.values())
        shifted = (not whole or nearer) if not numbered else False
        if number not in twice and away <= _CELL_KM and not shifted:
            out[number] = json.dumps(item, separators=(",", ":")).encode()
    return out


def _is_sound(item: object) -> bool:
    """Tell whether an item looks like an answer about a place: columns of hours as long as their times."""
    data = table(item)
    hourly = table(data.get("hourly"))
    times = hourly.get("time")
    if data.get("error") or not isinstance(times, list) or not times or len(hourly) < 2:
        return False
    north, east = _cell(data)
    columns = all(isinstance(column, list) and len(column) == len(times) for column in hourly.values())
    return columns and abs(north) <= 90.0 and abs(east) <= 180.0


def _cell(item: object) -> Place:
    return read_number(table(item).get("latitude"))[0], read_number(table(item).get("longitude"))[0]


def split_gauges(bodies: Sequence[bytes], sites: Sequence[str]) -> dict[str, list[Any]]:
    """Return the features of each site (by its id as asked for) that has any, from all pages of an answer."""
    wanted = {site_id(site) for site in sites}
    out: dict[str, list[Any]] = {}
    for body in bodies:
        for feature in rows(table(load_json(body)).get("features")):
            site = text(table(table(feature).get("properties")).get("monitoring_location_id"))
            if site in wanted:
                out.setdefault(site, []).append(feature)
    return out


def joined_gauges(features: dict[str, list[Any]], sites: Sequence[str]) -> bytes:
    """Write the features of some sites as one whole answer."""
    found = [feature for site in sites for feature in features.get(site_id(site), [])]
    return json.dumps({"type": "FeatureCollection", "features": found, "links": []}, separators=(",", ":")).encode()


def split_reports(body: bytes, airports: Sequence[str]) -> dict[str, bytes]:
    """Return the reports of each airport that has any."""
    by_airport: dict[str, list[Any]] = {}
    for report in rows(load_json(body)):
        by_airport.setdefault(text(table(report).get("icaoId")), []).append(report)
    return {name: json.dumps(found).encode() for name, found in by_airport.items() if name in airports}
