"""Who holds a claim, and whether they still live: a lock on a file goes with its process, however that ends."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import IO, Self

from briefing.errors import StoreError
from briefing.sources.turn import lock_file


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
        lock_file(self._handle)
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
            gone = lock_file(handle)
        if gone:
            with contextlib.suppress(OSError):
                path.unlink()
        return gone

    def _path(self, token: str) -> Path:
        return self.folder / f"{Path(token).name}.lock"


Dead = Callable[[str], bool]
