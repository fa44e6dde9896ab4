"""A seeded slice of the kills: one at every place, some at random moments."""

from pathlib import Path

from briefing.tools.kill_service import PHASES, run


def test_a_kill_at_every_place_loses_nothing_and_makes_no_second_message(tmp_path: Path) -> None:
    result = run(PHASES, kills=len(PHASES), randoms=1, seed=5, root=tmp_path)
    assert result.faults == []
    assert sum(tally.kills for tally in result.phases.values()) == len(PHASES) + 1
    assert sum(tally.once + tally.twice_same for tally in result.phases.values()) == len(PHASES) + 1
    assert all(tally.not_struck == 0 for phase, tally in result.phases.items() if phase != "random")
    twice = {phase for phase, tally in result.phases.items() if tally.twice_same}
    assert twice <= {"commit", "settle", "smtp_stored", "smtp_data", "random"}
