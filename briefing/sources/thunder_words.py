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
    """Words by what they say of thunder; chances are (words, percent), a longer one before those it holds.

    ``follows`` part the weather of one time from that of the next, ``beside`` weathers of one time. ``signs`` may stand
    between words, ``attributes`` and ``intensities`` beside the weather of a grid's entry, without a word on thunder.
    """

    draws: tuple[str, ...]
    not_thunder: tuple[str, ...]
    excludes: frozenset[str]
    fills: frozenset[str]
    chances: tuple[tuple[str, float], ...]
    otherwise: float
    follows: tuple[str, ...]
    beside: tuple[str, ...]
    signs: frozenset[str]
    attributes: frozenset[str]
    intensities: frozenset[str]

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
            follows=tuple(mapping["follows"]),
            beside=tuple(mapping["beside"]),
            signs=frozenset(mapping["signs"]),
            attributes=frozenset(mapping["grid"]["attributes"]),
            intensities=frozenset(mapping["grid"]["intensities"]),
        )

    def speaks_of_it(self, said: str) -> bool:
        """Tell whether a text in small letters speaks of thunder, or of storms that bring it."""
        for words in self.not_thunder:
            said = said.replace(words, " ")
        return any(word in said for word in self.draws)

    def rules_it_out(self, said: str) -> bool:
        """Tell whether a text in small letters names weather, and only weather that leaves no room for thunder."""
        if not all(letter.isalnum() or letter.isspace() or letter in self.signs for letter in said):
            return False
        words = re.findall(r"[^\W_]+", said)
        return any(word in self.excludes for word in words) and all(
            word in self.excludes or word in self.fills or word.isdigit() for word in words
        )

    def chance_in(self, said: str) -> float:
        """Chance of thunder in percent of a text that speaks of it: the highest of its parts that do.

        A later part that only says how much ("isolated thunderstorms becoming numerous") speaks of the same weather.
        """
        found: list[float] = []
        before = False
        for time in _parts(said, self.follows):
            parts = [_Part.of(part, self) for part in _parts(time, self.beside)]
            named = [_chance_of(number, parts, self) for number, part in enumerate(parts) if part.storms_at is not None]
            more = [chance for part in parts for _, chance in part.chances]
            if not named and before and more and self.only_says_how_much(time):
                named = [max(more)]
            found += named
            before = bool(named)
        return max(found, default=self.otherwise)

    def only_says_how_much(self, said: str) -> bool:
        """Tell whether a part of a text names no weather of its own."""
        for words, _ in self.chances:
            said = said.replace(words, " ")
        return all(word in self.fills or word.isdigit() for word in re.findall(r"[^\W_]+", said))


@dataclass(frozen=True)
class _Part:
    """One weather of a text: where in it thunder is named, and its words of chance as (place, percent) in order."""

    storms_at: int | None
    chances: tuple[tuple[int, float], ...]
    closing: bool  # it ends with a word of chance

    @classmethod
    def of(cls, said: str, words: ThunderWords) -> _Part:
        percent = dict(words.chances)
        matches = list(re.finditer("|".join(map(re.escape, percent)), said))
        places = [said.find(word) for word in words.draws if word in said] if words.speaks_of_it(said) else []
        closing = bool(matches) and matches[-1].end() == len(said)
        return cls(min(places, default=None), tuple((one.start(), percent[one[0]]) for one in matches), closing)


def _parts(said: str, words: tuple[str, ...]) -> list[str]:
    """Part a text at whole words or signs."""
    pattern = "|".join(rf"\b{re.escape(word)}\b" if word[0].isalpha() else re.escape(word) for word in words)
    return [part.strip() for part in re.split(pattern, said)]


def _chance_of(number: int, parts: list[_Part], words: ThunderWords) -> float:
    """Chance of a part that names thunder, from its own words or those of the parts beside it that hold for it too."""
    own = parts[number]
    behind = [chance for place, chance in own.chances if place > (own.storms_at or 0)]
    if behind or own.chances:
        return behind[0] if behind else own.chances[-1][1]
    earlier = [part.chances[-1][1] for part in parts[:number] if part.chances and not part.closing]
    later = [part.chances[-1][1] for part in parts[number + 1 :] if part.closing]
    return earlier[-1] if earlier else later[0] if later else words.otherwise


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
