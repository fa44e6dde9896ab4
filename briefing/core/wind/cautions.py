"""The usual cautions, chosen by what applies: each with its official source and "check your local rules"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from briefing.vocabulary import Craft


@dataclass(frozen=True, slots=True)
class UsualCaution:
    """A standing caution as printed: text, official source, and the reminder to check local rules."""

    id: str
    title: str
    text: str
    source: str
    rank: int
    check: str


@dataclass(frozen=True, slots=True)
class CautionFacts:
    """What decides which cautions apply; None or NaN = not known, which never drops a caution."""

    craft: Craft
    day: date
    water_low_c: float | None = None
    heat_index_max_c: float | None = None
    uv_index_max: float | None = None
    in_dark: bool = False
    fog: bool = False
    alone: bool = False
    thunder: bool = False
    moving_water: bool = False
    tailwater: bool = False
    dam: bool = False
    outing_planned: bool = False
    state: str = ""  # two-letter code of a US state, for cold-season life-jacket rules


@dataclass(frozen=True)
class CautionTable:
    """All cautions of ``config/cautions.toml``."""

    entries: tuple[Mapping[str, Any], ...]
    check: str

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> CautionTable:
        """Read the file; raises ValueError on an unknown condition."""
        raise NotImplementedError


def usual_cautions(table: CautionTable, facts: CautionFacts) -> tuple[UsualCaution, ...]:
    """Return the cautions that apply, most important first."""
    raise NotImplementedError
