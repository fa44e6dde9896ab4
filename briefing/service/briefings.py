"""Builds the morning briefing and the evening outlook."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from briefing.app.planner import Kind
from briefing.app.served import Lake
from briefing.delivery.letter import Image
from briefing.delivery.parcel import message_key
from briefing.pipeline.made import Made
from briefing.pipeline.run import Run, compute, remember
from briefing.report.mail import mail_parts
from briefing.service.product import Letterpress, Product
from briefing.service.world import World
from briefing.store import Store
from briefing.store.ledger_records import OccurrenceRow


def build_briefing(
    world: World,
    store: Store,
    lake: Lake,
    row: OccurrenceRow,
    now: datetime,
    remarks: Sequence[str],
    told: Sequence[str],
    html_limit: int,
) -> Product:
    """Retrieve, compute and render the briefing of an occurrence's date. The store is only read until `remember`."""
    run = Run(
        profile=lake.profile,
        profile_path=lake.path,
        day=row.day,
        now=now,
        offline=world.offline,
        remarks=tuple(remarks),
        notes_come=True,
    )
    with world.fetcher() as fetcher:
        made = compute(run, world.tables(), world.normals(lake.profile), store, fetcher)
    briefing = made.built.briefing
    return Product(
        letter=lambda: _letter(made, row, html_limit),
        files=_files(made, row),
        payload={"subject": briefing.glance.subject, "briefing": _without_places(made)},
        valid_until=briefing.sources.valid_until,
        detail={"headline": briefing.glance.subject, "level": briefing.day.level.value},
        told=told,
        remember=lambda: remember(run, made, store),
    )


def _letter(made: Made, row: OccurrenceRow, html_limit: int) -> Letterpress:
    ident = message_key(row.lake, row.day.isoformat(), row.kind, row.revision, "chart", "")
    parts = mail_parts(made.built.briefing, ident, html_limit)
    images = tuple(Image(image.cid, image.png) for image in parts.images)
    subject = f"Outlook: {parts.subject}" if row.kind == Kind.EVENING else parts.subject
    return Letterpress(subject, parts.text, parts.html, images)


def _files(made: Made, row: OccurrenceRow) -> dict[str, str]:
    stem = f"{row.lake}-{row.day.isoformat()}"
    if row.kind == Kind.EVENING:
        stem += "-outlook"
    return {
        f"{stem}.html": made.html,
        f"{stem}.txt": made.text,
        f"{stem}.json": made.json,
        f"{row.lake}-latest.html": made.html,
    }


def _without_places(made: Made) -> object:
    """The briefing as plain values, without the map and the ways' directions: they tell where the spots are."""
    plain = json.loads(made.json)
    plain.pop("map", None)
    for block in plain["plan"]["blocks"]:
        for stop in block["stops"]:
            stop.pop("heading")
    return plain
