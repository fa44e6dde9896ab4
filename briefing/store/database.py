"""Opening the store: schema steps in order, each recorded, with a backup before an upgrade."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, func, insert, inspect, select

from briefing.errors import NewerSchemaError, StoreError
from briefing.store import tables
from briefing.store.sqlite import BUSY_TIMEOUT_S, check_header, copy_database, make_engine, plain_errors
from briefing.store.store import Store


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


STEPS: tuple[Step, ...] = (
    Step(1, "readings, signs, gathered inputs, briefings, learned numbers", _first_tables),
    Step(2, "alerts last seen, signatures of wind notes", _alerts_and_notes),
    Step(3, "outings, occurrences and messages of the service", _outings_and_ledger),
    Step(4, "field log, checks of the forecasts", _log_and_checks),
)


def open_store(
    path: Path, now: datetime, *, steps: tuple[Step, ...] = STEPS, busy_timeout_s: float = BUSY_TIMEOUT_S
) -> Store:
    """Open the store at ``path``, making or upgrading it as needed. ``now`` stamps the steps applied.

    Raises NewerSchemaError when a newer version of the program wrote the file, StoreError when it can't be used.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"The folder {path.parent} can't be made: {error.strerror or error}.") from None
    if path.exists():
        check_header(path)
    with plain_errors(path):
        engine = make_engine(path, busy_timeout_s)
        found = _version(engine)
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
