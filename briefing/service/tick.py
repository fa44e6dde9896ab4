"""One round: what is due is claimed, made and laid into the ledger; what lies there is handed over.

Both halves may run in several threads and processes on one store at the same time: every step is a claim in the ledger.
"""

from __future__ import annotations

import hashlib
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from briefing.app.clock import ClockView, read_clock, write_clock
from briefing.app.planner import Kind, Occurrence, Trip
from briefing.app.served import DAY, Lake, outing_on, planned_occurrences, trip_of
from briefing.app.service_settings import ServiceSettings
from briefing.delivery.folder import FolderChannel
from briefing.delivery.parcel import Channel, Fate, Outcome, Parcel, address_hash
from briefing.errors import BriefingError
from briefing.service.ahead import LAKES_AT_ONCE, ask_ahead
from briefing.service.briefings import build_briefing
from briefing.service.checks import build_check, lost_check
from briefing.service.outbox import Retry, after_crash, out_of_use, settlement
from briefing.service.product import Product, addressed
from briefing.service.remarks import TOLD, late_remark, missed_remarks
from briefing.service.world import World
from briefing.sources.shared import Shared
from briefing.store import Store
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import (
    DueItem,
    MessageRow,
    MessageState,
    NewMessage,
    OccurrenceRow,
    OccurrenceState,
    OutingEntry,
    OutingState,
)

#: Name under which it is learned when the service first saw a lake.
SERVED_SINCE = "service_since"
_OPEN = (OccurrenceState.CLAIMED, OccurrenceState.WAITING)


@dataclass
class Report:
    """What a round did, by count."""

    made: int = 0
    quiet: int = 0
    missed: int = 0
    failed: int = 0
    sent: int = 0
    waiting: int = 0
    uncertain: int = 0
    refused: int = 0
    problem: str = ""
    blocked: set[str] = field(default_factory=set)


def run_round(world: World) -> Report:
    """Make what is due, then hand over what waits. Raises BriefingError when store or settings can't be used."""
    report = make_due(world)
    if not report.problem:
        hand_over_waiting(world, report)
    return report


# --- making --------------------------------------------------------------------------------------------------------


def make_due(world: World, step: Callable[[], None] = lambda: None) -> Report:
    """Record what was missed, and make what is due now; the saved files are written at once.

    ``step`` is called after each lake, and before and while lakes are asked for together.
    """
    report = Report()
    settings = world.service_settings()
    with Shared() as shared, world.store() as store:
        world = replace(world, shared=shared)
        ledger = Ledger(store)
        now = world.now()
        view = read_clock(ledger, now, settings.tick, world.log)
        if view.problem:
            world.log("clock_wrong", why=view.problem)
            report.problem = view.problem
            return report
        _take_over(world, ledger, Retry.from_settings(settings.hand_over))
        turn = _Round(world, settings, store, ledger, view, report)
        due = [one for one in _due(turn, world.lakes(settings)) if one.todo]
        # Two rounds side by side begin at different lakes, so that they seldom reach for the same one.
        begin = int(hashlib.sha256(world.owner.token.encode()).hexdigest(), 16) % max(1, len(due))
        due = [*due[begin:], *due[:begin]]
        for first in range(0, len(due), LAKES_AT_ONCE):
            some = due[first : first + LAKES_AT_ONCE]
            step()
            ask_ahead(world, store, _to_ask(turn, some), step=step)
            for one in some:
                _serve(turn, one)
                step()
        write_clock(ledger, view, now)
    return report


@dataclass(frozen=True)
class _Round:
    world: World
    settings: ServiceSettings
    store: Store
    ledger: Ledger
    view: ClockView
    report: Report

    def gone(self, token: str) -> bool:
        """True for a claim that no one works on: its process died, or an earlier round of ours broke off."""
        return token == self.world.owner.token or self.world.owner.dead(token)


@dataclass(frozen=True)
class _Due:
    """A lake with what is to be made, or was missed, in this round."""

    lake: Lake
    todo: Sequence[tuple[Occurrence, Trip | None, OccurrenceRow | None]]


def _due(turn: _Round, lakes: Sequence[Lake]) -> list[_Due]:
    """Look at all lakes together; nothing is made yet. What a changed outing has left behind is closed."""
    now = turn.world.now()
    served = _served_since(turn.store, lakes, now)
    firsts = {lake.profile.id: _first_day(turn, lake, served[lake.profile.id], now) for lake in lakes}
    earliest = min(firsts.values(), default=now.date())
    held = turn.ledger.known(earliest - DAY)
    outings: dict[str, list[OutingEntry]] = {}
    for entry in turn.ledger.outings(None, earliest):
        outings.setdefault(entry.lake, []).append(entry)
    out = []
    for lake in lakes:
        known = held.get(lake.profile.id, {})
        planned: set[str] = set()
        todo = []
        for one, trip in planned_occurrences(outings.get(lake.profile.id, ()), lake, firsts[lake.profile.id], now):
            planned.add(one.key)
            row = known.get(one.key)
            begun = one.useful_until if one.kind is Kind.CHECK else one.due_at
            if one.due_at <= now and begun >= served[lake.profile.id] and (row is None or row.state in _OPEN):
                todo.append((one, trip, row))
        out.append(_Due(lake, todo))
        for row in known.values():
            if row.state in _OPEN and row.key not in planned and row.useful_until <= now:
                _drop_unplanned(turn, row)
    return out


def _to_ask(turn: _Round, some: Sequence[_Due]) -> list[tuple[Lake, date]]:
    """Lakes with the dates for which services will be asked; what another round has made meanwhile is left out."""
    return [
        (due.lake, one.day)
        for due in some
        for one, _, _ in due.todo
        if one.kind is not Kind.RETENTION
        and one.useful_until > turn.world.now()
        and turn.ledger.is_open(one.key, turn.gone, turn.world.now())
    ]


def _serve(turn: _Round, due: _Due) -> None:
    for one, trip, row in due.todo:
        if one.useful_until <= turn.world.now():
            _record_missed(turn, one, row)
        elif one.kind is Kind.CHECK and trip != standing_outing(turn.ledger, due.lake, one.day):
            continue  # called off or moved since the round began: the next one plans anew
        else:
            _make_one(turn, due.lake, one, trip)


def _served_since(store: Store, lakes: Sequence[Lake], now: datetime) -> dict[str, datetime]:
    """When the service first saw each lake: what was due before is no one's miss."""
    since = {lake: datetime.fromisoformat(value) for lake, value in store.learned_of_all(SERVED_SINCE).items()}
    for lake in lakes:
        if lake.profile.id not in since:
            store.set_learned(lake.profile.id, SERVED_SINCE, now.isoformat(), now)
            since[lake.profile.id] = now
    return since


def _first_day(turn: _Round, lake: Lake, since: datetime, now: datetime) -> date:
    zone = lake.profile.zone
    last = turn.view.last_tick or now
    begin = max(since, min(last, now) - DAY, now - turn.settings.tick.look_back_days * DAY)
    return min(begin, now).astimezone(zone).date() - DAY


def _record_missed(turn: _Round, one: Occurrence, row: OccurrenceRow | None) -> None:
    why = turn.view.why_not(one.due_at, one.useful_until)
    if not why and (row is None or not row.reason):
        why = "nothing was made in time"
    quiet = one.kind is Kind.RETENTION
    if turn.ledger.missed(_item(one), why, turn.gone, turn.world.now(), told=quiet):
        turn.report.missed += 1
        turn.world.log("missed", occurrence=one.key, why=why or (row.reason if row else ""))


def _drop_unplanned(turn: _Round, row: OccurrenceRow) -> None:
    """Close a started occurrence that a changed outing has left behind."""
    item = DueItem(row.key, row.lake, row.day, row.kind, row.slot, row.due_at, row.useful_until)
    turn.ledger.missed(item, "the outing was changed or called off", turn.gone, turn.world.now(), told=True)


def _make_one(turn: _Round, lake: Lake, one: Occurrence, trip: Trip | None) -> None:
    owner, now = turn.world.owner, turn.world.now()
    row = turn.ledger.claim(_item(one), owner.token, turn.gone, now)
    if row is None:
        return
    if row.kind == Kind.RETENTION:
        _clean_up(turn, lake, row, now)
        return
    try:
        product = _product(turn, lake, row, trip, now)
        messages = addressed(product, row, turn.world, turn.settings, lake, now)
    except Exception as error:
        _failed(turn, lake, row, trip, error)
        return
    _lay_down(turn, row, product, messages)


def _product(turn: _Round, lake: Lake, row: OccurrenceRow, trip: Trip | None, now: datetime) -> Product:
    remarks, told = _remarks(turn, lake, row, now)
    if row.kind == Kind.CHECK:
        assert trip is not None
        return build_check(turn.world, turn.store, lake, row, trip, now, remarks)
    limit = turn.settings.mail.html_kb * 1000
    return build_briefing(turn.world, turn.store, lake, row, now, remarks, told, limit)


def _remarks(turn: _Round, lake: Lake, row: OccurrenceRow, now: datetime) -> tuple[list[str], list[str]]:
    zone = lake.profile.zone
    missed = [one for one in turn.ledger.untold(lake.profile.id, TOLD) if one.key != row.key]
    late = timedelta(minutes=turn.settings.tick.late_min)
    remark = late_remark(row, now, late, turn.view.why_not(row.due_at, now), zone)
    return [text for text in (remark, *missed_remarks(missed)) if text], [one.key for one in missed]


def _lay_down(turn: _Round, row: OccurrenceRow, product: Product, rows: Sequence[NewMessage]) -> None:
    """Store the messages; only then is anything learned from the build, and the file written."""
    now = turn.world.now()
    detail = dict(product.detail) | ({"quiet": product.nothing} if product.nothing else {})
    late = now - row.due_at >= timedelta(minutes=turn.settings.tick.late_min)
    detail |= {"late_min": round((now - row.due_at).total_seconds() / 60)} if late else {}
    owner = turn.world.owner.token
    if not turn.ledger.built(row.key, owner, rows, detail, now, told=product.told, at_once=("folder",)):
        return
    try:
        with turn.store.together():
            product.remember()
    except BriefingError as error:  # the message stands; the next one starts from less
        turn.world.log("not_remembered", occurrence=row.key, why=error)
    if product.nothing:
        turn.report.quiet += 1
    else:
        turn.report.made += 1
    turn.world.log("made", occurrence=row.key, messages=len(rows), late=late or None, why=product.nothing or None)
    for message in rows:
        if message.channel == "folder":
            _save(turn, message)


def _save(turn: _Round, message: NewMessage) -> None:
    """Write a message's files, which the transaction that stored it has put into our hands."""
    row = turn.ledger.in_hand(message.key, turn.world.owner.token)
    if row is not None:
        parcel = Parcel(row.key, row.recipient, row.message_id, message.body)
        # Writing the same files twice leaves the same files: no step here needs to be noted beforehand.
        outcome = FolderChannel().hand_over(parcel, lambda: True)
        _settle(turn.world, turn.ledger, row, outcome, turn.settings, turn.report)


def _failed(turn: _Round, lake: Lake, row: OccurrenceRow, trip: Trip | None, error: Exception) -> None:
    """Note a failed build; the last chance of a wind check becomes a note that says so."""
    now, owner = turn.world.now(), turn.world.owner
    words = str(error) if isinstance(error, BriefingError) else f"{type(error).__name__} while it was made"
    trace = None if isinstance(error, BriefingError) else "".join(traceback.format_exception(error)[-3:])
    turn.world.log("build_failed", occurrence=row.key, why=words, trace=trace)
    steps = turn.settings.build.retry_min
    again = now + timedelta(minutes=steps[min(row.attempts, len(steps) - 1)])
    turn.report.failed += 1
    if row.kind == Kind.CHECK and trip is not None and (row.attempts >= 1 or again >= row.useful_until):
        past = turn.ledger.of_outing(lake.profile.id, row.day, Kind.CHECK)
        product = lost_check(lake, row, trip, now, words, past)
        _lay_down(turn, row, product, addressed(product, row, turn.world, turn.settings, lake, now))
        return
    turn.ledger.wait(row.key, owner.token, words, again)


def _clean_up(turn: _Round, lake: Lake, row: OccurrenceRow, now: datetime) -> None:
    """Erase what is over its age and note so, in one transaction."""
    keep = turn.settings.retention
    try:
        with turn.store.together():
            gone = turn.ledger.prune(
                lake.profile.id,
                gathered=now - keep.gathered_days * DAY,
                briefings=now - keep.briefings_days * DAY,
                ledger=now - keep.ledger_days * DAY,
            )
            said = f"{sum(gone.values())} old entries erased"
            mine = turn.ledger.built(row.key, turn.world.owner.token, (), gone | {"quiet": said}, now)
    except BriefingError as error:
        _failed(turn, lake, row, None, error)
        return
    if mine:
        turn.report.quiet += 1
        turn.world.log("made", occurrence=row.key, messages=0, why=said)


def _item(one: Occurrence) -> DueItem:
    return DueItem(one.key, one.lake, one.day, one.kind.value, one.slot, one.due_at, one.useful_until)


# --- handing over --------------------------------------------------------------------------------------------------


def hand_over_waiting(world: World, report: Report | None = None) -> Report:
    """Take up what a dead process left, end what is of no use any more, and hand over what waits."""
    report = report or Report()
    settings = world.service_settings()
    retry = Retry.from_settings(settings.hand_over)
    with world.store() as store:
        ledger = Ledger(store)
        _take_over(world, ledger, retry)
        channels = world.channels(settings)
        fresh = world.tables().stale.after["alerts"]
        try:
            for row in ledger.to_hand_over(world.now()):
                if row.channel in report.blocked:
                    report.waiting += 1
                elif row.useful_until <= world.now():
                    ledger.settle_unheld(row.key, out_of_use(row, world.now()))
                    world.log("out_of_use", message=row.key)
                elif _too_old(row, world.now(), fresh) and ledger.rebuild(row.occurrence):
                    world.log("made_anew", occurrence=row.occurrence)
                else:
                    _hand_over_one(world, ledger, channels, row.key, settings, report)
        finally:
            for channel in channels.values():
                channel.close()
        for row in ledger.overdue(world.now()):
            ledger.settle_unheld(row.key, out_of_use(row, world.now()))
    return report


def _take_over(world: World, ledger: Ledger, retry: Retry) -> None:
    """Take up hand-overs that a dead process, or a broken-off round of ours, has left."""
    own = world.owner
    for row in ledger.abandoned(lambda token: token == own.token or own.dead(token)):
        if row.owner is not None:
            ledger.settle(row.key, row.owner, after_crash(row, world.now(), retry))
            world.log("taken_over", message=row.key, was=row.state.value)


def _too_old(row: MessageRow, now: datetime, fresh: timedelta) -> bool:
    """Nothing stale goes out as fresh: a message that was never on its way is made anew when its alerts have aged."""
    never = row.state is MessageState.READY and row.committed == 0 and row.channel != "folder"
    return never and now - row.made_at > fresh


def _hand_over_one(
    world: World,
    ledger: Ledger,
    channels: Mapping[str, Channel],
    key: str,
    settings: ServiceSettings,
    report: Report,
) -> None:
    owner = world.owner
    row = ledger.take(key, owner.token, world.now())
    if row is None:
        return
    channel = channels.get(row.channel)
    if channel is None:
        outcome = Outcome(Fate.LATER, f"the way out {row.channel} is no longer set up")
    else:
        parcel = Parcel(row.key, row.recipient, row.message_id, row.body)
        outcome = channel.hand_over(parcel, lambda: ledger.commit(key, owner.token, world.now()))
    _settle(world, ledger, row, outcome, settings, report)


def _settle(
    world: World, ledger: Ledger, row: MessageRow, outcome: Outcome, settings: ServiceSettings, report: Report
) -> None:
    values = settlement(row, outcome, world.now(), Retry.from_settings(settings.hand_over))
    ledger.settle(row.key, world.owner.token, values)
    _count(report, row.channel, outcome)
    world.log(
        "handed_over" if outcome.fate is Fate.SENT else "hand_over",
        message=row.key,
        channel=row.channel,
        to=None if row.channel == "folder" else address_hash(row.recipient),
        fate=outcome.fate.value,
        words=outcome.words,
        again=True if row.uncertain_at else None,
    )


def _count(report: Report, channel: str, outcome: Outcome) -> None:
    if outcome.fate is Fate.SENT:
        report.sent += 1
    elif outcome.fate is Fate.UNCERTAIN:
        report.uncertain += 1
    elif outcome.fate is Fate.REFUSED:
        report.refused += 1
    else:
        report.waiting += 1
    if outcome.fate is Fate.BLOCKED:
        report.blocked.add(channel)


def standing_outing(ledger: Ledger, lake: Lake, day: date) -> Trip | None:
    """The planned outing of a date, if any."""
    entry = ledger.outing_on(lake.profile.id, day)
    if entry is not None and entry.state is not OutingState.CURRENT:
        return None
    return trip_of(outing_on(lake.profile, day, entry))
