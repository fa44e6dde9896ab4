"""Every command that README and DEVELOPERS show is run as shown; the make targets they name exist."""

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from briefing.cli import make_app
from tests.replay import ReplayServer

ROOT = Path(__file__).resolve().parents[1]


def shown(name: str) -> list[str]:
    """Indented lines that start with a program of ours, without their comments."""
    lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
    return [
        line.split("  #")[0].strip() for line in lines if re.match(r"    (briefing|make|python -m briefing)\b", line)
    ]


COMMANDS = [line for line in shown("README.md") if line.startswith("briefing ")]


def test_the_readme_shows_commands() -> None:
    assert len(COMMANDS) >= 12


def test_every_command_of_the_readme_runs_as_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BRIEFING_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-18T09:30:00Z")
    monkeypatch.chdir(tmp_path)
    runner = CliRunner()
    with ReplayServer({}) as server:  # every service answers 404: each may fail alone, the commands work
        for name, value in server.environment().items():
            monkeypatch.setenv(name, value)
        failed = []
        for command in COMMANDS:
            words = shlex.split(command)[1:]
            if words == ["lake", "add"]:
                continue  # asks its questions on a terminal; its flags stand in the next line
            typed = "y\n" if words[0] == "forget" else None
            done = runner.invoke(make_app(), words, input=typed)
            if done.exit_code != 0:
                failed.append((command, done.exit_code, done.output[-300:], done.stderr[-300:]))
    assert not failed


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_make_target_that_is_shown_exists(name: str) -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    for line in shown(name):
        if line.startswith("make "):
            assert re.search(rf"^{re.escape(line.split()[1])}:", makefile, re.M), line


def test_the_readme_starts_with_the_job_and_the_two_commands() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert text.index("make run") < text.index("make test") < text.index("\n## ")
