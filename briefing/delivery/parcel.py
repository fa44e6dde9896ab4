"""What is handed over, and what may become of it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol


class Fate(StrEnum):
    """What a hand-over came to.

    ``sent``: acknowledged. ``later``: surely not taken, may pass. ``refused``: surely not taken, will not pass.
    ``uncertain``: the last step was begun and no answer came. ``blocked``: the account itself is refused (login,
    certificate): nothing of this message's doing.
    """

    SENT = "sent"
    LATER = "later"
    REFUSED = "refused"
    UNCERTAIN = "uncertain"
    BLOCKED = "blocked"


@dataclass(frozen=True, slots=True)
class Outcome:
    """Fate and one sentence for the user; never a secret, never an address."""

    fate: Fate
    words: str = ""


@dataclass(frozen=True, slots=True)
class Parcel:
    """Exact bytes for one recipient."""

    key: str
    recipient: str
    message_id: str
    body: bytes


#: Called before the step after which a message may have been taken; False means: stop, it is no longer yours.
Commit = Callable[[], bool]


class Channel(Protocol):
    """A way out."""

    name: str

    def hand_over(self, parcel: Parcel, commit: Commit) -> Outcome:
        """Hand over once, without retries. Raises nothing for what the other side does."""
        ...

    def close(self) -> None:
        """Let go of whatever was kept open for the next one."""
        ...


def message_key(lake: str, day: str, kind: str, revision: int, channel: str, recipient: str) -> str:
    """Key of a message, the same whoever makes it: what it is about, in which way out, to whom."""
    text = "|".join((lake, day, kind, str(revision), channel, recipient))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:20]


def address_hash(address: str) -> str:
    """An address as it may stand in a log."""
    return hashlib.sha256(address.strip().lower().encode("utf-8")).hexdigest()[:10]
