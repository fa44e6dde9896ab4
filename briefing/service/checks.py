"""Wind checks of a planned outing, and the notes that come of them; a check that can't be made is itself a note."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from briefing.core.gathered_json import to_json
from briefing.core.wind.note import NoteKind, NoteSignature
from briefing.core.wind.note_text import LOOK, NOT_ALL_CLEAR
from briefing.pipeline.run import Run, prepare
from briefing.pipeline.wind_check import check_wind
from briefing.report.mail import note_html
from briefing.report.render import wrap_text
from briefing.sections.clock import clock, day_text, short_date
from briefing.service.planner import Kind, Trip, next_check
from briefing.service.product import Letterpress, Product
from briefing.service.world import Lake, World
from briefing.store import Store
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import MessageRow, MessageState, OccurrenceRow

_REACHED = (MessageState.SENT, MessageState.UNCERTAIN)
_GIVEN_UP = (MessageState.REFUSED, MessageState.EXPIRED)
Past = Sequence[tuple[OccurrenceRow, list[MessageRow]]]


def build_check(
    world: World, store: Store, lake: Lake, row: OccurrenceRow, trip: Trip, now: datetime, remarks: Sequence[str]
) -> Product:
    """Check the wind for an outing; the product is a note, or nothing with the reason."""
    past = Ledger(store).of_outing(lake.profile.id, row.day, Kind.CHECK)
    run = Run(profile=lake.profile, profile_path=lake.path, day=row.day, now=now, offline=world.offline)
    with world.fetcher() as fetcher:
        inputs, _ = prepare(run, world.normals(lake.profile), store, fetcher)
    after = next_check(lake.plan, row.day, trip, now)
    check = check_wind(inputs, world.tables(), sent_signatures(past), evaluated_signatures(past), after)
    detail = {"signature": check.decision.signature.to_mapping(), "note": check.decision.kind.value}

    def keep_inputs() -> None:
        store.save_gathered(lake.profile.id, now, to_json(inputs.gathered))

    if check.text is None:
        return Product(nothing=check.decision.quiet, detail=detail, remember=keep_inputs)
    first, body = check.text.first, "\n".join([*check.text.body.splitlines(), *remarks])
    return _note(lake, row, now, check.text.subject, first, body, past, detail, keep_inputs)


def lost_check(lake: Lake, row: OccurrenceRow, trip: Trip, now: datetime, why: str, past: Past) -> Product:
    """The note of a check that could not be made at all; once until a check succeeds again."""
    detail = {"note": "lost", "why": why}
    earlier = [one for one, _ in past if one.key != row.key and one.detail.get("note")]
    if earlier and earlier[-1].detail["note"] == "lost" and _handed_over(past, earlier[-1].key):
        return Product(nothing="The last note said already that the wind can't be checked.", detail=detail)
    zone = lake.profile.zone
    day = f"{trip.launch.astimezone(zone):%a} {short_date(row.day)}"
    first = (
        f"Not known any more: {lake.profile.name}, {day}, launch {clock(trip.launch, zone, row.day)}. The wind could "
        "not be checked. Count the hours as not known and do not launch on an older forecast."
    )
    after = next_check(lake.plan, row.day, trip, now)
    check = f"Next check at {clock(after, zone, row.day)}." if after else "No further check before the outing ends."
    body = "\n".join([f"What failed: {why}", check, NOT_ALL_CLEAR, LOOK])
    subject = f"Not known any more: {lake.profile.name}, {day}"
    return _note(lake, row, now, subject, first, body, past, detail, lambda: None)


def sent_signatures(past: Past) -> list[NoteSignature]:
    """Signatures of notes that reached a reader, or are still on their way."""
    return [
        NoteSignature.from_mapping(row.detail["signature"])
        for row, _ in past
        if row.detail.get("note") not in (None, "lost", NoteKind.NONE.value) and _handed_over(past, row.key)
    ]


def evaluated_signatures(past: Past) -> list[NoteSignature]:
    """Signatures of all checks so far."""
    return [NoteSignature.from_mapping(row.detail["signature"]) for row, _ in past if "signature" in row.detail]


def _handed_over(past: Past, key: str) -> bool:
    """True unless every way out gave the note up; the saved file counts only where it is the only way out."""
    messages = next((rows for row, rows in past if row.key == key), [])
    away = [message for message in messages if message.channel != "folder"] or messages
    return any(message.state not in _GIVEN_UP for message in away)


def _thread(past: Past) -> list[str]:
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
    past: Past,
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
