"""A command line of its own folders and clock, without the commands that need a network."""

import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from briefing.app.assembly import App
from briefing.cli import conditions, data, lake, log, names, next, reading, sign, skill, today
from briefing.cli.common import new_app

Run = Callable[..., Result]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def run(home: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run a command as typed; standard output and standard error are kept apart."""
    app = new_app("All commands of this folder's tests.")

    @app.callback()
    def _context(ctx: typer.Context) -> None:
        ctx.obj = App.from_environment(os.environ)

    for name, module in (
        ("lake", lake),
        ("reading", reading),
        ("sign", sign),
        ("log", log),
        ("conditions", conditions),
    ):
        app.add_typer(module.app, name=name)
    app.command("next")(next.next)
    app.command("skill")(skill.skill)
    app.command("names")(names.names)
    app.command("today")(today.today)
    data.register(app)
    monkeypatch.setenv("BRIEFING_HOME", str(home))
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-18T14:00:00Z")
    monkeypatch.delenv("VISUAL", raising=False)
    monkeypatch.delenv("EDITOR", raising=False)
    runner = CliRunner()

    def invoke(*words: str, typed: str | None = None) -> Result:
        return runner.invoke(app, list(words), input=typed, catch_exceptions=False)

    return invoke


@pytest.fixture
def pond(run: Run, home: Path) -> Path:
    """A lake with the three values that must be given, and one spot; returns its file."""
    made = run("lake", "add", "--name", "Quillmere Pond", "--position", "30.31, -83.22", "--craft", "kayak")
    assert made.exit_code == 0, made.output
    path = home / "config" / "lakes" / "quillmere-pond.toml"
    path.write_text(path.read_text() + '\n[[spots]]\nname = "North pocket"\nbank = "N"\nzone = "pocket"\n')
    return path


@pytest.fixture
def no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Retries of the client for data services don't sleep."""
    from briefing.sources.http import Fetcher

    defaults = tuple((lambda _: None) if one is time.sleep else one for one in Fetcher.__init__.__defaults__ or ())
    monkeypatch.setattr(Fetcher.__init__, "__defaults__", defaults)
