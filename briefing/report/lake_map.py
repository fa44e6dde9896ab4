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

WIDTH, TALLEST, LEAST = 640, 560, 200
MARGIN, FOOT = 24, 54
#: Shore vertices closer together than this on the page are not drawn apart.
STEP = 2.0
#: Most characters of a place name on the map.
NAME = 26
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
    """Return the map of a section as SVG; "" when its outline has no extent.

    The shore is drawn by the wind of ``section.wind_from_deg``: thick where wind-blown, dotted where sheltered, thin
    along the wind or where the wind is not known.
    """
    rings = [np.asarray(ring, float) for ring in section.rings_m if len(ring) >= 3]
    if not rings or float(np.ptp(rings[0], axis=0).max()) <= 0.0:
        return ""
    view = _view(rings[0])
    parts = [_water(rings, view)]
    parts += _shore(rings, section.wind_from_deg, view)
    parts += _places(section.places, view)
    parts += [_north(view), _scale_bar(view, units)]
    parts += _legend(section, view)
    return (
        f'<svg class="map" role="img" aria-labelledby="lake-map-t lake-map-d" viewBox="0 0 {view.width:g} '
        f'{view.height + FOOT:.0f}" xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" font-size="12">'
        f'<title id="lake-map-t">Map of the lake with sheltered and wind-blown shore</title>'
        f'<desc id="lake-map-d">{escape(section.text)}</desc>{"".join(parts)}</svg>'
    )


def _view(outer: Floats) -> _View:
    low, size = outer.min(axis=0), np.maximum(np.ptp(outer, axis=0), 1.0)
    scale = min((WIDTH - 2 * MARGIN) / size[0], (TALLEST - 2 * MARGIN) / size[1])
    height = max(LEAST, size[1] * scale + 2 * MARGIN)
    spare = np.array([(WIDTH - 2 * MARGIN) / scale - size[0], (height - 2 * MARGIN) / scale - size[1]])
    return _View(low - spare / 2.0, scale, WIDTH, height)


def _thin(points: Floats) -> Floats:
    """Leave out vertices that fall on the same spot of the page; the ends stay."""
    kept = [points[0]]
    for point in points[1:-1]:
        if abs(point[0] - kept[-1][0]) + abs(point[1] - kept[-1][1]) >= STEP:
            kept.append(point)
    return np.array([*kept, points[-1]])


def _path(points: Floats) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points.tolist())


def _water(rings: list[Floats], view: _View) -> str:
    outlines = " ".join(f"M {_path(_thin(view.at(ring)))} Z" for ring in rings)
    return f'<path class="map-water" fill="currentColor" fill-opacity="0.06" fill-rule="evenodd" d="{outlines}"/>'


def _shore(rings: list[Floats], wind_from_deg: float | None, view: _View) -> list[str]:
    shape = LakeShape(rings[0], tuple(rings[1:]))
    sides = bank_sides(shape, math.nan if wind_from_deg is None else wind_from_deg)
    lines: dict[int, list[str]] = {0: [], -1: [], 1: []}
    offset = 0
    for ring in rings:
        mine = sides[offset : offset + len(ring)].tolist()
        offset += len(ring)
        page = view.at(np.concatenate([ring, ring[:1]]))
        begin = 0
        for edge in range(1, len(mine) + 1):
            if edge == len(mine) or mine[edge] != mine[begin]:
                lines[mine[begin]].append(f"M {_path(_thin(page[begin : edge + 1]))}")
                begin = edge
    return [
        f'<path class="{_SHORE[side][0]}" fill="none" stroke="currentColor" {_SHORE[side][1]} d="{" ".join(runs)}"/>'
        for side, runs in lines.items()
        if runs
    ]


def _places(places: tuple[MapPlace, ...], view: _View) -> list[str]:
    parts: list[str] = []
    taken: list[tuple[float, float]] = []
    for place in sorted(places, key=lambda one: (one.kind != "ramp", one.name)):
        x, y = view.at(np.array([place.x_m, place.y_m])).tolist()
        inside = -MARGIN <= x - MARGIN <= view.width and 0.0 <= y <= view.height
        if not inside:
            continue
        if place.kind == "ramp":
            mark = (
                f'<rect class="map-ramp" x="{x - 5:.1f}" y="{y - 5:.1f}" width="10" height="10" fill="currentColor"/>'
            )
        else:
            mark = (
                f'<circle class="map-spot" cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="none" stroke="currentColor" '
                f'stroke-width="2"/>'
            )
        anchor, label_x = ("end", x - 9) if x > view.width * 0.65 else ("start", x + 9)
        label_y = _free(label_x, y + 4, taken, view.height)
        name = place.name if len(place.name) <= NAME else place.name[: NAME - 1].rstrip() + "…"
        parts.append(
            f'{mark}<text class="lab" x="{label_x:.1f}" y="{label_y:.1f}" text-anchor="{anchor}">{escape(name)}</text>'
        )
    return parts


def _free(x: float, y: float, taken: list[tuple[float, float]], height: float) -> float:
    """Move a label down (from the foot of the map upwards) until it covers no other one."""
    step = 13.0 if y < height - 60 else -13.0
    while any(abs(y - other_y) < 12.0 and abs(x - other_x) < 150.0 for other_x, other_y in taken):
        y += step
    taken.append((x, y))
    return y


def _north(view: _View) -> str:
    x = view.width - MARGIN
    return (
        f'<g class="map-north"><line x1="{x}" x2="{x}" y1="34" y2="14" stroke="currentColor" stroke-width="1.5"/>'
        f'<polygon points="{x - 4},18 {x + 4},18 {x},8" fill="currentColor"/>'
        f'<text class="lab" x="{x}" y="47" text-anchor="middle">N</text></g>'
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
    y = view.height + 40
    entries = [(1, "wind-blown bank"), (-1, "sheltered bank")] if section.wind_from_deg is not None else []
    parts, x = [], float(MARGIN)
    for side, words in entries:
        name, style = _SHORE[side]
        parts.append(
            f'<line class="{name}" x1="{x:.0f}" x2="{x + 30:.0f}" y1="{y - 4:.1f}" y2="{y - 4:.1f}" '
            f'stroke="currentColor" {style}/><text class="lab" x="{x + 36:.0f}" y="{y:.1f}">{words}</text>'
        )
        x += 150.0
    marks = "square: ramp, ring: spot" + ("; shoreline assumed" if section.assumed else "")
    parts.append(f'<text class="lab" x="{x:.0f}" y="{y:.1f}">{marks}</text>')
    return parts
