"""Runs cases: draws one, drives its sound and its mutated morning, judges; never raises for what a case does."""

from __future__ import annotations

import tempfile
import time
import traceback
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path

from briefing.tools.attack import every_kind
from briefing.tools.attack.bases import Base, base_of
from briefing.tools.attack.bodies import Bodies
from briefing.tools.attack.drive import Memory, Outcome, Parts, drive, parts_of
from briefing.tools.attack.judge import faults
from briefing.tools.attack.kinds import Attack, Before, Kind, drawn

#: Every so many cases one is built whole, with its text.
SAMPLE = 40


@dataclass(frozen=True)
class Case:
    """What came of one case. ``faults`` are empty when it held; ``trace`` is the end of a traceback."""

    number: int
    kind: str
    base: str
    said: str
    faults: tuple[str, ...] = ()
    trace: str = ""
    seconds: float = 0.0

    @property
    def failed(self) -> bool:
        """Tell whether anything was wrong."""
        return bool(self.faults or self.trace)


def case_kind(number: int) -> Kind:
    """The kind of a case: every kind in turn."""
    kinds = every_kind()
    return kinds[number % len(kinds)]


def run_case(number: int, one: Kind | None = None) -> Case:
    """Run one case; whatever goes wrong in the program is its outcome."""
    one = one or case_kind(number)
    begin = time.process_time()
    base, attack = drawn(one, number)
    whole = one.whole or number % SAMPLE == 0
    try:
        wrong = _judged(base, attack, whole)
        trace = ""
    except Exception:  # any error at all is what is looked for here
        wrong, trace = [], traceback.format_exc(limit=-2).strip()
    return Case(number, one.id, base.id, attack.said, tuple(wrong), trace, time.process_time() - begin)


def _judged(base: Base, attack: Attack, whole: bool) -> list[str]:
    parts = None if whole else _parts(base)
    if attack.sound is None and not attack.sound_before:
        sound = _sound_whole(base.id) if whole else _sound(base.id)
    else:
        sound = _morning(base, base.bodies if attack.sound is None else attack.sound, attack.sound_before, parts)
    found = _morning(base, attack.bodies, attack.before, parts, with_text=whole)
    return faults(attack, sound, found)


def _morning(
    base: Base, bodies: Bodies, before: Sequence[Before], parts: Parts | None, *, with_text: bool = False
) -> Outcome:
    """One morning, after the gatherings before it, which it remembers."""
    if not before:
        return drive(base, bodies, parts=parts, with_text=with_text)
    memory = Memory()
    with tempfile.TemporaryDirectory(prefix="attack-") as folder:
        for step in before:
            memory = drive(base, step.bodies, memory, base.now - step.earlier, cache=Path(folder), parts=parts).memory
        return drive(base, bodies, memory, cache=Path(folder), parts=parts, with_text=with_text)


def _named(identity: str) -> Base:
    name, _, number = identity.rpartition(".")
    return base_of(name, int(number))


_PARTS: dict[tuple[str, date, datetime], Parts] = {}


def _parts(base: Base) -> Parts:
    """Water, season and plan of a lake, a day and an instant; those of the first base that is asked for."""
    key = f"{base.profile.id} {base.profile.craft}", base.day, base.now
    if key not in _PARTS:
        _PARTS[key] = parts_of(base)
    return _PARTS[key]


@lru_cache(maxsize=512)
def _sound(identity: str) -> Outcome:
    base = _named(identity)
    return drive(base, base.bodies, parts=_parts(base))


@lru_cache(maxsize=512)
def _sound_whole(identity: str) -> Outcome:
    base = _named(identity)
    return drive(base, base.bodies)
