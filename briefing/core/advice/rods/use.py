"""What the rigged rods do in the plan: numbers in the order of use, and what each is for, read off the stops."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from briefing.core.advice.choice import Choice
from briefing.core.advice.plan import DayPlan
from briefing.core.advice.ranking import livelier
from briefing.core.advice.rods.types import RodPick, RodPlan

_RANKS = ("first choice", "second", "if refused")
_RESERVE = {
    "search": "to cover water with when the others find nothing",
    "medium": "for edges and targets when the others find nothing",
    "slow": "for fish that don't move for the others",
}


def by_use(rods: RodPlan, plan: DayPlan) -> RodPlan:
    """The rods numbered by their first use in the plan, each with the stops at which it is used.

    A rod whose lure is at no stop says that it is in reserve. Without stops the rods stay as they are.
    """
    if not plan.stops:
        return rods
    uses = {pick.number: _uses(pick, plan) for pick in rods.picks}
    first = {number: next(iter(sorted((at, rank) for at, rank, _ in found)), None) for number, found in uses.items()}
    order = sorted(rods.picks, key=lambda pick: (first[pick.number] is None, first[pick.number] or (0, 0), -pick.adds))
    picks = tuple(
        replace(pick, number=number, purpose=_purpose(uses[pick.number], pick), reserve=not uses[pick.number])
        for number, pick in enumerate(order, 1)
    )
    return replace(rods, picks=_told_once(picks))


def _told_once(picks: Sequence[RodPick]) -> tuple[RodPick, ...]:
    """What several rods stand by for, told with the first of them."""
    told: set[str] = set()
    out = []
    for pick in picks:
        again = pick.reserve and pick.purpose in told
        told.add(pick.purpose)
        out.append(replace(pick, purpose="In reserve too.") if again else pick)
    return tuple(out)


def first_named(plan: DayPlan) -> dict[str, Choice]:
    """Each lure as it is solved at the first stop that names it, by id: what list, card and page tell of it."""
    found: dict[str, Choice] = {}
    for choice in (choice for stop in plan.stops for choice in stop.choices):
        found.setdefault(choice.id, choice)
    return found


def _uses(pick: RodPick, plan: DayPlan) -> list[tuple[int, int, str]]:
    """Number of the stop, rank and name of the place for every stop at which the lure is named."""
    return [
        (at, _RANKS.index(choice.rank), f"{stop.spot} later on" if stop.goes_on else stop.spot)
        for at, stop in enumerate(plan.stops)
        for choice in stop.choices
        if choice.id == pick.setup.presentation and choice.rank in _RANKS
    ]


def _purpose(uses: list[tuple[int, int, str]], pick: RodPick) -> str:
    if not uses:
        return f"In reserve: {_RESERVE.get(pick.setup.pace, 'at no stop of the plan')}."
    parts = []
    for rank, word in enumerate(_RANKS):
        spots = list(dict.fromkeys(spot for _, at_rank, spot in uses if at_rank == rank))
        if spots:
            parts.append(f"{word} at {_listed(spots)}")
    return " ".join(f"{part[:1].upper()}{part[1:]}." for part in parts)


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def rigged_first(
    rigged: tuple[Choice, ...],
    free: tuple[Choice, ...],
    lead_share: float,
    answer_share: float,
    can_tie: Callable[[Choice], bool],
) -> tuple[Choice, ...]:
    """The three of a stop, from the lures on the rods as far as they serve.

    ``rigged`` are the three among the rigged lures, ``free`` the three among all, both best first. Another lure leads
    only where it scores so much better that the best rigged one has less than ``lead_share`` of it, and where some rod
    on the list ``can_tie`` it on. Where fewer than three rigged lures serve (``answer_share`` of the best) the stop
    names fewer: nobody ties knots in the wind.
    """
    if not free or not rigged:
        return free[:1] if free else ()
    best = free[0].score
    names = {choice.id for choice in rigged}
    good = [rigged[0], *(choice for choice in rigged[1:] if choice.score >= answer_share * best)]
    if rigged[0].score < lead_share * best and free[0].id not in names and can_tie(free[0]):
        least = answer_share * best
        answers = [choice for choice in good if choice.score >= least and not livelier(free[0], choice)]
        chosen = [free[0], *answers[:2]]
    else:
        chosen = good
    return tuple(replace(choice, rank=rank) for choice, rank in zip(chosen, _RANKS, strict=False))
