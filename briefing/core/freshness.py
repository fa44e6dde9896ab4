"""How old a value may be before it counts as missing: one table for the whole program."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any


@dataclass(frozen=True)
class StaleTable:
    """Ages by kind: ``after`` for kinds that go stale, ``never`` for the rest, ``other`` for named ages of services."""

    after: Mapping[str, timedelta]
    never: frozenset[str]
    other: Mapping[str, timedelta]

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> StaleTable:
        """Read the table of ``config/stale.toml`` (minutes); raises KeyError when a part of it is not there."""
        others = {**mapping["service"], **mapping["keep"]}
        return cls(
            {str(kind): timedelta(minutes=float(minutes)) for kind, minutes in mapping["stale_after_min"].items()},
            frozenset(str(kind) for kind in mapping["never_stale"]),
            {str(name).removesuffix("_min"): timedelta(minutes=float(value)) for name, value in others.items()},
        )


def is_ahead(instant: datetime | None, now: datetime, table: StaleTable) -> bool:
    """Tell whether an instant lies further ahead of ``now`` than clocks differ: then it is wrong."""
    return instant is not None and instant - now > table.other["ahead"]


def is_stale(kind: str, as_of: datetime | None, now: datetime, table: StaleTable) -> bool:
    """Tell whether a value of ``kind`` from ``as_of`` is too old at ``now``.

    An unknown age counts as stale, and so does a value from the future (a clock is wrong somewhere, and nobody knows
    by how much). A kind that the table does not name raises KeyError.
    """
    if kind in table.never:
        return False
    limit = table.after[kind]
    if as_of is None:
        return True
    return now - as_of > limit or is_ahead(as_of, now, table)
