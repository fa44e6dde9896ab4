"""Before the lakes of a round are made one by one, their needs are asked for together."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from datetime import date

from briefing.app.served import Lake
from briefing.errors import BriefingError
from briefing.pipeline.run import Run, gather_request
from briefing.service.world import World
from briefing.sources.together import ask_together
from briefing.sources.turn import Turn
from briefing.store import Store

#: So many lakes are asked for and made before the next ones: data stay fresh, and two rounds side by side share them.
LAKES_AT_ONCE = 50
_REQUESTS = 500


def ask_ahead(
    world: World,
    store: Store,
    due: Sequence[tuple[Lake, date]],
    pause: Callable[[float], None] = time.sleep,
    step: Callable[[], None] = lambda: None,
) -> None:
    """Ask for lakes and the dates their briefings are about; what goes wrong is logged, and each lake asks alone.

    ``pause`` waits some seconds, to stay within what a service allows a minute; ``step`` is called around each wait.
    """
    if world.offline or len({lake.profile.id for lake, _ in due}) < 2:
        return

    def waited(seconds: float) -> None:
        step()
        pause(seconds)
        step()

    try:
        requests = [
            gather_request(Run(profile=lake.profile, profile_path=lake.path, day=day, now=world.now()), store)
            for lake, day in due
        ]
        with world.fetcher(_REQUESTS) as fetcher:
            if fetcher is None:
                return
            ask_together(requests, fetcher, Turn(world.home.cache_dir, waited))
            asked = [record for record in fetcher.requests if record.tries]
    except Exception as error:  # a fault of ours must not silence the lakes, which ask for themselves
        words = str(error) if isinstance(error, BriefingError) else f"{type(error).__name__}: {error}"
        world.log("not_asked_together", why=words)
        return
    failed = sum(record.status != 200 for record in asked)
    world.log("asked_together", lakes=len(due), requests=len(asked), failed=failed or None)
