"""The one line typed at the water."""

from datetime import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from briefing.core.log.line import Understood, read_line
from briefing.core.log.parameters import LogParameters
from briefing.knowledge import load_advice_knowledge, load_log_parameters
from briefing.vocabulary import Cover

NAMES = {item.id: item.name for item in load_advice_knowledge(None).presentations}
WORDS = load_log_parameters().words


def read(text: str, system: str = "us") -> Understood:
    return read_line(text, WORDS, names=NAMES, spots=["North pocket", "Frog bay"], system=system)  # type: ignore[arg-type]


def test_the_line_of_the_manual() -> None:
    found = read("2 fish 14in 16in bladed 3/8 grass 4ft 07:40")
    assert [round(fish.length_m or 0, 4) for fish in found.fish] == [0.3556, 0.4064]
    assert found.presentation == "bladed_swim_jig"
    assert found.weight_g == pytest.approx(10.63, abs=0.01)
    assert found.cover is Cover.GRASS_DENSE
    assert found.depth_m == pytest.approx(1.219, abs=0.001)
    assert found.clock == time(7, 40)
    assert (found.left, found.doubts) == ((), ())
    assert [part.text for part in found.parts] == ["2 fish", "14in", "16in", "bladed", "3/8", "grass", "4ft", "07:40"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("14in", {"lengths": [0.3556]}),
        ('one 15 1/2" bass', {"lengths": [0.3937]}),
        ("3 bass", {"lengths": [None] * 3}),
        ("one fish on the drop shot", {"lengths": [None], "presentation": "drop_shot"}),
        ("two on the wacky", {"lengths": [None] * 2, "presentation": "wacky_rig"}),
        ("2 with the wacky", {"lengths": [None] * 2, "presentation": "wacky_rig"}),
        ("fish on the wacky", {"lengths": [None], "presentation": "wacky_rig"}),
        ("fish 14in", {"lengths": [0.3556]}),
        ("2x14in", {"lengths": [0.3556, 0.3556]}),
        ("a fish 36 cm 900g", {"lengths": [0.36], "weights": [900.0]}),
        ("2lb 4oz frog", {"weights": [1020.6], "presentation": "hollow_body_frog"}),
        ("10g tube", {"weight_g": 10.0, "presentation": "tube", "lengths": []}),
        ("1/2oz football jig", {"weight_g": 14.175, "presentation": "football_jig"}),
        ("1 1/4 oz punch", {"weight_g": 35.437, "presentation": "punch_rig"}),
        ("lost 2", {"contacts": 2}),
        ("2 bites and a follow", {"contacts": 2, "follows": 1}),
        ("blank 45min squarebill riprap", {"blank": True, "minutes": 45.0, "cover": Cover.ROCK}),
        ("no fish 1h30", {"blank": True, "minutes": 90.0}),
        ("skunked 1.5 hours", {"blank": True, "minutes": 90.0}),
        ("since 06:50 spinnerbait", {"since": time(6, 50), "presentation": "spinnerbait"}),
        ("6:30-7:15 wacky docks", {"since": time(6, 30), "clock": time(7, 15), "cover": Cover.DOCK}),
        ("from 6:30 to 7:15", {"since": time(6, 30), "clock": time(7, 15)}),
        ("7pm", {"clock": time(19)}),
        ("12:10 am", {"clock": time(0, 10)}),
        ("12-15 ft drop shot", {"depth_m": 4.115, "presentation": "drop_shot"}),
        ("3.5m", {"depth_m": 3.5}),
        ("changed to t-rig", {"change": True, "presentation": "texas_worm"}),
        ("north pocket", {"spot": "North pocket"}),
        ("frog bay frog", {"spot": "Frog bay", "presentation": "hollow_body_frog"}),
        ("bladed_swim_jig", {"presentation": "bladed_swim_jig"}),
        ("on the fall", {"moment": "fall"}),
    ],
)
def test_what_is_said_is_understood(text: str, expected: dict[str, object]) -> None:
    found = read(text)
    said = {
        "lengths": [None if fish.length_m is None else round(fish.length_m, 4) for fish in found.fish],
        "weights": [fish.weight_g for fish in found.fish],
    }
    for name, value in expected.items():
        seen = said.get(name, getattr(found, name, None))
        assert seen == (pytest.approx(value, abs=0.002) if isinstance(value, float) else value), name
    assert found.left == ()


def test_a_word_for_several_lures_is_not_guessed() -> None:
    found = read("12in jig")
    assert found.presentation == ""
    assert "'jig' may be Flipping jig" in found.doubts[0]


def test_what_is_not_understood_is_handed_back() -> None:
    assert read("2 fish purple by the old pump house").left == ("old", "pump", "house")


def test_unlikely_numbers_are_told_and_not_taken() -> None:
    found = read("140in 900 fishes 99kg 300ft")
    assert (found.fish, found.depth_m) == ((), None)
    assert len(found.doubts) == 4


def test_more_lengths_than_fish_raise_the_count_and_are_told() -> None:
    found = read("1 fish 14in 15in")
    assert len(found.fish) == 2
    assert "2 lengths or weights for 1 fish" in found.doubts[0]


def test_a_second_value_for_the_same_thing_does_not_replace_the_first() -> None:
    found = read("spinnerbait 3/8 wacky 1/2")
    assert (found.lures, found.presentation) == (("spinnerbait", "wacky_rig"), "")
    assert round(found.weight_g or 0.0, 1) == 10.6
    assert found.open == ("Which lure took how many?",)
    assert len(found.doubts) == 2


def test_a_catch_beats_the_word_blank() -> None:
    found = read("blank 14in")
    assert (len(found.fish), found.blank, len(found.doubts)) == (1, False, 1)


def test_a_number_inside_a_word_is_no_quantity() -> None:
    assert read("marker7 x14inch").fish == ()


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.text(max_size=120))
def test_no_text_raises(text: str) -> None:
    found = read(text)
    assert len(found.fish) <= 400
    assert found.minutes is None or 1.0 <= found.minutes <= 960.0


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    st.permutations(["2 fish", "14in", "16in", "bladed", "3/8", "grass", "4ft", "07:40", "lost 1", "45min"]),
    st.sampled_from([" ", ", ", "; ", "  "]),
)
def test_parts_may_come_in_any_order(pieces: list[str], between: str) -> None:
    found = read(between.join(pieces))
    assert sorted(fish.length_m or 0 for fish in found.fish) == [0.3556, 0.4064]
    assert (found.presentation, found.cover, found.clock) == ("bladed_swim_jig", Cover.GRASS_DENSE, time(7, 40))
    assert (round(found.weight_g or 0.0, 1), round(found.depth_m or 0.0, 2)) == (10.6, 1.22)
    assert (found.contacts, found.minutes) == (1, 45.0)


def test_every_presentation_and_cover_has_words(parameters: LogParameters) -> None:
    assert set(parameters.words.presentation) == set(NAMES)
    assert set(parameters.words.cover) == set(Cover)
    for name in NAMES:
        assert read(f"1 fish {NAMES[name]}").presentation == name
        for word in parameters.words.presentation[name]:
            assert read(word).presentation == name, word
    for cover, words in parameters.words.cover.items():
        assert all(read(word).cover is cover for word in words)
