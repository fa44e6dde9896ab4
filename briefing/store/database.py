"""Opening the store: schema steps in order, each recorded, with a backup before an upgrade."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, func, insert, inspect, select
from sqlalchemy.exc import DBAPIError

from briefing.errors import NewerSchemaError, StoreError
from briefing.store import tables
from briefing.store.sqlite import (
    BUSY_TIMEOUT_S,
    check_header,
    copy_database,
    make_draft_engine,
    make_engine,
    make_memory_engine,
    plain_errors,
)
from briefing.store.store import Store

_LOST = ".empty-"
_LAST_BACKUP = "last-backup.txt"


@dataclass(frozen=True, slots=True)
class Step:
    """One change of the schema; steps are numbered from 1 without gaps and never edited once shipped."""

    number: int
    name: str
    apply: Callable[[Connection], None]


def _first_tables(connection: Connection) -> None:
    chosen = (tables.readings, tables.signs, tables.gathered, tables.briefings, tables.learned)
    tables.metadata.create_all(connection, tables=chosen)


def _alerts_and_notes(connection: Connection) -> None:
    tables.metadata.create_all(connection, tables=(tables.alerts_seen, tables.note_signatures))


def _outings_and_ledger(connection: Connection) -> None:
    chosen = (tables.outings, tables.occurrences, tables.messages, tables.service_state)
    tables.metadata.create_all(connection, tables=chosen)


def _log_and_checks(connection: Connection) -> None:
    tables.metadata.create_all(connection, tables=(tables.log_entries, tables.forecast_checks))


def _morning_records(connection: Connection) -> None:
    tables.metadata.create_all(connection, tables=(tables.morning_records,))


STEPS: tuple[Step, ...] = (
    Step(1, "readings, signs, gathered inputs, briefings, learned numbers", _first_tables),
    Step(2, "alerts last seen, signatures of wind notes", _alerts_and_notes),
    Step(3, "outings, occurrences and messages of the service", _outings_and_ledger),
    Step(4, "field log, checks of the forecasts", _log_and_checks),
    Step(5, "facts of a morning beside its briefing", _morning_records),
)


def open_store(
    path: Path, now: datetime, *, steps: tuple[Step, ...] = STEPS, busy_timeout_s: float = BUSY_TIMEOUT_S
) -> Store:
    """Open the store at ``path``, making or upgrading it as needed. ``now`` stamps the steps applied.

    Raises NewerSchemaError when a newer version of the program wrote the file, StoreError when it can't be used.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise StoreError(
            f"{path.parent} is a file, where the folder with your entries is expected; "
            "set BRIEFING_HOME to the folder, or move the file away."
        ) from None
    except OSError as error:
        raise StoreError(f"The folder {path.parent} can't be made: {error.strerror or error}.") from None
    _refuse_what_is_no_file(path)
    if path.exists():
        check_header(path)
    refuse_lost(path, now)
    with plain_errors(path):
        if not path.exists():
            _make_new(path, steps, now, busy_timeout_s)
        engine = make_engine(path, busy_timeout_s)
        found = _version(engine)
        if not found:
            raise StoreError(
                f"{path} holds none of this program's tables: it was emptied, or is a database of another program. "
                "It is left alone: restore a backup, or move it away to begin anew."
            )
        if found > steps[-1].number:
            raise NewerSchemaError(
                f"The store {path} was written by a newer version of this program (schema {found}, known "
                f"{steps[-1].number}); it is left alone. Update the program to use it."
            )
        if 0 < found < steps[-1].number:
            stamp = now.strftime("%Y%m%dT%H%M%SZ")
            copy_database(path, path.with_name(f"{path.name}.schema{found}-{stamp}.bak"))
        if found < steps[-1].number:
            _upgrade(engine, steps, now)
    return Store(engine, path)


def _refuse_what_is_no_file(path: Path) -> None:
    """Raise StoreError for a place that can't be looked at, and for what would be waited for, such as a pipe."""
    try:
        there, plain = path.exists(), path.is_file()
    except OSError as error:
        raise StoreError(f"The store {path} can't be reached: {error.strerror or error}.") from None
    if there and not plain:
        raise StoreError(f"{path} is no file: the store was expected there. Move it away, or restore a backup.")


def open_anyway(path: Path, now: datetime) -> Store:
    """Open the store, or what can be read of it in memory, so that a full or broken disk costs no morning.

    ``Store.unwritable`` then says why nothing can be kept. Raises NewerSchemaError as `open_store` does.
    """
    try:
        return open_store(path, now)
    except NewerSchemaError:
        raise
    except StoreError as error:
        why = str(error)
    try:
        engine = make_memory_engine(path if path.is_file() and path.stat().st_size else None)
        if not 0 < _version(engine) <= STEPS[-1].number:
            engine = make_memory_engine(None)
    except (DBAPIError, sqlite3.Error, OSError):
        engine = make_memory_engine(None)
    lost = False
    if _version(engine) < STEPS[-1].number:
        lost = not _version(engine)
        if lost:
            why += " Nothing of what you entered or of earlier mornings could be read."
        _upgrade(engine, STEPS, now)
    return Store(engine, path, why, lost=lost)


def _make_new(path: Path, steps: tuple[Step, ...], now: datetime, busy_timeout_s: float) -> None:
    """Make a store under a name of its own and put it in place whole, so that an empty file is never one of ours."""
    draft = path.with_name(f"{path.name}.{os.getpid()}.{threading.get_ident()}.new")
    draft.unlink(missing_ok=True)
    try:
        engine = make_draft_engine(draft, busy_timeout_s)
        _upgrade(engine, steps, now)
        engine.dispose()
        try:
            os.link(draft, path)
        except FileExistsError:
            pass  # another process was faster: its store counts
        except OSError:  # a file system without links
            draft.replace(path)
    finally:
        draft.unlink(missing_ok=True)


def refuse_lost(path: Path, now: datetime) -> None:
    """Raise StoreError where a store was lost: an empty file is moved aside, and told until it is deleted."""
    set_aside_empty(path, now)
    if path.exists():
        return
    aside = [one for one in sorted(path.parent.glob(f"{path.name}{_LOST}*")) if one.name.endswith("Z")]
    last = last_backup(path.parent)
    restore = f"Put the last backup back: briefing restore {last} --replace." if last else "No backup of it is known."
    note = path.parent / _LAST_BACKUP
    if not aside and note.exists():
        raise StoreError(
            f"There is no store {path}, where one with your entries was expected: a backup of it was made. {restore} "
            f"To begin anew, delete {note.name} beside it."
        )
    if not aside:
        return
    raise StoreError(
        f"The store {path} was empty, where one with your entries was expected; what is left of it is kept in "
        f"{aside[-1].name}. {restore} To begin anew, delete {aside[-1].name}."
    )


def set_aside_empty(path: Path, now: datetime) -> None:
    """Give an empty store file, and what lies beside it, a name of its own: nothing of it is written over."""
    if not path.is_file() or path.stat().st_size:
        return
    for ending in ("-wal", "-shm", ""):
        part = path.with_name(path.name + ending)
        if part.exists():
            part.replace(path.with_name(f"{path.name}{_LOST}{now:%Y%m%dT%H%M%SZ}{ending}"))


def note_backup(folder: Path, target: Path) -> None:
    """Remember in the store's folder where the last backup is; one that can't be written costs nothing."""
    with contextlib.suppress(OSError):
        (folder / _LAST_BACKUP).write_text(f"{target.absolute()}\n", encoding="utf-8")


def last_backup(folder: Path) -> Path | None:
    """The last backup that is still there: as noted, else the newest copy beside the store; None when there is none."""
    with contextlib.suppress(OSError):
        noted = Path((folder / _LAST_BACKUP).read_text(encoding="utf-8").strip())
        if noted.is_file():
            return noted
    found = sorted(folder.glob("before-restore-*.tar.gz")) if folder.is_dir() else []
    return found[-1] if found else None


def _version(engine: Engine) -> int:
    with engine.connect() as connection:
        return _version_in(connection.execution_options(reads=True))


def _version_in(connection: Connection) -> int:
    if not inspect(connection).has_table(tables.schema_steps.name):
        return 0
    return int(connection.execute(select(func.max(tables.schema_steps.c.step))).scalar() or 0)


def _upgrade(engine: Engine, steps: tuple[Step, ...], now: datetime) -> None:
    """Apply all missing steps in one transaction; the version is read again inside it, for two processes may race."""
    with engine.begin() as connection:
        tables.metadata.create_all(connection, tables=(tables.schema_steps,))
        at = _version_in(connection)
        for step in steps:
            if step.number > at:
                step.apply(connection)
                row = {"step": step.number, "name": step.name, "applied_at": now}
                connection.execute(insert(tables.schema_steps).values(row))
