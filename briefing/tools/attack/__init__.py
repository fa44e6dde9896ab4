"""Mornings under attack: bodies of every service, changed as services really change them, driven to the page."""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from briefing.tools.attack.kinds import Kind

_MODULES = ("on_alerts", "on_grid", "on_text", "on_model", "on_observed", "on_water", "on_time", "on_transport")


@lru_cache(maxsize=1)
def every_kind() -> tuple[Kind, ...]:
    """All kinds of mutation, by the name of their id."""
    for name in _MODULES:
        import_module(f"briefing.tools.attack.{name}")
    from briefing.tools.attack.kinds import KINDS

    return tuple(KINDS[name] for name in sorted(KINDS))
