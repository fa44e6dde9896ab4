"""One line a step: words on a terminal, JSON otherwise. No secrets; addresses only as hashes."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import TextIO


class Log:
    """Writes events to a stream."""

    def __init__(self, stream: TextIO | None = None, *, human: bool | None = None) -> None:
        self._stream = sys.stderr if stream is None else stream
        self._human = self._stream.isatty() if human is None else human

    def __call__(self, event: str, **fields: object) -> None:
        """Write one event with its fields."""
        at = datetime.now(UTC).replace(microsecond=0)
        known = {name: _plain(value) for name, value in fields.items() if value is not None}
        line = _words(at, event, known) if self._human else _json(at, event, known)
        self._stream.write(line + "\n")
        self._stream.flush()


def _plain(value: object) -> object:
    if isinstance(value, datetime | date):
        return value.isoformat()
    return value if isinstance(value, int | float | bool) else " ".join(str(value).split())


def _json(at: datetime, event: str, fields: Mapping[str, object]) -> str:
    return json.dumps({"at": at.isoformat(), "event": event, **fields}, ensure_ascii=False)


def _words(at: datetime, event: str, fields: Mapping[str, object]) -> str:
    rest = ", ".join(f"{name} {value}" for name, value in fields.items())
    return f"{at:%H:%M:%S} {event.replace('_', ' ')}{': ' if rest else ''}{rest}"
