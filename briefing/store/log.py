"""The field log and the checks of forecasts in an open store. Each method is one transaction."""

from __future__ import annotations

import gzip
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update

from briefing.core.log.checks import Check
from briefing.core.log.records import Mark, MarkKind
from briefing.errors import InputError, NotFoundError
from briefing.store import tables
from briefing.store.records import EntryState, Gathered, StoredBriefing
from briefing.store.store import Store
from briefing.vocabulary import Zone


@dataclass(frozen=True, slots=True)
class LogEntry:
    """A stored mark with its state; ``replaces`` is the number of the entry it corrects."""

    lake: str
    mark: Mark
    typed: str
    entered_at: datetime
    state: EntryState
    changed_at: datetime | None
    replaces: int | None


class LogBook:
    """Log entries and forecast checks. All methods raise StoreError like the store's own."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, lake: str, mark: Mark, typed: str, now: datetime) -> LogEntry:
        """Store an entry and return it with its number: whole or not at all."""
        with self._store.transaction() as connection:
            return _entry(_insert(connection, lake, mark, typed, now, None))

    def add_all(self, lake: str, marks: Sequence[Mark], typed: str, now: datetime) -> int:
        """Store many entries, all or none; returns how many."""
        with self._store.transaction() as connection:
            if marks:
                rows = [_values(lake, mark, typed, now, None) for mark in marks]
                connection.execute(insert(tables.log_entries), rows)
        return len(marks)

    def entry(self, number: int) -> LogEntry:
        """Return one entry, whatever its state. Raises NotFoundError."""
        with self._store.reads() as connection:
            return _entry(_row(connection, number))

    def entries(self, lake: str | None = None, *, history: bool = False) -> list[LogEntry]:
        """Return entries by time, oldest first; with ``history`` also those corrected or withdrawn."""
        table = tables.log_entries
        query = select(table).order_by(table.c.time, table.c.id)
        if lake is not None:
            query = query.where(table.c.lake == lake)
        if not history:
            query = query.where(table.c.state == EntryState.CURRENT.value)
        with self._store.reads() as connection:
            return [_entry(row) for row in connection.execute(query)]

    def running(self, lake: str) -> LogEntry | None:
        """The outing that was begun and not ended, the newest."""
        entries = self.entries(lake)
        ended = {entry.mark.outing for entry in entries if entry.mark.kind is MarkKind.END}
        open_ = [entry for entry in entries if entry.mark.kind is MarkKind.START and entry.mark.id not in ended]
        return open_[-1] if open_ else None

    def correct(self, number: int, mark: Mark, typed: str, now: datetime) -> LogEntry:
        """Replace an entry; the old one stays as history. Marks of a corrected start go with the new one.

        Raises NotFoundError, InputError.
        """
        table = tables.log_entries
        with self._store.transaction() as connection:
            old = _current(connection, number)
            _change(connection, number, EntryState.CORRECTED, now)
            new = _entry(_insert(connection, old.lake, replace(mark, outing=old.outing), typed, now, number))
            if new.mark.kind is MarkKind.START:
                connection.execute(update(table).where(table.c.outing == number).values(outing=new.mark.id))
            return new

    def withdraw(self, number: int, now: datetime) -> LogEntry:
        """Take an entry back; it stays as history and counts no more. A start takes its whole outing along.

        Raises NotFoundError, InputError.
        """
        table = tables.log_entries
        with self._store.transaction() as connection:
            row = _current(connection, number)
            _change(connection, number, EntryState.WITHDRAWN, now)
            if row.kind == MarkKind.START:
                same = (table.c.outing == number, table.c.state == EntryState.CURRENT.value)
                values = {"state": EntryState.WITHDRAWN.value, "changed_at": now}
                connection.execute(update(table).where(*same).values(values))
            return _entry(_row(connection, number))

    # --- checks ----------------------------------------------------------------------------------------------------

    def add_checks(self, lake: str, checks: Iterable[Check], now: datetime, forget_before: datetime) -> int:
        """Store checks that are not there yet and drop those older than ``forget_before``; returns how many are new."""
        table = tables.forecast_checks
        with self._store.transaction() as connection:
            connection.execute(delete(table).where(table.c.lake == lake, table.c.time < forget_before))
            query = select(table.c.element, table.c.time, table.c.lead, table.c.kind).where(table.c.lake == lake)
            known = {tuple(row) for row in connection.execute(query)}
            rows = {}
            for check in checks:
                key = (check.element, check.time, check.lead, check.kind)
                if key not in known and check.time >= forget_before:
                    rows[key] = {**_check_values(check), "lake": lake, "checked_at": now}
            if rows:
                connection.execute(insert(table), list(rows.values()))
        return len(rows)

    def checks(self, lake: str) -> tuple[Check, ...]:
        """All checks of a lake by time."""
        table = tables.forecast_checks
        query = select(table).where(table.c.lake == lake).order_by(table.c.time, table.c.id)
        with self._store.reads() as connection:
            return tuple(_check(row) for row in connection.execute(query))

    def gathered_between(self, lake: str, begin: datetime, end: datetime, most: int) -> list[Gathered]:
        """Stored inputs made in [begin, end), the newest ``most`` of them, oldest first."""
        return [
            Gathered(row.lake, row.made_at, text)
            for row, text in self._between(tables.gathered, lake, begin, end, most)
        ]

    def briefings_between(self, lake: str, begin: datetime, end: datetime, most: int) -> list[StoredBriefing]:
        """Briefings made in [begin, end), the newest ``most`` of them, oldest first."""
        rows = self._between(tables.briefings, lake, begin, end, most)
        return [StoredBriefing(row.lake, row.day, row.made_at, text) for row, text in rows]

    def _between(self, table: Any, lake: str, begin: datetime, end: datetime, most: int) -> list[tuple[Row[Any], str]]:
        query = (
            select(table)
            .where(table.c.lake == lake, table.c.made_at >= begin, table.c.made_at < end)
            .order_by(table.c.made_at.desc(), table.c.id.desc())
            .limit(most)
        )
        with self._store.reads() as connection:
            rows = connection.execute(query).all()
        return [(row, gzip.decompress(row.body).decode("utf-8")) for row in reversed(rows)]


def _values(lake: str, mark: Mark, typed: str, now: datetime, replaces: int | None) -> dict[str, Any]:
    return {
        "lake": lake,
        "kind": mark.kind.value,
        "time": mark.time,
        "zone": Zone.MAIN.value,
        "spot": mark.spot,
        "note": mark.note,
        "typed": typed,
        "entered_at": now,
        "state": EntryState.CURRENT.value,
        "changed_at": None,
        "replaces": replaces,
        "outing": mark.outing,
        "body": mark.to_mapping(),
    }


def _insert(connection: Connection, lake: str, mark: Mark, typed: str, now: datetime, replaces: int | None) -> Row[Any]:
    result = connection.execute(insert(tables.log_entries), _values(lake, mark, typed, now, replaces))
    return _row(connection, (result.inserted_primary_key or (0,))[0])


def _row(connection: Connection, number: int) -> Row[Any]:
    table = tables.log_entries
    row = connection.execute(select(table).where(table.c.id == number)).one_or_none()
    if row is None:
        raise NotFoundError(f"There is no log entry {number}; see them with: briefing log list")
    return row


def _current(connection: Connection, number: int) -> Row[Any]:
    row = _row(connection, number)
    if row.state != EntryState.CURRENT:
        raise InputError(f"Log entry {number} was {row.state} before; it counts no more.")
    return row


def _change(connection: Connection, number: int, state: EntryState, now: datetime) -> None:
    table = tables.log_entries
    connection.execute(update(table).where(table.c.id == number).values(state=state.value, changed_at=now))


def _entry(row: Row[Any]) -> LogEntry:
    mark = Mark.from_mapping(
        row.body, kind=MarkKind(row.kind), time=row.time, id=row.id, outing=row.outing, spot=row.spot, note=row.note
    )
    return LogEntry(row.lake, mark, row.typed, row.entered_at, EntryState(row.state), row.changed_at, row.replaces)


_CHECK_COLUMNS = (
    *("element", "time", "lead", "lead_h", "forecast", "observed", "kind", "name", "low", "high", "from_deg"),
)


def _check_values(check: Check) -> dict[str, Any]:
    return {name: getattr(check, name) for name in _CHECK_COLUMNS}


def _check(row: Row[Any]) -> Check:
    return Check(**{name: row._mapping[name] for name in _CHECK_COLUMNS})
