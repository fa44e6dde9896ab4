"""A seeded slice of the kills: one at every place, one at a random moment; in a process of its own, for it forks."""

import json
import subprocess
import sys

from briefing.tools.kill_service import PHASES


def test_a_kill_at_every_place_loses_nothing_and_makes_no_second_message() -> None:
    words = ["--kills", str(len(PHASES)), "--randoms", "1", "--seed", "5", "--json"]
    done = subprocess.run(
        [sys.executable, "-m", "briefing.tools.kill_service", *words], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    phases = json.loads(done.stdout.splitlines()[0])
    assert sum(tally["kills"] for tally in phases.values()) == len(PHASES) + 1
    assert sum(tally["once"] + tally["twice_same"] for tally in phases.values()) == len(PHASES) + 1
    assert all(tally["not_struck"] == 0 for phase, tally in phases.items() if phase != "random")
    twice = {phase for phase, tally in phases.items() if tally["twice_same"]}
    assert twice <= {"commit", "settle", "smtp_stored", "smtp_data", "random"}
