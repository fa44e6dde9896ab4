"""The state of the service as one value: what was last, what is next, what was missed or is uncertain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from briefing.app.assembly import App
from briefing.app.clock import view_clock
from briefing.app.planner import Kind
from briefing.app.served import DAY, Lake, open_occurrences, outing_on, served_lakes
from briefing.core.gathered_json import from_json
from briefing.sections.clock import age_text, short_date
from briefing.store import Store
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import MessageRow, MessageState, OccurrenceRow, OccurrenceState, OutingEntry

#: What a reader is told about reaches back so far.
LOOK_BACK = timedelta(days=7)
#: Outings are looked for so far ahead.
PLANNED_DAYS = 14
#: A service that made no round for so long does not run.
SILENT = timedelta(minutes=5)


@dataclass
class LakeStatus:
    """One lake's state; sentences in ``wrong`` and ``doubtful``. Times are UTC, and shown in the lake's ``zone``.

    ``clock``: what its newest inputs say of this computer's clock, empty when nothing is wrong with it.
    """

    lake: str
    zone: str
    last: dict[str, Any] | None = None
    next: dict[str, Any] | None = None
    outing: str = ""
    data_age_h: float | None = None
    no_wind: bool = False  # what was gathered last holds none
    forecast_issued: str | None = None
    clock: str = ""
    wrong: list[str] = field(default_factory=list)
    doubtful: list[str] = field(default_factory=list)


@dataclass
class Status:
    """All of it. ``code``: 0 all is in order, 1 something is doubtful, 2 something is wrong."""

    now: datetime
    last_round: datetime | None
    wrong: list[str]
    doubtful: list[str]
    lakes: list[LakeStatus]

    @property
    def code(self) -> int:
        """Exit code."""
        if self.wrong or any(lake.wrong for lake in self.lakes):
            return 2
        return 1 if self.doubtful or any(lake.doubtful for lake in self.lakes) else 0


def read_status(app: App) -> Status:
    """Look at ledger, clock and lakes; nothing is made or sent. A lake file that can't be read is told as wrong."""
    settings, now = app.service_settings(), app.now()
    with app.store() as store:
        ledger = Ledger(store)
        view = view_clock(ledger, now, settings.tick)
        wrong = [view.problem] if view.problem else []
        doubtful = []
        if view.last_tick is None:
            doubtful.append("The service has not run yet: start it with briefing serve, or briefing tick on a timer.")
        elif now - view.last_tick > SILENT:
            doubtful.append(f"No round was made since {view.last_tick:%Y-%m-%d %H:%M} UTC: the service does not run.")
        lakes = [
            _lake(store, ledger, lake, now)
            for lake in served_lakes(app, settings, lambda _, error: wrong.append(f"Not served: {error}"))
        ]
    asked = [lake for lake in lakes if lake.data_age_h is not None]
    newest = min(asked, key=lambda lake: lake.data_age_h or 0.0, default=None)
    if newest is not None and newest.clock:
        wrong.append(f"{newest.clock} Set it: times in the briefings may be wrong.")
    return Status(now, view.last_tick, wrong, doubtful, lakes)


def _lake(store: Store, ledger: Ledger, lake: Lake, now: datetime) -> LakeStatus:
    name = lake.profile.id
    out = LakeStatus(name, str(lake.profile.zone))
    rows = ledger.occurrences(now - LOOK_BACK, name)
    told = [row for row in rows if row.kind != Kind.RETENTION]
    done = [row for row in told if row.state is OccurrenceState.DONE and row.kind != Kind.CHECK]
    if done:
        out.last = _row(done[-1])
    today = now.astimezone(lake.profile.zone).date()
    ahead = [one for one, _ in open_occurrences(ledger, lake, today - DAY, now) if one.due_at > now]
    upcoming = next((one for one in ahead if one.kind is not Kind.RETENTION), None)
    if upcoming is not None:
        out.next = {"kind": upcoming.kind.value, "day": upcoming.day.isoformat(), "due_at": upcoming.due_at.isoformat()}
    entries = {entry.day: entry for entry in ledger.outings(name, today)}
    days = (today + n * DAY for n in range(PLANNED_DAYS))
    out.outing = _outing_words(next((day for day in days if _is_ahead(lake, day, entries.get(day), now)), None))
    _data_age(store, name, now, out)
    newest = done[-1].due_at if done else None
    for row in told:
        _judge(row, newest, out)
    for message in ledger.messages(now - LOOK_BACK, name):
        _judge_message(message, out)
    return out


def _is_ahead(lake: Lake, day: date, entry: OutingEntry | None, now: datetime) -> bool:
    outing = outing_on(lake.profile, day, entry)
    return outing is not None and outing.back > now


def _outing_words(day: date | None) -> str:
    if day is None:
        return "No outing is planned for the next two weeks: no wind notes will come."
    return f"An outing is planned for {_day(day.isoformat())}: the wind is checked for it."


def _row(row: OccurrenceRow) -> dict[str, Any]:
    return {
        "kind": row.kind,
        "day": row.day.isoformat(),
        "due_at": row.due_at.isoformat(),
        "made_at": None if row.built_at is None else row.built_at.isoformat(),
        "late_min": row.detail.get("late_min"),
    }


def _data_age(store: Store, lake: str, now: datetime, out: LakeStatus) -> None:
    stored = store.last_gathered(lake)
    if stored is None:
        return
    out.data_age_h = round((now - stored.made_at).total_seconds() / 3600, 1)
    try:
        gathered = from_json(stored.text)
        origins = gathered.hours["wind_mps"].origins
    except (ValueError, KeyError):
        return
    if not np.isfinite(gathered.hours.values("wind_mps")).any():
        out.data_age_h, out.no_wind = None, True
    out.clock = next((one.missing for one in gathered.problems if one.source == "clock"), "")
    issued = max((origin.issued for origin in origins if origin.issued is not None), default=None)
    out.forecast_issued = None if issued is None else issued.isoformat()


def _judge(row: OccurrenceRow, newest: datetime | None, out: LakeStatus) -> None:
    """A miss is wrong until a later briefing went out, doubtful for the rest of the week."""
    about = f"{row.kind} of {_day(row.day.isoformat())}"
    if row.state is OccurrenceState.MISSED:
        over = newest is not None and newest > row.due_at
        (out.doubtful if over else out.wrong).append(f"Missed: {about} ({row.reason or 'no reason known'}).")
    elif row.state is OccurrenceState.WAITING and row.reason:
        out.doubtful.append(f"Not made yet: {about} ({row.reason}).")


def _judge_message(message: MessageRow, out: LakeStatus) -> None:
    about = f"{message.channel} of {message.occurrence.split('|', 1)[1].replace('|', ' ').strip()}"
    if message.state is MessageState.UNCERTAIN:
        out.doubtful.append(f"Uncertain: {about} ({message.reply}).")
    elif message.uncertain_at is not None:
        out.doubtful.append(f"Sent twice, the first time without an answer: {about}.")
    elif message.state is MessageState.READY and message.reply:
        out.doubtful.append(f"Waiting: {about} ({message.reply}).")


def status_lines(status: Status) -> Sequence[str]:
    """The status in words."""
    out = [*status.wrong, *status.doubtful]
    for lake in status.lakes:
        out.append(f"{lake.lake}:")
        out.append("  last: " + (_said(lake.last, lake.zone) if lake.last else "nothing made yet"))
        out.append("  next: " + (_ahead(lake.next, lake.zone) if lake.next else "nothing is due"))
        out.append(f"  {lake.outing}")
        if lake.data_age_h is not None:
            issued = f"; forecast issued {_local(lake.forecast_issued, lake.zone)}" if lake.forecast_issued else ""
            out.append(f"  data: {age_text(lake.data_age_h)}{issued}")
        elif lake.no_wind:
            out.append("  data: no wind is stored, nothing is known of the hours")
        out += [f"  {sentence}" for sentence in (*lake.wrong, *lake.doubtful)]
    if not status.lakes:
        out.append("No lake is set up: briefing lake add")
    return out


def _said(row: dict[str, Any], zone: str) -> str:
    late = f", {row['late_min']} min late" if row.get("late_min") else ""
    return f"{row['kind']} of {_day(row['day'])}, made {_local(row['made_at'], zone)}{late}"


def _ahead(row: dict[str, Any], zone: str) -> str:
    return f"{row['kind']} of {_day(row['day'])}, due {_local(row['due_at'], zone)}"


def _day(text: str) -> str:
    """A date of the record as it is read: ``"Thu 16 July"``."""
    found = date.fromisoformat(text)
    return f"{found:%a} {short_date(found)}"


def _local(text: str | None, zone: str) -> str:
    if text is None:
        return "at an unknown time"
    found = datetime.fromisoformat(text).astimezone(ZoneInfo(zone))
    return f"{found:%a} {short_date(found.date())} {found:%H:%M %Z}"
