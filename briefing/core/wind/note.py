"""The wind note: a pure decision from what was sent, what was last evaluated, the current hours and the time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from briefing.core.wind.alerts import ResolvedAlerts
from briefing.core.wind.level import HourLevel
from briefing.core.wind.rules import NoteRules


class NoteKind(StrEnum):
    """What a note says; ``none``: nothing goes out."""

    FIRST = "first"
    STRONGER = "stronger"
    EARLIER = "earlier"
    LATER = "later"
    EASED = "eased"
    DATA_LOST = "data_lost"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class PlannedOuting:
    """A planned outing; its id is lake + date, the event all notes belong to."""

    id: str
    lake: str
    launch: datetime
    planned_return: datetime


@dataclass(frozen=True)
class NoteSignature:
    """What an outing looked like at one evaluation; plain and JSON-able with ``to_mapping`` and ``from_mapping``.

    issued is the newest issue time of the forecast used: two cycles are two different issue times. first_stop and
    first_unknown are hours inside the watch (launch to planned return + 1 h). crossed: factors at stop. warnings:
    ids of alerts at stop, or official warnings. data_lost: the newest forecast is too old and no newer can be had.
    below: every crossed number is 10 % under its limit, no alert is in force, thunder is below caution, data fresh.
    """

    outing: str
    evaluated_at: datetime
    issued: datetime | None
    level: str
    first_stop: datetime | None
    first_unknown: datetime | None
    crossed: tuple[str, ...]
    unknown: tuple[str, ...]
    warnings: tuple[str, ...]
    peak_gust_mps: float | None
    peak_wind_mps: float | None
    peak_hs_m: float | None
    data_lost: bool
    below: bool
    kind: str = NoteKind.NONE.value  # of the note that was sent with it

    def to_mapping(self) -> dict[str, Any]:
        """Return plain JSON values; instants in ISO 8601."""
        raise NotImplementedError

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> NoteSignature:
        """Read what ``to_mapping`` wrote."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class NoteDecision:
    """What to do now: ``kind`` none means send nothing; ``quiet`` then says why in one sentence.

    signature is to be stored as evaluated, and as sent when the note was handed over. changes are plain sentences.
    """

    kind: NoteKind
    signature: NoteSignature
    changes: tuple[str, ...]
    quiet: str = ""


def decide_note(
    sent: Sequence[NoteSignature],
    evaluated: Sequence[NoteSignature],
    levels: Sequence[HourLevel],
    alerts: ResolvedAlerts,
    outing: PlannedOuting,
    now: datetime,
    rules: NoteRules,
    *,
    issued: datetime | None,
    forecast_lost: bool,
    last_thunder: datetime | None = None,
    units: str = "us",
) -> NoteDecision:
    """Decide on a wind note for a planned outing.

    sent: signatures of notes handed over, oldest first. evaluated: signatures of earlier evaluations, oldest first
    (the last few are enough). levels: the current hours. issued: newest issue time of the wind forecast.
    forecast_lost: it is older than the limit and no newer can be had. last_thunder: when thunder was last heard or
    forecast to have been.
    """
    raise NotImplementedError
