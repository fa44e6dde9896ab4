"""Bodies kept on disk with their age. Only good answers are kept; a broken file is ignored and said."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import math
import os
import threading
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Stored:
    """A body as it was retrieved, with the headers that matter later."""

    url: str
    body: bytes
    content_type: str
    etag: str
    last_modified: str
    retrieved_at: datetime
    age_s: float = 0.0  # how long a front cache had held it then


@dataclass
class Cache:
    """Bodies by address in a folder; with ``folder`` None nothing is kept. Never raises for a file."""

    folder: Path | None
    notes: list[str] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def load(self, url: str) -> Stored | None:
        """Return the stored body of ``url``; None when there is none or its file is broken."""
        path = self._path(url)
        if path is None:
            return None
        try:
            text = path.read_text(encoding="utf-8")
        except FileNotFoundError:
            return None
        except (OSError, UnicodeDecodeError) as error:
            self._say(f"Cache file {path.name} could not be read ({type(error).__name__}) and is ignored.")
            return None
        try:
            return _read(json.loads(text), url)
        except (ValueError, KeyError, TypeError, binascii.Error, RecursionError):
            self._say(f"Cache file {path.name} is broken and is ignored.")
            return None

    def save(self, stored: Stored) -> None:
        """Keep a body; a folder that can't be written costs a note, nothing else."""
        path = self._path(stored.url)
        if path is None:
            return
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            draft = path.with_suffix(f".{os.getpid()}.{threading.get_ident()}.draft")
            draft.write_text(json.dumps(_written(stored)), encoding="utf-8")
            draft.replace(path)
        except OSError as error:
            self._say(f"Bodies can't be kept in {path.parent} ({error.strerror or type(error).__name__}).")

    def prune(self, now: datetime, keep: timedelta) -> None:
        """Remove files not written for ``keep``: addresses change daily, so old files would pile up."""
        if self.folder is None or not self.folder.is_dir():
            return
        limit = (now - keep).timestamp()
        for path in self.folder.glob("*.*"):
            try:
                if path.suffix in (".json", ".draft") and path.stat().st_mtime < limit:
                    path.unlink()
            except OSError:
                continue  # another run may have removed it

    def _path(self, url: str) -> Path | None:
        return None if self.folder is None else self.folder / f"{hashlib.sha256(url.encode()).hexdigest()[:32]}.json"

    def _say(self, sentence: str) -> None:
        with self._lock:
            if sentence not in self.notes:
                self.notes.append(sentence)


def _written(stored: Stored) -> dict[str, Any]:
    return {
        "url": stored.url,
        "body": base64.b64encode(stored.body).decode("ascii"),
        "sha256": hashlib.sha256(stored.body).hexdigest(),
        "content_type": stored.content_type,
        "etag": stored.etag,
        "last_modified": stored.last_modified,
        "retrieved_at": stored.retrieved_at.isoformat(),
        "age_s": stored.age_s,
    }


def _read(row: dict[str, Any], url: str) -> Stored:
    body = base64.b64decode(row["body"], validate=True)
    retrieved = datetime.fromisoformat(row["retrieved_at"])
    texts = [row["content_type"], row["etag"], row["last_modified"]]
    if row["url"] != url or hashlib.sha256(body).hexdigest() != row["sha256"] or retrieved.tzinfo is None:
        raise ValueError("not what was stored")
    if not all(isinstance(text, str) for text in texts):
        raise ValueError("not what was stored")
    held_s = float(row.get("age_s", 0.0))  # files of an earlier version don't have it
    return Stored(url, body, texts[0], texts[1], texts[2], retrieved, held_s if 0.0 <= held_s < math.inf else 0.0)
