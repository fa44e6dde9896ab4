"""What weather words say of thunder: a chance, none, or nothing that can be known."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from briefing.resources import read_toml
from briefing.sources.bodies import NAN, Read, text


@dataclass(frozen=True)
class ThunderWords:
    """Words by what they say of thunder; chances are (words, percent), the first that stands in a text counts."""

    draws: tuple[str, ...]
    not_thunder: tuple[str, ...]
    excludes: frozenset[str]
    fills: frozenset[str]
    chances: tuple[tuple[str, float], ...]
    otherwise: float

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> ThunderWords:
        """Read ``config/thunder_words.toml``; raises KeyError when a list is not there."""
        return cls(
            draws=tuple(mapping["draws"]),
            not_thunder=tuple(mapping["not_thunder"]),
            excludes=frozenset(mapping["excludes"]),
            fills=frozenset(mapping["fills"]),
            chances=tuple((str(words), float(chance)) for words, chance in mapping["chances"]),
            otherwise=float(mapping["otherwise"]),
        )

    def speaks_of_it(self, said: str) -> bool:
        """Tell whether a text in small letters speaks of thunder, or of storms that bring it."""
        for words in self.not_thunder:
            said = said.replace(words, " ")
        return any(word in said for word in self.draws)

    def rules_it_out(self, said: str) -> bool:
        """Tell whether a text in small letters names weather, and only weather that leaves no room for thunder."""
        words = re.findall(r"[^\W_]+", said)
        return any(word in self.excludes for word in words) and all(
            word in self.excludes or word in self.fills or word.isdigit() for word in words
        )

    def chance_in(self, said: str) -> float:
        """Chance of thunder in percent of a text that speaks of it."""
        return next((chance for words, chance in self.chances if words in said), self.otherwise)


@lru_cache(maxsize=1)
def thunder_words() -> ThunderWords:
    """Return the words of ``config/thunder_words.toml``."""
    return ThunderWords.from_mapping(read_toml("thunder_words.toml"))


def thunder_in_words(words: object) -> Read:
    """Read the chance of thunder in percent that a short forecast stands for, and whether it is damaged.

    Zero only where every word is known to leave no room for thunder. Rain, showers and words that are not known leave
    it missing. A text in which no letter can be read is damaged.
    """
    said = " ".join(text(words).lower().split())
    if not said:
        return NAN, words not in (None, "")
    known = thunder_words()
    if known.speaks_of_it(said):
        return known.chance_in(said), False
    if known.rules_it_out(said):
        return 0.0, False
    return NAN, not re.search(r"[^\W\d_]", said)
