"""Charts and the map as small PNG for mail, from the same definition as the SVG. Light ground, sixteen colours."""

from __future__ import annotations

import io
import itertools
import math
import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from briefing.report.svg import Mark, Plot

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

#: Pixels for one user unit: sharp on a phone, small in the mail.
SCALE = 2.0
FONT_UNITS = 13
COLOURS = 16

GROUND, INK = "#ffffff", "#1b2226"
_SOFT, _GRID = "#4c585f", "#c9d1d6"
_BLUE = "#0072b2"
_WITHIN, _CAUTION, _UNKNOWN, _STOP = "#0b5d66", "#7a4a00", "#553a8f", "#9c1220"
#: Colour, width in user units, dash in user units; by class, the most particular first.
_LINES: dict[str, tuple[str, float, tuple[float, float] | None]] = {
    "axis": (INK, 1.0, None),
    "grid": (_GRID, 0.7, None),
    "now": (INK, 1.0, (3, 3)),
    "edge": (_BLUE, 1.0, None),
    "main": (INK, 2.0, None),
    "p0": (_SOFT, 2.0, (5, 4)),
    "p2": (_CAUTION, 2.0, None),
    "p3": (_STOP, 3.0, None),
    "p4": (_UNKNOWN, 2.0, None),
    "p5": (_WITHIN, 2.0, None),
    "p6": (_SOFT, 2.0, (5, 4)),
    "phase": (_SOFT, 2.0, None),
}
_FILLS = {"band": "#d9e8f3", "range": _BLUE}
_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}
#: Grounds that the page's style sheet gives: water under a tint, a place of the outing on the paper's colour.
_GROUNDS = {"map-water": "#f0f1f1", "map-stop": GROUND}
_SVG = "{http://www.w3.org/2000/svg}"


def to_png(plot: Plot) -> bytes:
    """Draw a chart; same chart, same bytes."""
    return _drawn(plot.width, plot.height, lambda draw: _marks(draw, plot.parts))


def svg_to_png(svg: str) -> bytes:
    """Draw an SVG of ours that is not a chart, such as the map: paths of straight lines, boxes, circles and words.

    Raises ValueError for a shape that is not among these.
    """
    root = ElementTree.fromstring(svg)
    _, _, width, height = (float(part) for part in root.attrib["viewBox"].split())
    return _drawn(width, height, lambda draw: _children(draw, root, _Turn()))


def _drawn(width: float, height: float, paint: Callable[[ImageDraw], object]) -> bytes:
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (round(width * SCALE), round(height * SCALE)), GROUND)
    paint(ImageDraw.Draw(image))
    small = image.quantize(COLOURS, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    out = io.BytesIO()
    small.save(out, "PNG", compress_level=6)
    return out.getvalue()


@lru_cache(maxsize=1)
def _font() -> Any:
    from PIL import ImageFont

    return ImageFont.load_default(FONT_UNITS * SCALE)


def _marks(draw: ImageDraw, marks: Sequence[Mark]) -> None:
    for mark in marks:
        _draw(draw, mark)


def _draw(draw: ImageDraw, mark: Mark) -> None:
    points = [(x * SCALE, y * SCALE) for x, y in mark.points]
    if mark.kind == "text":
        draw.text(points[0], mark.words, fill=INK, font=_font(), anchor=_ANCHORS[mark.anchor])
    elif mark.kind == "rect":
        draw.rectangle(points, fill=_FILLS.get(mark.cls, _GRID))
    elif mark.kind == "polygon":
        draw.polygon(points, fill=_FILLS.get(mark.cls, _GRID))
    elif mark.kind == "circle":
        draw.circle(points[0], mark.radius * SCALE, fill=INK)
    else:
        colour, width, dash = line_style(mark.cls)
        pixels = max(1, round(width * SCALE))
        for run in [points] if dash is None else _dashes(points, dash[0] * SCALE, dash[1] * SCALE):
            draw.line(run, fill=colour, width=pixels, joint="curve")


def line_style(cls: str) -> tuple[str, float, tuple[float, float] | None]:
    """Style of a line by its class or any of its words."""
    if cls in _LINES:
        return _LINES[cls]
    return next((_LINES[word] for word in reversed(cls.split()) if word in _LINES), (INK, 1.0, None))


def _dashes(points: Sequence[tuple[float, float]], on: float, off: float) -> list[list[tuple[float, float]]]:
    """Cut a polyline into dashes, carried on round its corners."""
    runs: list[list[tuple[float, float]]] = [[points[0]]]
    drawing, left = True, on
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        done = 0.0
        while length - done > left:
            done += left
            at = (x0 + (x1 - x0) * done / length, y0 + (y1 - y0) * done / length)
            if drawing:
                runs[-1].append(at)
            else:
                runs.append([at])
            drawing = not drawing
            left = on if drawing else off
        left -= length - done
        if drawing:
            runs[-1].append((x1, y1))
    return [run for run in runs if len(run) > 1]


@dataclass(frozen=True, slots=True)
class _Turn:
    """A turn by an angle about a point and then a shift, as a group of the map has them."""

    angle: float = 0.0
    about: tuple[float, float] = (0.0, 0.0)
    shift: tuple[float, float] = (0.0, 0.0)

    @classmethod
    def read(cls, text: str) -> _Turn:
        """The transform of a group: one ``rotate`` about a point or one ``translate``; raises ValueError else."""
        found = re.fullmatch(r"(rotate|translate)\(([-\d. ]+)\)", text.strip())
        numbers = [] if found is None else [float(part) for part in found[2].split()]
        if found is not None and found[1] == "rotate" and len(numbers) == 3:
            return cls(math.radians(numbers[0]), (numbers[1], numbers[2]))
        if found is not None and found[1] == "translate" and len(numbers) == 2:
            return cls(shift=(numbers[0], numbers[1]))
        raise ValueError(f"a transform that is not drawn: {text}")

    def at(self, x: float, y: float) -> tuple[float, float]:
        """In pixels."""
        dx, dy = x - self.about[0], y - self.about[1]
        sine, cosine = math.sin(self.angle), math.cos(self.angle)
        turned = self.about[0] + dx * cosine - dy * sine, self.about[1] + dx * sine + dy * cosine
        return (turned[0] + self.shift[0]) * SCALE, (turned[1] + self.shift[1]) * SCALE


def _children(draw: ImageDraw, node: ElementTree.Element, turn: _Turn) -> None:
    for child in node:
        kind = child.tag.removeprefix(_SVG)
        if kind == "g":
            _children(draw, child, _Turn.read(child.attrib["transform"]) if "transform" in child.attrib else turn)
        elif kind == "text":
            at = turn.at(float(child.attrib["x"]), float(child.attrib["y"]))
            anchor = _ANCHORS[child.attrib.get("text-anchor", "start")]
            draw.text(at, child.text or "", fill=INK, font=_font(), anchor=anchor)
        elif kind == "circle":
            centre = turn.at(float(child.attrib["cx"]), float(child.attrib["cy"]))
            pixels = _width(child)
            draw.circle(centre, float(child.attrib["r"]) * SCALE, fill=_fill(child), outline=INK, width=pixels)
        elif kind not in ("title", "desc"):
            _shape(draw, child, kind, turn)


def _shape(draw: ImageDraw, node: ElementTree.Element, kind: str, turn: _Turn) -> None:
    runs = [([turn.at(*point) for point in run], closed) for run, closed in _runs(node, kind)]
    fill = None if kind == "line" else _fill(node)
    for number, (run, closed) in enumerate(runs):
        if fill is not None and closed:
            draw.polygon(run, fill=fill if number == 0 else GROUND)  # what lies within the first is land
    if "stroke" not in node.attrib:
        return
    dash = [float(part) * SCALE for part in node.attrib.get("stroke-dasharray", "").split()]
    for run, closed in runs:
        whole = [*run, run[0]] if closed else run
        for part in _dashes(whole, *dash) if dash else [whole]:
            draw.line(part, fill=INK, width=_width(node), joint="curve")


def _runs(node: ElementTree.Element, kind: str) -> list[tuple[list[tuple[float, float]], bool]]:
    """Corners of a shape in user units, with whether it is closed."""
    at = node.attrib
    if kind == "line":
        return [([(float(at["x1"]), float(at["y1"])), (float(at["x2"]), float(at["y2"]))], False)]
    if kind == "rect":
        x, y, w, h = (float(at[name]) for name in ("x", "y", "width", "height"))
        return [([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], True)]
    if kind == "polygon":
        return [(_pairs(at["points"]), True)]
    if kind == "path":
        return [_path(run) for run in at["d"].split("M ") if run.strip()]
    raise ValueError(f"a shape that is not drawn: {kind}")


def _pairs(text: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", text)]


def _path(run: str) -> tuple[list[tuple[float, float]], bool]:
    """A run of a path: pairs of numbers, ``V`` and ``H`` to one of them, ``Z`` for closed."""
    points: list[tuple[float, float]] = []
    for letter, text in re.findall(r"([VH]?)\s*(-?[\d.]+(?:,-?[\d.]+)?)", run):
        if letter == "V":
            points.append((points[-1][0], float(text)))
        elif letter == "H":
            points.append((float(text), points[-1][1]))
        else:
            points += _pairs(text)
    return points, "Z" in run


def _fill(node: ElementTree.Element) -> str | None:
    """Colour inside a shape; the page's own is dark where no other is named."""
    named = _GROUNDS.get(node.attrib.get("class", ""))
    return named or (None if node.attrib.get("fill") == "none" else INK)


def _width(node: ElementTree.Element) -> int:
    return max(1, round(float(node.attrib.get("stroke-width", "1")) * SCALE))
