"""The running service: one UTC interval job that makes what is due, one that hands over, and a look at its health.

Making and handing over are jobs of their own, so that a mail server which lets one wait holds up no build.
"""

from __future__ import annotations

import contextlib
import json
import logging
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.errors import BriefingError, InputError
from briefing.service.tick import hand_over_waiting, make_due
from briefing.service.world import World

OWNERS = "service"

Tell = Callable[[str, bool], None]


class Health:
    """When each job last came along well; read by the health address from another thread."""

    def __init__(self, clock: Callable[[], datetime], every_s: int) -> None:
        self._clock = clock
        self._limit = timedelta(seconds=max(3 * every_s, 60))
        self._lock = threading.Lock()
        self._ended: dict[str, datetime] = {}
        self._stepped: dict[str, datetime] = {}
        self._began: dict[str, datetime] = {"make": clock(), "hand_over": clock()}
        self._problem = ""

    def begin(self, job: str) -> None:
        """Note that a job began."""
        with self._lock:
            self._began[job] = self._clock()

    def step(self, job: str) -> None:
        """Note that a job goes on: a round of hundreds of lakes takes longer than a round may be silent."""
        with self._lock:
            self._stepped[job] = self._clock()

    def end(self, job: str, problem: str) -> None:
        """Note that a job ended, and what it had to say."""
        with self._lock:
            self._ended[job] = self._clock()
            if job == "make":
                self._problem = problem

    def state(self) -> tuple[bool, dict[str, Any]]:
        """Whether the service makes its rounds, and the instants it is judged by.

        A hand-over may wait ten minutes for a server's answer, so only the rounds of making count.
        """
        with self._lock:
            last = self._ended.get("make") or self._began["make"]
            last = max(last, self._stepped.get("make", last))
            age = self._clock() - last
            well = age <= self._limit and not self._problem
            ended = {job: at.isoformat() for job, at in self._ended.items()}
            return well, {"ok": well, "last_end": ended, "round_age_s": round(age.total_seconds()),
                          "problem": self._problem}  # fmt: skip


def serve(
    world: World,
    stop: threading.Event,
    rounds: int | None = None,
    announce: Callable[[int], None] = lambda _: None,
    tell: Tell = lambda _job, _ended: None,
) -> None:
    """Run until ``stop`` is set (or until each job was done so many times).

    ``announce`` is told the port of the health address, ``tell`` the beginning (False) and the end (True) of each job.
    """
    from apscheduler.schedulers.background import BackgroundScheduler

    # A round that takes longer than the interval is no news; what went wrong is in our own log.
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    settings = world.service_settings()
    every = settings.tick.every_s
    health = Health(world.clock, every)
    with Owner(world.owner.folder) as sender, health_server(health, settings.health.port) as port:
        announce(port)
        jobs: dict[str, Callable[[], str]] = {
            "make": lambda: make_due(world, lambda: health.step("make")).problem,
            "hand_over": lambda: hand_over_waiting(replace(world, owner=sender)).problem,
        }
        scheduler = BackgroundScheduler(
            timezone=UTC, job_defaults={"misfire_grace_time": None, "coalesce": True, "max_instances": 1}
        )
        done = {name: threading.Semaphore(0) for name in jobs}
        for name, job in jobs.items():
            run = _guarded(name, job, world.log, health, done[name], tell)
            scheduler.add_job(run, "interval", seconds=every, id=name, next_run_time=datetime.now(UTC))
        scheduler.start()
        world.log("serving", every_s=every, health=f"http://127.0.0.1:{port}/healthz")
        try:
            if rounds is None:
                stop.wait()
            for one in done.values():
                for _ in range(rounds or 0):
                    one.acquire()
        finally:
            scheduler.shutdown(wait=True)
            world.log("stopped")


def _guarded(
    name: str, job: Callable[[], str], log: Log, health: Health, done: threading.Semaphore, tell: Tell
) -> Callable[[], None]:
    """A job that never ends the scheduler: what went wrong is logged, and the next round tries again."""

    def run() -> None:
        health.begin(name)
        tell(name, False)
        try:
            health.end(name, job())
        except BriefingError as error:
            log("round_failed", job=name, why=error)
            health.end(name, str(error))
        except Exception as error:  # a fault of ours must not silence the service
            log("round_failed", job=name, why=f"{type(error).__name__}: {error}")
            health.end(name, type(error).__name__)
        finally:
            done.release()
            tell(name, True)

    return run


@contextlib.contextmanager
def health_server(health: Health, port: int) -> Iterator[int]:
    """Answer ``/healthz`` on the loopback address: 200 when rounds are made, 503 otherwise. Yields the port."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            well, body = health.state()
            found = self.path == "/healthz"
            raw = (json.dumps(body) if found else "{}").encode()
            self.send_response((200 if well else 503) if found else 404)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(raw)))
            self.end_headers()
            self.wfile.write(raw)

        def log_message(self, *_: object) -> None:
            """Requests are not logged."""

    try:
        server = ThreadingHTTPServer(("127.0.0.1", port), Handler)
    except OSError as error:
        raise InputError(
            f"The health page can't be served at 127.0.0.1:{port} ({error.strerror}): another service may be running; "
            "stop that one, or change [health] port in service.toml."
        ) from None
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.2}, daemon=True)
    thread.start()
    try:
        yield int(server.server_address[1])
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def stop_on_signals(stop: threading.Event) -> None:
    """End in order on Ctrl-C and when the system asks."""
    for name in ("SIGINT", "SIGTERM"):
        signal.signal(getattr(signal, name), lambda *_: stop.set())


def systemd_unit(program: str, environment: Mapping[str, str]) -> str:
    """A unit file for the user's own service manager."""
    home = environment.get("BRIEFING_HOME", "").strip()
    lines = [
        "# Save as ~/.config/systemd/user/lake-briefing.service, then:",
        "#   systemctl --user daemon-reload && systemctl --user enable --now lake-briefing",
        "#   loginctl enable-linger     # so that it runs while you are logged out",
        "[Unit]",
        "Description=Lake morning briefing",
        "After=network-online.target",
        "",
        "[Service]",
        f"ExecStart={program} serve",
        "Restart=always",
        "RestartSec=10",
        "# The mail password, in a file that only you can read, holding BRIEFING_MAIL_PASSWORD=...:",
        "EnvironmentFile=-%h/.config/lake-morning-briefing/mail.env",
        *([f"Environment=BRIEFING_HOME={home}"] if home else []),
        "NoNewPrivileges=yes",
        "PrivateTmp=yes",
        "",
        "[Install]",
        "WantedBy=default.target",
    ]
    return "\n".join(lines) + "\n"


def program_path() -> str:
    """How this program is called, as a full path."""
    import shutil

    here = Path(sys.argv[0])
    if here.name == "briefing" and here.is_file():
        return str(here.resolve())
    return shutil.which("briefing") or f"{sys.executable} -m briefing"
