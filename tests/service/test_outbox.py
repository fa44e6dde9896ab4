"""The state machine of a message, tried in every state with every ending."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from briefing.delivery.parcel import Fate, Outcome
from briefing.service.outbox import Retry, after_crash, out_of_use, settlement
from briefing.store.ledger_records import MessageRow, MessageState

NOW = datetime(2026, 4, 18, 8, 45, tzinfo=UTC)
RETRY = Retry((0, 1, 3, 8, 15, 30), 0.2, True, timedelta(minutes=2), timedelta(minutes=15))
ROW = MessageRow(
    key="8000aaaaaaaaaaaaaaaa", occurrence="o", lake="a", channel="mail", recipient="r@example.org",
    message_id="<x@y>", digest="", state=MessageState.READY, owner=None, attempts=0, committed=0, made_at=NOW,
    useful_until=NOW + timedelta(hours=3), next_try_at=NOW, committed_at=None, uncertain_at=None, ended_at=None,
    reply="",
)  # fmt: skip
DOUBTFUL = replace(ROW, state=MessageState.UNCERTAIN, uncertain_at=NOW - timedelta(minutes=2), committed=1)


def after(row: MessageRow, fate: Fate, retry: Retry = RETRY) -> MessageRow:
    return replace(row, **settlement(row, Outcome(fate, "words"), NOW, retry))


@pytest.mark.parametrize(
    ("fate", "state", "again"),
    [
        (Fate.SENT, MessageState.SENT, False),
        (Fate.LATER, MessageState.READY, True),
        (Fate.REFUSED, MessageState.REFUSED, False),
        (Fate.UNCERTAIN, MessageState.UNCERTAIN, True),
        (Fate.BLOCKED, MessageState.READY, True),
    ],
)
def test_a_first_hand_over(fate: Fate, state: MessageState, again: bool) -> None:
    found = after(ROW, fate)
    assert (found.state, found.next_try_at is not None) == (state, again)
    assert found.attempts == (0 if fate is Fate.BLOCKED else 1)


@pytest.mark.parametrize(
    ("fate", "state", "again"),
    [
        (Fate.SENT, MessageState.SENT, False),
        (Fate.LATER, MessageState.UNCERTAIN, True),
        (Fate.REFUSED, MessageState.UNCERTAIN, False),
        (Fate.UNCERTAIN, MessageState.UNCERTAIN, False),
        (Fate.BLOCKED, MessageState.UNCERTAIN, True),
    ],
)
def test_the_one_resend(fate: Fate, state: MessageState, again: bool) -> None:
    found = after(DOUBTFUL, fate)
    assert (found.state, found.next_try_at is not None) == (state, again)
    assert found.uncertain_at is not None, "that it was uncertain is never forgotten"


def test_with_hold_nothing_is_sent_twice() -> None:
    assert after(ROW, Fate.UNCERTAIN, replace(RETRY, resend=False)).next_try_at is None


def test_a_resend_that_would_come_too_late_is_left() -> None:
    assert after(replace(ROW, useful_until=NOW + timedelta(minutes=1)), Fate.UNCERTAIN).next_try_at is None


def test_no_path_sends_more_than_twice_after_the_last_step() -> None:
    """Every way through four endings: the last step may be begun twice at most after an uncertain end."""
    for fates in itertools.product(Fate, repeat=4):
        row, uncertain_tries = ROW, 0
        for fate in fates:
            if row.state not in (MessageState.READY, MessageState.UNCERTAIN) or row.next_try_at is None:
                break
            uncertain_tries += fate is Fate.UNCERTAIN
            row = after(row, fate)
        assert uncertain_tries <= 2, fates


def test_waits_grow_and_are_spread_by_key() -> None:
    waits = []
    for attempts in range(8):
        row = replace(ROW, attempts=attempts)
        waits.append((after(row, Fate.LATER).next_try_at - NOW).total_seconds() / 60)
    assert waits == pytest.approx([1, 3, 8, 15, 30, 30, 30, 30], rel=1e-3)
    other = after(replace(ROW, key="ffff"), Fate.LATER).next_try_at
    assert (other - NOW).total_seconds() == pytest.approx(72)


@pytest.mark.parametrize(
    ("row", "state"),
    [
        (replace(ROW, state=MessageState.OPENING), MessageState.READY),
        (replace(ROW, state=MessageState.COMMITTED, committed=1, committed_at=NOW), MessageState.UNCERTAIN),
        (replace(DOUBTFUL, state=MessageState.OPENING), MessageState.UNCERTAIN),
        (replace(DOUBTFUL, state=MessageState.COMMITTED, committed=2, committed_at=NOW), MessageState.UNCERTAIN),
        (replace(ROW, channel="folder", state=MessageState.COMMITTED, committed=1), MessageState.READY),
    ],
)
def test_what_a_dead_process_left(row: MessageRow, state: MessageState) -> None:
    found = replace(row, **after_crash(row, NOW, RETRY))
    assert found.state == state
    if row.committed == 2:
        assert found.next_try_at is None, "the resend was used up"
    elif row.state is MessageState.COMMITTED and row.channel == "mail":
        assert found.next_try_at == NOW + timedelta(minutes=2)
    else:
        assert found.next_try_at == NOW


def test_out_of_use() -> None:
    assert out_of_use(ROW, NOW)["state"] == MessageState.EXPIRED
    assert out_of_use(DOUBTFUL, NOW)["state"] == MessageState.UNCERTAIN
