"""The tables, in portable column types. Instants are stored as naive UTC and come back aware."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    DateTime,
    Float,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

metadata = MetaData()


class Instant(TypeDecorator[datetime]):
    """An aware instant: naive UTC in the column, aware UTC outside. A naive value is refused."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        """To the column."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("an instant needs a time zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        """From the column."""
        return None if value is None else value.replace(tzinfo=UTC)


def _entry_columns() -> list[Column[Any]]:
    """Columns that readings and signs share: where, when, in which words, and whether the entry still counts."""
    return [
        Column("id", Integer, primary_key=True, autoincrement=True),
        Column("lake", String(80), nullable=False),
        Column("kind", String(40), nullable=False),
        Column("time", Instant, nullable=False),
        Column("zone", String(20), nullable=False),
        Column("spot", String(80), nullable=False),
        Column("note", Text, nullable=False),
        Column("typed", Text, nullable=False),
        Column("entered_at", Instant, nullable=False),
        Column("state", String(20), nullable=False),
        Column("changed_at", Instant),
        Column("replaces", Integer),
    ]


readings = Table(
    "readings",
    metadata,
    *_entry_columns(),
    Column("values", JSON, nullable=False),
    Column("hour_known", Boolean, nullable=False),
    Column("method", String(20), nullable=False),
    Index("readings_by_lake", "lake", "time"),
    sqlite_autoincrement=True,
)

signs = Table(
    "signs",
    metadata,
    *_entry_columns(),
    Column("hours_looked", Float, nullable=False),
    Column("count", Integer),
    Column("secchi_m", Float),
    Index("signs_by_lake", "lake", "time"),
    sqlite_autoincrement=True,
)

gathered = Table(
    "gathered",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("lake", String(80), nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("body", LargeBinary, nullable=False),  # gzip of JSON text
    Index("gathered_by_lake", "lake", "made_at"),
)

briefings = Table(
    "briefings",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("lake", String(80), nullable=False),
    Column("day", Date, nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("body", LargeBinary, nullable=False),  # gzip of JSON text
    Index("briefings_by_lake", "lake", "made_at"),
)

morning_records = Table(
    "morning_records",
    metadata,
    Column("briefing", Integer, primary_key=True, autoincrement=False),  # the briefing that it stands beside
    Column("lake", String(80), nullable=False),
    Column("made_at", Instant, nullable=False),
    Column("body", Text, nullable=False),  # JSON with its own version
    Index("records_by_lake", "lake", "made_at"),
)

learned = Table(
    "learned",
    metadata,
    Column("lake", String(80), primary_key=True),
    Column("name", String(80), primary_key=True),
    Column("value", JSON, nullable=False),
    Column("updated_at", Instant, nullable=False),
)

alerts_seen = Table(
    "alerts_seen",
    metadata,
    Column("lake", String(80), primary_key=True),
    Column("alert_id", String(200), primary_key=True),
    Column("first_seen", Instant, nullable=False),
    Column("last_seen", Instant, nullable=False),
    Column("body", JSON, nullable=False),
)

note_signatures = Table(
    "note_signatures",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("lake", String(80), nullable=False),
    Column("outing", Date, nullable=False),
    Column("at", Instant, nullable=False),
    Column("action", String(40), nullable=False),
    Column("signature", JSON, nullable=False),
    Index("notes_by_outing", "lake", "outing", "at"),
)

outings = Table(
    "outings",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("lake", String(80), nullable=False),
    Column("day", Date, nullable=False),
    Column("launch", Instant, nullable=False),
    Column("back", Instant, nullable=False),
    Column("ramp", String(80)),
    Column("spots", JSON, nullable=False),
    Column("fixed_launch", Boolean, nullable=False),
    Column("weigh_in", Instant),
    Column("state", String(20), nullable=False),
    Column("entered_at", Instant, nullable=False),
    Column("changed_at", Instant),
    Column("replaces", Integer),
    Index("outings_by_day", "lake", "day"),
    sqlite_autoincrement=True,
)

occurrences = Table(
    "occurrences",
    metadata,
    Column("key", String(160), primary_key=True),
    Column("lake", String(80), nullable=False),
    Column("day", Date, nullable=False),
    Column("kind", String(20), nullable=False),
    Column("slot", String(20), nullable=False),
    Column("due_at", Instant, nullable=False),
    Column("useful_until", Instant, nullable=False),
    Column("state", String(20), nullable=False),
    Column("owner", String(80)),
    Column("claimed_at", Instant),
    Column("built_at", Instant),
    Column("revision", Integer, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("next_try_at", Instant),
    Column("reason", Text, nullable=False),
    Column("told", Boolean, nullable=False),  # whether a later message has said that this one was missed
    Column("detail", JSON, nullable=False),
    Index("occurrences_by_day", "lake", "day"),
    Index("occurrences_by_state", "state", "due_at"),
)

messages = Table(
    "messages",
    metadata,
    Column("key", String(40), primary_key=True),
    Column("occurrence", String(160), nullable=False),
    Column("lake", String(80), nullable=False),
    Column("channel", String(20), nullable=False),
    Column("recipient", String(320), nullable=False),
    Column("message_id", String(120), nullable=False),
    Column("body", LargeBinary, nullable=False),  # gzip of the exact bytes that are handed over
    Column("digest", String(64), nullable=False),
    Column("state", String(20), nullable=False),
    Column("owner", String(80)),
    Column("attempts", Integer, nullable=False),
    Column("committed", Integer, nullable=False),  # how often the last step of a hand-over was begun
    Column("made_at", Instant, nullable=False),
    Column("useful_until", Instant, nullable=False),
    Column("next_try_at", Instant),
    Column("committed_at", Instant),
    Column("uncertain_at", Instant),
    Column("ended_at", Instant),
    Column("reply", Text, nullable=False),
    Index("messages_by_state", "state", "next_try_at"),
    Index("messages_by_occurrence", "occurrence"),
)

service_state = Table(
    "service_state",
    metadata,
    Column("name", String(120), primary_key=True),
    Column("value", JSON, nullable=False),
    Column("updated_at", Instant, nullable=False),
)

log_entries = Table(
    "log_entries",
    metadata,
    *_entry_columns(),
    Column("outing", Integer),  # the entry that began the outing; that one holds its own number or none
    Column("body", JSON, nullable=False),
    Index("log_by_lake", "lake", "time"),
    sqlite_autoincrement=True,
)

forecast_checks = Table(
    "forecast_checks",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("lake", String(80), nullable=False),
    Column("element", String(20), nullable=False),  # wind_mps, gust_mps, water_c, thunder, a date of the season
    Column("time", Instant, nullable=False),
    Column("lead", String(20), nullable=False),
    Column("lead_h", Float, nullable=False),
    Column("forecast", Float, nullable=False),
    Column("low", Float),
    Column("high", Float),
    Column("from_deg", Float),
    Column("observed", Float, nullable=False),
    Column("kind", String(20), nullable=False),  # station | user | gauge
    Column("name", Text, nullable=False),
    Column("checked_at", Instant, nullable=False),
    UniqueConstraint("lake", "element", "time", "lead", "kind", name="check_once"),
)

schema_steps = Table(
    "schema_steps",
    metadata,
    Column("step", Integer, primary_key=True, autoincrement=False),
    Column("name", String(80), nullable=False),
    Column("applied_at", Instant, nullable=False),
)

#: Tables that belong to a lake, in the order of an export.
BY_LAKE = (
    readings,
    signs,
    gathered,
    briefings,
    morning_records,
    learned,
    alerts_seen,
    note_signatures,
    outings,
    occurrences,
    messages,
    log_entries,
    forecast_checks,
)
