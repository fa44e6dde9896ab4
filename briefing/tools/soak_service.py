"""Runs the service for many rounds on a clock of its own and watches memory and descriptors.

A minute of the lakes passes when both jobs, making and handing over, have been done once more: what comes of it depends
on no machine's speed. Every lake has an outing each day, so that wind checks, briefings and mails are due all the time.
``python -m briefing.tools.soak_service`` runs 1200 rounds, at least a second each.
"""

from __future__ import annotations

import argparse
import io
import tempfile
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.service.serve import serve
from briefing.store import open_store
from briefing.store.ledger import Ledger
from briefing.tools.loopback_mail import LoopbackMail
from briefing.tools.service_bench import mail_settings, make_home, store_inputs, world_of

JOBS = ("make", "hand_over")
#: What a round stands for on the lakes' clock.
STEP = timedelta(minutes=1)
HABIT = '\n[[outings]]\nlaunch = "06:00"\nreturn = "18:00"\n'
SETTINGS = "[tick]\nevery_s = 1\n[health]\nport = 0\n"
START = datetime(2026, 4, 17, 8, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Soak:
    """What was seen. Memory in MB: after the warm-up, at the end, and the most in between.

    Descriptors: the fewest of the first and of the last rounds, for a leak lifts the fewest, while files and sockets
    that are open at the moment of a look do not.
    """

    rounds: int
    items: int
    mails: int
    memory_warm: float
    memory_end: float
    memory_most: float
    descriptors_warm: int
    descriptors_end: int

    @property
    def rate(self) -> float:
        """Items an hour of the lakes."""
        return self.items / (self.rounds * STEP / timedelta(hours=1))

    @property
    def growth(self) -> float:
        """Share by which memory grew after the warm-up."""
        return self.memory_end / self.memory_warm - 1.0


class _Sink(io.StringIO):
    """Forgets the lines of the log."""

    def write(self, text: str) -> int:
        return len(text)


class RoundClock:
    """A clock that steps when each job has begun and ended once since the last step; `look` is called at each step.

    After ``rounds`` steps ``stop`` is set. Called from the threads of both jobs.
    """

    def __init__(self, rounds: int, stop: threading.Event, look: Callable[[], None]) -> None:
        self._rounds, self._stop, self._look = rounds, stop, look
        self._lock = threading.Lock()
        self._begun: set[str] = set()
        self._ended: set[str] = set()
        self.steps = 0

    def __call__(self) -> datetime:
        """The instant on the lakes' clock."""
        return START + self.steps * STEP

    def tell(self, job: str, ended: bool) -> None:
        """Note that a job began or ended."""
        with self._lock:
            if not ended:
                self._begun.add(job)
            elif job in self._begun:  # one that began before the last step says nothing about what is due now
                self._ended.add(job)
            if self._ended.issuperset(JOBS) and not self._stop.is_set():
                self._begun.clear()
                self._ended.clear()
                self.steps += 1
                self._look()
                if self.steps >= self._rounds:
                    self._stop.set()


def soak(rounds: int, warm_up: int, lakes: int, root: Path) -> Soak:
    """Run the service for some rounds; the state after ``warm_up`` rounds is compared with the end."""
    samples: list[tuple[float, int]] = []
    stop = threading.Event()
    clock = RoundClock(rounds, stop, lambda: samples.append((memory_mb(), len(list(Path("/proc/self/fd").iterdir())))))
    with LoopbackMail() as mail:
        home = make_home(root, lakes, habit=HABIT, service=SETTINGS + mail_settings(mail.port))
        store_inputs(home, START - timedelta(hours=1), date(2026, 4, 17))
        with Owner(home.data_dir / "service") as owner:
            serve(world_of(home, clock, owner, Log(_Sink(), human=False)), stop, tell=clock.tell)
        with open_store(home.store_file, clock()) as store:
            items = len(
                [row for row in Ledger(store).occurrences(START - timedelta(days=1)) if row.built_at is not None]
            )
        mails = len(mail.collect())
    warm = samples[warm_up:] or samples[-1:]
    part = max(1, len(warm) // 6)
    return Soak(
        rounds=clock.steps,
        items=items,
        mails=mails,
        memory_warm=sum(one[0] for one in warm[:part]) / part,
        memory_end=sum(one[0] for one in warm[-part:]) / part,
        memory_most=max(one[0] for one in warm),
        descriptors_warm=min(one[1] for one in warm[:part]),
        descriptors_end=min(one[1] for one in warm[-part:]),
    )


def memory_mb() -> float:
    """Resident memory of this process (MB)."""
    for line in Path("/proc/self/status").read_text(encoding="utf-8").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024.0
    raise OSError("no resident memory in /proc/self/status")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and print one line; fails over 5 % growth, more descriptors, or under five items an hour of the lakes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=1200)
    parser.add_argument("--warm-up", type=int, default=180)
    parser.add_argument("--lakes", type=int, default=12)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        seen = soak(chosen.rounds, chosen.warm_up, chosen.lakes, Path(folder))
    print(
        f"soak: {seen.rounds} rounds, {seen.items} items ({seen.rate:.1f} an hour of the lakes), {seen.mails} mails, "
        f"memory {seen.memory_warm:.1f} MB after warm-up, {seen.memory_end:.1f} MB at the end ({seen.growth:+.1%}), "
        f"most {seen.memory_most:.1f} MB; descriptors {seen.descriptors_warm} then {seen.descriptors_end}"
    )
    flat = seen.descriptors_end <= seen.descriptors_warm
    return 0 if seen.growth <= 0.05 and flat and seen.rate >= 5 else 1


if __name__ == "__main__":
    raise SystemExit(main())
