"""What the water engine hands to the store between runs, and its record of predictions; plain values, JSON-ready."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class LakeLearned:
    """What the readings have taught about one lake, to be kept in the store.

    mean and covariance are over flux offset, its yearly cosine and sine, its half-yearly cosine and sine (W/m2), ln
    depth factor, ln exchange factor and the departure from the common skin (C per W/m2).
    ``until`` is the last day whose readings are in it.
    """

    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    readings: int
    until: date | None

    def to_mapping(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "mean": list(self.mean),
            "covariance": [list(row) for row in self.covariance],
            "readings": self.readings,
            "until": None if self.until is None else self.until.isoformat(),
        }

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> LakeLearned:
        """Read what ``to_mapping`` wrote."""
        until = mapping["until"]
        return cls(
            tuple(float(value) for value in mapping["mean"]),
            tuple(tuple(float(value) for value in row) for row in mapping["covariance"]),
            int(mapping["readings"]),
            None if until is None else date.fromisoformat(until),
        )


@dataclass(frozen=True, slots=True)
class SkillRow:
    """One past reading against what the model said before it saw it."""

    id: str
    day: date
    reading_c: float
    predicted_c: float
    predicted_sd_c: float
    error_c: float  # predicted minus reading
    inside80: bool


@dataclass(frozen=True)
class WaterState:
    """The filter at the start of a day, and the days before it; plain values inside, for the store.

    Handing back a state saves the rerun of the past: it is used when its ``key`` still fits the inputs before
    ``day``, and left aside otherwise.
    """

    key: str
    day: date
    content: Mapping[str, Any]

    def to_mapping(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {"key": self.key, "day": self.day.isoformat(), "content": dict(self.content)}

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> WaterState:
        """Read what ``to_mapping`` wrote."""
        return cls(str(mapping["key"]), date.fromisoformat(mapping["day"]), mapping["content"])


def pack(array: NDArray[np.floating[Any]]) -> dict[str, Any]:
    """Turn an array into plain values that keep every bit."""
    code = array.dtype.newbyteorder("<")
    data = base64.b64encode(np.ascontiguousarray(array.astype(code)).tobytes()).decode("ascii")
    return {"dtype": code.str, "shape": list(array.shape), "data": data}


def unpack(mapping: Mapping[str, Any]) -> NDArray[np.float64]:
    """Read what ``pack`` wrote, as doubles."""
    array = np.frombuffer(base64.b64decode(mapping["data"]), dtype=np.dtype(mapping["dtype"]))
    return array.reshape(mapping["shape"]).astype(np.float64)
