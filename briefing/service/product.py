"""What an occurrence makes, and how it becomes messages for every way out."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from briefing.app.served import Lake
from briefing.app.service_settings import ServiceSettings
from briefing.delivery.folder import pack_files
from briefing.delivery.letter import Image, Letter, build_letter, message_id
from briefing.delivery.parcel import message_key
from briefing.service.world import World
from briefing.store.ledger_records import NewMessage, OccurrenceRow

PAYLOAD_VERSION = 1


@dataclass(frozen=True)
class Letterpress:
    """The mail form of a product; made once, addressed to each recipient."""

    subject: str
    text: str
    html: str
    images: Sequence[Image] = ()


@dataclass(frozen=True)
class Product:
    """A finished message before it is addressed.

    ``files``: name and content, for the folder. ``payload``: for programs. ``remember``: writes into the store what the
    next one starts from; called when the messages lie in the ledger. ``nothing``: nothing is to be sent, and why.
    """

    letter: Callable[[], Letterpress] | None = None
    files: Mapping[str, str] = field(default_factory=dict)
    payload: Mapping[str, Any] = field(default_factory=dict)
    valid_until: datetime | None = None
    thread: Sequence[str] = ()
    detail: Mapping[str, Any] = field(default_factory=dict)
    told: Sequence[str] = ()
    remember: Callable[[], None] = lambda: None
    nothing: str = ""


def addressed(
    product: Product, row: OccurrenceRow, world: World, settings: ServiceSettings, lake: Lake, now: datetime
) -> list[NewMessage]:
    """Return the messages of a product: the folder first, then mail and POST where they are set up."""
    if product.nothing:
        return []
    out = [_message(row, "folder", str(world.folder_of(lake.profile)), "", pack_files(product.files))]
    recipients = settings.recipients(lake.profile.id) if settings.mail.host else ()
    if recipients and product.letter is not None:
        press = product.letter()
        for recipient in recipients:
            key = _key(row, "mail", recipient)
            letter = Letter(
                key=key,
                sender=settings.mail.sender,
                recipient=recipient,
                subject=press.subject,
                text=press.text,
                html=press.html,
                date=now,
                valid_until=product.valid_until or row.useful_until,
                images=press.images,
                unsubscribe=settings.mail.unsubscribe,
                thread=threads_to(product.thread, recipient),
            )
            out.append(_message(row, "mail", recipient, message_id(key, settings.mail.sender), build_letter(letter)))
    if settings.post.url:
        body = json.dumps(_payload(product, row), ensure_ascii=False).encode("utf-8")
        out.append(_message(row, "post", settings.post.url, "", body))
    return out


def threads_to(thread: Sequence[str], recipient: str) -> list[str]:
    """Message-IDs of earlier notes that went to the same recipient; entries are ``recipient<TAB>id``."""
    return [entry.split("\t")[1] for entry in thread if entry.split("\t")[0] == recipient]


def _payload(product: Product, row: OccurrenceRow) -> dict[str, Any]:
    return {
        "schema_version": PAYLOAD_VERSION,
        "lake": row.lake,
        "day": row.day.isoformat(),
        "kind": row.kind,
        "valid_until": (product.valid_until or row.useful_until).isoformat(),
        **product.payload,
    }


def _key(row: OccurrenceRow, channel: str, recipient: str) -> str:
    return message_key(row.lake, row.day.isoformat(), f"{row.kind}|{row.slot}", row.revision, channel, recipient)


def _message(row: OccurrenceRow, channel: str, recipient: str, ident: str, body: bytes) -> NewMessage:
    return NewMessage(_key(row, channel, recipient), channel, recipient, ident, body, row.useful_until)
