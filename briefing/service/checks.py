"""Wind checks of a planned outing, and the notes that come of them; a check that can't be made is itself a note."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from briefing.app.planner import Trip, next_check
from briefing.app.served import Lake
from briefing.app.wind import Checks, handed_over, note_history
from briefing.core.gathered_json import to_json
from briefing.core.wind.note_text import LOOK, NOT_ALL_CLEAR, next_check_text
from briefing.pipeline.run import Run, prepare
from briefing.pipeline.wind_check import check_wind
from briefing.report.mail import note_html
from briefing.report.render import wrap_text
from briefing.sections.clock import clock, day_text, short_date
from briefing.service.product import Letterpress, Product
from briefing.service.world import World
from briefing.store import Store
from briefing.store.ledger_records import MessageState, OccurrenceRow

_REACHED = (MessageState.SENT, MessageState.UNCERTAIN)


def build_check(
    world: World, store: Store, lake: Lake, row: OccurrenceRow, trip: Trip, now: datetime, remarks: Sequence[str]
) -> Product:
    """Check the wind for an outing; the product is a note, or nothing with the reason."""
    history = note_history(store, lake.profile.id, row.day)
    run = Run(profile=lake.profile, profile_path=lake.path, day=row.day, now=now, offline=world.offline)
    with world.fetcher() as fetcher:
        inputs, _ = prepare(run, world.normals(lake.profile), store, fetcher)
    then = next_check_text(next_check(lake.plan, row.day, trip, now), lake.profile.zone)
    check = check_wind(inputs, world.tables(), history.mailed, history.checked, then)
    detail = {"signature": check.decision.signature.to_mapping(), "note": check.decision.kind.value}

    def keep_inputs() -> None:
        store.save_gathered(lake.profile.id, now, to_json(inputs.gathered))

    if check.text is None:
        return Product(nothing=check.decision.quiet, detail=detail, remember=keep_inputs)
    first, body = check.text.first, "\n".join([*check.text.body.splitlines(), *remarks])
    return _note(lake, row, now, check.text.subject, first, body, history.rows, detail, keep_inputs)


def lost_check(lake: Lake, row: OccurrenceRow, trip: Trip, now: datetime, why: str, past: Checks) -> Product:
    """The note of a check that could not be made at all; once until a check succeeds again."""
    detail = {"note": "lost", "why": why}
    earlier = [one for one, _ in past if one.key != row.key and one.detail.get("note")]
    if earlier and earlier[-1].detail["note"] == "lost" and handed_over(past, earlier[-1].key):
        return Product(nothing="The last note said already that the wind can't be checked.", detail=detail)
    zone = lake.profile.zone
    day = f"{trip.launch.astimezone(zone):%a} {short_date(row.day)}"
    first = (
        f"Not known any more: {lake.profile.name}, {day}, launch {clock(trip.launch, zone, row.day)}. The wind could "
        "not be checked. Count the hours as not known and do not launch on an older forecast."
    )
    then = next_check_text(next_check(lake.plan, row.day, trip, now), zone)
    body = "\n".join([f"What failed: {why}", then, NOT_ALL_CLEAR, LOOK])
    subject = f"Not known any more: {lake.profile.name}, {day}"
    return _note(lake, row, now, subject, first, body, past, detail, lambda: None)


def _thread(past: Checks) -> list[str]:
    """``recipient<TAB>Message-ID`` of the notes that were mailed before, oldest first: the first and the last each."""
    sent = [m for _, rows in past for m in rows if m.channel == "mail" and m.state in _REACHED]
    out: list[str] = []
    for recipient in dict.fromkeys(message.recipient for message in sent):
        own = [message.message_id for message in sent if message.recipient == recipient]
        out += [f"{recipient}\t{ident}" for ident in dict.fromkeys((own[0], own[-1]))]
    return out


def _note(
    lake: Lake,
    row: OccurrenceRow,
    now: datetime,
    subject: str,
    first: str,
    body: str,
    past: Checks,
    detail: Mapping[str, object],
    remember: Callable[[], None],
) -> Product:
    zone = lake.profile.zone
    stamp = f"Checked {clock(now, zone, row.day)}, valid until {clock(row.useful_until, zone, row.day)}."
    lines = [*wrap_text(first), ""]
    for line in [*body.splitlines(), stamp]:
        lines += wrap_text(line) if line.strip() else [""]
    text = "\n".join(lines) + "\n"
    name = f"{row.lake}-wind-{now.astimezone(zone):%Y-%m-%d-%H%M}.txt"
    return Product(
        letter=lambda: Letterpress(subject, text, note_html(subject, first, f"{body}\n{stamp}")),
        files={name: f"{day_text(row.day)}\n{subject}\n\n{text}"},
        payload={"subject": subject, "first": first, "text": text},
        thread=_thread(past),
        detail=detail,
        remember=remember,
    )
