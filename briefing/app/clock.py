"""What the service makes of its clock: sleep, steps back, and a clock that is plainly wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from briefing.app.assembly import App
from briefing.app.events import Log
from briefing.app.service_settings import TickTable
from briefing.store.ledger import Ledger

LAST_TICK, SLEEPS, TRUSTED = "last_tick", "sleeps", "clock_trusted"
_KEPT_SLEEPS = 60
_WRITE_EVERY = timedelta(seconds=60)


@dataclass(frozen=True, slots=True)
class Gap:
    """A time in which the service did not run."""

    begin: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class ClockView:
    """The clock as a round sees it. ``problem``: nothing is made or sent while it stands."""

    last_tick: datetime | None
    gaps: tuple[Gap, ...]
    problem: str = ""

    def why_not(self, begin: datetime, end: datetime) -> str:
        """Why nothing was done between two instants, as far as the gaps tell; empty when the service ran."""
        for gap in reversed(self.gaps):
            if gap.begin < end and gap.end > begin:
                return "this computer was asleep or the service was not running"
        return ""


def view_clock(ledger: Ledger, now: datetime, table: TickTable) -> ClockView:
    """Compare now with the last round and with what is stored; nothing is written."""
    last = _instant(ledger.state(LAST_TICK))
    gaps = tuple(Gap(_must(one[0]), _must(one[1])) for one in ledger.state(SLEEPS) or [])
    return ClockView(last, gaps, _problem(ledger, now, timedelta(minutes=table.clock_ahead_min)))


def read_clock(ledger: Ledger, now: datetime, table: TickTable, log: Log) -> ClockView:
    """View the clock; note a gap since the last round, tell of a step back."""
    view = view_clock(ledger, now, table)
    last, gaps = view.last_tick, view.gaps
    if last is not None and now - last > timedelta(seconds=table.asleep_s):
        log("asleep", since=last, until=now)
        gaps = (*gaps, Gap(last, now))[-_KEPT_SLEEPS:]
        ledger.set_state(SLEEPS, [[gap.begin.isoformat(), gap.end.isoformat()] for gap in gaps], now)
    if last is not None and last - now > timedelta(seconds=table.back_s):
        log("clock_stepped_back", last=last, now=now)
    return replace(view, gaps=gaps)


def write_clock(ledger: Ledger, view: ClockView, now: datetime) -> None:
    """Note that a round was made; at most once a minute, to spare the disk."""
    if view.last_tick is None or abs(now - view.last_tick) >= _WRITE_EVERY:
        ledger.set_state(LAST_TICK, now.isoformat(), now)


def trust_clock(app: App) -> None:
    """Take the clock as right although later instants are stored."""
    now = app.now()
    with app.store() as store:
        ledger = Ledger(store)
        ledger.set_state(TRUSTED, (ledger.newest_made() or now).isoformat(), now)


def _problem(ledger: Ledger, now: datetime, ahead: timedelta) -> str:
    newest = ledger.newest_made()
    if newest is None or newest - now <= ahead:
        return ""
    trusted = _instant(ledger.state(TRUSTED))
    if trusted is not None and newest <= trusted:
        return ""
    return (
        f"The clock says {now:%Y-%m-%d %H:%M} UTC, but something was made at {newest:%Y-%m-%d %H:%M}: one of them is "
        "wrong, so nothing is sent. Set the clock, or say that it is right with: briefing tick --trust-clock"
    )


def _instant(value: Any) -> datetime | None:
    return None if value is None else datetime.fromisoformat(value)


def _must(value: str) -> datetime:
    return datetime.fromisoformat(value)
