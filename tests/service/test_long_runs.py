"""Seeded slices of the long runs: weeks with faults, a short soak, some lakes at once."""

from pathlib import Path

from briefing.tools.many_profiles import morning, upstream
from briefing.tools.simulate_year import simulate
from briefing.tools.soak_service import soak


def test_weeks_with_every_fault_leave_no_morning_unaccounted(tmp_path: Path) -> None:
    year = simulate(4, seed=7, root=tmp_path)
    assert year.faults == []
    for found in year.by_lake.values():
        assert found["unaccounted"] == 0
        assert found["sent_twice"] == 0
        assert found["sent"] + found["late"] + found["missed"] == 3


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
    seen = soak(0.08, 0.0, 3, tmp_path)
    assert seen.items >= 3
    assert seen.mails >= 3
