"""One morning of many lakes: built from stored inputs, handed to a loopback mail server by two rounds side by side.

Prints the time for each number of lakes, and the upstream requests that such a morning needs, each lake alone and all
together, beside the services' limits; counted at services on loopback. ``python -m briefing.tools.many_profiles``.
"""

from __future__ import annotations

import argparse
import io
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.pipeline.run import Run, prepare
from briefing.service.ahead import LAKES_AT_ONCE, ask_ahead
from briefing.service.tick import run_round
from briefing.sources.service_limits import LIMITS
from briefing.sources.shared import Shared
from briefing.store import open_store
from briefing.tools.loopback_mail import LoopbackMail
from briefing.tools.loopback_services import LoopbackServices
from briefing.tools.service_bench import mail_settings, make_home, store_inputs, world_of

DAY = date(2026, 4, 18)
#: A minute after the briefing's time, 04:45 in New York.
DUE = datetime(2026, 4, 18, 8, 46, tzinfo=UTC)


@dataclass(frozen=True)
class Morning:
    """One morning of some lakes: wall time (s), processes' CPU time (s), mails taken."""

    lakes: int
    seconds: float
    cpu_s: float
    mails: int


def morning(lakes: int, processes: int, root: Path) -> Morning:
    """Make and hand over one morning; inputs and service state are stored before the clock starts."""
    with LoopbackMail() as mail:
        home = make_home(root, lakes, service=mail_settings(mail.port))
        with Owner(home.data_dir / "service") as owner:
            # The service has known these lakes since the evening before.
            evening = DUE - timedelta(hours=8)
            run_round(world_of(home, lambda: evening, owner, Log(io.StringIO(), human=False)))
        store_inputs(home, DUE - timedelta(hours=1), DAY)
        environment = {**os.environ, "BRIEFING_HOME": str(root), "BRIEFING_NOW": DUE.isoformat()}
        environment["OMP_NUM_THREADS"] = "1"
        command = [sys.executable, "-m", "briefing", "tick", "--offline"]
        before, began = os.times(), time.perf_counter()
        runs = [
            subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            for _ in range(processes)
        ]
        codes = [run.wait() for run in runs]
        seconds = time.perf_counter() - began
        after = os.times()
        if any(codes):
            raise RuntimeError(f"a round ended with {codes}")
        mails = len({ident for ident, _ in mail.collect()})
    cpu = after.children_user + after.children_system - before.children_user - before.children_system
    return Morning(lakes, seconds, cpu, mails)


@dataclass(frozen=True)
class Asked:
    """Requests of one morning by service: of lakes that each ask alone, of lakes asked for together, and the calls (as
    the services count them) of the latter."""

    alone: Counter[str]
    together: Counter[str]
    calls: Counter[str]


def upstream(lakes: int, root: Path) -> Asked:
    """Count the requests of one morning, asked of services on loopback that answer; every second lake has a gauge."""
    alone, _ = _asked(lakes, root / "alone", together=False)
    together, places = _asked(lakes, root / "together", together=True)
    calls = Counter({name: round(places[name] * LIMITS[name].weight) for name in together})
    return Asked(alone, together, calls)


def _asked(lakes: int, root: Path, *, together: bool) -> tuple[Counter[str], Counter[str]]:
    home = make_home(root, lakes)
    for number, path in enumerate(sorted(home.lakes_dir.glob("*.toml"))):
        if number % 2 == 0:
            gauge = f'\n[stations]\nusgs_sites = ["{2_000_000 + number:08d}"]\n'
            path.write_text(path.read_text(encoding="utf-8") + gauge, encoding="utf-8")
    (home.config_dir / "settings.toml").write_text(
        'schema_version = 1\ncontact = "tests@example.org"\n', encoding="utf-8"
    )
    with (
        LoopbackServices(DUE) as services,
        open_store(home.store_file, DUE) as store,
        Owner(home.data_dir / "service") as owner,
    ):
        world = world_of(home, lambda: DUE, owner, Log(io.StringIO(), human=False))
        world.offline, world.environment = False, services.environment()
        runs = [
            (lake, Run(profile=lake.profile, profile_path=lake.path, day=DAY, now=DUE))
            for lake in world.lakes(world.service_settings())
        ]
        with Shared() as shared:
            if together:
                world.shared = shared
                for first in range(0, len(runs), LAKES_AT_ONCE):
                    ask_ahead(world, store, [(lake, DAY) for lake, _ in runs[first : first + LAKES_AT_ONCE]], _skip)
            for lake, run in runs:
                with world.fetcher() as fetcher:
                    prepare(run, world.normals(lake.profile), store, fetcher)
        return services.asked, services.places


def _skip(_seconds: float) -> None:
    """No waiting for the services' limits: the services here have none."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and print the table; fails when a mail is missing, or over ``--limit-s`` (if given) for the most lakes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lakes", type=int, nargs="+", default=[50, 100, 250, 500])
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--asked", type=int, default=50, help="lakes whose upstream requests are counted")
    parser.add_argument("--limit-s", type=float, help="most seconds for the most lakes; on a machine that is known")
    chosen = parser.parse_args(arguments)
    found: list[Morning] = []
    for lakes in chosen.lakes:
        with tempfile.TemporaryDirectory() as folder:
            found.append(morning(lakes, chosen.processes, Path(folder)))
        one = found[-1]
        print(
            f"{one.lakes:5d} lakes: {one.seconds:6.1f} s, {one.cpu_s:6.1f} s CPU, "
            f"{one.seconds / one.lakes * 1000:5.0f} ms a lake, {one.mails} mails",
            flush=True,
        )
    with tempfile.TemporaryDirectory() as folder:
        asked = upstream(chosen.asked, Path(folder))
    print(
        f"upstream requests of a morning of {chosen.asked} lakes, all new to the services, every second with a gauge:"
    )
    for service in sorted(asked.alone):
        line = f"  {service:19} alone {asked.alone[service]:5d}, together {asked.together[service]:5d}"
        minute = LIMITS[service].per_minute
        calls = f", counted as {asked.calls[service]} calls" if minute else ""
        least = f", at least {asked.calls[service] / minute:.1f} min" if minute else ""
        print(f"{line}{calls}{least}; limits: {LIMITS[service].words}")
    print(f"  {'all':19} alone {asked.alone.total():5d}, together {asked.together.total():5d}")
    whole = all(one.mails == one.lakes for one in found)
    in_time = chosen.limit_s is None or found[-1].seconds <= chosen.limit_s
    return 0 if whole and in_time else 1


if __name__ == "__main__":
    raise SystemExit(main())
