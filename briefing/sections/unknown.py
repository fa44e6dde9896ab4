"""What is not known this morning: each missing or stale input and what that means."""

from __future__ import annotations

from briefing.sections.quantity import SectionModel


class Missing(SectionModel):
    """One input that is missing, stale or refused, and the consequence for the text above."""

    what: str
    means: str


class UnknownSection(SectionModel):
    """Empty ``items`` is said in words: nothing that was asked for is missing."""

    items: tuple[Missing, ...]
