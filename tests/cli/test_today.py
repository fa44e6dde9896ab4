"""`briefing today` from the command line to the saved files: on loopback, off line, and with weather as typed."""

import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from briefing.cli import make_app
from tests.replay import ReplayServer, albany, answer, minneapolis

Run = Callable[..., Result]


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, no_waiting: None) -> Run:
    """The whole command line with folders of its own."""
    monkeypatch.setenv("BRIEFING_HOME", str(tmp_path / "home"))
    monkeypatch.delenv("BRIEFING_NOW", raising=False)
    runner = CliRunner()

    def invoke(*words: str) -> Result:
        return runner.invoke(make_app(), list(words), catch_exceptions=False)

    return invoke


def add_lake(program: Run, latitude: float, longitude: float) -> None:
    made = program(
        "lake", "add", "--name", "Test Water", "--position", f"{latitude}, {longitude}", "--craft", "kayak",
        "--contact", "tests@example.org",
    )  # fmt: skip
    assert made.exit_code == 0, made.output


def made_json(folder: Path) -> dict[str, object]:
    return json.loads(next(folder.glob("*.json")).read_text(encoding="utf-8"))


@pytest.mark.parametrize("bundle", [albany, minneapolis], ids=["albany", "minneapolis"])
def test_a_recorded_morning_over_real_http(
    program: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    reference_data: Path,
    bundle: Callable[[Path], object],
) -> None:
    morning = bundle(reference_data)
    with ReplayServer(morning.routes) as server:
        for name, value in server.environment().items():
            monkeypatch.setenv(name, value)
        add_lake(program, morning.latitude, morning.longitude)
        done = program("--now", morning.now.isoformat(), "today", "--save", str(tmp_path / "out"), "--requests")
        assert done.exit_code == 0, done.output
        made = made_json(tmp_path / "out")
    assert sorted(path.suffix for path in (tmp_path / "out").iterdir()) == [".html", ".json", ".txt"]
    known = [row for row in made["hours"]["rows"] if row["wind_mps"] is not None]
    assert known
    assert made["sources"]["rows"]
    assert "National Weather Service" in done.output
    assert "Tornado Warning" not in done.output, "a test message is never shown as real"
    if bundle is albany:
        assert "Air Quality Alert" in done.output
        assert any(row["thunder_pct"] for row in made["hours"]["rows"]) or known


def test_the_next_day_at_albany_shows_thunder(
    program: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reference_data: Path
) -> None:
    morning = albany(reference_data)
    with ReplayServer(morning.routes) as server:
        for name, value in server.environment().items():
            monkeypatch.setenv(name, value)
        add_lake(program, morning.latitude, morning.longitude)
        done = program(
            "--now", morning.now.isoformat(), "today", "--date", "2026-07-18", "--launch", "12:00", "--return", "18:00",
            "--save", str(tmp_path / "out"),
        )  # fmt: skip
    assert done.exit_code == 0, done.output
    rows = made_json(tmp_path / "out")["hours"]["rows"]
    assert max(row["thunder_pct"] for row in rows) == 37.0
    assert {"stop"} <= {row["level"] for row in rows}


def test_a_failed_warning_service_is_said_at_the_top_and_never_none(
    program: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reference_data: Path
) -> None:
    morning = albany(reference_data)
    routes = dict(morning.routes) | {"/nws/alerts/active": answer("<html>502</html>", 502, "text/html")}
    with ReplayServer(routes) as server:
        for name, value in server.environment().items():
            monkeypatch.setenv(name, value)
        add_lake(program, morning.latitude, morning.longitude)
        done = program("--now", morning.now.isoformat(), "today", "--save", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    made = made_json(tmp_path / "out")
    assert "COULD NOT BE CHECKED" in made["cautions"]["alerts_state"]
    assert {row["level"] for row in made["hours"]["rows"]} <= {"unknown", "stop"}
    assert "none listed" not in done.output


CONDITIONS = """
read_at = "2026-04-18T05:00-04:00"
[[hours]]
from = "05:00"
to = "13:00"
wind = "6 mph"
gust = "9 mph"
direction = "SW"
thunder = 0
cloud = 30
air = "58F"
[alerts]
read_at = "2026-04-18T05:05-04:00"
events = []
"""


def test_weather_as_typed_needs_no_service(program: Run, tmp_path: Path) -> None:
    add_lake(program, 30.61, -84.22)
    path = tmp_path / "ramp.toml"
    path.write_text(CONDITIONS, encoding="utf-8")
    done = program(
        "--now", "2026-04-18T09:10:00Z", "today", "--conditions", str(path), "--launch", "06:30", "--return", "11:30",
        "--save", str(tmp_path / "out"), "--format", "json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    made = made_json(tmp_path / "out")
    inside = [row for row in made["hours"]["rows"] if row["clock"] in ("07:00", "08:00", "09:00", "10:00")]
    assert {row["wind_text"] for row in inside} == {"6"}
    assert {row["level"] for row in inside} <= {"within_limits", "caution"}
    assert "typed by you" in made["cautions"]["alerts_state"]


def test_a_forecast_read_later_than_now_is_asked_back(program: Run, tmp_path: Path) -> None:
    """It would count for nothing: every hour would be called not known, though all was typed."""
    add_lake(program, 30.61, -84.22)
    path = tmp_path / "ramp.toml"
    path.write_text(CONDITIONS, encoding="utf-8")
    done = program("--now", "2026-04-18T00:30:00Z", "today", "--conditions", str(path), "--date", "2026-04-18")
    assert done.exit_code == 2
    assert "ramp.toml, read_at: 2026-04-18 05:00 lies ahead (it is 2026-04-17 20:30 at the lake)" in done.stderr


def test_tomorrow_typed_the_evening_before_has_its_hours(program: Run, tmp_path: Path) -> None:
    add_lake(program, 30.61, -84.22)
    path = tmp_path / "ramp.toml"
    evening = CONDITIONS.replace("2026-04-18T05:00", "2026-04-17T20:20").replace("2026-04-18T05:05", "2026-04-17T20:25")
    path.write_text(evening, encoding="utf-8")
    done = program(
        "--now", "2026-04-18T00:30:00Z", "today", "--conditions", str(path), "--date", "2026-04-18",
        "--launch", "07:30", "--return", "11:30", "--save", str(tmp_path / "out"), "--format", "json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    rows = made_json(tmp_path / "out")["hours"]["rows"]
    assert {row["wind_text"] for row in rows if row["clock"] in ("08:00", "09:00", "10:00")} == {"6"}


def test_off_line_with_nothing_stored_is_all_unknown_and_says_why(program: Run, tmp_path: Path) -> None:
    add_lake(program, 30.61, -84.22)
    done = program("--now", "2026-04-18T09:10:00Z", "today", "--offline", "--save", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    made = made_json(tmp_path / "out")
    assert {row["level"] for row in made["hours"]["rows"]} == {"unknown"}
    assert "The forecast is not known: none is stored" in done.output
    assert made["glance"]["word"] == "Not known: no hours can be given"


def test_off_line_after_a_run_uses_what_was_stored_with_its_age(
    program: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reference_data: Path
) -> None:
    morning = albany(reference_data)
    with ReplayServer(morning.routes) as server:
        for name, value in server.environment().items():
            monkeypatch.setenv(name, value)
        add_lake(program, morning.latitude, morning.longitude)
        first = program("--now", morning.now.isoformat(), "today", "--save", str(tmp_path / "first"))
        assert first.exit_code == 0, first.output
    later = (morning.now + timedelta(hours=2)).isoformat()
    done = program("--now", later, "today", "--offline", "--save", str(tmp_path / "out"))
    assert done.exit_code == 0, done.output
    made = made_json(tmp_path / "out")
    assert "2 h ago" in done.output
    assert "COULD NOT BE CHECKED" in made["cautions"]["alerts_state"]
    assert made["changes"]["compared_with"] is not None


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("today", "Nowhere"), 5, "Nowhere"),
        (("today", "--date", "someday"), 2, "2026-04-18"),
        (("today", "--launch", "dawn"), 2, "06:30"),
        (("today", "--return", "11:00"), 2, "--launch"),
        (("today", "--launch", "11:00", "--return", "06:00"), 2, "not after"),
        (("today", "--conditions", "no-such.toml"), 5, "no such file"),
        (("--now", "yesterday", "today"), 2, "instant"),
    ],
)
def test_bad_input_is_one_sentence_and_an_exit_code(program: Run, words: tuple[str, ...], code: int, said: str) -> None:
    add_lake(program, 30.61, -84.22)
    done = program(*words)
    assert done.exit_code == code, done.output
    assert said in done.stderr
    assert "Traceback" not in done.output + done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


def test_an_unwritable_folder_is_one_sentence(program: Run, tmp_path: Path) -> None:
    add_lake(program, 30.61, -84.22)
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    done = program("--now", "2026-04-18T09:10:00Z", "today", "--offline", "--save", str(blocked / "sub"))
    assert done.exit_code == 3
    assert "could not be saved" in done.stderr


def test_warnings_typed_in_the_file_are_not_called_unread(program: Run, tmp_path: Path) -> None:
    add_lake(program, 33.0, -84.0)
    weather = tmp_path / "typed.toml"
    weather.write_text(TYPED_WITH_WARNINGS, encoding="utf-8")
    text = program(
        "today", "--now", "2026-03-21T08:45Z", "--conditions", str(weather), "--launch", "07:30", "--return", "11:30"
    ).stdout
    assert "Official warnings typed by you at 04:40: none listed" in " ".join(text.split())
    assert "have not been read" not in text
    assert "says nothing of official warnings" not in " ".join(text.split())


TYPED_WITH_WARNINGS = """
read_at = "2026-03-21T04:40-04:00"
[[hours]]
from = "04:00"
to = "14:00"
wind = "5 mph"
gust = "7 mph"
direction = "SE"
thunder = 0
cloud = 40
air = "61F"
[alerts]
read_at = "2026-03-21T04:40-04:00"
events = []
"""


@pytest.mark.parametrize("extra", [("--section", "rods"), ("--all",)])
def test_parts_of_the_text_are_refused_with_another_form(program: Run, extra: tuple[str, ...]) -> None:
    add_lake(program, 33.0, -84.0)
    done = program("today", "--offline", "--form", "spoken", *extra)
    assert done.exit_code == 2
    assert "--section and --all go with text" in done.stderr
