"""The lures of each stop, from what is on the rods: knots are tied at home, not in the wind."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from briefing.core.advice.choice import Choice
from briefing.core.advice.conditions import TackleBox
from briefing.core.advice.rods import RodInputs, RodPlan
from briefing.core.advice.rods.agree import can_tie, worth_a_new_weight
from briefing.core.advice.rods.types import RodParameters
from briefing.core.advice.rods.use import rigged_first

Key = tuple[str, str]
#: How often three more lures are looked at for one that a rod of the list can carry.
_LEADS_TRIED = 4
#: Ranks and solves a stop (spot id, block id) for a tackle box; the three that are shown.
Ranker = Callable[[Key, TackleBox], tuple[Choice, ...]]


def on_the_rods(
    free: Mapping[Key, tuple[Choice, ...]],
    rods: RodPlan,
    problem: RodInputs,
    tackle: TackleBox,
    ranked: Ranker,
    p: RodParameters,
) -> dict[Key, tuple[Choice, ...]]:
    """The choices of each stop with the rigged lures at their rigged weights first; ``free`` where no rod is rigged."""
    if not rods.picks:
        return dict(free)
    box = replace(
        tackle,
        presentations=frozenset(pick.setup.presentation for pick in rods.picks),
        weights_oz={pick.setup.presentation: (pick.setup.weight_oz,) for pick in rods.picks if pick.setup.weight_oz},
    )

    at_any_weight = replace(box, weights_oz={})

    def tied(choice: Choice) -> bool:
        return can_tie(choice, rods, problem, p)

    def weighed(key: Key) -> tuple[Choice, ...]:
        """The rigged lures at their rigged weights; the first at the place's own where the rigged is far from it."""
        found = ranked(key, box)
        own = next((one for one in ranked(key, at_any_weight) if found and one.id == found[0].id), None)
        # at the first place it is fished as it was rigged at home
        if own is None or key == next(iter(free)) or not worth_a_new_weight(found[0], own, rods, p.demand):
            return found
        return (own, *found[1:])

    def with_a_lead(key: Key, choices: tuple[Choice, ...], rigged: tuple[Choice, ...]) -> tuple[Choice, ...]:
        """``choices`` led by the best that a rod of the list can be tied with, where what is on the rods serves badly.

        The best of all may ask for a rod that is not there, and the next may not.
        """
        if not rigged or not choices or tied(choices[0]):
            return choices
        owned = tackle.presentations or frozenset(setup.presentation for setup in problem.setups)
        passed = {choice.id for choice in rigged}
        three = choices
        for _ in range(_LEADS_TRIED):
            lead = next((one for one in three if one.id not in passed and tied(one)), None)
            if lead is not None:
                serves = rigged[0].score >= p.demand.lead_share * lead.score
                return choices if serves else (lead, *(one for one in choices if one.id != lead.id))
            passed |= {one.id for one in three}
            if not owned - passed:
                break
            three = ranked(key, replace(tackle, presentations=owned - passed))
        return choices

    def of_stop(key: Key, choices: tuple[Choice, ...]) -> tuple[Choice, ...]:
        rigged = weighed(key)
        led = with_a_lead(key, choices, rigged)
        return rigged_first(rigged, led, p.demand.lead_share, p.demand.answer_share, tied)

    return {key: of_stop(key, choices) for key, choices in free.items()}


def knot_at_the_first(rigged: Mapping[Key, tuple[Choice, ...]], rods: RodPlan) -> str:
    """The lure that the first place begins with where it is on no rod: the day does not begin with a knot."""
    lead = next((choices[0].id for choices in rigged.values() if choices), "")
    on = {pick.setup.presentation for pick in rods.picks}
    return "" if lead in on else lead


def in_reserve(
    stops: Mapping[Key, tuple[Choice, ...]], rods: RodPlan, tackle: TackleBox, ranked: Ranker
) -> dict[str, Choice]:
    """Lures on rods that no stop names, as they would be fished at the first stop: they need a colour too."""
    named = {choice.id for choices in stops.values() for choice in choices}
    first = next(iter(stops), None)
    out: dict[str, Choice] = {}
    for setup in (pick.setup for pick in rods.picks if first is not None):
        if setup.presentation in named or first is None:
            continue
        weights = {setup.presentation: (setup.weight_oz,)} if setup.weight_oz else {}
        box = replace(tackle, presentations=frozenset((setup.presentation,)), weights_oz=weights)
        out |= {choice.id: choice for choice in ranked(first, box)}
    return out
