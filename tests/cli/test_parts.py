"""`briefing water`, `briefing phase` and a second morning that starts from what the first one kept."""

import json
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from briefing.cli import make_app

Run = Callable[..., Result]

CONDITIONS = """
read_at = "{day}T04:30-04:00"
[[hours]]
from = "05:00"
to = "13:00"
wind = "6 mph"
gust = "9 mph"
direction = "SW"
thunder = 0
[alerts]
read_at = "{day}T04:40-04:00"
events = []
"""


def program(home: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    runner = CliRunner()

    def invoke(*words: str) -> Result:
        monkeypatch.setenv("BRIEFING_HOME", str(home))
        done = runner.invoke(make_app(), list(words), catch_exceptions=False)
        assert done.exit_code == 0, (words, done.output, done.stderr)
        return done

    invoke(
        "lake", "add", "--name", "Long Pond", "--position", "30.61, -84.22", "--craft", "kayak",
        "--contact", "tests@example.org",
    )  # fmt: skip
    return invoke


@pytest.fixture
def lake(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    run = program(tmp_path / "home", monkeypatch)
    run("--now", "2026-04-10T14:00:00Z", "reading", "add", "63F", "--hull")
    run("--now", "2026-04-15T14:00:00Z", "reading", "add", "66F", "--hull")
    run("--now", "2026-04-15T15:00:00Z", "sign", "add", "beds_with_fish")
    return run


NOW = ("--now", "2026-04-18T09:30:00Z")


def test_water_shows_state_chart_readings_and_skill(lake: Run, tmp_path: Path) -> None:
    text = lake(*NOW, "water", "--offline", "--svg", str(tmp_path / "water.svg")).stdout
    for words in ("Main lake:", "Sheltered pockets:", "Readings, newest first", "66 F", "It counts", ": today"):
        assert words in text
    assert max(len(line) for line in text.splitlines()) <= 80
    ElementTree.fromstring((tmp_path / "water.svg").read_text(encoding="utf-8"))
    made = json.loads(lake(*NOW, "water", "--offline", "--json").stdout)
    assert [row["used"] for row in made["readings"]] == [True, True]
    assert made["water"]["temperature"]["low"] < made["water"]["temperature"]["value"]


def test_a_wrong_unit_is_refused_when_typed_and_told_in_the_report_when_entered_anyway(lake: Run) -> None:
    made = json.loads(lake(*NOW, "water", "--offline", "--json").stdout)
    before = made["water"]["temperature"]["value"]
    lake("--now", "2026-04-17T14:00:00Z", "reading", "add", "36 C", "--hull")
    after = json.loads(lake(*NOW, "water", "--offline", "--json").stdout)
    newest = after["readings"][0]
    assert not newest["used"] or newest["weight"] < 0.4
    assert abs(after["water"]["temperature"]["value"] - before) < 3.0
    assert len(newest["text"]) > 40


def test_phase_shows_shares_dates_curve_and_what_has_no_weight(lake: Run, tmp_path: Path) -> None:
    text = lake(*NOW, "phase", "--offline", "--why", "--svg", str(tmp_path / "season.svg")).stdout
    flat = " ".join(text.split())
    for words in ("spawn", "half of the nests made", "What moved it today", "moon and the barometer have no weight"):
        assert words in flat
    assert max(len(line) for line in text.splitlines()) <= 80
    ElementTree.fromstring((tmp_path / "season.svg").read_text(encoding="utf-8"))
    shares = json.loads(lake(*NOW, "phase", "--offline", "--json").stdout)[0]["shares"]
    assert sum(row["share"] for row in shares) == pytest.approx(1.0, abs=0.005)


def test_a_withdrawn_sign_leaves_no_trace(lake: Run) -> None:
    with_sign = json.loads(lake(*NOW, "phase", "--offline", "--json").stdout)
    lake("sign", "withdraw", "1")
    without = json.loads(lake(*NOW, "phase", "--offline", "--json").stdout)
    assert with_sign != without
    lake("--now", "2026-04-15T15:00:00Z", "sign", "add", "beds_with_fish")
    assert json.loads(lake(*NOW, "phase", "--offline", "--json").stdout) == with_sign


def morning(run: Run, folder: Path, day: str) -> dict[str, object]:
    path = folder / f"{day}.toml"
    path.write_text(CONDITIONS.format(day=day), encoding="utf-8")
    done = run(
        "--now",
        f"{day}T09:10:00Z",
        "today",
        "--conditions",
        str(path),
        "--format",
        "json",
        "--save",
        str(folder / "out"),
    )
    return json.loads(done.stdout)


def test_a_morning_that_starts_from_a_kept_state_equals_one_from_the_beginning(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = program(tmp_path / "kept", monkeypatch)
    kept("--now", "2026-04-10T14:00:00Z", "reading", "add", "63F", "--hull")
    for day in ("2026-04-16", "2026-04-17"):
        morning(kept, tmp_path, day)
    late = morning(kept, tmp_path, "2026-04-18")
    fresh = program(tmp_path / "fresh", monkeypatch)
    fresh("--now", "2026-04-10T14:00:00Z", "reading", "add", "63F", "--hull")
    first = morning(fresh, tmp_path, "2026-04-18")
    assert late["water"] == first["water"]
    assert late["season"] == first["season"]
    assert late["hours"] == first["hours"]
