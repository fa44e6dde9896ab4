"""One definition of a chart: marks in user units, written as inline SVG here and as PNG by `briefing.report.png`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Literal

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Mark:
    """Something drawn, in user units with y downwards; ``cls`` names its style.

    ``points``: the corners of a line or area, both ends of a rule, opposite corners of a box, the place of a dot or of
    a text.
    """

    kind: Literal["polyline", "polygon", "line", "rect", "circle", "text"]
    cls: str
    points: tuple[tuple[float, float], ...]
    words: str = ""
    anchor: str = "middle"
    radius: float = 0.0


@dataclass
class Plot:
    """A plot area of ``width`` x ``height`` user units with data ranges; y grows upwards in data units."""

    x_range: tuple[float, float]
    y_range: tuple[float, float]
    title: str
    desc: str
    ident: str
    width: int = 300
    height: int = 160
    left: int = 34
    right: int = 8
    top: int = 18
    bottom: int = 26
    parts: list[Mark] = field(default_factory=list)

    def x(self, value: float) -> float:
        """Map a data x to user units."""
        low, high = self.x_range
        return self.left + (value - low) / (high - low) * (self.width - self.left - self.right)

    def y(self, value: float) -> float:
        """Map a data y to user units."""
        low, high = self.y_range
        return self.height - self.bottom - (value - low) / (high - low) * (self.height - self.top - self.bottom)

    def line(self, points: Points, cls: str) -> None:
        """Draw a polyline; a gap in the data is a new call."""
        if len(points) > 1:
            self.parts.append(Mark("polyline", cls, self._placed(points)))

    def area(self, upper: Points, lower: Points, cls: str) -> None:
        """Fill between two lines."""
        if len(upper) > 1:
            self.parts.append(Mark("polygon", cls, self._placed([*upper, *reversed(list(lower))])))

    def dot(self, x: float, y: float, cls: str, radius: float = 3.0) -> None:
        """Draw a marker."""
        self.parts.append(Mark("circle", cls, self._placed([(x, y)]), radius=radius))

    def bar(self, x0: float, x1: float, y: float, cls: str, thick: float = 10.0) -> None:
        """Draw a horizontal bar ``thick`` user units high, centred on ``y``."""
        at = self.y(y)
        self.parts.append(Mark("rect", cls, ((self.x(x0), at - thick / 2), (self.x(x1), at + thick / 2))))

    def marker(self, value: float, label: str = "") -> None:
        """Draw a dashed vertical line, such as today's."""
        at = self.x(value)
        self.parts.append(Mark("line", "now", ((at, self.top), (at, self.height - self.bottom))))
        if label:
            before = at + 4 + _LETTER_PX * len(label) > self.width - self.right
            self.text(at - 4 if before else at + 4, self.top - 5, label, anchor="end" if before else "start")

    def text(self, x: float, y: float, words: str, cls: str = "lab", anchor: str = "middle") -> None:
        """Write escaped text at user units."""
        self.parts.append(Mark("text", cls, ((x, y),), words, anchor))

    def x_labels(self, labels: Sequence[tuple[float, str, str]]) -> None:
        """Label the x axis: value, words, anchor."""
        base = self.height - self.bottom
        self.parts.append(Mark("line", "axis", ((self.left, base), (self.width - self.right, base))))
        for value, words, anchor in labels:
            self.text(self.x(value), base + 16, words, anchor=anchor)

    def y_labels(self, values: Sequence[float], form: str = "{:g}", unit: str = "") -> None:
        """Label the y axis with faint grid lines."""
        for value in values:
            at = self.y(value)
            self.parts.append(Mark("line", "grid", ((self.left, at), (self.width - self.right, at))))
            self.text(self.left - 5, at + 4, form.format(value), anchor="end")
        if unit:
            self.text(self.left - 5, self.top - 5, unit, anchor="end")

    def svg(self) -> str:
        """Return the finished image."""
        return (
            f'<svg class="chart" role="img" viewBox="0 0 {self.width} {self.height}" '
            f'aria-labelledby="{self.ident}-t {self.ident}-d" xmlns="http://www.w3.org/2000/svg">'
            f'<title id="{self.ident}-t">{escape(self.title)}</title>'
            f'<desc id="{self.ident}-d">{escape(self.desc)}</desc>'
            + "".join(_SVG[mark.kind](mark) for mark in self.parts)
            + "</svg>"
        )

    def _placed(self, points: Points) -> tuple[tuple[float, float], ...]:
        return tuple((self.x(px), self.y(py)) for px, py in points)


def _many(mark: Mark) -> str:
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in mark.points)
    return f'<{mark.kind} class="{mark.cls}" points="{path}"/>'


def _line(mark: Mark) -> str:
    (x1, y1), (x2, y2) = mark.points
    return f'<line class="{mark.cls}" x1="{x1:.1f}" x2="{x2:.1f}" y1="{y1:.1f}" y2="{y2:.1f}"/>'


def _rect(mark: Mark) -> str:
    (x1, y1), (x2, y2) = mark.points
    return f'<rect class="{mark.cls}" x="{x1:.1f}" y="{y1:.1f}" width="{x2 - x1:.1f}" height="{y2 - y1:.1f}"/>'


def _circle(mark: Mark) -> str:
    ((x, y),) = mark.points
    return f'<circle class="{mark.cls}" cx="{x:.1f}" cy="{y:.1f}" r="{mark.radius:g}"/>'


def _text(mark: Mark) -> str:
    ((x, y),) = mark.points
    words = escape(mark.words)
    return f'<text class="{mark.cls}" x="{x:.1f}" y="{y:.1f}" text-anchor="{mark.anchor}">{words}</text>'


#: Usual width of a letter of a label, on the wide side.
_LETTER_PX = 7.0
_SVG = {"polyline": _many, "polygon": _many, "line": _line, "rect": _rect, "circle": _circle, "text": _text}


def ticks(low: float, high: float, count: int = 5) -> list[float]:
    """Return round values that span [low, high], about ``count`` of them.

    >>> ticks(0, 24)
    [0.0, 5.0, 10.0, 15.0, 20.0]
    """
    span = max(high - low, 1e-9)
    rough = span / count
    power = 10.0 ** len(str(int(rough))) / 10 if rough >= 1 else 0.1
    step = next((m * power for m in (1, 2, 2.5, 5, 10) if m * power >= rough), 10 * power)
    first = -(-low // step) * step
    values = []
    while first <= high + 1e-9:
        values.append(round(first, 6) + 0.0)
        first += step
    return values
