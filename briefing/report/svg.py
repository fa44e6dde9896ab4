"""A small SVG writer: axes, lines, bands and labels as one inline image with a title and a text equivalent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape

Points = Sequence[tuple[float, float]]


@dataclass
class Plot:
    """A plot area of ``width`` x ``height`` user units with data ranges; y grows upwards in data units."""

    x_range: tuple[float, float]
    y_range: tuple[float, float]
    title: str
    desc: str
    ident: str
    width: int = 640
    height: int = 240
    left: int = 44
    right: int = 12
    top: int = 14
    bottom: int = 34
    parts: list[str] = field(default_factory=list)

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
            self.parts.append(f'<polyline class="{cls}" points="{self._path(points)}"/>')

    def area(self, upper: Points, lower: Points, cls: str) -> None:
        """Fill between two lines."""
        if len(upper) > 1:
            outline = self._path([*upper, *reversed(list(lower))])
            self.parts.append(f'<polygon class="{cls}" points="{outline}"/>')

    def dot(self, x: float, y: float, cls: str, radius: float = 3.0) -> None:
        """Draw a marker."""
        self.parts.append(f'<circle class="{cls}" cx="{self.x(x):.1f}" cy="{self.y(y):.1f}" r="{radius:g}"/>')

    def rule(self, value: float, cls: str, label: str, *, above: bool = True) -> None:
        """Draw a horizontal line across the plot with a label at its right end."""
        at = self.y(value)
        self.parts.append(
            f'<line class="{cls}" x1="{self.left}" x2="{self.width - self.right}" y1="{at:.1f}" y2="{at:.1f}"/>'
        )
        offset = at - 4 if above else at + 13
        self.text(self.width - self.right - 2, offset, label, cls="lab", anchor="end")

    def column(self, x0: float, x1: float, cls: str) -> None:
        """Shade a range of x over the whole height."""
        left, right = self.x(x0), self.x(x1)
        self.parts.append(
            f'<rect class="{cls}" x="{left:.1f}" y="{self.top}" width="{right - left:.1f}" '
            f'height="{self.height - self.top - self.bottom}"/>'
        )

    def marker(self, value: float, label: str = "") -> None:
        """Draw a dashed vertical line, such as today's."""
        at = self.x(value)
        self.parts.append(
            f'<line class="now" x1="{at:.1f}" x2="{at:.1f}" y1="{self.top}" y2="{self.height - self.bottom}"/>'
        )
        if label:
            self.text(at + 4, self.top + 10, label, anchor="start")

    def text(self, x: float, y: float, words: str, cls: str = "lab", anchor: str = "middle") -> None:
        """Write escaped text at user units."""
        self.parts.append(f'<text class="{cls}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(words)}</text>')

    def x_labels(self, labels: Sequence[tuple[float, str]]) -> None:
        """Label the x axis."""
        base = self.height - self.bottom
        self.parts.append(
            f'<line class="axis" x1="{self.left}" x2="{self.width - self.right}" y1="{base}" y2="{base}"/>'
        )
        for value, words in labels:
            self.text(self.x(value), base + 15, words)

    def y_labels(self, values: Sequence[float], form: str = "{:g}", unit: str = "") -> None:
        """Label the y axis with faint grid lines."""
        for value in values:
            at = self.y(value)
            self.parts.append(
                f'<line class="grid" x1="{self.left}" x2="{self.width - self.right}" y1="{at:.1f}" y2="{at:.1f}"/>'
            )
            self.text(self.left - 5, at + 4, form.format(value), anchor="end")
        if unit:
            self.text(self.left - 5, self.top - 3, unit, anchor="end")

    def svg(self) -> str:
        """Return the finished image."""
        return (
            f'<svg class="chart" role="img" viewBox="0 0 {self.width} {self.height}" '
            f'aria-labelledby="{self.ident}-t {self.ident}-d" xmlns="http://www.w3.org/2000/svg">'
            f'<title id="{self.ident}-t">{escape(self.title)}</title>'
            f'<desc id="{self.ident}-d">{escape(self.desc)}</desc>' + "".join(self.parts) + "</svg>"
        )

    def _path(self, points: Points) -> str:
        return " ".join(f"{self.x(px):.1f},{self.y(py):.1f}" for px, py in points)


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
