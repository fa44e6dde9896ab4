"""Which mornings of a log are like another."""

from datetime import UTC, date, datetime, timedelta

import pytest

from briefing.core.log.likeness import Asked, how_near, likest
from briefing.core.log.records import Condition, Fish, Segment
from briefing.knowledge import load_log_parameters

P = load_log_parameters().like


def segment(
    day: str, *, fish: int = 1, minutes: float | None = 60.0, uncertain: bool = False, **known: float
) -> Segment:
    start = datetime.fromisoformat(f"{day}T12:00").replace(tzinfo=UTC)
    conditions = {name: Condition(value, "entered", "your reading") for name, value in known.items()}
    return Segment(
        1, start, start + timedelta(hours=1), minutes, "stated", "Edge", None, None, "wacky_rig", None,
        (Fish(),) * fish, 0, 0, (1,), None, None, conditions, uncertain=uncertain,
    )  # fmt: skip


def asked(day: str = "2026-04-18", **known: float) -> Asked:
    return Asked(date.fromisoformat(day), {name: Condition(value, "modelled", "x") for name, value in known.items()})


def days(*segments: Segment, to: Asked, most: int = 3) -> list[str]:
    return [one.day.isoformat() for one in likest(segments, to, UTC, P, most)]


def test_the_nearest_in_season_and_water_comes_first() -> None:
    log = [
        segment("2025-04-20", water_c=16.0),
        segment("2025-04-20", water_c=16.0),
        segment("2025-07-20", water_c=29.0),
    ]
    assert days(*log, segment("2026-04-10", water_c=11.0), to=asked(water_c=16.5)) == [
        "2025-04-20", "2026-04-10", "2025-07-20",
    ]  # fmt: skip


def test_the_year_is_a_circle_and_the_day_itself_is_not_told() -> None:
    log = [segment("2025-12-30", water_c=8.0), segment("2026-01-05", water_c=8.0), segment("2025-07-01", water_c=8.0)]
    assert days(*log, to=asked("2026-01-05", water_c=8.0)) == ["2025-12-30", "2025-07-01"]


def test_what_shares_nothing_but_the_season_is_left_out() -> None:
    assert days(segment("2025-04-18", wind_mps=2.0), to=asked(water_c=16.0)) == []


def test_clarity_counts_by_its_ratio_and_no_water_is_no_fault() -> None:
    near, far = segment("2025-04-18", secchi_m=2.0), segment("2025-04-19", secchi_m=0.3)
    assert days(far, near, segment("2025-04-17", secchi_m=0.0), to=asked(secchi_m=1.8)) == ["2025-04-18", "2025-04-19"]


def test_hours_that_teach_nothing_are_no_morning() -> None:
    silent = segment("2025-04-18", fish=0, minutes=None, uncertain=True, water_c=16.0)
    assert days(silent, to=asked(water_c=16.0)) == []


@pytest.mark.parametrize(("distance", "words"), [(0.2, "very like"), (0.8, "like"), (1.6, "somewhat like")])
def test_how_near_in_words(distance: float, words: str) -> None:
    assert how_near(distance, P) == words
