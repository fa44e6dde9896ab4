"""A newcomer's first evening at a terminal, without any network: to tomorrow's page in few commands and answers."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from typer.testing import CliRunner

from briefing.cli import make_app

ROOT = Path(__file__).resolve().parents[2]
#: The most commands and answers from the first lake to tomorrow's page.
MOST = 12
Evening = Callable[..., str]


@pytest.fixture
def evening(tmp_path: Path) -> Evening:
    """Type a command at a terminal of its own, and an answer at each prompt; returns all that stood on the screen."""

    def typed(*words: str, answers: Sequence[tuple[str, str]] = ()) -> str:
        ours, theirs = pty.openpty()
        environment = {
            **os.environ,
            "BRIEFING_HOME": str(tmp_path / "home"),
            "BRIEFING_NOW": "2026-04-17T20:40:00-04:00",
        }
        environment |= {"TERM": "dumb", "COLUMNS": "80", "LINES": "24"}
        command = [sys.executable, "-m", "briefing", *words]
        running = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=environment, cwd=ROOT)
        os.close(theirs)
        screen = b""
        waiting = list(answers)
        while True:
            try:
                read = os.read(ours, 4096)
            except OSError:  # the terminal closes with the program
                break
            if not read:
                break
            screen += read
            if waiting and waiting[0][0].encode() in screen.rpartition(b"\n")[2]:
                os.write(ours, waiting.pop(0)[1].encode() + b"\n")
                screen += b"\n"
        os.close(ours)
        assert running.wait() == 0, screen.decode()
        assert not waiting, waiting
        return screen.decode().replace("\r\n", "\n")

    return typed


LAKE = (
    ("Name of the lake", "Quill Pond"),
    ("A point on the water", "30.31, -83.22"),
    ("Units", "us"),
    ("What do you fish from", "kayak"),
    ("mail address", ""),
    ("A few more questions", "n"),
)
WEATHER = "wind S 3-6, gusts 9; 62 to 79 F; cloud 40%; no storms; no fog"


def test_from_no_lake_to_tomorrows_page_with_a_plan(evening: Evening) -> None:
    made = evening("lake", "add", answers=LAKE)
    assert "Added Quill Pond as quill-pond" in made
    kept = evening("conditions", "add", "--date", "tomorrow", WEATHER)
    assert "Saturday 18 April" in kept
    assert "Not understood" not in kept
    assert "none in force" in evening("reading", "add", "alerts", "none")
    page = evening("today", "--date", "tomorrow", "--all")
    assert 4 + len(LAKE) <= MOST
    said = " ".join(page.split())
    assert "Sat 18 Apr" in said
    assert "Out " in said
    assert "Off the water by" in said
    assert "Rod 1" in said
    assert "The shallows near the ramp" in said
    assert "Not known" in said
    assert "Traceback" not in page


#: What a newcomer gets wrong: the words typed, the words of the answer, what it leaves with.
SLIPS: list[tuple[tuple[str, ...], str, int]] = [
    (("lake", "add", "--name", "X", "--position", "-84.2, 33.6", "--craft", "kayak"), "33.6, -84.2", 2),
    (("lake", "add", "--name", "X", "--position", "30, -40", "--craft", "kayak"), "lies on the open sea", 2),
    (("lake", "add", "--name", "X", "--position", "30.3, -83.2", "--craft", "raft"), "sit-on-top, one person", 2),
    (("lake", "set", "quill-pond", "limits.sustained={ caution = '50 mph', stop = '60 mph' }"), "--yes", 2),
    (("lake", "set", "quill-pond", "alone=perhaps"), "accepted: yes or no", 2),
    (("lake", "set", "quill-pond", 'tackle.presentations=["jig"]'), "flipping_jig", 2),
    (("lake", "set", "quill-pond", "mean_depth=deep"), "mean_depth", 2),
    (("reading", "add", "61"), "61F or 61C", 2),
    (("reading", "add", "fish", "here"), "is not a kind of reading", 2),
    (("conditions", "add", "banana"), "could be read as weather", 2),
    (("today", "nowhere"), "There is no lake 'nowhere'", 5),
    (("lake", "import-spots", "quill-pond", "nothing.gpx"), "nothing.gpx", 5),
    (("advise", "--water", "farm_pond", "--cover", "grass_dense", "--depth", "4ft", "--cover-top", "6ft"), "", 2),
    (("lake", "add"), "Options answer every question", 2),
]


@pytest.mark.parametrize(("words", "told", "code"), SLIPS, ids=str)
def test_every_slip_is_answered_in_a_sentence_and_loses_nothing(
    words: tuple[str, ...], told: str, code: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BRIEFING_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("BRIEFING_NOW", "2026-04-17T20:40:00-04:00")
    first = CliRunner().invoke(
        make_app(), ["lake", "add", "--name", "Quill Pond", "--position", "30.31, -83.22", "--craft", "kayak"]
    )
    assert first.exit_code == 0, first.output
    before = (tmp_path / "home" / "config" / "lakes" / "quill-pond.toml").read_text()
    done = CliRunner().invoke(make_app(), list(words), input="")
    assert done.exit_code == code, done.output
    assert told in done.stderr
    assert "Traceback" not in done.output
    assert "Error" not in done.stderr.split(":")[0]
    assert (tmp_path / "home" / "config" / "lakes" / "quill-pond.toml").read_text() == before
    assert len(list((tmp_path / "home" / "config" / "lakes").glob("*.toml"))) == 1


def test_advice_at_a_place_of_the_lake_takes_what_was_typed(evening: Evening) -> None:
    evening("lake", "add", answers=LAKE)
    evening("conditions", "add", "--date", "tomorrow", "wind SW 12 mph, gusts 18; cloud 90%; 60 to 70 F; no storms")
    told = evening("advise", "--lake", "quill-pond", "--date", "tomorrow", "--time", "11:00")
    said = " ".join(told.split())
    assert said.startswith("Quill Pond, Sat 11:00.")
    assert "wind 12 mph" in said
    assert "overcast" in said
    assert "FIRST CHOICE" in said
    calm = " ".join(evening("advise", "--lake", "quill-pond", "--time", "21:00", "--wind", "2mph").split())
    assert "wind 2 mph" in calm, "what is typed on the line counts before what is stored"
    unknown = " ".join(evening("advise", "--lake", "quill-pond", "--time", "11:00").split())
    assert "Wind there is not known: a light breeze is assumed." in unknown
