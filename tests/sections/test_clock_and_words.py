from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from briefing.sections.clock import age_text, clock, day_text, short_date, span
from briefing.sections.words import (
    COLOUR_NAME,
    COVER_NAME,
    CRAFT_NAME,
    FORM_NAME,
    LEVEL_MARK,
    LEVEL_SHAPE,
    LEVEL_WORD,
    PHASE_DOING,
    PHASE_NAME,
    SKY_NAME,
    ZONE_NAME,
    in_ten,
    listed,
)
from briefing.vocabulary import Cover, Craft, Level, Phase, Sky, SpeciesForm, WaterColour, Zone, worst

NEW_YORK = ZoneInfo("America/New_York")


def test_clock_shows_local_time_and_the_weekday_of_another_date() -> None:
    at = datetime(2026, 4, 15, 10, 40, tzinfo=UTC)
    assert clock(at, NEW_YORK) == "06:40"
    assert clock(at, NEW_YORK, date(2026, 4, 15)) == "06:40"
    assert clock(at, NEW_YORK, date(2026, 4, 14)) == "Wed 06:40"


def test_the_hour_that_comes_twice_names_its_offset() -> None:
    first = datetime(2026, 11, 1, 5, 30, tzinfo=UTC)
    assert clock(first, NEW_YORK) == "01:30 EDT"
    assert clock(first + timedelta(hours=1), NEW_YORK) == "01:30 EST"


def test_span_and_dates_in_words() -> None:
    begin = datetime(2026, 4, 15, 10, 0, tzinfo=UTC)
    assert span(begin, begin + timedelta(hours=5), NEW_YORK) == "06:00 to 11:00"
    assert day_text(date(2026, 4, 5)) == "Sunday 5 April 2026"
    assert short_date(date(2026, 4, 5)) == "5 April"


@pytest.mark.parametrize(
    ("hours", "text"),
    [(None, "age not stated"), (-0.1, "dated ahead"), (0.4, "24 min old"), (5.2, "5 h old"), (100, "4 days old")],
)
def test_ages_in_words(hours: float | None, text: str) -> None:
    assert age_text(hours) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [(0.01, "fewer than 1 in 20"), (0.1, "about 1 in 10"), (0.42, "about 4 in 10"), (0.97, "nearly all")],
)
def test_shares_as_the_trade_speaks(share: float, text: str) -> None:
    assert in_ten(share) == text


def test_lists_in_words() -> None:
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"


@pytest.mark.parametrize(
    ("table", "ids"),
    [
        (LEVEL_WORD, Level),
        (LEVEL_MARK, Level),
        (LEVEL_SHAPE, Level),
        (PHASE_NAME, Phase),
        (PHASE_DOING, Phase),
        (FORM_NAME, SpeciesForm),
        (CRAFT_NAME, Craft),
        (COVER_NAME, Cover),
        (COLOUR_NAME, WaterColour),
        (SKY_NAME, Sky),
        (ZONE_NAME, Zone),
    ],
)
def test_every_id_has_a_word_of_its_own(table: dict[str, str], ids: type) -> None:
    assert set(table) == set(ids)
    assert len(set(table.values())) == len(table)


def test_levels_are_ordered() -> None:
    assert [level.rank for level in Level] == [0, 1, 2, 3]
    assert worst([Level.CAUTION, Level.UNKNOWN]) is Level.UNKNOWN
    assert worst([]) is Level.WITHIN_LIMITS
