"""Every recorded error body, and bodies that lie about themselves, through the whole program: the briefing goes out,
says what is missing, and no hour looks better for it."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from briefing.cli import make_app
from tests.replay import ReplayServer, answer

Run = Callable[..., Result]
NOW = "2026-07-15T20:05:00+00:00"

#: body -> (status, content type)
ERRORS = {
    "nws_403_access_denied.html": (403, "text/html"),
    "nws_404_InvalidPoint.json": (404, "application/problem+json"),
    "nws_404_MarineForecastNotSupported.json": (404, "application/problem+json"),
    "nws_500_UnexpectedProblem.json": (500, "application/problem+json"),
    "nws_503_ForecastGridExpired.json": (503, "application/problem+json"),
    "nws_503_ForecastMissingData.json": (503, "application/problem+json"),
    "nws_503_UnavailableWebService.json": (503, "application/problem+json"),
    "open-meteo_400_unknown_variable.json": (400, "application/json"),
    "open-meteo_429_daily.json": (429, "application/json"),
    "open-meteo_429_minutely.json": (429, "application/json"),
    "open-meteo_502_bad_gateway.html": (502, "text/html"),
    "usgs_ogc_429_over_rate_limit.json": (429, "application/json"),
}


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, no_waiting: None) -> Run:
    monkeypatch.setenv("BRIEFING_HOME", str(tmp_path / "home"))
    runner = CliRunner()

    def invoke(*words: str) -> Result:
        return runner.invoke(make_app(), list(words), catch_exceptions=False)

    added = invoke(
        "lake", "add", "--name", "Test Water", "--position", "42.745, -73.752", "--craft", "kayak",
        "--contact", "tests@example.org",
    )  # fmt: skip
    assert added.exit_code == 0, added.output
    return invoke


def everything_answers(body: bytes, status: int, kind: str) -> dict[str, object]:
    """Routes on which every request of every service gets the same answer."""
    routes = (
        "/nws/points/42.745,-73.752",
        "/nws/alerts/active",
        "/open_meteo/forecast",
        "/open_meteo_archive/archive",
        "/metar/metar",
        "/usgs/collections/latest-continuous/items",
        "/usgs/collections/daily/items",
    )
    return dict.fromkeys(routes, answer(body, status, kind))


def today(program: Run, folder: Path, monkeypatch: pytest.MonkeyPatch, routes: dict[str, object]) -> dict[str, object]:
    with ReplayServer(routes) as server:  # type: ignore[arg-type]
        for name, value in server.environment().items():
            monkeypatch.setenv(name, value)
        done = program("--now", NOW, "today", "--save", str(folder), "--requests")
    assert done.exit_code == 0, done.output + done.stderr
    assert "Traceback" not in done.output + done.stderr
    return json.loads(next(folder.glob("*.json")).read_text(encoding="utf-8"))


def assert_nothing_looks_better(made: dict[str, object]) -> None:
    assert {row["level"] for row in made["hours"]["rows"]} == {"unknown"}
    assert "none listed" not in made["cautions"]["alerts_state"]
    assert made["unknown"]["items"]
    assert made["day"]["off_water_by"] is None


@pytest.mark.parametrize("name", sorted(ERRORS))
def test_a_recorded_error_from_every_service(
    program: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reference_data: Path, name: str
) -> None:
    body = (reference_data / "samples" / "errors" / name).read_bytes()
    made = today(program, tmp_path / "out", monkeypatch, everything_answers(body, *ERRORS[name]))
    assert_nothing_looks_better(made)


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (b"<html><body>Sign in to the network</body></html>", "text/html"),
        (b"<html><body>Sign in to the network</body></html>", "application/json"),
        (b"", "application/json"),
        (b"{", "application/json"),
        (b"[]", "application/json"),
        (b"null", "application/json"),
        (b'{"properties": null, "features": null, "hourly": null}', "application/json"),
    ],
    ids=["page", "page-as-json", "empty", "cut-off", "list", "null", "nulls"],
)
def test_success_with_nonsense_from_every_service(
    program: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, body: bytes, kind: str
) -> None:
    assert_nothing_looks_better(today(program, tmp_path / "out", monkeypatch, everything_answers(body, 200, kind)))


def test_a_broken_cache_and_a_broken_state_are_left_aside(
    program: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nothing = everything_answers(b"{}", 404, "application/json")
    today(program, tmp_path / "first", monkeypatch, nothing)
    for path in (tmp_path / "home" / "cache").rglob("*"):
        if path.is_file():
            path.write_bytes(b"\x00broken")
    made = today(program, tmp_path / "second", monkeypatch, nothing)
    assert_nothing_looks_better(made)


def test_a_newer_store_is_refused_and_left_alone(program: Run, tmp_path: Path) -> None:
    import sqlite3

    assert program("--now", NOW, "reading", "add", "61F").exit_code == 0
    path = next((tmp_path / "home").rglob("*.sqlite"))
    with sqlite3.connect(path) as base:
        columns = "name, applied_at"
        base.execute(f"insert into schema_steps (step, {columns}) select 9999, {columns} from schema_steps limit 1")
    before = path.read_bytes()
    done = program("--now", NOW, "reading", "list")
    assert done.exit_code == 3
    assert "newer version" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert path.read_bytes() == before
