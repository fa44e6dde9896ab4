"""`briefing rods`: the list and the card for an outing, from weather as typed and without any."""

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from briefing.app.assembly import App
from briefing.cli import lake, rods
from briefing.cli.common import new_app

Run = Callable[..., Result]

CONDITIONS = """
read_at = "2026-04-17T20:00-04:00"
[[hours]]
from = "05:00"
to = "14:00"
wind = "6 mph"
gust = "9 mph"
direction = "SW"
thunder = 0
cloud = 30
air = "58F"
[alerts]
read_at = "2026-04-17T20:05-04:00"
events = []
"""

TACKLE = """
[[spots]]
name = "Grass line"
bank = "N"
depth = ["3 ft", "6 ft"]
cover = ["grass_sparse"]

[[spots]]
name = "Old docks"
bank = "E"
depth = ["4 ft", "8 ft"]
cover = ["dock"]

[[rods]]
id = "swim"
name = "swim rod"
length = "7 ft 2 in"
power = "medium_heavy"
action = "moderate_fast"
reel = "baitcast"
ratio = 6.8
line = "fluoro"
line_lb = 15.0
line_mm = 0.36

[[rods]]
id = "light"
name = "light rod"
length = "7 ft"
power = "medium"
action = "fast"
reel = "spinning"
ratio = 5.8
line = "braid"
line_lb = 15.0
line_mm = 0.2
"""


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """The commands lake and rods with folders of their own, and one lake with two spots and two rods."""
    app = new_app("Commands of this test.")

    @app.callback()
    def _context(ctx: typer.Context) -> None:
        ctx.obj = App.from_environment(os.environ)

    app.add_typer(lake.app, name="lake")
    app.command("rods")(rods.rods)
    monkeypatch.setenv("BRIEFING_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-18T00:30:00Z")
    runner = CliRunner()

    def invoke(*words: str) -> Result:
        return runner.invoke(app, list(words), catch_exceptions=False)

    made = invoke("lake", "add", "--name", "Long Pond", "--position", "30.61, -84.22", "--craft", "kayak")
    assert made.exit_code == 0, made.output
    path = tmp_path / "home" / "config" / "lakes" / "long-pond.toml"
    path.write_text(path.read_text(encoding="utf-8") + TACKLE, encoding="utf-8")
    return invoke


@pytest.fixture
def weather(tmp_path: Path) -> str:
    path = tmp_path / "weather.toml"
    path.write_text(CONDITIONS, encoding="utf-8")
    return str(path)


def rigged(program: Run, weather: str, *words: str) -> Result:
    done = program("rods", "--conditions", weather, "--launch", "07:00", "--return", "12:00", *words)
    assert done.exit_code == 0, done.output
    return done


def test_the_list_is_for_tomorrow_in_the_evening(program: Run, weather: str) -> None:
    text = rigged(program, weather).stdout
    assert "Long Pond, Saturday 18 April 2026, launch 07:00" in text
    assert "swim rod: 7'2\"" in text
    assert "light rod: 7'0\", medium power" in text
    assert "[ ]" not in text
    assert max(map(len, text.splitlines())) <= 72


def test_the_card_has_a_box_for_every_rod(program: Run, weather: str) -> None:
    text = rigged(program, weather, "--card").stdout
    assert text.count("[ ] 1  ") == text.count("[ ] 2  ") == 1
    assert "[ ] Re-tie every knot" in text


def test_json_names_own_rods_and_what_they_are_for(program: Run, weather: str) -> None:
    made = json.loads(rigged(program, weather, "--json").stdout)
    assert made["lake"] == "long-pond"
    assert made["date"] == "2026-04-18"
    assert {row["rod"] for row in made["rods"]} == {"swim", "light"}
    assert all(row["purpose"].endswith(".") and row["weight_oz"] for row in made["rods"])
    assert sum(row["in_reach"] for row in made["rods"]) == 2
    assert made["gap"]["text"].startswith(("A rod for", "One more rod like"))


def test_the_number_aboard_can_be_said(program: Run, weather: str) -> None:
    made = json.loads(rigged(program, weather, "--json", "--aboard", "1").stdout)
    assert len(made["rods"]) == 1
    refused = program("rods", "--aboard", "9")
    assert refused.exit_code == 2


def test_without_weather_the_rods_are_on_the_condition_and_the_reason_is_told(program: Run) -> None:
    done = program("rods", "--offline")
    assert done.exit_code == 0, done.output
    assert "for these hours only once they are known and within your limits" in " ".join(done.stdout.split())
    assert "Too much is not known" in done.stdout
    assert "later day" not in done.stdout
    made = json.loads(program("rods", "--offline", "--json").stdout)
    assert made["rods"]
    assert made["notes"]
