"""This computer's clock against those of the services, by the date each answer carries."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from urllib.parse import urlsplit

#: A clock that is off by more is said. Rounded seconds, slow answers and front caches make up far less.
LIMIT = timedelta(minutes=3)
#: One server may be wrong itself.
FEWEST = 2


class Clocks:
    """Collects, by server, how far our clock is ahead of it (s; negative: behind). Used from several threads."""

    def __init__(self) -> None:
        self._ahead: dict[str, float] = {}
        self._lock = threading.Lock()

    def hear(self, url: str, headers: Mapping[str, str], now: datetime) -> None:
        """Note the date of an answer that has just come; one that can't be read is passed over."""
        try:
            told = parsedate_to_datetime(headers.get("date", ""))
            held = timedelta(seconds=min(float(headers.get("age", "") or 0.0), 1e7))
        except (TypeError, ValueError, OverflowError):
            return
        if told.tzinfo is None:
            told = told.replace(tzinfo=UTC)
        with self._lock:
            # What a front cache hands out carries the date at which it was stored, and its age since.
            self._ahead[urlsplit(url).netloc] = (now - told - held).total_seconds()

    def ahead(self) -> tuple[timedelta, int] | None:
        """How far our clock is ahead by the middle of all servers heard, and their number; None when too few were.

        Of an even number the middle one nearer to zero counts, so that half of the servers alone prove nothing.
        """
        with self._lock:
            found = sorted(self._ahead.values())
        if len(found) < FEWEST:
            return None
        middle = found[(len(found) - 1) // 2 : len(found) // 2 + 1]
        return timedelta(seconds=min(middle, key=abs)), len(found)

    def sentence(self) -> str:
        """What is wrong with this computer's clock, in one sentence; "" when nothing is, or too little is known."""
        known = self.ahead()
        if known is None or abs(known[0]) <= LIMIT:
            return ""
        minutes = abs(known[0]).total_seconds() / 60
        size = f"{minutes:.0f} min" if minutes < 120 else f"{minutes / 60:.0f} h"
        side = "ahead of" if known[0] > timedelta(0) else "behind"
        return f"This computer's clock is {size} {side} the clocks of {known[1]} services."
