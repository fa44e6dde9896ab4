"""The season as it is told: in spring in full, out of it in one or two sentences, in the reader's own unit."""

from datetime import date

import pytest

from briefing.sections.season import fill_season, fill_seasons, spring_matters
from tests.core.phase.season_helpers import run

SPRING, AUTUMN, WINTER = date(2026, 4, 20), date(2026, 10, 31), date(2027, 1, 20)


def test_in_spring_shares_dates_and_drivers_are_told() -> None:
    found = fill_season(run(SPRING).shares)
    assert found.shares_text.startswith("Shares (8 chances in 10). ")
    assert found.dates
    assert found.drivers
    assert all(one.p90 is None or one.p90 >= SPRING for one in found.dates)


@pytest.mark.parametrize("today", [AUTUMN, WINTER])
def test_far_from_the_nests_a_sentence_or_two_stand_in(today: date) -> None:
    shares = run(today).shares
    assert not spring_matters(shares)
    found = fill_season(shares)
    assert found.shares_text == found.pause_text == ""
    assert found.drivers == ()
    assert len(found.dates) <= 1
    assert all(one.text.startswith("spawning is far off: ") for one in found.dates)
    assert found.headline.count(". ") == 1


def test_no_date_of_next_spring_stands_in_an_autumn_briefing() -> None:
    assert fill_season(run(AUTUMN).shares).dates == ()


def test_of_a_second_form_nothing_is_said_again() -> None:
    first, second = fill_seasons([run(AUTUMN).shares, run(AUTUMN).shares])
    assert second.headline == f"As the {first.form_name}."
    assert first.headline.startswith("Nearly all following bait")
    assert second.dates == ()
    spring, again = fill_seasons([run(SPRING).shares, run(SPRING).shares])
    assert not set(spring.notes) & set(again.notes)


def test_a_range_that_is_none_is_not_printed() -> None:
    rows = fill_season(run(AUTUMN).shares).shares
    assert all("to" not in row.words.split() for row in rows if row.high - row.low < 0.02)


@pytest.mark.parametrize(("units", "first"), [("us", " F "), ("metric", " C ")])
def test_temperatures_stand_in_the_readers_unit(units: str, first: str) -> None:
    text = " ".join(driver.text for driver in run(SPRING, units=units).shares.drivers)
    assert first in text
