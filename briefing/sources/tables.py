"""The tables of ages for the sources, read once from ``config/``."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import lru_cache

from briefing import knowledge
from briefing.core.freshness import StaleTable, is_ahead
from briefing.core.gusts import GustRule
from briefing.resources import read_toml


@lru_cache(maxsize=1)
def stale_table() -> StaleTable:
    """Return the ages of ``config/stale.toml``."""
    return StaleTable.from_mapping(read_toml("stale.toml"))


def age(name: str) -> timedelta:
    """Return a named age of a service, such as ``points`` or ``refuse_forecast``."""
    return stale_table().other[name]


def ahead(instant: datetime | None, now: datetime) -> bool:
    """Tell whether an instant lies so far ahead of ``now`` that it is wrong."""
    return is_ahead(instant, now, stale_table())


def held_back(issued: datetime | None, held_since: datetime, now: datetime) -> datetime | None:
    """Return an issue time, no later than its front cache has held the body; one ahead of now stays, to be refused."""
    return issued if issued is None or ahead(issued, now) else min(issued, held_since)


def gust_rule() -> GustRule:
    """Return when a number in a gust's place is none, as ``config/limits.toml`` has it."""
    return knowledge.load_safety_rules().water.gusts
