"""Charts of letters for the terminal: at most 72 columns, readable without colour."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

WIDTH = 72
_LEFT = 6


@dataclass(frozen=True)
class Line:
    """One line of a chart: a mark and a value for each step, None where there is none."""

    mark: str
    values: Sequence[float | None]


def chart(lines: Sequence[Line], labels: Sequence[tuple[int, str]], *, rows: int = 12, now: int | None = None) -> str:
    """Draw lines over equal steps, later lines on top; ``labels`` are (step, text) below, ``now`` a marked step."""
    known = [value for line in lines for value in line.values if value is not None]
    if not known:
        return "(nothing to draw)"
    low, high = min(known), max(known)
    span = max(high - low, 1e-9)
    steps = max(len(line.values) for line in lines)
    room = WIDTH - _LEFT
    grid = [[" "] * room for _ in range(rows)]

    def column(step: int) -> int:
        return round(step * (room - 1) / max(steps - 1, 1))

    if now is not None:
        for row in grid:
            row[column(now)] = ":"
    for line in lines:
        for step, value in enumerate(line.values):
            if value is not None:
                grid[rows - 1 - round((value - low) / span * (rows - 1))][column(step)] = line.mark
    out = []
    for number, row in enumerate(grid):
        value = high - span * number / (rows - 1)
        label = f"{value:5.0f} " if number % 3 == 0 or number == rows - 1 else " " * _LEFT
        out.append((label + "".join(row)).rstrip())
    return "\n".join([*out, _axis(labels, column)])


def _axis(labels: Sequence[tuple[int, str]], column: Callable[[int], int]) -> str:
    axis = [" "] * WIDTH
    for step, text in labels:
        start = min(_LEFT + column(step), WIDTH - len(text))
        if all(axis[n] == " " for n in range(max(0, start - 1), min(WIDTH, start + len(text)))):
            axis[start : start + len(text)] = list(text)
    return "".join(axis).rstrip()


def bar(share: float, width: int = 30) -> str:
    """A bar for a share of 0 to 1."""
    filled = round(max(0.0, min(1.0, share)) * width)
    return "#" * filled + "." * (width - filled)
