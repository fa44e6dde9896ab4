"""``briefing log`` and ``briefing skill`` as typed."""

import json
import os
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from briefing.core.log.checks import Check
from briefing.core.log.records import Mark, MarkKind
from briefing.store import open_store
from briefing.store.log import LogBook
from tests.cli.conftest import Run

# 14:00 UTC on 18 April 2026 is 10:00 at the lake.
NOW = datetime(2026, 4, 18, 14, tzinfo=UTC)
LINE = "2 fish 14in 16in bladed 3/8 grass 4ft 07:40"


@pytest.fixture
def store_file(home: Path, pond: Path) -> Path:
    return home / "data" / "briefing.sqlite"


def ok(run: Run, *words: str, typed: str | None = None) -> str:
    result = run(*words, typed=typed)
    assert result.exit_code == 0, result.output
    return result.stdout


def test_one_line_is_told_back_part_by_part(run: Run, pond: Path) -> None:
    said = ok(run, "log", "add", LINE, "by", "the", "pump")
    assert "entry 1, 2026-04-18 07:40  2 fish (14 in, 16 in), Bladed swim jig 3/8 oz, grass dense, 4 ft" in said
    assert "Understood: 2 fish; length 14 in; length 16 in; Bladed swim jig; lure weight 3/8 oz (10.6 g)" in said
    assert "Not understood, kept as your note: pump" in said
    assert "How long did you fish for entry 1? briefing log correct 1 45min" in said


def test_an_outing_by_segments_with_what_is_missing(run: Run, pond: Path) -> None:
    ok(run, "log", "start", "north pocket spinnerbait", "--time", "06:00")
    ok(run, "log", "add", "bladed", "07:00")
    ok(run, "log", "add", "1 fish 14in texas worm 08:00")
    said = ok(run, "log", "end", "--time", "09:00")
    assert "06:00-07:00  1 h: Spinnerbait, North pocket: blank" in said
    assert "07:00-07:30  30 min: Bladed swim jig, North pocket: blank" in said
    assert "07:30-09:00  1 h 30 min (change put half way): Texas-rigged worm, North pocket: 1 fish (14 in)" in said
    assert "? Changed about 07:30? If not: briefing log correct 3 since 07:30" in said
    corrected = ok(run, "log", "correct", "3", "since 07:10")
    assert "07:10-09:00  1 h 50 min: Texas-rigged worm" in corrected
    assert "half way" not in corrected
    listed = ok(run, "log", "list")
    assert "07:00-07:10  10 min: Bladed swim jig" in listed
    assert "Too little yet to say anything of a lure: 5 h on 3 days each." in listed
    assert "[corrects 3]" in ok(run, "log", "list", "--entries")
    assert "[corrected]" in ok(run, "log", "list", "--all")


def test_withdrawing_takes_an_entry_and_a_start_its_outing(run: Run, pond: Path) -> None:
    ok(run, "log", "start", "spinnerbait dock", "--time", "06:00")
    ok(run, "log", "add", "3 fish 07:00")
    ok(run, "log", "end", "--time", "09:00")
    assert "3 fish" in ok(run, "log", "list")
    assert "Withdrawn: entry 2" in ok(run, "log", "withdraw", "2")
    assert "3 fish" not in ok(run, "log", "list")
    assert "06:00-09:00  3 h: Spinnerbait" in ok(run, "log", "list")
    ok(run, "log", "withdraw", "1")
    assert "Nothing in the log of Quillmere Pond" in ok(run, "log", "list")
    assert run("log", "withdraw", "1").exit_code == 2


@pytest.mark.parametrize(
    ("words", "code", "complaint"),
    [
        (("log", "add"), 2, "The line is missing, such as"),
        (("log", "add", "hello there"), 2, "Nothing in 'hello there' could be read"),
        (("log", "add", "12in jig"), 0, "'jig' may be Flipping jig"),
        (("log", "add", "2 fish 23:00"), 2, "lies in the future"),
        (("log", "end"), 2, "No outing runs that could end then"),
        (("log", "correct", "7", "1 fish"), 5, "There is no log entry 7; see them with: briefing log list"),
        (("log", "withdraw", "7"), 5, "There is no log entry 7"),
        (("log", "import", "nowhere.csv"), 5, "There is no file nowhere.csv"),
        (("log", "export", "--shared", "--exact"), 2, "Either --shared or --exact"),
    ],
)
def test_what_cannot_be_taken_is_said_in_a_sentence(
    run: Run, pond: Path, words: tuple[str, ...], code: int, complaint: str
) -> None:
    result = run(*words)
    assert result.exit_code == code
    assert complaint in result.output


def test_a_second_start_is_refused_while_one_runs(run: Run, pond: Path) -> None:
    ok(run, "log", "start", "--time", "06:00")
    result = run("log", "start")
    assert result.exit_code == 2
    assert "The outing of 2026-04-18 06:00 (entry 1) still runs" in result.output


def test_conditions_come_with_their_origin(run: Run, pond: Path, store_file: Path) -> None:
    ok(run, "reading", "add", "61F", "--time", "07:30")
    ok(run, "reading", "add", "9mph", "--from", "SW", "--time", "07:30")
    ok(run, "reading", "add", "visibility", "3ft", "--time", "yesterday 18:00")
    ok(run, "log", "add", LINE)
    with open_store(store_file, NOW) as store:
        (entry,) = LogBook(store).entries("quillmere-pond")
    known = {name: (round(float(one.value), 1), one.kind, one.name) for name, one in entry.mark.conditions.items()}
    assert known == {
        "water_c": (16.1, "entered", "your reading"),
        "wind_mps": (4.0, "entered", "your reading"),
        "wind_from_deg": (225.0, "entered", "your reading"),
        "secchi_m": (0.9, "entered", "your reading"),
    }


def test_positions_are_kept_coarse_unless_exact_ones_are_wanted(run: Run, pond: Path, store_file: Path) -> None:
    ok(run, "log", "add", "1 fish", "--position", "30.31234, -83.22345")
    ok(run, "log", "add", "1 fish", "--position", "30.31234, -83.22345", "--exact")
    with open_store(store_file, NOW) as store:
        kept = [entry.mark.position for entry in LogBook(store).entries("quillmere-pond")]
    assert kept == [(30.31, -83.22), (30.31234, -83.22345)]


def test_the_table_goes_out_and_comes_in_alike(run: Run, pond: Path, tmp_path: Path) -> None:
    ok(run, "log", "add", f"{LINE} 45min")
    ok(run, "log", "add", "blank 30min squarebill rock 09:00")
    file = tmp_path / "log.csv"
    ok(run, "log", "export", "--to", str(file))
    before = file.read_text()
    for number in ("1", "2"):
        ok(run, "log", "withdraw", number)
    assert "Stored 2 entries" in ok(run, "log", "import", str(file), "--yes")
    assert ok(run, "log", "export") == before
    assert "2026-04-13" in ok(run, "log", "export", "--shared")


def test_a_damaged_table_tells_each_line_and_stores_only_on_a_yes(run: Run, pond: Path, tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text(
        "date,minutes,presentation,fish\n2026-04-01,45,tube,2\n2026-04-41,45,tube,1\n2026-04-02,45,spear,1\n"
    )
    refused = run("log", "import", str(file), typed="n\n")
    assert refused.exit_code == 1
    assert "log.csv, line 3: '2026-04-41' is no date" in refused.output
    assert "log.csv, line 4: unknown presentation 'spear'" in refused.output
    assert "Nothing in the log" in ok(run, "log", "list")
    assert "Stored 1 entries for Quillmere Pond; 2 lines left out." in ok(run, "log", "import", str(file), typed="y\n")
    assert "2 fish" in ok(run, "log", "list")


def test_a_table_without_a_good_line_stores_nothing(run: Run, pond: Path, tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text("date,fish\n2026-04-41,1\n")
    assert run("log", "import", str(file), "--yes").exit_code == 2
    file.write_bytes(b"\xff\xfe\x00")
    assert run("log", "import", str(file), "--yes").exit_code == 2


def test_waypoints_become_catches_where_their_names_say_so(run: Run, pond: Path, tmp_path: Path) -> None:
    file = tmp_path / "marks.gpx"
    file.write_text(
        '<gpx xmlns="http://www.topografix.com/GPX/1/1">'
        '<wpt lat="30.31234" lon="-83.22345"><name>1 fish 14in bladed 20min</name>'
        "<time>2026-04-17T11:00:00Z</time></wpt>"
        '<wpt lat="30.3" lon="-83.2"><name>Dam</name><time>2026-04-17T11:00:00Z</time></wpt>'
        '<wpt lat="30.3" lon="-83.2"><name>1 fish</name></wpt></gpx>'
    )
    result = run("log", "import", str(file), "--yes")
    assert "Stored 1 entries for Quillmere Pond; 2 lines left out." in result.output
    assert "waypoint 2: 'Dam' says nothing of a catch" in result.output
    assert "waypoint 3: it has no time" in result.output
    exported = ok(run, "log", "export")
    assert "2026-04-17,06:40,07:00,20," in exported
    assert ",30.31,-83.22," in exported


def test_json_holds_entries_and_segments(run: Run, pond: Path) -> None:
    entry = json.loads(ok(run, "log", "add", LINE, "--json"))
    assert entry["mark"]["fish"][0]["length_m"] == pytest.approx(0.3556)
    (segment,) = json.loads(ok(run, "log", "list", "--json"))
    assert segment["presentation"] == "bladed_swim_jig"


def test_what_was_learned_is_shown_with_fish_and_hours(run: Run, pond: Path, tmp_path: Path) -> None:
    rows = [f"2026-03-{day:02d},120,tube,3\n2026-03-{day:02d},120,spinnerbait,1\n" for day in range(1, 21)]
    file = tmp_path / "log.csv"
    file.write_text("date,minutes,presentation,fish\n" + "".join(rows))
    ok(run, "log", "import", str(file), "--yes")
    said = ok(run, "log", "list")
    assert "Your log: 60 of 80 fish, 40 of 80 hours on this lure. Better than the lure's name" in said
    assert said.index("Tube on an inside head. Your log") < said.index("Spinnerbait. Your log")


WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from briefing.core.log.records import Fish, Mark, MarkKind
from briefing.store import open_store
from briefing.store.log import LogBook

now = datetime(2026, 4, 18, 14, tzinfo=UTC)
with open_store(Path(sys.argv[1]), now) as store:
    book = LogBook(store)
    while True:
        mark = Mark(MarkKind.MARK, now, presentation="tube", fish=(Fish(0.35),) * 7, note="x" * 3000)
        print(book.add("a", mark, "line", now).mark.id, flush=True)
"""


@pytest.mark.parametrize("after", [1, 3, 9])
def test_a_kill_keeps_or_drops_whole_entries(tmp_path: Path, after: int) -> None:
    path = tmp_path / "briefing.sqlite"
    with subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdout is not None
        told = [int(writer.stdout.readline()) for _ in range(after)]
        writer.kill()
        told += [int(line) for line in writer.stdout.read().split("\n") if line.strip()]
    with open_store(path, NOW) as store:
        entries = LogBook(store).entries("a")
    assert {entry.mark.id for entry in entries} >= set(told)
    assert all(len(entry.mark.fish) == 7 and entry.mark.note == "x" * 3000 for entry in entries)


def test_a_command_killed_at_any_moment_keeps_or_drops_its_entry(
    home: Path, pond: Path, store_file: Path, whole: bool
) -> None:
    """Killed after ever larger parts of the time it takes here, whatever it reached: entries are whole, the file opens.

    What it reached depends on the machine; what is asserted does not.
    """
    environment = {**os.environ, "BRIEFING_HOME": str(home), "BRIEFING_NOW": NOW.isoformat()}
    words = [sys.executable, "-m", "briefing", "log", "add", LINE]
    began = time.monotonic()
    subprocess.run(words, env=environment, check=True, capture_output=True)
    usual_s = time.monotonic() - began
    told = 1
    for part in (0.6, 0.8, 0.9, 1.0) if whole else (0.8, 0.95):
        with subprocess.Popen(words, env=environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as command:
            try:
                said, _ = command.communicate(timeout=part * usual_s)
            except subprocess.TimeoutExpired:
                command.kill()
                said, _ = command.communicate()
        told += b"Stored for" in said
    with open_store(store_file, NOW) as store:
        entries = LogBook(store).entries("quillmere-pond")
    assert told <= len(entries) <= 5
    assert all(len(entry.mark.fish) == 2 and entry.mark.presentation == "bladed_swim_jig" for entry in entries)


def test_skill_without_checks_says_how_to_get_them(run: Run, pond: Path) -> None:
    assert "briefing reading add 12mph --from SW" in ok(run, "skill")


def test_skill_shows_the_table_and_what_is_made_of_it(run: Run, pond: Path, store_file: Path) -> None:
    checks = [
        Check(
            "wind_mps",
            datetime(2026, 3, 1 + day, 11, tzinfo=UTC),
            "at launch",
            3.0,
            4.0,
            5.5,
            "station",
            "x",
            from_deg=225.0,
        )
        for day in range(20)
    ]
    checks.append(Check("water_c", NOW, "at launch", 3.0, 18.0, 18.5, "user", "you", 17.0, 19.0))
    checks.append(Check("thunder_pct", NOW, "at launch", 3.0, 20.0, 0.0, "user", "your outing"))
    with open_store(store_file, NOW) as store:
        book = LogBook(store)
        assert book.add_checks("quillmere-pond", checks, NOW, datetime(2026, 1, 1, tzinfo=UTC)) == 22
        assert book.add_checks("quillmere-pond", checks, NOW, datetime(2026, 1, 1, tzinfo=UTC)) == 0
    said = ok(run, "skill")
    assert "Wind: last 14 mornings 3 mph too low from the south-west" in said
    assert "wind              at launch        SW        20 +3.4 mph" in said
    assert "10 to 30 %: 1 outings, stated 20 %, came 0 %" in said
    assert "100%" in said
    assert "Wind is corrected by direction and speed" in said
    assert max(len(line) for line in said.splitlines()[1:4]) <= 72
    plain = json.loads(ok(run, "skill", "--json"))
    assert plain["correction"]["usable"] is True
    assert plain["correction"]["bias_mps"][5] == pytest.approx(1.4, abs=0.2)


def test_old_checks_are_dropped(tmp_path: Path) -> None:
    old = Check("wind_mps", datetime(2020, 3, 1, tzinfo=UTC), "at launch", 3.0, 4.0, 5.5, "station", "x")
    with open_store(tmp_path / "briefing.sqlite", NOW) as store:
        book = LogBook(store)
        book.add_checks("a", [old], NOW, datetime(2019, 1, 1, tzinfo=UTC))
        assert len(book.checks("a")) == 1
        book.add_checks("a", [], NOW, datetime(2021, 1, 1, tzinfo=UTC))
        assert book.checks("a") == ()


def test_marks_come_back_from_the_store_as_they_went_in(tmp_path: Path) -> None:
    mark = Mark(
        MarkKind.MARK,
        NOW,
        outing=3,
        spot="Edge",
        minutes=20.0,
        since=NOW,
        position=(1.5, 2.5),
        planned=False,
        prior=0.0,
    )
    with open_store(tmp_path / "briefing.sqlite", NOW) as store:
        kept = LogBook(store).add("a", mark, "line", NOW).mark
    assert kept.planned is False
    assert (kept.since, kept.position, kept.outing, kept.prior) == (NOW, (1.5, 2.5), 3, 0.0)


def test_what_a_line_would_be_read_as_is_shown_and_not_stored(run: Run, pond: Path) -> None:
    said = json.loads(ok(run, "log", "read", "caught 5 on wacky rig in 2 hours, biggest 5-4", "--json"))
    assert (said["kind"], said["fish"], said["blank"], said["hours"]) == ("catch", 5, False, 2.0)
    assert (said["lures"], said["weights_g"]) == (["wacky_rig"], [2381.4])
    assert "A sighting." in ok(run, "log", "read", "saw fish chasing shad at the ramp")
    assert "Nothing in the log" in ok(run, "log", "list")


def test_stored_words_are_read_again(run: Run, pond: Path, store_file: Path) -> None:
    """An entry in which an earlier reading lost five fish is shown as it reads now, and corrected when asked."""
    lost = Mark(MarkKind.MARK, NOW, presentation="wacky_rig", minutes=120.0)
    with open_store(store_file, NOW) as store:
        number = LogBook(store).add("quillmere-pond", lost, "caught 5 on wacky rig in 2 hours", NOW).mark.id
    said = ok(run, "log", "reread")
    assert "now: 2026-04-18 10:00  5 fish, Wacky-rigged stick worm, 2 h" in said
    assert "1 entries read otherwise now; --yes stores that." in said
    assert "Corrected 1 entries" in ok(run, "log", "reread", "--yes")
    assert f"[corrects {number}]" in ok(run, "log", "list", "--entries")
    assert "Every entry of" in ok(run, "log", "reread")


def test_hours_without_a_word_of_fish_are_no_blank(run: Run, pond: Path) -> None:
    said = ok(run, "log", "add", "threw a bladed jig for an hour")
    assert "How many fish, or none?" in said
    assert "fish or none not said" in ok(run, "log", "list")
    assert "blank" in ok(run, "log", "correct", "1", "no fish")


def test_what_a_line_says_of_water_and_wind_becomes_readings(run: Run, pond: Path) -> None:
    said = ok(run, "log", "add", "2 fish on the spinnerbait 7:30, water 61, wind S 10")
    assert "Stored as a reading: water temperature 61 F (16.1 C), 2026-04-18 07:30" in said
    assert "Stored as a reading: wind 10 mph (4.5 m/s), from S, 2026-04-18 07:30" in said
    assert ok(run, "reading", "list").count("07:30") == 2


def test_mornings_like_today_with_what_was_caught_and_what_was_not(run: Run, pond: Path) -> None:
    assert "no other morning: too few" in ok(run, "log", "like", "today")
    for day, water in (("2026-04-10", "60F"), ("2026-04-12", "61F"), ("2026-04-14", "70F")):
        ok(run, "reading", "add", "water-temp", water, "--time", f"{day} 08:00")
        ok(run, "log", "add", "3 fish wacky 2 hours", "--time", f"{day} 09:00")
        ok(run, "log", "add", "blank spinnerbait 1 hour", "--time", f"{day} 10:30")
    ok(run, "reading", "add", "water-temp", "61F", "--time", "08:00")
    said = ok(run, "log", "like")
    assert said.index("2026-04-12, very like it in season and water:") < said.index("2026-04-14")
    assert "Wacky-rigged stick worm: 3 fish" in said
    assert "Spinnerbait: blank" in said
