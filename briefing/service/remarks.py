"""What the service has to say of itself in a message: that it is late, and what was missed before."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from briefing.app.planner import Kind
from briefing.sections.clock import clock, short_date
from briefing.store.ledger_records import OccurrenceRow

_NAMES = {Kind.MORNING: "briefing", Kind.EVENING: "evening outlook", Kind.CHECK: "wind check"}
#: Kinds whose absence a reader is told of.
TOLD = (Kind.MORNING, Kind.EVENING, Kind.CHECK)
#: Longest reason repeated in a message.
_REASON = 120


def late_remark(row: OccurrenceRow, now: datetime, late: timedelta, why: str, zone: ZoneInfo) -> str:
    """Say that a message is late and why; empty when it is not."""
    if now - row.due_at < late:
        return ""
    day = now.astimezone(zone).date()
    reason = why or (f"earlier tries failed ({_short(row.reason)})" if row.reason else "it had to wait")
    return f"Prepared {clock(now, zone, day)}, planned {clock(row.due_at, zone, day)}: {reason}."


def missed_remarks(rows: Sequence[OccurrenceRow]) -> list[str]:
    """Say what was missed since the last message: one sentence a kind and reason."""
    groups: dict[tuple[str, str], list[OccurrenceRow]] = {}
    for row in rows:
        groups.setdefault((row.kind, row.reason), []).append(row)
    out = []
    for (kind, reason), members in groups.items():
        name = _NAMES.get(Kind(kind), kind)
        days = list(dict.fromkeys(short_date(row.day) for row in members))
        span = days[0] if len(days) == 1 else f"{days[0]} to {days[-1]}"
        count = f"The {name} for {span} was" if len(members) == 1 else f"{len(members)} {name}s for {span} were"
        out.append(f"{count} missed: {_short(reason) or 'no reason known'}.")
    return out


def _short(text: str) -> str:
    plain = " ".join(text.split()).rstrip(".")
    return plain if len(plain) <= _REASON else plain[: _REASON - 1].rstrip() + "…"
