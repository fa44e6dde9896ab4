"""Writes the bodies of one case to files, so that its fault can be looked at by hand."""

from __future__ import annotations

from pathlib import Path

from briefing.tools.attack import every_kind
from briefing.tools.attack.bodies import Answer, Bodies
from briefing.tools.attack.kinds import drawn
from briefing.tools.attack.run import case_kind


def keep(folder: Path, number: int, only: str = "") -> str:
    """Write the mutated bodies of a case, and of the gatherings before it; returns what it is."""
    found = [one for one in every_kind() if only and one.id.startswith(only)]
    one = found[0] if found else case_kind(number)
    base, attack = drawn(one, number)
    _write(folder / "morning", attack.bodies, base.bodies)
    for step in attack.before:
        _write(folder / f"before_{step.earlier.total_seconds() / 3600:.0f}h", step.bodies, base.bodies)
    return f"case {number} of {one.id} on {base.id} at {base.now:%Y-%m-%d %H:%M} UTC: {attack.said or one.about}"


def _write(folder: Path, bodies: Bodies, sound: Bodies) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for path, route in bodies.items():
        if isinstance(route, Answer):
            mark = "" if route is sound.get(path) else ".changed"
            head = f"{route.fails or route.status} {route.headers or ''}".strip()
            name = path.strip("/").replace("/", "_")
            (folder / f"{name}{mark}.body").write_bytes(route.content())
            (folder / f"{name}{mark}.head").write_text(f"{head} {route.kind}\n", encoding="utf-8")
