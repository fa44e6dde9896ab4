"""The glance read aloud: no shapes, no digits, numbers as they are said."""

import re

import pytest

from briefing.report.spoken import aloud, cardinal, spoken
from tests.scenarios import SCENARIOS, built


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Out 06:33.", "Out six thirty-three."),
        ("from 10:00 on", "From ten o'clock on"),
        ("at 07:05", "At seven oh five"),
        ("until 00:00", "Until midnight"),
        ("at 00:15", "At twelve fifteen"),
        ("at 12:00", "At noon"),
        ("by 13:00", "By one p.m."),
        ("by 18:52", "By six fifty-two p.m."),
        ("a jig of 5/16 oz", "A jig of five sixteenths of an ounce"),
        ("1 1/2 oz", "One and one half ounces"),
        ("1/4 oz (7.1 g)", "One quarter of an ounce"),
        ("gusts to 22 mph", "Gusts to twenty-two miles an hour"),
        ("stop 4.3 m/s", "Stop four point three metres a second"),
        ("8 in 10 in late pre-spawn", "Eight in ten in late pre-spawn"),
        ("-3 C", "Minus three degrees Celsius"),
        (
            "about 26 March (14 Mar to 1 April)",
            "About the twenty-sixth of March (the fourteenth of March to the first of April)",
        ),
        ("on 2, 3, 12, 20, 22 and 31 May", "On two, three, twelve, twenty, twenty-two and the thirty-first of May"),
    ],
)
def test_numbers_are_written_as_they_are_said(text: str, said: str) -> None:
    assert aloud(text) == said


def test_cardinals() -> None:
    assert [cardinal(n) for n in (0, 19, 20, 21, 100, 115, 999, 1000, 1005, 2026)] == [
        "zero",
        "nineteen",
        "twenty",
        "twenty-one",
        "one hundred",
        "one hundred and fifteen",
        "nine hundred and ninety-nine",
        "one thousand",
        "one thousand and five",
        "two thousand and twenty-six",
    ]


@pytest.mark.parametrize("name", ["demo", *SCENARIOS])
def test_every_morning_is_said_in_whole_sentences_without_digits_or_shapes(name: str) -> None:
    briefing = built(name).briefing
    text = spoken(briefing)
    assert not re.search(r"[\d○△■?|]", text)
    assert all(line.endswith(".") for line in text.splitlines())
    assert briefing.glance.word in text
    assert len(text.splitlines()) >= len(briefing.glance.lines) + 3


def test_each_sentence_begins_large_and_ends_once() -> None:
    assert aloud("Off by 15:00. 15:00 is late.") == "Off by three p.m. Three p.m. is late."
