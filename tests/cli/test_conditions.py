"""``briefing conditions``: typed the evening before, read back, counted in the morning."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run

LINE = (
    "wind S 5-8, gusts 12 until 11, gusts 20 after 11; 62 to 79 F; cloud 60%; no storms until 2, storms after 2 pm; dry"
)


def test_a_line_is_read_in_si_without_any_lake(run: Run) -> None:
    said = run("conditions", "read", LINE, "--json", "--date", "2026-04-19")
    found = json.loads(said.stdout)
    assert found["date"] == "2026-04-19"
    first, *_, last = found["parts"]
    assert (first["from"], last["until"]) == ("00:00", "24:00")
    assert first["wind_mps"] == [2.24, 3.58]
    assert (first["gust_mps"], last["gust_mps"]) == (5.36, 8.94)
    assert (first["thunder"], last["thunder"]) == ("none", "likely")
    assert first["wind_from_deg"] == 180.0
    assert first["air_c"] == [16.7, 26.1]
    assert (first["cloud_pct"], first["rain"], found["rest"], found["open"]) == (60.0, "none", [], [])


def test_what_was_not_said_or_not_understood_is_told(run: Run, pond: Path) -> None:
    shown = run("conditions", "read", "gusts 24 from 10; pressure falling").output
    assert "10:00 to 24:00  gusts 24 mph" in shown
    assert "Not said, so not known: wind; gusts 00:00 to 10:00; thunder." in shown
    assert "Not understood: pressure falling." in shown


def test_nothing_is_kept_of_a_line_that_says_no_weather(run: Run, pond: Path) -> None:
    refused = run("conditions", "add", "lovely out")
    assert refused.exit_code == 2
    assert "Nothing in 'lovely out' could be read as weather" in refused.output
    assert "No weather is kept" in run("conditions", "list").output


def test_an_evening_before_makes_the_morning(run: Run, pond: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-18T00:40:00Z")  # 20:40 on the 17th at the lake
    kept = run("conditions", "add", "--date", "tomorrow", LINE)
    assert "Kept for Quillmere Pond, Saturday 18 April: entry 1." in kept.output
    assert "reading withdraw 1" in kept.output
    assert "2026-04-18  read 2026-04-17 20:40" in run("conditions", "list", "--date", "tomorrow").output
    run("reading", "add", "alerts", "none")
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-18T08:45:00Z")
    run("reading", "add", "alerts", "none")
    words = ("today", "--offline", "--launch", "07:00", "--return", "10:00")
    page = json.loads(run(*words, "--format", "json").stdout)
    rows = {row["clock"]: row for row in page["hours"]["rows"]}
    assert rows["07:00"]["wind_mps"] == pytest.approx(3.58, abs=0.01)
    assert rows["07:00"]["gust_mps"] == pytest.approx(5.36, abs=0.01)
    assert rows["07:00"]["level"] != "unknown"
    assert page["day"]["off_water_by"] is not None
    assert page["plan"]["blocks"]
    assert "The forecast is not known" not in json.dumps(page)
    run("reading", "withdraw", "1")
    taken_back = run(*words, "--format", "json").stdout
    assert json.loads(taken_back)["day"]["level"] == "unknown"
    assert all(row["wind_mps"] is None for row in json.loads(taken_back)["hours"]["rows"]), "nor kept as retrieved"
    assert taken_back.count("The forecast is not known: none is stored") == 1
    assert "Off line: the forecast is the one retrieved" not in taken_back


def test_the_example_is_a_file_that_today_takes(run: Run, pond: Path, tmp_path: Path) -> None:
    path = tmp_path / "ramp.toml"
    path.write_text(run("conditions", "example").output, encoding="utf-8")
    page = json.loads(run("today", "--conditions", str(path), "--launch", "10:15", "--format", "json").stdout)
    assert {row["clock"]: row["gust_mps"] for row in page["hours"]["rows"]}["10:00"] == pytest.approx(9.83, abs=0.01)
    assert page["cautions"]["alerts_known"]


def test_asked_part_by_part_an_answer_that_cannot_be_read_is_asked_again(run: Run, pond: Path) -> None:
    answers = [
        "S 5, gusts 8",
        "bananas",
        "SW 8-12 gusts 18",
        "calm",
        "",
        "52 to 66 F",
        "none",
        "likely after 2 pm",
        "60%",
    ]
    done = run("conditions", "ask", "--date", "tomorrow", typed="\n".join(answers) + "\n")
    assert done.exit_code == 0, done.stderr
    assert "'bananas' could not be read" in done.stdout
    assert "05:00 to 09:00  wind 5 mph from S; gusts 8 mph" in done.stdout
    assert "09:00 to 12:00  wind 8 to 12 mph from SW; gusts 18 mph" in done.stdout
    assert "12:00 to 14:00  wind 0 to 1 mph" in done.stdout
    assert "gusts 00:00 to 05:00 and 12:00 to 24:00" in done.stdout, "what was not answered is not known"
    assert len(json.loads(run("conditions", "list", "--json").stdout)) == 1


def test_asked_hour_by_hour_and_nothing_answered_nothing_is_kept(run: Run, pond: Path) -> None:
    done = run("conditions", "ask", "--hourly", typed="\n" * 20)
    assert done.exit_code == 0, done.stderr
    assert done.stdout.count("Wind ") == 16
    assert "nothing is kept" in done.stdout
    assert json.loads(run("conditions", "list", "--json").stdout) == []


def test_answers_that_end_are_told_and_leave_nothing(run: Run, pond: Path) -> None:
    done = run("conditions", "ask", typed="S 5\n")
    assert done.exit_code == 2
    assert "nothing was stored" in done.stderr
    assert json.loads(run("conditions", "list", "--json").stdout) == []
