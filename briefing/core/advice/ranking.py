"""Ranking of presentations for one spot and one block of time.

The score of a presentation is a product of fits with exponents that say how much each matters; numbers stay inside, the
reader sees rank words and reasons. Scoring is vectorised over presentations, solving (weight, depth, colour, set-up) is
done only for the presentations that are asked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import Conditions, Spot, TackleBox
from briefing.core.advice.knowledge import AdviceKnowledge, Array

EVERYTHING = TackleBox()


@dataclass(frozen=True)
class Scores:
    """Scores of all presentations at one spot, with the factors that made them; arrays follow the knowledge's order.

    factors maps a factor's name to its value already raised to its exponent, so that their product is the score.
    excluded maps a presentation's index to the reason why it is left out (its score is 0).
    """

    total: Array
    factors: Mapping[str, Array]
    excluded: Mapping[int, str]
    mood: float
    fish_depth_m: tuple[float, float]


def score(
    conditions: Conditions,
    spot: Spot,
    knowledge: AdviceKnowledge,
    tackle: TackleBox = EVERYTHING,
    learned: Mapping[str, float] | None = None,
) -> Scores:
    """Score every presentation at a spot. learned: log factor by presentation id, cut at +-0.7."""
    raise NotImplementedError


def score_lake(
    blocks: Sequence[Conditions],
    spots: Sequence[Spot],
    knowledge: AdviceKnowledge,
    tackle: TackleBox = EVERYTHING,
    learned: Mapping[str, float] | None = None,
) -> Array:
    """Scores of a whole lake, shape (blocks, spots, presentations)."""
    raise NotImplementedError


def rank(
    conditions: Conditions,
    spot: Spot,
    knowledge: AdviceKnowledge,
    tackle: TackleBox = EVERYTHING,
    learned: Mapping[str, float] | None = None,
    *,
    solve: int | None = None,
) -> tuple[Choice, ...]:
    """All usable presentations, best first. Rank words go to the three that are shown (see ``shown_three``).

    solve: how many of the order are solved in full (the shown three always are); None solves all.
    """
    raise NotImplementedError


def shown_three(choices: Sequence[Choice]) -> tuple[Choice, ...]:
    """The three that are shown: never all of one group; a search, a slow or follow-up, and a cover-specific one."""
    raise NotImplementedError
