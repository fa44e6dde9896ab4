"""Runs the service for a while at a quickened clock and watches memory and descriptors.

An hour of the lakes passes in a minute: every lake has an outing each day, so that wind checks, briefings and mails are
due all the time. ``python -m briefing.tools.soak_service`` runs 20 minutes.
"""

from __future__ import annotations

import argparse
import io
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from briefing.service.log import Log
from briefing.service.owner import Owner
from briefing.service.serve import serve
from briefing.store import open_store
from briefing.store.ledger import Ledger
from briefing.tools.loopback_mail import LoopbackMail
from briefing.tools.service_bench import mail_settings, make_home, store_inputs, world_of

QUICKENED = 60.0
HABIT = '\n[[outings]]\nlaunch = "06:00"\nreturn = "18:00"\n'
SETTINGS = "[tick]\nevery_s = 1\n[health]\nport = 0\n"
START = datetime(2026, 4, 17, 8, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Soak:
    """What was seen. Memory in MB: after the warm-up, at the end, and the most in between.

    Descriptors: the fewest of the first and of the last minutes, for a leak lifts the fewest, while files and sockets
    that are open at the moment of a look do not.
    """

    minutes: float
    items: int
    mails: int
    memory_warm: float
    memory_end: float
    memory_most: float
    descriptors_warm: int
    descriptors_end: int

    @property
    def growth(self) -> float:
        """Share by which memory grew after the warm-up."""
        return self.memory_end / self.memory_warm - 1.0


class _Counter(io.StringIO):
    """Counts lines of the log without keeping them."""

    made = 0

    def write(self, text: str) -> int:
        self.made += '"event": "made"' in text
        return len(text)


def soak(minutes: float, warm_up: float, lakes: int, root: Path) -> Soak:
    """Run the service for some minutes; the state after ``warm_up`` minutes is compared with the end."""
    with LoopbackMail() as mail:
        home = make_home(root, lakes, habit=HABIT, service=SETTINGS + mail_settings(mail.port))
        store_inputs(home, START - timedelta(hours=1), date(2026, 4, 17))
        began = time.monotonic()

        def clock() -> datetime:
            return START + timedelta(seconds=(time.monotonic() - began) * QUICKENED)

        lines, stop = _Counter(), threading.Event()
        samples: list[tuple[float, float, int]] = []
        with Owner(home.data_dir / "service") as owner:
            world = world_of(home, clock, owner, Log(lines, human=False))
            running = threading.Thread(target=serve, args=(world, stop))
            running.start()
            while time.monotonic() - began < minutes * 60:
                time.sleep(2.0)
                samples.append((time.monotonic() - began, memory_mb(), len(list(Path("/proc/self/fd").iterdir()))))
            stop.set()
            running.join()
        with open_store(home.store_file, clock()) as store:
            items = len(
                [row for row in Ledger(store).occurrences(START - timedelta(days=1)) if row.built_at is not None]
            )
        mails = len(mail.collect())
    warm = [one for one in samples if one[0] >= warm_up * 60] or samples[-1:]
    third = max(1, len(warm) // 6)
    return Soak(
        minutes=minutes,
        items=items,
        mails=mails,
        memory_warm=sum(one[1] for one in warm[:third]) / third,
        memory_end=sum(one[1] for one in warm[-third:]) / third,
        memory_most=max(one[1] for one in warm),
        descriptors_warm=min(one[2] for one in warm[:third]),
        descriptors_end=min(one[2] for one in warm[-third:]),
    )


def memory_mb() -> float:
    """Resident memory of this process (MB)."""
    for line in Path("/proc/self/status").read_text(encoding="utf-8").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024.0
    raise OSError("no resident memory in /proc/self/status")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and print one line; fails over 5 % growth, more descriptors, or fewer than five items a minute."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=20.0)
    parser.add_argument("--warm-up", type=float, default=3.0)
    parser.add_argument("--lakes", type=int, default=12)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        seen = soak(chosen.minutes, chosen.warm_up, chosen.lakes, Path(folder))
    rate = seen.items / seen.minutes
    print(
        f"soak: {seen.minutes:g} min, {seen.items} items ({rate:.1f} a minute), {seen.mails} mails, memory "
        f"{seen.memory_warm:.1f} MB after warm-up, {seen.memory_end:.1f} MB at the end ({seen.growth:+.1%}), most "
        f"{seen.memory_most:.1f} MB; descriptors {seen.descriptors_warm} then {seen.descriptors_end}"
    )
    flat = seen.descriptors_end <= seen.descriptors_warm
    return 0 if seen.growth <= 0.05 and flat and rate >= 5 else 1


if __name__ == "__main__":
    raise SystemExit(main())
