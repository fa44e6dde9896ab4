"""Limits of what can be true: a value outside them is refused, never clipped."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Plausible:
    """Closed ranges by kind (unit in the kind's name) and the numbers that services send for "missing"."""

    ranges: Mapping[str, tuple[float, float]]
    sentinels: tuple[float, ...]

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> Plausible:
        """Read the table of ``config/plausible.toml``; raises KeyError when a part of it is not there."""
        ranges = {str(kind): (float(pair[0]), float(pair[1])) for kind, pair in mapping["range"].items()}
        return cls(ranges, tuple(float(value) for value in mapping["sentinels"]))

    def holds(self, kind: str, value: float) -> bool:
        """Tell whether ``value`` can be true; NaN and infinity can't. An unknown kind raises KeyError."""
        low, high = self.ranges[kind]
        return math.isfinite(value) and low <= value <= high

    def is_sentinel(self, value: float) -> bool:
        """Tell whether a number as sent (before any conversion) stands for "missing"."""
        return any(value == sentinel for sentinel in self.sentinels)
