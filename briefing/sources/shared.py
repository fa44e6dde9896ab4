"""What the lakes of one round have in common: connections, young answers, and which service is in trouble."""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from types import TracebackType
from typing import TYPE_CHECKING, Self

from briefing.sources.clocks import Clocks

if TYPE_CHECKING:
    import httpx

    from briefing.sources.http import Reply, ServiceError

#: After so many requests in a row that failed, a service is asked once a request only, without waiting and repeating.
WEARY_AFTER = 3
_MINUTE_S = 60.0


class Shared:
    """Lent to the fetcher of every lake in a round. Use it in a ``with`` block; used from several threads."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        self.clocks = Clocks()
        self.pruned = False
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._client: httpx.Client | None = None
        self._replies: dict[str, tuple[datetime, Reply]] = {}
        self._failed: Counter[str] = Counter()
        self._refused: dict[str, tuple[float, ServiceError]] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._client is not None:
            self._client.close()

    def client(self, make: Callable[[], httpx.Client]) -> httpx.Client:
        """The one client of the round: making one takes long, and its connections stay open."""
        with self._lock:
            self._client = self._client or make()
            return self._client

    def hold(self, reply: Reply, share_for: timedelta) -> None:
        """Hold an answer that is kept nowhere else for the other lakes; older ones are dropped."""
        with self._lock:
            now = reply.checked_at
            self._replies = {url: held for url, held in self._replies.items() if held[0] >= now}
            self._replies[reply.url] = (now + share_for, reply)

    def held(self, url: str, now: datetime) -> Reply | None:
        """Return an answer that is held, while it is young enough."""
        with self._lock:
            found = self._replies.get(url)
        return found[1] if found is not None and found[1].checked_at <= now <= found[0] else None

    def worked(self, name: str) -> None:
        """Note that a service answered."""
        with self._lock:
            self._failed[name] = 0

    def failed(self, name: str, error: ServiceError) -> None:
        """Note that a service failed; after "too many requests" it is left alone as long as it asks."""
        with self._lock:
            self._failed[name] += bool(error.retryable or error.status == 429)
            if error.status == 429:
                wait = (error.wait_s or _MINUTE_S) if error.retryable else float("inf")
                self._refused[name] = (self._monotonic() + wait, error)

    def weary(self, name: str) -> bool:
        """Tell whether a service failed so often in a row that repeating a request is of no use."""
        with self._lock:
            return self._failed[name] >= WEARY_AFTER

    def refusal(self, name: str) -> ServiceError | None:
        """Return the "too many requests" of a service while it is to be left alone."""
        with self._lock:
            until, error = self._refused.get(name, (0.0, None))
        return error if error is not None and self._monotonic() < until else None
