"""``briefing reading`` and ``briefing sign`` as typed."""

import json
import sqlite3
from pathlib import Path

import pytest

from briefing.errors import StoreError
from briefing.store import database
from briefing.store.sqlite import make_engine
from tests.cli.conftest import Run

# 14:00 UTC on 18 April 2026 is 10:00 at the lake.


@pytest.mark.parametrize(
    ("words", "echoed"),
    [
        (("water-temp", "61F"), "water temperature 61 F (16.1 C), 2026-04-18 10:00"),
        (("61F",), "water temperature 61 F (16.1 C)"),
        (("temp", "61"), "water temperature 61 F (16.1 C)"),
        (("water-temp", "-1", "C"), "water temperature 30 F (-1.0 C)"),
        (("water_temp", "16C", "--depth", "2ft", "--hull"), "water temperature 61 F (16.0 C) at 2 ft (0.61 m)"),
        (("visibility", "3", "ft"), "visibility 3 ft (91 cm)"),
        (("secchi", "90cm"), "visibility 3 ft (90 cm)"),
        (("colour", "Tannic"), "water colour tannic"),
        (("level", "falling"), "water level falling"),
        (("level", "1.5 ft"), "water level 1.5 ft (0.46 m) at your mark"),
        (("level", "-1.5 ft"), "water level falling"),
        (("level", "+4in"), "water level rising"),
        (("level up 4 in",), "water level rising"),
        (("water", "61"), "water temperature 61 F (16.1 C)"),
        (("the water was sixty-two",), "water temperature 62 F"),
        (("clarity", "3", "ft"), "visibility 3 ft (91 cm)"),
        (("stained",), "visibility 3.3 ft (100 cm)"),
        (("muddy water",), "water colour muddy"),
        (("wind", "calm"), "wind 0 mph (0.0 m/s)"),
        (("wind", "S", "10"), "wind 10 mph (4.5 m/s), from S"),
        (("wind SW 8 to 12, gusts to 20",), "wind 12 mph (5.4 m/s), gusts 20 mph (8.9 m/s), from SW"),
        (("wind 9 mph out of the north",), "wind 9 mph (4.0 m/s), from N"),
        (("61F", "--time", "yesterday 6pm"), "2026-04-17 18:00"),
        (("61F", "--time", "6:40 am"), "2026-04-18 06:40"),
        (
            ("wind", "12", "mph", "--gust", "18", "--from", "SW"),
            "wind 12 mph (5.4 m/s), gusts 18 mph (8.0 m/s), from SW",
        ),
        (("10kn",), "wind 12 mph (5.1 m/s)"),
        (("alerts", "none"), "alerts read: none in force"),
        (
            ("alerts", "Lake Wind Advisory", "--until", "18:00"),
            "alerts read: Lake Wind Advisory, until 2026-04-18 18:00",
        ),
        (("alerts", "A; B", "--until", "06:00"), "alerts read: A; B, until 2026-04-19 06:00"),
        (("thunder", "--time", "10 min ago"), "thunder heard, 2026-04-18 09:50"),
        (("61F", "--time", "yesterday 18:00"), "2026-04-17 18:00"),
        (("61F", "--time", "2026-04-10"), "2026-04-10"),
        (("61F", "--spot", "north-pocket", "--note", "by the inlet"), "at North pocket, shallow pocket (by the inlet)"),
    ],
)
def test_what_was_typed_is_echoed_in_both_units(run: Run, pond: Path, words: tuple[str, ...], echoed: str) -> None:
    result = run("reading", "add", *words)
    assert result.exit_code == 0, result.output
    assert echoed in result.stdout
    assert echoed in run("reading", "list").stdout


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (("water-temp", "16"), "did you mean 16 C (61 F)?"),
        (("water-temp",), "The value is missing, such as: briefing reading add water-temp 61F"),
        (("12",), "What is 12? A water temperature is written 12F or 12C"),
        (("sixty one",), "What is 61?"),
        (("trout", "3"), "is not a kind of reading"),
        (("colour", "blue"), "is not a water colour; write clear, green, tannic, muddy"),
        (("level", "high"), "write falling, steady or rising"),
        (("wind", "12", "mph", "--gust", "8 mph"), "The gust is below the wind"),
        (("wind", "12", "mph", "--from", "up"), "is not a direction"),
        (("61F", "--gust", "12"), "--gust does not belong to a reading of water temp"),
        (("wind", "12mph", "--hull"), "belong to a water temperature"),
        (
            ("61F", "--time", "18:00"),
            "lies in the future (it is 2026-04-18 10:00 at the lake); did you mean yesterday?",
        ),
        (("61F", "--time", "25:00"), "is not a time; write 07:40"),
        (("61F", "--time", "2026-02-30"), "is not a time"),
        (("61F", "--spot", "nowhere"), "has no spot 'nowhere'; there are: north-pocket"),
        (("thunder", "loud"), "Thunder takes no value"),
        (("alerts", "X", "--until", "2026-04-17 18:00"), "is not within the ten days after you saw it"),
        (("alerts", "X", "--until", "soon"), "is not an end; write 18:00"),
    ],
)
def test_what_cannot_be_taken_is_refused_in_one_sentence(
    run: Run, pond: Path, words: tuple[str, ...], complaint: str
) -> None:
    result = run("reading", "add", *words)
    assert result.exit_code == 2
    assert complaint in result.stderr
    assert "No readings" in run("reading", "list").stdout


def test_correct_and_withdraw_keep_the_history(run: Run, pond: Path) -> None:
    run("reading", "add", "61F", "--time", "07:40", "--note", "first")
    run("reading", "add", "wind", "12mph", "--from", "SW")
    corrected = run("reading", "correct", "1", "63F")
    assert (
        "Corrected: reading 3, water temperature 63 F (17.2 C), 2026-04-18 07:40 (first) [corrects 1]"
        in corrected.stdout
    )
    assert "gusts 18 mph" in run("reading", "correct", "2", "--gust", "18mph").stdout
    assert "2026-04-17 07:40" in run("reading", "correct", "3", "--time", "yesterday 07:40").stdout
    assert run("reading", "withdraw", "4").exit_code == 0
    assert run("reading", "list").stdout.count("\n") == 1
    history = run("reading", "list", "--all").stdout
    assert history.count("[corrected]") == 3
    assert history.count("[withdrawn]") == 1


def test_wrong_numbers(run: Run, pond: Path) -> None:
    assert run("reading", "withdraw", "7").exit_code == 5
    run("reading", "add", "61F")
    run("reading", "withdraw", "1")
    again = run("reading", "withdraw", "1")
    assert again.exit_code == 2
    assert "was withdrawn before" in again.stderr


def test_json_for_programs(run: Run, pond: Path) -> None:
    added = json.loads(run("reading", "add", "61F", "--json").stdout)
    assert (added["kind"], added["time"], added["typed"]) == ("water_temp", "2026-04-18T14:00:00+00:00", "61F")
    run("reading", "add", "colour", "green")
    listed = json.loads(run("reading", "list", "--kind", "water-temp", "--since", "2026-04-18", "--json").stdout)
    assert [row["id"] for row in listed] == [1]


def test_a_lock_gives_the_typed_line_back(run: Run, pond: Path, home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run("reading", "add", "61F")
    monkeypatch.setattr(database, "make_engine", lambda path, _timeout_s: make_engine(path, 0.05))
    other = sqlite3.connect(home / "data" / "briefing.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    result = run("reading", "add", "wind", "12 mph", "--from", "SW", "--note", "far out")
    other.execute("ROLLBACK")
    other.close()
    assert result.exit_code == 3
    assert "in use by another process" in result.stderr
    line = result.stderr.strip().splitlines()[-1]
    options = "--lake quillmere-pond --time '2026-04-18 10:00' --from SW --note 'far out'"
    expected = f"briefing reading add wind '12 mph' {options}"
    assert line == f"To enter it again: {expected}"


def test_a_full_disk_gives_the_typed_line_back(run: Run, pond: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_words: object) -> None:
        raise StoreError("The disk with x is full; nothing was written.")

    monkeypatch.setattr("briefing.store.store.Store.add_reading", full)
    result = run("reading", "add", "61F", "--pocket", "--time", "07:40")
    assert result.exit_code == 3
    assert "briefing reading add 61F --lake quillmere-pond --time '2026-04-18 07:40' --pocket" in result.stderr


def test_two_lakes_need_a_name(run: Run, pond: Path) -> None:
    run("lake", "add", "--name", "Other", "--position", "31, -84", "--craft", "canoe")
    result = run("reading", "add", "61F")
    assert result.exit_code == 2
    assert "Which lake? Name one of: other, quillmere-pond." in result.stderr
    assert run("reading", "add", "61F", "--lake", "other").exit_code == 0


# --- signs -----------------------------------------------------------------------------------------------------------


def test_signs_are_added_listed_and_withdrawn(run: Run, pond: Path) -> None:
    added = run(
        *("sign", "add", "beds-with-fish", "--looked", "90 min", "--count", "5", "--visibility", "5ft"),
        *("--spot", "north-pocket", "--time", "07:40"),
    )
    assert "sign 1, beds with fish, 1.5 h looked, count 5, visibility 5 ft (1.5 m" in added.stdout.replace(
        "152 cm", "1.5 m"
    )
    assert "at North pocket, shallow pocket" in added.stdout
    assert json.loads(run("sign", "list", "--json").stdout)[0]["hours_looked"] == 1.5
    assert "Withdrawn: sign 1, beds with fish." in run("sign", "withdraw", "1").stdout
    assert "No signs for Quillmere Pond" in run("sign", "list").stdout
    assert "[withdrawn]" in run("sign", "list", "--all").stdout


def test_a_sign_on_an_exposed_bank(run: Run, pond: Path) -> None:
    assert "exposed bank" in run("sign", "add", "empty-clean-beds", "--exposed").stdout


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (("nests",), "is not a kind of sign; write one of: beds-with-fish"),
        (("fry-clouds", "--looked", "3 days"), "is no time to have looked"),
        (("fry-clouds", "--looked", "soon"), "is not a time span"),
        (("fry-clouds", "--pocket", "--exposed"), "Either --pocket or --exposed"),
        (("fry-clouds", "--visibility", "61F"), "is not visibility in the water"),
    ],
)
def test_a_wrong_sign_is_refused(run: Run, pond: Path, words: tuple[str, ...], complaint: str) -> None:
    result = run("sign", "add", *words)
    assert result.exit_code == 2
    assert complaint in result.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("plants", "2ft", "dense"), "plants dense, tops 2.0 ft (0.6 m) down, growing"),
        (("plants", "topped"), "plants topped, growing"),
        (("plants", "sprayed"), "plants sprayed"),
        (("plants", "thick", "tops", "at", "the", "surface"), "plants dense, tops at the surface, growing"),
    ],
)
def test_plants_are_read_in_any_order(run: Run, pond: Path, words: tuple[str, ...], told: str) -> None:
    done = run("reading", "add", *words, "--spot", "North pocket")
    assert done.exit_code == 0, done.output
    assert told.split(",")[0] in done.stdout
    assert "North pocket" in run("reading", "list", "--kind", "plants").stdout


@pytest.mark.parametrize("words", [("plants",), ("plants", "purple"), ("plants", "2", "bananas"), ("plants", "-3ft")])
def test_plants_that_cannot_be_read_are_refused_in_one_sentence(run: Run, pond: Path, words: tuple[str, ...]) -> None:
    done = run("reading", "add", *words)
    assert done.exit_code != 0
    assert "Traceback" not in done.output
    assert "No readings" in run("reading", "list").stdout
