"""What a day brings beside season and weather: current, tide, front, fished water, bait and bottom."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from briefing.core.advice.conditions import Conditions, FrontStage, Spot
from briefing.vocabulary import Forage


@dataclass(frozen=True, slots=True)
class Rung:
    """What to change in turn on fish that saw a lure, with what it answers.

    A lure has a rung of some ``retrieves`` where it is worked by one of them; those of ``spare_groups`` need it not.
    """

    text: str
    retrieves: frozenset[str] = frozenset()
    spare_groups: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Moment:
    """One of them: the sentence for the place, and factors on lures by id, pace and group.

    ``colours`` is added to the score of families, ``tone`` is the only tone to take where it isn't empty; ``forage``
    is what bass eat then; ``mood`` steps up the expected mood; ``weight`` multiplies that of what lies on the bottom;
    ``upper_m`` is the depth down to which fish are looked for, m.
    """

    place: str
    lures: Mapping[str, float] = field(default_factory=dict)
    paces: Mapping[str, float] = field(default_factory=dict)
    groups: Mapping[str, float] = field(default_factory=dict)
    colours: Mapping[str, float] = field(default_factory=dict)
    tone: str = ""
    forage: Forage | None = None
    mood: float = 0.0
    weight: float = 1.0
    upper_m: float | None = None
    caution: str = ""
    rungs: tuple[Rung, ...] = ()
    days: int = 1  # for how many days bait counts after it was seen
    low_sun: bool = False  # only until the morning sun is up


Moments = Mapping[str, Mapping[str, Moment]]


def read_moments(data: Mapping[str, Any]) -> dict[str, dict[str, Moment]]:
    """Read the parsed file; raises KeyError or ValueError naming the field."""
    return {
        kind: {key: _moment(item) for key, item in table.items()}
        for kind, table in data.items()
        if isinstance(table, Mapping)
    }


def _moment(item: Mapping[str, Any]) -> Moment:
    return Moment(
        place=item["place"],
        lures=_numbers(item.get("raise", {})),
        paces=_numbers(item.get("pace", {})),
        groups=_numbers(item.get("group", {})),
        colours=_numbers(item.get("colours", {})),
        tone=item.get("tone", ""),
        forage=Forage(item["forage"]) if "forage" in item else None,
        mood=float(item.get("mood", 0.0)),
        weight=float(item.get("weight", 1.0)),
        upper_m=item.get("upper_m"),
        caution=item.get("caution", ""),
        days=int(item.get("days", 1)),
        low_sun=bool(item.get("low_sun", False)),
        rungs=tuple(
            Rung(one["text"], frozenset(one.get("retrieves", ())), frozenset(one.get("spare_groups", ())))
            for one in item.get("rungs", ())
        ),
    )


def rungs_below(moment: Moment, group: str, retrieves: Collection[str], shown: str) -> tuple[str, ...]:
    """The rungs of one lure from its shown retrieve on: what it can do, in order, without what it does already."""
    own = [
        one
        for one in moment.rungs
        if group not in one.spare_groups and (not one.retrieves or one.retrieves & set(retrieves))
    ]
    at = next((place for place, one in enumerate(own) if shown in one.retrieves), None)
    return tuple(one.text for one in (own if at is None else own[at + 1 :]))


def fed(conditions: Conditions, moments: Moments) -> Conditions:
    """The conditions with what bass gather at as their first food."""
    food = None if conditions.bait is None else moments["bait"][conditions.bait.value].forage
    if food is None:
        return conditions
    return replace(conditions, forage=(food, *(one for one in conditions.forage if one is not food)))


def _numbers(table: Mapping[str, Any]) -> dict[str, float]:
    return {key: float(value) for key, value in table.items()}


def moments_now(conditions: Conditions, spot: Spot | None, moments: Moments) -> tuple[Moment, ...]:
    """Those that hold at this hour and place, in the order in which they are told."""
    stage = conditions.front_stage
    keys = [
        ("bait", None if conditions.bait is None else conditions.bait.value),
        ("current", None if spot is None or not spot.flow else spot.flow),
        ("tide", None if conditions.tide is None else conditions.tide.value),
        ("front", None if stage is None or stage is FrontStage.NONE else stage.value),
        ("fished", "yesterday" if conditions.pressured else None),
        ("bottom", None if spot is None or spot.bottom is None else spot.bottom.value),
    ]
    return tuple(found for kind, key in keys if key is not None and (found := moments[kind].get(key)) is not None)
