"""The ledger: outings, what was due, and what became of every message. Each method is one transaction.

A claim names its owner, a token that tells whether the process still lives; what a dead owner left is taken over. A
claim of a living owner is never taken, whatever its age.
"""

from __future__ import annotations

import gzip
import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, fields, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, func, insert, select, update

from briefing.errors import InputError, NotFoundError
from briefing.store import tables
from briefing.store.ledger_records import (
    ENDED,
    DueItem,
    MessageRow,
    MessageState,
    NewMessage,
    NewOuting,
    OccurrenceRow,
    OccurrenceState,
    OutingEntry,
    OutingState,
)
from briefing.store.store import Store

Dead = Callable[[str], bool]
_STANDING = (OutingState.CURRENT.value, OutingState.SKIPPED.value)


class Ledger:
    """Outings, occurrences and messages in an open store. All methods raise StoreError like the store's own."""

    def __init__(self, store: Store) -> None:
        self._store = store

    # --- outings ---------------------------------------------------------------------------------------------------

    def add_outing(self, lake: str, new: NewOuting, now: datetime) -> OutingEntry:
        """Store an outing. Raises InputError when the lake has one on that date."""
        with self._store.transaction() as connection:
            standing = _on_day(connection, lake, new.day)
            if standing is not None and standing.state is OutingState.CURRENT:
                raise InputError(
                    f"Outing {standing.id} is planned for {new.day} already; change it with: briefing trip change "
                    f"{standing.id}"
                )
            if standing is not None:
                _mark_outing(connection, standing.id, OutingState.CHANGED, now)
            return _add_outing(connection, lake, new, OutingState.CURRENT, now, None)

    def change_outing(self, number: int, new: NewOuting, now: datetime) -> OutingEntry:
        """Replace a standing outing; the old one stays as history. Raises NotFoundError, InputError."""
        with self._store.transaction() as connection:
            old = _standing(connection, number)
            other = _on_day(connection, old.lake, new.day)
            if other is not None and other.id != number and other.state is OutingState.CURRENT:
                raise InputError(f"Outing {other.id} is planned for {new.day} already; cancel it first.")
            _mark_outing(connection, number, OutingState.CHANGED, now)
            return _add_outing(connection, old.lake, new, OutingState.CURRENT, now, number)

    def cancel_outing(self, number: int, now: datetime) -> OutingEntry:
        """Call an outing off: no notes will come. Raises NotFoundError, InputError."""
        with self._store.transaction() as connection:
            old = _standing(connection, number)
            _mark_outing(connection, number, OutingState.CANCELLED, now)
            skipped = NewOuting(old.day, old.launch, old.back)
            _add_outing(connection, old.lake, skipped, OutingState.SKIPPED, now, number)
            return replace(old, state=OutingState.CANCELLED, changed_at=now)

    def skip_day(self, lake: str, skipped: NewOuting, now: datetime) -> OutingEntry:
        """Call off the outing that a habit of the profile would bring on a date."""
        with self._store.transaction() as connection:
            standing = _on_day(connection, lake, skipped.day)
            if standing is not None:
                _mark_outing(connection, standing.id, OutingState.CANCELLED, now)
            return _add_outing(connection, lake, skipped, OutingState.SKIPPED, now, None)

    def outings(self, lake: str | None = None, since: date | None = None) -> list[OutingEntry]:
        """Return standing and skipped outings by date."""
        table = tables.outings
        query = select(table).where(table.c.state.in_(_STANDING)).order_by(table.c.day, table.c.lake, table.c.id)
        if lake is not None:
            query = query.where(table.c.lake == lake)
        if since is not None:
            query = query.where(table.c.day >= since)
        with self._store.reads() as connection:
            return [_outing(row) for row in connection.execute(query)]

    def outing(self, number: int) -> OutingEntry:
        """Return one outing, whatever its state. Raises NotFoundError."""
        with self._store.reads() as connection:
            return _outing_by_id(connection, number)

    def outing_on(self, lake: str, day: date) -> OutingEntry | None:
        """Return the standing or skipped outing of a date."""
        with self._store.reads() as connection:
            return _on_day(connection, lake, day)

    # --- occurrences -----------------------------------------------------------------------------------------------

    def known(self, since: date) -> dict[str, dict[str, OccurrenceRow]]:
        """Return what the ledger holds from a date on, by lake and key."""
        table = tables.occurrences
        out: dict[str, dict[str, OccurrenceRow]] = {}
        with self._store.reads() as connection:
            for row in connection.execute(select(table).where(table.c.day >= since)):
                out.setdefault(row.lake, {})[row.key] = _occurrence(row)
        return out

    def is_open(self, key: str, dead: Dead, now: datetime) -> bool:
        """Tell whether an occurrence could be claimed now, as far as can be seen without waiting for anyone."""
        with self._store.reads() as connection:
            seen = _occurrence_by_key(connection, key)
        return seen is None or _may_take(seen, dead, now)

    def claim(self, item: DueItem, owner: str, dead: Dead, now: datetime) -> OccurrenceRow | None:
        """Take an occurrence in hand; None when another living process has it, or it is done, or not yet due again."""
        table = tables.occurrences
        with self._store.reads() as connection:
            seen = _occurrence_by_key(connection, item.key)
        if seen is not None and not _may_take(seen, dead, now):
            return None  # seen without waiting for those who write; the claim itself looks again
        with self._store.transaction() as connection:
            found = _occurrence_by_key(connection, item.key)
            if found is None:
                connection.execute(insert(table).values(_new_occurrence(item, OccurrenceState.CLAIMED, owner, now)))
            elif _may_take(found, dead, now):
                taken = {"state": OccurrenceState.CLAIMED.value, "owner": owner, "claimed_at": now}
                # What was planned may have moved with the outing since.
                taken |= {"due_at": item.due_at, "useful_until": item.useful_until}
                connection.execute(update(table).where(table.c.key == item.key).values(taken))
            else:
                return None
            return _occurrence_by_key(connection, item.key)

    def built(
        self,
        key: str,
        owner: str,
        messages: Iterable[NewMessage],
        detail: Mapping[str, Any],
        now: datetime,
        *,
        told: Sequence[str] = (),
        at_once: Sequence[str] = (),
    ) -> bool:
        """Store an occurrence's messages and mark it built; without messages it is done.

        ``told``: keys of missed occurrences that these messages speak of. ``at_once``: ways out whose hand-over by the
        same owner begins with this. False when the claim was lost meanwhile.
        """
        rows = list(messages)
        state = OccurrenceState.BUILT if rows else OccurrenceState.DONE
        with self._store.transaction() as connection:
            found = _occurrence_by_key(connection, key)
            if found is None or found.owner != owner or found.state is not OccurrenceState.CLAIMED:
                return False
            held = {(row.channel, row.recipient) for row in _messages_of(connection, key)}
            for message in rows:
                if (message.channel, message.recipient) not in held:
                    begun = owner if message.channel in at_once else None
                    connection.execute(insert(tables.messages).values(_new_message(message, found, begun, now)))
            _set_occurrence(
                connection, key, state=state.value, owner=None, built_at=now, detail=dict(detail), reason=""
            )
            if told:
                match = tables.occurrences.c.key.in_(told)
                connection.execute(update(tables.occurrences).where(match).values(told=True))
        return True

    def wait(self, key: str, owner: str, reason: str, next_try_at: datetime) -> None:
        """Note that a build failed, and when it is tried again."""
        with self._store.transaction() as connection:
            found = _occurrence_by_key(connection, key)
            if found is not None and found.owner == owner:
                _set_occurrence(
                    connection,
                    key,
                    state=OccurrenceState.WAITING.value,
                    owner=None,
                    attempts=found.attempts + 1,
                    next_try_at=next_try_at,
                    reason=reason,
                )

    def release(self, key: str, owner: str) -> None:
        """Let go of a claim without a trace of failure."""
        with self._store.transaction() as connection:
            found = _occurrence_by_key(connection, key)
            if found is not None and found.owner == owner:
                _set_occurrence(connection, key, state=OccurrenceState.WAITING.value, owner=None)

    def rebuild(self, key: str) -> bool:
        """Take back those messages of an occurrence whose hand-over never began, so that they are made anew.

        The saved file is written anew too. What was handed over, or may have been, stays as it is.
        """
        table = tables.messages
        with self._store.transaction() as connection:
            found = _occurrence_by_key(connection, key)
            if found is None or found.state is not OccurrenceState.BUILT:
                return False
            rows = [row for row in _messages_of(connection, key) if row.owner is None]
            fresh = [row for row in rows if row.state is MessageState.READY and not row.committed]
            if not fresh:
                return False
            old = [row.key for row in rows if row in fresh or row.channel == "folder"]
            connection.execute(delete(table).where(table.c.key.in_(old)))
            _set_occurrence(
                connection, key, state=OccurrenceState.WAITING.value, owner=None, revision=found.revision + 1
            )
        return True

    def missed(self, item: DueItem, reason: str, dead: Dead, now: datetime, *, told: bool = False) -> bool:
        """Record an occurrence whose time has passed; False when it is in living hands or was ended before."""
        table = tables.occurrences
        with self._store.transaction() as connection:
            found = _occurrence_by_key(connection, item.key)
            if found is None:
                row = _new_occurrence(item, OccurrenceState.MISSED, None, now) | {"reason": reason, "told": told}
                connection.execute(insert(table).values(row))
                return True
            waiting = found.state in (OccurrenceState.WAITING, OccurrenceState.CLAIMED)
            if not waiting or (found.owner is not None and not dead(found.owner)):
                return False
            words = f"{reason} {found.reason}".strip()
            _set_occurrence(
                connection, item.key, state=OccurrenceState.MISSED.value, owner=None, reason=words, told=told
            )
        return True

    def untold(self, lake: str, kinds: Sequence[str]) -> list[OccurrenceRow]:
        """Return missed occurrences of a lake that no message has spoken of yet, oldest first."""
        table = tables.occurrences
        query = select(table).where(
            table.c.lake == lake,
            table.c.state == OccurrenceState.MISSED.value,
            table.c.told.is_(False),
            table.c.kind.in_(kinds),
        )
        with self._store.reads() as connection:
            return [_occurrence(row) for row in connection.execute(query.order_by(table.c.due_at))]

    def of_outing(self, lake: str, day: date, kind: str) -> list[tuple[OccurrenceRow, list[MessageRow]]]:
        """Return a date's occurrences of a kind with their messages (without bytes), oldest first."""
        table = tables.occurrences
        query = select(table).where(table.c.lake == lake, table.c.day == day, table.c.kind == kind)
        with self._store.reads() as connection:
            rows = [_occurrence(row) for row in connection.execute(query.order_by(table.c.due_at))]
            return [(row, _messages_of(connection, row.key)) for row in rows]

    def occurrences(self, since: datetime, lake: str | None = None) -> list[OccurrenceRow]:
        """Return occurrences due from an instant on, by time."""
        table = tables.occurrences
        query = select(table).where(table.c.due_at >= since).order_by(table.c.due_at, table.c.key)
        if lake is not None:
            query = query.where(table.c.lake == lake)
        with self._store.reads() as connection:
            return [_occurrence(row) for row in connection.execute(query)]

    # --- messages --------------------------------------------------------------------------------------------------

    def to_hand_over(self, now: datetime) -> list[MessageRow]:
        """Return messages whose time to be handed over (again) has come, without bytes, the oldest first."""
        table = tables.messages
        open_states = (MessageState.READY.value, MessageState.UNCERTAIN.value)
        query = select(*_HEAD).where(table.c.state.in_(open_states), table.c.next_try_at <= now)
        with self._store.reads() as connection:
            return [_message(row) for row in connection.execute(query.order_by(table.c.next_try_at, table.c.key))]

    def take(self, key: str, owner: str, now: datetime) -> MessageRow | None:
        """Begin a hand-over; None when another process did. The row comes with its bytes and its former state."""
        table = tables.messages
        open_states = (MessageState.READY.value, MessageState.UNCERTAIN.value)
        with self._store.reads() as connection:
            seen = connection.execute(select(table.c.state).where(table.c.key == key)).scalar_one_or_none()
        if seen not in open_states:
            return None  # seen without waiting for those who write; below it is looked at again
        with self._store.transaction() as connection:
            row = connection.execute(select(table).where(table.c.key == key)).one_or_none()
            if row is None or row.state not in open_states:
                return None
            if row.next_try_at is None or row.next_try_at > now:
                return None
            _set_message(connection, key, state=MessageState.OPENING.value, owner=owner)
            return replace(_message(row), body=gzip.decompress(row.body))

    def in_hand(self, key: str, owner: str) -> MessageRow | None:
        """Return a message, without bytes, whose hand-over this owner has begun; None when it hasn't."""
        with self._store.reads() as connection:
            found = _message_by_key(connection, key)
        mine = found is not None and found.owner == owner and found.state is MessageState.OPENING
        return found if mine else None

    def commit(self, key: str, owner: str, now: datetime) -> bool:
        """Note, before it is done, that the step begins after which the message may have been taken."""
        with self._store.transaction() as connection:
            found = _message_by_key(connection, key)
            if found is None or found.owner != owner or found.state is not MessageState.OPENING:
                return False
            _set_message(
                connection,
                key,
                state=MessageState.COMMITTED.value,
                committed=found.committed + 1,
                committed_at=now,
            )
        return True

    def settle(self, key: str, owner: str, values: Mapping[str, Any]) -> bool:
        """Write what became of a hand-over; False when it is no longer ours."""
        with self._store.transaction() as connection:
            found = _message_by_key(connection, key)
            if found is None or found.owner != owner:
                return False
            _set_message(connection, key, **values, owner=None)
            _close_occurrence(connection, found.occurrence)
        return True

    def settle_unheld(self, key: str, values: Mapping[str, Any]) -> bool:
        """Write the end of a message that no one holds, such as one that is of no use any more."""
        with self._store.transaction() as connection:
            found = _message_by_key(connection, key)
            if found is None or found.owner is not None or found.state in ENDED:
                return False
            _set_message(connection, key, **values)
            _close_occurrence(connection, found.occurrence)
        return True

    def abandoned(self, dead: Dead) -> list[MessageRow]:
        """Return messages whose hand-over a dead process left, without bytes."""
        table = tables.messages
        held = (MessageState.OPENING.value, MessageState.COMMITTED.value)
        with self._store.reads() as connection:
            rows = connection.execute(select(*_HEAD).where(table.c.state.in_(held), table.c.owner.is_not(None)))
            return [message for message in map(_message, rows) if message.owner and dead(message.owner)]

    def messages(self, since: datetime, lake: str | None = None) -> list[MessageRow]:
        """Return messages made from an instant on, without bytes, by time."""
        table = tables.messages
        query = select(*_HEAD).where(table.c.made_at >= since).order_by(table.c.made_at, table.c.key)
        if lake is not None:
            query = query.where(table.c.lake == lake)
        with self._store.reads() as connection:
            return [_message(row) for row in connection.execute(query)]

    def overdue(self, now: datetime) -> list[MessageRow]:
        """Return messages that wait although they are of no use any more."""
        table = tables.messages
        query = select(*_HEAD).where(table.c.state == MessageState.READY.value, table.c.useful_until <= now)
        with self._store.reads() as connection:
            return [_message(row) for row in connection.execute(query)]

    def newest_made(self) -> datetime | None:
        """Return the newest instant at which anything was made by any lake's briefing or message."""
        with self._store.reads() as connection:
            found = [
                connection.execute(select(func.max(column))).scalar()
                for column in (tables.gathered.c.made_at, tables.occurrences.c.built_at)
            ]
        return max((one for one in found if one is not None), default=None)

    # --- the service's own notes, and clean-up ---------------------------------------------------------------------

    def state(self, name: str) -> Any | None:
        """Return a value that the service keeps for itself, or None."""
        table = tables.service_state
        with self._store.reads() as connection:
            return connection.execute(select(table.c.value).where(table.c.name == name)).scalar_one_or_none()

    def set_state(self, name: str, value: Any, now: datetime) -> None:
        """Keep a value (what JSON can hold) under a name."""
        table = tables.service_state
        with self._store.transaction() as connection:
            connection.execute(delete(table).where(table.c.name == name))
            connection.execute(insert(table).values(name=name, value=value, updated_at=now))

    def prune(self, lake: str, *, gathered: datetime, briefings: datetime, ledger: datetime) -> dict[str, int]:
        """Erase what is older than its limit; the newest inputs and briefing of a lake always stay."""
        out: dict[str, int] = {}
        with self._store.transaction() as connection:
            for table, limit in ((tables.gathered, gathered), (tables.briefings, briefings)):
                newest = select(func.max(table.c.id)).where(table.c.lake == lake).scalar_subquery()
                match = (table.c.lake == lake, table.c.made_at < limit, table.c.id != newest)
                out[table.name] = connection.execute(delete(table).where(*match)).rowcount
            beside, kept = tables.morning_records, select(tables.briefings.c.id).where(tables.briefings.c.lake == lake)
            connection.execute(delete(beside).where(beside.c.lake == lake, beside.c.briefing.not_in(kept)))
            ended = [state.value for state in (*ENDED, MessageState.UNCERTAIN)]
            old = tables.messages.c
            match = (old.lake == lake, old.made_at < ledger, old.state.in_(ended))
            out["messages"] = connection.execute(delete(tables.messages).where(*match)).rowcount
            due = tables.occurrences.c
            closed = (OccurrenceState.DONE.value, OccurrenceState.MISSED.value)
            match = (due.lake == lake, due.due_at < ledger, due.state.in_(closed))
            out["occurrences"] = connection.execute(delete(tables.occurrences).where(*match)).rowcount
        return out


#: Columns of a message without its bytes.
_HEAD = tuple(column for column in tables.messages.c if column.name != "body")
_MESSAGE_FIELDS = tuple(item.name for item in fields(MessageRow) if item.name != "body")


def _may_take(found: OccurrenceRow, dead: Dead, now: datetime) -> bool:
    if found.state is OccurrenceState.CLAIMED:
        return found.owner is None or dead(found.owner)
    if found.state is OccurrenceState.WAITING:
        return found.next_try_at is None or found.next_try_at <= now
    return False


def _close_occurrence(connection: Connection, key: str) -> None:
    """End a built occurrence when all its messages have ended: done when one reached its reader, else missed.

    The saved file alone counts as reaching the reader only where no other way out is set up.
    """
    found = _occurrence_by_key(connection, key)
    if found is None or found.state is not OccurrenceState.BUILT:
        return
    rows = _messages_of(connection, key)
    if any(row.state not in (*ENDED, MessageState.UNCERTAIN) for row in rows):
        return
    away = [row for row in rows if row.channel != "folder"] or rows
    reached = [row for row in away if row.state in (MessageState.SENT, MessageState.UNCERTAIN)]
    if reached:
        doubtful = any(row.state is MessageState.UNCERTAIN for row in reached)
        _set_occurrence(
            connection,
            key,
            state=OccurrenceState.DONE.value,
            reason="handed over, but not acknowledged" if doubtful else "",
        )
        return
    why = "; ".join(dict.fromkeys(f"{row.channel}: {row.reply or row.state.value}" for row in away))
    saved = "saved in the folder, but not delivered: " if away != rows else "not delivered: "
    _set_occurrence(connection, key, state=OccurrenceState.MISSED.value, reason=saved + why)


def _new_occurrence(item: DueItem, state: OccurrenceState, owner: str | None, now: datetime) -> dict[str, Any]:
    empty = {"built_at": None, "revision": 0, "attempts": 0, "next_try_at": None, "reason": "", "told": False}
    claimed = now if owner else None
    return {**asdict(item), "state": state.value, "owner": owner, "claimed_at": claimed, **empty, "detail": {}}


def _new_message(new: NewMessage, occurrence: OccurrenceRow, begun: str | None, now: datetime) -> dict[str, Any]:
    return {
        "key": new.key,
        "occurrence": occurrence.key,
        "lake": occurrence.lake,
        "channel": new.channel,
        "recipient": new.recipient,
        "message_id": new.message_id,
        "body": gzip.compress(new.body, compresslevel=3, mtime=0),
        "digest": hashlib.sha256(new.body).hexdigest(),
        "state": (MessageState.OPENING if begun else MessageState.READY).value,
        "owner": begun,
        "attempts": 0,
        "committed": 0,
        "made_at": now,
        "useful_until": new.useful_until,
        "next_try_at": now,
        "committed_at": None,
        "uncertain_at": None,
        "ended_at": None,
        "reply": "",
    }


def _set_occurrence(connection: Connection, key: str, **values: Any) -> None:
    connection.execute(update(tables.occurrences).where(tables.occurrences.c.key == key).values(values))


def _set_message(connection: Connection, key: str, **values: Any) -> None:
    connection.execute(update(tables.messages).where(tables.messages.c.key == key).values(values))


def _occurrence_by_key(connection: Connection, key: str) -> OccurrenceRow | None:
    table = tables.occurrences
    row = connection.execute(select(table).where(table.c.key == key)).one_or_none()
    return None if row is None else _occurrence(row)


def _message_by_key(connection: Connection, key: str) -> MessageRow | None:
    row = connection.execute(select(*_HEAD).where(tables.messages.c.key == key)).one_or_none()
    return None if row is None else _message(row)


def _messages_of(connection: Connection, key: str) -> list[MessageRow]:
    query = select(*_HEAD).where(tables.messages.c.occurrence == key).order_by(tables.messages.c.key)
    return [_message(row) for row in connection.execute(query)]


def _occurrence(row: Row[Any]) -> OccurrenceRow:
    return OccurrenceRow(**{**dict(row._mapping), "state": OccurrenceState(row.state)})


def _message(row: Row[Any]) -> MessageRow:
    values = {name: row._mapping[name] for name in _MESSAGE_FIELDS}
    return MessageRow(**{**values, "state": MessageState(row.state)})


def _add_outing(
    connection: Connection, lake: str, new: NewOuting, state: OutingState, now: datetime, replaces: int | None
) -> OutingEntry:
    row = {**asdict(new), "spots": list(new.spots), "lake": lake, "state": state.value, "entered_at": now}
    result = connection.execute(insert(tables.outings), {**row, "changed_at": None, "replaces": replaces})
    return _outing_by_id(connection, (result.inserted_primary_key or (0,))[0])


def _mark_outing(connection: Connection, number: int, state: OutingState, now: datetime) -> None:
    table = tables.outings
    connection.execute(update(table).where(table.c.id == number).values(state=state.value, changed_at=now))


def _outing_by_id(connection: Connection, number: int) -> OutingEntry:
    row = connection.execute(select(tables.outings).where(tables.outings.c.id == number)).one_or_none()
    if row is None:
        raise NotFoundError(f"There is no outing {number}; see them with: briefing trip list")
    return _outing(row)


def _standing(connection: Connection, number: int) -> OutingEntry:
    found = _outing_by_id(connection, number)
    if found.state is not OutingState.CURRENT:
        raise InputError(f"Outing {number} was {found.state.value} before; see the others with: briefing trip list")
    return found


def _on_day(connection: Connection, lake: str, day: date) -> OutingEntry | None:
    table = tables.outings
    match = (table.c.lake == lake, table.c.day == day, table.c.state.in_(_STANDING))
    row = connection.execute(select(table).where(*match).order_by(table.c.id.desc()).limit(1)).one_or_none()
    return None if row is None else _outing(row)


def _outing(row: Row[Any]) -> OutingEntry:
    values = dict(row._mapping)
    return OutingEntry(**{**values, "spots": tuple(values["spots"]), "state": OutingState(row.state)})
