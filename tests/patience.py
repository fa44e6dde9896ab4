"""Limits on real time that no machine is too slow for.

The product gives up on a service, a server or a locked store after seconds. A test in which everything answers must not
meet those limits on a slow machine; a test of a limit brings its own clock, or holds the other side until it is done.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import pytest

#: Only a run that hangs waits so long (s).
HANG_S = 1800.0


def be_patient(patch: pytest.MonkeyPatch) -> None:
    """Let what the product waits for take as long as it likes, unless a test says otherwise."""
    from briefing.sources import http
    from briefing.sources.shared import Shared
    from briefing.store.database import open_store

    patch.setattr(http, "CONNECT_S", HANG_S)
    patch.setattr(http, "READ_S", HANG_S)
    for made in (http.Fetcher, Shared):
        patch.setattr(made.__init__, "__defaults__", _with_standing_clock(made.__init__))
    patch.setitem(open_store.__kwdefaults__, "busy_timeout_s", HANG_S)


def _with_standing_clock(function: Any) -> tuple[Any, ...]:
    """Defaults of a function, with a clock that stands still in place of the machine's."""
    standing: Callable[[], float] = _standing
    return tuple(standing if one is time.monotonic else one for one in function.__defaults__)


def _standing() -> float:
    return 0.0
