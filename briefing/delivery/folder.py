"""The folder: always first, and exactly once by nature, for a file written twice is the same file."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import IO

from briefing.delivery.parcel import Commit, Fate, Outcome, Parcel


def pack_files(files: Mapping[str, str]) -> bytes:
    """Return the bytes of a parcel of files by name."""
    return json.dumps(dict(files), ensure_ascii=False).encode("utf-8")


class FolderChannel:
    """Writes a parcel's files below a folder; the recipient is the folder's path."""

    name = "folder"

    def hand_over(self, parcel: Parcel, commit: Commit) -> Outcome:
        """Write all files; each appears whole or not at all."""
        if not commit():
            return Outcome(Fate.LATER, "another process has it")
        folder = Path(parcel.recipient).expanduser()
        files: dict[str, str] = json.loads(parcel.body)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            write_all({folder / Path(name).name: content.encode("utf-8") for name, content in files.items()})
        except OSError as error:
            return Outcome(Fate.LATER, f"the folder could not be written: {error.strerror or error}")
        return Outcome(Fate.SENT, "saved")

    def close(self) -> None:
        """Nothing is kept open."""


def write_whole(path: Path, content: bytes) -> None:
    """Write a file under a name of its own, bring it to the disk, then move it into place."""
    write_all({path: content})


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write files under names of their own, bring them to the disk, then move them into place.

    All are written before the first is brought to the disk: that takes the time of one, not of each.
    """
    with ExitStack() as opened:
        parts: dict[Path, IO[bytes]] = {}
        try:
            for path, content in files.items():
                part = path.with_name(f"{path.name}.{os.getpid()}.part")
                parts[path] = opened.enter_context(part.open("wb"))
                parts[path].write(content)
                parts[path].flush()
            for handle in parts.values():
                os.fsync(handle.fileno())
            for path, handle in parts.items():
                handle.close()
                Path(handle.name).replace(path)
        except OSError:
            for handle in parts.values():
                Path(handle.name).unlink(missing_ok=True)
            raise
