"""Rod and line as the trade prints them: feet and pound-test, for a metric reader metres and the line's diameter."""

from __future__ import annotations

from briefing.core.advice.measures import either, localised
from briefing.core.advice.presentation import LineSpec, Setup
from briefing.units import Units

_KIND = {"fluoro": "fluorocarbon", "mono": "nylon mono", "braid": "braid"}
_FOOT_M = 0.3048


def feet(length_ft: float) -> str:
    """Feet and inches as rods are marked: ``7'3"``."""
    inches = round(length_ft * 12)
    return f"{inches // 12}'{inches % 12}\""


def marked_length(length_ft: tuple[float, float]) -> str:
    """The length of a rod with a mark for the reader's units: ``{7'0" to 7'3"|2.13 to 2.21 m}``.

    >>> marked_length((7.0, 7.0))
    '{7\\'0"|2.13 m}'
    """
    us, metric = (list(dict.fromkeys(texts)) for texts in (map(feet, length_ft), map(_metres, length_ft)))
    return either(" to ".join(us), f"{' to '.join(metric)} m")


def marked_line(line: LineSpec) -> str:
    """A line with a mark for the reader's units: ``{15-17 lb|0.35-0.38 mm} fluorocarbon``.

    >>> marked_line(LineSpec("braid", (50, 50), (0.36, 0.36)))
    '{50 lb|0.36 mm} braid'
    """
    us, metric = _span(line.lb, "g"), _span(line.diameter_mm, ".2f")
    return f"{either(f'{us} lb', f'{metric} mm')} {_KIND.get(line.kind, line.kind)}"


def length_words(length_ft: tuple[float, float], units: Units) -> str:
    """The length of a rod in the reader's units."""
    return localised(marked_length(length_ft), units)


def line_words(line: LineSpec, units: Units) -> str:
    """A line in the reader's units."""
    return localised(marked_line(line), units)


def ratio_words(setup: Setup) -> str:
    """The ratio of a reel: ``6.8:1`` or ``6.2 to 7.1:1``."""
    return f"{' to '.join(dict.fromkeys(f'{value:g}' for value in setup.ratio))}:1"


def _metres(length_ft: float) -> str:
    return f"{length_ft * _FOOT_M:.2f}"


def _span(pair: tuple[float, float], form: str) -> str:
    """Both ends, or one where they print alike."""
    return "-".join(dict.fromkeys(format(value, form) for value in pair))
