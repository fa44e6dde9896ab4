"""What is not known this morning: each missing or stale input and what that means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from briefing.core.advice.measures import localised
from briefing.core.gathered import Problem
from briefing.sections.quantity import SectionModel
from briefing.sections.words import listed
from briefing.units import Units


class Missing(SectionModel):
    """One input that is missing, stale or refused, and the consequence for the text above."""

    what: str
    means: str


class UnknownSection(SectionModel):
    """Empty ``items`` is said in words: nothing that was asked for is missing."""

    items: tuple[Missing, ...]


def fill_unknown(
    problems: Sequence[Problem],
    guessed: Mapping[str, str],
    extra: Sequence[tuple[str, str]] = (),
    *,
    system: Units,
) -> UnknownSection:
    """What services failed to give, serious ones first, then ``extra`` pairs (what, meaning), then guessed fields."""
    items = [
        Missing(what=localised(p.missing, system), means=localised(p.meaning, system))
        for p in sorted(problems, key=lambda p: not p.serious)
    ]
    items += [Missing(what=what, means=means) for what, means in extra]
    if guessed:
        names = listed(sorted(name.replace("_", " ") for name in guessed))
        items.append(
            Missing(
                what="Guessed, because the lake's profile doesn't say:",
                means=f"{names}. A line in the profile replaces each guess.",
            )
        )
    return UnknownSection(items=tuple(items))
