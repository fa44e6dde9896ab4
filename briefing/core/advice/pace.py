"""How fast a lure is brought home: the paces of hand and reel by water temperature, mood, retrieve and lure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from briefing.core.advice.presentation import Presentation

_USUAL_C = 18.0  # where the water temperature is not known


class Pace(StrEnum):
    """Paces from still to as fast as the handle turns, in order."""

    STILL = "still"
    CRAWL = "crawl"
    SLOW = "slow"
    MEDIUM = "medium"
    BRISK = "brisk"
    BURN = "burn"


PACES = tuple(Pace)


@dataclass(frozen=True, slots=True)
class Retrieve:
    """What a retrieve is called, where it works, how fast it is reeled and what it needs of hour and place.

    ``paces`` is the slowest and the fastest, None for what isn't reeled; of ``needs`` one word must hold,
    of ``never_in`` none.
    """

    id: str
    name: str
    short: str
    layer: str
    paces: tuple[Pace, Pace] | None
    needs: frozenset[str]
    never_in: frozenset[str]


@dataclass(frozen=True, slots=True)
class Ceiling:
    """Below a water temperature (C): the fastest pace that fish follow, and the one to begin with by mood."""

    below_c: float
    most: Pace
    active: Pace
    neutral: Pace
    negative: Pace


@dataclass(frozen=True)
class PaceRules:
    """Paces in m/s, the ceilings by temperature, and the retrieves."""

    mps: Mapping[Pace, tuple[float, float]]
    ceilings: tuple[Ceiling, ...]
    retrieves: Mapping[str, Retrieve]

    @classmethod
    def from_mapping(cls, data: Mapping[str, Any]) -> PaceRules:
        """Read the parsed file; raises KeyError or ValueError naming the field."""
        return cls(
            mps={pace: (float(data["pace"][pace][0]), float(data["pace"][pace][1])) for pace in Pace},
            ceilings=tuple(
                Ceiling(float(row["below_c"]), *(Pace(row[key]) for key in ("most", "active", "neutral", "negative")))
                for row in data["ceiling"]
            ),
            retrieves={key: _retrieve(key, row) for key, row in data["retrieve"].items()},
        )

    def at(self, temp_c: float | None) -> Ceiling:
        """The row for a water temperature."""
        value = _USUAL_C if temp_c is None else temp_c
        return next((row for row in self.ceilings if value < row.below_c), self.ceilings[-1])

    def name(self, retrieve: str) -> str:
        """What a retrieve is called."""
        known = self.retrieves.get(retrieve)
        return retrieve.replace("_", " ") if known is None else known.name

    def short(self, retrieve: str) -> str:
        """The same in a word or three."""
        known = self.retrieves.get(retrieve)
        return retrieve.replace("_", " ") if known is None else known.short

    def reeled(self, retrieve: str) -> bool:
        """True for a retrieve with the handle turning at one pace."""
        known = self.retrieves.get(retrieve)
        return known is not None and known.paces is not None

    def fastest(self, retrieve: str) -> Pace:
        """The fastest pace at which a retrieve is still that retrieve; brisk for what isn't reeled."""
        known = self.retrieves.get(retrieve)
        return Pace.BRISK if known is None or known.paces is None else known.paces[1]

    def pace(self, retrieve: str, temp_c: float | None, mood: float, *, dark: bool = False) -> Pace:
        """The pace to begin with: by mood, slow at night, under the ceiling by temperature, as the retrieve allows."""
        row = self.at(temp_c)
        wanted = row.active if mood > 0.4 else row.negative if mood < -0.4 else row.neutral
        if dark and PACES.index(wanted) > PACES.index(Pace.SLOW):
            wanted = Pace.SLOW
        known = self.retrieves.get(retrieve)
        slowest, fastest = (Pace.CRAWL, Pace.BRISK) if known is None or known.paces is None else known.paces
        place = min(PACES.index(wanted), PACES.index(row.most), PACES.index(fastest))
        return PACES[max(place, PACES.index(slowest))]

    def bounds_mps(self, item: Presentation, pace: Pace) -> tuple[float, float]:
        """The speeds of a pace that this lure is worked at; its own nearest one where it is never worked so."""
        low, high = self.mps[pace]
        window = item.speed_mps
        least, most = (window.best_low, window.high) if pace is Pace.BURN else (window.low, window.best_high)
        return min(max(low, least), most), min(max(high, least), most)

    def speed_mps(self, item: Presentation, pace: Pace, mood: float) -> float:
        """Speed within a pace, faster for the more willing fish."""
        low, high = self.bounds_mps(item, pace)
        return low + (high - low) * (0.45 + 0.25 * min(max(mood, -1.0), 1.0))


def _retrieve(key: str, row: Mapping[str, Any]) -> Retrieve:
    paces = row.get("paces")
    span = None if paces is None else (Pace(paces[0]), Pace(paces[1]))
    return Retrieve(
        key,
        row["name"],
        row["short"],
        row["layer"],
        span,
        frozenset(row.get("needs", ())),
        frozenset(row.get("never_in", ())),
    )
