"""The stalls that a run of the tests can be given: they bite, leave nothing behind, and the tests of time pass in them.

The whole run: ``BRIEFING_TEST_STALLS=7 make test``.
"""

import os
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from tests.stalls import VARIABLE, Stalls, StallsPlugin, descendants

pytestmark = pytest.mark.long

ROOT = Path(__file__).resolve().parents[1]
DEPENDS_ON_SPEED = """
import time

def test_that_counts_what_a_second_brings():
    until, rounds = time.monotonic() + 1.0, []
    while time.monotonic() < until:
        time.sleep(0.005)
        rounds.append(time.monotonic())
    assert max(after - before for before, after in zip(rounds, rounds[1:])) < 0.2
"""


def under_stalls(*words: str, told: str = "3:0.3") -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, VARIABLE: told}
    environment.pop("PYTEST_ADDOPTS", None)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *words]
    return subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)


def test_a_test_that_depends_on_speed_fails_under_stalls(tmp_path: Path) -> None:
    path = tmp_path / "test_speed.py"
    path.write_text(DEPENDS_ON_SPEED, encoding="utf-8")
    done = under_stalls(str(path), "-c", str(ROOT / "pyproject.toml"), "-p", "tests.conftest", told="3:0.1")
    assert "1 failed" in done.stdout, done.stdout + done.stderr
    assert "stalls put in: " in done.stdout


def test_tests_of_time_limits_pass_under_stalls() -> None:
    """Held servers, given up and dropped connections: a slice of the whole run under stalls."""
    done = under_stalls(
        "tests/delivery/test_post.py",
        "tests/delivery/test_smtp.py",
        "-k", "in_time or nothing_listens",
        told="3:0.5",
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "stalls put in: " in done.stdout


def test_the_same_seed_draws_the_same_stalls() -> None:
    def drawn(seed: int, worker: str) -> list[float]:
        stalls = Stalls(seed, worker=worker)
        return [stalls._draw("thread") for _ in range(5)]

    assert drawn(3, "gw0") == drawn(3, "gw0")
    assert drawn(3, "gw0") != drawn(3, "gw1")
    assert drawn(3, "gw0") != drawn(4, "gw0")
    assert all(0.0 <= seconds <= 1.0 for seconds in drawn(3, "gw0"))


def test_nothing_is_left_behind() -> None:
    before = (socket.socket.send, socket.socket.recv, threading.Thread.run, threading.active_count())
    own = "send" in vars(socket.socket)
    stalls = Stalls(1, gap_s=0.05)
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as child:
        assert child.pid in descendants(os.getpid())
        stalls.start()
        while min(stalls.count["process"], stalls.count["child"]) < 2:
            time.sleep(0.01)
        stalls.stop()
        child.communicate(b"\n")  # a child that was left stopped would never end
    assert child.returncode == 0
    assert (socket.socket.send, socket.socket.recv, threading.Thread.run, threading.active_count()) == before
    assert ("send" in vars(socket.socket)) is own


@pytest.mark.parametrize("told", ["x", "3:fast", ":1"])
def test_a_seed_that_is_none_is_refused(told: str) -> None:
    with pytest.raises(ValueError):
        StallsPlugin(told)
