"""Seeded slices of the long runs: days with faults, a short soak, some lakes at once."""

import threading
from pathlib import Path

import pytest

from briefing.tools.many_profiles import morning, upstream
from briefing.tools.simulate_year import simulate
from briefing.tools.soak_service import START, STEP, RoundClock, soak

pytestmark = pytest.mark.long


def test_days_with_every_fault_leave_no_morning_unaccounted(tmp_path: Path, whole: bool) -> None:
    days = 30 if whole else 2
    year = simulate(days, seed=7, root=tmp_path)
    assert year.faults == []
    for found in year.by_lake.values():
        assert found["unaccounted"] == 0
        assert found["sent_twice"] == 0
        assert found["sent"] + found["late"] + found["missed"] == days - 1


def test_some_lakes_are_made_by_two_rounds_at_once_each_mailed_once(tmp_path: Path) -> None:
    found = morning(4, 2, tmp_path)
    assert found.mails == 4


def test_the_requests_of_a_morning_are_counted_and_few(tmp_path: Path) -> None:
    asked = upstream(4, tmp_path)
    assert set(asked.alone) == {"nws", "open_meteo", "open_meteo_archive", "usgs"}
    assert asked.alone["open_meteo"] == asked.alone["open_meteo_archive"] == 4
    assert asked.together["open_meteo"] == asked.together["open_meteo_archive"] == 1
    assert asked.alone["usgs"] == 6, "the newest and the daily values of two gauges, and where each stands"
    assert asked.together["usgs"] == 4
    assert asked.together["nws"] < asked.alone["nws"] <= 4 * 12
    assert asked.calls["open_meteo"] == 6, "each place still counts as a call and a half"


def test_a_short_soak_makes_and_mails(tmp_path: Path) -> None:
    """What is due at the start is made in the first round and handed over by the end of the second."""
    seen = soak(3, 0, 3, tmp_path)
    assert (seen.rounds, seen.items, seen.mails) == (3, 3, 3)


def test_the_soaks_clock_steps_when_both_jobs_were_done_since_its_last_step() -> None:
    stop, looks = threading.Event(), []
    clock = RoundClock(2, stop, lambda: looks.append(1))

    def done(job: str) -> None:
        clock.tell(job, False)
        clock.tell(job, True)

    clock.tell("make", False)
    for _ in range(5):
        done("hand_over")  # a slow build: the other job comes round many times
    assert clock() == START
    clock.tell("hand_over", False)
    clock.tell("make", True)
    assert clock() == START + STEP
    clock.tell("hand_over", True)  # began before the step, so it has not seen what was made
    done("make")
    assert (clock(), stop.is_set()) == (START + STEP, False)
    done("hand_over")
    assert (clock(), stop.is_set(), len(looks)) == (START + 2 * STEP, True, 2)
