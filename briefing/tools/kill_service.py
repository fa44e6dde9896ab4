"""Kills the service at chosen and at random places, restarts it until it is done, and counts what came of it.

Every trial is one morning of one lake. A round runs in a forked process; SIGKILL strikes inside the build, the file
write, each step of the mail's hand-over (the loopback server holds the session there), or at a random moment. Then
rounds are run, a few minutes apart, until the morning is closed. ``python -m briefing.tools.kill_service`` runs 400
placed and 200 random kills.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import random
import signal
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.delivery import folder as folder_module
from briefing.profile.paths import Home
from briefing.service import briefings, tick
from briefing.service.world import World
from briefing.store.ledger import Ledger
from briefing.store.ledger_records import MessageState, OccurrenceState
from briefing.tools.loopback_mail import STEPS, LoopbackMail

LAKE, FIRST_DAY = "kill-pond", date(2026, 3, 1)
#: Places in our own code: before and after what is named.
PLACES = ("claim", "build", "lay_down", "remember", "file_part", "file_done", "take", "commit", "settle")
PHASES = (*PLACES, *(f"smtp_{step}" for step in STEPS))
#: A morning's rounds: 3 min apart, so that a resend has its time.
STEP, MOST_ROUNDS = timedelta(minutes=3), 12


@dataclass
class Tally:
    """What became of the mornings of one phase."""

    kills: int = 0
    lost: int = 0
    once: int = 0
    twice_same: int = 0
    second_distinct: int = 0
    open: int = 0
    uncertain_shown: int = 0
    not_struck: int = 0


@dataclass
class Result:
    """All phases, and faults in words."""

    phases: dict[str, Tally] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def table(self) -> str:
        """The phases as a table."""
        names = ("kills", "once", "twice_same", "lost", "second_distinct", "open", "uncertain_shown", "not_struck")
        head = "phase         " + "".join(f"{name:>17}" for name in names)
        rows = [f"{phase:14}" + "".join(f"{getattr(t, name):17d}" for name in names)
                for phase, t in self.phases.items()]  # fmt: skip
        total = {name: sum(getattr(t, name) for t in self.phases.values()) for name in names}
        return "\n".join([head, *rows, f"{'all':14}" + "".join(f"{total[name]:17d}" for name in names)])


class Bench:
    """A home with one lake, a mail server, and rounds in forked processes."""

    def __init__(self, root: Path, mail: LoopbackMail) -> None:
        self.home = Home.from_environment({"BRIEFING_HOME": str(root)})
        self.mail = mail
        self.home.lakes_dir.mkdir(parents=True, exist_ok=True)
        (self.home.lakes_dir / f"{LAKE}.toml").write_text(
            'schema_version = 1\nname = "Kill Pond"\nlatitude = 30.61\nlongitude = -84.22\n'
            'time_zone = "America/New_York"\ncraft = "kayak"\n',
            encoding="utf-8",
        )
        (self.home.config_dir / "service.toml").write_text(
            f'[mail]\nhost = "127.0.0.1"\nport = {mail.port}\nsecurity = "none"\nsender = "lake@example.net"\n'
            'to = ["reader@example.org"]\nconnect_s = 600\ncommand_s = 600\nanswer_s = 600\n',
            encoding="utf-8",
        )

    def round(self, now: datetime, strike: Callable[[], None] = lambda: None) -> int:
        """Fork, run one round at ``now``, and return the process's id; ``strike`` is called first in the child."""
        pid = os.fork()
        if pid == 0:
            code = 1
            try:
                strike()
                with Owner(self.home.data_dir / "service") as owner:
                    log = Log(io.StringIO(), human=False)
                    tick.run_round(World(home=self.home, clock=lambda: now, owner=owner, log=log, offline=True))
                code = 0
            except Exception:
                traceback.print_exc()
            finally:
                os._exit(code)
        return pid

    def ledger_state(self, day: date) -> tuple[OccurrenceState | None, list[MessageState], bool]:
        """State of a morning, of its mails, and whether a hand-over without an answer was noted."""
        from briefing.store import open_store

        with open_store(self.home.store_file, datetime.now(UTC)) as store:
            rows = [(row, messages) for row, messages in Ledger(store).of_outing(LAKE, day, "morning")]
        mails = [message for _, messages in rows for message in messages if message.channel == "mail"]
        state = rows[0][0].state if rows else None
        return state, [mail.state for mail in mails], any(mail.uncertain_at is not None for mail in mails)


def run(phases: Sequence[str], kills: int, randoms: int, seed: int, root: Path) -> Result:
    """Run ``kills`` placed kills, spread over ``phases``, and ``randoms`` at random times."""
    plan = [phases[n % len(phases)] for n in range(kills)] + ["random"] * randoms
    result = Result({phase: Tally() for phase in dict.fromkeys(plan)})
    dice = random.Random(seed)
    with LoopbackMail() as mail:
        bench = Bench(root, mail)
        _wait(bench.round(datetime(2026, 2, 28, 22, 0, tzinfo=UTC)))
        usual = _usual_time(bench)
        for number, phase in enumerate(plan):
            day = FIRST_DAY + timedelta(days=number + 1)
            _trial(bench, phase, day, usual, dice, result)
    return result


def _usual_time(bench: Bench) -> float:
    """How long an undisturbed round with a briefing takes (s)."""
    began = time.monotonic()
    _wait(bench.round(_due(FIRST_DAY)))
    return time.monotonic() - began


def _trial(bench: Bench, phase: str, day: date, usual: float, dice: random.Random, result: Result) -> None:
    tally = result.phases[phase]
    before = len(bench.mail.collect())
    now = _due(day)
    tally.kills += 1
    if not _strike(bench, phase, now, usual, dice):
        tally.not_struck += 1
    for _ in range(MOST_ROUNDS):
        state, mails, uncertain = bench.ledger_state(day)
        waiting = any(one not in (MessageState.SENT, MessageState.UNCERTAIN) for one in mails)
        if state is OccurrenceState.DONE and not waiting and not (uncertain and MessageState.SENT not in mails):
            break
        now += STEP
        _wait(bench.round(now))
    else:
        tally.open += 1
        result.faults.append(f"{phase} {day}: not closed: {bench.ledger_state(day)}")
    new = bench.mail.collect()[before:]
    _count(tally, phase, day, new, bench.ledger_state(day)[2], result)
    if not (bench.home.briefings_dir / f"{LAKE}-{day.isoformat()}.html").exists():
        result.faults.append(f"{phase} {day}: no saved file")


def _count(
    tally: Tally, phase: str, day: date, new: Sequence[tuple[str, str]], uncertain: bool, result: Result
) -> None:
    by_id = Counter(ident for ident, _ in new)
    if not new:
        tally.lost += 1
        result.faults.append(f"{phase} {day}: lost")
    elif len(by_id) > 1 or len(set(new)) > 1:
        tally.second_distinct += 1
        result.faults.append(f"{phase} {day}: a second distinct message {new}")
    elif len(new) == 1:
        tally.once += 1
    else:
        tally.twice_same += 1
        if len(new) > 2:
            result.faults.append(f"{phase} {day}: sent {len(new)} times")
        if not uncertain:
            result.faults.append(f"{phase} {day}: sent twice and not shown as uncertain")
    tally.uncertain_shown += uncertain


def _strike(bench: Bench, phase: str, now: datetime, usual: float, dice: random.Random) -> bool:
    """Run a round and kill it; False when it had ended before."""
    if phase == "random":
        pid = bench.round(now)
        time.sleep(dice.uniform(0.0, usual * 1.05))
        return _kill(pid)
    if phase.startswith("smtp_"):
        bench.mail.arm(phase.removeprefix("smtp_"))
        pid = bench.round(now)
        held = False
        while not held and not _ended(pid):
            held = bench.mail.held(0.2)
        struck = _kill(pid) and held
        bench.mail.arm("")
        bench.mail.release()
        return struck
    return os.waitstatus_to_exitcode(_wait(bench.round(now, lambda: _arm_place(phase)))) == -signal.SIGKILL


def _arm_place(phase: str) -> None:
    """In the child: end the process by SIGKILL when a place is reached."""

    def die_before(owner: Any, name: str) -> None:
        setattr(owner, name, lambda *_, **__: os.kill(os.getpid(), signal.SIGKILL))

    def die_after(owner: Any, name: str) -> None:
        real = getattr(owner, name)

        def then_die(*args: Any, **keywords: Any) -> Any:
            real(*args, **keywords)
            os.kill(os.getpid(), signal.SIGKILL)

        setattr(owner, name, then_die)

    places: dict[str, Callable[[], None]] = {
        "claim": lambda: die_after(Ledger, "claim"),
        "build": lambda: die_after(briefings, "compute"),
        "lay_down": lambda: die_after(Ledger, "built"),
        "remember": lambda: die_after(briefings, "remember"),
        "file_part": lambda: die_before(Path, "replace"),
        "file_done": lambda: die_after(folder_module, "write_all"),
        "take": lambda: _die_for_mail(die_after, Ledger, "take"),
        "commit": lambda: _die_for_mail(die_after, Ledger, "commit"),
        "settle": lambda: _die_for_mail(die_before, Ledger, "settle"),
    }
    places[phase]()


def _die_for_mail(how: Callable[[Any, str], None], owner: Any, name: str) -> None:
    """Arm a place of the hand-over once the files are saved, so that it strikes the mail."""
    real = tick.hand_over_waiting

    def armed(*args: Any, **keywords: Any) -> Any:
        how(owner, name)
        return real(*args, **keywords)

    setattr(tick, "hand_over_waiting", armed)  # noqa: B010


def _ended(pid: int) -> bool:
    """Whether a process has ended; it is left to be waited for."""
    return os.waitid(os.P_PID, pid, os.WEXITED | os.WNOHANG | os.WNOWAIT) is not None


def _kill(pid: int) -> bool:
    os.kill(pid, signal.SIGKILL)
    return os.waitstatus_to_exitcode(_wait(pid)) == -signal.SIGKILL


def _wait(pid: int) -> int:
    return os.waitpid(pid, 0)[1]


def _due(day: date) -> datetime:
    """A minute after the briefing's time, 04:45 in New York."""
    from zoneinfo import ZoneInfo

    return datetime(day.year, day.month, day.day, 4, 46, tzinfo=ZoneInfo("America/New_York")).astimezone(UTC)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=400)
    parser.add_argument("--phases", nargs="+", choices=PHASES, default=PHASES, help="places to kill at")
    parser.add_argument("--randoms", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    chosen = parser.parse_args(arguments)
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        result = run(chosen.phases, chosen.kills, chosen.randoms, chosen.seed, Path(folder))
    if chosen.json:
        print(json.dumps({phase: vars(tally) for phase, tally in result.phases.items()}))
    else:
        print(result.table())
    print(f"kills: {len(result.faults)} faults, {time.perf_counter() - began:.0f} s")
    print("\n".join(result.faults[:40]), end="\n" if result.faults else "")
    return 1 if result.faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
