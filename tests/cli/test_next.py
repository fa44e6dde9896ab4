"""``briefing next`` as typed: the line is stored, places like the one that produced are named, else what to change."""

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run

SPOTS = """
[[spots]]
name = "Reed bay"
bank = "N"
depth = ["2 ft", "6 ft"]
cover = ["reeds"]

[[spots]]
name = "East reeds"
bank = "NE"
depth = ["2 ft", "5 ft"]
cover = ["reeds"]

[[spots]]
name = "Thin grass"
bank = "S"
depth = ["6 ft", "9 ft"]
cover = ["grass_sparse"]

[[spots]]
name = "Nest reeds"
bank = "N"
depth = ["2 ft", "6 ft"]
cover = ["reeds"]
flags = ["nest_area"]

[[spots]]
name = "Old docks"
bank = "W"
depth = ["3 ft", "8 ft"]
cover = ["dock"]
"""


@pytest.fixture
def lake(pond: Path) -> Path:
    pond.write_text(pond.read_text() + SPOTS)
    return pond


def ok(run: Run, *words: str) -> str:
    result = run(*words)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_places_like_the_one_that_produced(run: Run, lake: Path) -> None:
    said = ok(run, "next", "two on the swim jig at Reed bay")
    assert "Stored for Quillmere Pond: entry 1, 2026-04-18 10:00  2 fish, Swim jig" in said
    assert "Places like it: East reeds (reeds too, as deep, the same water colour)" in said
    assert "Nest reeds" not in said.split("Places like it")[1]
    assert "keep the angle" in said
    assert "2 fish" in ok(run, "log", "list", "--entries")


def test_the_wind_side_counts_where_the_wind_was_read(run: Run, lake: Path) -> None:
    ok(run, "reading", "add", "wind", "12mph", "--from", "S")
    assert "East reeds (reeds too, as deep, wind-blown too" in ok(run, "next", "two on the swim jig at Reed bay")


def test_the_cover_alone_is_enough(run: Run, lake: Path) -> None:
    said = ok(run, "next", "two on the swim jig at the reeds")
    assert "2 fish, Swim jig" in said
    assert "Reed bay (reeds too" in said


def test_one_fish_is_no_pattern(run: Run, lake: Path) -> None:
    assert "One fish is no pattern yet" in ok(run, "next", "1 fish texas worm Old docks")


def test_a_miss_and_a_follow_have_answers_of_their_own(run: Run, lake: Path) -> None:
    assert "within five seconds" in ok(run, "next", "one bite on the frog at Reed bay")
    assert "change the pace once" in ok(run, "next", "follow on the jerkbait at Old docks")


def test_the_ladder_of_a_place_goes_down_a_rung_with_every_blank(run: Run, lake: Path) -> None:
    ok(run, "log", "start", "swim jig Reed bay", "--time", "06:00")
    first = ok(run, "next", "nothing on the swim jig", "--time", "06:30")
    assert "First the angle: cast along the edge" in first
    assert "Then the pace: stop and go" in first
    second = ok(run, "next", "nothing on the wacky rig", "--time", "07:00")
    assert "First the pace" in second
    third = ok(run, "next", "nothing on the swim jig", "--time", "07:30")
    assert "First the lure: the weightless stick worm on the same casts." in third
    fourth = ok(run, "next", "nothing on the wacky rig", "--time", "08:00")
    assert "First the place: Old docks, docks." in fourth
    assert "briefing wind" in fourth


def test_where_the_place_is_not_known_it_is_asked(run: Run, lake: Path) -> None:
    assert 'briefing log correct 1 "reeds 4ft"' in ok(run, "next", "two on the swim jig")


def test_json_holds_entry_sentences_and_places(run: Run, lake: Path) -> None:
    found = json.loads(ok(run, "next", "two on the swim jig at Reed bay", "--json"))
    assert found["places"][0] == "East reeds"
    assert found["entry"]["mark"]["presentation"] == "swim_jig"
    assert found["next"]


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (("next",), "The line is missing, such as"),
        (("next", "   "), "The line is missing, such as"),
        (("next", "hello there"), "Nothing in 'hello there' could be read"),
        (("next", "two on the frog", "--lake", "nowhere"), "nowhere"),
        (("next", "two on the frog", "--time", "half past"), "half past"),
    ],
)
def test_bad_input_is_one_sentence_and_stores_nothing(
    run: Run, lake: Path, words: tuple[str, ...], complaint: str
) -> None:
    result = run(*words)
    assert result.exit_code != 0
    assert complaint in result.output
    assert "Traceback" not in result.output
    assert "Nothing in the log" in ok(run, "log", "list")
