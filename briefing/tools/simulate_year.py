"""A year of the service with the time injected: sleep, clock jumps, full disk, locked store, mail and services down.

Three lakes in three time zones, an outing every Saturday. The planner, the ledger, the hand-over and the folder are the
service's own; the build is replaced by one that writes down what it was told, for a year of real builds would take an
hour. Every morning must be accounted for: sent, late, or missed with a reason that a later message tells.
"""

from __future__ import annotations

import argparse
import io
import random
import re
import resource
import sqlite3
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.app.planner import occurrences
from briefing.app.served import outing_on, trip_of
from briefing.app.service_settings import ServiceSettings
from briefing.delivery.parcel import Channel, Commit, Fate, Outcome, Parcel
from briefing.errors import BriefingError, SourceError
from briefing.service import tick
from briefing.service.product import Letterpress, Product
from briefing.service.world import World
from briefing.store import Store, open_store
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import OccurrenceState
from briefing.tools.service_bench import mail_settings, make_home

ZONES = ("America/New_York", "America/Chicago", "America/Los_Angeles")
HABIT = '\n[[outings]]\ndays = ["saturday"]\nlaunch = "06:30"\nreturn = "11:00"\n'
FIRST = date(2026, 1, 2)
#: A morning is accounted for when it is so old: nothing is due any more, and retention has not dropped it yet.
SETTLED_DAYS = 30
#: No file may grow beyond so many bytes while the disk is full.
FULL_BYTES = 16
_REFUSAL = re.compile(r" /\S+")
FAULTS = ("asleep", "disk_full", "locked", "mail_down", "services_down", "clock_behind")


@dataclass(frozen=True)
class Fault:
    """Something that is wrong for a while."""

    kind: str
    begin: datetime
    end: datetime


@dataclass
class Year:
    """What became of the mornings, by lake and all."""

    by_lake: dict[str, Counter[str]] = field(default_factory=dict)
    reasons: Counter[str] = field(default_factory=Counter)
    checks: Counter[str] = field(default_factory=Counter)
    rounds: int = 0
    refused_rounds: int = 0
    refusals: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    accounted: date = FIRST  # the first morning that isn't accounted for yet

    def table(self) -> str:
        """Mornings by lake: sent in time, late, missed."""
        names = ("sent", "late", "missed", "unaccounted", "sent_twice")
        head = "lake          mornings" + "".join(f"{name:>13}" for name in names)
        rows = [f"{lake:14}{sum(found[n] for n in names[:4]):8d}" + "".join(f"{found[name]:13d}" for name in names)
                for lake, found in self.by_lake.items()]  # fmt: skip
        why = "\n".join(f"  {count:4d}  {reason}" for reason, count in self.reasons.most_common())
        refused = "\n".join(f"  {count:4d}  {words}" for words, count in self.refusals.most_common())
        why += f"\nrounds that the store refused, in its words:\n{refused}" if refused else ""
        return "\n".join([head, *rows, "reasons of the missed:", why, f"wind checks: {dict(self.checks)}"])


class _Sink:
    """A mail server in memory."""

    name = "mail"

    def __init__(self, year: _YearWorld) -> None:
        self.year = year
        self.taken: Counter[str] = Counter()
        self.text: list[bytes] = []

    def hand_over(self, parcel: Parcel, commit: Commit) -> Outcome:
        if self.year.wrong("mail_down"):
            return Outcome(Fate.LATER, "the server can't be reached")
        if not commit():
            return Outcome(Fate.LATER, "another process has it")
        self.taken[parcel.message_id] += 1
        self.text.append(parcel.body)
        return Outcome(Fate.SENT, "taken")

    def close(self) -> None:
        """Nothing is kept open."""


@dataclass
class _YearWorld(World):
    """The world with faults."""

    faults: Sequence[Fault] = ()
    true_now: datetime = datetime(2026, 1, 1, tzinfo=UTC)
    sink: _Sink | None = None

    def wrong(self, kind: str) -> bool:
        return any(one.kind == kind and one.begin <= self.true_now < one.end for one in self.faults)

    def now(self) -> datetime:
        """The clock, which may be six hours behind."""
        return self.true_now - (timedelta(hours=6) if self.wrong("clock_behind") else timedelta(0))

    def store(self) -> Store:
        return open_store(self.home.store_file, self.now(), busy_timeout_s=0.05 if self.wrong("locked") else 5.0)

    @contextmanager
    def as_it_is(self) -> Iterator[None]:
        """Make the disk full and the store locked for a round, where they are; the errors are the system's own.

        The full disk is a limit on the size of files: nothing can grow, neither the store nor what is saved.
        """
        with ExitStack() as undo:
            if self.wrong("locked"):
                other = undo.enter_context(closing(sqlite3.connect(self.home.store_file, isolation_level=None)))
                other.execute("BEGIN EXCLUSIVE")
            if self.wrong("disk_full"):
                before = resource.getrlimit(resource.RLIMIT_FSIZE)
                undo.callback(resource.setrlimit, resource.RLIMIT_FSIZE, before)
                resource.setrlimit(resource.RLIMIT_FSIZE, (FULL_BYTES, before[1]))
            yield

    def channels(self, settings: ServiceSettings) -> dict[str, Channel]:
        assert self.sink is not None
        found = super().channels(settings)
        found["mail"] = self.sink
        return found


def _build(*given: Any) -> Product:
    """A stand-in build: it fails while the services are down, and carries the remarks."""
    world, _, lake, row, now, remarks, told, _ = given
    assert isinstance(world, _YearWorld)
    if world.wrong("services_down"):
        raise SourceError("no service answers", retryable=True)
    text = "\n".join([f"{lake.profile.name} {row.day} made {now:%H:%M}", *remarks])
    return Product(
        letter=lambda: Letterpress(f"{row.lake} {row.day}", text, f"<p>{text}</p>"),
        files={f"{row.lake}-{row.day}.txt": text},
        told=told,
        detail={"headline": "stand-in"},
    )


def _check(world: World, *_: Any) -> Product:
    """A stand-in wind check."""
    assert isinstance(world, _YearWorld)
    if world.wrong("services_down"):
        raise SourceError("no service answers", retryable=True)
    return Product(nothing="nothing to say")


def simulate(days: int, seed: int, root: Path) -> Year:
    """Live through some days."""
    dice = random.Random(seed)
    home = make_home(root, len(ZONES), habit=HABIT, service=mail_settings(25))
    for number, zone in enumerate(ZONES):
        path = home.lakes_dir / f"water-{number:03d}.toml"
        path.write_text(path.read_text(encoding="utf-8").replace(ZONES[0], zone), encoding="utf-8")
    begin = datetime(FIRST.year, FIRST.month, FIRST.day, tzinfo=UTC) - timedelta(days=1)
    year = Year()
    with Owner(home.data_dir / "service") as owner:
        log = Log(io.StringIO(), human=False)
        world = _YearWorld(home=home, clock=lambda: begin, owner=owner, log=log, offline=True)
        world.faults, world.true_now = _faults(dice, begin, days), begin
        world.sink = _Sink(world)
        real = {name: getattr(tick, name) for name in ("build_briefing", "build_check")}
        try:
            _replace({"build_briefing": _build, "build_check": _check})
            _live(world, begin, days, dice, year)
        finally:
            _replace(real)
        _account(world, year.accounted, FIRST + timedelta(days=days - 1), year)
        _told(world, days, year)
    return year


def _replace(builders: dict[str, Any]) -> None:
    for name, builder in builders.items():
        setattr(tick, name, builder)


def _faults(dice: random.Random, begin: datetime, days: int) -> list[Fault]:
    """Faults of every kind over the year; the first days are without."""
    out = []
    for kind in FAULTS:
        for _ in range(max(1, days // 40)):
            at = begin + timedelta(days=dice.uniform(2, max(3, days - 2)))
            hours = {"asleep": dice.uniform(1, 60), "mail_down": dice.uniform(20, 28), "clock_behind": 2.0,
                     "locked": dice.uniform(0.2, 3), "disk_full": dice.uniform(2, 20),
                     "services_down": dice.uniform(1, 18)}[kind]  # fmt: skip
            out.append(Fault(kind, at, at + timedelta(hours=hours)))
    return out


def _live(world: _YearWorld, begin: datetime, days: int, dice: random.Random, year: Year) -> None:
    """Run rounds at the instants at which something may happen, a few seconds late as a tick is."""
    end = begin + timedelta(days=days + 1)
    pending = _instants(world, begin, days)
    position = 0
    while world.true_now < end:
        settled = world.true_now.date() - timedelta(days=SETTLED_DAYS)
        if settled > year.accounted and not (world.wrong("locked") or world.wrong("disk_full")):
            _account(world, year.accounted, settled, year)
            year.accounted = settled
        if not world.wrong("asleep"):
            year.rounds += 1
            try:
                with world.as_it_is():
                    year.refused_rounds += bool(tick.run_round(world).problem)
            except BriefingError as error:
                year.refused_rounds += 1
                year.refusals[_REFUSAL.sub("", str(error))] += 1
        while position < len(pending) and pending[position] <= world.true_now:
            position += 1
        until = min(world.true_now + timedelta(minutes=45), pending[position] if position < len(pending) else end)
        if world.wrong("services_down"):
            until = min(until, world.true_now + timedelta(minutes=9))
        until = max(min(until, _next_try(world)), world.true_now)
        world.true_now = until + timedelta(seconds=dice.uniform(0, 20))


def _next_try(world: _YearWorld) -> datetime:
    """When a waiting message is tried next, on the true clock."""
    far = world.true_now + timedelta(days=1)
    if world.wrong("locked") or world.wrong("asleep") or world.wrong("clock_behind"):
        return far
    with open_store(world.home.store_file, world.now()) as store:
        rows = Ledger(store).messages(world.true_now - timedelta(days=2))
    return min((row.next_try_at for row in rows if row.next_try_at is not None), default=far)


def _instants(world: _YearWorld, begin: datetime, days: int) -> list[datetime]:
    """Everything that will be due, and every beginning and end of a fault."""
    out = {instant for one in world.faults for instant in (one.begin, one.end)}
    for lake in world.lakes(world.service_settings()):
        for n in range(days + 3):
            day = begin.date() + timedelta(days=n)
            out |= {one.due_at for one in occurrences(lake.plan, day, trip_of(outing_on(lake.profile, day, None)))}
    return sorted(instant for instant in out if instant > begin)


def _account(world: _YearWorld, first: date, end: date, year: Year) -> None:
    """Account for the mornings from ``first`` to the day before ``end``, before the ledger's retention drops them."""
    assert world.sink is not None
    with open_store(world.home.store_file, world.true_now) as store:
        ledger = Ledger(store)
        for lake in world.lakes(world.service_settings()):
            found = year.by_lake.setdefault(lake.profile.id, Counter())
            for n in range((end - first).days):
                day = first + timedelta(days=n)
                rows = ledger.of_outing(lake.profile.id, day, "morning")
                found[_fate(rows, world.sink, year, f"{lake.profile.id} {day}")] += 1
                found["sent_twice"] += _twice(rows, world.sink)
                for row, _ in ledger.of_outing(lake.profile.id, day, "check"):
                    year.checks[row.state.value] += 1


def _told(world: _YearWorld, days: int, year: Year) -> None:
    """What was missed must have been told."""
    assert world.sink is not None
    told = b"\n".join(world.sink.text)
    with open_store(world.home.store_file, world.true_now) as store:
        for lake in world.lakes(world.service_settings()):
            untold = Ledger(store).untold(lake.profile.id, ("morning",))
            if len(untold) > 3:
                year.faults.append(f"{lake.profile.id}: {len(untold)} missed mornings were never told")
    if days >= 10 and any(found["missed"] for found in year.by_lake.values()) and b"missed" not in told:
        year.faults.append("no message ever spoke of a missed one")


def _fate(rows: Sequence[Any], sink: _Sink, year: Year, about: str) -> str:
    if len(rows) != 1:
        year.faults.append(f"{about}: {len(rows)} entries in the ledger")
        return "unaccounted"
    row, messages = rows[0]
    if row.state is OccurrenceState.MISSED and row.reason:
        year.reasons[row.reason.split(":")[0][:70]] += 1
        return "missed"
    mails = [message for message in messages if message.channel == "mail"]
    if row.state is OccurrenceState.DONE and mails and all(sink.taken[mail.message_id] for mail in mails):
        late = mails[0].ended_at - row.due_at > timedelta(minutes=10)
        return "late" if late else "sent"
    year.faults.append(f"{about}: {row.state.value}, reason {row.reason!r}, mails {[m.state.value for m in mails]}")
    return "unaccounted"


def _twice(rows: Sequence[Any], sink: _Sink) -> int:
    return sum(max(0, sink.taken[message.message_id] - 1) for _, messages in rows for message in messages
               if message.channel == "mail")  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args(arguments)
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        year = simulate(chosen.days, chosen.seed, Path(folder))
    print(year.table())
    print(
        f"year: {year.rounds} rounds ({year.refused_rounds} refused by clock or store), {len(year.faults)} faults, "
        f"{time.perf_counter() - began:.0f} s"
    )
    print("\n".join(year.faults[:30]), end="\n" if year.faults else "")
    unsound = any(found["unaccounted"] or found["sent_twice"] for found in year.by_lake.values())
    return 1 if year.faults or unsound else 0


if __name__ == "__main__":
    raise SystemExit(main())
