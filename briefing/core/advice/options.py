"""Choosing one of several options (trailer, blade, retrieve, set-up, finish) by the words of the hour and the place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

_ALWAYS = "default"
_MISS = 0.6
_DEFAULT = 0.5


class HasFits(Protocol):
    """Anything with situation words; ``default`` counts half a word anywhere."""

    @property
    def fits(self) -> tuple[str, ...]:
        """Situation words."""


Chosen = TypeVar("Chosen", bound=HasFits)


def fit_of(option: HasFits, words: frozenset[str]) -> float:
    """Words that apply less a part of those that don't; options without words are never first."""
    if not option.fits:
        return -9.0
    hits = sum(word in words for word in option.fits)
    misses = sum(word not in words and word != _ALWAYS for word in option.fits)
    return hits - _MISS * misses / max(len(option.fits), 1) + (_DEFAULT if _ALWAYS in option.fits else 0.0)


def best_option(options: Sequence[Chosen], words: frozenset[str]) -> Chosen | None:
    """The option that fits best, the earlier of two equals; None when there is none."""
    return max(options, key=lambda option: fit_of(option, words), default=None)
