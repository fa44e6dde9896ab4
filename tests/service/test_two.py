"""Two processes on one store, a backup and its way back, the address of health, and the command line."""

from __future__ import annotations

import gzip
import io
import json
import subprocess
import sys
import threading
import urllib.request
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from briefing.app.backup import make_backup, restore_backup
from briefing.app.events import Log
from briefing.app.owner import Owner
from briefing.app.service_settings import load_service_settings
from briefing.app.status import read_status, status_lines
from briefing.cli import make_app
from briefing.errors import InputError, StoreError
from briefing.service.serve import serve, systemd_unit
from briefing.service.tick import run_round
from tests.patience import HANG_S
from tests.service.conftest import Desk
from tests.service.post_office import PostOffice

pytestmark = pytest.mark.long


def test_two_processes_and_a_timer_double_nothing(desk: Desk, tmp_path: Path) -> None:
    for number in range(4):
        desk.add_lake(f"lake-{number}", f"Lake {number}")
    with PostOffice() as office:
        desk.mail(office.port)
        run_round(desk.world)
        environment = {"BRIEFING_HOME": str(desk.home.config_dir.parent), "BRIEFING_NOW": "2026-04-17T08:46:00Z",
                       "PATH": "/usr/bin:/bin", "OMP_NUM_THREADS": "1"}  # fmt: skip
        command = [sys.executable, "-m", "briefing", "tick", "--offline"]
        runs = [
            subprocess.Popen(command, env=environment, stderr=subprocess.PIPE, stdout=subprocess.PIPE) for _ in "ab"
        ]
        outputs = [run.communicate() for run in runs]
        assert [run.returncode for run in runs] == [0, 0], outputs
    assert len(office.taken) == 5
    assert len({letter["Message-ID"] for letter in office.letters()}) == 5
    assert {row.state.value for row in desk.rows() if row.kind == "morning"} == {"done"}


def test_a_claim_of_the_living_is_never_taken_and_one_of_the_dead_always(tmp_path: Path) -> None:
    with Owner(tmp_path) as one, Owner(tmp_path) as two:
        assert not two.dead(one.token)
        assert not one.dead(one.token)
    assert two.dead(one.token)
    assert two.dead("never-was")
    assert list(tmp_path.iterdir()) == []


def test_the_service_runs_answers_for_its_health_and_stops(desk: Desk) -> None:
    desk.settings("[tick]\nevery_s = 1\n[health]\nport = 0\n")
    stop, ports = threading.Event(), []
    seen: dict[str, object] = {}

    def ask(port: int) -> None:
        ports.append(port)
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz", timeout=HANG_S) as answer:
            seen.update(json.load(answer))

    desk.set_clock("2026-04-17 04:40")
    serve(desk.world, stop, rounds=2, announce=ask)
    assert seen["ok"] is True
    events = [event["event"] for event in desk.events()]
    assert events[0] == "serving"
    assert events[-1] == "stopped"


def test_status_says_what_was_missed_and_what_is_next(desk: Desk) -> None:
    assert read_status(desk.world).code == 1, "it has not run yet"
    run_round(desk.world)
    assert read_status(desk.world).code == 0
    desk.set_clock("2026-04-18 04:46")
    run_round(desk.world)
    found = read_status(desk.world)
    assert found.code == 1
    (lake,) = found.lakes
    assert any("Missed: morning of Fri 17 April" in text for text in lake.doubtful)
    assert lake.last is not None
    assert lake.last["day"] == "2026-04-18"
    assert lake.next is not None
    assert lake.next["day"] == "2026-04-19"
    assert "  next: morning of Sun 19 April, due Sun 19 April 04:45 EDT" in status_lines(found)
    desk.later(hours=1)
    assert any("does not run" in text for text in read_status(desk.world).doubtful)


def test_a_backup_comes_back_as_it_was_without_passwords(desk: Desk, tmp_path: Path) -> None:
    run_round(desk.world)
    desk.set_clock("2026-04-17 04:46")
    run_round(desk.world)
    (desk.home.config_dir / "mail.env").write_text("BRIEFING_MAIL_PASSWORD=x", encoding="utf-8")
    before = [(row.key, row.state) for row in desk.rows()]
    target = tmp_path / "backup.tar.gz"
    make_backup(desk.home, target, desk.at)
    assert b"BRIEFING_MAIL_PASSWORD" not in gzip.decompress(target.read_bytes())
    with pytest.raises(InputError, match="--replace"):
        restore_backup(desk.home, target, desk.at, replace=False)
    with Owner(desk.home.data_dir / "service"), pytest.raises(StoreError, match="running"):
        restore_backup(desk.home, target, desk.at, replace=True)
    desk.set_clock("2026-04-18 04:46")
    run_round(desk.world)
    desk.add_lake(extra="# changed\n")
    restore_backup(desk.home, target, desk.at, replace=True)
    assert [(row.key, row.state) for row in desk.rows()] == before
    assert "# changed" not in (desk.home.lakes_dir / "quillmere.toml").read_text(encoding="utf-8")
    assert len(list(desk.home.data_dir.glob("before-restore-*.tar.gz"))) == 1


def test_a_damaged_backup_changes_nothing(desk: Desk, tmp_path: Path) -> None:
    run_round(desk.world)
    target = tmp_path / "backup.tar.gz"
    make_backup(desk.home, target, desk.at)
    for broken in (target.read_bytes()[:-40], b"no backup", b""):
        target.write_bytes(broken)
        with pytest.raises(InputError, match="damaged"):
            restore_backup(desk.home, target, desk.at, replace=True)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[mail]\npassword = "x"\n', "does not belong here"),
        ('[mail]\nhost = "m.example.org"\n', "sender and to"),
        ('[mail]\nhost = "m.example.org"\nsender = "a@b.org"\nto = ["c@d.org"]\nsecurity = "none"\n', "this machine"),
        ('[post]\nurl = "http://example.org/x"\n', "https"),
        ('[post]\nurl = "https://me:pw@example.org/x"\n', "name or password"),
        ('[times]\nmorning = "early"\n', "04:45"),
        ("[times]\nno_such = 1\n", "no_such"),
        ("[lakes.x.times]\nmorning = 5\n", "morning"),
        ("not toml", "TOML"),
    ],
)
def test_settings_that_cannot_be_taken_are_one_sentence(desk: Desk, text: str, said: str) -> None:
    desk.settings(text)
    with pytest.raises(InputError, match=said) as caught:
        load_service_settings(desk.home)
    assert "pw@" not in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


def test_times_of_one_lake_are_its_own(desk: Desk) -> None:
    desk.settings('[times]\nmorning = "05:00"\n[lakes.quillmere.times]\nmorning = "launch -60 min"\n')
    settings = load_service_settings(desk.home)
    assert str(settings.times_of("quillmere").morning) == "launch -60 min"
    assert str(settings.times_of("other").morning) == "05:00"


def test_logs_are_json_lines_or_words() -> None:
    for human in (False, True):
        stream = io.StringIO()
        Log(stream, human=human)("made", day=date(2026, 4, 18), why=None, text="two\nlines")
        (line,) = stream.getvalue().splitlines()
        assert "two lines" in line
        assert "why" not in line


def test_trips_from_the_command_line(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BRIEFING_HOME", str(desk.home.config_dir.parent))
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-17T12:00:00Z")

    def run(*words: str) -> tuple[int, str]:
        done = CliRunner().invoke(make_app(), list(words), catch_exceptions=False)
        return done.exit_code, done.output + done.stderr

    assert "no wind notes will come" in run("trip", "list")[1]
    assert run("trip", "add", "--date", "2026-04-18", "--launch", "06:30", "--return", "11:00")[0] == 0
    code, said = run("trip", "add", "--date", "2026-04-18", "--launch", "07:30", "--return", "11:00")
    assert (code, "already" in said) == (2, True)
    assert run("trip", "add", "--date", "2026-04-16", "--launch", "07:30", "--return", "11:00")[0] == 2
    assert run("trip", "change", "1", "--return", "10:00", "--fixed-launch")[0] == 0
    assert "06:30 to 10:00" in run("trip", "list")[1]
    assert run("trip", "change", "1", "--return", "09:00")[0] == 2, "the old number was changed before"
    assert "planned for Sat 18 April" in run("status")[1]
    assert run("today", "--offline")[0] == 0
    assert run("trip", "cancel", "2")[0] == 0
    assert "no wind notes will come" in run("trip", "list")[1]
    assert run("trip", "cancel", "77")[0] == 5
    assert run("mail", "test")[0] == 2


def test_mail_test_tells_every_step(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BRIEFING_HOME", str(desk.home.config_dir.parent))
    with PostOffice() as office:
        desk.mail(office.port)
        done = CliRunner().invoke(make_app(), ["mail", "test"], catch_exceptions=False)
        assert done.exit_code == 0, done.output
        office.answers["rcpt"] = "550 unknown"
        refused = CliRunner().invoke(make_app(), ["mail", "test"], catch_exceptions=False)
    assert "message taken" in done.output
    assert (refused.exit_code, "refused the recipient (550" in refused.output) == (4, True)
    assert len(office.taken) == 1


def test_the_unit_restarts_and_names_the_program() -> None:
    unit = systemd_unit("/opt/x/briefing", {"BRIEFING_HOME": "/srv/lake"})
    assert "ExecStart=/opt/x/briefing serve" in unit
    assert "Restart=always" in unit
    assert "Environment=BRIEFING_HOME=/srv/lake" in unit
