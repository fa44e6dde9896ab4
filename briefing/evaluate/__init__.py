"""Scores of the models against measured or published reference data: ``python -m briefing.evaluate NAME PATH``.

Each evaluation is a module of this package with ``run(path) -> dict`` (plain values that JSON can hold) and
``table(result) -> str`` for a reader. They import nothing but the core, so a score never depends on the rest of the
program.
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import Any, Protocol, cast

from briefing.errors import InputError

#: Evaluations by name, with what PATH is for each.
NAMES = {
    "sky": "folder with sun-moon-truth.csv and moon-phases-truth.csv",
    "normals": "file of stations with monthly means",
    "waves": "file of published wave heights",
    "fetch": "file of shorelines with known fetches",
    "water": "folder with lakes.csv and daily lake temperatures",
    "phase": "folder with spawn-dates.csv",
}


class Evaluation(Protocol):
    """What a module of this package offers."""

    def run(self, path: Path) -> dict[str, Any]:
        """Score the model on the reference data at ``path``; raise ``InputError`` when they can't be read."""

    def table(self, result: dict[str, Any]) -> str:
        """Lay out the result of ``run`` for a reader."""


def evaluation(name: str) -> Evaluation:
    """Return the evaluation called ``name``; only that one is imported."""
    if name not in NAMES:
        raise InputError(f'there is no evaluation called "{name}"; there are: {", ".join(NAMES)}')
    return cast(Evaluation, import_module(f"briefing.evaluate.{name}"))
