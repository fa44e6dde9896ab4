"""Small readers for what stands in bodies: they never raise, and they tell "missing" from "damaged"."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from briefing.core.plausible import Plausible
from briefing.resources import read_toml

NAN = math.nan
Read = tuple[float, bool]  # (value or NaN, damaged)

#: How the escape of a half character begins, in bytes and text.
_HALF = re.compile(rb"\\u[dD][89a-fA-F]")
_PLAIN = frozenset({float, int, type(None)})
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)


class TwiceNamedError(ValueError):
    """A name stands twice in one object of a body, with different values: no one can tell which of them is meant."""


def parse_json(body: bytes | str) -> Any:
    """Parse a body. Raises ValueError when it is no JSON, TwiceNamedError when it contradicts itself."""
    return json.loads(body, object_pairs_hook=_each_once)


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        for name, value in pairs:
            if value != found[name]:
                raise TwiceNamedError(f"{name[:40]!r} stands twice in it, with different values")
    return found


def load_json(body: bytes | str) -> Any:
    """Return the parsed body, or None when it is no JSON (a JSON null is no body either) or contradicts itself.

    Half a character (one of a pair of surrogates alone), which JSON can hold and no text can, becomes U+FFFD.
    """
    try:
        value = parse_json(body)
        half = _HALF.search(body if isinstance(body, bytes) else body.encode())
        return value if half is None else _whole_characters(value)
    except (ValueError, RecursionError):
        return None


def _whole_characters(value: Any) -> Any:
    written = json.dumps(value, ensure_ascii=False).encode("utf-16-le", "surrogatepass")
    return json.loads(written.decode("utf-16-le", "replace"))


def table(value: object) -> Mapping[str, Any]:
    """Return a JSON object as it is, anything else as an empty one."""
    return value if isinstance(value, dict) else {}


def rows(value: object) -> list[Any]:
    """Return a JSON list as it is, anything else as an empty one."""
    return value if isinstance(value, list) else []


def text(value: object) -> str:
    """Return a string without leading and trailing blanks, anything else as ""."""
    return value.strip() if isinstance(value, str) else ""


def read_number(value: object) -> Read:
    """Read a number or a string that is a number as a whole; null is missing, anything else damaged."""
    if value is None:
        return NAN, False
    if isinstance(value, bool):
        return NAN, True
    if isinstance(value, str):
        if len(value) > 40 or not _NUMBER.fullmatch(value.strip()):
            return NAN, True
        value = float(value)
    if not isinstance(value, int | float):
        return NAN, True
    try:
        number = float(value)
    except OverflowError:
        return NAN, True
    return (number, False) if math.isfinite(number) else (NAN, True)


def read_plausible(kind: str, value: object, factor: float, offset: float, limits: Plausible) -> Read:
    """Read a number, convert it (value * factor + offset) and refuse it where it can't be true."""
    number, damaged = read_number(value)
    if math.isnan(number):
        return NAN, damaged
    number = number * factor + offset
    return (number, False) if limits.holds(kind, number) else (NAN, True)


def read_plausible_column(
    kind: str, column: list[Any], factor: float, offset: float, limits: Plausible
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Read every cell of a column as ``read_plausible`` does; values (NaN where there is none) and what is damaged."""
    if set(map(type, column)) <= _PLAIN:
        try:
            raw = np.array(column, dtype=float)
        except OverflowError:
            pass
        else:
            low, high = limits.ranges[kind]
            with np.errstate(invalid="ignore", over="ignore"):
                values = raw * factor + offset
                good = (values >= low) & (values <= high)
            missing = np.array([cell is None for cell in column], dtype=bool)
            return np.where(good, values, NAN), ~good & ~missing
    read = [read_plausible(kind, cell, factor, offset, limits) for cell in column]
    return np.array([value for value, _ in read]), np.array([damaged for _, damaged in read], dtype=bool)


def read_instant(value: object) -> datetime | None:
    """Read an ISO 8601 instant with an offset as UTC; naive ones and anything else give None."""
    if not isinstance(value, str) or len(value) > 40:
        return None
    try:
        instant = datetime.fromisoformat(value.strip())
        return None if instant.tzinfo is None else instant.astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def read_epoch(value: object) -> datetime | None:
    """Read seconds since 1970 as UTC; only whole years 1990..2100 are believed."""
    number, _ = read_number(value)
    if math.isnan(number) or not 631_152_000 <= number <= 4_102_444_800:
        return None
    return datetime.fromtimestamp(number, UTC)


@lru_cache(maxsize=1)
def plausible_limits() -> Plausible:
    """Return the limits of ``config/plausible.toml``."""
    return Plausible.from_mapping(read_toml("plausible.toml"))
