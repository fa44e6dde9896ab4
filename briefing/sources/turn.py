"""One process at a time asks for many lakes, and all together stay within what a service allows a minute."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import IO, Self

_MINUTE_S = 60.0
_LOOK_S = 0.1


def lock_file(handle: IO[bytes]) -> bool:
    """Take the lock of an open file without waiting; False when another has it. It goes with the file, or process."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


class Turn:
    """The right to ask, held in a ``with`` block; what was spent in the last minute is kept beside the lock.

    After ``patience_s`` (s) without it the turn is taken as had: a process that hangs must not cost a morning. With
    ``folder`` None, or one that can't be written, nothing is shared. ``clock`` gives seconds, ``pause`` waits some.
    """

    def __init__(
        self,
        folder: Path | None,
        pause: Callable[[float], None] = time.sleep,
        clock: Callable[[], float] = time.time,
        patience_s: float = 90.0,
    ) -> None:
        self._folder, self._pause, self._clock, self._patience_s = folder, pause, clock, patience_s
        self._handle: IO[bytes] | None = None
        self._spent: list[tuple[float, str, float]] = []
        self._locked = False

    def __enter__(self) -> Self:
        if self._folder is not None:
            with suppress(OSError):
                self._folder.mkdir(parents=True, exist_ok=True)
                self._handle = (self._folder / "turn.lock").open("ab+")
        waited = 0.0
        while self._handle is not None and waited < self._patience_s:
            self._locked = lock_file(self._handle)
            if self._locked:
                break
            self._pause(_LOOK_S)
            waited += _LOOK_S
        self._spent = self._read()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._folder is not None and self._locked:
            with suppress(OSError):
                (self._folder / "turn.spent").write_text(json.dumps(self._spent), encoding="utf-8")
        if self._handle is not None:
            self._handle.close()

    def spend(self, service: str, calls: float, per_minute: int) -> None:
        """Count calls to a service, after waiting until they fit into what it allows a minute (0: no limit)."""
        now = self._clock()
        self._spent = [one for one in self._spent if 0.0 <= now - one[0] < _MINUTE_S]
        own = sorted((at, count) for at, name, count in self._spent if name == service)
        over = sum(count for _, count in own) + calls - per_minute
        wait = 0.0
        for at, count in own if per_minute else ():
            if over <= 0.0:
                break
            over -= count
            wait = at + _MINUTE_S - now
        if wait > 0.0:
            self._pause(wait)
        self._spent.append((now + wait, service, calls))

    def _read(self) -> list[tuple[float, str, float]]:
        if self._folder is None:
            return []
        try:
            rows = json.loads((self._folder / "turn.spent").read_text(encoding="utf-8"))
            return [(float(at), str(name), float(count)) for at, name, count in rows]
        except (OSError, ValueError, TypeError):
            return []
