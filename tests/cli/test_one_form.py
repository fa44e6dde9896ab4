"""One form of the commands: the lake first or as --lake, a default lake, ramps from waypoints, a time in the words."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from typer.main import get_command

from briefing.app.reading_words import what_and_when
from briefing.cli import make_app
from briefing.profile.files import load_profile
from tests.cli.conftest import Run


@pytest.fixture
def second(run: Run, pond: Path) -> Path:
    assert run("lake", "add", "--name", "Other", "--position", "31, -84", "--craft", "canoe").exit_code == 0
    return pond.parent / "other.toml"


def test_without_a_name_two_lakes_are_asked_for_and_a_default_answers(run: Run, second: Path) -> None:
    asked = run("reading", "list")
    assert asked.exit_code != 0
    assert "quillmere-pond" in asked.stderr
    assert "other" in asked.stderr
    assert "Where no lake is named, other is meant." in run("lake", "default", "other").stdout
    assert run("lake", "default").stdout.strip() == "other"
    assert "other: Other (meant where none is named)" in run("lake", "list").stdout
    assert "Stored for Other" in run("reading", "add", "water-temp", "61F").stdout
    assert run("lake", "default", "--clear").exit_code == 0
    assert run("reading", "list").exit_code != 0


def test_a_default_lake_that_is_gone_is_asked_for_again(run: Run, second: Path) -> None:
    run("lake", "default", "other")
    second.unlink()
    third = run("lake", "add", "--name", "Third", "--position", "31, -84", "--craft", "canoe")
    assert third.exit_code == 0
    asked = run("reading", "list")
    assert asked.exit_code != 0
    assert "third" in asked.stderr


def test_every_command_about_a_lake_takes_it_first_or_as_an_option() -> None:
    def walk(command: Any, path: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
        for name, below in getattr(command, "commands", {}).items():
            yield from walk(below, (*path, name))
        yield " ".join(path), command

    taken, elsewhere = 0, []
    for words, command in walk(get_command(make_app()), ()):
        parameters = [one for one in command.params if one.name == "lake"]
        arguments = [one.name for one in command.params if one.param_type_name == "argument"]
        if parameters and "--lake" not in parameters[0].opts and arguments[0] != "lake":
            elsewhere.append(words)
        taken += bool(parameters)
    assert taken >= 30
    assert elsewhere == []


def test_the_lake_stands_first_or_as_an_option(run: Run, second: Path) -> None:
    first = run("lake", "show", "other")
    assert first.exit_code == 0
    for words in (("lake", "show", "--lake", "other"), ("lake", "show", "--lake=other")):
        assert run(*words).stdout == first.stdout
    both = run("lake", "show", "--lake", "other", "quillmere-pond")
    assert both.exit_code == 2
    assert "quillmere-pond" in both.stderr


def test_a_waypoint_where_boats_are_launched_becomes_a_ramp(run: Run, pond: Path, tmp_path: Path) -> None:
    gpx = tmp_path / "a.gpx"
    names = ("South ramp", "Stump off the ramp", "Put-in", "Ledge near launch")
    gpx.write_text(
        "<gpx>"
        + "".join(f'<wpt lat="30.31{n}" lon="-83.22{n}"><name>{name}</name></wpt>' for n, name in enumerate(names))
        + "</gpx>"
    )
    result = run("lake", "import-spots", "quillmere-pond", str(gpx))
    assert "Added 2 spots to quillmere-pond." in result.stdout
    assert "Added as ramps, by name: South ramp, Put-in." in result.stdout
    profile = load_profile(pond)
    assert {"South ramp", "Put-in"} <= {ramp.name for ramp in profile.ramps}
    assert {"Stump off the ramp", "Ledge near launch"} <= {spot.name for spot in profile.spots}
    assert run("lake", "import-spots", "quillmere-pond", str(gpx)).exit_code == 5


@pytest.mark.parametrize(
    ("typed", "what", "when"),
    [
        ("61F yesterday 6pm", "61F", "yesterday 6pm"),
        ("water 61F 6:40 am", "water 61F", "6:40 am"),
        ("visibility 3 ft 20 min ago", "visibility 3 ft", "20 min ago"),
        ("water 61 F, today at 7:15", "water 61 F", "today at 7:15"),
        ("wind 12 gusting 20", "wind 12 gusting 20", None),
        ("level falling", "level falling", None),
        ("plants 2 ft dense", "plants 2 ft dense", None),
    ],
)
def test_what_was_seen_is_parted_from_when(typed: str, what: str, when: str | None) -> None:
    assert what_and_when(typed) == (what, when)


def test_a_reading_with_its_time_in_the_words_is_stored_at_that_time(run: Run, pond: Path) -> None:
    by_option = run("reading", "add", "water-temp", "61F", "--time", "yesterday 18:00").stdout
    in_words = run("reading", "add", "61F", "yesterday", "6pm").stdout
    assert "18:00" in in_words
    assert in_words.split("61")[1].split("#")[0] == by_option.split("61")[1].split("#")[0]


def test_a_warning_s_title_keeps_its_day(run: Run, pond: Path) -> None:
    assert "Frost today" in run("reading", "add", "alerts", "Frost today").stdout


@pytest.mark.parametrize(
    ("position", "words"),
    [
        ("30, -40", "lies on the open sea"),
        ("33.6, 84.2 E", "did you mean 33.6, -84.2?"),
        ("83.2, 30.3", "Did you mean 30.3, 83.2?"),
    ],
)
def test_a_position_that_is_likelier_a_slip_is_asked_back(run: Run, position: str, words: str) -> None:
    refused = run("lake", "add", "--name", "X", "--position", position, "--craft", "kayak")
    assert refused.exit_code == 2
    assert words in refused.stderr


def test_a_craft_is_told_with_its_size_and_taken_by_usual_names(run: Run) -> None:
    refused = run("lake", "add", "--name", "X", "--position", "31, -84", "--craft", "raft")
    assert refused.exit_code == 2
    assert "sit-on-top, one person" in refused.stderr
    assert run("lake", "add", "--name", "X", "--position", "31, -84", "--craft", "kayak").exit_code == 0


def test_the_open_words_of_a_field_are_understood_by_set(run: Run, pond: Path) -> None:
    assert run("lake", "set", "quillmere-pond", "species=smallmouth, spotted", "alone=no").exit_code == 0
    profile = load_profile(pond)
    assert ([str(one) for one in profile.species], profile.alone) == (["smallmouth_lake", "spotted"], False)
    refused = run("lake", "set", "quillmere-pond", "alone=maybe")
    assert refused.exit_code == 2
    assert "alone: found 'maybe'; accepted: yes or no." in refused.stderr
