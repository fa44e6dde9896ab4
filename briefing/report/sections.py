"""Names of the parts of the text, for whoever asks for one of them."""

from __future__ import annotations

from enum import StrEnum


class Section(StrEnum):
    """The parts of the text, in its order."""

    GLANCE = "glance"
    CAUTIONS = "cautions"
    BEFORE = "before"
    RODS = "rods"
    WHERE = "where"
    FISH = "fish"
    WATER = "water"
    SURE = "sure"
    UNKNOWN = "unknown"
    CHANGES = "changes"
    HOURS = "hours"
    SOURCES = "sources"
