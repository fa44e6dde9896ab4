"""Keeping the population between runs: what is stored, when it still holds, and how it becomes bytes."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.phase.chain import Record
from briefing.core.phase.hazards import Drive
from briefing.core.phase.model import PhaseState
from briefing.core.phase.population import DAYS_BACK, Curves

Singles = NDArray[np.float32]

_EASE_DAYS = 12
_FORMAT = 2
_WORD = 4


@dataclass(frozen=True)
class History:
    """A state brought back: the first day still to run, the boxes before it, and the curves up to there."""

    first: int
    boxes: Singles
    curves: Curves

    def joined(self, later: Curves) -> Curves:
        """Curves of the kept days, then ``later``."""
        return self.curves.then(later)


def fingerprint(marks: tuple[Any, ...], drive: Drive, last_day: int) -> str:
    """Digest of everything that decided the days up to ``last_day``: settings, signs, water, level, storms."""
    digest = hashlib.sha256(repr((_FORMAT, marks)).encode())
    upto = slice(0, last_day + 1)
    for values in (drive.water.daily_c, drive.brake, drive.loss):
        digest.update(np.ascontiguousarray(values[upto]).tobytes())
    return digest.hexdigest()


def keep(
    mark: str, last_day: int, boxes: Singles, record: Record, curves: Curves, sign_days: Iterable[int]
) -> PhaseState:
    """Make the state at the end of ``last_day``."""
    upto = slice(0, last_day + 1)
    history: dict[str, NDArray[Any]] = {
        "laid": record.laid[upto].copy(),
        "hatched": record.hatched[upto].copy(),
        "ease": record.ease[max(last_day + 1 - _EASE_DAYS, 0) : last_day + 1].copy(),
        "mean": curves.mean,
        "low": curves.low,
        "high": curves.high,
    }
    recent = range(max(last_day + 1 - DAYS_BACK, 0), last_day + 1)
    for day in sorted({*recent, *(d for d in sign_days if d <= last_day)}):
        history[f"zones:{day}"] = record.zones[day]
    return PhaseState(mark, last_day, boxes, history)


def recall(state: PhaseState, record: Record, today: int) -> History | None:
    """Lay a kept state into a record; None when it misses days that the run to ``today`` needs."""
    if today - 1 - state.last_day > DAYS_BACK:
        return None
    upto = state.last_day + 1
    record.laid[:upto] = state.history["laid"]
    record.hatched[:upto] = state.history["hatched"]
    ease = state.history["ease"]
    record.ease[upto - ease.shape[0] : upto] = ease
    for name, cube in state.history.items():
        if name.startswith("zones:"):
            record.zones[int(name.partition(":")[2])] = cube
    return History(upto, state.boxes.copy(), Curves(*(state.history[name] for name in ("mean", "low", "high"))))


def pack(state: PhaseState) -> bytes:
    """Turn a state into bytes for the store."""
    arrays = {"boxes": state.boxes, **state.history}
    header = {
        "format": _FORMAT,
        "fingerprint": state.fingerprint,
        "last_day": state.last_day,
        "arrays": [[name, value.dtype.str, list(value.shape)] for name, value in arrays.items()],
    }
    head = json.dumps(header).encode()
    body = b"".join(np.ascontiguousarray(value).tobytes() for value in arrays.values())
    return len(head).to_bytes(4, "big") + head + _squeezed(body)


def unpack(content: bytes) -> PhaseState | None:
    """Read what ``pack`` wrote; None when it comes from another version or is damaged, which only costs a replay."""
    try:
        size = int.from_bytes(content[:4], "big")
        header = json.loads(content[4 : 4 + size])
        if header["format"] != _FORMAT:
            return None
        body = _whole(content[4 + size :])
        arrays, place = {}, 0
        for name, kind, shape in header["arrays"]:
            count = int(np.prod(shape))
            arrays[name] = np.frombuffer(body, kind, count, place).reshape(shape).copy()
            place += count * np.dtype(kind).itemsize
        return PhaseState(header["fingerprint"], int(header["last_day"]), arrays.pop("boxes"), arrays)
    except (ValueError, KeyError, TypeError):
        return None


def _squeezed(body: bytes) -> bytes:
    """Bytes without their zero words: length, checksum, a bit a word, the other words.

    Zeros are nearly all there is to gain in floats, and a mask finds them some fifteen times as fast as a compressor.
    """
    words = np.frombuffer(body + bytes(-len(body) % _WORD), np.uint32)
    full = words != 0
    rest: bytes = np.packbits(full).tobytes() + words[full].tobytes()
    return len(body).to_bytes(8, "big") + zlib.crc32(rest).to_bytes(4, "big") + rest


def _whole(content: bytes) -> bytes:
    """Undo ``_squeezed``. Raises ``ValueError`` when bytes are missing or changed."""
    length, check, rest = int.from_bytes(content[:8], "big"), int.from_bytes(content[8:12], "big"), content[12:]
    if zlib.crc32(rest) != check:
        raise ValueError("the kept state is damaged")
    count = -(-length // _WORD)
    bits = -(-count // 8)
    full = np.unpackbits(np.frombuffer(rest, np.uint8, bits), count=count).astype(bool)
    words = np.zeros(count, np.uint32)
    words[full] = np.frombuffer(rest, np.uint32, int(full.sum()), bits)
    return words.tobytes()[:length]
