"""`briefing wind`: the note, what changed since the last one, and that silence is not an all-clear."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from briefing.cli import make_app

Run = Callable[..., Result]

HEAD = """
read_at = "{read}"
[[hours]]
from = "05:00"
to = "08:00"
wind = "5 mph"
gust = "8 mph"
direction = "S"
thunder = 0
[[hours]]
from = "08:00"
to = "14:00"
wind = "{wind} mph"
gust = "{gust} mph"
direction = "S"
thunder = 0
[alerts]
read_at = "{read}"
events = []
"""


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("BRIEFING_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("BRIEFING_NOW", raising=False)
    runner = CliRunner()

    def invoke(*words: str) -> Result:
        return runner.invoke(make_app(), list(words), catch_exceptions=False)

    added = invoke(
        "lake", "add", "--name", "Long Pond", "--position", "30.61, -84.22", "--craft", "kayak",
        "--contact", "tests@example.org",
    )  # fmt: skip
    assert added.exit_code == 0, added.output
    return invoke


def check(program: Run, folder: Path, now: str, wind: int, gust: int, *more: str) -> Result:
    path = folder / "ramp.toml"
    path.write_text(HEAD.format(read=now, wind=wind, gust=gust), encoding="utf-8")
    return program(
        "--now", now, "wind", "--launch", "06:30", "--return", "11:30", "--conditions", str(path),
        "--save", str(folder / "out"), *more,
    )  # fmt: skip


def test_a_quiet_morning_gets_no_note_and_says_what_that_means(program: Run, tmp_path: Path) -> None:
    done = check(program, tmp_path, "2026-07-18T09:30:00+00:00", 5, 8)
    assert done.exit_code == 0, done.output
    assert "No wind note" in done.output
    assert "No note is not an all-clear." in " ".join(done.output.split())
    assert list((tmp_path / "out").glob("long-pond-wind-*.txt"))


def test_a_first_note_a_stronger_one_and_none_for_the_same(program: Run, tmp_path: Path) -> None:
    first = check(program, tmp_path, "2026-07-18T09:30:00+00:00", 13, 19, "--json")
    assert first.exit_code == 0, first.output
    note = json.loads(first.stdout)
    assert note["action"] == "first"
    assert len(note["first"]) <= 360
    for word in ("Long Pond", "08:00", "mph"):
        assert word in note["first"]
    again = json.loads(check(program, tmp_path, "2026-07-18T09:40:00+00:00", 13, 19, "--json").stdout)
    assert again["action"] == "none"
    stronger = json.loads(check(program, tmp_path, "2026-07-18T09:50:00+00:00", 20, 30, "--json").stdout)
    assert stronger["action"] == "stronger"
    assert stronger["changes"]


def test_nothing_known_is_a_note_too(program: Run, tmp_path: Path) -> None:
    done = program(
        "--now", "2026-07-18T09:30:00+00:00", "wind", "--launch", "06:30", "--return", "11:30", "--offline",
        "--save", str(tmp_path / "out"), "--json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    note = json.loads(done.stdout)
    assert note["action"] in ("first", "data_lost")
    assert "unknown" in note["text"]
