"""The folder: always first, and exactly once by nature, for a file written twice is the same file."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path

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
            for name, content in files.items():
                write_whole(folder / Path(name).name, content.encode("utf-8"))
        except OSError as error:
            return Outcome(Fate.LATER, f"the folder could not be written: {error.strerror or error}")
        return Outcome(Fate.SENT, "saved")

    def close(self) -> None:
        """Nothing is kept open."""


def write_whole(path: Path, content: bytes) -> None:
    """Write a file under a name of its own, bring it to the disk, then move it into place."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as handle:
            handle.write(content)
            handle.flush()
            os.fsync(handle.fileno())
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise
