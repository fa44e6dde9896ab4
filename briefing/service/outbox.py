"""What becomes of a message after a hand-over: a pure state machine.

At most one resend follows a hand-over whose end is unknown, with the same bytes; a message that was surely not taken
is tried again until it is of no use; a permanent refusal is final. A refused account costs a message no try.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from briefing.app.service_settings import HandOverTable
from briefing.delivery.parcel import Fate, Outcome
from briefing.store.ledger_records import MessageRow, MessageState


@dataclass(frozen=True, slots=True)
class Retry:
    """When a message is tried again."""

    after_min: tuple[float, ...]
    jitter_share: float
    resend: bool
    resend_after: timedelta
    account_pause: timedelta

    @classmethod
    def from_settings(cls, table: HandOverTable) -> Retry:
        """As the settings say."""
        return cls(
            after_min=table.retry_min,
            jitter_share=table.jitter_share,
            resend=table.uncertain == "resend",
            resend_after=timedelta(seconds=table.resend_after_s),
            account_pause=timedelta(minutes=table.account_pause_min),
        )


def settlement(before: MessageRow, outcome: Outcome, now: datetime, retry: Retry) -> Mapping[str, Any]:
    """Return what to write after a hand-over; ``before`` is the row as it was taken."""
    doubtful = before.uncertain_at is not None
    open_state = MessageState.UNCERTAIN if doubtful else MessageState.READY
    tried = {"attempts": before.attempts + 1, "reply": outcome.words}
    if outcome.fate is Fate.SENT:
        return {"state": MessageState.SENT.value, "ended_at": now, "next_try_at": None, **tried}
    if outcome.fate is Fate.UNCERTAIN:
        return _uncertain(before, now, retry) | tried
    if outcome.fate is Fate.REFUSED:
        # The refusal of a resend says nothing of the first one, which may have arrived.
        state = MessageState.UNCERTAIN if doubtful else MessageState.REFUSED
        return {"state": state.value, "ended_at": now, "next_try_at": None, **tried}
    if outcome.fate is Fate.BLOCKED:
        return {"state": open_state.value, "next_try_at": now + retry.account_pause, "reply": outcome.words}
    if before.channel == "folder":
        return {"state": MessageState.READY.value, "next_try_at": now + _wait(before, retry), **tried}
    return {"state": open_state.value, "next_try_at": now + _wait(before, retry), **tried}


def after_crash(row: MessageRow, now: datetime, retry: Retry) -> Mapping[str, Any]:
    """Return what to write for a hand-over that a process left without an end."""
    if row.channel == "folder" or (row.state is MessageState.OPENING and row.uncertain_at is None):
        return {"state": MessageState.READY.value, "next_try_at": now}
    if row.state is MessageState.OPENING:
        return {"state": MessageState.UNCERTAIN.value, "next_try_at": now}
    words = "this program ended while the message was handed over"
    return {**_uncertain(row, row.committed_at or now, retry), "reply": words}


def out_of_use(row: MessageRow, now: datetime) -> Mapping[str, Any]:
    """Return what to write for a waiting message that is of no use any more."""
    reply = row.reply or "not handed over in time"
    if row.uncertain_at is not None:
        return {"state": MessageState.UNCERTAIN.value, "next_try_at": None, "ended_at": now}
    return {"state": MessageState.EXPIRED.value, "next_try_at": None, "ended_at": now, "reply": reply}


def _uncertain(before: MessageRow, since: datetime, retry: Retry) -> dict[str, Any]:
    """Plan the one resend, or none when it was the resend that ended so."""
    first = before.uncertain_at is None
    again = since + retry.resend_after
    planned = again if first and retry.resend and again < before.useful_until else None
    return {
        "state": MessageState.UNCERTAIN.value,
        "uncertain_at": before.uncertain_at or since,
        "next_try_at": planned,
        "ended_at": None if planned else since,
    }


def _wait(before: MessageRow, retry: Retry) -> timedelta:
    """Back-off by tries so far, the last step repeating, spread by the message's own key."""
    step = retry.after_min[min(before.attempts + 1, len(retry.after_min) - 1)]
    spread = int(before.key[:4], 16) / 0xFFFF * 2.0 - 1.0
    return timedelta(minutes=step * (1.0 + retry.jitter_share * spread))
