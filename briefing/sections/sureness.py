"""How sure each part is, because of what, and which sign at the water would change it."""

from __future__ import annotations

from typing import Literal

from briefing.sections.quantity import SectionModel


class Sureness(SectionModel):
    """One part of the briefing: high, fair or low, because; ``sign`` is what to watch for."""

    part: str
    sure: Literal["high", "fair", "low"]
    because: str
    sign: str = ""


class SurenessSection(SectionModel):
    """All parts, in the order of the briefing."""

    parts: tuple[Sureness, ...]
