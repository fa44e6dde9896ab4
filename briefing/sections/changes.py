"""What changed since the last briefing for the same day: material changes only, old value to new."""

from __future__ import annotations

from datetime import datetime

from briefing.sections.quantity import SectionModel


class ChangesSection(SectionModel):
    """``compared_with`` is when the earlier briefing was made; None when there is none."""

    compared_with: datetime | None
    lines: tuple[str, ...]
