"""The day in one sentence, the launch windows and the two instants that matter."""

from __future__ import annotations

from datetime import datetime

from briefing.sections.quantity import SectionModel
from briefing.vocabulary import Level


class WindowText(SectionModel):
    """A run of daylight hours that is not over a limit; ``ends_because`` says what closes it."""

    begin: datetime
    end: datetime
    level: Level
    text: str
    ends_because: str


class DaySection(SectionModel):
    """``headline`` is the day in at most 90 characters; ``sentences`` go with it."""

    headline: str
    level: Level
    sentences: tuple[str, ...]
    windows: tuple[WindowText, ...]
    off_water_by: datetime | None
    off_water_because: str
    start_back_by: datetime | None
    start_back_text: str
    fixed_launch_outside: bool
