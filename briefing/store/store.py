"""The open store: what commands and the pipeline read and write, each call one transaction."""

from __future__ import annotations

import gzip
import threading
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Engine, Row, Table, delete, insert, select, update

from briefing.errors import InputError, NotFoundError
from briefing.store import tables
from briefing.store.records import (
    EntryState,
    Gathered,
    NewReading,
    NewSign,
    Reading,
    ReadingKind,
    SentNote,
    SignEntry,
    StoredBriefing,
    StoredMorning,
)
from briefing.store.sqlite import plain_errors
from briefing.vocabulary import SignKind, Zone


class Store:
    """Everything stored. Each method is a transaction of its own: it happens whole or not at all.

    All methods raise StoreError with one sentence when the database is locked, damaged, or the disk is full; nothing is
    written then.
    """

    def __init__(self, engine: Engine, path: Path, unwritable: str = "", *, lost: bool = False) -> None:
        self._engine = engine
        self.path = path
        #: Why nothing can be kept, as a sentence: this is then a copy in memory. "" for the store itself.
        self.unwritable = unwritable
        #: Whether entries were expected and none could be read.
        self.lost = lost
        self._held: Connection | None = None
        self._in_use = threading.Lock()
        self._joined: tuple[int, Connection] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        with self._in_use:
            self._drop_held()
        self._engine.dispose()

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """A transaction that may write: it happens whole or not at all."""
        with self._connection(reads=False) as connection:
            yield connection

    @contextmanager
    def reads(self) -> Iterator[Connection]:
        """A connection that only reads, and waits for no one."""
        with self._connection(reads=True) as connection:
            yield connection

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make one transaction of all that this thread does with the store meanwhile: whole or not at all.

        Inside another one of the same thread it is a part of that.
        """
        if self._joined is not None and self._joined[0] == threading.get_ident():
            yield
            return
        with self.transaction() as connection:
            self._joined = (threading.get_ident(), connection)
            try:
                yield
            finally:
                self._joined = None

    @contextmanager
    def _connection(self, *, reads: bool) -> Iterator[Connection]:
        """The kept connection where it is free, else one of its own; opening one costs more than most queries."""
        joined = self._joined
        if joined is not None and joined[0] == threading.get_ident():
            yield joined[1]
            return
        with plain_errors(self.path):
            if not self._in_use.acquire(blocking=False):
                with self._engine.connect() as connection, connection.execution_options(reads=reads).begin():
                    yield connection
                return
            try:
                self._held = self._held or self._engine.connect()
                with self._held.execution_options(reads=reads).begin():
                    yield self._held
            except BaseException:
                self._drop_held()  # whatever happened to it, the next one starts from a fresh one
                raise
            finally:
                self._in_use.release()

    def _drop_held(self) -> None:
        held, self._held = self._held, None
        if held is not None:
            held.close()

    # --- readings --------------------------------------------------------------------------------------------------

    def add_reading(self, lake: str, new: NewReading, now: datetime) -> Reading:
        """Store a reading and return it with its number."""
        with self.transaction() as connection:
            return _reading(_add(connection, tables.readings, lake, _reading_row(new), now))

    def list_readings(
        self,
        lake: str | None = None,
        *,
        kinds: Iterable[ReadingKind] = (),
        since: datetime | None = None,
        until: datetime | None = None,
        history: bool = False,
    ) -> list[Reading]:
        """Return readings by time, oldest first; with ``history`` also those corrected or withdrawn."""
        with self.reads() as connection:
            rows = _listed(connection, tables.readings, lake, [str(kind) for kind in kinds], since, until, history)
            return [_reading(row) for row in rows]

    def reading(self, number: int) -> Reading:
        """Return one reading, whatever its state. Raises NotFoundError."""
        with self.reads() as connection:
            return _reading(_entry(connection, tables.readings, number, "reading"))

    def correct_reading(self, number: int, new: NewReading, now: datetime) -> Reading:
        """Replace a reading by a corrected one of the same kind; the old one stays as history.

        Raises NotFoundError, InputError (another kind, or no longer current).
        """
        with self.transaction() as connection:
            old = _current(connection, tables.readings, number, "reading")
            if old.kind != new.kind:
                raise InputError(f"Reading {number} is of kind {old.kind}; withdraw it and add a new one instead.")
            _mark(connection, tables.readings, number, EntryState.CORRECTED, now)
            return _reading(_add(connection, tables.readings, old.lake, _reading_row(new), now, replaces=number))

    def withdraw_reading(self, number: int, now: datetime) -> Reading:
        """Take a reading back; it stays as history and counts no more. Raises NotFoundError, InputError."""
        with self.transaction() as connection:
            _current(connection, tables.readings, number, "reading")
            _mark(connection, tables.readings, number, EntryState.WITHDRAWN, now)
            return _reading(_entry(connection, tables.readings, number, "reading"))

    # --- signs -----------------------------------------------------------------------------------------------------

    def add_sign(self, lake: str, new: NewSign, now: datetime) -> SignEntry:
        """Store a field sign and return it with its number."""
        with self.transaction() as connection:
            return _sign(_add(connection, tables.signs, lake, asdict(new), now))

    def list_signs(
        self,
        lake: str | None = None,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        history: bool = False,
    ) -> list[SignEntry]:
        """Return field signs by time, oldest first; with ``history`` also those corrected or withdrawn."""
        with self.reads() as connection:
            rows = _listed(connection, tables.signs, lake, [], since, until, history)
            return [_sign(row) for row in rows]

    def sign(self, number: int) -> SignEntry:
        """Return one sign, whatever its state. Raises NotFoundError."""
        with self.reads() as connection:
            return _sign(_entry(connection, tables.signs, number, "sign"))

    def correct_sign(self, number: int, new: NewSign, now: datetime) -> SignEntry:
        """Replace a sign by a corrected one; the old one stays as history. Raises NotFoundError, InputError."""
        with self.transaction() as connection:
            old = _current(connection, tables.signs, number, "sign")
            _mark(connection, tables.signs, number, EntryState.CORRECTED, now)
            return _sign(_add(connection, tables.signs, old.lake, asdict(new), now, replaces=number))

    def withdraw_sign(self, number: int, now: datetime) -> SignEntry:
        """Take a sign back; it stays as history and counts no more. Raises NotFoundError, InputError."""
        with self.transaction() as connection:
            _current(connection, tables.signs, number, "sign")
            _mark(connection, tables.signs, number, EntryState.WITHDRAWN, now)
            return _sign(_entry(connection, tables.signs, number, "sign"))

    # --- briefings and what went into them -------------------------------------------------------------------------

    def save_gathered(self, lake: str, made_at: datetime, text: str) -> None:
        """Store the inputs of a briefing as used (JSON text)."""
        row = {"lake": lake, "made_at": made_at, "body": _packed(text)}
        with self.transaction() as connection:
            connection.execute(insert(tables.gathered).values(row))

    def last_gathered(self, lake: str, before: datetime | None = None) -> Gathered | None:
        """Return the newest stored inputs of a lake, made before an instant if one is given."""
        with self.reads() as connection:
            row = _newest(connection, tables.gathered, lake, before)
        return None if row is None else Gathered(row.lake, row.made_at, _unpacked(row.body))

    def save_briefing(self, lake: str, day: date, made_at: datetime, text: str, record: str = "") -> None:
        """Store a briefing that was made (JSON text) for a local day, and beside it the record of its facts."""
        row = {"lake": lake, "day": day, "made_at": made_at, "body": _packed(text)}
        with self.transaction() as connection:
            result = connection.execute(insert(tables.briefings).values(row))
            if record:
                number = (result.inserted_primary_key or (0,))[0]
                beside = {"briefing": number, "lake": lake, "made_at": made_at, "body": record}
                connection.execute(insert(tables.morning_records).values(beside))

    def last_briefing(self, lake: str, before: datetime | None = None) -> StoredBriefing | None:
        """Return the newest briefing of a lake, made before an instant if one is given."""
        with self.reads() as connection:
            row = _newest(connection, tables.briefings, lake, before)
        return None if row is None else StoredBriefing(row.lake, row.day, row.made_at, _unpacked(row.body))

    def last_morning(self, lake: str, day: date, before: datetime) -> StoredMorning | None:
        """Return the newest briefing for a local day made before an instant: its record, or its page without one."""
        made, beside = tables.briefings, tables.morning_records
        query = (
            select(made.c.body, beside.c.body.label("record"))
            .select_from(made.outerjoin(beside, beside.c.briefing == made.c.id))
            .where(made.c.lake == lake, made.c.day == day, made.c.made_at < before)
            .order_by(made.c.made_at.desc(), made.c.id.desc())
            .limit(1)
        )
        with self.reads() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return None
        if row.record is not None:
            return StoredMorning(row.record, None)
        try:
            return StoredMorning(None, _unpacked(row.body))
        except (OSError, EOFError, ValueError, zlib.error):  # damaged: the reader of the page says so
            return StoredMorning(None, "")

    # --- learned numbers, alerts, notes ----------------------------------------------------------------------------

    def learned(self, lake: str, name: str) -> Any | None:
        """Return a learned value of a lake (what JSON can hold), or None."""
        table = tables.learned
        with self.reads() as connection:
            return connection.execute(
                select(table.c.value).where(table.c.lake == lake, table.c.name == name)
            ).scalar_one_or_none()

    def learned_of_all(self, name: str) -> dict[str, Any]:
        """Return a learned value of all lakes that have it, by lake."""
        table = tables.learned
        with self.reads() as connection:
            rows = connection.execute(select(table.c.lake, table.c.value).where(table.c.name == name))
            return {row.lake: row.value for row in rows}

    def set_learned(self, lake: str, name: str, value: Any, now: datetime) -> None:
        """Store a learned value (what JSON can hold) under a name, replacing the old one."""
        self.set_all_learned(lake, {name: value}, now)

    def set_all_learned(self, lake: str, values: Mapping[str, Any], now: datetime) -> None:
        """Store learned values by name, all or none, replacing the old ones."""
        table = tables.learned
        rows = [{"lake": lake, "name": name, "value": value, "updated_at": now} for name, value in values.items()]
        with self.transaction() as connection:
            connection.execute(delete(table).where(table.c.lake == lake, table.c.name.in_(list(values))))
            connection.execute(insert(table), rows)

    def remember_alerts(self, lake: str, alerts: Mapping[str, Any], now: datetime) -> None:
        """Note the alerts now in force by id, with their content; those known keep their first sighting."""
        table = tables.alerts_seen
        with self.transaction() as connection:
            known = set(connection.execute(select(table.c.alert_id).where(table.c.lake == lake)).scalars())
            for alert_id, body in alerts.items():
                if alert_id in known:
                    match = (table.c.lake == lake, table.c.alert_id == alert_id)
                    connection.execute(update(table).where(*match).values(last_seen=now, body=body))
                else:
                    row = {"lake": lake, "alert_id": alert_id, "first_seen": now, "last_seen": now, "body": body}
                    connection.execute(insert(table).values(row))

    def alerts_seen(self, lake: str, since: datetime) -> dict[str, Any]:
        """Return alerts by id with their content, last seen at or after an instant."""
        table = tables.alerts_seen
        query = select(table.c.alert_id, table.c.body).where(table.c.lake == lake, table.c.last_seen >= since)
        with self.reads() as connection:
            return {row.alert_id: row.body for row in connection.execute(query.order_by(table.c.alert_id))}

    def save_note(self, note: SentNote) -> None:
        """Store the signature of a wind note."""
        with self.transaction() as connection:
            connection.execute(insert(tables.note_signatures).values(**asdict(note)))

    def notes(self, lake: str, outing: date) -> list[SentNote]:
        """Return the notes of an outing, oldest first."""
        table = tables.note_signatures
        query = select(table).where(table.c.lake == lake, table.c.outing == outing).order_by(table.c.at, table.c.id)
        with self.reads() as connection:
            rows = connection.execute(query).all()
        return [SentNote(row.lake, row.outing, row.at, row.action, row.signature) for row in rows]

    # --- all of it -------------------------------------------------------------------------------------------------

    def lakes(self) -> list[str]:
        """Return the ids of all lakes with anything stored."""
        with self.reads() as connection:
            found: set[str] = set()
            for table in tables.BY_LAKE:
                found |= set(connection.execute(select(table.c.lake).distinct()).scalars())
        return sorted(found)

    def forget(self, lake: str) -> dict[str, int]:
        """Erase everything of a lake, history too; returns how many rows went by table."""
        with self.transaction() as connection:
            return {
                table.name: connection.execute(delete(table).where(table.c.lake == lake)).rowcount
                for table in tables.BY_LAKE
            }

    def export(self, lake: str | None = None) -> dict[str, list[dict[str, Any]]]:
        """Return everything stored (of one lake), by table, ready for JSON: instants as ISO text, bodies as text."""
        out: dict[str, list[dict[str, Any]]] = {}
        with self.reads() as connection:
            for table in tables.BY_LAKE:
                query = select(table).order_by(*table.primary_key.columns)
                if lake is not None:
                    query = query.where(table.c.lake == lake)
                out[table.name] = [_plain(row) for row in connection.execute(query)]
        return out


# --- rows ------------------------------------------------------------------------------------------------------------


def _reading_row(new: NewReading) -> dict[str, Any]:
    return {**asdict(new), "values": dict(new.values)}


def _add(
    connection: Connection, table: Table, lake: str, row: dict[str, Any], now: datetime, replaces: int | None = None
) -> Row[Any]:
    full = {**row, "lake": lake, "entered_at": now, "state": EntryState.CURRENT.value, "replaces": replaces}
    full = {key: str(value) if key in ("kind", "zone") else value for key, value in full.items()}
    # As one dictionary, not keywords: the column named "values" would be taken for the method's own argument.
    result = connection.execute(insert(table), full)
    number = (result.inserted_primary_key or (0,))[0]
    return connection.execute(select(table).where(table.c.id == number)).one()


def _entry(connection: Connection, table: Table, number: int, what: str) -> Row[Any]:
    row = connection.execute(select(table).where(table.c.id == number)).one_or_none()
    if row is None:
        raise NotFoundError(f"There is no {what} {number}; see them with: briefing {what} list")
    return row


def _current(connection: Connection, table: Table, number: int, what: str) -> Row[Any]:
    row = _entry(connection, table, number, what)
    if row.state != EntryState.CURRENT:
        raise InputError(f"{what.capitalize()} {number} was {row.state} before; it counts no more.")
    return row


def _mark(connection: Connection, table: Table, number: int, state: EntryState, now: datetime) -> None:
    connection.execute(update(table).where(table.c.id == number).values(state=state.value, changed_at=now))


def _listed(
    connection: Connection,
    table: Table,
    lake: str | None,
    kinds: Sequence[str],
    since: datetime | None,
    until: datetime | None,
    history: bool,
) -> Sequence[Row[Any]]:
    query = select(table).order_by(table.c.time, table.c.id)
    if lake is not None:
        query = query.where(table.c.lake == lake)
    if kinds:
        query = query.where(table.c.kind.in_(kinds))
    if since is not None:
        query = query.where(table.c.time >= since)
    if until is not None:
        query = query.where(table.c.time <= until)
    if not history:
        query = query.where(table.c.state == EntryState.CURRENT.value)
    return connection.execute(query).all()


def _newest(connection: Connection, table: Table, lake: str, before: datetime | None) -> Row[Any] | None:
    query = select(table).where(table.c.lake == lake).order_by(table.c.made_at.desc(), table.c.id.desc()).limit(1)
    if before is not None:
        query = query.where(table.c.made_at < before)
    return connection.execute(query).one_or_none()


def _common(row: Row[Any]) -> dict[str, Any]:
    keys = ("id", "lake", "time", "spot", "note", "typed", "entered_at", "changed_at", "replaces")
    shared = {key: row._mapping[key] for key in keys}
    return {**shared, "zone": Zone(row.zone), "state": EntryState(row.state)}


def _reading(row: Row[Any]) -> Reading:
    return Reading(
        **_common(row),
        kind=ReadingKind(row.kind),
        values=row._mapping["values"],
        hour_known=row.hour_known,
        method=row.method,
    )


def _sign(row: Row[Any]) -> SignEntry:
    # "count" is also a method of a row, so the column is taken from its mapping.
    return SignEntry(
        **_common(row),
        kind=SignKind(row.kind),
        hours_looked=row.hours_looked,
        count=row._mapping["count"],
        secchi_m=row.secchi_m,
    )


def _packed(text: str) -> bytes:
    return gzip.compress(text.encode("utf-8"), compresslevel=6, mtime=0)


def _unpacked(body: bytes) -> str:
    return gzip.decompress(body).decode("utf-8")


def _plain(row: Row[Any]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, value in row._mapping.items():
        if isinstance(value, bytes):
            value = _unpacked(value)
        elif isinstance(value, date):  # and datetime, which is one
            value = value.isoformat()
        out[key] = value
    return out
