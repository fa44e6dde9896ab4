"""Rows of the service's ledger: outings, occurrences and messages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Any


class OutingState(StrEnum):
    """Whether an outing stands. A skipped one cancels a habit's outing on one date."""

    CURRENT = "current"
    CHANGED = "changed"
    CANCELLED = "cancelled"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True)
class NewOuting:
    """An outing to store: a local date at the lake and instants."""

    day: date
    launch: datetime
    back: datetime
    ramp: str | None = None
    spots: tuple[str, ...] = ()
    fixed_launch: bool = False
    weigh_in: datetime | None = None


@dataclass(frozen=True, slots=True)
class OutingEntry:
    """A stored outing; ``replaces`` is the number of the one it changed."""

    id: int
    lake: str
    day: date
    launch: datetime
    back: datetime
    ramp: str | None
    spots: tuple[str, ...]
    fixed_launch: bool
    weigh_in: datetime | None
    state: OutingState
    entered_at: datetime
    changed_at: datetime | None
    replaces: int | None


class OccurrenceState(StrEnum):
    """How far an occurrence has come.

    ``waiting``: a build failed and is tried again; ``built``: its messages lie in the ledger; ``done``: handed over, or
    nothing was to be sent; ``missed``: its time passed, the reason says why.
    """

    CLAIMED = "claimed"
    WAITING = "waiting"
    BUILT = "built"
    DONE = "done"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class DueItem:
    """What the planner says: one thing, due once."""

    key: str
    lake: str
    day: date
    kind: str
    slot: str
    due_at: datetime
    useful_until: datetime


@dataclass(frozen=True, slots=True)
class OccurrenceRow:
    """A stored occurrence."""

    key: str
    lake: str
    day: date
    kind: str
    slot: str
    due_at: datetime
    useful_until: datetime
    state: OccurrenceState
    owner: str | None
    claimed_at: datetime | None
    built_at: datetime | None
    revision: int
    attempts: int
    next_try_at: datetime | None
    reason: str
    told: bool
    detail: Mapping[str, Any]


class MessageState(StrEnum):
    """Where a message is.

    ``ready`` -> ``opening`` (a hand-over runs, nothing final was said) -> ``committed`` (the last step was begun) ->
    ``sent`` | ``uncertain`` | ``refused``; ``expired``: it was never handed over while it was of use.
    """

    READY = "ready"
    OPENING = "opening"
    COMMITTED = "committed"
    SENT = "sent"
    UNCERTAIN = "uncertain"
    REFUSED = "refused"
    EXPIRED = "expired"


#: States from which nothing more happens, save that an uncertain message may be sent once more.
ENDED = (MessageState.SENT, MessageState.REFUSED, MessageState.EXPIRED)


@dataclass(frozen=True, slots=True)
class NewMessage:
    """Finished bytes for one channel and one recipient."""

    key: str
    channel: str
    recipient: str
    message_id: str
    body: bytes
    useful_until: datetime


@dataclass(frozen=True, slots=True)
class MessageRow:
    """A stored message. ``body`` is empty in listings. ``committed`` counts how often its last step was begun."""

    key: str
    occurrence: str
    lake: str
    channel: str
    recipient: str
    message_id: str
    digest: str
    state: MessageState
    owner: str | None
    attempts: int
    committed: int
    made_at: datetime
    useful_until: datetime
    next_try_at: datetime | None
    committed_at: datetime | None
    uncertain_at: datetime | None
    ended_at: datetime | None
    reply: str
    body: bytes = field(default=b"", repr=False)
