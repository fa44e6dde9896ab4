"""Sources with their ages and credits, the next check and how long the briefing may be used."""

from __future__ import annotations

from datetime import datetime

from briefing.sections.quantity import SectionModel


class SourceRow(SectionModel):
    """One source that was used: what it gave, when it was issued and retrieved."""

    name: str
    gave: str
    kind: str
    issued: datetime | None
    retrieved: datetime | None
    age_text: str
    note: str = ""


class SourcesSection(SectionModel):
    """Where everything comes from."""

    rows: tuple[SourceRow, ...]
    credits: tuple[str, ...]
    next_check: str
    valid_until: datetime
    valid_text: str
    reminder: str
