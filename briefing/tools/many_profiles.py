"""One morning of many lakes: built from stored inputs, handed to a loopback mail server by two rounds side by side.

Prints the time for each number of lakes, how far that is from linear, and the upstream requests that such a morning
needs, counted by asking a server on loopback that knows nothing. ``python -m briefing.tools.many_profiles``.
"""

from __future__ import annotations

import argparse
import io
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from briefing.service.log import Log
from briefing.service.owner import Owner
from briefing.service.tick import run_round
from briefing.sources.urls import variable_of
from briefing.tools.loopback_mail import LoopbackMail
from briefing.tools.service_bench import mail_settings, make_home, store_inputs, world_of

DAY = date(2026, 4, 18)
#: A minute after the briefing's time, 04:45 in New York.
DUE = datetime(2026, 4, 18, 8, 46, tzinfo=UTC)
SERVICES = ("nws", "open_meteo", "open_meteo_archive", "usgs", "metar", "ndbc")
_OPEN_METEO = "600 a minute, 5000 an hour, 10000 a day; non-commercial"
#: What the services allow, as they state it.
LIMITS = {
    "nws": "no number stated; asks to wait 5 s when it was too much",
    "open_meteo": _OPEN_METEO,
    "open_meteo_archive": _OPEN_METEO,
}


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


def upstream(lakes: int, root: Path) -> Counter[str]:
    """Count the requests of one morning by service, asked of a server that answers 404 to all."""
    seen: Counter[str] = Counter()
    lock = threading.Lock()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            with lock:
                seen[self.path.split("/")[1]] += 1
            self.send_response(404)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Requests are counted, not logged."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    home = make_home(root, lakes)
    (home.config_dir / "settings.toml").write_text(
        'schema_version = 1\ncontact = "tests@example.org"\n', encoding="utf-8"
    )
    base = f"http://127.0.0.1:{server.server_address[1]}"
    environment = {variable_of(name): f"{base}/{name}" for name in SERVICES}
    with Owner(home.data_dir / "service") as owner:
        world = world_of(home, lambda: DUE - timedelta(hours=8), owner, Log(io.StringIO(), human=False))
        run_round(world)
        world.offline, world.environment, world.clock = False, environment, lambda: DUE
        run_round(world)
    server.shutdown()
    server.server_close()
    return seen


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and print the table; fails over 120 s for the most lakes, or when a mail is missing."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lakes", type=int, nargs="+", default=[50, 100, 250, 500])
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--limit-s", type=float, default=120.0)
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
        asked = upstream(10, Path(folder))
    for service, count in sorted(asked.items()):
        limit = LIMITS.get(service, "none stated")
        print(f"requests of 10 lakes to {service}: {count} ({count / 10:.1f} a lake; limit: {limit})")
    whole = all(one.mails == one.lakes for one in found)
    return 0 if whole and found[-1].seconds <= chosen.limit_s else 1


if __name__ == "__main__":
    raise SystemExit(main())
