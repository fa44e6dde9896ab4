"""A chart as a small PNG for mail, from the same definition as the SVG. Light ground, sixteen colours."""

from __future__ import annotations

import io
import itertools
from collections.abc import Sequence
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


def to_png(plot: Plot) -> bytes:
    """Draw a chart; same chart, same bytes."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (round(plot.width * SCALE), round(plot.height * SCALE)), GROUND)
    draw = ImageDraw.Draw(image)
    for mark in plot.parts:
        _draw(draw, mark)
    small = image.quantize(COLOURS, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    out = io.BytesIO()
    small.save(out, "PNG", compress_level=6)
    return out.getvalue()


@lru_cache(maxsize=1)
def _font() -> Any:
    from PIL import ImageFont

    return ImageFont.load_default(FONT_UNITS * SCALE)


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
