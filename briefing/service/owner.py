"""Who holds a claim, and whether they still live: a lock on a file goes with its process, however that ends."""

from __future__ import annotations

import contextlib
import os
import secrets
import sys
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from briefing.errors import StoreError


def _lock(handle: IO[bytes]) -> bool:
    """Take the lock of an open file without waiting; False when another process has it."""
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


class Owner:
    """A process's mark on its claims, for as long as it lives. Use it in a ``with`` block."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.token = f"{os.getpid()}-{secrets.token_hex(6)}"
        self._handle: IO[bytes] | None = None

    def __enter__(self) -> Self:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            self._handle = self._path(self.token).open("wb")
        except OSError as error:
            raise StoreError(f"The folder {self.folder} can't be written: {error.strerror or error}.") from None
        _lock(self._handle)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._handle is not None:
            self._handle.close()
            with contextlib.suppress(OSError):
                self._path(self.token).unlink()

    def dead(self, token: str) -> bool:
        """True when the process of a token is gone; its file is cleared away."""
        path = self._path(token)
        try:
            handle = path.open("rb+")
        except OSError:
            return True
        with handle:
            gone = _lock(handle)
        if gone:
            with contextlib.suppress(OSError):
                path.unlink()
        return gone

    def _path(self, token: str) -> Path:
        return self.folder / f"{Path(token).name}.lock"


Dead = Callable[[str], bool]
