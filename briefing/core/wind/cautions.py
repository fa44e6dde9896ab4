"""The usual cautions, chosen by what applies: each with its official source and "check your local rules"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from briefing.vocabulary import Craft

_FLAGS = (
    "in_dark",
    "fog",
    "alone",
    "thunder",
    "moving_water",
    "tailwater",
    "dam",
    "weekend",
)
_KEYS = frozenset(
    {*_FLAGS, "craft", "water_below_c", "water_from_c", "heat_above_c", "uv_above", "state", "from", "until", "id"}
)


@dataclass(frozen=True, slots=True)
class UsualCaution:
    """A standing caution as printed: text, official source, and the reminder to check local rules."""

    id: str
    title: str
    text: str
    source: str
    rank: int
    check: str


@dataclass(frozen=True, slots=True)
class CautionFacts:
    """What decides which cautions apply; a number of None is not known, which never drops a caution."""

    craft: Craft
    day: date
    water_low_c: float | None = None
    heat_index_max_c: float | None = None
    uv_index_max: float | None = None
    in_dark: bool = False
    fog: bool = False
    alone: bool = False
    thunder: bool = False
    moving_water: bool = False
    tailwater: bool = False
    dam: bool = False
    weekend: bool = False
    country: str = ""  # two-letter code of the lake's country; empty: not known
    south: bool = False  # of the equator: dates of a season stand half a year on
    state: str = ""  # two-letter code of a US state, for cold-season life-jacket rules


@dataclass(frozen=True)
class CautionTable:
    """All cautions of ``config/cautions.toml``."""

    entries: tuple[Mapping[str, Any], ...]
    check: str

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> CautionTable:
        """Read the file; raises ValueError on an unknown condition, KeyError when a part is not there."""
        entries = tuple(mapping["caution"])
        for entry in entries:
            for name in ("id", "title", "text", "source", "rank"):
                entry[name]
            odd = set(entry.get("elsewhere", ())) - {"title", "text", "source"}
            if odd:
                raise ValueError(f"caution {entry['id']}: elsewhere can't change {sorted(odd)[0]!r}")
            for condition in entry.get("any_of", ()):
                unknown = set(condition) - _KEYS
                if unknown:
                    raise ValueError(f"caution {entry['id']}: unknown condition {sorted(unknown)[0]!r}")
        return cls(entries, mapping["check"])


def usual_cautions(table: CautionTable, facts: CautionFacts) -> tuple[UsualCaution, ...]:
    """Return the cautions that apply, most important (lowest rank) first.

    An entry on the law of ``countries`` is told in any other, and where the country is not known, as its ``elsewhere``
    says, and left out without one.
    """
    told = (_told_in(facts.country, entry) for entry in table.entries)
    chosen = [
        UsualCaution(e["id"], e["title"], e["text"], e["source"], int(e["rank"]), table.check)
        for e in told
        if e is not None and ("any_of" not in e or any(_applies(condition, facts) for condition in e["any_of"]))
    ]
    return tuple(sorted(chosen, key=lambda caution: (caution.rank, caution.id)))


def _told_in(country: str, entry: Mapping[str, Any]) -> Mapping[str, Any] | None:
    if country in entry.get("countries", (country,)):
        return entry
    return {**entry, **entry["elsewhere"]} if "elsewhere" in entry else None


def _applies(condition: Mapping[str, Any], facts: CautionFacts) -> bool:
    """All parts of one condition hold. What is not known counts as holding."""
    checks = [getattr(facts, flag) == condition[flag] for flag in _FLAGS if flag in condition]
    if "craft" in condition:
        checks.append(facts.craft.value in condition["craft"])
    if "state" in condition:
        checks.append(facts.state.upper() == condition["state"])
    if "water_below_c" in condition:
        checks.append(not _at_least(facts.water_low_c, condition["water_below_c"]))
    if "water_from_c" in condition:
        checks.append(not _below(facts.water_low_c, condition["water_from_c"]))
    if "heat_above_c" in condition:
        checks.append(not _below(facts.heat_index_max_c, condition["heat_above_c"]))
    if "uv_above" in condition:
        checks.append(not _below(facts.uv_index_max, condition["uv_above"]))
    if "from" in condition:
        month = (facts.day.month + 5) % 12 + 1 if facts.south else facts.day.month
        checks.append(_in_season(f"{month:02d}-{facts.day.day:02d}", condition["from"], condition["until"]))
    return all(checks)


def _at_least(value: float | None, edge: float) -> bool:
    return value is not None and value >= edge


def _below(value: float | None, edge: float) -> bool:
    return value is not None and value < edge


def _in_season(day: str, first: str, last: str) -> bool:
    return first <= day <= last if first <= last else day >= first or day <= last
