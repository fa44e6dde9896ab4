"""Saved files: all whole or none, and nothing half-written is left behind."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from briefing.delivery.folder import FolderChannel, pack_files, write_all
from briefing.delivery.parcel import Fate, Parcel


def test_files_appear_whole_and_replace_the_old(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("old", encoding="utf-8")
    parcel = Parcel("k", str(tmp_path), "", pack_files({"a.txt": "new", "../b.txt": "b"}))
    assert FolderChannel().hand_over(parcel, lambda: True).fate is Fate.SENT
    assert {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()} == {
        "a.txt": "new",
        "b.txt": "b",
    }
    assert json.loads(parcel.body)["a.txt"] == "new"


def test_a_disk_that_fills_up_leaves_the_old_files_and_no_halves(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.txt").write_bytes(b"old")
    real = os.fsync
    calls: list[int] = []

    def full(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_all({tmp_path / "a.txt": b"new", tmp_path / "b.txt": b"b"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a.txt": b"old"}
