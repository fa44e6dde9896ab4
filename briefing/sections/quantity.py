"""A number as a reader may trust it: with unit, source, age and range, or a word that it has none."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import BaseModel, ConfigDict

OriginKind = Literal["observed", "forecast", "modelled", "estimated", "entered", "normal", "computed"]


class SectionModel(BaseModel):
    """Base of all briefing models: frozen, nothing unknown let in."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Quantity(SectionModel):
    """A measured, forecast or modelled quantity.

    ``value`` None means not known, and ``note`` then says why. ``low``/``high`` are the 80 % range unless
    ``range_note`` says otherwise; when both are None, ``range_note`` says why there is none ("exact", "not stated by
    the source"). ``as_of`` is the aware UTC instant the value was measured or issued; ``age_h`` its age when the
    briefing was made. ``text`` is value and range as the reader sees them, in the reader's units.
    """

    value: float | None
    unit: str
    source: str
    kind: OriginKind
    low: float | None = None
    high: float | None = None
    range_note: str = ""
    as_of: datetime | None = None
    age_h: float | None = None
    note: str = ""
    text: str = ""
