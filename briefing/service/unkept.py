"""Briefings that are due while nothing can be kept: made and told at once.

The ledger can't be written then, so nobody could tell whether a message was handed over before: nothing is sent, since
it might be sent twice, and what is made is for whoever reads the output.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from briefing.app.assembly import App
from briefing.app.clock import view_clock
from briefing.app.owner import Owner
from briefing.app.planner import Kind, Occurrence
from briefing.app.served import DAY, Lake, planned_occurrences, served_lakes
from briefing.errors import BriefingError
from briefing.pipeline.run import Run, compute
from briefing.service.tick import SERVED_SINCE
from briefing.sources.shared import Shared
from briefing.store import Store
from briefing.store.ledger import Ledger

_REMARK = "This briefing was neither kept nor sent: the program's files can't be written. It stands here alone."
_BRIEFINGS = (Kind.MORNING, Kind.EVENING)


@dataclass(frozen=True)
class Unkept:
    """A briefing as text; ``key`` is that of its occurrence."""

    key: str
    text: str


def unkept_briefings(app: App, owners: Owner, already: frozenset[str] = frozenset()) -> Iterator[Unkept]:
    """Make every briefing that is due and was not made; nothing is written, and what is stored is read where it can be.

    ``owners`` tells whether another process that is making one still lives. ``already``: keys that need no telling.
    """
    settings = app.service_settings()
    with Shared() as shared, app.store_anyway() as store:
        asking = replace(app, shared=shared)
        ledger, now = Ledger(store), app.now()
        if view_clock(ledger, now, settings.tick).problem:
            return
        since = {lake: datetime.fromisoformat(told) for lake, told in store.learned_of_all(SERVED_SINCE).items()}
        for lake in served_lakes(app, settings, lambda *_: None):
            for one in _due(ledger, lake, now, owners):
                # what was due before the service first saw a lake was never promised; one it has not met may be new
                if one.key not in already and one.due_at >= since.get(lake.profile.id, one.due_at):
                    yield Unkept(one.key, _text(asking, store, lake, one, now))


def _due(ledger: Ledger, lake: Lake, now: datetime, owners: Owner) -> Iterator[Occurrence]:
    first = now.astimezone(lake.profile.zone).date() - DAY
    for one, _ in planned_occurrences(ledger.outings(lake.profile.id, first), lake, first, now):
        waits = one.kind in _BRIEFINGS and one.due_at <= now < one.useful_until
        if waits and ledger.is_open(one.key, owners.dead, now):
            yield one


def _text(app: App, store: Store, lake: Lake, one: Occurrence, now: datetime) -> str:
    run = Run(
        profile=lake.profile,
        profile_path=lake.path,
        day=one.day,
        now=now,
        offline=app.offline,
        remarks=(_REMARK,),
    )
    try:
        with app.fetcher() as fetcher:
            return compute(run, app.tables(), app.normals(lake.profile), store, fetcher).text
    except BriefingError as error:  # the other lakes have their briefings all the same
        return f"{lake.profile.name}: the briefing for {one.day:%Y-%m-%d} could not be made. {error}"
