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


@pytest.mark.parametrize("said", ["Cloudy ⛈", "Sunny ⛈\ufe0f", "Sunny ⚡", "Hot ☈", "Sunny 🌩", "⛈", "Clear 🌪"])
def test_a_storm_that_is_drawn_as_a_picture_draws_thunder(said: str) -> None:
    assert thunder_in_words(said) == (90.0, False)


@pytest.mark.parametrize(
    "said",
    ["Sunny \ufffd\ufffd\ufffd", "Sunny ??? Likely", "Sunny \x00\x00", "Fair 🌀", "Mostly Cloudy*", "Clear \u200b"],
)
def test_a_sign_that_nobody_knows_leaves_it_open(said: str) -> None:
    value, damaged = thunder_in_words(said)
    assert math.isnan(value)
    assert not damaged


@pytest.mark.parametrize(
    "said", ["Partly Sunny.", "Sunny (Hot)", "Cloudy, Cold; Windy", "Mostly Clear/Cold", "Fair & Dry"]
)
def test_common_signs_beside_known_words_change_nothing(said: str) -> None:
    assert thunder_in_words(said) == (0.0, False)


@given(st.sampled_from(["Sunny", "Mostly Cloudy"]), st.characters(categories=("S", "C", "M")), st.booleans())
def test_no_picture_or_lost_character_beside_known_words_is_taken_for_calm(known: str, odd: str, front: bool) -> None:
    value, _ = thunder_in_words(f"{odd}{known}" if front else f"{known} {odd}")
    assert value != 0.0 or odd in WORDS.signs or odd.isspace()


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


# -- each part its own chance -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "chance"),
    [
        ("Slight Chance Rain Showers then Thunderstorms Likely", 65.0),
        ("Thunderstorms Likely then Slight Chance Rain Showers", 65.0),
        ("Chance Thunderstorms then Thunderstorms Likely", 65.0),
        ("Chance Showers then Severe Thunderstorms", 90.0),
        ("Isolated Showers then Thunderstorms", 90.0),
        ("Slight Chance Drizzle then Showers And Thunderstorms", 90.0),
        ("Rain Likely then Slight Chance Thunderstorms", 15.0),
        ("Slight Chance Storms then Likely", 65.0),
        ("Isolated Storms followed by widespread", 90.0),
        ("Thunderstorms isolated becoming numerous", 65.0),
        ("Slight Chance Thunderstorms then Likely then Definite", 90.0),
        ("Slight Chance Thunderstorms then Chance", 40.0),
        ("Slight Chance Thunderstorms then Rain Likely", 15.0),
        ("Slight Chance Thunderstorms then Mostly Sunny", 15.0),
        ("Isolated Thunderstorms before 2 pm", 15.0),
        ("Chance Showers then Likely then Isolated Thunderstorms", 15.0),
        ("Widespread Thunderstorms", 90.0),
        ("Slight Chance Rain And Thunderstorms Likely", 65.0),
        ("Rain Likely And Slight Chance Thunderstorms", 15.0),
        ("Slight Chance Rain, Thunderstorms Likely", 65.0),
        ("Slight Chance Rain Thunderstorms Likely", 65.0),
        ("Mostly Sunny then Chance Showers And Thunderstorms", 40.0),
        ("Chance Showers And Thunderstorms", 40.0),
        ("Chance Rain Showers and Patchy Fog then Slight Chance Showers And Thunderstorms", 15.0),
        ("Showers And Thunderstorms Likely", 65.0),
        ("Thunderstorms And Rain Likely", 65.0),
        ("Slight Chance Showers And Thunderstorms", 15.0),
        ("Scattered Thunderstorms And Patchy Fog", 40.0),
        ("Showers And Thunderstorms", 90.0),
        ("Mostly Cloudy with Isolated Thunderstorms", 15.0),
        ("Numerous Showers And Scattered Thunderstorms", 40.0),
        ("Rain Likely And Thunderstorms", 90.0),
        ("Showers/Thunderstorms Likely", 65.0),
        ("Showers And Thunderstorms Likely then Slight Chance Showers And Thunderstorms", 65.0),
    ],
)
def test_thunder_gets_the_chance_of_its_own_part(said: str, chance: float) -> None:
    for form in (said, said.upper(), f"  {said} "):
        assert thunder_in_words(form) == (chance, False)


CHANCES = {"Slight Chance {}": 15.0, "Chance {}": 40.0, "Scattered {}": 40.0, "{} Likely": 65.0, "{}": 90.0}
CALM = ["Rain", "Rain Showers", "Patchy Fog", "Mostly Sunny", "Snow", "Drizzle"]


@given(
    st.lists(
        st.tuples(st.sampled_from(sorted(CHANCES)), st.sampled_from([*CALM, "Thunderstorms"])), min_size=1, max_size=4
    )
)
def test_of_parts_that_follow_each_other_the_stormiest_counts(parts: list[tuple[str, str]]) -> None:
    said = " then ".join(form.format(what) for form, what in parts)
    chances = [CHANCES[form] for form, what in parts if what == "Thunderstorms"]
    if chances:
        assert thunder_in_words(said) == (max(chances), False)
    else:
        assert not thunder_in_words(said)[0] > 0.0


@given(
    st.sampled_from(sorted(CHANCES)),
    st.sampled_from(CALM),
    st.sampled_from(sorted(CHANCES)),
    st.sampled_from(["and", "or"]),
)
def test_beside_other_weather_its_own_chance_counts_where_it_has_one(one: str, calm: str, own: str, word: str) -> None:
    in_front = one != "{} Likely"  # "Rain Likely and Thunderstorms" does not say how likely they are
    chance = (CHANCES[one] if in_front else 90.0) if own == "{}" else CHANCES[own]
    assert thunder_in_words(f"{one.format(calm)} {word} {own.format('Thunderstorms')}") == (chance, False)
