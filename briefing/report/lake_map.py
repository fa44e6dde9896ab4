"""A plain map of the lake as one inline SVG: shore by wind, ramps, spots, north mark and scale bar.

No depth tints, no tiles. What colour says is also said by line style and by the legend; the text equivalent is the
section's text.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from html import escape

import numpy as np
from numpy.typing import NDArray

from briefing.core.wind.banks import bank_sides
from briefing.core.wind.shape import LakeShape
from briefing.sections.lake_map import MapPlace, MapSection
from briefing.units import Units

Floats = NDArray[np.float64]

WIDTH, TALLEST, LEAST = 300, 300, 120
MARGIN, HEAD, FOOT, ROW = 16, 40, 62, 18
#: Shore vertices closer together than this on the page are not drawn apart.
STEP = 2.0
#: Room that a number or a ring takes, and how far a label may be moved to be free of others.
PLACE = 9.0
#: Half of the box kept clear round the arrow of the wind.
ARROW = 18.0
_START, _OTHER = 'fill="currentColor"', 'fill="none" stroke="currentColor" stroke-width="1.4"'
_SHORE = {
    1: ("map-blown", 'stroke-width="4"'),
    -1: ("map-sheltered", 'stroke-width="2.5" stroke-dasharray="1.5 4" stroke-linecap="round"'),
    0: ("map-along", 'stroke-width="1"'),
}


@dataclass(frozen=True)
class _View:
    """From metres to user units; y grows downwards on the page."""

    low: Floats
    scale: float  # user units a metre
    width: float
    height: float

    def at(self, xy_m: Floats) -> Floats:
        units = (np.asarray(xy_m, float) - self.low) * self.scale
        return np.stack([units[..., 0] + MARGIN, self.height - MARGIN - units[..., 1]], axis=-1)


def lake_map(section: MapSection, *, units: Units) -> str:
    """Return the map of a section as SVG; "" when its outline has no extent, or is assumed and holds no place.

    The shore is drawn by the wind of ``section.wind_from_deg``: thick where wind-blown, dotted where sheltered, thin
    along the wind or where the wind is not known.
    """
    rings = [np.asarray(ring, float) for ring in section.rings_m if len(ring) >= 3]
    if not rings or float(np.ptp(rings[0], axis=0).max()) <= 0.0:
        return ""
    if section.assumed and not section.places:
        return ""  # a made-up outline with nothing on it
    foot = FOOT + (ROW if section.assumed else 0)
    view = _view(rings[0])
    parts = [_water(rings, view)]
    parts += _shore(rings, section.wind_from_deg, view)
    parts += _route(section, view)
    parts += _places(section, view)
    parts += [_north(view), *_wind(section), _scale_bar(view, units)]
    parts += _legend(section, view)
    return (
        f'<svg class="map" role="img" aria-labelledby="lake-map-t lake-map-d" viewBox="0 0 {view.width:g} '
        f'{view.height + foot:.0f}" xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" font-size="12.5">'
        f'<title id="lake-map-t">Map of the lake with sheltered and wind-blown shore</title>'
        f'<desc id="lake-map-d">{escape(map_words(section))}</desc>{"".join(parts)}</svg>'
    )


def map_words(section: MapSection) -> str:
    """The map in words, for who doesn't see it: the outing from place to place, then shore and wind."""
    stops = sorted((place.number, place.name) for place in section.places if place.number is not None)
    if section.start is None or not stops:
        return section.text
    route = ", ".join(f"{number} {name}" for number, name in stops)
    return f"From {section.start.name} to {route}, and back. {section.text}"


def _view(outer: Floats) -> _View:
    low, size = outer.min(axis=0), np.maximum(np.ptp(outer, axis=0), 1.0)
    scale = min((WIDTH - 2 * MARGIN) / size[0], (TALLEST - 2 * MARGIN) / size[1])
    room = max(LEAST, size[1] * scale + 2 * MARGIN)
    spare = np.array([(WIDTH - 2 * MARGIN) / scale - size[0], (room - 2 * MARGIN) / scale - size[1]])
    return _View(low - spare / 2.0, scale, WIDTH, room + HEAD)


def _thin(points: list[list[float]]) -> list[list[float]]:
    """Leave out vertices that fall on the same spot of the page; the ends stay."""
    first, *inner, last = points
    kept = [first]
    for x, y in inner:
        if abs(x - kept[-1][0]) + abs(y - kept[-1][1]) >= STEP:
            kept.append([x, y])
    return [*kept, last]


def _path(points: list[list[float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _water(rings: list[Floats], view: _View) -> str:
    outlines = " ".join(f"M {_path(view.at(ring).tolist())} Z" for ring in rings)
    return f'<path class="map-water" fill="currentColor" fill-opacity="0.06" fill-rule="evenodd" d="{outlines}"/>'


def _shore(rings: list[Floats], wind_from_deg: float | None, view: _View) -> list[str]:
    shape = LakeShape(rings[0], tuple(rings[1:]))
    sides = bank_sides(shape, math.nan if wind_from_deg is None else wind_from_deg)
    lines: dict[int, list[str]] = {0: [], -1: [], 1: []}
    offset = 0
    for ring in rings:
        mine = sides[offset : offset + len(ring)].tolist()
        offset += len(ring)
        page = view.at(np.concatenate([ring, ring[:1]])).tolist()
        begin = 0
        for edge in range(1, len(mine) + 1):
            if edge == len(mine) or mine[edge] != mine[begin]:
                lines[mine[begin]].append(f"M {_path(page[begin : edge + 1])}")
                begin = edge
    return [
        f'<path class="{_SHORE[side][0]}" fill="none" stroke="currentColor" {_SHORE[side][1]} d="{" ".join(runs)}"/>'
        for side, runs in lines.items()
        if runs
    ]


def _at(place: MapPlace, view: _View) -> tuple[float, float]:
    x, y = view.at(np.array([place.x_m, place.y_m])).tolist()
    return x, y


def _route(section: MapSection, view: _View) -> list[str]:
    """The way over water from the ramp through the places in order, and the way home dashed."""
    if not section.way_out_m or not section.way_home_m:
        return []
    out, home = (_path(_thin(view.at(np.array(way)).tolist())) for way in (section.way_out_m, section.way_home_m))
    style = 'fill="none" stroke="currentColor" stroke-width="1.6"'
    return [
        f'<path class="map-route" {style} d="M {out}"/>',
        f'<path class="map-home" {style} stroke-dasharray="5 4" d="M {home}"/>',
    ]


def _places(section: MapSection, view: _View) -> list[str]:
    """Ramps as squares, the start filled; the outing's places as numbers, others as small rings, named in the text."""
    parts: list[str] = []
    ramps = sum(place.kind == "ramp" for place in section.places)
    for place in sorted(section.places, key=lambda one: (one.kind == "ramp", one.number is not None, one.name)):
        x, y = _at(place, view)
        if not (0.0 <= x <= view.width and 0.0 <= y <= view.height):
            continue
        title = f"<title>{escape(place.name)}</title>"
        if place.kind == "ramp":
            fill = _START if ramps == 1 or place == section.start else _OTHER
            parts.append(
                f'<rect class="map-ramp" x="{x - 5:.1f}" y="{y - 5:.1f}" width="10" height="10" {fill}>{title}</rect>'
            )
        elif place.number is None:
            parts.append(
                f'<circle class="map-spot" cx="{x:.1f}" cy="{y:.1f}" r="3.5" fill="none" stroke="currentColor" '
                f'stroke-width="1.4">{title}</circle>'
            )
        else:
            parts.append(
                f'<circle class="map-stop" cx="{x:.1f}" cy="{y:.1f}" r="{PLACE:g}" stroke="currentColor" '
                f'stroke-width="1.6">{title}</circle>'
                f'<text class="lab" x="{x:.1f}" y="{y + 4.5:.1f}" text-anchor="middle">{place.number}</text>'
            )
    return parts


def _wind(section: MapSection) -> list[str]:
    """An arrow the way the wind blows, and what it is, above the outline."""
    if section.wind_from_deg is None:
        return []
    x, y = float(MARGIN + 12), HEAD / 2 + 2
    return [
        f'<g class="map-wind" transform="rotate({section.wind_from_deg:.0f} {x:g} {y:g})">'
        f'<line x1="{x:g}" x2="{x:g}" y1="{y - ARROW + 4:g}" y2="{y + 6:g}" stroke="currentColor" stroke-width="3"/>'
        f'<polygon points="{x - 6:g},{y + 5:g} {x + 6:g},{y + 5:g} {x:g},{y + ARROW - 2:g}" fill="currentColor"/></g>'
        f'<text class="lab" x="{x + 22:g}" y="{y + 5:g}">{escape(section.wind_label)}</text>'
    ]


def _north(view: _View) -> str:
    x = view.width - MARGIN
    return (
        f'<g class="map-north"><line x1="{x}" x2="{x}" y1="24" y2="8" stroke="currentColor" stroke-width="1.5"/>'
        f'<polygon points="{x - 4},12 {x + 4},12 {x},3" fill="currentColor"/>'
        f'<text class="lab" x="{x}" y="37" text-anchor="middle">N</text></g>'
    )


def _scale_bar(view: _View, units: Units) -> str:
    """A bar of a round length, a sixth to a third of the map's width."""
    unit_m, name, small_m, small = (1609.344, "mile", 0.3048, "ft") if units == "us" else (1000.0, "km", 1.0, "m")
    longest = (view.width - 2 * MARGIN) / 3.0 / view.scale
    if longest < 0.5 * unit_m:
        unit_m, name = small_m, small
    size = 10.0 ** math.floor(math.log10(longest / unit_m))
    count = next(step * size for step in (5.0, 2.0, 1.0) if step * size * unit_m <= longest)
    plural = "s" if name == "mile" and count != 1.0 else ""
    y, end = view.height + 14, MARGIN + count * unit_m * view.scale
    return (
        f'<g class="map-scale"><path d="M {MARGIN},{y - 4:.1f} V {y:.1f} H {end:.1f} V {y - 4:.1f}" fill="none" '
        f'stroke="currentColor"/>'
        f'<text class="lab" x="{end + 6:.1f}" y="{y + 2:.1f}">{count:g} {name}{plural}</text></g>'
    )


def _legend(section: MapSection, view: _View) -> list[str]:
    """What the kinds of bank and the marks mean, and whether the shore is a guess; the rest stands in the caption."""
    y = view.height + 38
    parts: list[str] = []
    if section.assumed:
        parts.append(
            f'<text class="lab" x="{MARGIN:g}" y="{view.height + FOOT + ROW - 8:.1f}">shoreline assumed</text>'
        )
    if section.wind_from_deg is None:
        return [*parts, *_keys(section, y)]
    for x, side, words in ((float(MARGIN), 1, "wind-blown"), (MARGIN + 130.0, -1, "sheltered")):
        name, style = _SHORE[side]
        parts.append(
            f'<line class="{name}" x1="{x:.0f}" x2="{x + 26:.0f}" y1="{y - 4:.1f}" y2="{y - 4:.1f}" '
            f'stroke="currentColor" {style}/><text class="lab" x="{x + 32:.0f}" y="{y:.1f}">{words}</text>'
        )
    return [*parts, *_keys(section, y + 18)]


def _keys(section: MapSection, y: float) -> list[str]:
    """What a square, a ring and a dashed line mean, where the map has them."""
    stops = [place for place in section.places if place.number]
    ramp = any(place.kind == "ramp" for place in section.places)
    ring = any(place.kind != "ramp" and place.number is None for place in section.places)
    keys = []
    if ramp:
        words = "start" if section.start is not None else "ramp"
        keys.append((f'<rect class="map-ramp" x="8" y="-9" width="10" height="10" {_START}/>', words, 86.0))
    if ring:
        mark = '<circle class="map-spot" cx="13" cy="-4" r="3.5" fill="none" stroke="currentColor" stroke-width="1.4"/>'
        keys.append((mark, "left out" if stops else "place", 92.0))
    if section.way_home_m:
        style = 'stroke="currentColor" stroke-width="1.6" stroke-dasharray="5 4"'
        mark = f'<line class="map-home" x1="0" x2="26" y1="-4" y2="-4" {style}/>'
        keys.append((mark, "way home", 0.0))
    parts, x = [], float(MARGIN)
    for mark, words, room in keys:
        label = f'<text class="lab" x="32" y="0">{words}</text>'
        parts.append(f'<g class="map-key" transform="translate({x:g} {y:.1f})">{mark}{label}</g>')
        x += room
    return parts
