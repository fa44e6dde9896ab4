"""Everything that is particular to SQLite: opening, pragmas, transactions, backup, and what its errors mean."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event, exc
from sqlalchemy.pool import NullPool, StaticPool

from briefing.errors import StoreError, StoreInUseError

#: How long a write waits for another process (s).
BUSY_TIMEOUT_S = 5.0

_HEADER = b"SQLite format 3\x00"
_LOOK_S = 0.02
#: Stores that this process has met: their files are not opened any more but by SQLite itself.
_met: set[Path] = set()


@lru_cache(maxsize=8)
def make_engine(path: Path, busy_timeout_s: float = BUSY_TIMEOUT_S) -> Engine:
    """Return an engine on a file: WAL, full syncs, deleted rows overwritten, transactions begun as a writer.

    A transaction that starts as a reader and becomes a writer fails at once when another one wrote in between, whatever
    the timeout; ``BEGIN IMMEDIATE`` waits instead. A connection with the execution option ``reads`` begins as a reader,
    which waits for no one.

    Engines are kept by file: the service opens the store in every round, and statements are compiled once an engine.
    The engine keeps no connection; an open store keeps one, under a lock of its own, for whichever thread uses it.
    """

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(path, timeout=busy_timeout_s, isolation_level=None, check_same_thread=False)
        try:
            _write_ahead(connection, busy_timeout_s)
            for pragma in ("synchronous=FULL", "foreign_keys=ON", "secure_delete=ON"):
                connection.execute(f"PRAGMA {pragma}").close()
        except sqlite3.Error:
            connection.close()
            raise
        _met.add(path.absolute())
        return connection

    engine = create_engine("sqlite://", creator=connect, poolclass=NullPool)
    _begin_as_writer(engine)
    return engine


def _begin_as_writer(engine: Engine) -> None:
    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        reads = connection.get_execution_options().get("reads", False)
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")


def make_draft_engine(path: Path, busy_timeout_s: float) -> Engine:
    """Return an engine on a file that is still to be put in its place: without a log beside it, synced in full."""

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(path, timeout=busy_timeout_s, isolation_level=None)
        connection.execute("PRAGMA synchronous=FULL").close()
        return connection

    engine = create_engine("sqlite://", creator=connect, poolclass=NullPool)
    _begin_as_writer(engine)
    return engine


def make_memory_engine(path: Path | None) -> Engine:
    """Return an engine on a copy of a database in memory, empty for None: for a file that can't be written.

    Raises sqlite3.Error or OSError when the file can't be read either.
    """
    memory = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    try:
        if path is not None:
            _copy_into(memory, path)
    except (sqlite3.Error, OSError):
        memory.close()
        raise
    engine = create_engine("sqlite://", creator=lambda: memory, poolclass=StaticPool)
    _begin_as_writer(engine)
    return engine


def _copy_into(memory: sqlite3.Connection, path: Path) -> None:
    """Copy a file in: as it is, else by a copy elsewhere with what was written last, else without that."""
    try:
        _copy_uri(memory, f"{path.absolute().as_uri()}?mode=ro")
    except sqlite3.Error:
        try:
            with tempfile.TemporaryDirectory() as folder:
                for name in (path.name, f"{path.name}-wal"):
                    if path.with_name(name).exists():
                        shutil.copyfile(path.with_name(name), Path(folder) / name)
                _copy_uri(memory, (Path(folder) / path.name).as_uri())
        except (sqlite3.Error, OSError):
            _copy_uri(memory, f"{path.absolute().as_uri()}?mode=ro&immutable=1")


def _copy_uri(memory: sqlite3.Connection, uri: str) -> None:
    with closing(sqlite3.connect(uri, uri=True)) as old:
        old.backup(memory)
    memory.execute("PRAGMA journal_mode=MEMORY").close()


def _write_ahead(connection: sqlite3.Connection, patience_s: float) -> None:
    """Switch to WAL. Two processes that do so on a new file refuse each other at once, whatever the timeout: again."""
    until = time.monotonic() + patience_s
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL").close()
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() >= until:
                raise
            time.sleep(_LOOK_S)
        else:
            return


def check_header(path: Path) -> None:
    """Refuse a file that is no SQLite database, before anything touches it. Raises StoreError.

    Only the first time that this process meets the file: closing a file drops every lock that the process holds on it
    (POSIX), and with them those of a connection that is open (sqlite.org, "How to corrupt a database file", 2.2).
    """
    if path.absolute() in _met:
        return
    if path.is_dir():
        raise StoreError(f"{path} is a folder where the store should be; move it away or restore a backup.")
    try:
        with path.open("rb") as handle:
            start = handle.read(len(_HEADER))
    except OSError as error:
        raise StoreError(f"The store {path} can't be read: {error.strerror or error}.") from None
    if start and start != _HEADER:  # an empty file is a store that was lost, which is told elsewhere
        raise StoreError(f"{path} is not a store of this program; it is left alone. Move it away or restore a backup.")


def copy_database(source: Path, target: Path) -> None:
    """Copy a database that may be in use, whole. Raises StoreError."""
    try:
        with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
            old.backup(new)
    except sqlite3.Error as error:
        target.unlink(missing_ok=True)
        raise StoreError(f"No backup could be written to {target} ({error}); the store was not upgraded.") from None


@contextmanager
def plain_errors(path: Path) -> Iterator[None]:
    """Turn errors of the database into StoreError with one sentence that says what to do."""
    try:
        yield
    except (exc.DBAPIError, sqlite3.Error) as error:
        reason = str(getattr(error, "orig", error)).lower()
        in_use = "locked" in reason or "busy" in reason
        raise (StoreInUseError if in_use else StoreError)(_sentence(path, reason)) from error
    except OSError as error:
        raise StoreError(f"The store {path} can't be used: {error.strerror or error}. Nothing was written.") from error


def _sentence(path: Path, reason: str) -> str:
    if "locked" in reason or "busy" in reason:
        return f"The store {path} is in use by another process and did not come free; nothing was written. Try again."
    if "full" in reason:
        return f"The disk with {path} is full; nothing was written. Make room and try again."
    if "disk i/o" in reason:
        return f"The disk with {path} can't be written: it is full, or failing. Nothing was written."
    if "readonly" in reason or "read-only" in reason or "unable to open" in reason:
        return f"The store {path} can't be written: no permission, or no such folder. Nothing was written."
    if "malformed" in reason or "not a database" in reason:
        return f"The store {path} is damaged; it is left alone. Restore a backup, or move it away to start anew."
    return f"The store {path} gave an error ({reason}); nothing was written."
