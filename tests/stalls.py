"""Stalls of up to a second at random, to show that no outcome of a test depends on the machine's speed.

    BRIEFING_TEST_STALLS=7 make test            # seed 7; about one stall of each kind every three seconds
    BRIEFING_TEST_STALLS=7:0.5 make test        # one every half second

Three kinds, as a busy machine makes them: the whole process stands still (a thread sleeps and keeps the interpreter to
itself), one thread stands still at a socket or before its first step, one child process is stopped. The seed fixes how
long the stalls are and how far apart; what they hit depends on the run.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import random
import signal
import socket
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

VARIABLE = "BRIEFING_TEST_STALLS"
LONGEST_S = 1.0
USUAL_GAP_S = 3.0
#: Share of the calls at a socket, and of the threads, that are held up when stalls come at their usual pace.
_SHARE = 0.02
_AT_SOCKETS = ("send", "sendall", "recv", "recv_into", "accept", "connect")


class Stalls:
    """Puts stalls into this process from `start` until `stop`; ``count`` and ``total_s`` say how many and how long."""

    def __init__(self, seed: int, gap_s: float = USUAL_GAP_S, worker: str = "") -> None:
        self._dice = random.Random(f"{seed} {worker}")
        self._gap_s = gap_s
        self._share = min(0.5, _SHARE * USUAL_GAP_S / gap_s)
        self._over = threading.Event()
        self._lock = threading.Lock()
        self._undo = contextlib.ExitStack()
        self._own: set[threading.Thread] = set()
        self.count = {"process": 0, "thread": 0, "child": 0}
        self.total_s = 0.0

    def start(self) -> None:
        """Begin."""
        for name in _AT_SOCKETS:
            self._hold_up(socket.socket, name)
        self._hold_up(threading.Thread, "run")
        for stall in (self._freeze, self._stop_a_child):
            thread = threading.Thread(target=self._now_and_then, args=(stall,), daemon=True)
            self._own.add(thread)
            thread.start()

    def stop(self) -> None:
        """Take everything back; no child is left stopped."""
        self._over.set()
        for thread in self._own:
            thread.join()
        self._undo.close()

    def words(self) -> str:
        """What was put in."""
        kinds = ", ".join(f"{count} of a {kind}" for kind, count in self.count.items())
        return f"{kinds}; {self.total_s:.0f} s in all"

    def _now_and_then(self, stall: Callable[[], None]) -> None:
        with self._lock:
            wait = self._dice.expovariate(1.0 / self._gap_s)
        while not self._over.wait(wait):
            stall()
            with self._lock:
                wait = self._dice.expovariate(1.0 / self._gap_s)

    def _draw(self, kind: str) -> float:
        with self._lock:
            seconds = self._dice.uniform(0.0, LONGEST_S)
            self.count[kind] += 1
            self.total_s += seconds
        return seconds

    def _freeze(self) -> None:
        """Sleep without letting go of the interpreter: no thread of this process takes a step."""
        ctypes.PyDLL(None).usleep(int(1e6 * self._draw("process")))

    def _stop_a_child(self) -> None:
        """Stop one child or grandchild and let it go on; by a handle, so that no other process is ever meant."""
        found = descendants(os.getpid())
        if not found:
            return
        with self._lock:
            chosen = self._dice.choice(found)
        with contextlib.suppress(ProcessLookupError):
            handle = os.pidfd_open(chosen)
            try:
                if chosen in descendants(os.getpid()):
                    signal.pidfd_send_signal(handle, signal.SIGSTOP)
                    time.sleep(self._draw("child"))
                    signal.pidfd_send_signal(handle, signal.SIGCONT)
            finally:
                os.close(handle)

    def _hold_up(self, owner: type, name: str) -> None:
        """Let some calls of a method stand still first, in their own thread."""
        real, had = getattr(owner, name), name in vars(owner)

        def held_up(this: Any, *args: Any, **keywords: Any) -> Any:
            if this not in self._own:
                with self._lock:
                    chosen = self._dice.random() < self._share
                if chosen:
                    time.sleep(self._draw("thread"))
            return real(this, *args, **keywords)

        setattr(owner, name, held_up)
        self._undo.callback(setattr, owner, name, real) if had else self._undo.callback(delattr, owner, name)


def descendants(of: int) -> list[int]:
    """Processes that come from a process."""
    parents: dict[int, list[int]] = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            parent = int(path.read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()[1])
            parents.setdefault(parent, []).append(int(path.parent.name))
    out, open_ones = [], [of]
    while open_ones:
        children = parents.get(open_ones.pop(), [])
        out += children
        open_ones += children
    return sorted(out)


class StallsPlugin:
    """Stalls while tests run: in each worker, or in the one process there is."""

    def __init__(self, told: str) -> None:
        seed, _, gap = told.partition(":")
        self._seed, self._gap_s = int(seed), float(gap or USUAL_GAP_S)
        self._stalls: Stalls | None = None
        self._said: list[str] = []

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        config = session.config
        if not getattr(config.option, "numprocesses", None):  # a worker, or there are none
            worker = getattr(config, "workerinput", {}).get("workerid", "")
            self._stalls = Stalls(self._seed, self._gap_s, worker)
            self._stalls.start()

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if self._stalls is None:
            return
        self._stalls.stop()
        self._said.append(self._stalls.words())
        if hasattr(session.config, "workeroutput"):
            session.config.workeroutput["stalls"] = self._stalls.words()

    @pytest.hookimpl(optionalhook=True)
    def pytest_testnodedown(self, node: Any) -> None:
        words = getattr(node, "workeroutput", {}).get("stalls")
        if words:
            self._said.append(words)

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        for words in self._said:
            terminalreporter.write_line(f"stalls put in: {words}")
