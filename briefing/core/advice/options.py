"""Choosing one of several options (trailer, blade, retrieve, set-up, finish) by the words of the hour and the place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

_ALWAYS = "default"
_DEFAULT = 0.5
_MORE = 0.25
_MADE_FOR = 1.0


class HasFits(Protocol):
    """Anything with situation words; ``a+b`` asks for both, ``default`` counts half a word anywhere."""

    @property
    def fits(self) -> tuple[str, ...]:
        """Situation words."""

    @property
    def needs(self) -> tuple[str, ...]:
        """Words of which one must hold; empty: none."""


Chosen = TypeVar("Chosen", bound=HasFits)


def fit_of(option: HasFits, words: frozenset[str]) -> float:
    """The most particular word that applies, counted by its parts, and a quarter for each further one that does.

    What needs something of the place counts one more where that holds, and is out (-1) where it does not.
    """
    if option.needs and not any(_holds(word.split("+"), words) for word in option.needs):
        return -1.0
    hits = [
        _DEFAULT if word == _ALWAYS else float(len(parts))
        for word in option.fits
        if _holds(parts := word.split("+"), words)
    ]
    made_for = _MADE_FOR if option.needs else 0.0
    return made_for + (max(hits) + _MORE * (len(hits) - 1) if hits else 0.0)


def _holds(parts: list[str], words: frozenset[str]) -> bool:
    return parts == [_ALWAYS] or all(part in words for part in parts)


def best_option(options: Sequence[Chosen], words: frozenset[str]) -> Chosen | None:
    """The option that fits best, the earlier of two equals; None when there is none."""
    return max(options, key=lambda option: fit_of(option, words), default=None)
