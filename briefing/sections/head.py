"""Line of place and date: which lake, which day, whose limits."""

from __future__ import annotations

from datetime import date, datetime

from briefing.reader import Language
from briefing.sections.quantity import SectionModel
from briefing.units import Units


class HeadSection(SectionModel):
    """What the briefing is about. ``row`` names the row of default limits in use and why.

    ``country`` is the lake's (ISO 3166, two letters), None where it is not known.

    ``remarks``: what the program has to say of itself, such as a briefing that was missed or entries that could not be
    read. ``doubts``: which safety inputs are refused or missing.
    """

    lake: str
    lake_id: str
    language: Language
    units: Units
    country: str | None
    ramp: str | None
    day: date
    day_text: str
    zone: str
    craft: str
    row: str
    prepared_at: datetime
    outing: str
    guessed: tuple[str, ...] = ()
    demo: bool = False
    remarks: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
