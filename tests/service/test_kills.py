"""A seeded slice of the kills: one at each chosen place, one at a random moment; in a process of its own: it forks."""

import json
import subprocess
import sys

import pytest

from briefing.tools.kill_service import PHASES

pytestmark = pytest.mark.long

#: Where the most is at stake: what is made or handed over, and not yet written down.
SLICE = ("commit", "smtp_stored")


def test_a_kill_at_a_place_loses_nothing_and_makes_no_second_message(whole: bool) -> None:
    places = PHASES if whole else SLICE
    words = ["--phases", *places, "--kills", str(len(places)), "--randoms", "1", "--seed", "5", "--json"]
    done = subprocess.run(
        [sys.executable, "-m", "briefing.tools.kill_service", *words], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    phases = json.loads(done.stdout.splitlines()[0])
    assert sum(tally["kills"] for tally in phases.values()) == len(places) + 1
    assert sum(tally["once"] + tally["twice_same"] for tally in phases.values()) == len(places) + 1
    assert all(tally["not_struck"] == 0 for phase, tally in phases.items() if phase != "random")
    twice = {phase for phase, tally in phases.items() if tally["twice_same"]}
    assert twice <= {"commit", "settle", "smtp_stored", "smtp_data", "random"}
