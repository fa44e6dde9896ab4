"""Thunder in words: drawn, ruled out, or not known; never ruled out by a word that nobody knows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefing.sources.thunder_words import thunder_in_words, thunder_words

WORDS = thunder_words()


@pytest.mark.parametrize(
    ("said", "chance"),
    [
        ("Storms Likely", 65.0),
        ("Severe Storms", 90.0),
        ("Stormy", 90.0),
        ("Tropical Storm", 90.0),
        ("Showers and Tstms", 90.0),
        ("Rain and Lightning", 90.0),
        ("Slight Chance T-storms", 15.0),
        ("Thunderstorms Possible", 40.0),
        ("Isolated Showers And Thunderstorms", 15.0),
        ("Dust Storm", 90.0),
        ("Sunny", 0.0),
        ("Mostly Cloudy then Slight Chance Light Snow", 0.0),
        ("Patchy Fog then Partly Sunny", 0.0),
        ("Light Snow", 0.0),
        ("Increasing Clouds", 0.0),
    ],
)
def test_drawn_and_ruled_out(said: str, chance: float) -> None:
    assert thunder_in_words(said) == (chance, False)


@pytest.mark.parametrize(
    "said", ["Rain Likely", "Chance Rain Showers", "Scattered Sprinkles", "xyzzy", "Gewitter", None, ""]
)
def test_what_does_not_speak_of_it_leaves_it_missing(said: object) -> None:
    value, damaged = thunder_in_words(said)
    assert math.isnan(value)
    assert not damaged


@pytest.mark.parametrize("said", [5, ["Sunny"], "12", "???", {}])
def test_what_holds_no_word_is_damaged(said: object) -> None:
    assert thunder_in_words(said)[1]


@given(
    st.lists(st.sampled_from(sorted(WORDS.excludes | WORDS.fills)), max_size=6),
    st.text(st.characters(categories=("L",)), min_size=3, max_size=12),
    st.integers(0, 6),
)
def test_one_word_that_is_not_known_leaves_it_open_or_draws_it(known: list[str], odd: str, at: int) -> None:
    words = [*known[:at], odd, *known[at:]]
    if odd.lower() in WORDS.excludes | WORDS.fills:
        return
    value, _ = thunder_in_words(" ".join(words))
    assert value != 0.0


OTHERS = sorted(WORDS.excludes | WORDS.fills - {"ice", "snow", "winter"})


@given(st.sampled_from(WORDS.draws), st.lists(st.sampled_from(OTHERS), max_size=4))
def test_a_storm_word_is_never_lost_among_others(storm: str, others: list[str]) -> None:
    value, damaged = thunder_in_words(" / ".join([*others, storm]))
    assert value > 0.0
    assert not damaged
