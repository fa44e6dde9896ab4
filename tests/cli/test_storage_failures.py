"""A full disk, an empty store, a file where the home should be: the morning comes out, nothing is lost in silence."""

import os
import resource
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner, Result

from briefing.cli import make_app
from briefing.controls import escaped_controls, without_controls
from briefing.errors import StoreInUseError

Program = Callable[..., Result]


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Program:
    """The whole program; ``full`` bytes are the most that a file may hold while it runs."""
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-18T09:10:00Z")

    def run(*words: str, full: int | None = None, home: Path | None = None) -> Result:
        monkeypatch.setenv("BRIEFING_HOME", str(home or tmp_path / "home"))
        before = resource.getrlimit(resource.RLIMIT_FSIZE)
        if full is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (full, before[1]))
        try:
            return CliRunner().invoke(make_app(), list(words))
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)

    return run


@pytest.fixture
def pond(program: Program, tmp_path: Path) -> Path:
    made = program("lake", "add", "--name", "Quillmere Pond", "--position", "30.31, -83.22", "--craft", "kayak")
    assert made.exit_code == 0, made.stderr
    assert program("reading", "add", "61F").exit_code == 0
    return tmp_path / "home" / "data" / "briefing.sqlite"


@pytest.mark.parametrize("command", ["today", "wind"])
@pytest.mark.parametrize("fresh", [False, True])
def test_a_full_disk_costs_no_morning(program: Program, pond: Path, command: str, fresh: bool) -> None:
    if fresh:
        pond.unlink()
    options = ("--launch", "06:30", "--return", "11:30", "--offline")
    done = program(command, *options, full=0)
    assert done.exit_code == 3
    assert isinstance(done.exception, SystemExit)
    assert "06:00" in done.stdout, done.stderr
    assert "NOT KEPT" in done.stderr
    if command == "today":
        assert "CAUTIONS" in done.stdout
        assert "could not be saved" in done.stderr
        assert ("61 F" in done.stdout) is not fresh
    assert program(command, *options).exit_code == 0


def served_with_an_outing(program: Program) -> None:
    """A first round of the service, with an outing planned for the next day."""
    assert program("trip", "add", "--date", "2026-04-19", "--launch", "06:30", "--return", "11:30").exit_code == 0
    assert program("tick", "--offline").exit_code == 0


def test_on_a_full_disk_a_due_briefing_is_printed_and_not_sent(
    program: Program, pond: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    served_with_an_outing(program)
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-19T08:50:00Z")
    full = program("tick", "--offline", full=0)
    assert full.exit_code == 3
    assert isinstance(full.exception, SystemExit)
    assert "Quillmere Pond. Sun 19 Apr" in full.stdout
    assert "neither kept nor sent" in full.stdout
    assert "NOT KEPT AND NOT SENT" in full.stderr
    assert "Made" not in full.stdout
    # with room again it is made and kept, once
    assert "Made 2, sent 2" in program("tick", "--offline").stdout  # the wind note that is due then among them
    again = program("tick", "--offline", full=0)
    assert (again.exit_code, again.stdout) == (3, "")


def test_on_a_full_disk_nothing_is_printed_before_it_is_due(
    program: Program, pond: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    served_with_an_outing(program)
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-18T09:20:00Z")
    done = program("tick", "--offline", full=0)
    assert (done.exit_code, done.stdout) == (3, "")
    assert "NOT KEPT AND NOT SENT" not in done.stderr


def test_while_another_process_has_the_store_a_round_prints_nothing(
    program: Program, pond: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It may be making the same briefing just now."""

    def in_use(*_: object) -> None:
        raise StoreInUseError("The store is in use by another process.")

    assert program("trip", "add", "--date", "2026-04-19", "--launch", "06:30", "--return", "11:30").exit_code == 0
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-19T08:50:00Z")
    monkeypatch.setattr("briefing.service.tick.make_due", in_use)
    done = program("tick", "--offline")
    assert (done.exit_code, done.stdout) == (3, "")
    assert "in use by another process" in done.stderr


def test_an_empty_store_is_kept_aside_and_the_last_backup_offered(program: Program, pond: Path, tmp_path: Path) -> None:
    backup = tmp_path / "pond.tar.gz"
    assert program("backup", "--to", str(backup)).exit_code == 0
    pond.write_bytes(b"")
    for command in (("reading", "list"), ("log", "list"), ("backup", "--to", str(tmp_path / "second.tar.gz"))):
        done = program(*command)
        assert done.exit_code == 3
        assert "expected" in done.stderr
        assert f"briefing restore {backup} --replace" in done.stderr
    assert not (tmp_path / "second.tar.gz").exists()
    [aside] = list(pond.parent.glob("briefing.sqlite.empty-*"))
    morning = program("today", "--offline")
    assert "CAUTIONS" in morning.stdout
    assert "expected" in morning.stderr
    assert program("restore", str(backup), "--replace").exit_code == 0
    assert "61 F" in program("reading", "list").stdout
    assert aside.exists()


def test_a_store_that_is_gone_after_a_backup_is_told_and_not_begun_anew(
    program: Program, pond: Path, tmp_path: Path
) -> None:
    backup = tmp_path / "first.tar.gz"
    assert program("reading", "add", "61F").exit_code == 0
    assert program("backup", "--to", str(backup)).exit_code == 0
    for part in pond.parent.glob("briefing.sqlite*"):
        part.unlink()
    done = program("reading", "list")
    assert done.exit_code == 3
    assert f"briefing restore {backup} --replace" in done.stderr
    assert not pond.exists()
    morning = program("today", "--offline")
    assert "CAUTIONS" in morning.stdout
    assert "expected" in morning.stderr
    assert program("restore", str(backup), "--replace").exit_code == 0
    assert "61 F" in program("reading", "list").stdout
    for part in (*pond.parent.glob("briefing.sqlite*"), pond.parent / "last-backup.txt"):
        part.unlink()
    assert program("reading", "list").exit_code == 0


def test_without_the_file_kept_aside_a_store_begins_anew(program: Program, pond: Path) -> None:
    pond.write_bytes(b"")
    assert program("reading", "list").exit_code == 3
    for aside in pond.parent.glob("briefing.sqlite.empty-*"):
        aside.unlink()
    done = program("reading", "list")
    assert (done.exit_code, "No readings" in done.stdout) == (0, True)


@pytest.mark.parametrize(
    "content",
    [b"SQLite format 3\x00", b"SQLite format 3\x00" + b"\x00" * 84, b"hello", b"\x00" * 4096],
    ids=["header", "cut", "text", "nothing"],
)
def test_a_store_that_is_none_is_told_and_left(program: Program, pond: Path, content: bytes) -> None:
    for ending in ("-wal", "-shm"):
        pond.with_name(pond.name + ending).unlink(missing_ok=True)
    pond.write_bytes(content)
    done = program("reading", "list")
    assert done.exit_code == 3
    assert isinstance(done.exception, SystemExit)
    assert pond.read_bytes() == content
    assert "CAUTIONS" in program("today", "--offline").stdout


def test_a_pipe_in_the_stores_place_is_not_waited_for(program: Program, pond: Path) -> None:
    pond.unlink()
    os.mkfifo(pond)
    done = program("today", "--offline")
    assert "is no file: the store was expected there" in done.stderr
    assert "CAUTIONS" in done.stdout


def test_with_its_output_closed_a_morning_is_made_and_no_traceback_told(pond: Path) -> None:
    command = f"{sys.executable} -m briefing today --offline >&-"
    environment = {**os.environ, "BRIEFING_HOME": str(pond.parents[1])}
    done = subprocess.run(command, shell=True, env=environment, capture_output=True, text=True, check=False)
    assert "Traceback" not in done.stderr


def test_a_file_where_bodies_are_kept_costs_no_morning(program: Program, pond: Path) -> None:
    cache = pond.parents[1] / "cache"
    if cache.is_dir():
        cache.rename(cache.with_name("aside"))
    cache.write_text("in the way", encoding="utf-8")
    assert "CAUTIONS" in program("today", "--offline").stdout


@pytest.mark.parametrize("command", [("lake", "list"), ("reading", "list"), ("status",), ("trip", "list"), ("today",)])
def test_a_file_where_the_home_should_be_is_told(program: Program, tmp_path: Path, command: tuple[str, ...]) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("in the way", encoding="utf-8")
    for home in (blocked, blocked / "below"):
        done = program(*command, home=home)
        assert done.exit_code == 3
        assert f"{blocked} is a file" in done.stderr
        assert "No lake" not in done.stdout


def test_no_escape_byte_of_an_entry_reaches_page_or_terminal(program: Program, pond: Path, tmp_path: Path) -> None:
    hostile = "wind \x1b[2J\x9b31m\u202e red"
    file = next((tmp_path / "home" / "config" / "lakes").glob("*.toml"))
    told = file.read_text(encoding="utf-8").replace('name = "Quillmere Pond"', 'name = "Quill\\u001B[31mmere\\u202E"')
    file.write_text(told, encoding="utf-8")
    assert program("reading", "add", "62F", "--note", hostile).exit_code == 0
    assert program("log", "add", f"2 fish on {hostile} jig", "--time", "04:00").exit_code == 0
    said = [program(*words).stdout for words in (("today", "--offline"), ("reading", "list"), ("log", "list"))]
    said += [program("today", "--offline", "--format", form).stdout for form in ("html", "json")]
    said += [program("reading", "list", "--json").stdout]
    said += [path.read_text(encoding="utf-8") for path in (pond.parent / "briefings").glob("*.*")]
    assert len(said) >= 9
    for text in said:
        assert not {"\x1b", "\x9b", "\u202e"} & set(text)


@given(st.text())
def test_only_line_ends_and_tabs_are_left_of_controls(text: str) -> None:
    for cleaned in (without_controls(text), escaped_controls(text)):
        assert all(ch in "\n\t" or ord(ch) >= 0x20 for ch in cleaned)
        assert not any(0x7F <= ord(ch) <= 0x9F for ch in cleaned)


def test_a_file_where_the_lakes_should_be_and_an_emptied_store_are_told(program: Program, pond: Path) -> None:
    for ending in ("-wal", "-shm"):
        pond.with_name(pond.name + ending).unlink(missing_ok=True)
    pond.unlink()
    with sqlite3.connect(pond) as emptied:
        emptied.execute("create table x (y)")
        emptied.execute("drop table x")
    emptied.close()
    assert program("reading", "list").exit_code == 3
    lakes = pond.parents[1] / "config" / "lakes"
    lakes.rename(lakes.with_name("aside"))
    lakes.write_text("in the way", encoding="utf-8")
    done = program("lake", "list")
    assert done.exit_code == 3
    assert "is a file" in done.stderr


def test_no_escape_byte_reaches_the_saved_wind_note(program: Program, pond: Path, tmp_path: Path) -> None:
    file = next((tmp_path / "home" / "config" / "lakes").glob("*.toml"))
    told = file.read_text(encoding="utf-8").replace('name = "Quillmere Pond"', 'name = "Quill\\u001B[31mmere"')
    file.write_text(told, encoding="utf-8")
    program("wind", "--offline", "--launch", "06:30", "--return", "11:30")
    (saved,) = (pond.parent / "briefings").glob("*wind*")
    assert "\x1b" not in saved.read_text(encoding="utf-8")


def test_half_a_character_in_an_argument_costs_no_entry(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from briefing import cli

    monkeypatch.setattr("sys.argv", ["briefing", "--version", "2 fish \udc9b31m jig"])
    with pytest.raises(SystemExit):
        cli.main()
    assert "\udc9b" not in sys.argv[2]


@pytest.mark.parametrize("body", [b"", b"no database at all, only some words that fill it" * 90])
def test_a_page_made_without_the_entries_says_so_at_its_top(program: Program, pond: Path, body: bytes) -> None:
    assert program("reading", "add", "thunder").exit_code == 0
    pond.write_bytes(body)
    done = program("today", "--launch", "06:30", "--return", "11:30", "--offline")
    assert done.exit_code == 3
    lines = " ".join(done.stdout.split())
    at = lines.index("What you entered is missing from this page")
    assert at < lines.index("CAUTIONS")
    [page] = (pond.parent / "briefings").glob("*.html")
    assert "What you entered is missing from this page" in " ".join(page.read_text(encoding="utf-8").split())


@pytest.mark.parametrize("command", ["today", "wind"])
def test_a_file_in_the_place_of_the_entries_costs_no_morning(program: Program, pond: Path, command: str) -> None:
    shutil.rmtree(pond.parent)
    pond.parent.write_text("x", encoding="utf-8")
    done = program(command, "--offline")
    assert done.exit_code == 3
    assert "Quillmere Pond" in done.stdout
    assert "is a file, where the folder with your entries is expected" in done.stderr
    assert pond.parent.read_text(encoding="utf-8") == "x"
