"""What a mutation is, and the list of all: each is one function under a decorator that names and describes it."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from briefing.sources.open_meteo import PAST_DAYS
from briefing.tools.attack.bases import GRID, MODEL, TEXT_ROUTE, VARIANTS, Base, base_of
from briefing.tools.attack.bodies import JSON, Answer, Bodies, model_body, opened


@dataclass(frozen=True)
class Before:
    """An earlier gathering of the same lake: its bodies, and how long before the morning it was."""

    bodies: Bodies
    earlier: timedelta


def earlier(base: Base, gap: timedelta) -> Before:
    """The base's sound bodies as they would have been so long before: issued earlier, the model beginning earlier."""
    bodies = dict(base.bodies)
    for route in (GRID, TEXT_ROUTE):
        answer = bodies[route]
        if isinstance(answer, Answer) and answer.status == 200:
            bodies[route] = aged = opened(answer)
            aged.data["properties"]["updateTime"] = (base.scene.issued - gap).isoformat()
    days = (base.now.date() - (base.now - gap).date()).days
    if days:
        bodies[MODEL] = Answer(model_body(base.scene, first_day=-PAST_DAYS - days), kind=JSON)
    return Before(bodies, gap)


@dataclass(frozen=True)
class Attack:
    """One mutated morning.

    sound: what it is held against, None for the base's own bodies. before, sound_before: earlier gatherings of the
    mutated and of the sound morning. unknown: factors that nobody can know any more, which may not count as within.
    strict: all that is needed is in the bodies still, so that a line does not make up for a lower level. whole_page: a
    page that contradicts itself counts although the sound one does, too.
    """

    bodies: Bodies
    sound: Bodies | None = None
    before: tuple[Before, ...] = ()
    sound_before: tuple[Before, ...] = ()
    unknown: frozenset[str] = frozenset()
    strict: bool = False
    whole_page: bool = False
    said: str = ""  # what was changed, for the report


@dataclass(frozen=True)
class Draw:
    """One case while it is made: chance, the base and its bodies, of which those that are asked for are copies."""

    rng: random.Random
    base: Base
    bodies: Bodies

    def pick(self, choices: Sequence[Any]) -> Any:
        """One of some."""
        return self.rng.choice(choices)

    def answer(self, route: str = "") -> Answer:
        """The answer of a route, the base's own without a name."""
        name = route or self.base.route
        found = self.bodies[name]
        if not isinstance(found, Answer):
            raise TypeError(f"{name} computes its answer")
        if found is self.base.bodies.get(name):
            self.bodies[name] = found = opened(found)
        return found

    def done(self, said: str = "", **more: Any) -> Attack:
        """The finished attack."""
        return Attack(self.bodies, said=said, **more)


Make = Callable[[Draw], Attack]


@dataclass(frozen=True)
class Kind:
    """One kind of mutation. ``fault``: the numbered fault it stands for, 0 for none. ``whole``: build all of it."""

    id: str
    about: str
    bases: tuple[str, ...]
    make: Make = field(repr=False)
    fault: int = 0
    whole: bool = False


KINDS: dict[str, Kind] = {}


def kind(id: str, *bases: str, whole: bool = False) -> Callable[[Make], Make]:
    """Enter a mutation in the list: its docstring describes it, a number after "fault" in its id is the fault's."""

    def enter(make: Make) -> Make:
        if id in KINDS:
            raise ValueError(f"the kind {id} stands twice")
        about = (make.__doc__ or "").strip()
        fault = int(id[5:7]) if id.startswith("fault") else 0
        KINDS[id] = Kind(id, about, bases, make, fault, whole)
        return make

    return enter


def drawn(one: Kind, seed: int) -> tuple[Base, Attack]:
    """Make a case of a kind: the same seed gives the same case.

    Each round through all kinds takes two variants of the bases, so that few sound mornings are made in a short run.
    """
    rng = random.Random(f"{one.id}:{seed}")
    turn = seed // max(1, len(KINDS))
    base = base_of(rng.choice(one.bases), (2 * turn + rng.randrange(2)) % VARIANTS)
    return base, one.make(Draw(rng, base, dict(base.bodies)))
