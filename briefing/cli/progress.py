"""What is shown on a terminal while data services are asked."""

from __future__ import annotations

import sys
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

from briefing.app.assembly import App

#: Sources named at once; the others are counted.
MOST_NAMED = 2


class Waiting:
    """Which sources are waited for, and how many are done with (answered or given up); told from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._open: Counter[str] = Counter()
        self._done = 0

    def tell(self, name: str, done: bool) -> str:
        """Note that a source is asked or done with; returns the line to show."""
        with self._lock:
            self._open[name] += -1 if done else 1
            self._open += Counter()  # drops what is no longer waited for
            self._done += done
            return self._line()

    def _line(self) -> str:
        names = list(self._open)
        answered = f" ({self._done} done)" if self._done else ""
        if not names:
            return f"Asked the weather services{answered}; computing ..."
        more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
        return f"Waiting for {', '.join(names[:MOST_NAMED])}{more}{answered} ..."


@contextmanager
def told_while_asking(app: App) -> Iterator[None]:
    """Show on standard error which services are waited for; nothing where that is no terminal."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    waiting = Waiting()
    with Console(stderr=True, highlight=False).status("Computing ...") as status:
        app.progress = lambda name, done: status.update(waiting.tell(name, done))
        try:
            yield
        finally:
            app.progress = None
